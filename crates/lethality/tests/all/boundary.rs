//! Boundary cases of crediting.

use fallrate_lethality::Answer;
use fallrate_lethality::*;
use fallrate_series::*;
use fallrate_units::TemperatureDifference;

use crate::support::*;

/// Option 4 with RH at 92 % throughout: only the core decides.
fn humid(minutes: f64) -> Lab {
    Lab::new(&[OptionId::Rh90Throughout2021]).rh90(0.0, minutes, minutes)
}

/// 129 degF, then a hold at `hold_c` for `seconds`, readings every 10 s, tolerance in K.
fn hold(hold_c: f64, seconds: f64, tolerance: f64) -> Lab {
    let mut p = sampled(&[(0.0, c(120.0)), (5.0, c(120.0))], 10.0);
    p.retain(|x| x.0 < 300.0);
    let mut s = 300.0;
    while s <= 300.0 + seconds + 1e-9 {
        p.push((s, hold_c));
        s += 10.0;
    }
    p.push((s, c(120.0)));
    p.push((s + 10.0, c(120.0)));
    humid(40.0).with(core("coldest"), tolerance, &p).end_at(s + 10.0)
}

impl Lab {
    fn end_at(mut self, s: f64) -> Self {
        self.case.facts.record_ends = Some(at_s(s));
        self
    }
}

#[test]
fn table_62_77_takes_the_row_of_144_and_62_78_that_of_145() {
    assert_eq!(hold(62.78, 240.0, 0.0).answer(), Answer::Met);
    assert_eq!(hold(62.77, 240.0, 0.0).answer(), Answer::NotMet);
    assert_eq!(hold(62.77, 300.0, 0.0).answer(), Answer::Met);
    assert_eq!(hold(62.78, 230.0, 0.0).answer(), Answer::NotMet);
}

/// proves: RULE-C21, TOOL-09
#[test]
fn table_a_tolerance_that_lands_exactly_on_a_row_counts_and_less_does_not() {
    let one_f = TemperatureDifference::from_fahrenheit_degrees(1.0).kelvin();
    assert_eq!(hold(c(146.0), 240.0, one_f).answer(), Answer::Met);
    let short = hold(c(145.9), 240.0, one_f);
    let j = short.judge();
    assert_eq!(j.answer, Answer::NotMet);
    assert!(j.positions[0].within_tolerance, "by less than the instrument can tell");
    let far = hold(c(140.0), 240.0, one_f).judge();
    assert!(!far.positions[0].within_tolerance);
    // Every row, not only 145 F: reading = row + tolerance.
    for row in 131..158 {
        let table = required_times(Species::Beef, None, LogTarget::SixPointFive).unwrap();
        let reading = c(f64::from(row) + 1.0) - one_f;
        assert_eq!(table.row_at_or_below_c(reading).unwrap().row_f, f64::from(row));
    }
}

/// proves: TOOL-06
#[test]
fn a_zero_second_row_needs_two_consecutive_readings() {
    let with = |points: &[(f64, f64)]| {
        let mut all = vec![(0.0, c(120.0)), (60.0, c(120.0))];
        all.extend(points.iter().map(|(s, f)| (*s, c(*f))));
        humid(10.0).with(core("coldest"), 0.0, &all).end_at(300.0)
    };
    let two = [
        (100.0, 158.0),
        (101.0, 158.0),
        (102.0, 120.0),
        (160.0, 120.0),
        (220.0, 120.0),
        (280.0, 120.0),
        (300.0, 120.0),
    ];
    assert_eq!(with(&two).answer(), Answer::Met);
    let one =
        [(100.0, 158.0), (102.0, 120.0), (160.0, 120.0), (220.0, 120.0), (280.0, 120.0), (300.0, 120.0)];
    assert_eq!(with(&one).answer(), Answer::NotMet);
    // Two readings farther apart than the monitoring interval: the minutes between are unknown.
    let far = [(100.0, 158.0), (200.0, 158.0), (201.0, 120.0), (260.0, 120.0), (300.0, 120.0)];
    assert_eq!(with(&far).answer(), Answer::CannotBeJudged);
}

