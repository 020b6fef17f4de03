//! The pages and addresses of learning.

use axum::http::StatusCode;
use serde_json::json;

use crate::api::PAIRS;
use crate::support::{get, get_with, post_json, request, send_to, site};

fn query(table: &str) -> String {
    table.bytes().map(|b| format!("%{b:02X}")).collect()
}

#[tokio::test]
async fn identity_pairs_typed_into_a_page_become_a_target_moisture() {
    let path = format!("/learn/isotherm?product=apple&target=0,6&table={}", query(PAIRS));
    let answer = get(&path).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text());
    let text = answer.text();
    assert!(text.contains("0.60 at 25 °C is") && text.contains("<svg"), "{text}");
    // What was typed is still there.
    assert!(text.contains("0.45,14.9,25"));
    let spanish = get_with(&path, "language=es; units=si").await.text();
    assert!(!spanish.contains("[iso-") && !spanish.contains("[web-"), "{spanish}");
}

#[tokio::test]
async fn refuse_a_table_without_units_and_keep_what_was_typed() {
    let table = "aw,moisture\n0.3,10\n0.5,15\n0.7,30\n";
    let answer = get(&format!("/learn/isotherm?table={}", query(table))).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    let text = answer.text();
    assert!(
        text.contains("role=\"alert\"") && text.contains("0.5,15") && text.contains("temperature"),
        "{text}"
    );
    let problem = post_json("/api/v1/isotherms", &json!({ "table": table, "temperature_c": 25 })).await;
    assert_eq!(problem.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(problem.json()["detail"].as_str().is_some_and(|d| d.contains("basis")), "{}", problem.text());
}

#[tokio::test]
async fn identity_lessons_of_an_empty_record_are_empty_and_nothing_can_be_decided() {
    let (site, _folder) = site();
    let form = [("sec-fetch-site", "same-origin"), ("content-type", "application/x-www-form-urlencoded")];
    let plant = "person=Ana&establishment=V&place=C&zone=America%2FDenver";
    send_to(&site, request("POST", "/setup", &form, plant)).await;
    let page = send_to(&site, request("GET", "/learn/batches", &[], "")).await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.text());
    assert!(page.text().contains("Nothing new to decide"));
    let approve = "what=approve&number=1&entry_id=approve-0001";
    let refused = send_to(&site, request("POST", "/learn/decide", &form, approve)).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("no closed batch tells anything"), "{}", refused.text());
    let without = "what=take_back&number=1&entry_id=approve-0002";
    let refused = send_to(&site, request("POST", "/learn/decide", &form, without)).await;
    assert!(refused.text().contains("A reason is missing"), "{}", refused.text());
}

#[tokio::test]
async fn refuse_a_trial_whose_files_are_not_there() {
    let trial = "title = \"T\"\nproduct = \"apple\"\nzone = \"UTC\"\n[[trial]]\nname = \"a\"\ndate = \"2026-03-10\"\n\
                 start = \"07:00\"\nfiles = [\"w.txt\"]\n[trial.tunnel]\nair = \"60 degC\"\nrelative_humidity = \"12 %\"\n\
                 [[trial.tray]]\nnumber = 1\ntare = \"1 kg\"\n";
    let answer = post_json("/api/v1/trials", &json!({ "trial": trial, "files": {} })).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text().contains("w.txt"), "{}", answer.text());
}

/// Weighings that the planned run itself forecasts: what a batch of exactly this product in exactly this cabinet would show.
fn weights(planned: &fallrate_app::Planned, at_h: f64, group: usize) -> f64 {
    let plan = &planned.plan;
    let off = |s: &&fallrate_app::learning::RunSample| (s.elapsed_s - 3600.0 * at_h).abs();
    let sample = plan.run.samples.iter().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap();
    let own: Vec<_> = sample.pieces.iter().filter(|p| p.group == group && p.load_share > 0.0).collect();
    let share: f64 = own.iter().map(|p| p.load_share).sum();
    let x = own.iter().map(|p| p.load_share * p.moisture_dry_basis).sum::<f64>() / share;
    let batch = &plan.assembled.setup.batch;
    let fresh = batch.material.moisture_initial_dry_basis;
    plan.assembled.tare_kg + batch.load.fresh_kg_per_tray * (1.0 + x) / (1.0 + fresh)
}

