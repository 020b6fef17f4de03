//! Every page in every language and unit system.

use axum::http::StatusCode;

use crate::support::{get, get_with, request, send};

const PAGES: [&str; 11] = [
    "/learn",
    "/learn/trial",
    "/",
    "/plan",
    "/plan?product=kale&load.amount=4&go=1",
    "/plan?product=kale&load.amount=many&go=1",
    "/plan?product=apple&by_hand=1",
    "/library",
    "/library/products/beef_eye_of_round",
    "/library/cabinets/bench_unit",
    "/air?dry_bulb=71C&wet_bulb=54C&want_rh=40&volume=1.6",
];

#[tokio::test]
async fn identity_no_page_shows_a_missing_text_or_carries_script_or_style() {
    for path in PAGES.iter().chain(&["/nowhere", "/air?dry_bulb=x"]) {
        for cookies in ["language=en; units=us; theme=dark", "language=es; units=si; theme=day"] {
            let text = get_with(path, cookies).await.text();
            for bad in
                ["[web-", "[title", "{ $", "NaN", "style=\"", "<style", "<script>", "onclick", "javascript:"]
            {
                assert!(!text.contains(bad), "{path} {cookies}: {bad}");
            }
            assert!(text.contains("<main"), "{path}");
        }
    }
}

#[tokio::test]
async fn identity_language_units_and_theme_are_those_of_the_browser() {
    let spanish = get_with("/plan", "language=es; theme=dark").await.text();
    assert!(spanish.contains("<html lang=\"es\" data-theme=\"dark\">") && spanish.contains("Gabinete"));
    let by_header = send(request("GET", "/", &[("accept-language", "es-MX,en;q=0.5")], "")).await.text();
    assert!(by_header.contains("<html lang=\"es\" data-theme=\"system\">"));
    // The switch itself names the other units; the article does not.
    let article = |text: String| text.split_once("<article").map(|(_, a)| a.to_owned()).expect("an article");
    let us = article(get_with("/library/products/apple", "units=us").await.text());
    let si = article(get_with("/library/products/apple", "units=si").await.text());
    assert!(us.contains("°F") && !si.contains("°F"));
}

#[tokio::test]
async fn identity_a_switch_is_kept_and_leads_back() {
    let headers = [("sec-fetch-site", "same-origin"), ("content-type", "application/x-www-form-urlencoded")];
    let answer = send(request("POST", "/look", &headers, "language=es&back=%2Fair")).await;
    assert_eq!((answer.status, answer.header("location").as_str()), (StatusCode::SEE_OTHER, "/air"));
    let set: Vec<_> = answer.headers.get_all("set-cookie").iter().map(|v| v.to_str().unwrap()).collect();
    assert!(set.iter().any(|c| c.starts_with("language=es;") && c.contains("HttpOnly; SameSite=Strict")));
    for elsewhere in ["https%3A%2F%2Fexample.org", "%2F%2Fexample.org", "%2F%5Cexample.org", "x"] {
        let body = format!("units=us&back={elsewhere}");
        let answer = send(request("POST", "/look", &headers, &body)).await;
        assert_eq!(answer.header("location"), "/", "{elsewhere}");
    }
}

#[tokio::test]
async fn refuse_what_does_not_exist_and_say_what_to_do() {
    for path in [
        "/nowhere",
        "/library/products/unicorn",
        "/library/products/..%2Fapple.toml",
        "/static/0000/style.css",
    ] {
        let answer = get(path).await;
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{path}");
        assert!(answer.text().contains("begin at the first page"), "{path}");
    }
    let wrong = send(request("DELETE", "/plan", &[("sec-fetch-site", "same-origin")], "")).await;
    assert_eq!(wrong.status, StatusCode::METHOD_NOT_ALLOWED);
}

/// What a first visit costs over the wire: page, style, script, both weights of the typeface.
#[tokio::test]
async fn limit_first_page_is_small() {
    for first in ["/", "/plan"] {
        let zip = [("accept-encoding", "gzip")];
        let plain = get(first).await.text();
        let mut sizes = vec![(first.to_owned(), send(request("GET", first, &zip, "")).await.bytes.len())];
        let css = plain.split('"').find(|p| p.ends_with("style.css")).expect("a style sheet").to_owned();
        let style = get(&css).await.text();
        let fonts = style.split(['(', ')']).filter(|p| p.starts_with("/static/")).map(str::to_owned);
        let files: Vec<String> =
            plain.split('"').filter(|p| p.starts_with("/static/")).map(str::to_owned).chain(fonts).collect();
        assert_eq!(files.len(), 5, "{files:?}");
        for file in files {
            let size = send(request("GET", &file, &zip, "")).await.bytes.len();
            sizes.push((file, size));
        }
        let all: usize = sizes.iter().map(|(_, n)| n).sum();
        assert!(all < 150_000, "{all}: {sizes:?}");
    }
}

#[tokio::test]
async fn identity_files_of_the_program_are_kept_for_good_and_asked_for_once() {
    let page = get("/").await.text();
    for file in page.split('"').filter(|p| p.starts_with("/static/")) {
        let answer = get(file).await;
        assert_eq!(answer.status, StatusCode::OK, "{file}");
        assert!(answer.header("cache-control").contains("immutable"));
        let again = send(request("GET", file, &[("if-none-match", &answer.header("etag"))], "")).await;
        assert_eq!((again.status, again.bytes.len()), (StatusCode::NOT_MODIFIED, 0), "{file}");
    }
}
