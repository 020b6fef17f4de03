//! The stream of who did what with accounts, sessions, backups and exports.

use fallrate_series::Instant;
use serde::{Deserialize, Serialize};

use super::unknown_variant;
use crate::rules::text;
use crate::time::{iso, iso_option};
use crate::{AccountRole, Digest, Entry, EntryBody, Rule, UnknownBody};

/// What an audit entry says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "body", rename_all = "snake_case")]
pub enum AuditBody {
    /// An account was made.
    AccountMade(AccountMade),
    /// Something about an account was changed.
    AccountChanged(AccountChanged),
    /// Somebody signed in, out, or was refused.
    Access(Access),
    /// Data was copied out or in.
    Copied(Copied),
    /// The program was not running.
    Downtime(Downtime),
    /// A kind this version does not know.
    #[serde(skip)]
    Unknown(UnknownBody),
}

/// An account was made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AccountMade {
    /// Name to sign in with.
    pub account: String,
    /// Name as printed.
    pub full_name: String,
    /// Role.
    pub role: AccountRole,
}

/// What was changed of an account.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AccountChange {
    /// The password was set by its owner.
    PasswordSet,
    /// The password was reset at the machine itself.
    PasswordResetLocally,
    /// The PIN was set.
    PinSet,
    /// Another role.
    Role(AccountRole),
    /// Another printed name.
    FullName(String),
    /// Training that reviews rely on.
    Training(String),
    /// May not be used any more.
    Closed,
    /// May be used again.
    Opened,
}

/// Something about an account was changed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AccountChanged {
    /// Account.
    pub account: String,
    /// What.
    pub change: AccountChange,
}

/// How an access came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AccessOutcome {
    /// Signed in with the password.
    SignedIn,
    /// Signed in with the PIN.
    SignedInByPin,
    /// Refused.
    Refused,
    /// Refused, and no further attempt is looked at for a while.
    Locked,
    /// Signed out.
    SignedOut,
    /// The password was asked again and given, for signing.
    PasswordConfirmed,
}

/// Somebody signed in, out, or was refused.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Access {
    /// Account as it was typed.
    pub account: String,
    /// Device, in the words of its browser or address.
    pub device: String,
    /// How it came out.
    pub outcome: AccessOutcome,
}

/// Which way data went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CopyKind {
    /// A backup was made.
    BackedUp,
    /// A backup was put in place.
    Restored,
    /// Everything was exported as open files.
    Exported,
    /// An export was read in.
    Imported,
}

/// Data was copied out or in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Copied {
    /// Which way.
    pub what: CopyKind,
    /// Where to or where from, in words.
    pub place: String,
    /// SHA-256 of the list of heads that goes with the copy.
    pub heads_sha256: Option<Digest>,
}

/// The program was not running.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Downtime {
    /// Last sign of life.
    #[serde(with = "iso")]
    pub from: Instant,
    /// Start after it; `None` while it is not known.
    #[serde(default, with = "iso_option")]
    pub until: Option<Instant>,
}

impl EntryBody for AuditBody {
    unknown_variant!();
    fn happened(&self) -> Option<Instant> {
        None
    }
    fn check(&self, _this: &Entry<Self>, _before: &[Entry<Self>]) -> Result<(), Rule> {
        match self {
            Self::AccountMade(a) => {
                text(&a.account, "account", "a name to sign in with")?;
                text(&a.full_name, "name", "the person's name as printed")
            }
            Self::AccountChanged(a) => text(&a.account, "account", "a name to sign in with"),
            Self::Copied(c) => text(&c.place, "place", "where to or where from"),
            Self::Downtime(d) => match d.until.map(|u| d.from.seconds_since(u)).filter(|s| *s > 0.0) {
                Some(by_s) => Err(Rule::Reversed { by_s }),
                None => Ok(()),
            },
            Self::Access(_) | Self::Unknown(_) => Ok(()),
        }
    }
}
