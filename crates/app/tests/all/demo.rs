//! The invented workshop: the same from the same moment, complete, and never proof.

use fallrate_app::batches::{self, BatchQuery, Instant, RecordRealm, Records};
use fallrate_app::practice::{DEMO_BATCHES, build_demo, demo_state};
use fallrate_database::{OpenOptions, SqliteRecords, verify_all};

use super::support::library;

const START: f64 = 1_773_384_030.0;

fn open(folder: &tempfile::TempDir, name: &str) -> SqliteRecords {
    let file = folder.path().join(name);
    SqliteRecords::open(&file, RecordRealm::Demo, OpenOptions::default()).expect("a database")
}

/// Every line of every stream.
fn lines(records: &mut SqliteRecords) -> Vec<String> {
    let heads = records.heads("").expect("heads");
    heads.iter().flat_map(|h| records.lines(&h.stream).expect("lines")).collect()
}

fn build(records: &mut SqliteRecords, now: f64, most: usize) -> bool {
    let zone = "America/Denver";
    let at = Instant::from_unix_seconds(now);
    build_demo(records, &library(), at, zone, &mut |done, _| done < most).is_ok()
}

#[test]
fn identity_a_workshop_that_was_broken_off_becomes_the_same_as_one_built_at_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let (mut once, mut twice) = (open(&folder, "once.sqlite"), open(&folder, "twice.sqlite"));
    assert!(build(&mut once, START, usize::MAX));
    assert!(!build(&mut twice, START, 3), "broken off");
    let state = demo_state(&mut twice).expect("readable").expect("begun");
    assert!(!state.complete);
    assert!(build(&mut twice, START + 86_400.0, usize::MAX), "a day later, from the first moment");
    assert_eq!(lines(&mut once), lines(&mut twice));
    verify_all(&mut once).expect("chains without a fault");

    let rows = once.batches(&BatchQuery { limit: 100, ..BatchQuery::default() }).expect("rows");
    assert_eq!(rows.len(), DEMO_BATCHES);
    let all = lines(&mut once);
    // Nothing of it is a verdict of proof, and somebody's hand is on what the demo promises.
    assert!(all.iter().all(|l| !l.contains("\"realm\":\"proof\"") && !l.contains("\"from\":\"measured\"")));
    let about = |lot: &str, kind: &str| {
        let id = rows.iter().find(|r| r.lot == lot).map(|r| r.id.clone()).expect("a lot");
        let stream = batches::StreamName::batch(&id).expect("a name");
        let own = once.lines(&stream).expect("lines");
        own.into_iter().filter(|l| l.contains(&format!("\"kind\":\"{kind}\""))).collect::<Vec<_>>()
    };
    let mut about = about;
    let answer = |lines: &[String]| -> String {
        let last: serde_json::Value = serde_json::from_str(lines.last().expect("judged")).expect("JSON");
        last["body"]["answer"].as_str().expect("an answer").to_owned()
    };
    let beef = about("B-51", "judged");
    assert_eq!(answer(&beef), "met");
    let held = about("B-31", "judged");
    assert_eq!(answer(&held), "met");
    assert!(held[0].contains("CCP 2"), "the plan's own limit was missed: {}", held[0]);
    assert_eq!(about("B-31", "action_taken").len(), 4);
    let meanings: Vec<String> = about("B-31", "signed");
    assert!(meanings.len() == 2 && meanings[1].contains("released"), "{meanings:?}");
    // The criterion is met whatever the silent minutes held; the lot waits for its water activity.
    let silent = about("B-11", "judged");
    let last: serde_json::Value = serde_json::from_str(silent.last().expect("judged")).expect("JSON");
    assert_eq!(last["body"]["verdict"]["answer"], "met");
    assert_eq!((answer(&silent).as_str(), &last["body"]["waiting"]), ("cannot_be_judged", &true.into()));
    assert!(about("B-11", "signed").is_empty(), "waits for its water activity");
    assert_eq!(about("M-21", "corrected").len(), 1);

    let runs = batches::runs(&mut once, Instant::from_unix_seconds(START)).expect("runs");
    let running: Vec<_> = runs.iter().filter(|r| r.ended.is_none()).collect();
    assert_eq!((running.len(), running[0].lot.as_str()), (1, "A-01"));
    let gone = Instant::from_unix_seconds(START).seconds_since(running[0].started_at().expect("started"));
    // It began so long ago that weighing comes next, and its timer still runs.
    assert!((600.0..43_200.0).contains(&gone), "{gone}");
}
