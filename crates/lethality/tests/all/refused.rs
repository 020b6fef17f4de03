//! What is refused, and what seldom happens.

use fallrate_lethality::Answer::{CannotBeJudged, Met, NotMet};
use fallrate_lethality::*;
use fallrate_series::*;
use fallrate_units::*;

use crate::clocks::{authority, plan_limit, schedule};
use crate::integral::authority_criterion;
use crate::support::*;

fn good() -> Lab {
    Lab::new(&[OptionId::Rh90Throughout2021]).cook(30.0, 147.0, 200.0).rh90(0.0, 30.0, 30.0)
}

fn refused(change: impl Fn(&mut Case)) -> String {
    let mut lab = good();
    change(&mut lab.case);
    let said = judge(&lab.log, &lab.case).unwrap_err();
    assert_eq!(rehearse(&Log::new("UTC"), &lab.case).unwrap_err(), said);
    let span = span_min(1.0, 2.0);
    assert_eq!(assess_interruption(&lab.log, &lab.case, &EventKind::PowerCut, span).unwrap_err(), said);
    said.to_string()
}

#[test]
fn refuse_stated_facts_out_of_range() {
    let interval = |s: f64| refused(|c| c.facts.monitoring_interval = Duration::from_seconds(s));
    assert!(interval(0.0).starts_with("monitoring interval: 0 s"), "{}", interval(0.0));
    assert!(interval(86_401.0).contains("above 0 to 24 h"));
    assert!(refused(|c| c.facts.earlier_minutes_in_band = -1.0).starts_with("earlier minutes"));
    assert!(
        refused(|c| {
            c.facts.species = Some(Species::Chicken);
            c.facts.fat_percent = Some(150.0);
        })
        .starts_with("fat content: 150 %")
    );
    assert!(
        refused(|c| {
            c.claim.target = LogTarget::Five;
            c.facts.lot = LotFacts {
                water_activity: Some(2.0),
                water_activity_tolerance: Some(0.0),
                pack: Some(Pack::Air),
            };
        })
        .starts_with("water activity: 2")
    );
}

#[test]
fn refuse_kinetics_limits_and_figures_out_of_range() {
    let base = authority_criterion(5.0);
    let with = |f: &dyn Fn(&mut LogLinear)| {
        let mut k = base.kinetics;
        f(&mut k);
        k.checked().is_err()
    };
    assert!(with(&|k| k.d_ref = Duration::from_seconds(0.0)));
    assert!(with(&|k| k.z = TemperatureDifference::from_kelvin(0.5)));
    assert!(with(&|k| k.t_ref = Temperature::from_celsius(201.0)));
    assert!(with(&|k| k.lowest_counted = Temperature::from_celsius(-1.0)));
    assert!(with(&|k| k.highest_credited = Temperature::from_celsius(201.0)));
    assert!(with(&|k| k.lowest_counted = Temperature::from_celsius(k.highest_credited.celsius() + 1.0)));
    assert!(!with(&|_| ()));
    let lab = good();
    let limit = |f: &dyn Fn(&mut PlanLimit)| {
        let mut l = plan_limit();
        f(&mut l);
        judge_plan_limit(&lab.log, &lab.case, &l).is_err()
    };
    assert!(limit(&|l| l.value = f64::INFINITY));
    assert!(limit(&|l| l.minutes = Some(-1.0)));
    assert!(!limit(&|_| ()));
    assert!(shelf_stable(1.2, Pack::Air, false).is_err());
    assert!(moisture_to_protein_ratio(101.0, 20.0).is_err());
    assert!(moisture_to_protein_ratio(50.0, 0.0).is_err());
    let (kg, wb) = (Mass::from_kilograms, MoistureWetBasis::from_percent);
    let zero = kg(0.0);
    let weights = |now: (Mass, Mass), moisture: (f64, f64)| {
        moisture_from_weights((kg(10.0), zero), (wb(moisture.0), wb(moisture.1)), now)
    };
    assert!(weights((zero, zero), (75.0, 0.0)).is_err());
    assert!(weights((kg(3.0), kg(-0.1)), (75.0, 0.0)).is_err());
    assert!(weights((kg(3.0), zero), (75.0, -1.0)).is_err());
    // A weight that may be nothing holds no water at the least.
    assert_eq!(weights((kg(3.0), kg(3.0)), (75.0, 0.0)).unwrap().least, wb(0.0));
    let nan = WaterActivityResult { water_activity: f64::NAN, tolerance: Some(0.01) };
    assert_eq!(judge_water_activity(&[nan], 0.85), CannotBeJudged);
    assert!((chance_of_missing(0.05, 10).unwrap() - 0.95f64.powi(10)).abs() < 1e-12);
}