#[test]
fn two_readings_by_hand_serve_a_zero_second_row_whatever_the_wait() {
    let mut lab = humid(20.0);
    let mut b = ChannelBuilder::<Proof>::new("hand", core("coldest"), ProofProvenance::Entered)
        .instrument(instrument(0.0));
    for (m, f) in [(0.0, 60.0), (10.0, 158.5), (20.0, 159.0)] {
        b.push(Reading::valid(at_min(m), c(f)), 0).unwrap();
    }
    lab.log.add(b.finish().0, Vec::new()).unwrap();
    assert_eq!(lab.answer(), Answer::Met);
}

/// proves: TOOL-01, JERKY-J26
#[test]
fn a_short_gap_in_a_long_dwell_condemns_nothing_and_a_missing_position_never_passes() {
    let mut p = sampled(&[(0.0, c(147.0)), (30.0, c(147.0))], 10.0);
    p.retain(|x| !(600.0..800.0).contains(&x.0));
    let lab = humid(30.0).with(core("coldest"), 0.0, &p);
    assert_eq!(lab.answer(), Answer::Met);
    let mut two = lab.clone();
    two.case.facts.required_positions.push("nowhere".into());
    let j = two.judge();
    assert_eq!(j.answer, Answer::CannotBeJudged);
    assert!(j.missing.contains(&Missing::ProbeAt { position: "nowhere".into() }));
    assert_eq!(j.positions[0].answer, Answer::Met);
}

#[test]
fn gaps_decide_between_not_met_and_cannot_be_judged() {
    // 147 degF asks 134 s: 100 s shown. A gap of 40 s could close it, one of 30 s could not.
    let with_gap = |gap_s: f64| {
        let mut p = vec![(0.0, c(120.0)), (59.0, c(120.0)), (60.0, c(147.0))];
        p.extend((1..=10).map(|k| (60.0 + f64::from(k) * 10.0, c(147.0))));
        p.push((161.0, c(120.0)));
        let mut lab = humid(10.0).with(core("coldest"), 0.0, &p).end_at(161.0 + gap_s);
        lab.case.facts.monitoring_interval = fallrate_units::Duration::from_seconds(60.0);
        lab
    };
    assert_eq!(with_gap(40.0).answer(), Answer::CannotBeJudged);
    assert_eq!(
        with_gap(13.0).answer(),
        Answer::CannotBeJudged,
        "a hotter row could have been reached in the gap"
    );
    assert_eq!(with_gap(0.0).answer(), Answer::NotMet);
    let row = |lab: Lab| lab.judge().positions[0].rows.iter().find(|r| r.row_f == 147.0).unwrap().clone();
    let r = row(with_gap(40.0));
    assert_eq!((r.shown_s, r.unknown_s), (100.0, 40.0));
}

/// proves: TOOL-08
#[test]
fn suspect_readings_are_uncounted_until_a_named_person_answers() {
    let mut lab = hold(c(147.0), 200.0, 0.0);
    let probe = lab.log.channels.iter_mut().find(|ch| matches!(ch.role, Role::CoreProbe { .. })).unwrap();
    let span = Span::new(at_s(300.0), at_s(600.0)).unwrap();
    probe.mark_suspect(span, SuspectReason::Stuck);
    let j = lab.judge();
    assert_eq!(j.answer, Answer::CannotBeJudged);
    let stuck = StripReason::Suspect(SuspectReason::Stuck);
    assert!(j.positions[0].strip.iter().any(|s| s.reason == stuck && s.counted == Counted::Unknown));
    let probe = lab.log.channels.iter_mut().find(|ch| matches!(ch.role, Role::CoreProbe { .. })).unwrap();
    let answer = fallrate_series::Answer {
        span,
        about: SuspectReason::Stuck,
        accepted: true,
        by: "A. Person".into(),
        reason: "display looked at".into(),
        answered_at: at_min(100.0),
        readings: 0,
    };
    probe.answer(answer).unwrap();
    assert_eq!(lab.answer(), Answer::Met);
}

