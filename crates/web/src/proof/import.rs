//! A file of readings: what was understood, the questions as a form, keeping it.

use axum::Form;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::instruments::instruments;
use fallrate_app::proof::NumberedAnswer;
use fallrate_app::proof::desk::{ClockEdit, ColumnEdit, Edit, Kept, Look, LookAt, keep_readings, look};
use serde::Deserialize;

use super::import_form::shown;
use super::sent::{Sent, app_fault, ready};
use crate::fault::said;
use crate::look::Visit;
use crate::state::Site;

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Named {
    name: String,
}

pub(super) async fn page(
    v: Visit,
    State(site): State<Site>,
    Path((id, sha256)): Path<(String, String)>,
    Query(q): Query<Named>,
) -> Response {
    let at = LookAt { id: id.clone(), sha256, name: q.name, mapping: None, edit: Edit::default() };
    match seen(&site, at).await {
        Ok(Some((found, known))) => shown(&v, &id, &found, &known).into_response(),
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => app_fault(&v, &format!("/proof/{id}"), &e),
    }
}

type Seen = (Look, Vec<fallrate_app::instruments::Kept>);

async fn seen(site: &Site, at: LookAt) -> Result<Option<Seen>, fallrate_app::AppError> {
    let work = move |r: &mut dyn fallrate_app::batches::Records| {
        let found = look(r, &at)?;
        let known = instruments(r).map_err(fallrate_app::AppError::from)?;
        Ok(found.map(|f| (f, known)))
    };
    site.desk().read_app(work).await
}

/// What the form says: answers "a.1", columns "c.2.role", the clock "k.zone".
pub(super) fn edit(sent: &Sent) -> Edit {
    let mut answers = Vec::new();
    for (name, value) in &sent.0 {
        let number = name.strip_prefix("a.").and_then(|n| n.parse::<usize>().ok());
        if let (Some(question), false) = (number.filter(|n| *n > 0), value.trim().is_empty()) {
            // A free answer stands beside the choices and wins.
            let free = sent.filled(&format!("free.{question}"));
            answers
                .push(NumberedAnswer { question, answer: free.unwrap_or_else(|| value.trim().to_owned()) });
        }
    }
    let column = |n: u32| {
        let get = |key: &str| sent.get(&format!("c.{n}.{key}")).trim().to_owned();
        ColumnEdit {
            heading: sent.get(&format!("c.{n}.heading")).to_owned(),
            column: n,
            role: get("role"),
            number: get("number"),
            position: get("position"),
            unit: get("unit"),
            instrument: get("instrument"),
            tolerance: get("tolerance"),
            low: get("low"),
            high: get("high"),
            calibrated_on: get("calibrated_on"),
            due: get("due"),
            certificate: get("certificate"),
        }
    };
    let numbers = sent
        .0
        .iter()
        .filter_map(|(name, _)| name.strip_prefix("c.")?.strip_suffix(".heading")?.parse::<u32>().ok());
    let clock = sent.0.iter().any(|(n, _)| n == "k.zone").then(|| ClockEdit {
        zone: sent.get("k.zone").to_owned(),
        offset_s: sent.get("k.offset").to_owned(),
        within_s: sent.get("k.within").to_owned(),
        by: sent.get("k.by").to_owned(),
        with: sent.get("k.with").to_owned(),
    });
    Edit { answers, columns: numbers.map(column).collect(), clock, title: sent.get("title").to_owned() }
}

pub(super) async fn post(
    v: Visit,
    State(site): State<Site>,
    Path((id, sha256)): Path<(String, String)>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Response {
    let sent = Sent(sent);
    let mut at = LookAt {
        id: id.clone(),
        sha256,
        name: sent.get("name").to_owned(),
        mapping: sent.filled("mapping"),
        edit: edit(&sent),
    };
    let back = format!("/proof/{id}");
    // An instrument of the log brings its tolerance and calibration along.
    let known = match site.desk().read(|r| instruments(r)).await {
        Ok(known) => known,
        Err(e) => return crate::keep::fault(&v, &e),
    };
    for column in &mut at.edit.columns {
        fallrate_app::instruments::fill(column, &known);
    }
    if sent.get("act") == "keep" {
        return keep(&v, &site, at, &sent).await;
    }
    match seen(&site, at).await {
        Ok(Some((found, known))) => {
            let page = shown(&v, &id, &found, &known);
            let status =
                if found.refused.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
            said((status, page).into_response())
        }
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => app_fault(&v, &back, &e),
    }
}

async fn keep(v: &Visit, site: &Site, at: LookAt, sent: &Sent) -> Response {
    let (_, stamp) = match ready(v, site, sent).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let (id, reason) = (at.id.clone(), sent.get("reason").to_owned());
    let work = move |r: &mut dyn fallrate_app::batches::Records| {
        let known = instruments(r).map_err(fallrate_app::AppError::from)?;
        Ok(keep_readings(r, &stamp, &at, &reason)?.map(|kept| (kept, known)))
    };
    match site.desk().write_app(work).await {
        Ok(Some((Kept::Open(found), known))) => {
            let page = shown(v, &id, &found, &known);
            said((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
        Ok(Some(_)) => Redirect::to(&format!("/proof/{id}#files")).into_response(),
        Ok(None) => StatusCode::NOT_FOUND.into_response(),
        Err(e) => app_fault(v, &format!("/proof/{id}"), &e),
    }
}
