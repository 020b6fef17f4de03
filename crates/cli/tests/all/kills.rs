//! The server killed while people enter, and a disk that fills up: nothing acknowledged is lost, nothing stands twice.
//!
//! `FALLRATE_KILLS` says how often (`cargo xtask soak-kills` takes 200).

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use fallrate_app::batches::{RecordRealm, run};
use fallrate_database::{OpenOptions, SqliteRecords, verify_all};
use rand::{RngExt, SeedableRng};

use super::server::{Server, ask};

/// People who enter at the same time.
const HANDS: usize = 3;

/// Sends notes named by their ids until the server is gone. Hands back those that were acknowledged, and the one that was
/// not answered.
fn enter(
    address: &str,
    batch: &str,
    hand: usize,
    round: usize,
    stop: &AtomicBool,
) -> (Vec<String>, Option<String>) {
    let mut kept = Vec::new();
    for n in 0.. {
        if stop.load(Ordering::Relaxed) {
            break;
        }
        let id = format!("note-{round}-{hand}-{n}");
        match send(address, batch, &id) {
            Ok(200) => kept.push(id),
            Ok(other) => panic!("{id}: {other}"),
            Err(_) => return (kept, Some(id)),
        }
    }
    (kept, None)
}

fn send(address: &str, batch: &str, id: &str) -> std::io::Result<u16> {
    let body = format!("{{\"entry_id\":\"{id}\",\"kind\":\"note\",\"value\":\"{id}\"}}");
    let path = format!("/api/v1/batches/{batch}/entries");
    Ok(ask(address, "POST", &path, "application/json", &body)?.status)
}

/// How often each note stands in the record, read from the file by other means than the server's.
fn standing(data: &Path, batch: &str) -> BTreeMap<String, usize> {
    let file = data.join("proof.sqlite");
    let mut records =
        SqliteRecords::open(&file, RecordRealm::Proof, OpenOptions::default()).expect("records");
    verify_all(&mut records).expect("every seal holds");
    let run = run(&mut records, batch).expect("readable").expect("the batch");
    let mut found = BTreeMap::new();
    for r in &run.remarks {
        *found.entry(r.text.clone()).or_insert(0) += 1;
    }
    found
}

#[test]
fn identity_nothing_acknowledged_is_lost_or_doubled_when_the_server_is_killed() {
    let kills: usize = std::env::var("FALLRATE_KILLS").ok().and_then(|k| k.parse().ok()).unwrap_or(20);
    let folder = tempfile::tempdir().expect("a folder");
    let mut chance = rand_chacha::ChaCha8Rng::seed_from_u64(8420);
    let (mut total, mut unanswered_total) = (0, 0);
    let mut unanswered: Vec<String> = Vec::new();
    // A record of thousands of notes is slow to add to: each twenty kills have a plant and a batch of their own.
    for part in 0..kills.div_ceil(20) {
        let data = folder.path().join(part.to_string());
        let first = Server::start(&data);
        let batch = first.batch();
        first.kill();
        let mut acknowledged: Vec<String> = Vec::new();
        for round in 0..20.min(kills - part * 20) {
            let server = Server::start(&data);
            // What was not answered is sent again, as a page does.
            for id in std::mem::take(&mut unanswered) {
                assert_eq!(send(&server.address, &batch, &id).expect("an answer"), 200, "{id}");
                acknowledged.push(id);
            }
            let stop = AtomicBool::new(false);
            let wait = Duration::from_micros(chance.random_range(2_000..250_000));
            std::thread::scope(|scope| {
                let address = server.address.clone();
                let hands: Vec<_> = (0..HANDS)
                    .map(|hand| {
                        let (address, batch, stop) = (address.clone(), &batch, &stop);
                        scope.spawn(move || enter(&address, batch, hand, round, stop))
                    })
                    .collect();
                std::thread::sleep(wait);
                server.kill();
                stop.store(true, Ordering::Relaxed);
                for hand in hands {
                    let (kept, lost) = hand.join().expect("a hand");
                    acknowledged.extend(kept);
                    unanswered.extend(lost);
                }
            });
            unanswered_total += unanswered.len();
        }
        let found = standing(&data, &batch);
        for id in &acknowledged {
            assert_eq!(found.get(id), Some(&1), "{id} was acknowledged");
        }
        // What nobody was told of may stand or not, but not twice; and nothing else is there.
        for (id, times) in &found {
            assert_eq!(*times, 1, "{id}");
            assert!(acknowledged.contains(id) || unanswered.contains(id), "{id} came from nowhere");
        }
        total += acknowledged.len();
        unanswered.clear();
    }
    println!("{kills} kills, {total} entries acknowledged, {unanswered_total} cut off");
    assert!(
        total > kills && unanswered_total > kills / 4,
        "the kills did not fall into entries: {total}, {unanswered_total}"
    );
}

