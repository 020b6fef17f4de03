//! Backups while writers go on, and putting one in place.

use fallrate_database::{SqliteRecords, heads_path, read_heads};
use fallrate_store::*;

use crate::support::*;

fn open(path: &std::path::Path) -> SqliteRecords {
    SqliteRecords::open(path, RecordRealm::Proof, Default::default()).unwrap()
}

#[test]
fn identity_a_backup_holds_everything_and_the_heads_beside_it() {
    let f = Folder::new();
    let mut r = f.sqlite();
    filled(&mut r);
    let to = f.folder.path().join("second place.sqlite");
    let report = r.back_up(&to).unwrap();
    assert_eq!(report.bytes, std::fs::metadata(&to).unwrap().len());
    let list = std::fs::read(heads_path(&to)).unwrap();
    assert_eq!(report.heads_sha256, Digest::of(&list));
    assert_eq!(read_heads(std::str::from_utf8(&list).unwrap()).unwrap(), report.heads);
    assert_eq!(report.heads, r.heads("").unwrap());
    let mut copy = open(&to);
    assert_eq!(everything(&mut copy), everything(&mut r));
    assert_eq!(copy.file(Digest::of(b"t,T2\n0,60\n")).unwrap(), r.file(Digest::of(b"t,T2\n0,60\n")).unwrap());
    sound(&mut copy);
    // No log is left beside it, and an older backup of the same name is replaced.
    add(&mut r, "b1", None, 9.0, noted("later"));
    let again = r.back_up(&to).unwrap();
    assert_ne!(again.heads_sha256, report.heads_sha256);
    let names: Vec<String> = std::fs::read_dir(f.folder.path())
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| n.starts_with("second"))
        .collect();
    assert!(names.iter().all(|n| !n.ends_with(".part")), "{names:?}");
}

#[test]
fn identity_a_backup_is_whole_while_another_writes() {
    let f = Folder::new();
    let mut r = f.sqlite();
    filled(&mut r);
    let written = std::thread::scope(|scope| {
        let writer = scope.spawn(|| {
            let mut r = f.sqlite();
            for i in 0..150 {
                add(&mut r, "b2", None, 9.0, noted(&format!("{i} {}", "x".repeat(500))));
            }
            r.heads("batch").unwrap()
        });
        let mut lengths = vec![];
        while !writer.is_finished() {
            let to = f.folder.path().join(format!("backup-{}.sqlite", lengths.len() % 3));
            let report = r.back_up(&to).unwrap();
            let mut copy = open(&to);
            sound(&mut copy);
            assert_eq!(copy.heads("").unwrap(), report.heads);
            lengths.push(report.heads.iter().find(|h| h.stream == batch("b2")).unwrap().n);
        }
        assert!(lengths.is_sorted(), "{lengths:?}");
        writer.join().unwrap()
    });
    assert_eq!(r.heads("batch").unwrap(), written);
    assert_eq!(written[1].n, 152);
}

#[test]
fn identity_a_backup_is_put_in_place_while_other_handles_are_open() {
    let f = Folder::new();
    let mut r = f.sqlite();
    let mut other = f.sqlite();
    filled(&mut r);
    let backup = f.folder.path().join("backup.sqlite");
    r.back_up(&backup).unwrap();
    let then = everything(&mut r);
    add(&mut r, "b1", Some("gone"), 9.0, noted("after the backup"));
    assert_eq!(other.lines(&batch("b1")).unwrap().len(), 4);
    let before = f.folder.path().join("before.sqlite");
    let report = r.restore(&backup, &before).unwrap();
    assert_eq!(report.shorter, [("batch/b1".to_owned(), 3, 4)]);
    for handle in [&mut r, &mut other] {
        assert_eq!(everything(handle), then);
        sound(handle);
    }
    assert_eq!(open(&before).lines(&batch("b1")).unwrap().len(), 4);
    // Both go on, each seeing the other, with everything as durable as before.
    add(&mut other, "b1", Some("gone"), 9.0, noted("after the backup"));
    add(&mut r, "b2", None, 9.0, noted("x"));
    assert_eq!(other.lines(&batch("b2")).unwrap().len(), 3);
    assert_eq!(r.durability().unwrap(), ("wal".to_owned(), 2));
    sound(&mut f.sqlite());
}

#[test]
fn refuse_backups_of_another_world_damaged_or_missing_and_leave_everything_as_it_was() {
    let f = Folder::new();
    let mut r = f.sqlite();
    filled(&mut r);
    let then = everything(&mut r);
    let path = |name: &str| f.folder.path().join(name);
    let mut refused = |backup: &str| {
        let error = r.restore(&path(backup), &path("before.sqlite")).unwrap_err();
        assert_eq!(everything(&mut r), then);
        assert!(!path("before.sqlite").exists());
        error
    };
    assert!(matches!(refused("missing.sqlite"), RecordsError::Unavailable { .. }));
    drop(SqliteRecords::open(&path("demo.sqlite"), RecordRealm::Demo, Default::default()).unwrap());
    assert!(matches!(refused("demo.sqlite"), RecordsError::AnotherRealm { .. }));
    std::fs::write(path("letter.sqlite"), "a letter".repeat(100)).unwrap();
    assert!(matches!(refused("letter.sqlite"), RecordsError::NotOurs { .. }));
    std::fs::write(path("empty.sqlite"), "").unwrap();
    assert!(matches!(refused("empty.sqlite"), RecordsError::NotOurs { .. }));

    let mut source = f.sqlite();
    source.back_up(&path("forged.sqlite")).unwrap();
    let sql = rusqlite::Connection::open(path("forged.sqlite")).unwrap();
    sql.execute_batch(
        "DROP TRIGGER entries_are_never_changed; UPDATE entries SET line = replace(line, 'L-2', 'L-3')",
    )
    .unwrap();
    drop(sql);
    let error = refused("forged.sqlite");
    assert!(matches!(&error, RecordsError::Damaged { detail } if detail.contains("batch/b2")), "{error}");

    // Bytes overwritten in the middle of the file.
    source.back_up(&path("broken.sqlite")).unwrap();
    let mut bytes = std::fs::read(path("broken.sqlite")).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle..middle + 3000].fill(0xa5);
    std::fs::write(path("broken.sqlite"), bytes).unwrap();
    let error = refused("broken.sqlite");
    assert!(matches!(&error, RecordsError::Damaged { .. } | RecordsError::NotOurs { .. }), "{error}");
}

#[test]
fn refuse_a_backup_where_there_is_no_room_and_keep_the_older_one() {
    let f = Folder::new();
    let mut r = f.sqlite();
    filled(&mut r);
    let to = f.folder.path().join("backup.sqlite");
    r.back_up(&to).unwrap();
    let older = std::fs::read(&to).unwrap();
    // A folder of the name that the unfinished copy would have: it cannot be written.
    std::fs::create_dir(f.folder.path().join("backup.sqlite.part")).unwrap();
    assert!(r.back_up(&to).is_err());
    assert_eq!(std::fs::read(&to).unwrap(), older);
}
