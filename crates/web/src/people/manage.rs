//! The people of a plant: added, given a new secret, closed, opened again; never deleted.

use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::batches::{Account, AccountChange, AccountRole, Remembered, account_name, remember};
use maud::{Markup, html};
use serde::Deserialize;

use super::{SHORTEST_PASSWORD, secret};
use crate::fault::said;
use crate::keep::{fault, now, people_stamp};
use crate::look::Visit;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// Why an account was not made.
pub(super) enum NotMade {
    /// In words, for the form.
    Words(String),
    /// The records did not do it.
    Answer(Box<Response>),
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Sent {
    full_name: String,
    role: String,
    secret: String,
    close: String,
}

const ROLES: [(&str, &str, AccountRole); 3] = [
    ("operator", "web-role-operator", AccountRole::Operator),
    ("supervisor", "web-role-supervisor", AccountRole::Supervisor),
    ("reader", "web-role-reader", AccountRole::Reader),
];

/// What is wrong with a secret.
fn secret_fault(v: &Visit, role: AccountRole, secret: &str) -> Option<String> {
    let length = secret.chars().count();
    if role == AccountRole::Operator {
        let good = (4..=12).contains(&length) && secret.bytes().all(|b| b.is_ascii_digit());
        let one_digit = secret.bytes().all(|b| Some(&b) == secret.as_bytes().first());
        let counted = "01234567890 98765432109".contains(secret);
        return (!good || one_digit || counted).then(|| v.text("web-people-pin-rule"));
    }
    let least = SHORTEST_PASSWORD.to_string();
    (!(SHORTEST_PASSWORD..=200).contains(&length))
        .then(|| v.with("web-people-password-rule", &[("least", &least)]))
}

/// Makes an account with its secret.
pub(super) async fn new_account(
    v: &Visit,
    site: &Site,
    full_name: &str,
    role: AccountRole,
    secret: &str,
) -> Result<Account, NotMade> {
    let full_name = full_name.trim();
    if full_name.is_empty() || full_name.chars().count() > 80 {
        return Err(NotMade::Words(v.with("web-setup-missing", &[("what", &v.text("web-setup-person"))])));
    }
    if let Some(why) = secret_fault(v, role, secret) {
        return Err(NotMade::Words(why));
    }
    let failed = |e| NotMade::Answer(Box::new(fault(v, &e)));
    let name = account_name(full_name);
    let taken = site.desk().people(|p| Ok(p.accounts()?)).await.map_err(failed)?;
    if taken.iter().any(|a| a.name == name) {
        return Err(NotMade::Words(v.text("web-people-taken")));
    }
    let Some(hash) = secret::hash(secret.to_owned()).await else {
        return Err(NotMade::Answer(Box::new(StatusCode::SERVICE_UNAVAILABLE.into_response())));
    };
    let operator = role == AccountRole::Operator;
    let account = Account {
        name: name.clone(),
        full_name: full_name.to_owned(),
        role,
        password_hash: (!operator).then(|| hash.clone()),
        pin_hash: operator.then_some(hash),
        training: None,
        active: true,
        created_at: now(),
        refused: 0,
        locked_until: None,
    };
    let kept = account.clone();
    site.desk().people(move |p| Ok(p.put_account(&kept)?)).await.map_err(failed)?;
    let stamp = people_stamp(site, v).await.map_err(failed)?;
    let what = Remembered::Made { account: name, full_name: full_name.to_owned(), role };
    site.desk().write(move |r| remember(r, &stamp, what)).await.map_err(failed)?;
    Ok(account)
}

pub(super) async fn page(v: Visit, State(site): State<Site>) -> Response {
    match site.desk().people(|p| Ok(p.accounts()?)).await {
        Ok(accounts) => shown(&v, &accounts, None).into_response(),
        Err(e) => fault(&v, &e),
    }
}

fn role_key(role: AccountRole) -> &'static str {
    ROLES.iter().find(|r| r.2 == role).map_or("web-role-reader", |r| r.1)
}

