//! The program was off, copies, little room, entries that waited in a device, a database that cannot write.

use std::path::Path;
use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

use axum::http::StatusCode;
use fallrate_app::batches::{Heartbeat, Instant, RecordRealm, Records, Stamp, run};
use fallrate_app::upkeep::{Beat, beat};
use fallrate_database::{OpenOptions, SqliteRecords, SqliteUpkeep, verify_all};
use fallrate_web::Site;
use serde_json::json;

use crate::support::{Answer, request, send_to};

const OWN: (&str, &str) = ("sec-fetch-site", "same-origin");
const FORM: (&str, &str) = ("content-type", "application/x-www-form-urlencoded");
const LOOK: (&str, &str) = ("cookie", "language=en; units=si");

async fn post(site: &Site, path: &str, body: &str) -> Answer {
    send_to(site, request("POST", path, &[OWN, FORM, LOOK], body)).await
}

async fn get(site: &Site, path: &str) -> Answer {
    send_to(site, request("GET", path, &[LOOK], "")).await
}

async fn json_to(site: &Site, method: &str, path: &str, body: &serde_json::Value) -> Answer {
    send_to(site, request(method, path, &[("content-type", "application/json")], &body.to_string())).await
}

fn records(folder: &Path, options: OpenOptions) -> SqliteRecords {
    SqliteRecords::open(&folder.join("proof.sqlite"), RecordRealm::Proof, options).expect("a database")
}

/// A site over the records of a folder, as after a start of the program.
fn started(folder: &Path, options: OpenOptions) -> Site {
    let upkeep = SqliteUpkeep::new(&folder.join("proof.sqlite"), RecordRealm::Proof, options);
    Site::new(Box::new(records(folder, options))).expect("a site").looked_after(Arc::new(upkeep))
}

async fn with_batch(site: &Site) -> String {
    let plant = "person=Ana+Ruiz&establishment=Valley+Workshop&place=Creamery&zone=America%2FDenver";
    assert_eq!(post(site, "/setup", plant).await.status, StatusCode::SEE_OTHER);
    let begun = post(site, "/batches/start", "entry_id=start-0001&lot=A-17&plan=product%3Dapple").await;
    assert_eq!(begun.status, StatusCode::SEE_OTHER, "{}", begun.text());
    begun.header("location")
}

fn now() -> Instant {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).expect("a clock");
    Instant::from_unix_seconds(since.as_secs_f64())
}

fn stamp(at: Instant) -> Stamp {
    Stamp { at, zone: "America/Denver".to_owned(), by: "Fallrate".to_owned(), client_id: None }
}

/// A batch under way; then nothing is heard of the program for 38 minutes.
async fn after_a_cut(folder: &Path, stopped: bool) -> (Site, String, Beat) {
    let site = started(folder, OpenOptions::default());
    let batch = with_batch(&site).await;
    let done = "entry_id=done-0001&number=1&text=Load&at=00%3A00";
    assert_eq!(post(&site, &format!("{batch}/done"), done).await.status, StatusCode::SEE_OTHER);
    let mut records = records(folder, OpenOptions::default());
    records.set_heartbeat(Heartbeat { at: now().plus_seconds(-2280.0), stopped }).expect("set");
    let found = beat(&mut records, &stamp(now()), 0.0).expect("a beat");
    (started(folder, OpenOptions::default()), batch, found)
}