#[test]
fn a_suspect_reading_between_two_good_ones_makes_both_neighbouring_intervals_unknown() {
    let mut lab = hold(c(147.0), 200.0, 0.0);
    let probe = lab.log.channels.iter_mut().find(|ch| matches!(ch.role, Role::CoreProbe { .. })).unwrap();
    probe.mark_suspect(Span::new(at_s(400.0), at_s(400.0)).unwrap(), SuspectReason::Spike);
    let row = lab.judge().positions[0].rows.iter().find(|r| r.row_f == 147.0).unwrap().clone();
    assert_eq!((row.shown_s, row.unknown_s), (180.0, 20.0));
}

/// proves: TOOL-02
#[test]
fn two_sensors_at_one_position_the_colder_counts_and_a_dropout_does_not_help() {
    let p = |f: f64| sampled(&[(0.0, c(f)), (10.0, c(f))], 10.0);
    let role = |k| Role::CoreProbe { number: k, position: "coldest".into() };
    let both =
        |a: &[(f64, f64)], b: &[(f64, f64)], tol| humid(10.0).with(role(1), tol, a).with(role(2), tol, b);
    let row_at =
        |lab: &Lab, f: f64| lab.judge().positions[0].rows.iter().find(|r| r.row_f == f).unwrap().clone();
    // 147.5 and 147.0 within the tolerances (0.3 K each): the colder governs, less its tolerance.
    let lab = both(&p(147.5), &p(147.0), 0.3);
    assert_eq!((row_at(&lab, 146.0).shown_s, row_at(&lab, 147.0).shown_s), (600.0, 0.0));
    // Farther apart than the tolerances: a gap, not the colder.
    let lab = both(&p(150.0), &p(147.0), 0.3);
    assert_eq!((row_at(&lab, 146.0).shown_s, row_at(&lab, 146.0).unknown_s), (0.0, 600.0));
    assert_eq!(lab.answer(), Answer::CannotBeJudged);
    // The colder one drops out for two minutes: those minutes count as nothing.
    let mut cold = p(147.0);
    cold.retain(|x| !(120.0..240.0).contains(&x.0));
    let lab = both(&p(147.5), &cold, 0.3);
    let r = row_at(&lab, 146.0);
    assert_eq!((r.shown_s, r.unknown_s), (600.0 - 130.0, 130.0));
}

/// proves: TOOL-03, JERKY-J08
#[test]
fn a_dwell_that_ends_after_the_drying_stage_began_cannot_be_judged() {
    let mut lab = hold(c(147.0), 200.0, 0.0);
    lab.case.facts.drying_began = Some(at_s(300.0 + 134.0));
    assert_eq!(lab.answer(), Answer::Met, "the dwell is complete at 134 s");
    lab.case.facts.drying_began = Some(at_s(300.0 + 133.0));
    let j = lab.judge();
    let after = |s: &&StripEntry| s.reason == StripReason::AfterDryingBegan;
    assert!(j.positions[0].strip.iter().find(after).is_some_and(|s| s.counted == Counted::No));
    assert_eq!(j.answer, Answer::CannotBeJudged);
    assert!(j.positions[0].options[0].parts.iter().any(|p| p.item == Item::DwellBeforeDrying));
    let cold = {
        let mut l = hold(c(140.0), 200.0, 0.0);
        l.case.facts.drying_began = Some(at_s(310.0));
        l
    };
    assert_eq!(cold.answer(), Answer::NotMet, "not met anywhere stays not met");
}

