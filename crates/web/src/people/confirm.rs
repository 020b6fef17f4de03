//! Asking for the password or PIN again, before a signature.

use axum::http::StatusCode;
use fallrate_app::batches::{AccessOutcome, Account, AccountRole, StoreError};

use super::sign_in::{count_refusal, note_access};
use super::{Door, Person, secret};
use crate::keep::now;
use crate::look::Visit;
use crate::state::Site;

/// How asking again came out.
pub(crate) enum Confirmed {
    /// The person is who they say, or nobody signs in here.
    Yes,
    /// It is not right, or has to wait; the status to answer with.
    No(StatusCode),
}

/// Whether the secret is that of the person who asks. On this machine alone nobody is asked. Refusals count as those of
/// signing in; both are noted in the audit stream.
pub(crate) async fn confirm(site: &Site, v: &Visit, typed: &str) -> Result<Confirmed, StoreError> {
    if matches!(site.door(), Door::ThisMachine) {
        return Ok(Confirmed::Yes);
    }
    let Some(person) = v.person.clone() else { return Ok(Confirmed::No(StatusCode::UNAUTHORIZED)) };
    let Some(account) = account(site, &person).await? else {
        return Ok(Confirmed::No(StatusCode::UNAUTHORIZED));
    };
    if account.locked_until.is_some_and(|l| l.seconds_since(now()) > 0.0) {
        note_access(site, &person.account, v, AccessOutcome::Locked).await?;
        return Ok(Confirmed::No(StatusCode::TOO_MANY_REQUESTS));
    }
    let by_pin = account.role == AccountRole::Operator;
    let hash = if by_pin { account.pin_hash.clone() } else { account.password_hash.clone() };
    let typed: String = typed.chars().take(200).collect();
    match secret::fits(typed, hash).await {
        Some(true) => {
            note_access(site, &person.account, v, AccessOutcome::PasswordConfirmed).await?;
            Ok(Confirmed::Yes)
        }
        Some(false) => {
            count_refusal(site, account).await?;
            note_access(site, &person.account, v, AccessOutcome::Refused).await?;
            Ok(Confirmed::No(StatusCode::UNAUTHORIZED))
        }
        None => Ok(Confirmed::No(StatusCode::SERVICE_UNAVAILABLE)),
    }
}

async fn account(site: &Site, person: &Person) -> Result<Option<Account>, StoreError> {
    let name = person.account.clone();
    site.desk().people(move |p| Ok(p.accounts()?.into_iter().find(|a| a.name == name && a.active))).await
}
