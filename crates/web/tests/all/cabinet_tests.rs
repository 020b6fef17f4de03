//! Tests of a cabinet: advice as a page, files handed in, and what is said of those that are refused.

use axum::http::StatusCode;
use serde_json::{Value, json};

use crate::support::{get, post_json, request, send};

macro_rules! example {
    ($($name:literal),*) => {
        [$(($name, include_str!(concat!("../../../../examples/commission/", $name)))),*]
    };
}

/// The invented example.
pub fn files() -> Value {
    let list =
        example!("tests.toml", "heat_up.csv", "hold.csv", "pan.csv", "cloths.csv", "logger.mapping.toml");
    let files: Vec<Value> = list.iter().map(|(name, text)| json!({ "name": name, "text": text })).collect();
    json!({ "files": files })
}

#[tokio::test]
async fn identity_the_page_leads_to_advice_for_every_cabinet() {
    let page = get("/cabinet-tests").await;
    assert_eq!(page.status, StatusCode::OK);
    let text = page.text();
    assert!(text.contains("/cabinet-tests/north") && text.contains("multipart/form-data"), "{text}");
    let advice = get("/cabinet-tests/north").await;
    assert_eq!(advice.status, StatusCode::OK);
    assert!(advice.text().contains("heat-up and cool-down with the energy meter"));
    assert_eq!(get("/cabinet-tests/nowhere").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn val_files_by_the_interface_give_figures_and_refusals_say_why() {
    let answer = post_json("/api/v1/cabinet-tests", &files()).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text());
    let figures = answer.json();
    let power =
        figures["figures"].as_array().unwrap().iter().find(|f| f["key"] == "HeaterPower").unwrap().clone();
    assert_eq!(power["told"], "yes");
    let none = post_json("/api/v1/cabinet-tests", &json!({ "files": [] })).await;
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", none.text());
}

#[tokio::test]
async fn identity_a_browser_sends_files_without_script() {
    let mut body = String::new();
    for file in files()["files"].as_array().unwrap() {
        let (name, text) = (file["name"].as_str().unwrap(), file["text"].as_str().unwrap());
        body += &format!(
            "--edge\r\ncontent-disposition: form-data; name=\"files\"; filename=\"{name}\"\r\n\r\n{text}\r\n"
        );
    }
    body += "--edge\r\ncontent-disposition: form-data; name=\"show\"\r\n\r\nreport\r\n--edge--\r\n";
    let headers = [
        ("sec-fetch-site", "same-origin"),
        ("content-type", "multipart/form-data; boundary=edge"),
        ("cookie", "language=en; units=si"),
    ];
    let answer = send(request("POST", "/cabinet-tests", &headers, &body)).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text());
    assert!(answer.text().contains("Heater power"));
    let empty = "--edge\r\ncontent-disposition: form-data; name=\"show\"\r\n\r\nreport\r\n--edge--\r\n";
    let refused = send(request("POST", "/cabinet-tests", &headers, empty)).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("names tests"), "{}", refused.text());
}