/// No credit below the lowest row: 129.9 degF for a whole day.
#[test]
fn limit_no_credit_below_the_lowest_row() {
    let mut lab = Lab::new(&[OptionId::Rh90Throughout2021]).rh90(0.0, 1200.0, 1200.0);
    lab = lab.core_f(&[(0.0, 129.9), (1200.0, 129.9)]);
    let j = lab.judge();
    assert_eq!(j.answer, Answer::NotMet);
    assert!(j.positions[0].rows.iter().all(|r| r.shown_s == 0.0));
    assert!(j.positions[0].strip.iter().all(|s| s.reason == StripReason::BelowLowestRow));
}

#[test]
fn unknown_fat_is_judged_by_the_strictest_column_and_says_so() {
    // Chicken at 145 F: 12 % fat asks 780 s, 1 % asks less.
    let with = |fat: Option<f64>, seconds: f64| {
        let mut lab = hold(c(145.0), seconds, 0.0);
        lab.case.facts.species = Some(Species::Chicken);
        lab.case.facts.fat_percent = fat;
        lab.case.claim.target = LogTarget::Seven;
        lab
    };
    assert_eq!(with(None, 780.0).answer(), Answer::Met);
    assert_eq!(with(None, 770.0).answer(), Answer::NotMet);
    assert_eq!(with(Some(1.0), 770.0).answer(), Answer::Met);
    assert!(with(None, 780.0).judge().cautions.contains(&Caution::FatUnknown));
    assert!(!with(Some(1.0), 780.0).judge().cautions.contains(&Caution::FatUnknown));
}

#[test]
fn the_margin_says_by_how_much_it_was_met_or_missed() {
    // 147.0 degF for 240 s: with 240 s the row of 145 would do, so 2 degF = 1.11 K could be missing.
    let m = hold(c(147.0), 240.0, 0.0).judge().positions[0].temperature_margin_k.unwrap();
    assert!((m - 2.0 / 1.8).abs() <= 0.011, "{m}");
    let m = hold(c(143.0), 240.0, 0.0).judge().positions[0].temperature_margin_k.unwrap();
    assert!((m + 2.0 / 1.8).abs() <= 0.011, "{m}");
}

#[test]
fn a_longer_interval_than_the_plan_allows_earns_nothing() {
    let p: Vec<_> = (0..=20).map(|k| (f64::from(k) * 120.0, c(150.0))).collect();
    let lab = humid(40.0).with(core("coldest"), 0.0, &p);
    let j = lab.judge();
    assert_eq!(j.answer, Answer::CannotBeJudged);
    assert!(j.positions[0].strip.iter().all(|s| s.reason == StripReason::LongerThanMonitoringInterval));
    let mut plan = lab;
    plan.case.facts.monitoring_interval = fallrate_units::Duration::from_seconds(120.0);
    assert_eq!(plan.answer(), Answer::Met);
}

/// A probe that falls out of the meat jumps to the dry bulb; those minutes do not count.
#[test]
fn a_core_reading_that_jumps_to_the_dry_bulb_does_not_count() {
    let mut p = sampled(&[(0.0, c(120.0)), (20.0, c(125.0))], 10.0);
    p.extend(sampled(&[(20.5, c(159.0)), (40.0, c(159.6))], 10.0));
    let bulbs = |f: f64| sampled(&[(0.0, c(f)), (40.0, c(f))], 60.0);
    let lab = humid(40.0).with(core("coldest"), 0.0, &p);
    let without = lab.clone();
    assert_eq!(without.answer(), Answer::Met, "without a wet bulb it cannot be seen");
    let mut lab = lab.with(Role::AirWetBulb, 0.0, &bulbs(128.0));
    for ch in lab.log.channels.iter_mut().filter(|ch| ch.role == Role::AirDryBulb) {
        *ch = channel(Role::AirDryBulb, 0.0, &bulbs(160.0));
    }
    let j = lab.judge();
    assert_ne!(j.answer, Answer::Met);
    assert!(j.cautions.contains(&Caution::ReadingsPerhapsNotInProduct));
}

