//! What may be entered when.

use fallrate_lethality::Answer;
use fallrate_store::*;

use crate::support::*;

fn rule(result: Result<&Entry, StoreError>) -> Rule {
    match result {
        Err(StoreError::Rule { rule, .. }) => rule,
        other => panic!("{other:?}"),
    }
}

fn opening(change: impl Fn(&mut Identity)) -> Result<Chain, StoreError> {
    let mut i = identity(RecordRealm::Proof);
    change(&mut i);
    Chain::open(draft(0.0, "Ana Ruiz", Body::Opened(Box::new(i))))
}

#[test]
fn refuse_records_that_do_not_say_what_they_are_about() {
    assert!(opening(|_| {}).is_ok());
    type Change = fn(&mut Identity);
    let blanks: [Change; 6] = [
        |i| i.establishment = " ".into(),
        |i| i.place = String::new(),
        |i| i.product = String::new(),
        |i| i.lot = "\t".into(),
        |i| i.cabinet = String::new(),
        |i| i.program_version = String::new(),
    ];
    for blank in blanks {
        let error = opening(blank).unwrap_err();
        assert!(matches!(error, StoreError::Rule { n: 1, rule: Rule::MissingText { .. } }), "{error}");
    }
    for kg in [0.0, -1.0, 2e6] {
        let error = opening(|i| i.quantity_kg = kg).unwrap_err();
        assert!(matches!(error, StoreError::Rule { rule: Rule::OutOfRange { .. }, .. }), "{error}");
    }
}

/// proves: RECORD-H11, RECORD-P13
#[test]
fn refuse_entries_without_a_person_or_a_zone() {
    let mut c = sample();
    assert!(matches!(rule(c.append(draft(1.0, "  ", noted("x")))), Rule::MissingText { what: "person", .. }));
    for zone in ["", "Chicago", "America/Nowhere", "UTC-6"] {
        let mut d = draft(1.0, "Ana Ruiz", noted("x"));
        d.zone = zone.into();
        assert!(matches!(rule(c.append(d)), Rule::Zone { .. }), "{zone}");
    }
    let mut d = draft(1.0, "Ana Ruiz", noted("x"));
    d.zone = "UTC".into();
    c.append(d).unwrap();
}

#[test]
fn refuse_a_first_entry_that_does_not_open_and_a_second_opening() {
    let first = Chain::open(draft(0.0, "Ana Ruiz", noted("x"))).unwrap_err();
    assert!(matches!(first, StoreError::Rule { n: 1, rule: Rule::NotOpened }));
    assert!(matches!(rule(sample().append(draft(0.0, "Ana Ruiz", opened()))), Rule::OpenedTwice));
}

#[test]
fn refuse_claims_with_a_time_of_their_own_or_of_nothing() {
    let claim_with = |change: fn(&mut Claimed)| {
        let Body::Claimed(mut c) = claimed() else { unreachable!() };
        change(&mut c);
        let mut chain = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
        chain.append(draft(1.0, "Ana Ruiz", Body::Claimed(c))).map(|_| ())
    };
    let broken = |r: Result<(), StoreError>| match r {
        Err(StoreError::Rule { rule, .. }) => rule,
        other => panic!("{other:?}"),
    };
    assert!(claim_with(|_| {}).is_ok());
    assert!(matches!(broken(claim_with(|c| c.claim.claimed_at = Some(minute(0.0)))), Rule::ClaimTimeGiven));
    assert!(matches!(broken(claim_with(|c| c.claim.document = None)), Rule::NothingClaimed));
    let reason: fn(&mut Claimed) = |c| {
        c.claim.document = None;
        c.no_criterion = Some("fruit, no kill step".into());
    };
    assert!(claim_with(reason).is_ok());
}

#[test]
fn refuse_file_names_that_lead_elsewhere_or_collide() {
    let c = sample();
    let keep = |name: &str, bytes: &[u8]| {
        c.clone().append(draft(600.0, "Ana Ruiz", Body::FileKept(Box::new(file(name, bytes))))).map(|_| ())
    };
    for bad in
        ["", ".", "..", "../x", "a/b", "a\\b", "record.jsonl", "Record.JSONL", " x", "a\nb", ".hidden", "c:x"]
    {
        assert!(
            matches!(keep(bad, b"1"), Err(StoreError::Rule { rule: Rule::FileName { .. }, .. })),
            "{bad}"
        );
        assert!(!is_file_name(bad));
    }
    for same in ["north.csv", "NORTH.CSV"] {
        let error = keep(same, b"other").unwrap_err();
        assert!(matches!(error, StoreError::Rule { rule: Rule::FileNameTaken { .. }, .. }), "{error}");
    }
    keep("north.csv", b"t,T2\n0,60\n").unwrap();
    keep("norte mañana.csv", b"other").unwrap();
}

