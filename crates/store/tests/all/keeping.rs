//! Adding to streams over a place where records are kept.

use fallrate_store::*;

use crate::support::*;

fn batch() -> StreamName {
    StreamName::batch("2026-03-13-north-1").unwrap()
}

fn add(m: &mut Memory, id: Option<&str>, expected: Option<u64>, d: Draft) -> Result<Appended, StoreError> {
    append_to(m, &batch(), id, expected, d)
}

fn begun() -> Memory {
    let mut m = Memory::default();
    add(&mut m, Some("a"), Some(0), draft(0.0, "Ana Ruiz", opened())).unwrap();
    m
}

#[test]
fn identity_sent_twice_is_kept_once() {
    let mut m = begun();
    let note = draft(1.0, "Ana Ruiz", noted("one"));
    let first = add(&mut m, Some("b"), None, note.clone()).unwrap();
    // Delivered again later, at another time of the server's clock, after something else was entered.
    add(&mut m, Some("c"), None, draft(2.0, "Ana Ruiz", noted("two"))).unwrap();
    let again = add(&mut m, Some("b"), Some(1), Draft { at: minute(9.0), ..note }).unwrap();
    assert_eq!((first.was_there, again.was_there), (false, true));
    assert_eq!(again.entry, first.entry);
    assert_eq!(m.streams[&batch()].len(), 3);
}

#[test]
fn refuse_an_id_for_two_entries() {
    let mut m = begun();
    add(&mut m, Some("b"), None, draft(1.0, "Ana Ruiz", noted("one"))).unwrap();
    let reused = |e: StoreError| matches!(e, StoreError::Records(RecordsError::IdReused { n: 2, .. }));
    assert!(reused(add(&mut m, Some("b"), None, draft(1.0, "Ana Ruiz", noted("two"))).unwrap_err()));
    assert!(reused(add(&mut m, Some("b"), None, draft(1.0, "Lee Park", noted("one"))).unwrap_err()));
    let other = StreamName::batch("other").unwrap();
    let d = draft(1.0, "Ana Ruiz", noted("one"));
    assert!(reused(append_to(&mut m, &other, Some("b"), None, d).unwrap_err()));
}

#[test]
fn identity_without_an_expected_number_an_entry_goes_to_the_end() {
    let mut m = begun();
    let chain = chain_of::<Body>(&mut m, &batch()).unwrap().unwrap();
    let mut rival = chain.clone();
    let entry = rival.append(draft(1.0, "Lee Park", noted("quicker"))).unwrap().clone();
    m.rivals = vec![NewEntry {
        stream: batch(),
        n: entry.n,
        previous: entry.previous,
        hash: entry.hash,
        line: rival.lines()[1].clone(),
        client_id: None,
        files: vec![],
        row: None,
    }];
    let mine = add(&mut m, Some("b"), None, draft(2.0, "Ana Ruiz", noted("slower"))).unwrap();
    assert_eq!(mine.entry.n, 3);
    let chain = chain_of::<Body>(&mut m, &batch()).unwrap().unwrap();
    assert_eq!(
        chain.view().notes.iter().map(|n| n.value.text.as_str()).collect::<Vec<_>>(),
        ["quicker", "slower"]
    );
}

#[test]
fn refuse_an_entry_where_more_was_entered_than_was_seen() {
    let mut m = begun();
    let error = add(&mut m, None, Some(0), draft(1.0, "Ana Ruiz", noted("x"))).unwrap_err();
    assert!(
        matches!(error, StoreError::Records(RecordsError::Moved { expected: 0, found: 1, .. })),
        "{error}"
    );
}

#[test]
fn refuse_a_record_of_another_world() {
    let mut m = Memory::default();
    let body = Body::Opened(Box::new(identity(RecordRealm::Rehearsal)));
    let error = add(&mut m, None, None, draft(0.0, "Ana Ruiz", body)).unwrap_err();
    assert!(matches!(error, StoreError::Records(RecordsError::AnotherRealm { .. })), "{error}");
}

#[test]
fn refuse_an_entry_about_a_file_that_is_not_kept() {
    let mut m = begun();
    let body = Body::FileKept(Box::new(file("north.csv", b"bytes")));
    let error = add(&mut m, None, None, draft(1.0, "Ana Ruiz", body.clone())).unwrap_err();
    assert!(matches!(error, StoreError::Records(RecordsError::FileNotKept { .. })), "{error}");
    m.put_file(b"bytes").unwrap();
    add(&mut m, None, None, draft(1.0, "Ana Ruiz", body)).unwrap();
}

