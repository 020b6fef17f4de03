//! The suite over PostgreSQL. `cargo xtask postgres-tests` starts a server and runs these.

use std::sync::atomic::{AtomicU32, Ordering};

use fallrate_database::{PostgresRecords, export_to, import_from, verify_all};
use fallrate_store::*;
use postgres::{Client, NoTls};

use crate::support::*;

/// Address of a server on which databases may be made, without the name of a database.
const SERVER: &str = "FALLRATE_TEST_POSTGRES";

static NEXT: AtomicU32 = AtomicU32::new(0);

/// A database of its own for each test.
struct Server {
    url: String,
    wait_ms: u64,
}

impl Server {
    fn new() -> Self {
        let server = std::env::var(SERVER)
            .expect("the address of a PostgreSQL server in FALLRATE_TEST_POSTGRES; cargo xtask postgres-tests sets it");
        let name = format!("t{}_{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let mut admin = Client::connect(&format!("{server} dbname=postgres"), NoTls).unwrap();
        admin.batch_execute(&format!("CREATE DATABASE {name} ENCODING 'UTF8' TEMPLATE template0")).unwrap();
        Self { url: format!("{server} dbname={name}"), wait_ms: 5000 }
    }
    fn sql(&self) -> Client {
        Client::connect(&self.url, NoTls).unwrap()
    }
    fn records(&self) -> PostgresRecords {
        PostgresRecords::connect(&self.url, RecordRealm::Proof, self.wait_ms).unwrap()
    }
}

impl Site for Server {
    fn open(&self, realm: RecordRealm) -> Result<Box<dyn Both>, RecordsError> {
        Ok(Box::new(PostgresRecords::connect(&self.url, realm, self.wait_ms)?))
    }
}

crate::suite::suite!(Server::new());

#[test]
fn refuse_while_another_holds_the_lock_and_go_on_afterwards() {
    let s = Server { wait_ms: 100, ..Server::new() };
    let mut r = s.records();
    filled(&mut r);
    let before = everything(&mut r);
    let mut other = s.sql();
    other.batch_execute("BEGIN; LOCK TABLE entries IN SHARE ROW EXCLUSIVE MODE").unwrap();
    let note = || draft(9.0, noted("late"));
    let error = append_to(&mut r, &batch("b1"), Some("late"), None, note()).unwrap_err();
    assert!(matches!(error, StoreError::Records(RecordsError::Locked { waited_ms: 100 })), "{error}");
    assert_eq!(everything(&mut r), before);
    other.batch_execute("ROLLBACK").unwrap();
    append_to(&mut r, &batch("b1"), Some("late"), None, note()).unwrap();
    sound(&mut r);
}

#[test]
fn identity_entries_and_files_cannot_be_changed_even_with_sql() {
    let s = Server::new();
    let mut r = s.records();
    filled(&mut r);
    let before = everything(&mut r);
    for statement in [
        "UPDATE entries SET line = 'x'",
        "DELETE FROM entries",
        "TRUNCATE entries",
        "UPDATE files SET bytes = ''",
        "DELETE FROM files",
        "TRUNCATE files",
        "INSERT INTO entries SELECT stream, n, hash, 'x', NULL FROM entries ON CONFLICT (stream, n) DO UPDATE SET line = 'x'",
    ] {
        assert!(s.sql().batch_execute(statement).is_err(), "{statement}");
    }
    assert_eq!(everything(&mut r), before);
}

#[test]
fn refuse_any_statement_of_a_change_and_keep_none_of_it() {
    let s = Server::new();
    let mut r = s.records();
    filled(&mut r);
    let mut chain = chain_of::<Body>(&mut r, &batch("b2")).unwrap().unwrap();
    for text in ["three", "four"] {
        chain.append(draft(9.0, noted(text))).unwrap();
    }
    let new = entries_after(&batch("b2"), &chain, 2, &|_| None);
    let before = everything(&mut r);
    let mut sql = s.sql();
    sql.batch_execute(
        "CREATE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'refused'; END $$",
    )
    .unwrap();
    for (table, event, when) in [
        ("entries", "INSERT", "NEW.n = 3"),
        ("entries", "INSERT", "NEW.n = 4"),
        ("batches", "UPDATE", "true"),
    ] {
        sql.batch_execute(&format!(
            "CREATE TRIGGER refuse AFTER {event} ON {table} FOR EACH ROW WHEN ({when}) EXECUTE FUNCTION refuse()"
        ))
        .unwrap();
        let error = r.append(&new).unwrap_err();
        assert!(
            matches!(&error, RecordsError::Unavailable { detail, .. } if detail.contains("refused")),
            "{error}"
        );
        assert_eq!(everything(&mut r), before, "{table}");
        sound(&mut r);
        sql.batch_execute(&format!("DROP TRIGGER refuse ON {table}")).unwrap();
    }
    r.append(&new).unwrap();
    sound(&mut r);
}

#[test]
fn identity_a_connection_that_was_cut_is_made_again_and_nothing_is_doubled() {
    let s = Server::new();
    let mut r = s.records();
    add(&mut r, "b1", None, 0.0, opened("L-1"));
    for i in 0..20 {
        if i % 4 == 3 {
            let cut = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity
                WHERE datname = current_database() AND pid <> pg_backend_pid()";
            s.sql().execute(cut, &[]).unwrap();
        }
        let id = format!("note-{i}");
        // As a sender does who got no answer.
        let kept =
            (0..5).any(|_| append_to(&mut r, &batch("b1"), Some(&id), None, draft(1.0, noted(&id))).is_ok());
        assert!(kept, "{id}");
    }
    sound(&mut r);
    let notes = chain_of::<Body>(&mut r, &batch("b1")).unwrap().unwrap().view().notes;
    let expected: Vec<String> = (0..20).map(|i| format!("note-{i}")).collect();
    assert_eq!(notes.into_iter().map(|n| n.value.text).collect::<Vec<_>>(), expected);
}

#[test]
fn refuse_a_database_of_something_else_or_of_a_later_version() {
    let s = Server::new();
    s.sql().batch_execute("CREATE TABLE recipes (name text)").unwrap();
    assert!(matches!(s.open(RecordRealm::Proof), Err(RecordsError::NotOurs { .. })));
    let s = Server::new();
    drop(s.records());
    s.sql().batch_execute("UPDATE meta SET value = '99' WHERE name = 'form'").unwrap();
    assert!(matches!(s.open(RecordRealm::Proof), Err(RecordsError::Newer { found: 99, .. })));
}

#[test]
fn identity_several_programs_may_make_the_tables_at_once() {
    let s = Server::new();
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| s.records());
        }
    });
    filled(&mut s.records());
}

#[test]
fn identity_records_move_from_sqlite_to_postgresql_and_back_unchanged() {
    let f = Folder::new();
    let mut local = f.sqlite();
    filled(&mut local);
    let (out, back) = (f.folder.path().join("out"), f.folder.path().join("back"));
    export_to(&mut local, &out).unwrap();
    let s = Server::new();
    let mut central = s.records();
    import_from(&mut central, &out).unwrap();
    assert_eq!(everything(&mut central), everything(&mut local));
    verify_all(&mut central).unwrap();
    export_to(&mut central, &back).unwrap();
    for name in ["heads.csv", "batches.csv", "client_ids.csv", "batch/b1/record.jsonl", "batch/b1/north.csv"]
    {
        assert_eq!(std::fs::read(out.join(name)).unwrap(), std::fs::read(back.join(name)).unwrap(), "{name}");
    }
}
