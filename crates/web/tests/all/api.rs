//! The interface for programs, against its own description.

use axum::http::StatusCode;
use serde_json::{Value, json};

use crate::support::{Answer, get, post_json, request, send, send_to, site};

const PLAN: &str = "product = \"apple\"\ncabinet = \"north\"\n[load]\ntotal = \"35 kg\"\n[room]\n\
                    temperature = \"20 degC\"\nrelative_humidity = \"50 %\"\n[target]\nmoisture = \"20 % wb\"\n";

const WRITTEN: &str = "product = \"apple\"\ncabinet = \"north\"\n[load]\ntotal = \"35 kg\"\n[room]\n\
                       temperature = \"20 degC\"\nrelative_humidity = \"50 %\"\n[target]\nmoisture = \"20 % wb\"\n\
                       [[stage]]\nname = \"dry\"\nset_point = \"57 degC\"\nvent = \"quarter\"\n\
                       until = { target = true }\nat_most = \"20 h\"\n";
/// Invented pairs.
pub const PAIRS: &str =
    "aw,moisture (% db),temperature (degC)\n0.3,10.1,25\n0.45,14.9,25\n0.6,23.8,25\n0.75,41,25\n";
const CURVE: &str =
    "time (h),moisture ratio,air (degC)\n0,1,60\n1,0.7,60\n2,0.48,60\n3,0.33,60\n4,0.22,60\n5,0.15,60\n";

fn is_problem(answer: &Answer, status: u16) {
    assert_eq!(answer.status.as_u16(), status, "{}", answer.text());
    assert_eq!(answer.header("content-type"), "application/problem+json");
    let body = answer.json();
    assert_eq!(body["status"], status);
    assert!(body["detail"].as_str().is_some_and(|d| d.len() > 10), "{body}");
}

#[tokio::test]
async fn identity_every_described_address_answers() {
    let document = get("/api/v1/openapi.json").await.json();
    assert_eq!(document["openapi"].as_str().map(|v| &v[..3]), Some("3.1"));
    let paths = document["paths"].as_object().expect("paths");
    assert!(paths.len() >= 30, "{:?}", paths.keys());
    // Those of one batch need a batch, see below; those of the proof, of upkeep and of rehearsals have tests of their own.
    let apart = ["{id}", "{name}", "{sort}", "/upkeep/", "/plant", "/proof", "/rehearsals"];
    let apart = |p: &&String| !apart.iter().any(|a| p.contains(a));
    for (path, methods) in paths.iter().filter(|(p, _)| apart(p)) {
        for (method, operation) in methods.as_object().expect("methods") {
            // Decisions and trials need more than one request; see `learn`.
            if method == "post" && matches!(path.as_str(), "/lessons" | "/trials") {
                continue;
            }
            let full = format!(
                "/api/v1{}",
                path.replace("{key}", if path.contains("cabinet") { "north" } else { "apple" })
            );
            let answer = match (method.as_str(), path.as_str()) {
                ("get", "/air") => get(&format!("{full}?dry_bulb=71C&rh=30%25")).await,
                ("get", _) => get(&full).await,
                ("post", "/cabinet-tests") => post_json(&full, &crate::cabinet_tests::files()).await,
                ("post", "/isotherms") => post_json(&full, &json!({ "table": PAIRS, "target": 0.6 })).await,
                ("post", "/drying-curves") => post_json(&full, &json!({ "table": CURVE })).await,
                ("post", "/moves") => {
                    let changes = ["room.altitude=1600 m"];
                    post_json(&full, &json!({ "plan": WRITTEN, "changes": changes })).await
                }
                // Before there is a plant.
                ("post", "/batches") => continue,
                ("post", "/plans") => post_json(&full, &json!({ "plan": PLAN })).await,
                _ => {
                    post_json(&full, &json!({ "first": PLAN, "second": PLAN.replace("35 kg", "20 kg") }))
                        .await
                }
            };
            assert_eq!(answer.status, StatusCode::OK, "{path}: {}", answer.text());
            assert!(operation["responses"]["200"].is_object(), "{path}");
            assert!(answer.header("content-type").starts_with("application/json"), "{path}");
        }
    }
}

