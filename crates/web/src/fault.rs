//! What went wrong with a request, as a page that says what to do next, or as problem JSON (RFC 9457).

use axum::Json;
use axum::extract::Request;
use axum::http::header::{ACCEPT, CONTENT_TYPE, RETRY_AFTER};
use axum::http::{HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use fallrate_app::AppError;
use maud::html;
use serde::Serialize;
use utoipa::ToSchema;

use crate::look::Visit;
use crate::shell::{Shell, Tab};

/// A problem as RFC 9457 says it, `application/problem+json`.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct Problem {
    /// "about:blank": the status says what kind it is.
    #[serde(rename = "type")]
    kind: &'static str,
    /// What is wrong, in a few words.
    title: String,
    /// HTTP status.
    status: u16,
    /// What, which value, what is allowed, where.
    detail: String,
    /// Entries that are wrong, each with its key.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    errors: Vec<EntryProblem>,
}

/// One wrong entry.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct EntryProblem {
    /// Key of the plan file, or name of the parameter.
    pub key: String,
    /// What is wrong with it and what is allowed.
    pub detail: String,
}

/// Marks a response that already says what is wrong.
#[derive(Clone, Copy)]
struct Said;

impl Problem {
    pub(crate) fn new(status: StatusCode, detail: String) -> Self {
        let title = status.canonical_reason().unwrap_or("Error").to_owned();
        Self { kind: "about:blank", title, status: status.as_u16(), detail, errors: Vec::new() }
    }
    /// Whether it is of this status.
    pub(crate) fn is(&self, status: StatusCode) -> bool {
        self.status == status.as_u16()
    }
    /// Its words.
    pub(crate) fn said(&self) -> &str {
        &self.detail
    }
    pub(crate) fn with(mut self, errors: Vec<EntryProblem>) -> Self {
        self.errors = errors;
        self
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut response = (status, Json(self)).into_response();
        let kind = HeaderValue::from_static("application/problem+json");
        response.headers_mut().insert(CONTENT_TYPE, kind);
        response.extensions_mut().insert(Said);
        response
    }
}

impl From<AppError> for Problem {
    fn from(e: AppError) -> Self {
        let detail = e.to_string();
        match e {
            AppError::Store(e) => Self::from(e),
            AppError::Unknown(_) => Self::new(StatusCode::NOT_FOUND, detail),
            AppError::Cancelled => Self::new(StatusCode::SERVICE_UNAVAILABLE, detail),
            AppError::Problems(p) => {
                let entries =
                    p.list().iter().map(|p| EntryProblem { key: p.what.clone(), detail: p.to_string() });
                Self::new(StatusCode::UNPROCESSABLE_ENTITY, detail).with(entries.collect())
            }
            _ => Self::new(StatusCode::UNPROCESSABLE_ENTITY, detail),
        }
    }
}

/// An address without a page.
pub(crate) async fn nowhere() -> StatusCode {
    StatusCode::NOT_FOUND
}

/// Words for a status: what happened, what to do next.
fn keys(status: StatusCode) -> (&'static str, &'static str) {
    match status {
        StatusCode::NOT_FOUND => ("web-fault-nowhere", "web-fault-nowhere-next"),
        StatusCode::METHOD_NOT_ALLOWED | StatusCode::BAD_REQUEST | StatusCode::UNPROCESSABLE_ENTITY => {
            ("web-fault-unread", "web-fault-unread-next")
        }
        StatusCode::FORBIDDEN | StatusCode::MISDIRECTED_REQUEST => {
            ("web-fault-foreign", "web-fault-foreign-next")
        }
        StatusCode::UNAUTHORIZED => ("web-fault-signed-out", "web-fault-signed-out-next"),
        StatusCode::PAYLOAD_TOO_LARGE => ("web-fault-large", "web-fault-large-next"),
        StatusCode::REQUEST_TIMEOUT | StatusCode::SERVICE_UNAVAILABLE => {
            ("web-fault-slow", "web-fault-slow-next")
        }
        StatusCode::UNSUPPORTED_MEDIA_TYPE => ("web-fault-unread", "web-fault-unread-next"),
        _ => ("web-fault-own", "web-fault-own-next"),
    }
}

/// Gives a bare error its words.
pub(crate) async fn dress(visit: Visit, request: Request, next: Next) -> Response {
    let program = request.uri().path().starts_with("/api/");
    let accepts = request.headers().get(ACCEPT).and_then(|v| v.to_str().ok()).unwrap_or("").to_owned();
    let mut response = next.run(request).await;
    let status = response.status();
    if status == StatusCode::SERVICE_UNAVAILABLE {
        response.headers_mut().insert(RETRY_AFTER, HeaderValue::from_static("5"));
    }
    let said = response.extensions().get::<Said>().is_some();
    if said || !(status.is_client_error() || status.is_server_error()) {
        return response;
    }
    let (what, then) = keys(status);
    let mut dressed = if program || accepts.contains("application/json") {
        Problem::new(status, format!("{} {}", visit.text(what), visit.text(then))).into_response()
    } else {
        page(&visit, status, what, then)
    };
    if status == StatusCode::SERVICE_UNAVAILABLE {
        dressed.headers_mut().insert(RETRY_AFTER, HeaderValue::from_static("5"));
    }
    dressed
}

fn page(visit: &Visit, status: StatusCode, what: &str, then: &str) -> Response {
    let body = html! {
        p.kicker { (status.as_u16()) }
        h1 { (visit.text(what)) }
        p.subline { (visit.text(then)) }
        p { a.button href="/" { (visit.text("web-fault-home")) } }
    };
    let page = Shell { title: visit.text(what), tab: Tab::None }.around(visit, &body);
    let mut response = (status, page).into_response();
    response.extensions_mut().insert(Said);
    response
}

/// Marks a response of an error status as complete.
pub(crate) fn said(mut response: Response) -> Response {
    response.extensions_mut().insert(Said);
    response
}
