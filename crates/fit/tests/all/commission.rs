//! Commissioning on a virtual cabinet whose figures are known.

use fallrate_equipment::Cabinet;
use fallrate_fit::commission::{
    Ask, CabinetTest, Cause, Commissioned, Done, Identity, Known, KnownFigures, Problem, Quantity, TestKind,
    Told, advise, commission, drift, measured_cabinet, would_tell,
};

use crate::commission_case::{Truth, bench, north};

const NORTH: &str = include_str!("../../../../data/cabinets/north.toml");

fn figures(tests: &[CabinetTest], draft: &Cabinet) -> Commissioned {
    commission(draft, &KnownFigures::default(), tests).unwrap()
}

fn told(r: &Commissioned, q: Quantity) -> Option<(f64, f64)> {
    match r.outcome(q).unwrap().told {
        Told::Yes { value, standard_error } => Some((value, standard_error)),
        _ => None,
    }
}

/// Misses in standard errors of the figures that were told.
fn misses(r: &Commissioned, t: &Truth) -> Vec<(Quantity, f64)> {
    let pairs = [
        (Quantity::HeaterPower, t.chamber.heater_w),
        (Quantity::HeatCapacity, t.heat_capacity()),
        (Quantity::ShellLoss, t.shell_loss()),
        (Quantity::Leakage, t.chamber.leakage_kg_per_s),
        (Quantity::Vent(1), t.vents.get(1).copied().unwrap_or(0.0)),
        (Quantity::Vent(2), t.vents.get(2).copied().unwrap_or(0.0)),
        (Quantity::FreshAir(0), t.vents[0] + t.chamber.leakage_kg_per_s),
        (Quantity::DisplayOffset, t.chamber.controller.displayed_offset_k),
    ];
    pairs
        .iter()
        .filter(|(q, _)| r.outcome(*q).is_some())
        .filter_map(|&(q, truth)| told(r, q).map(|(v, e)| (q, (v - truth) / e)))
        .collect()
}

fn north_tests(t: &Truth, seed: u64) -> Vec<CabinetTest> {
    vec![
        t.heat_cool(0, 900.0, 4800.0, true, seed),
        t.hold(0, 55.0, 5400.0, 3600.0, seed + 1),
        t.pan(0, 50.0, 0.25, 1.5, seed + 2),
        t.pan(2, 50.0, 1.2, 1.0, seed + 3),
        t.decay(1, 50.0, 500.0, 900.0, seed + 4),
    ]
}

#[test]
fn identity_a_heat_up_alone_gives_ratios_and_no_absolute_figure() {
    let c = north();
    let t = Truth::drawn(&c, 11, 1);
    let r = figures(&[t.heat_cool(0, 900.0, 4800.0, false, 3)], &c);
    for q in [Quantity::HeaterPower, Quantity::HeatCapacity, Quantity::ShellLoss, Quantity::WholeLoss(0)] {
        assert!(told(&r, q).is_none(), "{q:?} {:?}", r.outcome(q));
    }
    let whole = t.shell_loss() + 1020.0 * t.chamber.leakage_kg_per_s;
    for (q, truth) in [
        (Quantity::WarmUpRate, t.chamber.heater_w / t.heat_capacity()),
        (Quantity::FinalRise(0), t.chamber.heater_w / whole),
    ] {
        let (value, error) = told(&r, q).unwrap();
        assert!((value - truth).abs() < 3.0 * error, "{q:?} {value} +- {error} {truth}");
        assert!(error < 0.1 * value);
    }
}

#[test]
fn identity_a_meter_or_a_known_power_makes_the_figures_absolute() {
    let c = north();
    let t = Truth::drawn(&c, 11, 2);
    let metered = figures(&[t.heat_cool(0, 900.0, 4800.0, true, 3)], &c);
    let power = Known { value: t.chamber.heater_w * 1.01, standard_error: 0.02 * t.chamber.heater_w };
    let known = KnownFigures { heater_w: Some(power), volume_m3: None };
    let by_power = commission(&c, &known, &[t.heat_cool(0, 900.0, 4800.0, false, 3)]).unwrap();
    for r in [&metered, &by_power] {
        let (capacity, error) = told(r, Quantity::HeatCapacity).unwrap();
        assert!(
            (capacity - t.heat_capacity()).abs() < 3.0 * error,
            "{capacity} {error} {}",
            t.heat_capacity()
        );
        assert!(told(r, Quantity::WholeLoss(0)).is_some());
    }
}

