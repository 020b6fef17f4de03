//! Locked, full, refused in the middle: typed errors, nothing lost, nothing half written.

use fallrate_database::{OpenOptions, SqliteRecords};
use fallrate_store::*;

use crate::support::*;

fn records(e: StoreError) -> RecordsError {
    match e {
        StoreError::Records(e) => e,
        other => panic!("{other}"),
    }
}

#[test]
fn refuse_while_another_program_holds_the_database_and_go_on_afterwards() {
    let f = Folder { options: OpenOptions { wait_ms: 50, most_pages: 0 }, ..Folder::new() };
    let mut r = f.sqlite();
    filled(&mut r);
    let before = everything(&mut r);
    let other = rusqlite::Connection::open(f.file()).unwrap();
    other.execute_batch("BEGIN IMMEDIATE; UPDATE meta SET value = value").unwrap();
    let one = || append_to(&mut f.sqlite(), &batch("b1"), Some("late"), None, draft(9.0, noted("late")));
    assert_eq!(records(one().unwrap_err()), RecordsError::Locked { waited_ms: 50 });
    assert!(matches!(r.put_file(b"x"), Err(RecordsError::Locked { .. })));
    assert!(matches!(
        r.set_heartbeat(Heartbeat { at: minute(0.0), stopped: false }),
        Err(RecordsError::Locked { .. })
    ));
    // Reading goes on.
    assert_eq!(everything(&mut r), before);
    other.execute_batch("ROLLBACK").unwrap();
    assert!(!one().unwrap().was_there);
    sound(&mut r);
}

/// The database may grow by one page more each time: every write of an entry that needs a page fails once at each of
/// them.
#[test]
fn refuse_when_the_disk_is_full_and_lose_nothing() {
    let f = Folder::new();
    filled(&mut f.sqlite());
    let pages: u32 = {
        let sql = rusqlite::Connection::open(f.file()).unwrap();
        sql.pragma_query_value(None, "page_count", |r| r.get(0)).unwrap()
    };
    let long = "x".repeat(20_000);
    let (mut refused, mut sent) = (0, 0);
    for extra in 0..40 {
        let options = OpenOptions { wait_ms: 1000, most_pages: pages + extra };
        let mut r = SqliteRecords::open(&f.file(), RecordRealm::Proof, options).unwrap();
        loop {
            let before = everything(&mut r);
            let id = format!("n-{sent}");
            let result = append_to(&mut r, &batch("b1"), Some(&id), None, draft(9.0, noted(&long)));
            match result {
                Ok(_) => sent += 1,
                Err(e) => {
                    assert!(matches!(records(e), RecordsError::Full { .. }));
                    assert_eq!(everything(&mut r), before);
                    refused += 1;
                    break;
                }
            }
        }
        assert!(matches!(r.put_file(&[7; 60_000]), Err(RecordsError::Full { .. })));
        sound(&mut r);
    }
    // Room again: the entry that was refused is sent once more.
    let mut r = f.sqlite();
    append_to(&mut r, &batch("b1"), Some(&format!("n-{sent}")), None, draft(9.0, noted(&long))).unwrap();
    sound(&mut r);
    let chain = chain_of::<Body>(&mut r, &batch("b1")).unwrap().unwrap();
    assert_eq!((chain.view().notes.len(), refused), (sent + 1, 40));
    assert!(sent >= 5, "{sent}");
}

/// The n-th statement of a change is refused, for every n there is.
#[test]
fn refuse_any_statement_of_a_change_and_keep_none_of_it() {
    let f = Folder::new();
    let mut r = f.sqlite();
    filled(&mut r);
    let sql = rusqlite::Connection::open(f.file()).unwrap();
    // What adding three entries to a batch writes: three lines and one row; a row replaced is one inserted.
    let chain = {
        let mut c = chain_of::<Body>(&mut r, &batch("b2")).unwrap().unwrap();
        for text in ["three", "four", "five"] {
            c.append(draft(9.0, noted(text))).unwrap();
        }
        c
    };
    let new = entries_after(&batch("b2"), &chain, 2, &|n| Some(format!("n-{n}")));
    let before = everything(&mut r);
    let rows = r.batches(&BatchQuery::default()).unwrap();
    let conditions =
        [("entries", "NEW.n = 3"), ("entries", "NEW.n = 4"), ("entries", "NEW.n = 5"), ("batches", "1")];
    for (table, when) in conditions {
        sql.execute_batch(&format!(
            "CREATE TRIGGER refuse AFTER INSERT ON {table} WHEN {when} BEGIN SELECT RAISE(ABORT, 'refused'); END"
        ))
        .unwrap();
        let error = r.append(&new).unwrap_err();
        assert!(
            matches!(&error, RecordsError::Unavailable { detail, .. } if detail.contains("refused")),
            "{error}"
        );
        assert_eq!(everything(&mut r), before, "{table} {when}");
        assert_eq!(r.batches(&BatchQuery::default()).unwrap(), rows, "{table} {when}");
        sql.execute_batch("DROP TRIGGER refuse").unwrap();
    }
    r.append(&new).unwrap();
    sound(&mut r);
}
