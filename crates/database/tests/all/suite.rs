//! What every database must do; run over SQLite and, where there is one, PostgreSQL.

use std::sync::atomic::{AtomicUsize, Ordering};

use fallrate_lethality::Answer;
use fallrate_series::CalendarDate;
use fallrate_store::*;

use crate::support::*;

pub fn keeps_what_it_is_given(place: &dyn Site) {
    let mut r = place.proof();
    filled(&mut *r);
    let before = everything(&mut *r);
    assert_eq!(
        before.iter().map(|(s, l)| (s.as_str(), l.len())).collect::<Vec<_>>(),
        [("batch/b1", 3), ("batch/b2", 2), ("library/product/beef_strips", 1),]
    );
    sound(&mut *r);
    drop(r);
    let mut again = place.proof();
    assert_eq!(everything(&mut *again), before);
    assert_eq!(again.heads("batch").unwrap().len(), 2);
    assert_eq!(again.heads("libr").unwrap(), []);
    for head in again.heads("").unwrap() {
        assert_eq!(again.head(&head.stream).unwrap(), Some(head));
    }
    assert_eq!(again.head(&batch("none")).unwrap(), None);
    assert!(again.lines(&batch("none")).unwrap().is_empty());
    assert_eq!(again.file(Digest::of(b"t,T2\n0,60\n")).unwrap().unwrap(), b"t,T2\n0,60\n");
    assert_eq!(again.file(Digest::of(b"other")).unwrap(), None);
    let ids: Vec<_> =
        again.client_ids().unwrap().into_iter().map(|(id, p)| (id, p.stream.to_string(), p.n)).collect();
    assert_eq!(
        ids,
        [
            ("id-1".to_owned(), "batch/b1".to_owned(), 1),
            ("id-2".to_owned(), "batch/b1".to_owned(), 2),
            ("id-3".to_owned(), "batch/b2".to_owned(), 1),
        ]
    );
}

pub fn sent_twice_is_kept_once(place: &dyn Site) {
    let (mut one, mut two) = (place.proof(), place.proof());
    add(&mut *one, "b1", Some("id-1"), 0.0, opened("L-1"));
    let first = append_to(&mut *one, &batch("b1"), Some("id-2"), Some(1), draft(1.0, noted("x"))).unwrap();
    let again = append_to(&mut *two, &batch("b1"), Some("id-2"), Some(1), draft(9.0, noted("x"))).unwrap();
    assert_eq!((first.was_there, again.was_there), (false, true));
    assert_eq!(first.entry, again.entry);
    let other = append_to(&mut *two, &batch("b1"), Some("id-2"), None, draft(9.0, noted("y"))).unwrap_err();
    assert!(matches!(other, StoreError::Records(RecordsError::IdReused { n: 2, .. })), "{other}");
    assert_eq!(two.lines(&batch("b1")).unwrap().len(), 2);
}

/// The checks of the database itself, without those of the crate above it.
pub fn refuses_what_does_not_fit(place: &dyn Site) {
    let mut r = place.proof();
    filled(&mut *r);
    let before = everything(&mut *r);
    let chain = chain_of::<Body>(&mut *r, &batch("b2")).unwrap().unwrap();
    let mut longer = chain.clone();
    longer.append(draft(6.0, noted("three"))).unwrap();
    longer.append(draft(7.0, noted("four"))).unwrap();
    let new = entries_after(&batch("b2"), &longer, 2, &|_| None);
    let moved = |e: RecordsError| matches!(e, RecordsError::Moved { found: 2, .. });
    // The second of the two alone, and the first with another hash before it.
    assert!(moved(r.append(&new[1..]).unwrap_err()));
    let forged = NewEntry { previous: Digest::of(b"x"), ..new[0].clone() };
    assert!(moved(r.append(&[forged]).unwrap_err()));
    let reused = NewEntry { client_id: Some("id-1".into()), ..new[0].clone() };
    let error = r.append(&[reused]).unwrap_err();
    assert!(
        matches!(&error, RecordsError::IdReused { id, stream, n: 1 } if id == "id-1" && stream == "batch/b1")
    );
    let unkept = NewEntry { files: vec![Digest::of(b"other")], ..new[0].clone() };
    assert!(matches!(r.append(&[unkept]).unwrap_err(), RecordsError::FileNotKept { .. }));
    let mut row = new[1].row.clone().unwrap();
    row.realm = RecordRealm::Demo;
    let demo = NewEntry { row: Some(row), ..new[0].clone() };
    assert!(matches!(r.append(&[demo]).unwrap_err(), RecordsError::AnotherRealm { .. }));
    // All or nothing: the first fits, the second is the first once more.
    assert!(r.append(&[new[0].clone(), new[0].clone()]).is_err());
    assert_eq!(everything(&mut *r), before);
    r.append(&new).unwrap();
    assert_eq!(r.lines(&batch("b2")).unwrap().len(), 4);
    sound(&mut *r);
}