#[test]
fn val_figures_of_a_whole_commissioning_lie_within_their_stated_errors() {
    let c = north();
    let (mut held, mut of, mut greatest) = (0, 0, 0.0_f64);
    for stream in 0..5 {
        let t = Truth::drawn(&c, 23, stream);
        let r = figures(&north_tests(&t, 100 * stream), &c);
        assert!(r.findings.is_empty(), "{:?}", r.findings);
        let z = misses(&r, &t);
        assert!(z.len() >= 7, "told {z:?}");
        for (q, z) in z {
            of += 1;
            held += usize::from(z.abs() < 1.96);
            greatest = greatest.max(z.abs());
            assert!(z.abs() < 4.5, "{q:?} {z} of cabinet {stream}");
        }
    }
    // Of so many 95 % intervals, fewer than this many hold with a probability below 1 in 1000 (binomial).
    let least = (of as f64 * 0.95 - 3.6 * (of as f64 * 0.95 * 0.05).sqrt()).floor() as usize;
    assert!(held >= least, "{held} of {of}, greatest {greatest}");
}

#[test]
fn identity_one_mark_cannot_part_leakage_and_vent() {
    // The bench unit's vent cannot be shut: only the sum is told.
    let c = bench();
    let t = Truth::drawn(&c, 5, 2);
    let r = figures(&[t.heat_cool(0, 700.0, 3600.0, true, 1), t.pan(0, 50.0, 0.25, 1.5, 2)], &c);
    assert!(told(&r, Quantity::Leakage).is_none() && told(&r, Quantity::Vent(0)).is_none());
    let (sum, error) = told(&r, Quantity::FreshAir(0)).unwrap();
    assert!((sum - t.vents[0] - t.chamber.leakage_kg_per_s).abs() < 3.0 * error, "{sum} {error}");
}

#[test]
fn val_cloths_map_the_trays() {
    let c = bench();
    let t = Truth::drawn(&c, 5, 3);
    let r = figures(&[t.cloths(0, 55.0, 45.0, 5)], &c);
    let z: Vec<f64> = (0..10)
        .map(|i| {
            let (v, e) = told(&r, Quantity::AirShare(i)).unwrap();
            (v - t.shares[i]) / e
        })
        .collect();
    assert!(z.iter().all(|z| z.abs() < 3.5), "{z:?}");
}

#[test]
fn val_an_on_off_controller_shows_its_band_and_its_offset() {
    let c = bench();
    let t = Truth::drawn(&c, 5, 3);
    let r = figures(&[t.heat_cool(0, 700.0, 3600.0, true, 4), t.hold(0, 55.0, 5400.0, 3600.0, 5)], &c);
    let sim = t.chamber.controller;
    for (q, truth) in [
        (Quantity::Band, 3.0),
        (Quantity::SensorLag, sim.sensor_lag_s),
        (Quantity::DisplayOffset, sim.displayed_offset_k),
    ] {
        let (v, e) = told(&r, q).unwrap();
        assert!((v - truth).abs() < 3.5 * e, "{q:?} {v} {e} {truth}");
    }
}

/// A record, spoilt, and what must be found.
fn spoilt(spoil: impl Fn(&mut CabinetTest)) -> Commissioned {
    let c = north();
    let mut test = Truth::of(&c).heat_cool(0, 900.0, 4800.0, true, 9);
    spoil(&mut test);
    figures(&[test], &c)
}

#[test]
fn regress_bad_records_are_named_and_refused_or_rightly_used() {
    let found = |r: &Commissioned, wanted: fn(&Problem) -> bool, done: Done| {
        assert!(r.findings.iter().any(|f| wanted(&f.what) && f.done == done), "{:?}", r.findings);
        let never = r.outcomes.iter().all(|o| !matches!(o.told, Told::Yes { .. }));
        assert!(done != Done::Refused || never, "a figure out of a refused record");
    };
    let few = spoilt(|t| t.air.truncate(4));
    found(&few, |p| matches!(p, Problem::TooFewReadings { .. }), Done::Refused);
    let fahrenheit =
        spoilt(|t| t.air.iter_mut().for_each(|r| r.temperature_c = r.temperature_c * 1.8 + 32.0));
    found(&fahrenheit, |p| matches!(p, Problem::WrongUnit { .. }), Done::Refused);
    let swapped = spoilt(|t| {
        for r in &mut t.air {
            let rh = r.relative_humidity.unwrap();
            r.relative_humidity = Some(r.temperature_c / 100.0);
            r.temperature_c = rh * 100.0;
        }
    });
    found(&swapped, |p| matches!(p, Problem::SwappedColumns), Done::Refused);
    let back = spoilt(|t| t.air.iter_mut().skip(40).for_each(|r| r.at_s -= 300.0));
    found(&back, |p| matches!(p, Problem::ClockBack { .. }), Done::Refused);
    let forward = spoilt(|t| t.air.iter_mut().skip(20).for_each(|r| r.at_s += 3600.0));
    found(&forward, |p| matches!(p, Problem::ClockGap { .. }), Done::Refused);
    let unplugged = spoilt(|t| t.air.iter_mut().skip(10).for_each(|r| r.temperature_c = -200.0));
    found(&unplugged, |p| matches!(p, Problem::ProbeUnplugged { .. }), Done::Refused);
    let no_rise = spoilt(|t| t.air.iter_mut().for_each(|r| r.temperature_c = 21.0 + 1e-4 * r.at_s));
    found(&no_rise, |p| matches!(p, Problem::NoRise { .. }), Done::Refused);
    let hot = spoilt(|t| t.room.temperature_c = 12.0);
    found(&hot, |p| matches!(p, Problem::NotCold { .. }), Done::Refused);
}