/// proves: TOOL-08
#[test]
fn a_core_reading_that_follows_heater_cycling_does_not_count() {
    let cycle = |base: f64, swing: f64| -> Vec<(f64, f64)> {
        (0..=60).map(|m| (f64::from(m) * 60.0, base + swing * (f64::from(m) * 0.9).sin())).collect()
    };
    // Dry bulb 75 degC swinging 3 K, wet bulb 60 degC; the core stands 5 K below the dry bulb.
    let run = |swing: f64| {
        Lab::new(&[OptionId::Immersion])
            .with(core("coldest"), 0.0, &cycle(70.0, swing))
            .with(Role::AirDryBulb, 0.0, &cycle(75.0, 3.0))
            .with(Role::AirWetBulb, 0.0, &cycle(60.0, 0.0))
    };
    let doubtful = |l: &Lab| {
        let s = StripReason::Suspect(SuspectReason::PerhapsNotInProduct);
        l.judge().positions[0].strip.iter().filter(|e| e.reason == s).map(|e| e.span.seconds()).sum::<f64>()
    };
    assert!(doubtful(&run(2.5)) >= 3000.0);
    assert!(doubtful(&run(0.5)) == 0.0, "a wet product damps the cycling");
    let mut dry = run(2.5);
    dry.case.facts.drying_began = Some(at_min(0.0));
    assert!(doubtful(&dry) == 0.0, "not looked for in the drying stage");
}

/// A wet product warms as the air does: both rise together and neither comes back.
///
/// proves: TOOL-08
#[test]
fn a_warm_up_in_which_product_and_air_rise_together_is_no_cycling() {
    let rising = |end: f64, start: f64, minutes: f64| -> Vec<(f64, f64)> {
        (0..=60)
            .map(|m| (f64::from(m) * 60.0, end - (end - start) * (-f64::from(m) / minutes).exp()))
            .collect()
    };
    let l = Lab::new(&[OptionId::Immersion])
        .with(core("coldest"), 0.0, &rising(64.0, 5.0, 25.0))
        .with(Role::AirDryBulb, 0.0, &rising(76.0, 40.0, 20.0))
        .with(Role::AirWetBulb, 0.0, &rising(62.0, 25.0, 20.0));
    let s = StripReason::Suspect(SuspectReason::PerhapsNotInProduct);
    assert!(l.judge().positions[0].strip.iter().all(|e| e.reason != s));
}

/// Time of a dry product is not printed as dwell of the kill step.
#[test]
fn the_dwell_printed_ends_where_drying_began() {
    let p = sampled(&[(0.0, c(150.0)), (40.0, c(150.0))], 10.0);
    let mut l = humid(40.0).with(core("coldest"), 0.0, &p);
    let whole = l.judge().positions[0].rows.iter().map(|r| r.shown_s).fold(0.0, f64::max);
    l.case.facts.drying_began = Some(at_min(15.0));
    let j = l.judge();
    let row = j.positions[0].options[0].row.clone().unwrap();
    assert!(
        whole >= 2399.0 && row.shown_s <= 900.0 + 1e-6 && row.shown_s >= 890.0,
        "{whole} {}",
        row.shown_s
    );
    assert!(j.positions[0].rows.iter().all(|r| r.shown_s <= 900.0 + 1e-6));
}

#[test]
fn a_pair_counts_from_the_first_instant_on_and_not_from_before_it() {
    let with = |points: &[(f64, f64)]| {
        let points_c: Vec<_> = points.iter().map(|(s, f)| (*s, c(*f))).collect();
        humid(10.0).with(core("coldest"), 0.0, &points_c).end_at(120.0)
    };
    assert_eq!(
        with(&[(0.0, 158.0), (10.0, 158.0), (11.0, 100.0), (60.0, 100.0), (120.0, 100.0)]).answer(),
        Answer::Met
    );
    // One of the two readings stands before the product met heat: a single reading is left.
    let before = with(&[(-10.0, 158.0), (5.0, 158.0), (6.0, 100.0), (60.0, 100.0), (120.0, 100.0)]);
    assert_eq!(before.answer(), Answer::NotMet);
}