#[test]
fn refuse_forecasts_and_degree_hours_out_of_range() {
    let trace = |c: f64, band_k: f64| ForecastTrace {
        elapsed_s: vec![0.0, 60.0],
        coldest_core_c: vec![c, c],
        band_k,
        humid_spans_s: vec![],
        drying_begins_s: None,
    };
    let case = Lab::new(&[]).case;
    let of = |t: ForecastTrace, case: &Case| forecast(&t, case, OptionId::Immersion);
    assert!(of(trace(70.0, 1.0), &case).is_ok());
    assert!(of(trace(f64::NAN, 1.0), &case).is_err());
    assert!(of(trace(499.5, 1.0), &case).is_err(), "at the hot side of the band");
    let mut fat = case;
    fat.facts.species = Some(Species::Turkey);
    fat.facts.fat_percent = Some(-1.0);
    assert!(of(trace(70.0, 1.0), &fat).is_err());
    // Hotter than any product, as read or with the tolerance.
    let hot = |c: f64, tol: f64| {
        Lab::new(&[OptionId::Immersion]).with(core("coldest"), tol, &[(0.0, c), (60.0, c), (120.0, c)])
    };
    let of = |lab: &Lab| degree_hours_of_record(&lab.log, &lab.case, "coldest");
    assert!(of(&hot(300.0, 0.0)).is_err());
    assert!(of(&hot(203.0, 3.0)).is_err());
    assert!(of(&hot(200.0, 3.0)).is_ok());
    let lab = hot(300.0, 0.0);
    let claim = PlanGrowthLimit {
        name: "degree-hours".into(),
        class: LimitClass::Critical,
        rule: GrowthRule::DegreeHours,
    };
    assert!(judge_plan_growth(&lab.log, &lab.case, &claim).is_err());
    // A record of which nothing is known has no degree-hours.
    let mut late = hot(60.0, 0.0);
    late.case.facts.product_met_heat = Some(at_min(-60.0));
    late.case.facts.record_ends = Some(at_min(-30.0));
    assert_eq!(of(&late), Ok(None));
}

#[test]
fn an_option_is_written_and_read_as_the_table_writes_it() {
    for option in humidity_options().unwrap() {
        let text = serde_json::to_string(option).unwrap();
        assert!(text.contains("\"throughout\":\"yes\"") == option.throughout, "{text}");
        assert_eq!(&serde_json::from_str::<HumidityOption>(&text).unwrap(), option);
        for flag in ["\"perhaps\"", "1"] {
            let damaged = text.replace("\"meat_only\":\"no\"", &format!("\"meat_only\":{flag}"));
            assert_eq!(
                serde_json::from_str::<HumidityOption>(&damaged).is_err(),
                damaged != text,
                "{damaged}"
            );
        }
    }
    let error = |text: &str| serde_json::from_str::<HumidityOption>(text).unwrap_err().to_string();
    let one = serde_json::to_string(humidity_option(OptionId::Steam2021).unwrap()).unwrap();
    assert!(
        error(&one.replace("\"throughout\":\"no\"", "\"throughout\":\"perhaps\""))
            .contains("allowed: yes, no")
    );
}

#[test]
fn the_three_answers_in_words() {
    assert_eq!([Met, NotMet, CannotBeJudged].map(|a| a.to_string()), ["met", "not met", "cannot be judged"]);
    let lab = good();
    assert_eq!(judge(&lab.log, &lab.case).unwrap().answer(), Met);
}

