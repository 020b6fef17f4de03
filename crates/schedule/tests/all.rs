//! Each rule is shown to refuse the schedule it is about and to pass its neighbour.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

use fallrate_schedule::{
    Action, EndCondition as E, FanSetting, Interruption, InterruptionKind, LONGEST_S, Piece, Schedule,
    ScheduleError as S, Stage, VentSetting,
};
use proptest::prelude::*;

fn stage(name: &str, set_point_c: f64, ends: Vec<E>) -> Stage {
    Stage {
        set_point_c: Some(set_point_c),
        ends,
        ..Stage::new(name, VentSetting::Mark("shut".into()), FanSetting::Step("full".into()))
    }
}
fn hour(name: &str) -> Stage {
    stage(name, 60.0, vec![E::Elapsed { seconds: 3600.0 }])
}
fn faults(stages: Vec<Stage>) -> Vec<S> {
    Schedule::new(stages, vec![]).err().unwrap_or_default()
}
macro_rules! one {
    ($faults:expr, $pattern:pat) => {{
        let faults = $faults;
        assert!(faults.len() == 1 && matches!(faults[0], $pattern), "{faults:?}");
    }};
}
fn moist(name: &str, piece: Piece, dry_basis: f64) -> Stage {
    stage(name, 60.0, vec![E::Moisture { piece, dry_basis }])
}

#[test]
fn names_and_counts() {
    one!(faults(vec![]), S::NoStage);
    one!(faults(vec![hour(" ")]), S::NoName { stage: 1 });
    one!(faults(vec![hour("Dry"), hour("dry ")]), S::DuplicateName { stage: 2, other: 1, .. });
    let many = |n: usize| (0..n).map(|i| hour(&i.to_string())).collect::<Vec<_>>();
    assert!(faults(many(60)).is_empty());
    one!(faults(many(61)), S::TooManyStages { count: 61 });
}

#[test]
fn durations() {
    one!(faults(vec![stage("a", 60.0, vec![])]), S::NeverEnds { stage: 1, .. });
    one!(faults(vec![stage("a", 60.0, vec![E::Elapsed { seconds: LONGEST_S + 1.0 }])]), S::OutOfRange { .. });
    one!(faults(vec![stage("a", 60.0, vec![E::Elapsed { seconds: 0.0 }])]), S::OutOfRange { .. });
    let four_days = |n: &str| stage(n, 60.0, vec![E::Elapsed { seconds: 4.0 * 86_400.0 }]);
    one!(faults(vec![four_days("a"), four_days("b")]), S::TooLong { .. });
    assert!(faults(vec![four_days("a"), hour("b")]).is_empty());
    let both = Stage { at_most_s: Some(1800.0), ..hour("a") };
    one!(faults(vec![both]), S::EndAfterEnd { first_s: 1800.0, second_s: 3600.0, .. });
}

#[test]
fn cores_that_can_never_come() {
    let core = |c: f64, hold_s: f64| stage("a", 71.0, vec![E::CoreReaches { celsius: c, hold_s }]);
    assert!(faults(vec![core(70.0, 600.0)]).is_empty());
    one!(faults(vec![core(71.0, 0.0)]), S::CoreAboveSetPoint { .. });
    one!(faults(vec![Stage { at_most_s: Some(600.0), ..core(70.0, 600.0) }]), S::HoldTooLong { .. });
    let off = |ends| Stage { set_point_c: None, ends, ..hour("off") };
    one!(faults(vec![off(vec![E::CoreRise { kelvin: 20.0 }])]), S::CoreWithoutHeat { .. });
    // Heat of an earlier stage can still warm the core.
    assert!(faults(vec![hour("a"), off(vec![E::CoreReaches { celsius: 50.0, hold_s: 0.0 }])]).is_empty());
}

#[test]
fn targets_must_fall() {
    use Piece::{Fastest, Mean, Slowest};
    assert!(faults(vec![moist("a", Mean, 0.5), moist("b", Mean, 0.4)]).is_empty());
    one!(
        faults(vec![moist("a", Mean, 0.5), moist("b", Mean, 0.5)]),
        S::TargetNotFalling { stage: 2, earlier: 1, .. }
    );
    one!(faults(vec![moist("a", Slowest, 0.5), moist("b", Mean, 0.6)]), S::TargetNotFalling { .. });
    assert!(faults(vec![moist("a", Mean, 0.5), moist("b", Slowest, 0.6)]).is_empty());
    assert!(faults(vec![moist("a", Fastest, 0.5), moist("b", Mean, 0.5)]).is_empty());
    let aw = |n: &str, aw: f64| stage(n, 60.0, vec![E::WaterActivity { piece: Slowest, aw }]);
    one!(faults(vec![aw("a", 0.8), aw("b", 0.85)]), S::TargetNotFalling { .. });
    let weight = |n: &str, kilograms: f64| stage(n, 60.0, vec![E::LoadWeight { kilograms }]);
    one!(faults(vec![weight("a", 8.0), weight("b", 9.0)]), S::TargetNotFalling { .. });
    assert!(faults(vec![moist("a", Mean, 0.5), weight("b", 9.0)]).is_empty());
}