fn shown(v: &Visit, accounts: &[Account], wrong: Option<&str>) -> Markup {
    let body = html! {
        h1 { (v.text("web-people-title")) }
        @if let Some(w) = wrong { ul.faults { li role="alert" { (w) } } }
        ul.runs { @for a in accounts { li { (one(v, a)) } } }
        section {
            h2 { (v.text("web-people-add")) }
            form.sheet method="post" action="/people" {
                input type="hidden" name="form_token" value=(v.token);
                div.field {
                    label for="f-full-name" { (v.text("web-people-name")) }
                    input #f-full-name name="full_name" type="text" autocomplete="off" maxlength="80";
                }
                div.field {
                    label for="f-role" { (v.text("web-people-role")) }
                    select #f-role name="role" { @for (word, key, _) in ROLES { option value=(word) { (v.text(key)) } } }
                }
                div.field {
                    label for="f-secret" { (v.text("web-people-secret")) }
                    input #f-secret name="secret" type="password" autocomplete="new-password" maxlength="200";
                    p.note { (v.text("web-people-pin-rule")) " " (v.with("web-people-password-rule", &[("least", &SHORTEST_PASSWORD.to_string())])) }
                }
                button.go { (v.text("web-people-add")) }
            }
        }
    };
    Shell { title: v.text("web-people-title"), tab: Tab::None }.around(v, &body)
}

fn one(v: &Visit, a: &Account) -> Markup {
    let own = v.person.as_ref().is_some_and(|p| p.account == a.name);
    let id = format!("f-new-{}", a.name);
    html! {
        p.subject { (a.full_name) ", " (v.text(role_key(a.role))) @if !a.active { ", " (v.text("web-people-closed")) } }
        form.search method="post" action={ "/people/" (a.name) } {
            input type="hidden" name="form_token" value=(v.token);
            label for=(id) { (v.text("web-people-new-secret")) }
            div.typed {
                input id=(id) name="secret" type="password" autocomplete="new-password" maxlength="200";
                button { (v.text("web-batch-keep")) }
                @if !own {
                    button name="close" value=(if a.active { "yes" } else { "no" }) {
                        (v.text(if a.active { "web-people-close" } else { "web-people-open" }))
                    }
                }
            }
        }
    }
}

async fn again(v: &Visit, site: &Site, why: &str) -> Response {
    let accounts = site.desk().people(|p| Ok(p.accounts()?)).await.unwrap_or_default();
    said((StatusCode::UNPROCESSABLE_ENTITY, shown(v, &accounts, Some(why))).into_response())
}

pub(super) async fn add(v: Visit, State(site): State<Site>, Form(s): Form<Sent>) -> Response {
    let Some((_, _, role)) = ROLES.iter().find(|r| r.0 == s.role) else {
        return StatusCode::BAD_REQUEST.into_response();
    };
    match new_account(&v, &site, &s.full_name, *role, &s.secret).await {
        Ok(_) => Redirect::to("/people").into_response(),
        Err(NotMade::Words(why)) => again(&v, &site, &why).await,
        Err(NotMade::Answer(answer)) => *answer,
    }
}

/// A new secret, or closed, or opened again; every session of the account ends.
pub(super) async fn change(
    v: Visit,
    State(site): State<Site>,
    Path(name): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let key = name.clone();
    let found = site.desk().people(move |p| Ok(p.accounts()?.into_iter().find(|a| a.name == key))).await;
    let mut account = match found {
        Ok(Some(account)) => account,
        Ok(None) => return StatusCode::NOT_FOUND.into_response(),
        Err(e) => return fault(&v, &e),
    };
    let own = v.person.as_ref().is_some_and(|p| p.account == name);
    let change = if !s.close.is_empty() && !own {
        account.active = s.close == "no";
        if account.active { AccountChange::Opened } else { AccountChange::Closed }
    } else {
        if let Some(why) = secret_fault(&v, account.role, &s.secret) {
            return again(&v, &site, &why).await;
        }
        let Some(hash) = secret::hash(s.secret.clone()).await else {
            return StatusCode::SERVICE_UNAVAILABLE.into_response();
        };
        account.refused = 0;
        account.locked_until = None;
        if account.role == AccountRole::Operator {
            account.pin_hash = Some(hash);
            AccountChange::PinSet
        } else {
            account.password_hash = Some(hash);
            AccountChange::PasswordSet
        }
    };
    match keep_change(&v, &site, account, change, own).await {
        Ok(()) => Redirect::to("/people").into_response(),
        Err(e) => fault(&v, &e),
    }
}

async fn keep_change(
    v: &Visit,
    site: &Site,
    account: Account,
    change: AccountChange,
    own: bool,
) -> Result<(), fallrate_app::batches::StoreError> {
    let stamp = people_stamp(site, v).await?;
    let what = Remembered::Changed { account: account.name.clone(), change };
    site.desk()
        .people(move |p| {
            p.put_account(&account)?;
            // Who changes the own secret stays; everybody else signs in anew.
            if !own {
                p.end_sessions_of(&account.name)?;
            }
            Ok(())
        })
        .await?;
    site.desk().write(move |r| remember(r, &stamp, what)).await
}
