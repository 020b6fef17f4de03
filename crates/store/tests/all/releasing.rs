//! Signatures, reviews and releases.

use fallrate_lethality::Answer;
use fallrate_store::*;

use crate::support::*;
use SignatureMeaning::{Monitored, Released, Reviewed};

fn rule(result: Result<&Entry, StoreError>) -> Rule {
    match result {
        Err(StoreError::Rule { rule, .. }) => rule,
        other => panic!("{other:?}"),
    }
}

/// Opened, claimed, stated and judged by Ana Ruiz.
fn judged_as(answer: Answer, deviations: &[&str]) -> Chain {
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    for body in [claimed(), stated(facts()), judged(answer, deviations)] {
        c.append(draft(1.0, "Ana Ruiz", body)).unwrap();
    }
    c
}

fn sign(c: &mut Chain, by: &str, meaning: SignatureMeaning, same: Option<&str>) -> Result<(), Rule> {
    let body = signed(c, by, meaning, same);
    match c.append(draft(500.0, by, body)) {
        Ok(_) => Ok(()),
        Err(StoreError::Rule { rule, .. }) => Err(rule),
        Err(other) => panic!("{other}"),
    }
}

fn act(c: &mut Chain, deviation: &str, end: Disposition) {
    use ActionPart::{Cause, Control, Disposition as End, Prevention};
    for (part, disposition) in [(Cause, None), (Control, None), (Prevention, None), (End, Some(end))] {
        c.append(draft(450.0, "Ana Ruiz", action(deviation, part, disposition))).unwrap();
    }
}

/// proves: RECORD-H12
#[test]
fn identity_a_met_lot_is_reviewed_by_another_person_and_released() {
    let mut c = judged_as(Answer::Met, &[]);
    assert_eq!(sign(&mut c, "Lee Park", Released, None), Err(Rule::NotReviewed));
    sign(&mut c, "Lee Park", Reviewed, None).unwrap();
    assert!(c.view().pre_shipment().may_ship());
    sign(&mut c, "Lee Park", Released, None).unwrap();
    let v = c.view();
    let review = v.signature(Reviewed).unwrap();
    assert!(review.nothing_after());
    assert_eq!((review.covers, review.kept.value.head), (4, c.entries()[3].hash));
    assert_eq!(v.signature(Released).unwrap().covers, 5);
}

/// proves: RECORD-H12
#[test]
fn refuse_a_review_by_the_person_who_made_entries_without_a_reason() {
    let mut c = judged_as(Answer::Met, &[]);
    // Capitals and blanks make no other person.
    for name in ["Ana Ruiz", "ana  ruiz", " ANA RUIZ "] {
        let found = sign(&mut c, name, Reviewed, None);
        assert!(matches!(found, Err(Rule::SamePerson { entry: 1, .. })), "{name}: {found:?}");
        assert!(sign(&mut c, name, Reviewed, Some("  ")).is_err());
    }
    sign(&mut c, "Ana Ruiz", Monitored, None).unwrap();
    sign(&mut c, "Ana Ruiz", Reviewed, Some("works alone")).unwrap();
    sign(&mut c, "Ana Ruiz", Released, None).unwrap();
    let reason = c.view().signature(Reviewed).unwrap().kept.value.same_person_reason.clone();
    assert_eq!(reason.as_deref(), Some("works alone"));
}

/// proves: RECORD-E08
#[test]
fn refuse_signatures_over_something_else_or_for_another() {
    let mut c = judged_as(Answer::Met, &[]);
    let seen = signed(&c, "Lee Park", Reviewed, None);
    c.append(draft(400.0, "Ana Ruiz", noted("one thing more"))).unwrap();
    assert!(matches!(rule(c.append(draft(500.0, "Lee Park", seen))), Rule::SignedAnotherHead { .. }));
    let for_another = signed(&c, "Lee Park", Reviewed, None);
    assert!(matches!(rule(c.append(draft(500.0, "Ana Ruiz", for_another))), Rule::SignedForAnother { .. }));
}

