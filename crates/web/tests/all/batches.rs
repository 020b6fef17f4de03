//! Batches: started from a plan, acts done, entries by hand, undo; nothing acknowledged is lost or doubled.

use axum::http::StatusCode;
use fallrate_web::Site;
use http_body_util::BodyExt;
use tower::ServiceExt;

use crate::support::{Answer, request, send_to, site};

const OWN: (&str, &str) = ("sec-fetch-site", "same-origin");
const FORM: (&str, &str) = ("content-type", "application/x-www-form-urlencoded");

async fn post(site: &Site, path: &str, body: &str) -> Answer {
    send_to(site, request("POST", path, &[OWN, FORM, ("cookie", "language=en; units=si")], body)).await
}

async fn get(site: &Site, path: &str) -> Answer {
    send_to(site, request("GET", path, &[("cookie", "language=en; units=si")], "")).await
}

async fn set_up(site: &Site) {
    let plant = "person=Ana+Ruiz&establishment=Valley+Workshop&place=Creamery+Lane&zone=America%2FDenver&altitude=640";
    assert_eq!(post(site, "/setup", plant).await.status, StatusCode::SEE_OTHER);
}

async fn start(site: &Site, entry: &str) -> String {
    let body = format!("entry_id={entry}&lot=A-17&plan=product%3Dapple%26load.amount%3D35%26units%3Dsi");
    let answer = post(site, "/batches/start", &body).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text());
    answer.header("location")
}

#[tokio::test]
async fn refuse_a_batch_before_anybody_said_whose_plant_it_is() {
    let (site, _folder) = site();
    let answer = post(&site, "/batches/start", "plan=product%3Dapple").await;
    assert_eq!((answer.status, answer.header("location").as_str()), (StatusCode::SEE_OTHER, "/setup"));
    let wrong = post(&site, "/setup", "person=Ana&establishment=V&place=C&zone=Denver").await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.text().contains("This time zone is not known") && wrong.text().contains("value=\"Ana\""));
    assert!(get(&site, "/").await.text().contains("say whose plant this is"));
}

#[tokio::test]
async fn identity_a_batch_goes_from_plan_to_end() {
    let (site, folder) = site();
    set_up(&site).await;
    let batch = start(&site, "start-0001").await;
    let page = get(&site, &batch).await.text();
    assert!(page.contains("<h1>Load 20 trays with 1.75 kg each"), "{page}");
    let next = post(&site, &format!("{batch}/done"), "entry_id=done-0001&number=1&text=Load").await;
    assert_eq!((next.status, next.header("location")), (StatusCode::SEE_OTHER, batch.clone()));
    let page = get(&site, &batch).await.text();
    assert!(page.contains("done at") && page.contains("Ana Ruiz") && page.contains("<h1>Vent"), "{page}");

    post(&site, &format!("{batch}/reading"), "entry_id=read-0001&kind=tray&place=8&value=2,9").await;
    post(
        &site,
        &format!("{batch}/reading"),
        "entry_id=read-0002&kind=core&place=rear+right&value=131F&sure=1",
    )
    .await;
    post(&site, &format!("{batch}/note"), "entry_id=note-0001&text=door+stood+open").await;
    let page = get(&site, &batch).await.text();
    for shown in ["Tray 8 2.9 kg", "Core rear right 55 °C", "door stood open", "Tray 8, measured"] {
        assert!(page.contains(shown), "{shown}: {page}");
    }
    let day = get(&site, "/").await.text();
    assert!(day.contains("Vent") && day.contains("A-17") && day.contains("<svg"), "{day}");
    assert!(get(&site, "/batches?words=a-17").await.text().contains("Apple slices, A-17"));
    assert!(!get(&site, "/batches?words=zebra").await.text().contains("A-17"));

    post(&site, &format!("{batch}/end"), "entry_id=end-00001&text=unloaded").await;
    assert!(get(&site, &batch).await.text().contains("The run has ended"));

    // The record is a chain that stands by itself, whatever serves it.
    use fallrate_app::batches::{RecordRealm, run};
    use fallrate_database::{OpenOptions, SqliteRecords, verify_all};
    let file = folder.path().join("proof.sqlite");
    let mut records =
        SqliteRecords::open(&file, RecordRealm::Proof, OpenOptions::default()).expect("the database");
    let id = batch.rsplit('/').next().expect("an id");
    let run = run(&mut records, id).expect("readable").expect("a run");
    assert_eq!((run.done.len(), run.readings.len(), run.remarks.len(), run.lot.as_str()), (1, 2, 1, "A-17"));
    assert!((run.readings[1].value - 55.0).abs() < 1e-9);
    verify_all(&mut records).expect("chains without a fault");
}

