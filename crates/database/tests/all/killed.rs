//! Writers that are killed, and writers whose disk refuses the n-th write. The writer is this program started again.

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};

use fallrate_database::SqliteRecords;
use fallrate_store::*;

use crate::support::*;

const FILE: &str = "FALLRATE_TEST_DATABASE";

/// Not a test of its own: enters notes until it is stopped, and says so after each. Goes on where the last writer
/// stopped: the note that nobody heard of any more is sent again under its id.
#[test]
#[ignore = "started by the other tests of this file"]
fn writer() {
    let Ok(file) = std::env::var(FILE) else { return };
    let Ok(mut r) = SqliteRecords::open(file.as_ref(), RecordRealm::Proof, Default::default()) else {
        std::process::exit(3)
    };
    let Ok(lines) = r.lines(&batch("b1")) else { std::process::exit(3) };
    // One less than there are: the last one is sent again, as by a sender who missed the answer.
    let mut next = (lines.len() as u64).saturating_sub(2);
    loop {
        let id = format!("note-{next}");
        // A length that changes pages at different places each time.
        let text = format!("{id} {}", "x".repeat(97 * usize::try_from(next).unwrap() % 3000));
        match append_to(&mut r, &batch("b1"), Some(&id), None, draft(1.0, noted(&text))) {
            Ok(_) => println!("kept {id}"),
            Err(e) => {
                println!("refused {id} {e}");
                std::process::exit(2);
            }
        }
        next += 1;
    }
}

fn writer_of(file: &std::path::Path, before: &str) -> Child {
    let own = std::env::current_exe().unwrap();
    let script = format!("{before} exec \"$0\" --exact killed::writer --ignored --nocapture");
    Command::new("sh")
        .args(["-c", &script])
        .arg(own)
        .env(FILE, file)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

fn texts(r: &mut SqliteRecords) -> Vec<String> {
    let chain = chain_of::<Body>(r, &batch("b1")).unwrap().unwrap();
    let first = |text: String| text.split(' ').next().unwrap().to_owned();
    chain.view().notes.into_iter().map(|n| first(n.value.text)).collect()
}

/// Nothing acknowledged is lost, nothing is doubled, all chains verify.
fn check(r: &mut SqliteRecords, kept: &BTreeSet<String>) {
    sound(r);
    let there = texts(r);
    let set: BTreeSet<String> = there.iter().cloned().collect();
    assert_eq!(there.len(), set.len(), "doubled");
    assert!(kept.is_subset(&set), "lost: {:?}", kept.difference(&set).collect::<Vec<_>>());
    // At the most one entry was written whose acknowledgement was not read any more by each killed writer.
    assert_eq!(there, (0..there.len()).map(|i| format!("note-{i}")).collect::<Vec<_>>());
}

#[test]
fn identity_twenty_killed_writers_lose_and_double_nothing() {
    let f = Folder::new();
    add(&mut f.sqlite(), "b1", None, 0.0, opened("L-1"));
    let mut kept = BTreeSet::new();
    // More of them for a soak: FALLRATE_KILLS=200.
    let rounds: u64 = std::env::var("FALLRATE_KILLS").map_or(20, |n| n.parse().unwrap());
    for round in 0..rounds {
        let mut child = writer_of(&f.file(), "");
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        // A fixed but uneven number of entries, then the kill at whatever it is doing.
        let after = 1 + round * round * 7 % 13;
        let mut heard = 0;
        while heard < after {
            let line = lines.next().unwrap().unwrap();
            if let Some(id) = line.strip_prefix("kept ") {
                kept.insert(id.to_owned());
                heard += 1;
            }
        }
        // Kill is SIGKILL: no handler, no closing.
        child.kill().unwrap();
        let rest: Vec<String> = lines.map_while(Result::ok).collect();
        kept.extend(rest.iter().filter_map(|l| l.strip_prefix("kept ").map(str::to_owned)));
        child.wait().unwrap();
        check(&mut f.sqlite(), &kept);
    }
    assert!(kept.len() >= 20, "{}", kept.len());
}

/// The files may grow to so many blocks of 512 bytes, one more each time: the first write beyond fails, whichever of
/// the database's writes that is (`ulimit -f`; the signal is ignored, so that the write itself fails).
#[test]
fn refuse_the_nth_write_to_the_disk_and_lose_nothing() {
    let mut refused = 0;
    for blocks in (0..260).step_by(4) {
        let f = Folder::new();
        add(&mut f.sqlite(), "b1", None, 0.0, opened("L-1"));
        let mut child = writer_of(&f.file(), &format!("trap '' XFSZ; ulimit -f {blocks};"));
        let lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
        let mut kept = BTreeSet::new();
        for line in lines {
            kept.extend(line.strip_prefix("kept ").map(str::to_owned));
            refused += usize::from(line.starts_with("refused "));
        }
        let end = child.wait().unwrap();
        assert!(matches!(end.code(), Some(2 | 3)), "{blocks} blocks: {end}");
        check(&mut f.sqlite(), &kept);
        add(&mut f.sqlite(), "b1", None, 2.0, noted("room again"));
    }
    assert!(refused > 30, "{refused}");
}
