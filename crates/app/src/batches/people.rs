//! People: accounts, and what is remembered of who came in.

use fallrate_store::{
    Access, AccessOutcome, AccountChange, AccountChanged, AccountMade, AccountRole, AuditBody, Draft,
    Records, StoreError, StreamName, append_to,
};

use super::Stamp;

/// What is remembered of people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Remembered {
    /// An account was made.
    Made {
        /// Name to sign in with.
        account: String,
        /// Name as printed.
        full_name: String,
        /// Role.
        role: AccountRole,
    },
    /// A secret was set or an account closed or opened again.
    Changed {
        /// Account.
        account: String,
        /// What.
        change: AccountChange,
    },
    /// Somebody came, went or was refused.
    Access {
        /// Account as it was typed.
        account: String,
        /// Device.
        device: String,
        /// How it came out.
        outcome: AccessOutcome,
    },
}

/// Remembers it in the stream that nobody can alter.
///
/// # Errors
/// What the place of the records says.
pub fn remember(records: &mut dyn Records, stamp: &Stamp, what: Remembered) -> Result<(), StoreError> {
    let body = match what {
        Remembered::Made { account, full_name, role } => {
            AuditBody::AccountMade(AccountMade { account, full_name, role })
        }
        Remembered::Changed { account, change } => {
            AuditBody::AccountChanged(AccountChanged { account, change })
        }
        Remembered::Access { account, device, outcome } => {
            AuditBody::Access(Access { account, device, outcome })
        }
    };
    let draft =
        Draft { at: stamp.at, zone: stamp.zone.clone(), by: stamp.by.clone(), reason: String::new(), body };
    append_to(records, &StreamName::audit(), None, None, draft)?;
    Ok(())
}
