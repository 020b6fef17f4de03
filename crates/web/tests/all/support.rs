//! A site, and requests to it.

use std::sync::LazyLock;

use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode};
use fallrate_app::batches::RecordRealm;
use fallrate_database::{OpenOptions, SqliteRecords};
use fallrate_web::{Site, router};
use http_body_util::BodyExt;
use tower::ServiceExt;

/// A site over a database of its own, in a folder that is taken away with it.
pub fn site() -> (Site, tempfile::TempDir) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("proof.sqlite");
    let records = SqliteRecords::open(&file, RecordRealm::Proof, OpenOptions::default()).expect("a database");
    (Site::new(Box::new(records)).expect("a site"), folder)
}

/// The site of the tests that keep nothing.
static SITE: LazyLock<(Site, tempfile::TempDir)> = LazyLock::new(site);

/// An answer, read to its end.
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub bytes: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8(self.bytes.clone()).expect("UTF-8")
    }
    pub fn header(&self, name: &str) -> String {
        self.headers.get(name).map_or("", |v| v.to_str().expect("ASCII")).to_owned()
    }
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.bytes).expect("JSON")
    }
}

pub async fn send(request: Request<Body>) -> Answer {
    send_to(&SITE.0, request).await
}

pub async fn send_to(site: &Site, request: Request<Body>) -> Answer {
    let response = router(site.clone()).oneshot(request).await.expect("an answer");
    let (parts, body) = response.into_parts();
    let bytes = body.collect().await.expect("a body").to_bytes().to_vec();
    Answer { status: parts.status, headers: parts.headers, bytes }
}

/// A request of a browser on this machine; headers as name and value.
pub fn request(method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Request<Body> {
    let mut builder = Request::builder().method(method).uri(path);
    if !headers.iter().any(|(n, _)| *n == "host") {
        builder = builder.header("host", "127.0.0.1:8420");
    }
    for (name, value) in headers {
        builder = builder.header(*name, *value);
    }
    builder.body(Body::from(body.to_owned())).expect("a request")
}

pub async fn get(path: &str) -> Answer {
    send(request("GET", path, &[], "")).await
}

pub async fn get_with(path: &str, cookies: &str) -> Answer {
    send(request("GET", path, &[("cookie", cookies)], "")).await
}

pub async fn post_json(path: &str, body: &serde_json::Value) -> Answer {
    send(request("POST", path, &[("content-type", "application/json")], &body.to_string())).await
}
