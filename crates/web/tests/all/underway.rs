//! A batch under way, by forms without script and by the interface: readings move the forecast, doubtful ones are read back,
//! interruptions are judged, corrective actions are kept.

use axum::http::StatusCode;
use fallrate_app::batches::Instant;
use fallrate_app::proof::LocalClock;
use fallrate_web::Site;
use serde_json::{Value, json};

use crate::support::{Answer, request, send_to, site};

const OWN: (&str, &str) = ("sec-fetch-site", "same-origin");
const FORM: (&str, &str) = ("content-type", "application/x-www-form-urlencoded");

async fn post(site: &Site, path: &str, body: &str) -> Answer {
    send_to(site, request("POST", path, &[OWN, FORM, ("cookie", "language=en; units=si")], body)).await
}

async fn get(site: &Site, path: &str) -> Answer {
    send_to(site, request("GET", path, &[("cookie", "language=en; units=si")], "")).await
}

async fn get_spanish(site: &Site, path: &str) -> String {
    send_to(site, request("GET", path, &[("cookie", "language=es; units=us")], "")).await.text()
}

async fn json_to(site: &Site, path: &str, body: &Value) -> Answer {
    send_to(site, request("POST", path, &[("content-type", "application/json")], &body.to_string())).await
}

fn ago(minutes: f64) -> Instant {
    let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).expect("after 1970");
    Instant::from_unix_seconds(now.as_secs_f64() - minutes * 60.0)
}

/// A time as a form takes it: in full, so that the test does not depend on the hour it runs at.
fn full(minutes: f64) -> String {
    let clock = LocalClock::named("UTC").expect("a clock");
    clock.full(ago(minutes)).replace('+', "%2B").replace(' ', "+")
}

/// A batch of a product that began so many minutes ago.
async fn begun(product: &str, minutes: f64) -> (Site, tempfile::TempDir, String) {
    let (site, folder) = site();
    let plant = "person=Ana+Ruiz&establishment=Valley+Workshop&place=Creamery+Lane&zone=UTC&altitude=640";
    assert_eq!(post(&site, "/setup", plant).await.status, StatusCode::SEE_OTHER);
    let start =
        format!("entry_id=start-0001&lot=A-17&plan=product%3D{product}%26load.amount%3D22%26units%3Dsi");
    let batch = post(&site, "/batches/start", &start).await.header("location");
    let done = format!("entry_id=done-0001&number=1&text=Load&at={}", full(minutes));
    assert_eq!(post(&site, &format!("{batch}/done"), &done).await.status, StatusCode::SEE_OTHER);
    (site, folder, batch)
}

fn api(batch: &str) -> String {
    format!("/api/v1{batch}")
}

/// The forecast once it knows everything entered.
async fn forecast(site: &Site, batch: &str) -> Value {
    for _ in 0..20 {
        let found = get(site, &format!("{}/forecast", api(batch))).await.json();
        if found["behind"] == json!(false) {
            return found;
        }
    }
    panic!("the forecast stays behind");
}

#[tokio::test]
async fn identity_a_reading_by_a_form_moves_the_forecast_and_its_reason_is_shown() {
    let (site, _folder, batch) = begun("apple", 240.0).await;
    let vent = format!("entry_id=done-0002&number=2&text=Vent&at={}", full(225.0));
    assert_eq!(post(&site, &format!("{batch}/done"), &vent).await.status, StatusCode::SEE_OTHER);
    let first = forecast(&site, &batch).await;
    assert!(first["end"]["expected"].is_string(), "{first}");
    for (n, tray) in [(1, 4), (2, 11)] {
        // Heavier than after four hours it should be: hardly anything has dried.
        let body = format!("entry_id=read-000{n}&kind=tray&place={tray}&value=2.6&at={}", full(5.0));
        let sent = post(&site, &format!("{batch}/reading"), &body).await;
        assert_eq!(sent.status, StatusCode::SEE_OTHER, "{}", sent.text());
    }
    let second = forecast(&site, &batch).await;
    assert_ne!(second["end"]["expected"], first["end"]["expected"]);
    let page = get(&site, &batch).await.text();
    for part in [
        "End moved from",
        "forecast.</p>",
        "mean, before the run",
        "Tray 4, measured",
        "Power off about",
        "<svg class=\"sign\"",
    ] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert!(!page.contains("they do not change it"), "{page}");
    let spanish = get_spanish(&site, &batch).await;
    assert!(spanish.contains("El final pasó de") && spanish.contains("Apagar hacia las"), "{spanish}");
    let day = get(&site, "/").await.text();
    assert!(day.contains("Power off about") && day.contains("class=\"axis\""), "{day}");
}