/// A program enters what a person could, once for each id, and reads it back.
#[tokio::test]
async fn identity_entries_by_a_program() {
    let (site, _folder) = site();
    let form = [("sec-fetch-site", "same-origin"), ("content-type", "application/x-www-form-urlencoded")];
    let plant = "person=Ana&establishment=V&place=C&zone=America%2FDenver";
    send_to(&site, request("POST", "/setup", &form, plant)).await;
    let begun = send_to(
        &site,
        request("POST", "/batches/start", &form, "entry_id=start-0001&lot=A-17&plan=product%3Dapple"),
    )
    .await;
    let path = format!("/api/v1{}", begun.header("location"));
    let json = [("content-type", "application/json")];
    let enter = |body: Value| {
        let (site, path) = (site.clone(), format!("{path}/entries"));
        async move { send_to(&site, request("POST", &path, &json, &body.to_string())).await }
    };
    let weight = json!({ "entry_id": "weight-0001", "kind": "tray", "place": "8", "value": "2.95 kg" });
    let first = enter(weight.clone()).await;
    let again = enter(weight).await;
    assert_eq!((first.status, first.json()), (StatusCode::OK, again.json()), "{}", first.text());
    enter(json!({ "entry_id": "note-000001", "kind": "note", "value": "run ended: not at all" })).await;
    let batch = send_to(&site, request("GET", &path, &[], "")).await.json();
    assert_eq!(batch["readings"].as_array().map(Vec::len), Some(1));
    assert_eq!(
        (batch["readings"][0]["kind"].as_str(), batch["readings"][0]["value"].as_f64()),
        (Some("tray"), Some(2.95))
    );
    assert_eq!(batch["ended_at"], Value::Null);
    let list = send_to(&site, request("GET", "/api/v1/batches?words=a-17", &[], "")).await.json();
    assert_eq!(list.as_array().map(Vec::len), Some(1));
    for (body, status) in [
        (json!({ "entry_id": "weight-0001", "kind": "tray", "place": "8", "value": "3 kg" }), 409),
        (json!({ "entry_id": "weight-0002", "kind": "tray", "place": "8", "value": "3" }), 422),
        (json!({ "entry_id": "weight-0002", "kind": "tray", "place": "top", "value": "3 kg" }), 422),
        (json!({ "entry_id": "x", "kind": "rh", "value": "40 %" }), 422),
        (
            json!({ "entry_id": "weight-0003", "kind": "rh", "value": "40 %", "at": "2999-01-01T00:00:00Z" }),
            422,
        ),
        (json!({ "entry_id": "weight-0003", "kind": "verdict", "value": "met" }), 422),
    ] {
        is_problem(&enter(body).await, status);
    }
    is_problem(&send_to(&site, request("GET", "/api/v1/batches/none", &[], "")).await, 404);
}

/// A program sets the plant up, starts a batch once for each id, and finds it.
#[tokio::test]
async fn identity_a_plant_and_a_batch_by_a_program() {
    let (site, _folder) = site();
    let json = [("content-type", "application/json")];
    let ask = |method: &'static str, path: &'static str, body: Value| {
        let site = site.clone();
        async move { send_to(&site, request(method, path, &json, &body.to_string())).await }
    };
    is_problem(&ask("GET", "/api/v1/plant", json!(null)).await, 404);
    let start = json!({ "entry_id": "start-0001", "plan": PLAN, "lot": "A-17" });
    is_problem(&ask("POST", "/api/v1/batches", start.clone()).await, 422);
    let plant = json!({ "establishment": "V", "place": "C", "person": "Ana", "zone": "America/Denver", "altitude_m": 640.0, "meat": true });
    for (key, wrong) in [("zone", json!("Denver")), ("person", json!(" ")), ("altitude_m", json!(9000))] {
        let mut body = plant.clone();
        body[key] = wrong;
        is_problem(&ask("PUT", "/api/v1/plant", body).await, 422);
    }
    assert_eq!(ask("PUT", "/api/v1/plant", plant.clone()).await.status, StatusCode::NO_CONTENT);
    assert_eq!(ask("GET", "/api/v1/plant", json!(null)).await.json(), plant);
    let first = ask("POST", "/api/v1/batches", start.clone()).await;
    assert_eq!(first.status, StatusCode::OK, "{}", first.text());
    assert_eq!(first.json(), ask("POST", "/api/v1/batches", start).await.json());
    let other = json!({ "entry_id": "start-0001", "plan": PLAN.replace("35 kg", "20 kg") });
    is_problem(&ask("POST", "/api/v1/batches", other).await, 409);
    let list = ask("GET", "/api/v1/batches", json!(null)).await.json();
    assert_eq!((list[0]["lot"].as_str(), list.as_array().map(Vec::len)), (Some("A-17"), Some(1)));
}

