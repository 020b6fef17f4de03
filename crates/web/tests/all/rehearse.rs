//! Rehearsals over HTTP, from the first tap to the debrief; the demo workshop beside the real one.

use axum::http::StatusCode;
use fallrate_app::batches::{Keep, RecordRealm};
use fallrate_app::practice::Rooms;
use fallrate_database::{OpenOptions, SqliteRecords};
use fallrate_web::Site;
use http_body_util::BodyExt;
use serde_json::json;
use tower::ServiceExt;

use crate::support::{Answer, request, send_to, site};

const OWN: (&str, &str) = ("sec-fetch-site", "same-origin");
const FORM: (&str, &str) = ("content-type", "application/x-www-form-urlencoded");
const LOOK: &str = "language=en; units=si";

struct Folder(std::path::PathBuf);

impl Folder {
    fn open(&self, realm: RecordRealm) -> Result<Box<dyn Keep>, String> {
        let file = self.0.join(format!("{}.sqlite", realm.word()));
        let records = SqliteRecords::open(&file, realm, OpenOptions::default());
        records.map(|r| Box::new(r) as Box<dyn Keep>).map_err(|e| e.to_string())
    }
}

impl Rooms for Folder {
    fn rehearsals(&self) -> Result<Box<dyn Keep>, String> {
        self.open(RecordRealm::Rehearsal)
    }
    fn demo(&self) -> Result<Box<dyn Keep>, String> {
        self.open(RecordRealm::Demo)
    }
}

fn furnished() -> (Site, tempfile::TempDir) {
    let (site, folder) = site();
    let rooms = Folder(folder.path().to_owned());
    (site.with_rooms(Box::new(rooms)), folder)
}

/// The same folder, opened by a program that was started anew.
fn restarted(folder: &tempfile::TempDir) -> Site {
    let rooms = Folder(folder.path().to_owned());
    let keep = rooms.open(RecordRealm::Proof).expect("a database");
    Site::new(keep).expect("a site").with_rooms(Box::new(rooms))
}

async fn post(site: &Site, path: &str, body: &str) -> Answer {
    send_to(site, request("POST", path, &[OWN, FORM, ("cookie", LOOK)], body)).await
}

async fn get_as(site: &Site, path: &str, cookie: &str) -> Answer {
    send_to(site, request("GET", path, &[("cookie", cookie)], "")).await
}

async fn get(site: &Site, path: &str) -> Answer {
    get_as(site, path, LOOK).await
}

async fn begin(site: &Site, more: &str) -> String {
    let body = format!("entry_id=begin-0001&product=apple&cabinet=north&seed=42{more}");
    let answer = post(site, "/rehearse", &body).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    answer.header("location")
}

#[tokio::test]
async fn identity_a_whole_rehearsal_goes_from_one_tap_to_the_debrief() {
    let (site, folder) = furnished();
    let own = begin(&site, "&fault=open-door").await;
    let page = get(&site, &own).await.text();
    assert!(page.contains("REHEARSAL") && page.contains("Seed 42") && page.contains("Timer left"), "{page}");
    assert!(!page.contains(", measured"), "nothing simulated calls itself measured");
    for (at, act) in [
        ("600", "what=weigh&tray=8"),
        ("1200", "what=vent&value=quarter"),
        ("3600", "what=core&tray=14&along=leaving"),
        ("7200", "line=door+shut"),
    ] {
        assert_eq!(
            post(&site, &format!("{own}/go"), &format!("to={at}")).await.status,
            StatusCode::SEE_OTHER
        );
        let done = post(&site, &format!("{own}/act"), &format!("{act}&entry_id=act-{at}-0001")).await;
        assert_eq!(done.status, StatusCode::SEE_OTHER, "{act}: {}", done.text());
    }
    assert_eq!(post(&site, &format!("{own}/go"), "to=600").await.status, StatusCode::SEE_OTHER);
    let noted = post(&site, &format!("{own}/note"), "kind=tray&place=8&value=3,4&entry_id=note-0001").await;
    assert_eq!(noted.status, StatusCode::SEE_OTHER, "{}", noted.text());
    let page = get(&site, &own).await.text();
    for shown in ["Tray 8", "Core by hand, tray 14", "Vent</dt><dd>“quarter”", "3.4 kg"] {
        assert!(page.contains(shown), "{shown}: {page}");
    }
    // An act that is sent twice is done once.
    let twice = post(&site, &format!("{own}/act"), "what=weigh&tray=8&entry_id=act-600-0001").await;
    assert_eq!(twice.status, StatusCode::CONFLICT);
    assert_eq!(get(&site, &format!("{own}/files/by_hand.txt")).await.text().matches("tray 8 ").count(), 1);
    let early = get(&site, &format!("{own}/debrief")).await;
    assert_eq!((early.status, early.header("location")), (StatusCode::SEE_OTHER, own.clone()));

    // A program that was started anew takes it up from its record: the same acts, the same readings.
    let before = get(&site, &format!("{own}/files/by_hand.txt")).await.text();
    let again = restarted(&folder);
    assert_eq!(get(&again, &format!("{own}/files/by_hand.txt")).await.text(), before);

    assert_eq!(post(&again, &format!("{own}/go"), "to=5400").await.status, StatusCode::SEE_OTHER);
    let out = post(&again, &format!("{own}/act"), "line=unload&entry_id=act-unload-1").await;
    assert_eq!(out.status, StatusCode::SEE_OTHER, "{}", out.text());
    assert!(get(&again, &own).await.text().contains("The batch is out"));
    let debrief = get(&again, &format!("{own}/debrief")).await.text();
    for shown in
        ["What would have been better", "Door left open", "Vent to “quarter”", "REHEARSAL", "seed 42"]
    {
        assert!(debrief.contains(shown), "{shown}: {debrief}");
    }
    let refused = post(&again, &format!("{own}/act"), "line=wet-sock").await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let logger = get(&again, &format!("{own}/files/logger.csv")).await.text();
    assert!(logger.starts_with("Simulated readings of a virtual cabinet"));
    // Nothing of it is among the real batches.
    assert!(!get(&again, "/batches").await.text().contains("SIM-42"));
}

