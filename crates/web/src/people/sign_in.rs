//! Signing in by name tile and PIN, or by password; signing out.

use axum::Form;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::batches::{
    AccessOutcome, Account, AccountRole, Digest, Remembered, Session, StoreError, remember,
};
use maud::{Markup, html};
use serde::Deserialize;

use super::{FIRST_WAIT_S, LONGEST_WAIT_S, REFUSALS, SHIFT_S, secret};
use crate::fault::said;
use crate::keep::{fault, now, people_stamp};
use crate::look::{Visit, add_cookie, random_hex};
use crate::shell::{Shell, Tab};
use crate::state::Site;

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Sent {
    name: String,
    secret: String,
    back: String,
}

/// A path of this site.
fn local(back: &str) -> String {
    let good = back.starts_with('/') && !back.starts_with("//") && !back.contains(['\\', '\r', '\n']);
    if good { back.to_owned() } else { "/".to_owned() }
}

pub(super) async fn page(v: Visit, State(site): State<Site>, Query(s): Query<Sent>) -> Response {
    let accounts = match site.desk().people(|p| Ok(p.accounts()?)).await {
        Ok(accounts) => accounts,
        Err(e) => return fault(&v, &e),
    };
    shown(&v, &accounts, &s, None).into_response()
}

fn shown(v: &Visit, accounts: &[Account], s: &Sent, wrong: Option<&str>) -> Markup {
    let active: Vec<&Account> = accounts.iter().filter(|a| a.active).collect();
    let chosen = active.iter().find(|a| a.name == s.name);
    let body = html! {
        h1 { (v.text("web-sign-in-title")) }
        @if active.is_empty() { p.subline { (v.text("web-sign-in-none")) } }
        @match chosen {
            None => {
                ul.shelf.tiles {
                    @for a in &active {
                        li { a href={ "/sign-in?name=" (crate::plan::encode(&a.name)) "&back=" (crate::plan::encode(&s.back)) } { b { (a.full_name) } } }
                    }
                }
            }
            Some(a) => {
                p.subline { (a.full_name) }
                form.sheet method="post" action="/sign-in" {
                    input type="hidden" name="form_token" value=(v.token);
                    input type="hidden" name="name" value=(a.name);
                    input type="hidden" name="back" value=(s.back);
                    @let pin = a.role == AccountRole::Operator;
                    div.field {
                        label for="f-secret" { (v.text(if pin { "web-sign-in-pin" } else { "web-sign-in-password" })) }
                        input #f-secret name="secret" type="password" autocomplete="current-password" maxlength="200"
                            inputmode=[pin.then_some("numeric")] aria-invalid=[wrong.map(|_| "true")] aria-describedby="n-secret";
                        p.note #n-secret data-kind=[wrong.map(|_| "fault")] { @if let Some(w) = wrong { (w) } }
                    }
                    button.go { (v.text("web-sign-in-go")) }
                }
                p { a href={ "/sign-in?back=" (crate::plan::encode(&s.back)) } { (v.text("web-sign-in-other")) } }
            }
        }
    };
    Shell { title: v.text("web-sign-in-title"), tab: Tab::None }.around(v, &body)
}

/// How long an account waits after so many refusals, s.
fn wait_s(refused: u64) -> Option<f64> {
    let over = refused.checked_sub(REFUSALS)?;
    let doubled = FIRST_WAIT_S * 2_f64.powi(i32::try_from(over.min(20)).unwrap_or(20));
    Some(doubled.min(LONGEST_WAIT_S))
}