#[test]
fn evidence_without_humidity_must_say_everything() {
    let with = |option: OptionId, change: &dyn Fn(&mut NoHumidityEvidence)| {
        let mut lab = Lab::new(&[option]).cook(50.0, 145.0, 240.0);
        let oven: Vec<_> = (0..=50).map(|m| (f64::from(m) * 60.0, c(251.0))).collect();
        lab = lab.with(Role::AirDryBulb, 0.0, &oven);
        let mut evidence = NoHumidityEvidence {
            option,
            record: "form 7".into(),
            throughout: Some(true),
            moving_hot_air: Some(false),
            water_added: None,
            smallest_piece_kg: Some(5.0),
        };
        change(&mut evidence);
        lab.case.facts.no_humidity = vec![evidence];
        lab.answer()
    };
    assert_eq!(with(OptionId::LargePiece, &|_| ()), Met);
    assert_eq!(with(OptionId::LargePiece, &|e| e.smallest_piece_kg = None), CannotBeJudged);
    assert_eq!(with(OptionId::LargePiece, &|e| e.smallest_piece_kg = Some(4.5)), NotMet, "10 lb is 4.536 kg");
    assert_eq!(with(OptionId::DirectHeat, &|_| ()), Met);
    assert_eq!(with(OptionId::DirectHeat, &|e| e.moving_hot_air = None), CannotBeJudged);
    assert_eq!(with(OptionId::DirectHeat, &|e| e.moving_hot_air = Some(true)), NotMet);
    assert_eq!(with(OptionId::Casing, &|e| e.record = " ".into()), CannotBeJudged);
    assert_eq!(with(OptionId::Casing, &|e| e.throughout = None), CannotBeJudged);
    assert_eq!(with(OptionId::Casing, &|e| e.throughout = Some(false)), NotMet);
}

fn steam_lab() -> Lab {
    Lab::new(&[OptionId::Steam2021]).cook(120.0, 145.0, 240.0)
}

fn moment(mut lab: Lab, kind: EventKind, minute: f64) -> Lab {
    lab.log.events.push(Event {
        at: at_min(minute),
        until: None,
        kind,
        provenance: ProofProvenance::Entered,
        by: "A. Person".into(),
        note: String::new(),
        source: None,
    });
    lab
}

/// Steam noted at its switching, not as a length.
#[test]
fn steam_on_and_off_as_moments() {
    use EventKind::{SteamOff, SteamOn};
    let on_off = |off: f64| moment(moment(steam_lab(), SteamOn, 10.0), SteamOff, off);
    assert_eq!(on_off(70.0).answer(), Met);
    assert_eq!(on_off(69.0).answer(), NotMet);
    let open = moment(steam_lab(), SteamOn, 10.0);
    assert_eq!(open.answer(), CannotBeJudged, "on, and nobody wrote when it went off");
    let unknown = |s: &StripEntry| s.counted == Counted::Unknown && s.span == span_min(10.0, 120.0);
    assert!(open.judge().positions[0].options[0].humid_strip.iter().any(unknown));
    // Off before it was ever on, on twice: what stands is from the first on to the next off.
    let odd = moment(moment(on_off(70.0), SteamOff, 5.0), SteamOn, 20.0);
    assert_eq!(odd.answer(), Met);
    let short = moment(moment(moment(steam_lab(), SteamOn, 10.0), SteamOn, 20.0), SteamOff, 69.0);
    assert_eq!((short.answer(), short.part(Item::HumidTime).shown), (NotMet, Some(59.0)));
    // A length noted while it is on adds nothing.
    let both = moment(steam_lab(), SteamOn, 10.0).event(SteamOn, 20.0, 119.0);
    assert_eq!(moment(both, SteamOff, 50.0).part(Item::HumidTime).shown, Some(40.0));
}

