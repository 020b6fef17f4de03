//! Which files are opened.

use fallrate_database::{OpenOptions, SqliteRecords};
use fallrate_store::*;

use crate::support::*;

fn open(folder: &Folder) -> Result<SqliteRecords, RecordsError> {
    SqliteRecords::open(&folder.file(), RecordRealm::Proof, OpenOptions { wait_ms: 100, most_pages: 0 })
}

#[test]
fn refuse_a_file_of_something_else() {
    let f = Folder::new();
    std::fs::write(f.file(), b"this is a letter, not a database, and it is longer than a header of one")
        .unwrap();
    assert!(matches!(open(&f), Err(RecordsError::NotOurs { .. })));

    let f = Folder::new();
    let other = rusqlite::Connection::open(f.file()).unwrap();
    other.execute_batch("CREATE TABLE recipes (name TEXT)").unwrap();
    drop(other);
    let before = std::fs::read(f.file()).unwrap();
    assert!(matches!(open(&f), Err(RecordsError::NotOurs { .. })));
    assert_eq!(std::fs::read(f.file()).unwrap(), before);
}

#[test]
fn refuse_a_file_of_a_later_version() {
    let f = Folder::new();
    drop(open(&f).unwrap());
    rusqlite::Connection::open(f.file()).unwrap().pragma_update(None, "user_version", 99).unwrap();
    assert!(matches!(open(&f), Err(RecordsError::Newer { found: 99, .. })));
}

#[test]
fn identity_entries_and_files_cannot_be_changed_even_with_sql() {
    let f = Folder::new();
    let mut r = f.sqlite();
    filled(&mut r);
    let sql = rusqlite::Connection::open(f.file()).unwrap();
    for statement in [
        "UPDATE entries SET line = 'x'",
        "DELETE FROM entries WHERE n = 3",
        "INSERT OR REPLACE INTO entries (stream, n, hash, line) SELECT stream, n, hash, 'x' FROM entries",
        "INSERT OR REPLACE INTO entries (stream, n, hash, line, client_id)
         SELECT stream, 9, hash, 'x', client_id FROM entries WHERE n = 2",
        "INSERT INTO entries (stream, n, hash, line) SELECT stream, 7, hash, line FROM entries WHERE n = 3",
        "INSERT OR REPLACE INTO files (sha256, bytes) SELECT sha256, x'00' FROM files",
        "UPDATE files SET bytes = x'00'",
        "DELETE FROM files",
    ] {
        let before = everything(&mut r);
        let result = sql.execute(statement, []);
        assert!(result.is_err(), "{statement}");
        assert_eq!(everything(&mut r), before, "{statement}");
    }
}

#[test]
fn identity_commits_wait_for_the_disk() {
    let f = Folder::new();
    let r = f.sqlite();
    drop(r);
    // WAL is a property of the file; that commits are synchronised is checked on a handle of the crate itself (below).
    let sql = rusqlite::Connection::open(f.file()).unwrap();
    let mode: String = sql.pragma_query_value(None, "journal_mode", |r| r.get(0)).unwrap();
    assert_eq!(mode, "wal");
    assert_eq!(f.sqlite().durability().unwrap(), ("wal".to_owned(), 2));
}

#[test]
fn identity_two_programs_may_make_the_file_at_once() {
    for _ in 0..10 {
        let f = Folder::new();
        std::thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| f.sqlite());
            }
        });
        filled(&mut f.sqlite());
    }
}

#[test]
fn refuse_a_damaged_file_with_its_name() {
    let f = Folder::new();
    let mut r = f.sqlite();
    filled(&mut r);
    drop(r);
    // The triggers are taken away and a kept file and a line are changed, as by a hand in the file.
    let sql = rusqlite::Connection::open(f.file()).unwrap();
    sql.execute_batch("DROP TRIGGER files_are_never_changed; UPDATE files SET bytes = x'00'").unwrap();
    sql.execute_batch(
        "DROP TRIGGER entries_are_never_changed; UPDATE entries SET line = replace(line, 'L-2', 'L-3')",
    )
    .unwrap();
    let mut r = f.sqlite();
    assert!(matches!(r.file(Digest::of(b"t,T2\n0,60\n")), Err(RecordsError::Damaged { .. })));
    let error = fallrate_database::verify_all(&mut r).unwrap_err();
    assert!(error.to_string().contains("batch/b2"), "{error}");
}