pub fn worlds_stay_apart(place: &dyn Site) {
    drop(place.proof());
    for other in [RecordRealm::Rehearsal, RecordRealm::Demo] {
        match place.open(other) {
            Err(RecordsError::AnotherRealm { found: RecordRealm::Proof, allowed }) => {
                assert_eq!(allowed, other)
            }
            Err(e) => panic!("{e}"),
            Ok(_) => panic!("a file of proof was opened as {other}"),
        }
    }
    let mut r = place.proof();
    let mut demo = identity("L-1");
    demo.realm = RecordRealm::Demo;
    let error =
        append_to(&mut *r, &batch("b1"), None, None, draft(0.0, Body::Opened(Box::new(demo)))).unwrap_err();
    assert!(matches!(error, StoreError::Records(RecordsError::AnotherRealm { .. })), "{error}");
}

pub fn batches_are_found(place: &dyn Site) {
    let mut r = place.proof();
    for i in 0..6 {
        let mut identity = identity(&format!("L-{i}"));
        identity.cabinet = if i % 2 == 0 { "North".into() } else { "Bench".into() };
        identity.product = if i < 3 { "Piña en rodajas".into() } else { "Beef strips".into() };
        let day = 1440.0 * f64::from(i);
        add(&mut *r, &format!("b{i}"), None, day, Body::Opened(Box::new(identity)));
        if i == 4 {
            add(&mut *r, "b4", None, day + 1.0, judged(Answer::NotMet));
        }
    }
    let mut lots =
        |q: BatchQuery| -> Vec<String> { r.batches(&q).unwrap().into_iter().map(|b| b.lot).collect() };
    let all = BatchQuery::default();
    assert_eq!(lots(all.clone()), ["L-5", "L-4", "L-3", "L-2", "L-1", "L-0"]);
    assert_eq!(lots(BatchQuery { words: "PINA l-".into(), ..all.clone() }), ["L-2", "L-1", "L-0"]);
    assert_eq!(lots(BatchQuery { words: "beef bench".into(), ..all.clone() }), ["L-5", "L-3"]);
    assert_eq!(lots(BatchQuery { words: "%".into(), ..all.clone() }), [""; 0]);
    assert_eq!(lots(BatchQuery { cabinet: Some("North".into()), ..all.clone() }), ["L-4", "L-2", "L-0"]);
    let day = |d: &str| Some(CalendarDate::parse(d).unwrap());
    let days = BatchQuery { from: day("2026-03-14"), to: day("2026-03-16"), ..all.clone() };
    assert_eq!(lots(days), ["L-3", "L-2", "L-1"]);
    let answer = |a| BatchQuery { answer: Some(a), ..BatchQuery::default() };
    assert_eq!(lots(answer(AnswerSought::Is(Answer::NotMet))), ["L-4"]);
    assert_eq!(lots(answer(AnswerSought::Is(Answer::Met))), [""; 0]);
    assert_eq!(lots(answer(AnswerSought::NotJudged)).len(), 5);
    assert_eq!(lots(BatchQuery { open: Some(true), ..all.clone() }).len(), 6);
    assert_eq!(lots(BatchQuery { open: Some(false), ..all.clone() }), [""; 0]);
    assert_eq!(lots(BatchQuery { kept_before: day("2028-03-15"), ..all.clone() }), ["L-1", "L-0"]);
    assert_eq!(lots(BatchQuery { limit: 2, skip: 1, ..all }), ["L-4", "L-3"]);
}

pub fn rows_are_computed_anew(place: &dyn Site) {
    let mut r = place.proof();
    filled(&mut *r);
    let rows = r.batches(&BatchQuery::default()).unwrap();
    r.replace_rows(&[]).unwrap();
    assert!(r.batches(&BatchQuery::default()).unwrap().is_empty());
    let computed = rows_of(&mut *r).unwrap();
    r.replace_rows(&computed).unwrap();
    assert_eq!(r.batches(&BatchQuery::default()).unwrap(), rows);
}

pub fn signs_of_life(place: &dyn Site) {
    let mut r = place.proof();
    assert_eq!(r.heartbeat().unwrap(), None);
    for (m, stopped) in [(0.0, false), (1.0, false), (2.0, true)] {
        let beat = Heartbeat { at: minute(m), stopped };
        r.set_heartbeat(beat).unwrap();
        assert_eq!(place.proof().heartbeat().unwrap(), Some(beat));
    }
}

