//! What must be known before a record can be judged.

use fallrate_lethality::Answer::{CannotBeJudged, Met, NotMet};
use fallrate_lethality::*;
use fallrate_series::*;

use crate::support::*;

fn good() -> Lab {
    Lab::new(&[OptionId::Rh90Throughout2021]).cook(30.0, 147.0, 200.0).rh90(0.0, 30.0, 30.0)
}

fn bad() -> Lab {
    Lab::new(&[OptionId::Rh90Throughout2021]).cook(30.0, 140.0, 200.0).rh90(0.0, 30.0, 30.0)
}

fn probe(lab: &mut Lab) -> &mut Channel<Proof> {
    lab.log.channels.iter_mut().find(|c| matches!(c.role, Role::CoreProbe { .. })).unwrap()
}

#[test]
fn the_good_and_the_bad_run_are_what_they_are_called() {
    assert_eq!((good().answer(), bad().answer()), (Met, NotMet));
}

/// proves: RULE-C13, RECORD-H08
#[test]
fn what_undermines_the_readings_cannot_be_judged_even_for_a_bad_run() {
    type Change = fn(&mut Lab);
    let changes: [(&str, Change, Missing); 6] = [
        ("species", |l| l.case.facts.species = None, Missing::Species),
        ("start", |l| l.case.facts.product_met_heat = None, Missing::ProductMetHeat),
        (
            "instrument",
            |l| probe(l).instrument = None,
            Missing::Instrument { channel: "CoreProbe { number: 1, position: \"coldest\" }".into() },
        ),
        (
            "tolerance",
            |l| probe(l).instrument = Some(Instrument { tolerance: None, ..instrument(0.0) }),
            Missing::Tolerance { channel: "CoreProbe { number: 1, position: \"coldest\" }".into() },
        ),
        (
            "calibration overdue",
            |l| {
                let due = CalendarDate::parse("2024-02-29").unwrap();
                probe(l).instrument = Some(Instrument { calibration_due: Some(due), ..instrument(0.0) });
            },
            Missing::Calibration { channel: "CoreProbe { number: 1, position: \"coldest\" }".into() },
        ),
        (
            "clock",
            |l| {
                l.log.sources.push(Source {
                    file_name: "a.csv".into(),
                    sha256: "0".repeat(64),
                    bytes: 1,
                    clock: Clock {
                        zone: String::new(),
                        offset_s: 0.0,
                        uncertainty_s: None,
                        evidence: ClockEvidence::Unknown,
                    },
                });
            },
            Missing::Clock { file_name: "a.csv".into() },
        ),
    ];
    for (name, change, missing) in changes {
        for mut lab in [good(), bad()] {
            change(&mut lab);
            let j = lab.judge();
            assert_eq!(j.answer, CannotBeJudged, "{name}");
            assert!(j.missing.contains(&missing), "{name}: {:?}", j.missing);
        }
    }
}

/// proves: RULE-C23, RULE-C24
#[test]
fn missing_papers_block_a_good_run_but_a_bad_run_stays_bad() {
    type Change = fn(&mut Lab);
    let changes: [(&str, Change); 2] = [
        ("cold spot", |l| l.case.facts.cold_spot_evidence = None),
        ("cabinet", |l| l.case.facts.cabinet = None),
    ];
    for (name, change) in changes {
        let (mut g, mut b) = (good(), bad());
        change(&mut g);
        change(&mut b);
        assert_eq!((g.answer(), b.answer()), (CannotBeJudged, NotMet), "{name}");
        assert!(g.judge().waiting, "{name}: the paper may still come");
    }
    let mut nowhere = good();
    nowhere.case.facts.required_positions.clear();
    assert_eq!(nowhere.answer(), CannotBeJudged);
}

/// proves: RULE-C38, JERKY-J37, DRIED-D17
#[test]
fn what_the_guidance_does_not_cover_is_not_met() {
    let with = |f: fn(&mut BatchFacts)| {
        let mut lab = good();
        f(&mut lab.case.facts);
        lab.answer()
    };
    assert_eq!(with(|f| f.cabinet = Some(CabinetKind::HomeStyle)), NotMet);
    assert_eq!(with(|f| f.order = ProcessOrder::DryingAlone), NotMet);
    assert_eq!(with(|f| f.order = ProcessOrder::CookedSeveralTimes), NotMet);
    assert_eq!(with(|f| f.order = ProcessOrder::HeatedAfterDrying { surface_wetted: Some(false) }), NotMet);
    assert_eq!(with(|f| f.order = ProcessOrder::HeatedAfterDrying { surface_wetted: None }), CannotBeJudged);
    assert_eq!(with(|f| f.order = ProcessOrder::HeatedAfterDrying { surface_wetted: Some(true) }), Met);
}