#[test]
fn refuse_broken_rules_without_writing_anything() {
    let mut m = begun();
    let body = Body::Withdrawn(Withdrawn { entry: 1 });
    assert!(add(&mut m, Some("x"), None, because(draft(1.0, "Ana Ruiz", body), "why")).is_err());
    assert_eq!((m.streams[&batch()].len(), m.ids.len()), (1, 1));
}

#[test]
fn refuse_a_stream_that_does_not_verify() {
    let mut m = begun();
    let line = &mut m.streams.get_mut(&batch()).unwrap()[0].line;
    *line = line.replace("Beef", "Pork");
    let error = add(&mut m, None, None, draft(1.0, "Ana Ruiz", noted("x"))).unwrap_err();
    assert!(matches!(error, StoreError::Damaged(_)), "{error}");
}

#[test]
fn identity_rows_follow_each_entry_and_can_be_computed_anew() {
    let mut m = begun();
    add(&mut m, None, None, draft(1.0, "Ana Ruiz", noted("one"))).unwrap();
    assert_eq!(m.rows["2026-03-13-north-1"].entries, 2);
    assert_eq!(rows_of(&mut m).unwrap(), m.rows.values().cloned().collect::<Vec<_>>());
}

#[test]
fn refuse_names_of_streams_that_lead_elsewhere() {
    for bad in
        ["batch", "batch/", "/x", "batch/../x", "batch/.x", "batch/a b", "batch/ä", "a/b/c/d", "batch/a\\b"]
    {
        assert!(StreamName::parse(bad).is_err(), "{bad}");
    }
    assert_eq!(
        StreamName::library("product", "beef_strips").unwrap().as_str(),
        "library/product/beef_strips"
    );
    assert_eq!(batch().batch_id(), Some("2026-03-13-north-1"));
    for known in [StreamName::plant(), StreamName::audit()] {
        assert_eq!(StreamName::parse(known.as_str()), Ok(known.clone()));
    }
}

#[test]
fn identity_searching_goes_past_capitals_and_accents() {
    assert_eq!(folded("Piña ÑANDÚ Straße ﬁn"), folded("pina nandu straße fin"));
    let row = BatchRow::of("2026-03-13-north-1", &sample()).unwrap();
    let text = row.search_text();
    for word in ["beef", "l-0313", "r-7790", "bs6", "north-1"] {
        assert!(text.contains(word), "{word} in {text}");
    }
    let query = BatchQuery { words: " BEEF  Pi\u{f1}a ".into(), ..BatchQuery::default() };
    assert_eq!(query.folded_words(), ["beef", "pina"]);
}

/// The audit grows with every sign-in: adding to it must not read it. What comes of it is the same chain.
#[test]
fn identity_an_entry_that_stands_alone_needs_the_end_of_its_stream_only() {
    let mut m = Memory::default();
    let stream = StreamName::audit();
    let access = |n: u32| {
        let body = AuditBody::Access(Access {
            account: format!("ana-{n}"),
            device: String::new(),
            outcome: AccessOutcome::SignedIn,
        });
        let (zone, by) = ("America/Chicago".to_owned(), "Ana Ruiz".to_owned());
        Draft { at: minute(f64::from(n)), zone, by, reason: String::new(), body }
    };
    for n in 0..50 {
        append_to(&mut m, &stream, None, None, access(n)).unwrap();
    }
    assert_eq!(m.read, 0, "no line was read");
    let moved = append_to(&mut m, &stream, None, Some(3), access(9)).unwrap_err();
    assert!(
        matches!(moved, StoreError::Records(RecordsError::Moved { expected: 3, found: 50, .. })),
        "{moved}"
    );
    let nobody = Draft { by: String::new(), ..access(9) };
    assert!(append_to(&mut m, &stream, None, None, nobody).is_err());
    let kept = chain_of::<AuditBody>(&mut m, &stream).unwrap().unwrap();
    let mut whole = Chain::open(access(0)).unwrap();
    for n in 1..50 {
        whole.append(access(n)).unwrap();
    }
    assert_eq!(kept, whole, "the same lines as from the whole chain");
    // A batch record is read: its rules look at every entry before.
    append_to(&mut m, &batch(), None, None, draft(0.0, "Ana Ruiz", opened())).unwrap();
    let before = m.read;
    append_to(&mut m, &batch(), None, None, draft(1.0, "Ana Ruiz", noted("one"))).unwrap();
    assert!(m.read > before);
}
