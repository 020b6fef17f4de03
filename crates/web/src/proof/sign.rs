//! Signing: the password is asked again where people sign in.

use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use fallrate_app::AppError;
use fallrate_app::batches::AccountRole;
use fallrate_app::proof::desk::{self, SignatureEntry, meaning_of};
use fallrate_app::proof::record::SignatureMeaning;
use maud::html;

use super::sent::{Sent, back_to, ready};
use crate::fault::said;
use crate::keep::fault;
use crate::look::Visit;
use crate::people::{Confirmed, confirm};
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// What is to be signed, from a form or from a program.
#[derive(Clone, Debug)]
pub(crate) struct SignatureAsked {
    pub id: String,
    pub meaning: String,
    pub head: String,
    pub training: Option<String>,
    pub same_person_reason: Option<String>,
    pub secret: String,
    pub entry_id: String,
}

/// How signing came out.
pub(crate) enum SignOutcome {
    /// Signed; number of the entry.
    Entry(u64),
    /// There is no such record.
    Nowhere,
    /// The role may not, or the secret is not right.
    Refused(StatusCode),
    /// The way to the plant's settings, or a fault of the records.
    Answer(Box<Response>),
    /// A rule stands against it.
    Rule(AppError),
}

/// Operators sign what they monitored; everything else is for supervisors.
fn may(v: &Visit, meaning: SignatureMeaning) -> bool {
    v.person.as_ref().is_none_or(|p| match p.role {
        AccountRole::Supervisor => true,
        AccountRole::Operator => meaning == SignatureMeaning::Monitored,
        AccountRole::Reader => false,
    })
}

/// Signs, after asking for the secret again.
pub(crate) async fn sign(v: &Visit, site: &Site, asked: SignatureAsked) -> SignOutcome {
    let Some(meaning) = meaning_of(&asked.meaning) else {
        return SignOutcome::Refused(StatusCode::BAD_REQUEST);
    };
    if !may(v, meaning) {
        return SignOutcome::Refused(StatusCode::FORBIDDEN);
    }
    match confirm(site, v, &asked.secret).await {
        Ok(Confirmed::Yes) => {}
        Ok(Confirmed::No(status)) => return SignOutcome::Refused(status),
        Err(e) => return SignOutcome::Answer(Box::new(fault(v, &e))),
    }
    let sent = Sent(vec![("entry_id".to_owned(), asked.entry_id.clone())]);
    let (_, stamp) = match ready(v, site, &sent).await {
        Ok(ready) => ready,
        Err(answer) => return SignOutcome::Answer(Box::new(answer)),
    };
    let entry = SignatureEntry {
        meaning,
        head: asked.head,
        training: asked.training,
        same_person_reason: asked.same_person_reason,
    };
    let id = asked.id;
    match site.desk().write_app(move |r| desk::sign(r, &id, &stamp, &entry)).await {
        Ok(Some(n)) => SignOutcome::Entry(n),
        Ok(None) => SignOutcome::Nowhere,
        Err(e) => SignOutcome::Rule(e),
    }
}

pub(super) async fn post(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Response {
    let sent = Sent(sent);
    let asked = SignatureAsked {
        id: id.clone(),
        meaning: sent.get("meaning").to_owned(),
        head: sent.get("head").to_owned(),
        training: sent.filled("training"),
        same_person_reason: sent.filled("same_person_reason"),
        secret: sent.get("secret").to_owned(),
        entry_id: sent.get("entry_id").to_owned(),
    };
    match sign(&v, &site, asked).await {
        SignOutcome::Entry(n) => back_to(&v, &id, Ok(Some(n))),
        SignOutcome::Nowhere => StatusCode::NOT_FOUND.into_response(),
        SignOutcome::Answer(answer) => *answer,
        SignOutcome::Rule(e) => back_to::<()>(&v, &id, Err(e)),
        SignOutcome::Refused(status) => refused(&v, &id, status),
    }
}

fn refused(v: &Visit, id: &str, status: StatusCode) -> Response {
    let key = match status {
        StatusCode::TOO_MANY_REQUESTS => "web-sign-in-wait",
        StatusCode::UNAUTHORIZED => "desk-sign-wrong",
        StatusCode::FORBIDDEN => "desk-sign-role",
        _ => return status.into_response(),
    };
    let body = html! {
        h1 { (v.text("desk-refused")) }
        ul.faults { li role="alert" { (v.text(key)) } }
        p.onward { a.button href={ "/proof/" (id) } { (v.text("desk-back")) } }
    };
    let page = Shell { title: v.text("desk-refused"), tab: Tab::Batches }.around(v, &body);
    said((status, page).into_response())
}
