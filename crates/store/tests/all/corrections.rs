//! Corrections and withdrawals: the old stays, the new counts.

use fallrate_store::*;
use proptest::prelude::*;

use crate::support::*;

fn correct(entry: u64, text: &str) -> Draft {
    let new = Box::new(noted(text));
    because(draft(100.0, "Ana Ruiz", Body::Corrected(Corrected { entry, new })), "read wrongly")
}

fn withdraw(entry: u64) -> Draft {
    because(draft(101.0, "Lee Park", Body::Withdrawn(Withdrawn { entry })), "entered twice")
}

/// Entry 1 opens, entry 2 is the note "one".
fn begun() -> Chain {
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    c.append(draft(1.0, "Ana Ruiz", noted("one"))).unwrap();
    c
}

fn texts(c: &Chain) -> Vec<String> {
    c.view().notes.into_iter().map(|n| n.value.text).collect()
}

/// proves: RECORD-E04
#[test]
fn identity_a_correction_and_its_correction() {
    let mut c = begun();
    c.append(correct(2, "two")).unwrap();
    assert_eq!(texts(&c), ["two"]);
    c.append(correct(3, "three")).unwrap();
    assert_eq!(texts(&c), ["three"]);
    let note = c.view().notes.remove(0);
    assert_eq!((note.entry, note.corrected_by, note.at), (2, Some(4), minute(1.0)));
    let history = c.view().history;
    let steps: Vec<_> = history.iter().map(|h| (h.entry, h.by_entry, h.how, h.undone)).collect();
    assert_eq!(steps, [(2, 3, Amendment::Corrected, false), (3, 4, Amendment::Corrected, false)]);
    let change = &history[1].changes[0];
    assert_eq!(change.path, "body.text");
    assert_eq!((change.old.as_deref(), change.new.as_deref()), (Some("\"two\""), Some("\"three\"")));
    assert_eq!((history[1].by.as_str(), history[1].reason.as_str()), ("Ana Ruiz", "read wrongly"));
}

#[test]
fn identity_a_withdrawal_takes_away_and_its_withdrawal_gives_back() {
    let mut c = begun();
    c.append(withdraw(2)).unwrap();
    assert!(texts(&c).is_empty());
    assert!(matches!(rule(c.append(correct(2, "two"))), Rule::IsWithdrawn { entry: 2 }));
    c.append(withdraw(3)).unwrap();
    assert_eq!(texts(&c), ["one"]);
    let history = c.view().history;
    assert_eq!((history[0].how, history[0].undone), (Amendment::Withdrawn, true));
    assert_eq!((history[1].how, history[1].undone), (Amendment::Restored, false));
    c.append(correct(2, "two")).unwrap();
    assert_eq!(texts(&c), ["two"]);
    // The correction is withdrawn: the first words stand again.
    c.append(withdraw(5)).unwrap();
    assert_eq!(texts(&c), ["one"]);
    assert!(c.view().history[2].undone);
}

#[test]
fn identity_withdrawing_the_latest_correction_leaves_the_one_before() {
    let mut c = begun();
    c.append(correct(2, "two")).unwrap();
    c.append(correct(2, "three")).unwrap();
    c.append(withdraw(4)).unwrap();
    assert_eq!(texts(&c), ["two"]);
}

fn rule(result: Result<&Entry, StoreError>) -> Rule {
    match result {
        Err(StoreError::Rule { rule, .. }) => rule,
        other => panic!("{other:?}"),
    }
}

