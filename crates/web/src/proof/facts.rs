//! The facts a verdict needs, as a form that grows, and as the batch file behind it.

use std::collections::BTreeMap;

use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::AppError;
use fallrate_app::proof::desk::{self, FIELDS, Sheets, Statement, save_statement, with_values};

use super::facts_form::shown;
use super::sent::{Sent, app_fault, ready, refusal};
use crate::fault::said;
use crate::look::Visit;
use crate::state::Site;

type Fields = Form<Vec<(String, String)>>;

async fn stated(v: &Visit, site: &Site, id: &str) -> Result<(Statement, Sheets), Response> {
    let key = id.to_owned();
    let found = site.desk().read_app(move |r| {
        let statement = desk::statement(r, &key)?;
        Ok(statement.zip(desk::sheets(r, &key)?))
    });
    match found.await {
        Ok(Some(found)) => Ok(found),
        Ok(None) => Err(StatusCode::NOT_FOUND.into_response()),
        Err(e) => Err(app_fault(v, &format!("/proof/{id}"), &e)),
    }
}

pub(super) async fn page(v: Visit, State(site): State<Site>, Path(id): Path<String>) -> Response {
    match stated(&v, &site, &id).await {
        Ok((statement, sheets)) => shown(&v, &id, &statement, &sheets, &[]).into_response(),
        Err(answer) => answer,
    }
}

/// The values of the form: a field that was not sent stays as it is.
fn values(sent: &Sent) -> BTreeMap<String, String> {
    let mut out = BTreeMap::new();
    for field in FIELDS {
        let path = field.path();
        if sent.0.iter().any(|(n, _)| *n == path) {
            out.insert(path.clone(), sent.all(&path).collect::<Vec<_>>().join(","));
        }
    }
    for (name, value) in sent.0.iter().filter(|(n, _)| n.starts_with("limit.")) {
        out.insert(name.clone(), value.clone());
    }
    out
}

pub(super) async fn save(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(sent): Fields,
) -> Response {
    let sent = Sent(sent);
    let values = values(&sent);
    let (mut statement, sheets) = match stated(&v, &site, &id).await {
        Ok(found) => found,
        Err(answer) => return answer,
    };
    match with_values(&statement.toml, &values) {
        Ok(toml) => match keep(&v, &site, &id, &sent, toml).await {
            Ok(answer) => answer,
            Err(e) => {
                // What was typed is shown again, with what is wrong.
                statement.limits =
                    (0..100).take_while(|n| values.contains_key(&format!("limit.{n}.name"))).count();
                statement.values.extend(values);
                let page = shown(&v, &id, &statement, &sheets, &refusal(&v, &e));
                said((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
            }
        },
        Err(e) => app_fault(&v, &format!("/proof/{id}/facts"), &e),
    }
}

pub(super) async fn save_text(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(sent): Fields,
) -> Response {
    let sent = Sent(sent);
    let text = sent.get("toml").replace("\r\n", "\n");
    match keep(&v, &site, &id, &sent, text.clone()).await {
        Ok(answer) => answer,
        Err(e) => match stated(&v, &site, &id).await {
            Ok((statement, sheets)) => {
                let typed = Statement { toml: text, ..statement };
                let page = shown(&v, &id, &typed, &sheets, &refusal(&v, &e));
                said((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
            }
            Err(answer) => answer,
        },
    }
}

async fn keep(v: &Visit, site: &Site, id: &str, sent: &Sent, toml: String) -> Result<Response, AppError> {
    let (_, stamp) = match ready(v, site, sent).await {
        Ok(ready) => ready,
        Err(answer) => return Ok(answer),
    };
    let (key, reason) = (id.to_owned(), sent.get("reason").to_owned());
    let saved = site.desk().write_app(move |r| save_statement(r, &key, &stamp, &reason, &toml)).await?;
    Ok(match saved {
        Some(_) => Redirect::to(&format!("/proof/{id}")).into_response(),
        None => StatusCode::NOT_FOUND.into_response(),
    })
}