pub fn accounts_and_sessions(place: &dyn Site) {
    let mut r = place.proof();
    let ana = Account {
        name: "ana".into(),
        full_name: "Ana Ruiz".into(),
        role: AccountRole::Supervisor,
        password_hash: Some("$argon2id$v=19$made-up".into()),
        pin_hash: None,
        training: Some("meat HACCP course, 2025-02-01".into()),
        active: true,
        created_at: minute(0.0),
        refused: 0,
        locked_until: None,
    };
    let lee = Account { name: "lee".into(), role: AccountRole::Reader, training: None, ..ana.clone() };
    r.put_account(&lee).unwrap();
    r.put_account(&ana).unwrap();
    assert_eq!(r.accounts().unwrap(), [ana.clone(), lee.clone()]);
    let locked = Account { refused: 5, locked_until: Some(minute(30.0)), active: false, ..lee };
    r.put_account(&locked).unwrap();
    assert_eq!(place.proof().accounts().unwrap(), [ana, locked]);

    let session = |token: &[u8], account: &str, ends: f64| Session {
        token_sha256: Digest::of(token),
        account: account.into(),
        created_at: minute(0.0),
        seen_at: minute(1.0),
        expires_at: minute(ends),
        device: "tablet by North".into(),
        by_pin: account == "lee",
    };
    for s in [session(b"1", "ana", 60.0), session(b"2", "ana", 10.0), session(b"3", "lee", 60.0)] {
        r.put_session(&s).unwrap();
    }
    let seen = Session { seen_at: minute(9.0), ..session(b"1", "ana", 60.0) };
    r.put_session(&seen).unwrap();
    assert_eq!(r.session(Digest::of(b"1")).unwrap(), Some(seen));
    assert_eq!(r.end_expired_sessions(minute(20.0)).unwrap(), 1);
    assert_eq!(r.session(Digest::of(b"2")).unwrap(), None);
    assert!(r.end_session(Digest::of(b"3")).unwrap());
    assert!(!r.end_session(Digest::of(b"3")).unwrap());
    assert_eq!(r.end_sessions_of("ana").unwrap(), 1);
    assert_eq!(r.end_sessions_of("ana").unwrap(), 0);
}

/// Four writers on one stream and on streams of their own: nothing lost, nothing doubled, one chain.
pub fn several_writers_at_once(place: &(dyn Site + Sync)) {
    const WRITERS: usize = 4;
    const EACH: usize = 25;
    add(&mut *place.proof(), "b1", None, 0.0, opened("L-1"));
    let retried = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for writer in 0..WRITERS {
            let retried = &retried;
            scope.spawn(move || {
                let mut r = place.proof();
                add(&mut *r, &format!("own-{writer}"), None, 0.0, opened("L-9"));
                for i in 0..EACH {
                    let id = format!("{writer}-{i}");
                    let one = draft(1.0, noted(&id));
                    append_to(&mut *r, &batch("b1"), Some(&id), None, one.clone()).unwrap();
                    // The acknowledgement was lost on the way: the sender sends it again.
                    let again = append_to(&mut *r, &batch("b1"), Some(&id), None, one).unwrap();
                    retried.fetch_add(usize::from(again.was_there), Ordering::Relaxed);
                }
            });
        }
    });
    assert_eq!(retried.load(Ordering::Relaxed), WRITERS * EACH);
    let mut r = place.proof();
    sound(&mut *r);
    let chain = chain_of::<Body>(&mut *r, &batch("b1")).unwrap().unwrap();
    let mut texts: Vec<String> = chain.view().notes.into_iter().map(|n| n.value.text).collect();
    texts.sort();
    let mut expected: Vec<String> =
        (0..WRITERS).flat_map(|w| (0..EACH).map(move |i| format!("{w}-{i}"))).collect();
    expected.sort();
    assert_eq!(texts, expected);
}

/// Every test of the suite, for a place.
macro_rules! suite {
    ($place:expr) => {
        #[test]
        fn identity_keeps_what_it_is_given() {
            crate::suite::keeps_what_it_is_given(&$place);
        }
        #[test]
        fn identity_sent_twice_is_kept_once() {
            crate::suite::sent_twice_is_kept_once(&$place);
        }
        #[test]
        fn refuse_what_does_not_fit() {
            crate::suite::refuses_what_does_not_fit(&$place);
        }
        #[test]
        fn refuse_another_world() {
            crate::suite::worlds_stay_apart(&$place);
        }
        #[test]
        fn identity_batches_are_found() {
            crate::suite::batches_are_found(&$place);
        }
        #[test]
        fn identity_rows_are_computed_anew() {
            crate::suite::rows_are_computed_anew(&$place);
        }
        #[test]
        fn identity_signs_of_life() {
            crate::suite::signs_of_life(&$place);
        }
        #[test]
        fn identity_accounts_and_sessions() {
            crate::suite::accounts_and_sessions(&$place);
        }
        #[test]
        fn identity_several_writers_at_once() {
            crate::suite::several_writers_at_once(&$place);
        }
    };
}
pub(crate) use suite;