#[test]
fn the_tolerance_printed_for_two_sensors_is_the_larger_one() {
    let p = sampled(&[(0.0, c(147.0)), (10.0, c(147.0))], 10.0);
    let role = |k| Role::CoreProbe { number: k, position: "coldest".into() };
    for (a, b) in [(0.2, 0.4), (0.4, 0.2)] {
        let j = humid(10.0).with(role(1), a, &p).with(role(2), b, &p).judge();
        assert_eq!(j.positions[0].tolerance_k, Some(0.4));
        assert_eq!(j.positions[0].channels.len(), 2);
    }
}

/// Two probes read at different instants: each is looked at on its own line, at both ends of every common stretch.
#[test]
fn two_sensors_read_at_different_instants_are_compared_on_their_lines() {
    let role = |k| Role::CoreProbe { number: k, position: "coldest".into() };
    let lab = |second: &[(f64, f64)]| {
        humid(10.0)
            .with(role(1), 0.3, &sampled(&[(0.0, 62.0), (10.0, 68.0)], 60.0))
            .with(role(2), 0.3, second)
            .end_at(600.0)
    };
    let row = |l: Lab| l.judge().positions[0].rows.iter().find(|r| r.row_f == 140.0).unwrap().clone();
    // The same line, read half a minute later: no disagreement but before its first and after its last reading.
    let same: Vec<_> = (0..10).map(|k| (30.0 + f64::from(k) * 60.0, 62.3 + 0.6 * f64::from(k))).collect();
    let r = row(lab(&same));
    assert_eq!((r.shown_s, r.unknown_s), (540.0, 60.0));
    // 0.7 K above that line all along: farther apart than 0.6 K.
    let off: Vec<_> = same.iter().map(|p| (p.0, p.1 + 0.7)).collect();
    assert_eq!(row(lab(&off)).unknown_s, 600.0);
    // Drifting apart: within 0.6 K at first, beyond later.
    let drift: Vec<_> = same.iter().map(|p| (p.0, p.1 + p.0 / 600.0)).collect();
    let r = row(lab(&drift));
    // Apart by 0.6 K at 360 s; the stretches are half a minute long.
    assert_eq!(r.shown_s, 360.0 - 30.0);
}

/// A zero-second row at a position with two sensors: the two readings must be consecutive at one of them and seen by both.
#[test]
fn a_fragment_of_two_overlapping_pairs_is_not_a_pair() {
    let role = |k| Role::CoreProbe { number: k, position: "coldest".into() };
    let lab = |shift: f64| {
        let p = |s: f64| -> Vec<(f64, f64)> {
            let t = [
                (0.0, 150.0),
                (100.0 + s, 150.0),
                (100.1 + s, 158.0),
                (106.0 + s, 158.0),
                (106.1 + s, 150.0),
                (160.0, 150.0),
            ];
            t.iter().map(|(s, f)| (*s, c(*f))).collect()
        };
        let mut l = humid(10.0).with(role(1), 3.0, &p(0.0)).with(role(2), 3.0, &p(shift)).end_at(160.0);
        l.case.facts.monitoring_interval = fallrate_units::Duration::from_seconds(120.0);
        l
    };
    let two = |l: Lab| l.judge().positions[0].rows.iter().find(|r| r.row_f == 152.0).unwrap().two_readings;
    assert!(two(lab(0.0)));
    assert!(!two(lab(3.0)));
}

#[test]
fn the_caution_on_the_lowest_rows_is_given_for_them_only() {
    let run = |f: f64, minutes: f64| {
        Lab::new(&[OptionId::Rh90Throughout2021])
            .core_f(&[(0.0, f), (minutes, f)])
            .rh90(0.0, minutes, minutes)
            .judge()
    };
    let (low, high) = (run(130.0, 112.0), run(147.0, 10.0));
    assert_eq!((low.answer, high.answer), (Answer::Met, Answer::Met));
    assert!(low.cautions.contains(&Caution::LowestRowsWeakest));
    assert!(!high.cautions.contains(&Caution::LowestRowsWeakest));
    assert_eq!(run(130.0, 111.9).answer, Answer::NotMet);
}