#[test]
fn refuse_results_that_cannot_be() {
    let mut c = sample();
    for (value, tolerance) in [(1.2, None), (-0.1, None), (0.8, Some(-0.01))] {
        let d = draft(600.0, "Ana Ruiz", tested(value, tolerance));
        assert!(matches!(rule(c.append(d)), Rule::OutOfRange { .. }), "{value}");
    }
    let cut = |until: f64| {
        Body::Interrupted(Interrupted {
            kind: fallrate_series::EventKind::DoorOpen,
            from: minute(50.0),
            until: Some(minute(until)),
            note: String::new(),
        })
    };
    assert!(
        matches!(rule(c.append(draft(600.0, "Ana Ruiz", cut(49.0)))), Rule::Reversed { by_s } if by_s == 60.0)
    );
    c.append(draft(600.0, "Ana Ruiz", cut(50.0))).unwrap();
}

/// proves: RECORD-H04
#[test]
fn refuse_a_disposition_without_the_quantity_held_and_a_quantity_elsewhere() {
    let mut c = sample();
    let mut bad = |part, disposition: Option<Disposition>, kg: Option<f64>| {
        let body = ActionTaken {
            deviation: "lethality CCP 1".into(),
            part,
            text: "done".into(),
            quantity_held_kg: kg,
            disposition,
            happened: None,
        };
        c.append(draft(600.0, "Ana Ruiz", Body::ActionTaken(Box::new(body)))).map(|_| ())
    };
    use ActionPart::{Cause, Disposition as End};
    assert!(bad(End, Some(Disposition::Destroy), None).is_err());
    assert!(bad(End, None, Some(3.0)).is_err());
    assert!(bad(Cause, Some(Disposition::Destroy), Some(3.0)).is_err());
    assert!(bad(End, Some(Disposition::Destroy), Some(f64::NAN)).is_err());
    assert!(bad(End, Some(Disposition::Destroy), Some(0.0)).is_ok());
    // What is held may be said with any part.
    assert!(bad(Cause, None, Some(3.0)).is_ok());
}

#[test]
fn refuse_a_verdict_of_another_world() {
    for realm in RecordRealm::ALL {
        let mut c = Chain::open(draft(0.0, "Ana Ruiz", Body::Opened(Box::new(identity(realm))))).unwrap();
        let proof = c.clone().append(draft(9.0, "Ana Ruiz", judged(Answer::Met, &[]))).is_ok();
        let practice = c.append(draft(9.0, "Ana Ruiz", practised(Answer::Met))).is_ok();
        assert_eq!((proof, practice), (realm == RecordRealm::Proof, realm != RecordRealm::Proof), "{realm}");
    }
}

#[test]
fn identity_a_forged_verdict_of_another_world_is_found_by_verifying() {
    // The two records are written by the program; a forger puts the verdict of one into the other and seals it anew.
    let proof = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    let mut practice =
        Chain::open(draft(0.0, "Ana Ruiz", Body::Opened(Box::new(identity(RecordRealm::Rehearsal)))))
            .unwrap();
    practice.append(draft(9.0, "Ana Ruiz", practised(Answer::Met))).unwrap();
    let (before, _) = practice.lines()[1].rsplit_once(",\"previous\":").unwrap();
    let unsealed = format!("{before},\"previous\":\"{}\"", proof.head());
    let hash = Digest::of(format!("{unsealed}}}").as_bytes());
    let text = format!("{}{unsealed},\"hash\":\"{hash}\"}}\n", proof.to_jsonl());
    let v = verify("record.jsonl", text.as_bytes(), &|_| None, None);
    assert!(matches!(
        v.problems[..],
        [Problem { line: 2, kind: ProblemKind::Rule(Rule::VerdictOfAnotherRealm { .. }), .. }]
    ));
    assert!(Chain::<Body>::parse(text.as_bytes()).is_err());
}