fn sealed_lab() -> Lab {
    let line = |v: f64| sampled(&[(0.0, v), (120.0, v)], 60.0);
    Lab::new(&[OptionId::Sealed2021])
        .cook(120.0, 145.0, 240.0)
        .event(EventKind::VentShut, 0.0, 65.0)
        .with(Role::AirWetBulb, 0.0, &line(c(130.0)))
        .with(Role::AirDryBulb, 0.0, &line(c(160.0)))
}

#[test]
fn the_door_by_its_sensor_and_a_door_nobody_saw_shut_again() {
    let door = |open: std::ops::Range<i32>| {
        let mut lab = sealed_lab();
        lab.case.facts.door_kept_shut = None;
        let p: Vec<_> =
            (0..=120).map(|m| (f64::from(m) * 60.0, f64::from(u8::from(open.contains(&m))))).collect();
        lab.with(Role::DoorOpen, 0.0, &p)
    };
    assert_eq!(door(200..201).answer(), Met);
    assert_eq!(door(20..23).answer(), Met, "61 of 65 min are left");
    assert_eq!(door(20..26).answer(), NotMet);
    // Opened at 20 min, no end noted: unknown from there on.
    assert_eq!(moment(sealed_lab(), EventKind::DoorOpen, 20.0).answer(), CannotBeJudged);
    assert_eq!(moment(sealed_lab(), EventKind::DoorOpen, 61.0).answer(), Met);
    // Two vents: both must be shut.
    let vent = |shut_until: f64| {
        (0..=120)
            .map(|m| f64::from(m) * 60.0)
            .map(|s| (s, if s <= shut_until * 60.0 { 0.0 } else { 0.5 }))
            .collect::<Vec<_>>()
    };
    let two = |a: f64, b: f64| {
        sealed_lab().with(Role::VentOpening, 0.0, &vent(a)).with(Role::VentOpening, 0.0, &vent(b))
    };
    assert_eq!(two(70.0, 80.0).answer(), Met);
    assert_eq!(two(70.0, 50.0).answer(), NotMet);
}