/// A probe that was pulled out and put back: only the stretch in the air does not count. Twice in one cook.
#[test]
fn a_probe_put_back_counts_again() {
    let bulbs = |f: f64| sampled(&[(0.0, c(f)), (60.0, c(f))], 60.0);
    let out = [(10.0, 14.0), (30.0, 34.0)];
    let p: Vec<_> = sampled(&[(0.0, c(146.0)), (60.0, c(146.0))], 10.0)
        .into_iter()
        .map(|(s, v)| {
            (s, if out.iter().any(|(a, b)| (a * 60.0..b * 60.0).contains(&s)) { c(170.0) } else { v })
        })
        .collect();
    let lab = Lab::new(&[OptionId::Immersion])
        .with(core("coldest"), 0.0, &p)
        .with(Role::AirDryBulb, 0.0, &bulbs(170.5))
        .with(Role::AirWetBulb, 0.0, &bulbs(145.0));
    let doubtful = StripReason::Suspect(SuspectReason::PerhapsNotInProduct);
    let strip = lab.judge().positions[0].strip.clone();
    let spans: Vec<_> = strip.iter().filter(|e| e.reason == doubtful).map(|e| e.span).collect();
    assert_eq!(spans.len(), 2, "{strip:?}");
    for (span, (a, b)) in spans.iter().zip(out) {
        // From the reading before the first in the air to the one after the last.
        assert_eq!((span.from(), span.to()), (at_s(a * 60.0 - 10.0), at_s(b * 60.0)));
    }
    assert!(strip.iter().filter(|e| e.reason == StripReason::AtOrAboveLowestRow).count() == 3, "{strip:?}");
    // At the dry bulb for ten minutes without a jump is tracking; for nine it is not.
    let tracks = |minutes: f64| {
        let at = |m: f64| if m < 20.0 { 120.0 + m * 2.4 } else { 168.0 };
        let p: Vec<_> = (0..=360)
            .map(|k| f64::from(k) / 6.0)
            .filter(|m| *m <= 20.0 + minutes)
            .map(|m| (m * 60.0, c(at(m))))
            .collect();
        let lab = Lab::new(&[OptionId::Immersion])
            .with(core("coldest"), 0.0, &p)
            .with(Role::AirDryBulb, 0.0, &bulbs(168.0))
            .with(Role::AirWetBulb, 0.0, &bulbs(140.0));
        lab.judge().positions[0].strip.iter().any(|e| e.reason == doubtful)
    };
    assert_eq!((tracks(8.0), tracks(11.0)), (false, true));
}

/// Time on the line beside the time that counts: an interval from 120 to 160 degF of which the cook has the second half.
#[test]
fn time_on_the_line_is_information_beside_the_time_that_counts() {
    let p = [(-30.0, 120.0), (30.0, 160.0), (60.0, 160.0)].map(|(s, f)| (s, c(f)));
    let lab = humid(10.0).with(core("coldest"), 0.0, &p).end_at(60.0);
    let row = |f: f64| lab.judge().positions[0].rows.iter().find(|r| r.row_f == f).unwrap().clone();
    // At the start it stands at 140 degF: rows up to there have the whole 30 s on the line, 150 degF has 15 s of them.
    for (f, on_line) in [(130.0, 30.0), (140.0, 30.0), (150.0, 15.0), (158.0, 3.0)] {
        let r = row(f);
        assert_eq!(r.shown_s, 30.0, "{f}: the colder end of the first interval is below every row");
        assert!((r.linear_s - 30.0 - on_line).abs() < 1e-6, "{f}: {}", r.linear_s);
    }
}
