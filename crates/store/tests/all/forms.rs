//! Records of other versions of the program.

use fallrate_store::*;

use crate::support::*;

/// Seals a line as a later version of the program would.
fn add_line(text: &mut String, kind: &str, body: &str, more: &str) {
    let chain = Chain::<Body>::parse(text.as_bytes()).unwrap();
    let line = format!(
        "{{\"n\":{},\"at\":\"2027-01-01T00:00:00Z\",\"zone\":\"America/Chicago\",\"by\":\"Ana Ruiz\",\"reason\":\"\",\
         \"kind\":\"{kind}\",\"body\":{body}{more},\"previous\":\"{}\"",
        chain.last_n() + 1,
        chain.head()
    );
    let hash = Digest::of(format!("{line}}}").as_bytes());
    text.push_str(&format!("{line},\"hash\":\"{hash}\"}}\n"));
}

#[test]
fn identity_unknown_kinds_and_fields_verify_and_are_shown() {
    let mut text = sample().to_jsonl();
    add_line(&mut text, "smelled", r#"{"of":["smoke",1.50]}"#, "");
    add_line(&mut text, "noted", r#"{"text":"x","happened":null,"mood":"calm"}"#, "");
    let deep = r#"{"what":"ph","value":5.6,"tolerance":null,"sample":"s","instrument":"i","calibrated_on":null,"happened":null}"#;
    add_line(&mut text, "tested", deep, ",\"channel\":\"radio\"");
    let v = verify("record.jsonl", text.as_bytes(), &sample_files, None);
    assert!(v.is_intact(), "{:?}", v.problems);
    let notes: Vec<_> = v.notes.iter().map(|n| (n.line, n.kind.clone())).collect();
    assert!(
        matches!(&notes[..], [
        (19, NoteKind::Unknown { kind: a, .. }),
        (20, NoteKind::Unknown { kind: b, .. }),
        (21, NoteKind::UnknownField { name: c }),
    ] if (a.as_str(), b.as_str(), c.as_str()) == ("smelled", "noted", "channel")),
        "{notes:?}"
    );
    let chain = Chain::<Body>::parse(text.as_bytes()).unwrap();
    assert_eq!(chain.to_jsonl(), text);
    let view = chain.view();
    let unknown: Vec<_> = view.unknown.iter().map(|u| (u.entry, u.value.json.as_str())).collect();
    assert_eq!(unknown[0], (19, r#"{"of":["smoke",1.50]}"#));
    assert_eq!(unknown[1].0, 20);
    assert_eq!(view.tests.len(), 2);
}

#[test]
fn identity_a_field_added_deep_inside_is_not_dropped() {
    let Body::Stated(f) = stated(facts()) else { unreachable!() };
    let mut json = serde_json::to_value(&*f).unwrap();
    json["lot"]["smell_of_smoke"] = serde_json::json!(0.5);
    let mut text = sample().to_jsonl();
    add_line(&mut text, "stated", &json.to_string(), "");
    let view = Chain::<Body>::parse(text.as_bytes()).unwrap().view();
    assert_eq!((view.unknown[0].entry, view.facts.unwrap().entry), (19, 3));
    assert!(view.unknown[0].value.why.contains("lot.smell_of_smoke"), "{}", view.unknown[0].value.why);
    // One that says nothing is no loss.
    json["lot"]["smell_of_smoke"] = serde_json::Value::Null;
    let mut text = sample().to_jsonl();
    add_line(&mut text, "stated", &json.to_string(), "");
    assert_eq!(Chain::<Body>::parse(text.as_bytes()).unwrap().view().facts.unwrap().entry, 19);
}

#[test]
fn refuse_judging_reviewing_and_releasing_over_what_cannot_be_read() {
    let mut text = sample().to_jsonl();
    add_line(&mut text, "smelled", "{}", "");
    let mut chain = Chain::<Body>::parse(text.as_bytes()).unwrap();
    let bodies = [
        judged(fallrate_lethality::Answer::Met, &[]),
        signed(&chain, "Lee Park", SignatureMeaning::Reviewed, None),
        signed(&chain, "Lee Park", SignatureMeaning::Released, None),
    ];
    for body in bodies {
        let error = chain.append(draft(600.0, "Lee Park", body)).unwrap_err();
        assert!(matches!(error, StoreError::Rule { rule: Rule::Unreadable { entry: 19 }, .. }), "{error}");
    }
    // Everything else may be entered, but what cannot be read cannot be taken back.
    chain.append(draft(600.0, "Lee Park", noted("still here"))).unwrap();
    let d = because(draft(601.0, "Lee Park", Body::Withdrawn(Withdrawn { entry: 19 })), "why");
    assert!(chain.append(d).is_err());
}

#[test]
fn identity_a_clock_that_went_back_is_noted() {
    let mut c = sample();
    c.append(draft(501.5, "Ana Ruiz", noted("clock set back"))).unwrap();
    let v = verify("record.jsonl", c.to_jsonl().as_bytes(), &sample_files, None);
    assert!(v.is_intact());
    assert_eq!(v.notes, [Note { line: 19, kind: NoteKind::ClockWentBack { by_s: 30.0 } }]);
}

/// A record of the first form of this program, as it was written then: it must verify and be read for ever.
#[test]
fn bug_form_1_stays_readable() {
    let bytes = include_bytes!("../../../../reference/records/form_1.jsonl");
    let v = verify("form_1.jsonl", bytes, &sample_files, None);
    assert!(v.is_intact(), "{:?}", v.problems);
    assert!(v.notes.is_empty(), "{:?}", v.notes);
    // The head by reference/scripts/verify_record.py, which shares nothing with this program.
    let by_script = include_str!("../../../../reference/records/form_1.verified.txt");
    assert_eq!(by_script, format!("18 lines, intact, head {}\n", v.head.unwrap()));
    let view = Chain::<Body>::parse(bytes).unwrap().view();
    assert!(view.unknown.is_empty());
    assert_eq!(view.notes[0].value.text, "tray 9 turned");
    assert_eq!(view.facts.as_ref().unwrap().value.product_met_heat, Some(minute(5.0)));
    assert!(view.signature(SignatureMeaning::Released).unwrap().nothing_after());
}