/// proves: RECORD-H12
#[test]
fn refuse_a_release_after_anything_was_entered_since_the_review() {
    let later = [
        (noted("late note"), ""),
        (stated(facts()), ""),
        (Body::Corrected(Corrected { entry: 3, new: Box::new(stated(facts())) }), "why"),
        (Body::Withdrawn(Withdrawn { entry: 3 }), "why"),
    ];
    for (body, reason) in later {
        let mut c = judged_as(Answer::Met, &[]);
        sign(&mut c, "Lee Park", Reviewed, None).unwrap();
        c.append(because(draft(510.0, "Ana Ruiz", body), reason)).unwrap();
        let found = sign(&mut c, "Lee Park", Released, None);
        let n = c.last_n();
        assert!(
            matches!(found, Err(Rule::EnteredAfterReview { entry } | Rule::VerdictOutdated { entry, .. }) if entry == n),
            "{found:?}"
        );
        let view = c.view();
        assert!(!view.signature(Reviewed).unwrap().nothing_after());
    }
    // Printing and further signatures do not stand in the way; a review that is withdrawn does.
    let mut c = judged_as(Answer::Met, &[]);
    sign(&mut c, "Lee Park", Reviewed, None).unwrap();
    let printed = Printed { language: "es".into(), form: PrintForm::Html, sha256: Digest::of(b"p") };
    c.append(draft(501.0, "Ana Ruiz", Body::Printed(printed))).unwrap();
    sign(&mut c, "Ana Ruiz", Monitored, None).unwrap();
    let mut taken_back = c.clone();
    let withdrawn = Body::Withdrawn(Withdrawn { entry: 5 });
    taken_back.append(because(draft(502.0, "Lee Park", withdrawn), "wrong lot")).unwrap();
    assert_eq!(sign(&mut taken_back, "Lee Park", Released, None), Err(Rule::NotReviewed));
    sign(&mut c, "Lee Park", Released, None).unwrap();
}

/// proves: RECORD-H12, RECORD-H04
#[test]
fn refuse_a_release_of_a_lot_that_is_not_met_without_a_whole_corrective_action() {
    for answer in [Answer::NotMet, Answer::CannotBeJudged] {
        let mut c = judged_as(answer, &[]);
        sign(&mut c, "Lee Park", Reviewed, None).unwrap();
        let found = sign(&mut c, "Lee Park", Released, None);
        let open = |d: &str| d == CRITERION;
        assert!(
            matches!(&found, Err(Rule::ActionOpen { deviation, part: ActionPart::Cause, .. }) if open(deviation))
        );
        assert!(!c.view().pre_shipment().may_ship());

        let mut held = c.clone();
        act(&mut held, CRITERION, Disposition::Destroy);
        sign(&mut held, "Lee Park", Reviewed, None).unwrap();
        let found = sign(&mut held, "Lee Park", Released, None);
        assert!(matches!(found, Err(Rule::DispositionForbids { found: Disposition::Destroy, .. })));

        act(&mut c, CRITERION, Disposition::Release);
        sign(&mut c, "Lee Park", Reviewed, None).unwrap();
        assert!(c.view().pre_shipment().may_ship());
        sign(&mut c, "Lee Park", Released, None).unwrap();
    }
}

/// proves: RECORD-H04
#[test]
fn refuse_a_release_while_a_missed_limit_has_no_corrective_action_though_the_criterion_is_met() {
    let mut c = judged_as(Answer::Met, &["CCP 1"]);
    sign(&mut c, "Lee Park", Reviewed, None).unwrap();
    let parts = [ActionPart::Cause, ActionPart::Control, ActionPart::Prevention];
    for (i, part) in parts.into_iter().enumerate() {
        let found = sign(&mut c, "Lee Park", Released, None);
        assert!(matches!(found, Err(Rule::ActionOpen { part, .. }) if part == parts[i]), "{found:?}");
        c.append(draft(450.0, "Ana Ruiz", action("CCP 1", part, None))).unwrap();
        sign(&mut c, "Lee Park", Reviewed, None).unwrap();
    }
    let found = sign(&mut c, "Lee Park", Released, None);
    assert!(matches!(found, Err(Rule::ActionOpen { part: ActionPart::Disposition, .. })));
    let end = action("CCP 1", ActionPart::Disposition, Some(Disposition::Release));
    c.append(draft(451.0, "Ana Ruiz", end)).unwrap();
    sign(&mut c, "Lee Park", Reviewed, None).unwrap();
    sign(&mut c, "Lee Park", Released, None).unwrap();
    assert!(c.view().deviations[0].action.is_complete());
}

