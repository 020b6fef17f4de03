//! What a form sends, and what goes wrong with it.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::AppError;
use fallrate_app::batches::{PlantSettings, Stamp, StoreError};
use fallrate_app::proof::desk::refusal_words;
use maud::{Markup, html};

use crate::fault::said;
use crate::keep::{fault, stamp};
use crate::look::{Visit, random_hex};
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// The fields of a form, in the order sent.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sent(pub Vec<(String, String)>);

impl Sent {
    /// The first value of a field; empty where it was not sent.
    pub(crate) fn get(&self, name: &str) -> &str {
        self.0.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v.as_str())
    }
    /// All values of a field that are not empty.
    pub(crate) fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.0.iter().filter(move |(n, v)| n == name && !v.is_empty()).map(|(_, v)| v.as_str())
    }
    /// The value, where it is not empty.
    pub(crate) fn filled(&self, name: &str) -> Option<String> {
        Some(self.get(name).trim().to_owned()).filter(|t| !t.is_empty())
    }
}

/// The plant and who enters something now, or the way to say whose plant it is.
pub(super) async fn ready(v: &Visit, site: &Site, sent: &Sent) -> Result<(PlantSettings, Stamp), Response> {
    match site.desk().plant().await {
        Ok(Some(plant)) => {
            let stamp = stamp(&plant, v, sent.get("entry_id"));
            Ok((plant, stamp))
        }
        Ok(None) => Err(Redirect::to("/setup").into_response()),
        Err(e) => Err(fault(v, &e)),
    }
}

/// Hidden fields of every form.
pub(super) fn hidden(v: &Visit) -> Markup {
    html! {
        input type="hidden" name="form_token" value=(v.token);
        input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
    }
}

/// Why something was refused, in sentences of the reader's language where there are any.
pub(crate) fn refusal(v: &Visit, e: &AppError) -> Vec<String> {
    match e {
        AppError::Store(store) => {
            refusal_words(store, &v.reader).map_or_else(|| vec![store.to_string()], |t| vec![t])
        }
        e => e
            .faults(&v.reader)
            .into_iter()
            .map(|f| if f.key.is_empty() { f.text } else { format!("{}: {}", f.key, f.text) })
            .collect(),
    }
}

/// What went wrong, as a page with the way back. What was typed is still in the form behind the browser's way back.
pub(crate) fn app_fault(v: &Visit, back: &str, e: &AppError) -> Response {
    let rule = matches!(e, AppError::Store(StoreError::Rule { .. }));
    if let (AppError::Store(store), false) = (e, rule) {
        return fault(v, store);
    }
    let body = html! {
        h1 { (v.text("desk-refused")) }
        ul.faults { @for line in refusal(v, e) { li role="alert" { (line) } } }
        p.subline { (v.text("desk-refused-next")) }
        p.onward { a.button href=(back) { (v.text("desk-back")) } }
    };
    let page = Shell { title: v.text("desk-refused"), tab: Tab::Batches }.around(v, &body);
    said((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

/// Back to the record, or a page that says there is none.
pub(super) fn back_to<T>(v: &Visit, id: &str, result: Result<Option<T>, AppError>) -> Response {
    let page = format!("/proof/{id}");
    match result {
        Ok(Some(_)) => Redirect::to(&page).into_response(),
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => app_fault(v, &page, &e),
    }
}
