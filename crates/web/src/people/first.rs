//! The first account: made once, with the token that the program printed where it was started.

use axum::Form;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::batches::{AccountRole, StoreError};
use maud::{Markup, html};
use serde::Deserialize;

use super::manage::new_account;
use super::sign_in::begin;
use super::{Door, SHORTEST_PASSWORD};
use crate::fault::said;
use crate::guard::same;
use crate::keep::fault;
use crate::look::{Visit, add_cookie};
use crate::shell::{Shell, Tab};
use crate::state::Site;

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Sent {
    token: String,
    full_name: String,
    secret: String,
}

/// Whether the token is right and nobody has an account yet.
async fn allowed(site: &Site, token: &str) -> Result<bool, StoreError> {
    let Door::Network { first_token } = site.door() else { return Ok(false) };
    if !same(token.as_bytes(), first_token.as_bytes()) {
        return Ok(false);
    }
    site.desk().people(|p| Ok(p.accounts()?.is_empty())).await
}

pub(super) async fn page(v: Visit, State(site): State<Site>, Query(s): Query<Sent>) -> Response {
    match allowed(&site, &s.token).await {
        Ok(true) => shown(&v, &s, None).into_response(),
        Ok(false) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => fault(&v, &e),
    }
}

fn shown(v: &Visit, s: &Sent, wrong: Option<&str>) -> Markup {
    let body = html! {
        h1 { (v.text("web-first-title")) }
        p.subline { (v.text("web-first-more")) }
        @if let Some(w) = wrong { ul.faults { li role="alert" { (w) } } }
        form.sheet method="post" action="/first" {
            input type="hidden" name="form_token" value=(v.token);
            input type="hidden" name="token" value=(s.token);
            div.field {
                label for="f-full-name" { (v.text("web-setup-person")) }
                input #f-full-name name="full_name" type="text" value=(s.full_name) autocomplete="name" maxlength="80";
            }
            div.field {
                label for="f-secret" { (v.text("web-people-password")) }
                input #f-secret name="secret" type="password" autocomplete="new-password" maxlength="200";
                p.note { (v.with("web-people-password-rule", &[("least", &SHORTEST_PASSWORD.to_string())])) }
            }
            button.go { (v.text("web-first-go")) }
        }
    };
    Shell { title: v.text("web-first-title"), tab: Tab::None }.around(v, &body)
}

pub(super) async fn save(v: Visit, State(site): State<Site>, Form(s): Form<Sent>) -> Response {
    match allowed(&site, &s.token).await {
        Ok(true) => {}
        Ok(false) => return StatusCode::NOT_FOUND.into_response(),
        Err(e) => return fault(&v, &e),
    }
    match new_account(&v, &site, &s.full_name, AccountRole::Supervisor, &s.secret).await {
        Ok(account) => match begin(&site, &v, account, false).await {
            Ok(token) => {
                let mut response = Redirect::to("/setup").into_response();
                add_cookie(&mut response, "session", &token, None);
                response
            }
            Err(e) => fault(&v, &e),
        },
        Err(super::manage::NotMade::Words(why)) => {
            said((StatusCode::UNPROCESSABLE_ENTITY, shown(&v, &s, Some(&why))).into_response())
        }
        Err(super::manage::NotMade::Answer(answer)) => *answer,
    }
}