#[tokio::test]
async fn identity_a_restart_asks_about_every_batch_under_way_until_it_is_answered() {
    let folder = tempfile::tempdir().expect("a folder");
    let (site, batch, found) = after_a_cut(folder.path(), false).await;
    let Beat::Off(off) = found else { panic!("{found:?}") };
    for path in ["/", &batch] {
        let page = get(&site, path).await.text();
        assert!(page.contains("Was the dryer off too?"), "{path}: {page}");
        assert!(
            page.contains(&format!("href=\"{batch}/interruption?kind=power_cut&amp;from=")),
            "{path}: {page}"
        );
    }
    let (from, to) = (off.from.iso_utc(), off.until.expect("over").iso_utc());
    // The form that the link leads to holds both times by the clock of the place.
    let link = format!("{batch}/interruption?kind=power_cut&from={from}&until={to}");
    let form = get(&site, &link).await.text();
    let filled = |name: &str| {
        let input = form.split(&format!("name=\"{name}\"")).nth(1).unwrap_or_default();
        input.split("value=\"").nth(1).unwrap_or_default().split('"').next().unwrap_or_default().to_owned()
    };
    for name in ["from", "until"] {
        let shown = filled(name);
        assert!(shown.len() == "2026-03-13 08:05".len() && !shown.contains('Z'), "{name}: {shown}");
    }
    let body = |id: &str, from: &str| format!("entry_id={id}&from={from}&to={to}");
    let made_up = post(&site, &format!("{batch}/ran-on"), &body("ran-on-0001", "2020-01-01T00:00:00Z")).await;
    assert_eq!(made_up.status, StatusCode::UNPROCESSABLE_ENTITY);
    for _ in 0..2 {
        let said = post(&site, &format!("{batch}/ran-on"), &body("ran-on-0001", &from)).await;
        assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text());
    }
    for path in ["/", &batch] {
        assert!(!get(&site, path).await.text().contains("Was the dryer off too?"), "{path}");
    }
    assert_eq!(get(&site, &batch).await.text().matches("dryer ran on while the program was off").count(), 1);
}

/// Stopped on purpose by the system's own goodbye, as a battery supply does: the dryer may have been off.
#[tokio::test]
async fn identity_a_stop_on_purpose_is_asked_about_only_with_a_batch_under_way() {
    let folder = tempfile::tempdir().expect("a folder");
    let (_, _, found) = after_a_cut(folder.path(), true).await;
    assert!(matches!(found, Beat::Off(_)), "{found:?}");
    let empty = tempfile::tempdir().expect("a folder");
    let mut records = records(empty.path(), OpenOptions::default());
    for (stopped, wanted) in [(true, false), (false, true)] {
        records.set_heartbeat(Heartbeat { at: now().plus_seconds(-2280.0), stopped }).expect("set");
        let found = beat(&mut records, &stamp(now()), 0.0).expect("a beat");
        assert_eq!(matches!(found, Beat::Off(_)), wanted, "{found:?}");
    }
}

/// A busy database is no power cut, a machine that slept is one, and a clock that was set back is told.
#[test]
fn identity_what_a_sign_of_life_finds() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut records = records(folder.path(), OpenOptions::default());
    let at = |s: f64| Instant::from_unix_seconds(1_800_000_000.0 + s);
    let mut look = |last: f64, now: f64, awake: f64| {
        records.set_heartbeat(Heartbeat { at: at(last), stopped: false }).expect("set");
        beat(&mut records, &stamp(at(now)), awake).expect("a beat")
    };
    assert_eq!(look(0.0, 20.0, 20.0), Beat::Steady);
    assert_eq!(look(0.0, 400.0, 400.0), Beat::Steady);
    assert!(matches!(look(0.0, 400.0, 20.0), Beat::Off(_)));
    assert_eq!(look(0.0, 70.0, 0.0), Beat::Steady);
    assert!(matches!(look(0.0, 80.0, 0.0), Beat::Off(_)));
    assert_eq!(look(3600.0, 0.0, 0.0), Beat::ClockBack { by_s: 3600.0 });
}