#[tokio::test]
async fn refuse_what_cannot_be_rehearsed() {
    let (site, _folder) = furnished();
    for (body, said) in [("seed=minus", "whole number"), ("load=lots", "load cannot be read")] {
        let answer = post(&site, "/rehearse", body).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{body}");
        assert!(answer.text().contains(said), "{body}: {}", answer.text());
    }
    let own = begin(&site, "").await;
    for (body, said) in [
        ("what=weigh&tray=99", "no such tray"),
        ("what=set-point&value=hot", "cannot be read"),
        ("what=set-point&value=140", "cannot be"),
        ("line=fly", "cannot be read"),
        ("what=vent&value=ajar", "cannot be set so"),
        ("what=timer&value=2:00", "timer runs"),
    ] {
        post(&site, &format!("{own}/go"), "to=120").await;
        let answer = post(&site, &format!("{own}/act"), body).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{body}: {}", answer.text());
        assert!(answer.text().contains(said), "{body}: {}", answer.text());
    }
    assert_eq!(post(&site, &format!("{own}/pace"), "pace=7").await.status, StatusCode::BAD_REQUEST);
    assert_eq!(get(&site, "/rehearse/none-such").await.status, StatusCode::NOT_FOUND);
    assert_eq!(get(&site, &format!("{own}/files/hidden.toml")).await.status, StatusCode::NOT_FOUND);
    // A site without rooms says so.
    let (bare, _other) = crate::support::site();
    assert_eq!(get(&bare, "/rehearse").await.status, StatusCode::SERVICE_UNAVAILABLE);
}

/// At 600 times real time an open page gets a new front every moment, and the clock runs.
#[tokio::test]
async fn identity_the_front_follows_at_six_hundred_times() {
    let (site, _folder) = furnished();
    let own = begin(&site, "").await;
    post(&site, &format!("{own}/pace"), "pace=600").await;
    let live = fallrate_web::router(site.clone())
        .oneshot(request("GET", &format!("{own}/live"), &[("cookie", LOOK)], ""))
        .await
        .expect("a stream");
    assert_eq!(live.headers()["content-type"], "text/event-stream");
    let mut body = live.into_body();
    let mut told = String::new();
    while told.matches("event: front").count() < 2 {
        let frame = body.frame().await.expect("an event").expect("a frame");
        if let Ok(data) = frame.into_data() {
            told.push_str(&String::from_utf8_lossy(&data));
        }
    }
    assert!(told.contains("600 times"), "{told}");
    let id = own.rsplit('/').next().expect("an id");
    let json = get(&site, &format!("/api/v1/rehearsals/{id}")).await.json();
    assert!(json["elapsed_s"].as_f64().expect("a time") > 300.0, "{json}");
}