/// proves: RULE-C12, TOOL-04
#[test]
fn a_five_log_table_counts_only_with_the_lot_shelf_stable() {
    let with = |lot: LotFacts| {
        let mut lab = good();
        lab.case.claim.target = LogTarget::Five;
        lab.case.facts.lot = lot;
        lab.judge()
    };
    let lot = |aw: f64, tol: f64, pack: Pack| LotFacts {
        water_activity: Some(aw),
        water_activity_tolerance: Some(tol),
        pack: Some(pack),
    };
    let waiting = with(LotFacts::default());
    assert_eq!((waiting.answer, waiting.waiting), (CannotBeJudged, true));
    assert!(!waiting.missing.contains(&Missing::WaterActivityTolerance), "asked for once there is a result");
    let untold = with(LotFacts { water_activity_tolerance: None, ..lot(0.5, 0.0, Pack::Air) });
    assert!(untold.missing.contains(&Missing::WaterActivityTolerance));
    assert_eq!(with(lot(0.84, 0.01, Pack::Air)).answer, Met);
    assert_eq!(with(lot(0.845, 0.01, Pack::Air)).answer, NotMet, "tolerance is added to a most limit");
    assert_eq!(with(lot(0.88, 0.01, Pack::OxygenProofVacuum)).answer, Met);
    assert_eq!(
        with(LotFacts { water_activity_tolerance: None, ..lot(0.5, 0.0, Pack::Air) }).answer,
        CannotBeJudged
    );
}

/// proves: RULE-C14, TOOL-12
#[test]
fn unknown_time_counts_as_inside_the_come_up_band() {
    let run = |dropped: std::ops::Range<f64>| {
        let mut p = sampled(
            &[
                (0.0, c(40.0)),
                (10.0, c(40.0)),
                (200.0, c(129.0)),
                (340.0, c(129.0)),
                (341.0, c(159.0)),
                (380.0, c(159.0)),
            ],
            60.0,
        );
        p.retain(|x| !dropped.contains(&(x.0 / 60.0)));
        Lab::new(&[OptionId::Rh90Throughout2021]).rh90(0.0, 380.0, 380.0).with(core("coldest"), 0.0, &p)
    };
    assert_eq!(run(500.0..501.0).answer(), Met);
    assert_eq!(run(0.5..30.0).answer(), Met, "31 unknown minutes still leave it under 6 h");
    // Unknown before the product reached 50 degF and after it passed 130 degF: both count.
    let mut earlier = run(0.5..30.0);
    earlier.case.facts.earlier_minutes_in_band = 25.0;
    assert_eq!(earlier.answer(), CannotBeJudged);
    let mut whole = run(500.0..501.0);
    whole.case.facts.earlier_minutes_in_band = 25.0;
    assert_eq!(whole.answer(), Met);
    whole.case.facts.earlier_minutes_in_band = 60.0;
    assert_eq!(whole.answer(), NotMet);
}

#[test]
fn limit_exactly_at_the_ends_of_the_come_up_band_is_outside_it() {
    for f in [50.0, 130.0] {
        let p = sampled(&[(0.0, 10.0 + (f - 50.0) / 1.8), (400.0, 10.0 + (f - 50.0) / 1.8)], 60.0);
        let lab =
            Lab::new(&[OptionId::Rh90Throughout2021]).rh90(0.0, 400.0, 400.0).with(core("coldest"), 0.0, &p);
        let part = lab.part(Item::ComeUp);
        let mut full = lab.clone();
        full.case.facts.earlier_minutes_in_band = 360.0;
        assert_eq!(full.part(Item::ComeUp).answer, Met, "6 h exactly is allowed");
        assert!(part.shown.unwrap() < 1e-6 && part.unknown.unwrap() < 1e-6, "{f}: {part:?}");
    }
}

#[test]
fn the_tolerance_widens_the_come_up_band() {
    let run = |tol: f64| {
        let p = sampled(&[(0.0, c(130.5)), (361.0, c(130.5)), (362.0, c(162.0)), (380.0, c(162.0))], 60.0);
        Lab::new(&[OptionId::Rh90Throughout2021]).rh90(0.0, 380.0, 380.0).with(core("coldest"), tol, &p)
    };
    assert_eq!(run(0.0).answer(), Met);
    assert_eq!(run(0.5).answer(), NotMet);
}

/// proves: TOOL-07, TOOL-15
#[test]
fn a_rehearsal_is_a_type_of_its_own_and_says_what_a_measured_record_would() {
    let lab = good();
    let mut log: Log<Rehearsal> = Log::new("UTC");
    for ch in &lab.log.channels {
        let mut b =
            ChannelBuilder::<Rehearsal>::new(&ch.name, ch.role.clone(), RehearsalProvenance::Simulated)
                .instrument(ch.instrument.clone().unwrap());
        for r in ch.readings() {
            b.push(*r, 0).unwrap();
        }
        log.add(b.finish().0, Vec::new()).unwrap();
    }
    let rehearsed = rehearse(&log, &lab.case).unwrap();
    assert_eq!(*rehearsed.judgement(), lab.judge());
    let text = serde_json::to_string(&rehearsed).unwrap();
    assert!(text.starts_with("{\"kind\":\"rehearsal\""), "{text:.60}");
    let verdict = serde_json::to_string(&judge(&lab.log, &lab.case).unwrap()).unwrap();
    assert!(verdict.starts_with("{\"kind\":\"verdict_measured\""));
    assert_eq!(verdict, serde_json::to_string(&judge(&lab.log, &lab.case).unwrap()).unwrap(), "same bytes");
    assert_eq!(criteria_texts().len(), 12);
}

#[test]
fn every_limit_in_the_output_names_its_document() {
    let j = good().judge();
    assert!(j.limits.len() > 10);
    for l in &j.limits {
        assert!(!l.document.is_empty() && !l.section.is_empty() && !l.date.is_empty(), "{}", l.id);
    }
    assert!(j.limits.iter().any(|l| l.id == "OPTION-4" && l.number == "FSIS-GD-2021-0014"));
}