#[test]
fn refuse_a_release_on_a_verdict_that_is_older_than_the_evidence() {
    let mut c = judged_as(Answer::Met, &[]);
    c.append(draft(2.0, "Ana Ruiz", tested(0.95, Some(0.01)))).unwrap();
    sign(&mut c, "Lee Park", Reviewed, None).unwrap();
    let found = sign(&mut c, "Lee Park", Released, None);
    assert_eq!(found, Err(Rule::VerdictOutdated { verdict: 4, entry: 5 }));
    assert!(!c.view().pre_shipment().may_ship());
    // Judged again: the earlier verdict stays, the later one counts.
    c.append(draft(3.0, "Ana Ruiz", judged(Answer::NotMet, &[]))).unwrap();
    let v = c.view();
    assert_eq!((v.verdicts.len(), v.answer(), v.verdict_outdated_by()), (2, Some(Answer::NotMet), None));
    sign(&mut c, "Lee Park", Reviewed, None).unwrap();
    assert!(matches!(sign(&mut c, "Lee Park", Released, None), Err(Rule::ActionOpen { .. })));
}

#[test]
fn refuse_a_release_without_a_verdict_unless_the_claim_says_why() {
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    c.append(draft(1.0, "Ana Ruiz", claimed())).unwrap();
    sign(&mut c, "Lee Park", Reviewed, None).unwrap();
    assert_eq!(sign(&mut c, "Lee Park", Released, None), Err(Rule::NoVerdict));

    let Body::Claimed(mut nothing) = claimed() else { unreachable!() };
    nothing.claim.document = None;
    nothing.no_criterion = Some("fruit, no kill step".into());
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    c.append(draft(1.0, "Ana Ruiz", Body::Claimed(nothing))).unwrap();
    sign(&mut c, "Lee Park", Reviewed, None).unwrap();
    sign(&mut c, "Lee Park", Released, None).unwrap();
}

/// proves: RECORD-E07
#[test]
fn identity_a_signature_says_what_was_corrected_and_what_was_added_after_it() {
    let mut c = sample();
    let correction = Corrected { entry: 3, new: Box::new(stated(facts())) };
    c.append(because(draft(600.0, "Ana Ruiz", Body::Corrected(correction)), "typed wrongly")).unwrap();
    c.append(draft(601.0, "Ana Ruiz", noted("afterwards"))).unwrap();
    let v = c.view();
    let review = v.signature(Reviewed).unwrap();
    assert_eq!((review.corrected_after.clone(), review.added_after.clone()), (vec![19], vec![20]));
    assert_eq!((review.kept.value.name.as_str(), review.kept.at), ("Lee Park", minute(500.0)));
    assert_eq!(review.kept.value.meaning, Reviewed);
    let row = BatchRow::of("b", &c).unwrap();
    assert!(row.changed_after_signing && row.is_released() && row.verdict_outdated);
}

#[test]
fn identity_a_waiting_lot_is_not_released_and_needs_no_corrective_action() {
    let waiting = {
        use fallrate_lethality::{Case, judge};
        use fallrate_series::{Log, Proof};
        let case = Case { claim: claim(), facts: facts() };
        let verdict = judge(&Log::<Proof>::new("America/Chicago"), &case).unwrap();
        let as_published = JudgedWith { other_claim: false, ..with(Answer::Met, &[]) };
        Judged::measured(&verdict, as_published).unwrap()
    };
    // The lot's answer is never better than the verdict's own.
    assert_eq!(waiting.answer(), Answer::CannotBeJudged);
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    let is_waiting = waiting.waiting();
    c.append(draft(1.0, "Ana Ruiz", Body::Judged(Box::new(waiting)))).unwrap();
    assert_eq!(c.view().deviations.is_empty(), is_waiting);
    sign(&mut c, "Lee Park", Reviewed, None).unwrap();
    let found = sign(&mut c, "Lee Park", Released, None);
    assert!(matches!(found, Err(Rule::Waiting | Rule::ActionOpen { .. })), "{found:?}");
}