#[tokio::test]
async fn identity_a_doubtful_entry_is_read_back_and_stands_only_after_an_answer() {
    let (site, _folder, batch) = begun("apple", 240.0).await;
    forecast(&site, &batch).await;
    let path = format!("{batch}/reading");
    let light = format!("entry_id=read-0001&kind=tray&place=8&value=2.6&at={}", full(90.0));
    assert_eq!(post(&site, &path, &light).await.status, StatusCode::SEE_OTHER);
    let heavier = "entry_id=read-0002&kind=tray&place=8&value=2.9";
    let asked = post(&site, &path, heavier).await;
    assert_eq!(asked.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        asked.text().contains("does not gain weight") && asked.text().contains("Nothing has been saved yet")
    );
    assert!(!get(&site, &batch).await.text().contains("Tray 8 2.9 kg"));
    // The button of the question sends the same entry again.
    assert!(asked.text().contains("name=\"entry_id\" value=\"read-0002\""));
    assert_eq!(post(&site, &path, &format!("{heavier}&sure=1")).await.status, StatusCode::SEE_OTHER);
    assert!(get(&site, &batch).await.text().contains("Tray 8 2.9 kg"));
    // 50 where the plant reads degF, and only degC is as expected.
    let two = send_to(
        &site,
        request("POST", &path, &[OWN, FORM, ("cookie", "language=en; units=us")], "kind=core&value=50"),
    )
    .await;
    assert_eq!(two.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(two.text().contains("50 °F") && two.text().contains("value=\"50 degC\""), "{}", two.text());
    // A correction stands beside the entry, which stays.
    let readings = get(&site, &api(&batch)).await.json()["readings"].clone();
    let entry = readings[0]["entry"].as_u64().expect("an entry");
    let correct = format!("entry_id=corr-0001&entry={entry}&value=2.5");
    assert_eq!(post(&site, &format!("{batch}/correct"), &correct).await.status, StatusCode::SEE_OTHER);
    let corrected = get(&site, &api(&batch)).await.json()["readings"].clone();
    assert_eq!((&corrected[0]["entry"], &corrected[0]["value"]), (&json!(entry), &json!(2.5)), "{corrected}");
}

#[tokio::test]
async fn identity_an_interruption_of_meat_is_held_and_its_corrective_action_is_kept() {
    let (site, _folder, batch) = begun("beef_eye_of_round", 200.0).await;
    let path = format!("{batch}/interruption");
    let form = get(&site, &format!("{path}?kind=power_cut&from=08:52")).await.text();
    assert!(form.contains("value=\"08:52\"") && form.contains("Power cut"), "{form}");
    let lasting = format!("entry_id=stop-0001&kind=power_cut&from={}&still=1", full(80.0));
    assert_eq!(post(&site, &path, &lasting).await.status, StatusCode::SEE_OTHER);
    let page = get(&site, &batch).await.text();
    assert!(page.contains("data-word=\"wait\"") && page.contains("Power cut since"), "{page}");
    let judged = get(&site, &format!("{}/interruptions", api(&batch))).await.json();
    assert_eq!((&judged[0]["word"], &judged[0]["kind"]), (&json!("wait"), &json!("power_cut")), "{judged}");
    let over = format!("entry_id=over-0001&entry={}&until={}", judged[0]["entry"], full(33.0));
    assert_eq!(post(&site, &format!("{path}/over"), &over).await.status, StatusCode::SEE_OTHER);
    let judged = get(&site, &format!("{}/interruptions", api(&batch))).await.json();
    assert_eq!(judged[0]["word"], json!("hold"), "{judged}");
    // Nobody read a core: all 47 minutes count as inside the growth range, none are shown.
    assert!((judged[0]["band_at_most_min"].as_f64().expect("minutes") - 47.0).abs() < 3.0, "{judged}");
    assert_eq!(judged[0]["band_shown_min"], json!(0.0));
    for (text, said) in [
        (get(&site, &path).await.text(), "Hold, do not pack"),
        (get_spanish(&site, &path).await, "Retenga, no empaque"),
    ] {
        assert!(text.contains(said) && text.contains("FSIS"), "{said}: {text}");
    }
    // Whatever the forecast asks for, the product stays held first of all.
    forecast(&site, &batch).await;
    let page = get(&site, &batch).await.text();
    assert!(page.contains("<div class=\"floor\" data-word=\"hold\""), "{page}");
    let half = "entry_id=acti-0001&deviation=Power+cut&disposition=held";
    assert_eq!(post(&site, &format!("{batch}/action"), half).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    let all = "entry_id=acti-0002&deviation=Power+cut&cause=fuse&control=power+back&prevention=new+fuse&disposition=judged+anew&decided=rework&held=22";
    assert_eq!(post(&site, &format!("{batch}/action"), all).await.status, StatusCode::SEE_OTHER);
    assert_eq!(post(&site, &format!("{batch}/action"), all).await.status, StatusCode::SEE_OTHER);
    let page = get(&site, &format!("{batch}/action")).await.text();
    assert!(page.contains("Power cut") && page.contains("all four parts are there"), "{page}");
}

#[tokio::test]
async fn identity_what_if_by_page_and_by_interface() {
    let (site, _folder, batch) = begun("apple", 240.0).await;
    forecast(&site, &batch).await;
    let empty = get(&site, &format!("{batch}/what-if")).await;
    assert!(
        empty.status == StatusCode::OK && empty.text().contains("Nothing is entered"),
        "{}",
        empty.text()
    );
    let stop = get(&site, &format!("{batch}/what-if?what=stop")).await.text();
    assert!(stop.contains("Stopping now would leave") && stop.contains("As it runs"), "{stop}");
    let wrong = get(&site, &format!("{batch}/what-if?what=set_point&value=lots")).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    let path = format!("{}/what-if", api(&batch));
    let hot = json_to(&site, &path, &json!({ "what": "set_point", "celsius": 70.0 })).await.json();
    assert!(
        hot["otherwise"]["end"]["expected"].as_str() < hot["as_it_is"]["end"]["expected"].as_str(),
        "{hot}"
    );
    let ajar = json_to(&site, &path, &json!({ "what": "vent", "mark": "ajar" })).await;
    assert_eq!(ajar.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn identity_what_happens_can_be_entered_by_the_interface() {
    let (site, _folder, batch) = begun("apple", 240.0).await;
    let path = format!("{}/events", api(&batch));
    let send = |n: u32, mut what: Value| {
        what["entry_id"] = json!(format!("event-{n:04}"));
        let (site, path) = (site.clone(), path.clone());
        async move { json_to(&site, &path, &what).await }
    };
    let good = [
        json!({ "kind": "act_done", "number": 2, "text": "Vent", "at": ago(200.0).iso_utc() }),
        json!({ "kind": "vent", "mark": "half", "at": ago(100.0).iso_utc() }),
        json!({ "kind": "timer", "seconds": 36000.0 }),
        json!({ "kind": "interruption", "what": "tray_out", "from": ago(60.0).iso_utc(), "until": ago(50.0).iso_utc(), "trays": [3, 8] }),
    ];
    for (n, what) in (1..).zip(good) {
        let sent = send(n, what.clone()).await;
        assert_eq!(sent.status, StatusCode::OK, "{what}: {}", sent.text());
    }
    for (n, what) in (50..).zip([
        json!({ "kind": "timer", "seconds": 0.0 }),
        json!({ "kind": "interruption", "what": "storm", "from": ago(1.0).iso_utc() }),
        json!({ "kind": "interruption_over", "entry": 1 }),
        json!({ "kind": "correction", "entry": 1, "value": "2 kg", "reason": "x" }),
        json!({ "kind": "act_done", "number": 0, "text": "" }),
        json!({ "kind": "dance" }),
    ]) {
        let sent = send(n, what.clone()).await;
        assert_eq!(sent.status, StatusCode::UNPROCESSABLE_ENTITY, "{what}: {}", sent.text());
    }
    let page = get(&site, &batch).await.text();
    for shown in ["Vent set to half", "Timer dialled anew: 10 h", "Tray out from"] {
        assert!(page.contains(shown), "{shown}: {page}");
    }
}