/// Four ordinary batches, one of them of pieces twice as thick as entered, are started, weighed, ended; then they teach.
#[test]
fn val_closed_batches_teach_and_a_person_decides() {
    use fallrate_app::batches::{
        Instant, PlantSettings, PlantUnits, ReadingKind, RecordRealm, Retention, Stamp, Start, act_done,
        end_run, enter_reading, save_plant, start_batch,
    };
    use fallrate_app::learning::{Day, Decision, decide, kept, learned_of, learned_product};
    use fallrate_app::{Library, PlanCase};
    use fallrate_database::{OpenOptions, SqliteRecords};

    let plan = |mm: u32| {
        format!(
            "product = \"apple\"\ncabinet = \"north\"\n[piece]\nthickness = \"{mm} mm\"\n[load]\ntotal = \"26 kg\"\ntrays = 18\n\
             [room]\ntemperature = \"20 degC\"\nrelative_humidity = \"50 %\"\n[target]\nmoisture = \"20 % wb\"\n[[stage]]\n\
             name = \"dry\"\nset_point = \"57 degC\"\nvent = \"quarter\"\nuntil = {{ elapsed = \"11 h\" }}\n"
        )
    };
    let library = Library::embedded().unwrap();
    let run_of =
        |mm: u32| PlanCase::of_library(&library, "plan", &plan(mm)).unwrap().plan(0, &|_| true).unwrap();
    let (right, thick) = (run_of(6), run_of(12));
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("proof.sqlite");
    let mut records = SqliteRecords::open(&file, RecordRealm::Proof, OpenOptions::default()).unwrap();
    let day = |n: u32| Instant::from_unix_seconds(1_780_000_000.0 + 86_400.0 * f64::from(n));
    let at = |t: Instant| Stamp { at: t, zone: "UTC".to_owned(), by: "Ana Ruiz".to_owned(), client_id: None };
    let plant = PlantSettings {
        establishment: "Valley Workshop".to_owned(),
        place: "Creamery Lane".to_owned(),
        establishment_number: None,
        zone: "UTC".to_owned(),
        altitude_m: 0.0,
        units: PlantUnits::Si,
        language: "en".to_owned(),
        monitoring_interval_min: 15.0,
        retention: Retention::PreventiveControls,
        plan_name: String::new(),
        plan_version: String::new(),
        more: std::collections::BTreeMap::new(),
    };
    save_plant(&mut records, &at(day(0)), plant.clone()).unwrap();
    for n in 1..=4_u32 {
        let start = Start {
            realm: RecordRealm::Proof,
            lot: format!("A-{n}"),
            product: "Apple slices".to_owned(),
            product_code: "apple".to_owned(),
            cabinet: "Cabinet North".to_owned(),
            quantity_kg: 26.0,
            plan_title: "Apple".to_owned(),
            plan_toml: plan(6),
        };
        let zero = day(n);
        let id = start_batch(&mut records, &at(zero), &plant, &start).unwrap();
        act_done(&mut records, &id, &at(zero), (1, "load"), None).unwrap();
        let real = if n == 4 { &thick } else { &right };
        // Trays 3 and 18 lie in the first and the last group; a weighing is off by a few grams.
        for (k, h) in [0.0, 2.0, 4.0, 6.0, 8.0].into_iter().enumerate() {
            for (tray, group) in [(3, 0), (18, 2)] {
                let slip = f64::from((n * 7 + k as u32 * 5 + tray) % 9) * 0.001 - 0.004;
                let kg = weights(real, h, group) + slip;
                let then = zero.plus_seconds(3600.0 * h + 60.0 + f64::from(tray));
                let kind = ReadingKind::Tray(u16::try_from(tray).unwrap());
                enter_reading(&mut records, &id, &at(then), (&kind, &format!("{kg:.3} kg")), None).unwrap();
            }
        }
        end_run(&mut records, &id, &at(zero.plus_seconds(40_000.0)), "dry").unwrap();
    }

    let found = learned_of(&library, kept(&mut records).unwrap(), &|| true).unwrap();
    assert_eq!(found.batches.len(), 4);
    for b in &found.batches {
        assert_eq!((b.why_not.as_ref(), b.weighings), (None, 10), "{b:?}");
    }
    let rate = found.lessons.iter().position(|l| l.key.product.as_deref() == Some("apple")).unwrap();
    let lesson = &found.lessons[rate];
    let p = lesson.proposal.as_ref().unwrap();
    // The three batches were the library's own product: the figure stays, and is surer; the fourth hardly counts.
    assert!((p.new.value / lesson.belief.value).ln().abs() < 0.25, "{} {}", p.new.value, lesson.belief.value);
    assert!(p.new.deviation < 0.6 * lesson.belief.deviation, "{}", p.new.deviation);
    let weight = |lot: usize| p.evidence[lot].weight;
    assert!(weight(3) < 0.5 * weight(0), "{:?}", p.evidence);
    // The band of the plan held for the three and not for the thick one.
    assert_eq!(found.coverage.len(), 1);
    assert_eq!((found.coverage[0].share.held, found.coverage[0].share.of), (3, 4));

    let now = at(day(9));
    let ledger = decide(&found, &mut records, &now, &Decision::Approve { lesson: rate + 1 }).unwrap();
    // The same proposal is stale once it stands, and a decision needs a name.
    assert!(decide(&found, &mut records, &now, &Decision::Approve { lesson: rate + 1 }).is_err());
    let mut after = found.clone();
    after.lessons[rate].now = ledger.current(&lesson.key).unwrap().clone();
    after.ledger = ledger;
    assert!((after.lessons[rate].now.value / p.new.value - 1.0).abs() < 1e-12);
    let day = Day("2026-06-10".to_owned());
    let text = learned_product(&after, &library, ("apple", "apple_own.toml"), &day).unwrap();
    assert!(text.contains("own batches, approved by 2026-06-10"));
    let entry = after.can_be_taken_back();
    assert_eq!(entry.len(), 1);
    let back = Decision::TakeBack { entry: entry[0], reason: "the scale was wrong".to_owned() };
    let ledger = decide(&after, &mut records, &now, &back).unwrap();
    let stands = ledger.current(&lesson.key).unwrap();
    assert!((stands.value / lesson.belief.value - 1.0).abs() < 1e-12);
    assert!(learned_product(&found, &library, ("banana", "x.toml"), &day).is_err());
}