pub(super) async fn sign_in(v: Visit, State(site): State<Site>, Form(s): Form<Sent>) -> Response {
    let name = s.name.clone();
    let found =
        site.desk().people(move |p| Ok(p.accounts()?.into_iter().find(|a| a.name == name && a.active))).await;
    let account = match found {
        Ok(account) => account,
        Err(e) => return fault(&v, &e),
    };
    let waits = account.as_ref().and_then(|a| a.locked_until).is_some_and(|l| l.seconds_since(now()) > 0.0);
    if waits {
        let _ = note_access(&site, &s.name, &v, AccessOutcome::Locked).await;
        return refused(&v, &site, &s, "web-sign-in-wait", StatusCode::TOO_MANY_REQUESTS).await;
    }
    let by_pin = account.as_ref().is_some_and(|a| a.role == AccountRole::Operator);
    let hash =
        account.as_ref().and_then(|a| if by_pin { a.pin_hash.clone() } else { a.password_hash.clone() });
    let secret_sent: String = s.secret.chars().take(200).collect();
    let Some(fits) = secret::fits(secret_sent, hash).await else {
        return StatusCode::SERVICE_UNAVAILABLE.into_response();
    };
    match account {
        Some(account) if fits => match begin(&site, &v, account, by_pin).await {
            Ok(token) => {
                let mut response = Redirect::to(&local(&s.back)).into_response();
                add_cookie(&mut response, "session", &token, None);
                response
            }
            Err(e) => fault(&v, &e),
        },
        account => {
            if let Some(account) = account
                && let Err(e) = count_refusal(&site, account).await
            {
                return fault(&v, &e);
            }
            let _ = note_access(&site, &s.name, &v, AccessOutcome::Refused).await;
            refused(&v, &site, &s, "web-sign-in-wrong", StatusCode::UNAUTHORIZED).await
        }
    }
}

async fn refused(v: &Visit, site: &Site, s: &Sent, key: &str, status: StatusCode) -> Response {
    let accounts = site.desk().people(|p| Ok(p.accounts()?)).await.unwrap_or_default();
    let page = shown(v, &accounts, s, Some(&v.text(key)));
    said((status, page).into_response())
}

pub(super) async fn count_refusal(site: &Site, mut account: Account) -> Result<(), StoreError> {
    account.refused += 1;
    account.locked_until = wait_s(account.refused).map(|s| now().plus_seconds(s));
    site.desk().people(move |p| Ok(p.put_account(&account)?)).await
}

pub(super) async fn note_access(
    site: &Site,
    account: &str,
    v: &Visit,
    outcome: AccessOutcome,
) -> Result<(), StoreError> {
    let stamp = people_stamp(site, v).await?;
    let account: String = account.chars().take(80).collect();
    let what = Remembered::Access { account, device: v.device.clone(), outcome };
    site.desk().write(move |r| remember(r, &stamp, what)).await
}

/// Begins a session; hands back its token, of which only the hash is kept.
pub(super) async fn begin(
    site: &Site,
    v: &Visit,
    mut account: Account,
    by_pin: bool,
) -> Result<String, StoreError> {
    let token = format!("{}{}", random_hex().unwrap_or_default(), random_hex().unwrap_or_default());
    let at = now();
    let session = Session {
        token_sha256: Digest::of(token.as_bytes()),
        account: account.name.clone(),
        created_at: at,
        seen_at: at,
        expires_at: at.plus_seconds(SHIFT_S),
        device: v.device.clone(),
        by_pin,
    };
    account.refused = 0;
    account.locked_until = None;
    let name = account.name.clone();
    site.desk()
        .people(move |p| {
            p.end_expired_sessions(at)?;
            p.put_account(&account)?;
            Ok(p.put_session(&session)?)
        })
        .await?;
    let outcome = if by_pin { AccessOutcome::SignedInByPin } else { AccessOutcome::SignedIn };
    note_access(site, &name, v, outcome).await?;
    Ok(token)
}

pub(super) async fn sign_out(v: Visit, State(site): State<Site>, headers: axum::http::HeaderMap) -> Response {
    if let Some(token) = crate::look::cookie(&headers, "session") {
        let digest = Digest::of(token.as_bytes());
        if let Err(e) = site.desk().people(move |p| Ok(p.end_session(digest)?)).await {
            return fault(&v, &e);
        }
        let name = v.person.as_ref().map_or(String::new(), |p| p.account.clone());
        let _ = note_access(&site, &name, &v, AccessOutcome::SignedOut).await;
    }
    let mut response = Redirect::to("/sign-in").into_response();
    add_cookie(&mut response, "session", "", Some(0));
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limit_refusals_wait_longer_and_longer() {
        assert_eq!([4, 5, 6, 8].map(wait_s), [None, Some(30.0), Some(60.0), Some(240.0)]);
        assert_eq!(wait_s(1000), Some(3600.0));
    }

    #[test]
    fn refuse_ways_back_that_lead_elsewhere() {
        assert_eq!(
            ["/plan?x=1", "//evil", "https://evil", "/\\evil"].map(local),
            ["/plan?x=1", "/", "/", "/"]
        );
    }
}