#[cfg(unix)]
#[test]
fn refuse_entries_when_the_disk_is_full_and_go_on_when_there_is_room() {
    let folder = tempfile::tempdir().expect("a folder");
    let first = Server::start(folder.path());
    let batch = first.batch();
    first.stop();
    let server = Server::start_with_little_room(folder.path(), 400_000);
    let mut kept = Vec::new();
    let long = "x".repeat(1500);
    let refused = (0..400).find_map(|n| {
        let id = format!("note-long-{n}");
        let body = format!("{{\"entry_id\":\"{id}\",\"kind\":\"note\",\"value\":\"{id} {long}\"}}");
        let path = format!("/api/v1/batches/{batch}/entries");
        let answer = ask(&server.address, "POST", &path, "application/json", &body).expect("an answer");
        if answer.status == 200 {
            kept.push(id);
            return None;
        }
        Some(answer)
    });
    let refused = refused.expect("a disk that fills up");
    assert!(matches!(refused.status, 500 | 507), "{}", refused.status);
    assert!(refused.body.contains("database"), "{}", refused.body);
    // It is still there to be read.
    assert_eq!(server.get(&format!("/batches/{batch}")).status, 200);
    assert_eq!(server.get("/").status, 200);
    server.kill();
    let again = Server::start(folder.path());
    assert_eq!(send(&again.address, &batch, "note-after").expect("an answer"), 200);
    again.stop();
    let found = standing(folder.path(), &batch);
    assert_eq!(found.len(), kept.len() + 1, "{} kept", kept.len());
    for id in &kept {
        assert_eq!(
            found.iter().filter(|(text, n)| text.starts_with(&format!("{id} ")) && **n == 1).count(),
            1,
            "{id}"
        );
    }
}

/// The cut that stops the dryer stops the machine: after it the first page asks.
#[test]
fn identity_a_restart_asks_whether_the_dryer_was_off_too() {
    use fallrate_app::batches::{Heartbeat, Records};
    let folder = tempfile::tempdir().expect("a folder");
    let server = Server::start(folder.path());
    let batch = server.batch();
    let done = format!("/batches/{batch}/done");
    assert_eq!(server.form(&done, "entry_id=done-0001&number=1&text=Load").status, 303);
    server.kill();
    // Forty minutes pass.
    let file = folder.path().join("proof.sqlite");
    let mut records =
        SqliteRecords::open(&file, RecordRealm::Proof, OpenOptions::default()).expect("records");
    let last = records.heartbeat().expect("readable").expect("a sign of life");
    let earlier = Heartbeat { at: last.at.plus_seconds(-2400.0), stopped: false };
    records.set_heartbeat(earlier).expect("set");
    drop(records);
    let server = Server::start(folder.path());
    let page = server.get("/").body;
    assert!(page.contains("Was the dryer off too?"), "{page}");
    assert!(page.contains(&format!("/batches/{batch}/interruption?kind=power_cut&amp;from=")), "{page}");
}