#[test]
fn regress_a_meter_that_falls_is_left_out_and_nothing_absolute_told() {
    let r = spoilt(|t| t.meter[1].kwh -= 500.0);
    assert!(r.findings.iter().any(|f| matches!(f.what, Problem::MeterFell { .. })));
    assert!(told(&r, Quantity::HeaterPower).is_none() && told(&r, Quantity::WarmUpRate).is_some());
    let joules = spoilt(|t| t.meter.iter_mut().for_each(|m| m.kwh *= 1000.0));
    assert!(joules.findings.iter().any(|f| matches!(f.what, Problem::MeterImpossible { .. })));
    assert!(told(&joules, Quantity::HeaterPower).is_none());
}

#[test]
fn regress_a_door_opened_in_the_cool_down_is_no_matter_but_in_the_heat_up_it_is() {
    let c = north();
    let mut test = Truth::of(&c).heat_cool(0, 900.0, 4800.0, true, 9);
    for r in test.air.iter_mut().filter(|r| r.at_s > 420.0 && r.at_s < 520.0) {
        r.temperature_c -= 9.0;
    }
    let r = figures(&[test], &c);
    assert!(
        r.findings.iter().any(|f| matches!(f.what, Problem::DoorOpened { .. }) && f.done != Done::Said),
        "{:?}",
        r.findings
    );
}

#[test]
fn regress_a_controller_that_held_back_is_seen() {
    let c = north();
    let t = Truth::of(&c);
    let mut test = t.heat_cool(0, 900.0, 4800.0, true, 9);
    // As a controller would that took over at 60 degC.
    let at = test.air.iter().position(|r| r.temperature_c > 60.0).unwrap();
    for r in test.air.iter_mut().skip(at).filter(|r| r.at_s <= 900.0) {
        r.temperature_c = 60.1;
    }
    let r = figures(&[test], &c);
    assert!(r.findings.iter().any(|f| matches!(f.what, Problem::HeaterHeldBack { .. })), "{:?}", r.findings);
}

#[test]
fn identity_advice_begins_with_the_metered_heat_up_and_does_not_repeat_it() {
    let c = north();
    let known = KnownFigures::default();
    let first = advise(&c, &known, None).unwrap();
    assert_eq!(first[0].planned.ask, Ask::HeatCool { meter: true });
    let t = Truth::of(&c);
    let bare = figures(&[t.heat_cool(0, 900.0, 4800.0, false, 3)], &c);
    let after_bare = advise(&c, &known, Some(&bare)).unwrap();
    let by = would_tell(&after_bare, Quantity::HeaterPower).unwrap();
    assert!(matches!(by, Ask::HeatCool { meter: true } | Ask::Hold), "{by:?}");
    let metered = figures(&[t.heat_cool(0, 900.0, 4800.0, true, 3)], &c);
    let next = advise(&c, &known, Some(&metered)).unwrap();
    assert!(!next.iter().any(|a| matches!(a.planned.ask, Ask::HeatCool { .. })), "{next:?}");
    assert!(next.windows(2).all(|w| w[0].worth_per_hour >= w[1].worth_per_hour));
}

