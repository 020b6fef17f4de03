//! What keeps others out: headers, hosts, requests forged by other sites.

use axum::body::{Body, to_bytes};
use axum::extract::{Request, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, HOST, ORIGIN, SET_COOKIE};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use crate::look::cookie;
use crate::people::Door;
use crate::state::Site;

/// Largest form or request of a program, bytes.
pub(crate) const LARGEST_BODY: usize = 512 * 1024;

/// Only own files, no script or style inside a page, no frame around it.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; \
                      connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

const HEADERS: [(&str, &str); 7] = [
    ("content-security-policy", POLICY),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "camera=(), geolocation=(), microphone=()"),
    ("x-frame-options", "DENY"),
];

/// Whether a proxy says that it was asked over an encrypted connection. Whoever says so untruly only keeps its own cookies
/// from being sent.
fn behind_encryption(headers: &HeaderMap) -> bool {
    header(headers, "x-forwarded-proto").is_some_and(|p| p.trim().eq_ignore_ascii_case("https"))
}

/// Cookies of encrypted connections never travel over others.
fn secure_cookies(list: &mut HeaderMap) {
    let marked: Vec<HeaderValue> = list
        .get_all(SET_COOKIE)
        .iter()
        .filter_map(|c| HeaderValue::from_str(&format!("{}; Secure", c.to_str().ok()?)).ok())
        .collect();
    list.remove(SET_COOKIE);
    for cookie in marked {
        list.append(SET_COOKIE, cookie);
    }
}

/// Headers of every response; one that is set already stays.
pub(crate) async fn headers(State(site): State<Site>, request: Request, next: Next) -> Response {
    let encrypted = site.is_encrypted() || behind_encryption(request.headers());
    let mut response = next.run(request).await;
    if encrypted {
        secure_cookies(response.headers_mut());
    }
    let list = response.headers_mut();
    for (name, value) in HEADERS {
        list.entry(HeaderName::from_static(name)).or_insert(HeaderValue::from_static(value));
    }
    list.entry(CACHE_CONTROL).or_insert(HeaderValue::from_static("private, no-store"));
    response
}

/// Host names under which this machine alone is asked.
fn is_local(host: &str) -> bool {
    let name =
        host.rsplit_once(':').filter(|(_, p)| p.bytes().all(|b| b.is_ascii_digit())).map_or(host, |h| h.0);
    matches!(name, "localhost" | "127.0.0.1" | "[::1]")
}

fn is_safe(request: &Request) -> bool {
    request.method().is_safe()
}

fn header<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers.get(name).and_then(|v| v.to_str().ok())
}

/// What the headers say of where a request comes from.
enum Origin {
    Ours,
    Foreign,
    Unknown,
}

fn origin(headers: &HeaderMap) -> Origin {
    if let Some(site) = header(headers, "sec-fetch-site") {
        return if site == "same-origin" { Origin::Ours } else { Origin::Foreign };
    }
    match (header(headers, ORIGIN.as_str()), header(headers, HOST.as_str())) {
        (Some(origin), Some(host)) => {
            let named = origin.strip_prefix("http://").or_else(|| origin.strip_prefix("https://"));
            if named == Some(host) { Origin::Ours } else { Origin::Foreign }
        }
        (Some(_), None) => Origin::Foreign,
        (None, _) => Origin::Unknown,
    }
}

/// Refuses foreign hosts and requests that another site's page made.
///
/// A name that points here from outside (DNS rebinding) is refused by its Host. A request that changes something must say
/// that it comes from our pages: by Sec-Fetch-Site, else by Origin, else by the token of its form. JSON without either
/// header comes from a program: no page of another site can send it unasked.
pub(crate) async fn origin_check(State(site): State<Site>, request: Request, next: Next) -> Response {
    let host = header(request.headers(), HOST.as_str()).unwrap_or("");
    if matches!(site.door(), Door::ThisMachine) && !is_local(host) {
        return StatusCode::MISDIRECTED_REQUEST.into_response();
    }
    if is_safe(&request) {
        return next.run(request).await;
    }
    match origin(request.headers()) {
        Origin::Ours => next.run(request).await,
        Origin::Foreign => StatusCode::FORBIDDEN.into_response(),
        Origin::Unknown => without_origin(request, next).await,
    }
}

async fn without_origin(request: Request, next: Next) -> Response {
    let kind = header(request.headers(), CONTENT_TYPE.as_str()).unwrap_or("").to_owned();
    let is = |wanted: &str| kind.split(';').next().is_some_and(|k| k.trim().eq_ignore_ascii_case(wanted));
    // Neither can be sent by a page of another site without this site's leave.
    if is("application/json") || is("application/octet-stream") {
        return next.run(request).await;
    }
    let Some(known) = cookie(request.headers(), "form_token").map(str::to_owned) else {
        return StatusCode::FORBIDDEN.into_response();
    };
    if !is("application/x-www-form-urlencoded") {
        return StatusCode::FORBIDDEN.into_response();
    }
    let (parts, body) = request.into_parts();
    let Ok(bytes) = to_bytes(body, LARGEST_BODY).await else {
        return StatusCode::PAYLOAD_TOO_LARGE.into_response();
    };
    let wanted = format!("form_token={known}");
    let given = bytes.split(|b| *b == b'&').any(|pair| same(pair, wanted.as_bytes()));
    if !given {
        return StatusCode::FORBIDDEN.into_response();
    }
    next.run(Request::from_parts(parts, Body::from(bytes))).await
}

/// Compares without telling by its time how much was right.
pub(crate) fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && a.iter().zip(b).fold(0_u8, |d, (x, y)| d | (x ^ y)) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refuse_names_that_are_not_this_machine() {
        for good in ["localhost", "localhost:8420", "127.0.0.1:8420", "[::1]:8420", "[::1]"] {
            assert!(is_local(good), "{good}");
        }
        for bad in
            ["", "example.org", "localhost.example.org:80", "127.0.0.1.example.org", "192.168.1.4:8420"]
        {
            assert!(!is_local(bad), "{bad}");
        }
    }

    #[test]
    fn identity_same_bytes() {
        assert!(same(b"abc", b"abc") && !same(b"abc", b"abd") && !same(b"abc", b"ab"));
    }
}