/// Every reference of the description leads somewhere.
#[tokio::test]
async fn identity_no_reference_is_broken() {
    fn references(value: &Value, found: &mut Vec<String>) {
        match value {
            Value::Object(map) => {
                found.extend(map.get("$ref").and_then(Value::as_str).map(str::to_owned));
                map.values().for_each(|v| references(v, found));
            }
            Value::Array(list) => list.iter().for_each(|v| references(v, found)),
            _ => {}
        }
    }
    let document = get("/api/v1/openapi.json").await.json();
    let mut found = Vec::new();
    references(&document, &mut found);
    assert!(found.len() > 30, "{}", found.len());
    for r in found {
        assert!(document.pointer(r.trim_start_matches('#')).is_some(), "{r}");
    }
    assert_eq!(
        document.pointer("/paths/~1plans/post/responses/200/content/application~1json/schema/$ref"),
        Some(&json!("#/components/schemas/Plan"))
    );
}

#[tokio::test]
async fn identity_a_plan_of_the_interface_is_a_forecast_in_the_language_asked_for() {
    let plan =
        post_json("/api/v1/plans", &json!({ "plan": PLAN, "draws": 16, "language": "es", "units": "us" }))
            .await
            .json();
    assert_eq!((plan["kind"].as_str(), plan["language"].as_str()), (Some("forecast"), Some("es")));
    assert!(plan["timer"]["early_s"].as_f64() < plan["timer"]["late_s"].as_f64(), "{}", plan["timer"]);
}

#[tokio::test]
async fn refuse_with_a_problem_that_says_what_is_allowed() {
    is_problem(&get("/api/v1/products/unicorn").await, 404);
    is_problem(&get("/api/v1/nowhere").await, 404);
    is_problem(&get("/api/v1/air?dry_bulb=71C").await, 422);
    is_problem(&get("/api/v1/air?dry_bulb=warm&rh=30").await, 422);
    is_problem(&get("/api/v1/plans").await, 405);
    is_problem(&post_json("/api/v1/plans", &json!({ "plan": PLAN, "draws": 60000 })).await, 422);
    is_problem(&post_json("/api/v1/plans", &json!({ "plan": PLAN.replace("apple", "unicorn") })).await, 404);
    is_problem(&post_json("/api/v1/plans", &json!({ "plan": PLAN, "evil": 1 })).await, 422);
    is_problem(&post_json("/api/v1/plans", &json!({ "plan": "../x.toml" })).await, 422);
    let json = [("content-type", "application/json")];
    is_problem(&send(request("POST", "/api/v1/plans", &json, "{")).await, 400);
    let text = [("content-type", "text/plain"), ("sec-fetch-site", "same-origin")];
    is_problem(&send(request("POST", "/api/v1/plans", &text, "{}")).await, 415);
    is_problem(&send(request("POST", "/api/v1/plans", &[("content-type", "text/plain")], "{}")).await, 403);
    let wrong = post_json("/api/v1/plans", &json!({ "plan": PLAN.replace("35 kg", "35") })).await;
    is_problem(&wrong, 422);
    assert_eq!(wrong.json()["errors"][0]["key"], "load.total");
}