#[test]
fn humidity_needs_its_instruments_and_the_pressure() {
    let o = OptionId::Rh90Share2021;
    let with = |change: &dyn Fn(&mut Lab)| {
        let mut lab = Lab::new(&[o]).cook(90.0, 145.0, 240.0).rh90(0.0, 60.0, 90.0);
        change(&mut lab);
        lab
    };
    let sensor = |lab: &mut Lab, i: Option<Instrument>| {
        for ch in lab.log.channels.iter_mut().filter(|ch| ch.role == Role::RelativeHumidity) {
            ch.instrument.clone_from(&i);
        }
    };
    let strip_of = |lab: &Lab| lab.judge().positions[0].options[0].humid_strip.clone();
    let untold = with(&|l| sensor(l, Some(Instrument { tolerance: None, ..instrument(0.0) })));
    assert_eq!(untold.answer(), CannotBeJudged);
    assert!(strip_of(&untold).iter().all(|s| s.reason == StripReason::ToleranceUnknown));
    let overdue = with(&|l| {
        let due = CalendarDate::parse("2024-02-01").ok();
        sensor(l, Some(Instrument { calibration_due: due, ..instrument(0.0) }));
    });
    assert!(strip_of(&overdue).iter().all(|s| s.reason == StripReason::CalibrationNotInDate));
    assert!(overdue.judge().missing.iter().any(|m| matches!(m, Missing::Calibration { .. })));
    // Two sensors: both must show it.
    let second =
        |rh: f64| with(&|_| ()).with(Role::RelativeHumidity, 0.0, &sampled(&[(0.0, rh), (90.0, rh)], 60.0));
    assert_eq!((second(0.95).answer(), second(0.80).answer()), (Met, NotMet));
    // A reading that is excluded does not count.
    let excluded = with(&|l| {
        for ch in l.log.channels.iter_mut().filter(|ch| ch.role == Role::RelativeHumidity) {
            ch.exclude(span_min(10.0, 20.0), ExcludedReason::FaultCode);
        }
    });
    assert_eq!(excluded.answer(), CannotBeJudged);
    assert!(strip_of(&excluded).iter().any(|s| s.reason == StripReason::Excluded(ExcludedReason::FaultCode)));
    // Bulbs without a pressure, and a barometer whose tolerance nobody knows.
    let bulbs = |minutes: f64| {
        let wet = sampled(&[(0.0, 63.9), (90.0, 63.9)], 60.0);
        let dry = sampled(&[(0.0, 65.0), (90.0, 65.0)], minutes * 60.0);
        let mut lab = Lab::new(&[o]).cook(90.0, 145.0, 240.0);
        lab.case.facts.air_pressure = None;
        lab.with(Role::AirWetBulb, 0.0, &wet).with(Role::AirDryBulb, 0.0, &dry)
    };
    let pressed = |minutes| {
        bulbs(minutes).with(Role::AirPressure, 0.0, &sampled(&[(0.0, 101_325.0), (90.0, 101_325.0)], 60.0))
    };
    let none = bulbs(1.0).judge();
    assert_eq!(none.answer, CannotBeJudged);
    assert!(none.missing.contains(&Missing::AirPressure));
    assert!(
        none.positions[0].options[0].humid_strip.iter().all(|s| s.reason == StripReason::PressureUnknown)
    );
    assert_eq!(pressed(1.0).answer(), Met);
    let mut barometer = pressed(1.0);
    for ch in barometer.log.channels.iter_mut().filter(|ch| ch.role == Role::AirPressure) {
        ch.instrument = None;
    }
    assert!(barometer.judge().missing.contains(&Missing::AirPressure));
    // The dry bulb is read less often than the plan allows.
    let rare = pressed(2.0).judge();
    assert_eq!(rare.answer, CannotBeJudged);
    let strip = &rare.positions[0].options[0].humid_strip;
    assert!(strip.iter().any(|s| s.reason == StripReason::LongerThanMonitoringInterval), "{strip:?}");
    // A bulb whose tolerance nobody knows.
    let mut untold = pressed(1.0);
    for ch in untold.log.channels.iter_mut().filter(|ch| ch.role == Role::AirWetBulb) {
        ch.instrument = Some(Instrument { tolerance: None, ..instrument(0.0) });
    }
    assert!(strip_of(&untold).iter().all(|s| s.reason == StripReason::ToleranceUnknown));
}

#[test]
fn the_poultry_endpoint_of_an_unknown_animal_cannot_be_judged() {
    let mut lab = good();
    lab.case.claim.endpoint = Endpoint::PoultryEndpoint;
    lab.case.facts.species = None;
    assert_eq!(lab.answer(), CannotBeJudged);
    let mut immersed = Lab::new(&[OptionId::Immersion]).cook(50.0, 140.0, 240.0);
    immersed.case.facts.no_humidity = vec![NoHumidityEvidence {
        option: OptionId::Immersion,
        record: "form 7".into(),
        throughout: Some(true),
        moving_hot_air: None,
        water_added: None,
        smallest_piece_kg: None,
    }];
    assert_eq!(immersed.answer(), NotMet);
    // A row that the option would take after six hours in the band does not help.
    let p = [(0.0, 100.0), (361.0, 129.0), (361.1, 160.0), (370.0, 160.0)];
    let mut slow = immersed.clone();
    slow.log.channels.clear();
    slow.case.facts.record_ends = None;
    let slow = slow.core_f(&p);
    assert_eq!(
        (slow.answer(), slow.part(Item::Row).answer, slow.part(Item::ComeUp).answer),
        (NotMet, Met, NotMet)
    );
}

/// Channels without readings, and what no one of them says.
#[test]
fn an_empty_channel_is_a_missing_record() {
    let mut lab = good();
    lab.case.facts.record_ends = None;
    let lab = lab.with(Role::AirWetBulb, 0.0, &[]);
    assert_eq!(lab.answer(), Met, "the wet bulb is not asked");
    let mut empty = good();
    for ch in empty.log.channels.iter_mut().filter(|ch| matches!(ch.role, Role::CoreProbe { .. })) {
        *ch = channel(core("coldest"), 0.0, &[]);
    }
    assert_eq!(empty.answer(), CannotBeJudged);
}

