//! Everything out as open files, and in again.

use std::fs;
use std::path::{Path, PathBuf};

use fallrate_database::{ImportReport, export_to, import_from};
use fallrate_store::*;

use crate::support::*;

/// A filled database and its export.
fn exported() -> (Folder, PathBuf) {
    let f = Folder::new();
    let mut r = f.sqlite();
    filled(&mut r);
    let to = f.folder.path().join("export");
    let report = export_to(&mut r, &to).unwrap();
    assert_eq!((report.streams, report.entries, report.files), (3, 6, 1));
    let heads = fs::read(to.join("heads.csv")).unwrap();
    assert_eq!(report.heads_sha256, Digest::of(&heads));
    (f, to)
}

#[test]
fn identity_an_export_is_open_files_that_verify_by_themselves() {
    let (f, to) = exported();
    assert_eq!(fs::read_to_string(to.join("realm.txt")).unwrap(), "proof\n");
    let record = fs::read(to.join("batch/b1/record.jsonl")).unwrap();
    let file = |name: &str| {
        let bytes = fs::read(to.join("batch/b1").join(name)).ok()?;
        Some((Digest::of(&bytes), bytes.len() as u64))
    };
    let head = f.sqlite().heads("batch").unwrap()[0].hash;
    assert!(verify("record.jsonl", &record, &file, Some(head)).is_intact());
    let toml = fs::read_to_string(to.join("library/product/beef_strips/current.toml")).unwrap();
    assert_eq!(toml, "name = \"Beef strips 6 mm\"\n");
    let index = fs::read_to_string(to.join("batches.csv")).unwrap();
    assert_eq!(index.lines().count(), 3);
    assert!(
        index.lines().nth(1).unwrap().starts_with("b1,L-1,Beef strips 6 mm,BS6,R-7781,North,2026-03-13,")
    );
    assert!(export_to(&mut f.sqlite(), &to).is_err(), "an export is not written over another");
}

#[test]
fn identity_an_export_read_in_gives_the_same_records_and_twice_changes_nothing() {
    let (f, to) = exported();
    let other = Folder::new();
    let mut r = other.sqlite();
    let report = import_from(&mut r, &to).unwrap();
    assert_eq!(report, ImportReport { streams: 3, added: 6, there: 0, files: 1 });
    assert_eq!(everything(&mut r), everything(&mut f.sqlite()));
    assert_eq!(r.client_ids().unwrap(), f.sqlite().client_ids().unwrap());
    sound(&mut r);
    let again = import_from(&mut r, &to).unwrap();
    assert_eq!(again, ImportReport { streams: 3, added: 0, there: 6, files: 1 });
    // A queue that delivers late finds its entry there, also in the copy.
    let late = append_to(&mut r, &batch("b1"), Some("id-1"), None, draft(99.0, opened("L-1"))).unwrap();
    assert!(late.was_there);
}

#[test]
fn identity_an_export_goes_on_where_a_stream_ends() {
    let (f, to) = exported();
    let other = Folder::new();
    let mut r = other.sqlite();
    import_from(&mut r, &to).unwrap();
    add(&mut f.sqlite(), "b1", None, 9.0, noted("later"));
    let later = f.folder.path().join("later");
    export_to(&mut f.sqlite(), &later).unwrap();
    assert_eq!(import_from(&mut r, &later).unwrap().added, 1);
    // The earlier export brings nothing new, and takes nothing away.
    assert_eq!(import_from(&mut r, &to).unwrap().added, 0);
    assert_eq!(everything(&mut r), everything(&mut f.sqlite()));
    // Entries of its own here: the two have parted.
    let third = Folder::new();
    let mut r = third.sqlite();
    import_from(&mut r, &to).unwrap();
    add(&mut r, "b1", None, 9.0, noted("another"));
    let before = everything(&mut r);
    let error = import_from(&mut r, &later).unwrap_err();
    assert!(matches!(&error, StoreError::Records(RecordsError::Parted { n: 4, .. })), "{error}");
    assert_eq!(everything(&mut r), before);
}

fn change(path: &Path, from: &str, to: &str) {
    let text = fs::read_to_string(path).unwrap();
    assert!(text.contains(from), "{from}");
    fs::write(path, text.replace(from, to)).unwrap();
}

#[test]
fn refuse_an_export_that_was_changed_and_add_nothing() {
    type Damage = fn(&Path);
    let damages: [Damage; 9] = [
        |e| change(&e.join("batch/b1/record.jsonl"), "L-1", "L-7"),
        |e| change(&e.join("library/product/beef_strips/record.jsonl"), "6 mm", "5 mm"),
        |e| fs::write(e.join("batch/b1/north.csv"), "t,T2\n0,61\n").unwrap(),
        |e| fs::remove_file(e.join("batch/b1/north.csv")).unwrap(),
        |e| fs::remove_file(e.join("batch/b2/record.jsonl")).unwrap(),
        // Cut off at the end of a line: only the list of heads shows it.
        |e| {
            let path = e.join("batch/b2/record.jsonl");
            let text = fs::read_to_string(&path).unwrap();
            fs::write(path, format!("{}\n", text.lines().next().unwrap())).unwrap();
        },
        |e| {
            let path = e.join("heads.csv");
            let text = fs::read_to_string(&path).unwrap();
            let kept: String = text.lines().filter(|l| !l.contains("b2")).flat_map(|l| [l, "\n"]).collect();
            fs::write(path, kept).unwrap();
        },
        |e| fs::write(e.join("realm.txt"), "demo\n").unwrap(),
        |e| fs::remove_file(e.join("heads.csv")).unwrap(),
    ];
    for (i, damage) in damages.into_iter().enumerate() {
        let (_f, to) = exported();
        damage(&to);
        let other = Folder::new();
        let mut r = other.sqlite();
        assert!(import_from(&mut r, &to).is_err(), "damage {i}");
        assert!(everything(&mut r).is_empty(), "damage {i}");
    }
}

#[test]
fn refuse_to_export_a_file_that_is_lost() {
    let f = Folder::new();
    let mut r = f.sqlite();
    filled(&mut r);
    let sql = rusqlite::Connection::open(f.file()).unwrap();
    sql.execute_batch("DROP TRIGGER files_are_never_deleted; DELETE FROM files").unwrap();
    let to = f.folder.path().join("export");
    let error = export_to(&mut r, &to).unwrap_err();
    assert!(matches!(error, StoreError::Records(RecordsError::FileNotKept { .. })), "{error}");
    assert!(!to.exists());
}
