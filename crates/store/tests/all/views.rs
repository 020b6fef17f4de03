//! What stands in a record, as a whole.

use fallrate_lethality::Answer;
use fallrate_store::*;

use crate::support::*;

/// proves: RECORD-H10, RECORD-P13
#[test]
fn identity_the_sample_says_everything_that_was_entered() {
    let v = sample().view();
    assert_eq!(v.identity.unwrap().value, identity(RecordRealm::Proof));
    assert_eq!(v.facts.unwrap().value, facts());
    assert_eq!(v.files[0].value.name, "north.csv");
    assert_eq!(v.readings.len(), 1);
    assert_eq!((v.notes[0].value.text.as_str(), v.notes[0].corrected_by), ("tray 9 turned", Some(15)));
    assert_eq!(v.interruptions[0].value.until, Some(minute(90.0)));
    assert!(v.suspect_answers[0].value.counts);
    assert_eq!(v.tests[0].value.value, 0.78);
    assert_eq!((v.verdicts.len(), v.printed.len(), v.signatures.len()), (1, 1, 2));
    let d = &v.deviations[0];
    assert_eq!(
        (d.name.as_str(), d.in_latest_verdict, d.quantity_held_kg),
        ("lethality CCP 1", true, Some(22.0))
    );
    assert_eq!(d.disposition, Some(Disposition::Release));
    assert_eq!(d.action.cause.as_ref().unwrap().by, "Ana Ruiz");
}

/// proves: RECORD-H11
#[test]
fn identity_entries_made_late_say_so_and_keep_both_times() {
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    for (made, happened) in [(20.0, 5.0), (21.0, 5.0), (22.0, 21.9)] {
        let note = Noted { text: "door open".into(), happened: Some(minute(happened)) };
        c.append(draft(made, "Ana Ruiz", Body::Noted(note))).unwrap();
    }
    let v = c.view();
    assert_eq!(v.notes.iter().map(|n| n.late).collect::<Vec<_>>(), [false, true, false]);
    assert_eq!(c.entries()[2].is_late(), v.notes[1].late);
    assert_eq!((v.notes[1].at, v.notes[1].value.happened), (minute(21.0), Some(minute(5.0))));
}

#[test]
fn identity_a_claim_after_the_product_met_heat_is_taken_and_visible() {
    // The product met heat at minute 5.
    for (made, late) in [(1.0, false), (5.0, false), (6.0, true)] {
        let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
        c.append(draft(made, "Ana Ruiz", claimed())).unwrap();
        assert_eq!(c.view().claim.unwrap().after_heat, None);
        c.append(draft(6.0, "Ana Ruiz", stated(facts()))).unwrap();
        let claim = c.view().claim.unwrap();
        assert_eq!((claim.claimed_at, claim.after_heat), (minute(made), Some(late)));
        assert_eq!(c.view().case().unwrap().claim.claimed_at, Some(minute(made)));
    }
}

#[test]
fn identity_choosing_among_claims_afterwards_is_a_late_claim() {
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    c.append(draft(1.0, "Ana Ruiz", claimed())).unwrap();
    c.append(draft(2.0, "Ana Ruiz", claimed())).unwrap();
    c.append(draft(3.0, "Ana Ruiz", stated(facts()))).unwrap();
    assert_eq!(c.view().claim.unwrap().after_heat, Some(false));
    // Withdrawing the second when the outcome is known chooses the first at that moment.
    let withdrawn = Body::Withdrawn(Withdrawn { entry: 3 });
    c.append(because(draft(300.0, "Ana Ruiz", withdrawn), "the other one")).unwrap();
    let claim = c.view().claim.unwrap();
    assert_eq!((claim.kept.entry, claim.claimed_at, claim.after_heat), (2, minute(300.0), Some(true)));
    // So does correcting it, and taking the withdrawal back.
    let mut corrected = c.clone();
    let correction = Corrected { entry: 2, new: Box::new(claimed()) };
    corrected.append(because(draft(310.0, "Ana Ruiz", Body::Corrected(correction)), "why")).unwrap();
    assert_eq!(corrected.view().claim.unwrap().claimed_at, minute(310.0));
    let back = Body::Withdrawn(Withdrawn { entry: 5 });
    c.append(because(draft(320.0, "Ana Ruiz", back), "why")).unwrap();
    let claim = c.view().claim.unwrap();
    assert_eq!((claim.kept.entry, claim.claimed_at), (3, minute(320.0)));
}