#[test]
fn the_worst_position_after_the_kill_is_the_one_with_the_most_minutes() {
    let p = |hot_min: f64| {
        [
            (0.0, 150.0),
            (10.0, 150.0),
            (11.0, 120.0),
            (60.0 - hot_min, 120.0),
            (60.1 - hot_min, 140.0),
            (61.0, 140.0),
        ]
        .map(|(m, f)| (m, c(f)))
    };
    for (a, b) in [(10.0, 30.0), (30.0, 10.0)] {
        let mut lab = Lab::new(&[OptionId::Rh90Throughout2021])
            .with(core("first"), 0.0, &sampled(&p(a), 6.0))
            .with(core("second"), 0.0, &sampled(&p(b), 6.0))
            .rh90(0.0, 60.0, 61.0);
        lab.case.facts.required_positions = vec!["first".into(), "second".into()];
        let after = lab.judge().after_kill.unwrap();
        assert!((after.shown_min - 39.3).abs() < 0.5, "{after:?}");
    }
}

#[test]
fn dates_of_records() {
    let leap = CalendarDate::parse("2024-02-29").unwrap();
    assert_eq!(Retention::MeatRefrigerated.keep_until(leap).to_string(), "2025-03-01");
    assert_eq!(Retention::MeatShelfStable.keep_until(leap).to_string(), "2026-03-01");
}

#[test]
fn an_authority_s_criterion_needs_the_same_facts() {
    let c = authority_criterion(5.0);
    let of = |change: &dyn Fn(&mut Lab)| {
        let mut lab = good();
        change(&mut lab);
        let v = judge_by_authority(&lab.log, &lab.case, &c).unwrap();
        (v.answer, v.missing)
    };
    assert_eq!(
        of(&|l| l.case.facts.product_met_heat = None),
        (CannotBeJudged, vec![Missing::ProductMetHeat])
    );
    assert_eq!(
        of(&|l| l.case.facts.required_positions.clear()),
        (CannotBeJudged, vec![Missing::RequiredPositions])
    );
    // A surface probe without a wet bulb beside it.
    let surface = Role::SurfaceProbe { number: 1, position: "coldest".into() };
    let lab = good().with(surface, 0.0, &[(0.0, 50.0), (60.0, 50.0)]);
    let dry = AuthorityCriterion {
        dryness: Some(DrynessProxy::SurfaceAboveWetBulb(TemperatureDifference::from_kelvin(3.0))),
        ..authority_criterion(5.0)
    };
    let v = judge_by_authority(&lab.log, &lab.case, &dry).unwrap();
    assert_eq!(
        (v.answer, v.missing),
        (CannotBeJudged, vec![Missing::ProbeAt { position: "coldest (surface)".into() }])
    );
}