#[test]
fn identity_the_cabinet_file_carries_what_was_told_and_nothing_else() {
    let c = north();
    let t = Truth::drawn(&c, 23, 1);
    let r = figures(&north_tests(&t, 100), &c);
    let identity = Identity { key: "north_measured".to_owned(), name: None, invented: true };
    let text = measured_cabinet(NORTH, &identity, "measured on 2026-09-10", &r).unwrap();
    let measured = Cabinet::parse("north_measured.toml", &text).unwrap();
    assert_eq!(measured.key, "north_measured");
    let (power, error) = told(&r, Quantity::HeaterPower).unwrap();
    let written = &measured.heater.measured;
    assert!((written.value.watts() - power).abs() < 1.0 && written.source == "measured on 2026-09-10");
    assert!((written.high.watts() - written.low.watts() - 2.0 * 1.645 * error).abs() < 2.0);
    // No cloths: the map and the exchange are the draft's.
    assert_eq!(measured.heat_transfer, c.heat_transfer);
    assert_eq!(measured.groups, c.groups);
    assert_eq!(measured.vent.marks[4].dry_air, c.vent.marks[4].dry_air);
}

#[test]
fn val_drift_finds_what_changed_and_leaves_the_rest_open() {
    let c = north();
    let t = Truth::of(&c);
    let base = figures(&north_tests(&t, 7), &c);
    type Act = fn(&mut Truth);
    let ways: [(Cause, Act); 4] = [
        (Cause::Nothing, |_| {}),
        (Cause::Heater, |t| t.chamber.heater_w *= 0.75),
        (Cause::DoorSeal, |t| t.chamber.leakage_kg_per_s *= 2.5),
        (Cause::Fan, |t| t.fan_left = (0.6, 0.6_f64.powf(0.6))),
    ];
    for (cause, act) in ways {
        let mut later = t.clone();
        act(&mut later);
        let d = drift(&base, &later.heat_cool(0, 900.0, 4800.0, true, 11)).unwrap();
        assert_eq!(d.weighed[0].cause, cause, "{:?}", d.weighed);
        assert!(d.weighed[0].probability > 0.8, "{:?}", d.weighed);
        let whole: f64 = d.weighed.iter().map(|w| w.probability).sum();
        assert!((whole - 1.0).abs() < 1e-9);
        // With the vent shut nothing can be said of the vent.
        assert!(d.weighed.iter().any(|w| w.cause == Cause::Vent && !w.visible));
    }
    // A pan cannot part a blocked vent from a weak fan; it says so.
    let mut blocked = t.clone();
    blocked.vents.iter_mut().for_each(|v| *v *= 0.5);
    let d = drift(&base, &blocked.pan(2, 50.0, 1.2, 1.0, 12)).unwrap();
    let of = |c: Cause| d.weighed.iter().find(|w| w.cause == c).unwrap().probability;
    assert!(of(Cause::Vent) + of(Cause::Fan) > 0.9 && of(Cause::Vent) > 0.25 && of(Cause::Nothing) < 0.01);
}

#[test]
fn val_drift_rarely_cries_wolf() {
    let c = north();
    let mut alarms = 0;
    for stream in 0..6 {
        let t = Truth::drawn(&c, 31, stream);
        let base = figures(&[t.heat_cool(0, 900.0, 4800.0, true, 50 + stream)], &c);
        let mut later = t.clone();
        later.room.temperature_c += 3.0;
        let d = drift(&base, &later.heat_cool(0, 900.0, 4800.0, true, 80 + stream)).unwrap();
        alarms += usize::from(d.weighed[0].cause != Cause::Nothing);
    }
    assert_eq!(alarms, 0, "of 6");
}

#[test]
fn val_something_that_is_not_in_the_list_is_said_to_be_so() {
    let c = north();
    let t = Truth::of(&c);
    let base = figures(&[t.heat_cool(0, 900.0, 4800.0, true, 50)], &c);
    let mut test = t.heat_cool(0, 900.0, 4800.0, true, 81);
    // A logger that wanders by itself.
    for r in &mut test.air {
        r.temperature_c += 2.5 * (r.at_s / 5700.0 * 7.0).sin();
    }
    let d = drift(&base, &test).unwrap();
    let nothing = d.weighed.iter().find(|w| w.cause == Cause::Nothing).unwrap();
    assert!(nothing.probability < 0.05 && d.weighed[0].cause == Cause::Other, "{:?}", d.weighed);
}

#[test]
fn identity_the_same_tests_give_the_same_bits() {
    let c = bench();
    let t = Truth::of(&c);
    let tests = [t.heat_cool(0, 700.0, 3600.0, true, 1)];
    assert!(matches!(tests[0].kind, TestKind::HeatCool { .. }));
    let (a, b) = (figures(&tests, &c), figures(&tests, &c));
    assert_eq!(a.outcomes, b.outcomes);
}