#[test]
fn identity_facts_stated_again_say_what_changed() {
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    c.append(draft(1.0, "Ana Ruiz", stated(facts()))).unwrap();
    let mut second = facts();
    second.fat_percent = Some(8.0);
    second.required_positions.push("front left".into());
    c.append(draft(2.0, "Lee Park", stated(second.clone()))).unwrap();
    let v = c.view();
    assert_eq!(v.facts.unwrap().value, second);
    let [change] = &v.facts_changes[..] else { panic!("{:?}", v.facts_changes) };
    assert_eq!((change.entry, change.by.as_str()), (3, "Lee Park"));
    let paths: Vec<_> =
        change.changes.iter().map(|c| (c.path.as_str(), c.old.as_deref(), c.new.as_deref())).collect();
    assert_eq!(
        paths,
        [("fat_percent", Some("null"), Some("8.0")), ("required_positions[1]", None, Some("\"front left\"")),]
    );
}

#[test]
fn identity_the_highest_water_activity_counts_and_one_without_a_tolerance_spoils_it() {
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    c.append(draft(1.0, "Ana Ruiz", claimed())).unwrap();
    let mut f = facts();
    f.lot.water_activity = Some(0.70);
    f.lot.water_activity_tolerance = Some(0.02);
    c.append(draft(2.0, "Ana Ruiz", stated(f))).unwrap();
    let lot = |c: &Chain| {
        let l = c.view().case().unwrap().facts.lot;
        (l.water_activity, l.water_activity_tolerance)
    };
    assert_eq!(lot(&c), (Some(0.70), Some(0.02)));
    c.append(draft(3.0, "Ana Ruiz", tested(0.78, Some(0.01)))).unwrap();
    // The larger tolerance of all is the safe one.
    assert_eq!(lot(&c), (Some(0.78), Some(0.02)));
    c.append(draft(4.0, "Ana Ruiz", tested(0.60, None))).unwrap();
    assert_eq!(lot(&c), (Some(0.78), None));
}

/// proves: RECORD-H14, RECORD-P15, RECORD-P08
#[test]
fn identity_keeping_and_review_have_their_days() {
    let v = sample().view();
    // The last entry about the batch was made on 13 March 2026 in Chicago; jerky is shelf-stable: two years.
    assert_eq!(v.keep_until().unwrap().to_string(), "2028-03-13");
    // 13 March 2026 is a Friday: the seventh working day after it is Tuesday the 24th.
    assert_eq!(v.review_due().unwrap().to_string(), "2026-03-24");
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    assert_eq!(c.view().review_due(), None);
    c.append(draft(60.0 * 24.0 * 20.0, "Ana Ruiz", noted("found in a drawer"))).unwrap();
    assert_eq!(c.view().keep_until().unwrap().to_string(), "2028-04-02");
}

#[test]
fn identity_deviations_of_an_earlier_verdict_are_shown_apart() {
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    c.append(draft(1.0, "Ana Ruiz", judged(Answer::NotMet, &["CCP 1"]))).unwrap();
    c.append(draft(2.0, "Ana Ruiz", judged(Answer::Met, &[]))).unwrap();
    let v = c.view();
    let found: Vec<_> =
        v.deviations.iter().map(|d| (d.name.as_str(), d.found_by.clone(), d.in_latest_verdict)).collect();
    assert_eq!(found, [("CCP 1", vec![2], false), (CRITERION, vec![2], false)]);
}

#[test]
fn identity_the_row_in_the_list_follows_the_record() {
    let row = BatchRow::of("2026-03-13-north-1", &sample()).unwrap();
    assert_eq!(
        (row.lot.as_str(), row.product.as_str(), row.cabinet.as_str()),
        ("L-0313", "Beef strips 6 mm", "North")
    );
    assert_eq!(row.opened_on.to_string(), "2026-03-13");
    assert_eq!((row.answer, row.waiting, row.open_deviations), (Some(Answer::Met), false, 0));
    assert_eq!(row.signed, [SignatureMeaning::Reviewed, SignatureMeaning::Released]);
    assert!(!row.changed_after_signing && !row.verdict_outdated);
    assert_eq!((row.entries, row.head), (18, sample().head()));
}