/// Each judgement beside the verdict has its twin for simulated readings, of a type of its own.
/// proves: TOOL-07
#[test]
fn what_is_practised_says_the_same_and_is_called_practice() {
    let lab = good();
    let mut log: Log<Rehearsal> = Log::new("UTC");
    for ch in &lab.log.channels {
        let mut b = ChannelBuilder::<Rehearsal>::new(&ch.name, ch.role.clone(), RehearsalProvenance::Demo)
            .instrument(ch.instrument.clone().unwrap());
        for r in ch.readings() {
            b.push(*r, 0).unwrap();
        }
        log.add(b.finish().0, Vec::new()).unwrap();
    }
    let (limit, case) = (plan_limit(), &lab.case);
    let limit_done = rehearse_plan_limit(&log, case, &limit).unwrap();
    assert_eq!(*limit_done.finding(), judge_plan_limit(&lab.log, case, &limit).unwrap());
    let text = serde_json::to_string(&limit_done).unwrap();
    assert!(text.starts_with("{\"kind\":\"practice\""), "{text:.60}");
    let growth =
        PlanGrowthLimit { name: "g".into(), class: LimitClass::Critical, rule: GrowthRule::DegreeHours };
    let growth_done = rehearse_plan_growth(&log, case, &growth).unwrap();
    assert_eq!(*growth_done.finding(), judge_plan_growth(&lab.log, case, &growth).unwrap());
    let practice = CommonPractice::AirTemperature { least_c: 60.0, minutes: 10.0 };
    assert_eq!(
        *rehearse_practice(&log, case, practice).finding(),
        evaluate_practice(&lab.log, case, practice)
    );
    let own = authority();
    let own_done = rehearse_by_authority(&log, case, &own).unwrap();
    assert_eq!(*own_done.finding(), judge_by_authority(&lab.log, case, &own).unwrap());
    let adopted = schedule(10.0);
    let adopted_done = rehearse_by_schedule(&log, case, &adopted).unwrap();
    assert_eq!(*adopted_done.finding(), judge_by_schedule(&lab.log, case, &adopted).unwrap());
    let (kind, span) = (EventKind::PowerCut, span_min(10.0, 12.0));
    let cut = rehearse_interruption(&log, case, &kind, span).unwrap();
    assert_eq!(*cut.finding(), assess_interruption(&lab.log, case, &kind, span).unwrap());
}

/// Each caution where it belongs, and nowhere else.
#[test]
fn cautions_are_given_where_they_belong() {
    let of = |change: &dyn Fn(&mut Lab)| {
        let mut lab =
            good().with(Role::AirWetBulb, 0.0, &sampled(&[(0.0, c(146.0)), (30.0, c(146.0))], 60.0));
        lab.case.facts.drying_began = Some(at_min(30.0));
        lab.case.facts.species = Some(Species::Pork);
        change(&mut lab);
        lab.judge().cautions
    };
    let always = Caution::ProcessAuthorityDecides;
    let with = |c: Caution| vec![always, c];
    assert_eq!(of(&|_| ()), [always]);
    assert_eq!(of(&|l| l.case.facts.drying_began = None), with(Caution::DryingStartNotRecorded));
    for species in [Species::Beef, Species::MeatWithPoultry] {
        let c = of(&|l| {
            l.case.facts.species = Some(species);
            l.case.facts.fat_percent = Some(5.0);
        });
        assert_eq!(c, with(Caution::StecTarget), "{species:?}");
    }
    let claimed = |at: Option<Instant>| of(&|l| l.case.claim.claimed_at = at);
    assert_eq!(claimed(Some(at_min(0.0))), [always], "at the very start is before");
    assert_eq!(claimed(Some(at_min(0.1))), with(Caution::ClaimNotFixedBefore));
    assert_eq!(claimed(None), with(Caution::ClaimNotFixedBefore));
    let bird = |fat: Option<f64>| {
        of(&|l| {
            l.case.facts.species = Some(Species::Turkey);
            l.case.facts.fat_percent = fat;
        })
    };
    assert_eq!(bird(Some(12.0)), [always]);
    assert_eq!(bird(Some(13.0)), with(Caution::FatAboveTable));
    assert_eq!(bird(None), with(Caution::FatUnknown));
    assert_eq!(of(&|l| l.case.claim.target = LogTarget::Five), with(Caution::FiveLogNeedsShelfStable));
    let endpoint = of(&|l| l.case.claim.endpoint = Endpoint::PoultryEndpoint);
    assert_eq!(endpoint, with(Caution::PoultryEndpointBelowTables));
}

/// Of two positions with the same margin the first is named.
#[test]
fn the_coldest_position_is_the_one_with_the_least_margin() {
    let of = |f: [f64; 3]| {
        let mut lab = Lab::new(&[OptionId::Rh90Throughout2021]).rh90(0.0, 10.0, 10.0);
        lab.case.facts.required_positions = ["a", "b", "c"].map(str::to_owned).to_vec();
        for (name, f) in ["a", "b", "c"].into_iter().zip(f) {
            lab = lab.with(core(name), 0.0, &sampled(&[(0.0, c(f)), (10.0, c(f))], 10.0));
        }
        lab.judge().coldest
    };
    assert_eq!(of([150.0, 147.0, 148.0]), Some(1));
    assert_eq!(of([147.0, 147.0, 148.0]), Some(0));
    assert_eq!(of([150.0, 148.0, 147.0]), Some(2));
}