#[tokio::test]
async fn identity_programs_rehearse_as_pages_do() {
    let (site, _folder) = furnished();
    let send = |path: &str, body: serde_json::Value| {
        let path = format!("/api/v1/rehearsals{path}");
        let headers = [OWN, ("content-type", "application/json"), ("cookie", LOOK)];
        let request = request("POST", &path, &headers, &body.to_string());
        let site = site.clone();
        async move { send_to(&site, request).await }
    };
    let begun = send("", json!({"product": "apple", "seed": 5, "surprise": true})).await;
    assert_eq!(begun.status, StatusCode::OK, "{}", begun.text());
    let id = begun.json()["id"].as_str().expect("an id").to_owned();
    assert_eq!(begun.json()["simulated"], true);
    let went = send(&format!("/{id}/advance"), json!({"seconds": 1800})).await;
    assert_eq!(went.json()["elapsed_s"], 1800.0);
    let act = send(&format!("/{id}/acts"), json!({"entry_id": "api-act-0001", "act": "vent quarter"})).await;
    assert!(act.json()["at_s"].as_f64().expect("a time") >= 1800.0, "{}", act.text());
    let note = json!({"entry_id": "api-note-0001", "kind": "wet_bulb", "value": "43 degC"});
    assert_eq!(send(&format!("/{id}/entries"), note).await.status, StatusCode::OK);
    let json = get(&site, &format!("/api/v1/rehearsals/{id}")).await.json();
    assert_eq!(json["noted"][0]["kind"], "wet_bulb");
    for (path, body, status) in [
        (format!("/{id}/acts"), json!({"entry_id": "api-act-0002", "act": "sing"}), 422),
        (format!("/{id}/advance"), json!({"seconds": -5}), 422),
        ("/none/advance".to_owned(), json!({}), 404),
        (String::new(), json!({"faults": ["gremlins"]}), 422),
        (String::new(), json!({"product": "unicorn"}), 422),
    ] {
        let answer = send(&path, body.clone()).await;
        assert_eq!(answer.status.as_u16(), status, "{path} {body}: {}", answer.text());
    }
    let early = get(&site, &format!("/api/v1/rehearsals/{id}/debrief")).await;
    assert_eq!(early.status, StatusCode::UNPROCESSABLE_ENTITY);
}

/// The demo is one tap away, marked on every page, left with one tap, and apart from what is real.
#[tokio::test]
async fn identity_the_demo_workshop_is_marked_and_apart() {
    let (site, _folder) = furnished();
    let start = get(&site, "/").await.text();
    for door in ["Plan a first batch", "Look around the demo workshop", "href=\"/rehearse\""] {
        assert!(start.contains(door), "{door}");
    }
    let entered = post(&site, "/demo/enter", "zone=America%2FDenver").await;
    assert_eq!(entered.status, StatusCode::SEE_OTHER);
    assert!(entered.header("set-cookie").starts_with("workshop=demo"));
    let inside = format!("{LOOK}; workshop=demo");
    let mut page = get_as(&site, "/", &inside).await;
    for _ in 0..600 {
        if page.status == StatusCode::OK {
            break;
        }
        assert!(page.text().contains("being set up"), "{}", page.text());
        tokio::time::sleep(std::time::Duration::from_millis(200)).await;
        page = get_as(&site, "/", &inside).await;
    }
    assert!(page.text().contains("Apple rings") && page.text().contains("Weigh trays"), "{}", page.text());
    for path in ["/", "/batches", "/plan", "/library", "/rehearse", "/no-such-page"] {
        let page = get_as(&site, path, &inside).await.text();
        assert!(page.contains("INVENTED DEMO WORKSHOP") && page.contains("/demo/leave"), "{path}: {page}");
        assert!(!get(&site, path).await.text().contains("INVENTED DEMO WORKSHOP"), "{path}");
    }
    assert!(!get(&site, "/batches").await.text().contains("A-01"));
    // A batch begun inside stays inside.
    let body = "entry_id=start-0001&lot=Z-99&plan=product%3Dapple%26units%3Dsi";
    let headers = [OWN, FORM, ("cookie", inside.as_str())];
    let begun = send_to(&site, request("POST", "/batches/start", &headers, body)).await;
    assert_eq!(begun.status, StatusCode::SEE_OTHER, "{}", begun.text());
    assert!(get_as(&site, "/batches?words=z-99", &inside).await.text().contains("Z-99"));
    assert!(!get(&site, "/batches?words=z-99").await.text().contains("Z-99, "));
    let left = send_to(&site, request("POST", "/demo/leave", &headers, "")).await;
    assert!(left.header("set-cookie").contains("Max-Age=0"));
}