#[tokio::test]
async fn identity_a_backup_from_the_page_holds_everything_and_can_be_put_in_place() {
    let (folder, second) = (tempfile::tempdir().expect("a folder"), tempfile::tempdir().expect("a folder"));
    let site = started(folder.path(), OpenOptions::default());
    let batch = with_batch(&site).await;
    assert!(get(&site, "/").await.text().contains("No second place for backups is set"));
    let place = second.path().display().to_string();
    let relative = post(&site, "/upkeep/folder", "folder=usb").await;
    assert_eq!(relative.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(post(&site, "/upkeep/folder", &format!("folder={place}")).await.status, StatusCode::SEE_OTHER);
    assert!(get(&site, "/").await.text().contains("No backup yet."));
    let page = post(&site, "/upkeep/backup", "").await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.text());
    assert!(
        page.text().contains("Backed up: ") && page.text().contains("Last backup 0 minutes ago."),
        "{}",
        page.text()
    );
    assert!(get(&site, "/").await.text().contains("Last backup 0 minutes ago."));
    let state = json_to(&site, "GET", "/api/v1/upkeep", &json!({})).await.json();
    assert_eq!(state["backups"].as_array().map(Vec::len), Some(1), "{state}");
    assert!(state["room"]["free_bytes"].as_u64() > Some(0));
    // Settings of the plant that are entered again do not take the folder away.
    let plant = "person=Ana&establishment=V&place=C&zone=America%2FDenver";
    post(&site, "/setup", plant).await;
    assert!(get(&site, "/upkeep").await.text().contains(&place));
    post(&site, &format!("{batch}/note"), "entry_id=note-0001&text=after+the+backup").await;

    let backup = std::fs::read_dir(second.path())
        .expect("the folder")
        .map(|e| e.expect("an entry").path())
        .find(|p| p.extension().is_some_and(|e| e == "sqlite"))
        .expect("the backup");
    let elsewhere = tempfile::tempdir().expect("a folder");
    let mut restored = records(elsewhere.path(), OpenOptions::default());
    restored.restore(&backup, &elsewhere.path().join("before.sqlite")).expect("put in place");
    verify_all(&mut restored).expect("every seal holds");
    let id = batch.rsplit('/').next().expect("an id");
    let found = run(&mut restored, id).expect("readable").expect("the batch");
    assert_eq!((found.lot.as_str(), found.remarks.len()), ("A-17", 0));
}

#[tokio::test]
async fn refuse_a_backup_into_a_folder_that_is_not_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let site = started(folder.path(), OpenOptions::default());
    with_batch(&site).await;
    let gone = folder.path().join("not-plugged-in");
    post(&site, "/upkeep/folder", &format!("folder={}", gone.display())).await;
    let page = post(&site, "/upkeep/backup", "").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.text().contains("no such folder"), "{}", page.text());
    assert!(!gone.exists());
    assert!(get(&site, "/").await.text().contains("No backup: the folder cannot be used."));
    let answer = json_to(&site, "POST", "/api/v1/upkeep/backups", &json!({})).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", answer.text());
}

#[tokio::test]
async fn identity_everything_goes_out_and_in_as_open_files() {
    let (folder, other) = (tempfile::tempdir().expect("a folder"), tempfile::tempdir().expect("a folder"));
    let site = started(folder.path(), OpenOptions::default());
    let batch = with_batch(&site).await;
    post(&site, &format!("{batch}/reading"), "entry_id=read-0001&kind=core&place=rear&value=55+C").await;
    let out = folder.path().join("out");
    let page = post(&site, "/upkeep/export", &format!("folder={}", out.display())).await;
    assert!(page.text().contains("Written out: "), "{}", page.text());
    assert_eq!(post(&site, "/upkeep/export", &format!("folder={}", out.display())).await.status, 422);
    let there = started(other.path(), OpenOptions::default());
    // A second plant of its own would part from the one that comes: an empty place takes everything.
    let answer = json_to(&there, "POST", "/api/v1/upkeep/imports", &json!({ "folder": out })).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "no plant yet: {}", answer.text());
    let upkeep =
        SqliteUpkeep::new(&other.path().join("proof.sqlite"), RecordRealm::Proof, OpenOptions::default());
    fallrate_app::upkeep::Upkeep::import(&upkeep, &out).expect("read in");
    assert!(get(&there, &batch).await.text().contains("Core rear 55 °C"));
}