/// proves: TOOL-22
#[test]
fn notes_of_the_vent_beside_its_record_only_contradict() {
    let record: Vec<(f64, f64)> = (0..=120).map(|m| (f64::from(m) * 60.0, 0.0)).collect();
    let noted = |notes: &[(f64, f64)]| {
        let mut lab = sealed_lab().with(Role::VentOpening, 0.0, &record);
        lab.log.events.clear();
        let seconds: Vec<_> = notes.iter().map(|(m, v)| (m * 60.0, *v)).collect();
        lab.with(Role::VentOpening, 0.0, &seconds)
    };
    // One honest note, or several far apart, take nothing from the record.
    assert_eq!(noted(&[(0.0, 0.0)]).answer(), Met);
    assert_eq!(noted(&[(0.0, 0.0), (40.0, 0.0), (115.0, 0.0)]).answer(), Met);
    // Open by the note and shut by the record: unknown until a note agrees again.
    assert_eq!(noted(&[(0.0, 0.0), (20.0, 0.25), (24.0, 0.0)]).answer(), Met, "116 of 120 min");
    assert_eq!(noted(&[(0.0, 0.0), (20.0, 0.25), (84.0, 0.0)]).answer(), CannotBeJudged);
    assert_eq!(noted(&[(20.0, 0.25)]).answer(), CannotBeJudged, "no note agrees again");
    let differ = StripReason::Suspect(SuspectReason::SensorsDisagree);
    let strip = noted(&[(20.0, 0.25)]).judge().positions[0].options[0].humid_strip.clone();
    assert!(strip.iter().any(|s| s.reason == differ));
    // The same by events: 'vent opened' at 20 min is not passed over because a record exists.
    let with_events = |events: &[(EventKind, f64)]| {
        let mut lab = sealed_lab().with(Role::VentOpening, 0.0, &record);
        lab.log.events.clear();
        events.iter().fold(lab, |lab, (kind, minute)| moment(lab, kind.clone(), *minute)).answer()
    };
    assert_eq!(with_events(&[(EventKind::VentShut, 0.0)]), Met);
    assert_eq!(with_events(&[(EventKind::VentShut, 0.0), (EventKind::VentOpened, 20.0)]), CannotBeJudged);
    // A record that shows it open stays so, whatever a note says.
    let open: Vec<(f64, f64)> = (0..=120).map(|m| (f64::from(m) * 60.0, 0.5)).collect();
    let mut lab = sealed_lab().with(Role::VentOpening, 0.0, &open);
    lab.log.events.clear();
    assert_eq!(lab.with(Role::VentOpening, 0.0, &[(0.0, 0.0)]).answer(), NotMet);
    // Notes alone are what there is: too far apart, they show nothing.
    let mut alone = sealed_lab().with(Role::VentOpening, 0.0, &[(0.0, 0.0), (3600.0, 0.0)]);
    alone.log.events.clear();
    assert_eq!(alone.answer(), CannotBeJudged);
}

/// proves: TOOL-08
#[test]
fn without_both_bulbs_a_probe_in_air_cannot_be_looked_for_and_that_is_said() {
    let caution = Caution::ProbeInAirNotCheckable;
    let lab = || Lab::new(&[OptionId::Steam2021]).cook(120.0, 145.0, 240.0);
    assert!(lab().judge().cautions.contains(&caution));
    let line = |f: f64| sampled(&[(0.0, c(f)), (120.0, c(f))], 60.0);
    let dry = lab().with(Role::AirDryBulb, 0.0, &line(150.0));
    assert!(dry.judge().cautions.contains(&caution));
    let both = dry.with(Role::AirWetBulb, 0.0, &line(140.0));
    assert!(!both.judge().cautions.contains(&caution));
}
