//! How this browser wants to see things: language, units, theme, kept in cookies.

use std::sync::Arc;

use axum::extract::{FromRequestParts, Request, State};
use axum::http::header::{ACCEPT_LANGUAGE, COOKIE, SET_COOKIE, USER_AGENT};
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use axum::{Extension, Form};
use fallrate_app::{Language, Reader, Units};
use serde::Deserialize;

use crate::people::Person;
use crate::state::Site;

/// Day, dark, or as the system says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Theme {
    #[default]
    System,
    Day,
    Dark,
}

impl Theme {
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::System => "system",
            Self::Day => "day",
            Self::Dark => "dark",
        }
    }
}

/// A request's reader, and what every page needs to know of the request.
#[derive(Clone, Debug)]
pub(crate) struct Visit {
    pub language: Language,
    pub units: Units,
    pub theme: Theme,
    pub reader: Arc<Reader>,
    /// Proves that a form came from a page of ours.
    pub token: String,
    /// Path and query of the request.
    pub here: String,
    /// Who asks, where one signs in.
    pub person: Option<Person>,
    /// The device, in the words of its browser.
    pub device: String,
    /// In the invented demo workshop: how many of its batches are there.
    pub demo: Option<usize>,
}

impl Visit {
    pub(crate) fn text(&self, key: &str) -> String {
        self.reader.words.text(key)
    }
    pub(crate) fn with(&self, key: &str, values: &[(&str, &str)]) -> String {
        self.reader.words.with(key, values)
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Visit {
    type Rejection = StatusCode;
    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Self::Rejection> {
        let found = Extension::<Self>::from_request_parts(parts, state).await;
        found.map(|e| e.0).map_err(|_| StatusCode::INTERNAL_SERVER_ERROR)
    }
}

/// The value of a cookie.
pub(crate) fn cookie<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    let all = headers.get_all(COOKIE).iter().filter_map(|v| v.to_str().ok());
    all.flat_map(|line| line.split(';')).find_map(|pair| {
        let (key, value) = pair.trim().split_once('=')?;
        (key == name).then_some(value)
    })
}

fn language(headers: &HeaderMap) -> Language {
    match cookie(headers, "language") {
        Some("es") => return Language::Spanish,
        Some("en") => return Language::English,
        _ => {}
    }
    let wanted = headers.get(ACCEPT_LANGUAGE).and_then(|v| v.to_str().ok()).unwrap_or("");
    let first = wanted.split(',').map(str::trim).find(|l| l.starts_with("es") || l.starts_with("en"));
    if first.is_some_and(|l| l.starts_with("es")) { Language::Spanish } else { Language::English }
}

fn units(headers: &HeaderMap) -> Units {
    match cookie(headers, "units") {
        Some("us") => return Units::Us,
        Some("si") => return Units::Si,
        _ => {}
    }
    let wanted = headers.get(ACCEPT_LANGUAGE).and_then(|v| v.to_str().ok()).unwrap_or("");
    if wanted.starts_with("en-US") || wanted.starts_with("es-US") { Units::Us } else { Units::Si }
}

fn theme(headers: &HeaderMap) -> Theme {
    match cookie(headers, "theme") {
        Some("day") => Theme::Day,
        Some("dark") => Theme::Dark,
        _ => Theme::System,
    }
}

/// Sixteen random bytes as hex.
pub(crate) fn random_hex() -> Option<String> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).ok()?;
    Some(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

fn is_token(text: &str) -> bool {
    text.len() == 32 && text.bytes().all(|b| b.is_ascii_hexdigit())
}

/// Puts the [`Visit`] into the request; a browser without a token gets one.
pub(crate) async fn visit(State(site): State<Site>, mut request: Request, next: Next) -> Response {
    let headers = request.headers();
    let (language, units, theme) = (language(headers), units(headers), theme(headers));
    let known = cookie(headers, "form_token").filter(|t| is_token(t)).map(str::to_owned);
    let Some(token) = known.clone().or_else(random_hex) else {
        return StatusCode::INTERNAL_SERVER_ERROR.into_response();
    };
    let here = request.uri().path_and_query().map_or("/", |p| p.as_str()).to_owned();
    let agent = request.headers().get(USER_AGENT).and_then(|v| v.to_str().ok()).unwrap_or("");
    let device: String = agent.chars().filter(|c| !c.is_control()).take(120).collect();
    let reader = site.reader(language, units);
    let demo = crate::demo::within(&site, request.headers());
    request.extensions_mut().insert(Visit {
        language,
        units,
        theme,
        reader,
        token: token.clone(),
        here,
        person: None,
        device,
        demo,
    });
    let mut response = next.run(request).await;
    if known.is_none() && !response.headers().contains_key("etag") {
        add_cookie(&mut response, "form_token", &token, None);
    }
    response
}

/// Adds a cookie that scripts cannot read and other sites cannot send.
pub(crate) fn add_cookie(response: &mut Response, name: &str, value: &str, seconds: Option<u64>) {
    let age = seconds.map_or(String::new(), |s| format!("; Max-Age={s}"));
    let line = format!("{name}={value}; Path=/; HttpOnly; SameSite=Strict{age}");
    if let Ok(line) = HeaderValue::from_str(&line) {
        response.headers_mut().append(SET_COOKIE, line);
    }
}

/// What a switch of the page's head sends.
#[derive(Debug, Deserialize)]
pub(crate) struct Switch {
    language: Option<String>,
    units: Option<String>,
    theme: Option<String>,
    back: Option<String>,
}

const YEAR_S: u64 = 365 * 86_400;

/// Keeps the switch and goes back to the page it was on.
pub(crate) async fn switch(Form(s): Form<Switch>) -> Response {
    let local = |p: &String| p.starts_with('/') && !p.starts_with("//") && !p.contains(['\\', '\r', '\n']);
    let back = s.back.filter(local).unwrap_or_else(|| "/".to_owned());
    let mut response = Redirect::to(&back).into_response();
    let choices = [
        ("language", s.language, ["en", "es"]),
        ("units", s.units, ["si", "us"]),
        ("theme", s.theme, ["day", "dark"]),
    ];
    for (name, value, allowed) in choices {
        if let Some(value) = value.filter(|v| allowed.contains(&v.as_str())) {
            add_cookie(&mut response, name, &value, Some(YEAR_S));
        }
    }
    response
}