/// An entry that waited in a device: with its own time, once, and only in the name of who made it.
#[tokio::test]
async fn identity_an_entry_that_waited_stands_once_with_its_own_time() {
    let folder = tempfile::tempdir().expect("a folder");
    let site = started(folder.path(), OpenOptions::default());
    let batch = with_batch(&site).await;
    #[allow(clippy::cast_possible_truncation)]
    let now_ms = (now().unix_seconds() * 1000.0) as i64;
    // The device is three hours fast; the entry was made ten minutes ago.
    let fast = 3 * 3_600_000;
    let body = format!(
        "entry_id=read-0001&kind=core&place=rear&value=55+C&queued=1&queued_by=&entered_ms={}&sent_ms={}&skew_ms=-{fast}",
        now_ms + fast - 600_000,
        now_ms + fast,
    );
    for _ in 0..3 {
        let sent = post(&site, &format!("{batch}/reading"), &body).await;
        assert_eq!(sent.status, StatusCode::SEE_OTHER, "{}", sent.text());
    }
    let mut records = records(folder.path(), OpenOptions::default());
    let id = batch.rsplit('/').next().expect("an id");
    let found = run(&mut records, id).expect("readable").expect("the batch");
    assert_eq!(found.readings.len(), 1);
    let age_s = now().seconds_since(found.readings[0].at);
    // The form of readings by hand knows whole minutes.
    assert!((595.0..=665.0).contains(&age_s), "{age_s}");
    let foreign = post(
        &site,
        &format!("{batch}/note"),
        "entry_id=note-0001&text=x&queued=1&queued_by=luz&entered_ms=1&sent_ms=2",
    )
    .await;
    assert_eq!(foreign.status, StatusCode::FORBIDDEN);
    let timeless =
        post(&site, &format!("{batch}/note"), "entry_id=note-0002&text=x&queued=1&queued_by=").await;
    assert_eq!(timeless.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(get(&site, "/clock").await.text().parse::<i64>().expect("a number") >= now_ms);
}

/// Full, and held by another program: the page says what to do, nothing is half written, and afterwards it goes on.
#[tokio::test]
async fn refuse_entries_that_cannot_be_kept_and_say_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let batch = with_batch(&started(folder.path(), OpenOptions::default())).await;
    let pages = std::fs::metadata(folder.path().join("proof.sqlite")).expect("the file").len() / 4096;
    let most_pages = u32::try_from(pages).expect("few") + 40;
    let site = started(folder.path(), OpenOptions { wait_ms: 50, most_pages });
    let long = "x".repeat(1900);
    let mut kept = 0;
    let full = loop {
        let body = format!("entry_id=note-{kept:04}&text={kept}+{long}");
        let answer = post(&site, &format!("{batch}/note"), &body).await;
        if answer.status != StatusCode::SEE_OTHER || kept > 500 {
            break answer;
        }
        kept += 1;
    };
    assert_eq!(full.status, StatusCode::INSUFFICIENT_STORAGE, "{kept} kept");
    assert_eq!(get(&site, &batch).await.status, StatusCode::OK);
    drop(site);

    let site = started(folder.path(), OpenOptions { wait_ms: 50, most_pages: 0 });
    let mut other = records(folder.path(), OpenOptions::default());
    let id = batch.rsplit('/').next().expect("an id").to_owned();
    assert_eq!(run(&mut other, &id).expect("readable").expect("the batch").remarks.len(), kept);
    let holder = rusqlite::Connection::open(folder.path().join("proof.sqlite")).expect("another program");
    holder.execute_batch("BEGIN IMMEDIATE; UPDATE meta SET value = value").expect("held");
    let body = "entry_id=note-late&text=late";
    let busy = post(&site, &format!("{batch}/note"), body).await;
    assert_eq!((busy.status, busy.header("retry-after").as_str()), (StatusCode::SERVICE_UNAVAILABLE, "5"));
    holder.execute_batch("ROLLBACK").expect("let go");
    assert_eq!(post(&site, &format!("{batch}/note"), body).await.status, StatusCode::SEE_OTHER);
    assert_eq!(run(&mut other, &id).expect("readable").expect("the batch").remarks.len(), kept + 1);
}

/// The same start sent again (a lost answer) leads to the same batch.
#[tokio::test]
async fn regress_a_start_that_is_sent_twice_leads_to_one_batch() {
    let folder = tempfile::tempdir().expect("a folder");
    let site = started(folder.path(), OpenOptions::default());
    let first = with_batch(&site).await;
    let again = post(&site, "/batches/start", "entry_id=start-0001&lot=A-17&plan=product%3Dapple").await;
    assert_eq!((again.status, again.header("location")), (StatusCode::SEE_OTHER, first));
}

/// Over an encrypted connection, and behind a proxy that has one, cookies are for such connections only.
#[tokio::test]
async fn identity_cookies_behind_an_encrypting_proxy_are_marked() {
    let folder = tempfile::tempdir().expect("a folder");
    let site = started(folder.path(), OpenOptions::default());
    let plain = get(&site, "/").await.header("set-cookie");
    assert!(!plain.is_empty() && !plain.contains("Secure"), "{plain}");
    let behind = send_to(&site, request("GET", "/", &[("x-forwarded-proto", "https")], "")).await;
    assert!(behind.header("set-cookie").ends_with("; Secure"), "{}", behind.header("set-cookie"));
}
