//! A secret that was forgotten, set anew at the machine itself.

use fallrate_store::{AccountChange, AccountRole, StoreError};

use crate::batches::{Keep, Remembered, Stamp, remember};

/// What setting a secret anew did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ResetDone {
    /// There is no such account; the names there are.
    NoAccount(Vec<String>),
    /// Done; so many sessions were ended.
    Done {
        /// Sessions ended.
        sessions: u64,
    },
}

/// Role of an account; `None` where there is none of this name.
///
/// # Errors
/// What the place of the accounts says.
pub fn role_of(keep: &mut dyn Keep, account: &str) -> Result<Option<AccountRole>, StoreError> {
    Ok(keep.people().accounts()?.into_iter().find(|a| a.name == account).map(|a| a.role))
}

/// Puts the hash of a new secret in place (a PIN for an operator, else a password), lets the account in again, ends its
/// sessions, and remembers who did it in the stream that nobody can alter: first that, so that no reset goes unseen.
///
/// # Errors
/// What the place of the records and accounts says.
pub fn reset_secret(
    keep: &mut dyn Keep,
    stamp: &Stamp,
    account: &str,
    hash: &str,
) -> Result<ResetDone, StoreError> {
    let accounts = keep.people().accounts()?;
    let Some(mut found) = accounts.iter().find(|a| a.name == account).cloned() else {
        return Ok(ResetDone::NoAccount(accounts.into_iter().map(|a| a.name).collect()));
    };
    let change = AccountChange::PasswordResetLocally;
    remember(keep.records(), stamp, Remembered::Changed { account: account.to_owned(), change })?;
    if found.role == AccountRole::Operator {
        found.pin_hash = Some(hash.to_owned());
    } else {
        found.password_hash = Some(hash.to_owned());
    }
    found.active = true;
    found.refused = 0;
    found.locked_until = None;
    keep.people().put_account(&found)?;
    let sessions = keep.people().end_sessions_of(account)?;
    Ok(ResetDone::Done { sessions })
}