#[test]
fn settings() {
    one!(
        faults(vec![Stage { set_point_c: Some(120.0), ..hour("a") }]),
        S::OutOfRange { what: "set point", .. }
    );
    one!(faults(vec![Stage { vent: VentSetting::Opening(1.2), ..hour("a") }]), S::OutOfRange { .. });
    one!(faults(vec![Stage { vent: VentSetting::HoldRh(f64::NAN), ..hour("a") }]), S::OutOfRange { .. });
    one!(faults(vec![Stage { fan: FanSetting::Off, ..hour("a") }]), S::HeaterWithoutFan { .. });
    one!(faults(vec![Stage { water_added_kg: -1.0, ..hour("a") }]), S::OutOfRange { .. });
    let swap = |a: &str, b: &str| Action::SwapGroups { a: a.into(), b: b.into() };
    one!(faults(vec![Stage { actions: vec![swap("x", "x")], ..hour("a") }]), S::SwapWithItself { .. });
    let pull = Action::PullTrays { group: "x".into(), trays: 0 };
    one!(faults(vec![Stage { actions: vec![pull], ..hour("a") }]), S::PullsNothing { .. });
    let rh = |above, below| {
        stage("a", 60.0, vec![E::ChamberRhAbove { fraction: above }, E::ChamberRhBelow { fraction: below }])
    };
    one!(faults(vec![rh(0.2, 0.3)]), S::HumidityEndsOverlap { .. });
    assert!(faults(vec![rh(0.3, 0.2)]).is_empty());
}

#[test]
fn interruptions() {
    let at = |kind, start_s, duration_s| Interruption { kind, start_s, duration_s };
    let check = |list| Schedule::new(vec![hour("a")], list).err().unwrap_or_default();
    use InterruptionKind::{DoorOpen, PowerOff, TraysPulled, VentMoved};
    one!(check(vec![at(PowerOff, -1.0, 60.0)]), S::InterruptionOutOfRange { what: "start", .. });
    one!(check(vec![at(PowerOff, 0.0, f64::INFINITY)]), S::InterruptionOutOfRange { what: "duration", .. });
    one!(
        check(vec![at(PowerOff, 0.0, 60.0), at(PowerOff, 30.0, 60.0)]),
        S::InterruptionsOverlap { number: 2, other: 1, .. }
    );
    one!(check(vec![at(VentMoved(VentSetting::Opening(2.0)), 0.0, 60.0)]), S::InterruptionVent { .. });
    one!(
        check(vec![at(TraysPulled { group: "x".into(), trays: 0 }, 0.0, 60.0)]),
        S::InterruptionPullsNothing { .. }
    );
    let good = Schedule::new(vec![hour("a")], vec![at(DoorOpen, 90.0, 60.0), at(PowerOff, 0.0, 100.0)])
        .expect("good");
    assert_eq!(good.interruptions()[0].kind, PowerOff);
    assert_eq!(check(vec![at(PowerOff, -1.0, 60.0)])[0].interruption(), Some(1));
}

fn any_end() -> impl Strategy<Value = E> {
    let x = prop_oneof![any::<f64>(), 0.0..100.0f64];
    (x, 0..8u8, 0..3u8).prop_map(|(x, kind, piece)| {
        let piece = [Piece::Mean, Piece::Slowest, Piece::Fastest][usize::from(piece)];
        match kind {
            0 => E::Elapsed { seconds: x },
            1 => E::CoreRise { kelvin: x },
            2 => E::CoreReaches { celsius: x, hold_s: x },
            3 => E::Moisture { piece, dry_basis: x },
            4 => E::WaterActivity { piece, aw: x },
            5 => E::LoadWeight { kilograms: x },
            6 => E::ChamberRhBelow { fraction: x },
            _ => E::ChamberRhAbove { fraction: x },
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]
    /// Whatever passes has a finite end and finite settings; nothing panics.
    #[test]
    fn any_schedule_is_accepted_or_explained(
        list in prop::collection::vec((any::<f64>(), prop::collection::vec(any_end(), 0..4), prop::option::of(any::<f64>())), 0..5)
    ) {
        let stages: Vec<Stage> = list
            .into_iter()
            .enumerate()
            .map(|(i, (t, ends, at_most_s))| Stage { at_most_s, ..stage(&i.to_string(), t, ends) })
            .collect();
        match Schedule::new(stages, vec![]) {
            Ok(s) => prop_assert!(s.stages().iter().all(|s| s.set_point_c.is_some_and(f64::is_finite))),
            Err(faults) => prop_assert!(faults.iter().all(|f| f.to_string().contains("allowed: "))),
        }
    }
}