/// A form sent twice (a double tap, a lost answer) stands once.
#[tokio::test]
async fn identity_an_entry_that_is_sent_twice_stands_once() {
    let (site, _folder) = site();
    set_up(&site).await;
    let batch = start(&site, "start-0001").await;
    for _ in 0..3 {
        let sent =
            post(&site, &format!("{batch}/reading"), "entry_id=read-0001&kind=rh&at=00:00&value=40").await;
        assert_eq!(sent.status, StatusCode::SEE_OTHER, "{}", sent.text());
    }
    assert_eq!(get(&site, &batch).await.text().matches("Humidity (RH) 40 %").count(), 1);
    let other =
        post(&site, &format!("{batch}/reading"), "entry_id=read-0001&kind=rh&at=00:00&value=50").await;
    assert_eq!(other.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn identity_an_undo_leaves_the_record_whole() {
    let (site, _folder) = site();
    set_up(&site).await;
    let batch = start(&site, "start-0001").await;
    post(&site, &format!("{batch}/done"), "entry_id=done-0001&number=1&text=Load").await;
    let page = get(&site, &batch).await.text();
    let entry =
        page.split("name=\"entry\" value=\"").nth(1).and_then(|t| t.split('"').next()).expect("an undo");
    post(&site, &format!("{batch}/undo"), &format!("entry_id=undo-0001&entry={entry}")).await;
    assert!(get(&site, &batch).await.text().contains("<h1>Load 20 trays"));
    assert_eq!(post(&site, &format!("{batch}/undo"), "entry_id=undo-0002&entry=99").await.status, 422);
}

#[tokio::test]
async fn refuse_entries_that_say_nothing_or_two_things() {
    let (site, _folder) = site();
    set_up(&site).await;
    let batch = start(&site, "start-0001").await;
    for (body, said) in [
        ("kind=core&value=lots", "cannot be read"),
        ("kind=core&value=", "Write the value"),
        ("kind=tray&value=2.9&place=top", "number of the tray"),
        ("kind=core&value=150", "150 °C or 150 °F"),
        ("kind=rh&value=40&at=tea+time", "This time cannot be read"),
    ] {
        let answer = post(&site, &format!("{batch}/reading"), body).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{body}");
        assert!(answer.text().contains(said), "{body}: {}", answer.text());
    }
    assert!(get(&site, &batch).await.text().contains("Nothing yet."));
    assert_eq!(post(&site, "/batches/none-such/done", "number=1&text=x").await.status, StatusCode::NOT_FOUND);
    assert_eq!(get(&site, "/batches/..%2F..%2Fx").await.status, StatusCode::NOT_FOUND);
}

/// Words of a note are never taken for something the program wrote.
#[tokio::test]
async fn refuse_a_note_that_wants_to_be_an_act() {
    let (site, _folder) = site();
    set_up(&site).await;
    let batch = start(&site, "start-0001").await;
    post(&site, &format!("{batch}/note"), "text=plan+act+1+done:+Load").await;
    post(&site, &format!("{batch}/note"), "text=run+ended:+no").await;
    let evil = "text=%3Cscript%3Ealert(1)%3C%2Fscript%3E";
    post(&site, &format!("{batch}/note"), evil).await;
    let page = get(&site, &batch).await.text();
    assert!(page.contains("<h1>Load 20 trays") && page.contains("– plan act 1 done"), "{page}");
    assert!(!page.contains("<script>alert"));
}

#[tokio::test]
async fn identity_a_plan_is_saved_and_opened_again() {
    let (site, _folder) = site();
    set_up(&site).await;
    let saved = post(
        &site,
        "/plans",
        "entry_id=plan-0001&title=Ma%C3%B1ana&plan=product%3Dkale%26load.amount%3D6%26units%3Dsi",
    )
    .await;
    assert_eq!((saved.status, saved.header("location").as_str()), (StatusCode::SEE_OTHER, "/plans"));
    assert!(get(&site, "/plans").await.text().contains("href=\"/plans/manana\""));
    let opened = get(&site, "/plans/manana").await;
    assert!(
        opened.header("location").starts_with("/plan?cabinet=north&load.amount=6&product=kale"),
        "{}",
        opened.header("location")
    );
    assert_eq!(get(&site, "/plans/none").await.status, StatusCode::NOT_FOUND);
}

/// An open page is told of what another one enters.
#[tokio::test]
async fn identity_two_browsers_see_the_same() {
    let (site, _folder) = site();
    set_up(&site).await;
    let batch = start(&site, "start-0001").await;
    let live =
        fallrate_web::router(site.clone()).oneshot(request("GET", "/live", &[], "")).await.expect("a stream");
    assert_eq!(live.headers()["content-type"], "text/event-stream");
    let mut events = live.into_body();
    post(&site, &format!("{batch}/note"), "text=hello").await;
    let frame = events.frame().await.expect("an event").expect("a frame");
    assert_eq!(frame.into_data().expect("data").as_ref(), b"data: changed\n\n");
}