#[test]
fn refuse_corrections_that_hide_or_mix() {
    let c = sample();
    let try_it = |d: Draft| rule(c.clone().append(d));
    let correct_with = |entry, new: Body| {
        because(draft(600.0, "Ana Ruiz", Body::Corrected(Corrected { entry, new: Box::new(new) })), "why")
    };
    let mut no_reason = correct(6, "x");
    no_reason.reason = "  ".into();
    assert!(matches!(try_it(no_reason), Rule::MissingText { what: "reason", .. }));
    let mut no_reason = withdraw(6);
    no_reason.reason = String::new();
    assert!(matches!(try_it(no_reason), Rule::MissingText { what: "reason", .. }));
    assert!(matches!(try_it(correct(99, "x")), Rule::NoSuchEntry { entry: 99, .. }));
    assert!(matches!(try_it(correct(0, "x")), Rule::NoSuchEntry { entry: 0, .. }));
    assert!(matches!(try_it(correct(3, "x")), Rule::OtherKind { found: "noted", allowed: "stated", .. }));
    // A correction of a correction keeps to the kind of the first entry.
    assert!(matches!(try_it(correct_with(15, tested(0.7, None))), Rule::OtherKind { allowed: "noted", .. }));
    // Verdicts and signatures are not reworded, and a verdict is not taken back.
    let kinds: Vec<_> = c.entries().iter().map(|e| std::mem::discriminant(&e.body)).collect();
    let judged_at =
        1 + kinds.iter().position(|k| *k == std::mem::discriminant(&c.entries()[9].body)).unwrap();
    assert!(matches!(c.entries()[judged_at - 1].body, Body::Judged(_)));
    let verdict = c.entries()[judged_at - 1].body.clone();
    assert!(matches!(try_it(correct_with(10, verdict)), Rule::Stays { kind: "judged", .. }));
    assert!(matches!(try_it(withdraw(10)), Rule::Stays { kind: "judged", .. }));
    assert!(matches!(try_it(withdraw(1)), Rule::Stays { kind: "opened", .. }));
    let signature = c.entries()[15].body.clone();
    assert!(matches!(try_it(correct_with(16, signature)), Rule::Stays { kind: "signed", .. }));
    // A record stays in its world.
    let other = Body::Opened(Box::new(identity(RecordRealm::Demo)));
    assert!(matches!(try_it(correct_with(1, other)), Rule::RealmChanged { .. }));
    // The bytes of a kept file are not exchanged under its name; its mapping may be corrected.
    let other = Body::FileKept(Box::new(file("north.csv", b"other bytes")));
    assert!(matches!(try_it(correct_with(4, other)), Rule::FileChanged { entry: 4 }));
    let mut same = file("north.csv", b"t,T2\n0,60\n");
    same.mapping = Some("[columns]\ncore = \"T3\"\n".into());
    c.clone().append(correct_with(4, Body::FileKept(Box::new(same)))).unwrap();
}

#[derive(Clone, Debug)]
enum Act {
    Note(String),
    Correct(usize, String),
    Withdraw(usize),
}

fn acts() -> impl Strategy<Value = Vec<Act>> {
    let act = prop_oneof![
        "[a-z]{1,6}".prop_map(Act::Note),
        (any::<usize>(), "[a-z]{1,6}").prop_map(|(n, t)| Act::Correct(n, t)),
        any::<usize>().prop_map(Act::Withdraw),
    ];
    prop::collection::vec(act, 1..24)
}

proptest! {
    /// Whatever is entered, corrected and undone: the earlier bytes stay, and the notes are those of a plain
    /// re-enactment that keeps, for every note, a stack of words and a switch for every entry.
    #[test]
    fn identity_nothing_entered_is_ever_changed(acts in acts()) {
        let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
        let mut log: Vec<Act> = vec![];
        for act in acts {
            let before = c.to_jsonl();
            let next = log.len() + 2;
            let body = match act.clone() {
                Act::Note(t) => noted(&t),
                Act::Correct(n, t) =>
                    Body::Corrected(Corrected { entry: (n % next) as u64, new: Box::new(noted(&t)) }),
                Act::Withdraw(n) => Body::Withdrawn(Withdrawn { entry: (n % next) as u64 }),
            };
            let added = c.append(because(draft(1.0, "Ana Ruiz", body), "why")).is_ok();
            let after = c.to_jsonl();
            prop_assert!(after.starts_with(&before));
            prop_assert_eq!(added, after.len() > before.len());
            if added {
                log.push(match act {
                    Act::Correct(n, t) => Act::Correct(n % next, t),
                    Act::Withdraw(n) => Act::Withdraw(n % next),
                    note @ Act::Note(_) => note,
                });
            }
        }
        prop_assert_eq!(texts(&c), re_enacted(&log));
        prop_assert_eq!(c.view(), Chain::<Body>::parse(c.to_jsonl().as_bytes()).unwrap().view());
    }
}

/// The notes that stand, found by asking each entry in turn. `log[i]` is entry `i + 2`.
fn re_enacted(log: &[Act]) -> Vec<String> {
    fn stands(log: &[Act], n: usize) -> bool {
        !(0..log.len()).any(|i| matches!(log[i], Act::Withdraw(t) if t == n) && stands(log, i + 2))
    }
    fn root(log: &[Act], n: usize) -> usize {
        match log[n - 2] {
            Act::Correct(t, _) => root(log, t),
            _ => n,
        }
    }
    let notes = (0..log.len()).filter_map(|i| match &log[i] {
        Act::Note(t) if stands(log, i + 2) => Some((i + 2, t)),
        _ => None,
    });
    notes
        .map(|(n, first)| {
            let mut corrections = (0..log.len()).filter_map(|i| match &log[i] {
                Act::Correct(_, t) if root(log, i + 2) == n && stands(log, i + 2) => Some(t.clone()),
                _ => None,
            });
            corrections.next_back().unwrap_or_else(|| first.clone())
        })
        .collect()
}
