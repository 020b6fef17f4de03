//! What must not get in.

use axum::http::StatusCode;

use crate::support::{get, request, send};

const FORM: (&str, &str) = ("content-type", "application/x-www-form-urlencoded");
/// Headers, body, status.
type Case<'a> = (&'a [(&'a str, &'a str)], &'a str, u16);
const TOKEN: &str = "0123456789abcdef0123456789abcdef";

#[tokio::test]
async fn identity_every_answer_carries_the_policy() {
    for path in ["/", "/plan", "/nowhere", "/api/v1/products", "/plan/card?product=apple"] {
        let answer = get(path).await;
        let policy = answer.header("content-security-policy");
        assert!(policy.contains("default-src 'none'") && policy.contains("frame-ancestors 'none'"), "{path}");
        assert!(!policy.contains("unsafe-inline") && !policy.contains("unsafe-eval"), "{path}: {policy}");
        assert!(!policy.contains("http"), "{path}: {policy}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(answer.header("cache-control"), "private, no-store", "{path}");
    }
}

#[tokio::test]
async fn refuse_requests_that_another_site_made() {
    let cookie = format!("form_token={TOKEN}");
    let own = format!("units=us&form_token={TOKEN}");
    let cases: [Case<'_>; 9] = [
        (&[("sec-fetch-site", "cross-site")], "units=us", 403),
        (&[("sec-fetch-site", "same-site")], "units=us", 403),
        (&[("sec-fetch-site", "none")], "units=us", 403),
        (&[("origin", "https://example.org")], "units=us", 403),
        (&[("origin", "null")], "units=us", 403),
        (&[("origin", "http://127.0.0.1:8420")], "units=us", 303),
        (&[("cookie", &cookie)], "units=us", 403),
        (&[("cookie", &cookie)], &own, 303),
        (&[], &own, 403),
    ];
    for (headers, body, wanted) in cases {
        let all: Vec<(&str, &str)> = headers.iter().copied().chain([FORM]).collect();
        let answer = send(request("POST", "/look", &all, body)).await;
        assert_eq!(answer.status.as_u16(), wanted, "{headers:?} {body}");
        let changed =
            answer.headers.get_all("set-cookie").iter().any(|c| c.to_str().unwrap().starts_with("units="));
        assert_eq!(changed, wanted == 303, "{headers:?}");
    }
}

#[tokio::test]
async fn refuse_a_name_that_points_here_from_outside() {
    for host in ["example.org", "example.org:8420", "127.0.0.1.example.org", "10.0.0.7:8420"] {
        let answer = send(request("GET", "/", &[("host", host)], "")).await;
        assert_eq!(answer.status, StatusCode::MISDIRECTED_REQUEST, "{host}");
    }
    for host in ["localhost:8420", "127.0.0.1:9", "[::1]:8420"] {
        assert_eq!(send(request("GET", "/", &[("host", host)], "")).await.status, StatusCode::OK, "{host}");
    }
}

#[tokio::test]
async fn refuse_what_is_too_large() {
    let large = format!("{{\"plan\":\"{}\"}}", "x".repeat(600 * 1024));
    let answer =
        send(request("POST", "/api/v1/plans", &[("content-type", "application/json")], &large)).await;
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert_eq!(answer.header("content-type"), "application/problem+json");
    let long = format!("/plan?load.amount={}&go=1", "9".repeat(5000));
    assert!(get(&long).await.status.is_client_error());
}

/// Entries never leave their places: not in the page, not in the plan file, not in a header.
#[tokio::test]
async fn refuse_entries_that_want_to_be_more() {
    for evil in
        ["%22%3E%3Cscript%3Ealert(1)%3C/script%3E", "x%22%0A%5Bevil%5D%0Ak=1", "%5C%22%0D%0AX-Evil:%201"]
    {
        let page = get(&format!("/plan?title={evil}&product={evil}&load.amount={evil}&go=1")).await;
        assert!(!page.text().contains("<script>alert"), "{evil}");
        let file = get(&format!("/plan/file?title={evil}&product={evil}")).await;
        assert_eq!(file.header("x-evil"), "");
        let text = file.text();
        assert!(!text.lines().any(|l| l.starts_with("[evil]") || l.starts_with("k=1")), "{text}");
    }
    // A path in place of a key reads no file.
    let path = get("/plan?product=..%2Fdata%2Fproducts%2Fapple.toml&go=1").await;
    assert_eq!(path.status, StatusCode::UNPROCESSABLE_ENTITY);
}
