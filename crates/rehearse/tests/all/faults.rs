//! Every fault does what it says, and its remedy ends it.

use fallrate_rehearse::{Act, Fault, FaultKind, State, TimerInACut, VirtualCabinet};
use fallrate_schedule::VentSetting;
use fallrate_series::Role;

use crate::support::{apple, as_known, go, readings};

/// The state at 3 h of a batch with its vent at a quarter, with these faults.
fn at_three_hours(faults: &[Fault]) -> (State, VirtualCabinet) {
    let (plan, cabinet) = apple();
    let mut s = as_known(1);
    s.faults = faults.to_vec();
    let mut v = VirtualCabinet::new(&plan, &cabinet, s).unwrap();
    v.start_as_planned().unwrap();
    go(&mut v, 1500.0);
    v.act(Act::Vent(VentSetting::Mark("quarter".to_owned()))).unwrap();
    go(&mut v, 10_800.0);
    (v.true_states().last().unwrap().clone(), v)
}

fn from(kind: FaultKind, from_s: f64) -> Fault {
    Fault { kind, from_s, until_s: None }
}

#[test]
fn identity_faults_of_the_cabinet_change_the_run_as_they_must() {
    let (good, _) = at_three_hours(&[]);
    let (blocked, _) = at_three_hours(&[from(FaultKind::BlockedVent { left: 0.2 }, 0.0)]);
    assert!(blocked.wet_bulb_c > good.wet_bulb_c + 2.0, "{} {}", blocked.wet_bulb_c, good.wet_bulb_c);
    assert!(blocked.mean_dry_basis > good.mean_dry_basis);
    let (weak, _) = at_three_hours(&[from(FaultKind::WeakFan { left: 0.4 }, 0.0)]);
    assert!(weak.mean_dry_basis > good.mean_dry_basis + 0.05);
    let (cold, _) = at_three_hours(&[from(FaultKind::FailedElement { left: 0.3 }, 0.0)]);
    assert!(cold.chamber_c < good.chamber_c - 5.0 && cold.mean_dry_basis > good.mean_dry_basis + 0.2);
    let (open, v) = at_three_hours(&[from(FaultKind::DoorOpen, 9000.0)]);
    assert!(open.chamber_c < good.chamber_c - 15.0 && v.panel().door_open && !v.panel().powered);
    let cut = Fault { kind: FaultKind::PowerCut, from_s: 9000.0, until_s: Some(10_000.0) };
    let (after, _) = at_three_hours(&[cut]);
    assert!(after.energy_j < good.energy_j && after.mean_dry_basis > good.mean_dry_basis);
}

#[test]
fn identity_a_countdown_waits_in_a_cut_or_forgets() {
    let (plan, cabinet) = apple();
    for (rule, powered, left) in [(TimerInACut::Waits, true, 2700.0), (TimerInACut::Forgets, false, 0.0)] {
        let mut s = as_known(1);
        s.timer_in_a_cut = rule;
        s.faults = vec![Fault { kind: FaultKind::PowerCut, from_s: 1800.0, until_s: Some(3000.0) }];
        let mut v = VirtualCabinet::new(&plan, &cabinet, s).unwrap();
        v.act(Act::SetPoint(Some(60.0))).unwrap();
        v.act(Act::DialTimer { dial_s: 5400.0 }).unwrap();
        go(&mut v, 2400.0);
        assert!(!v.panel().powered);
        go(&mut v, 3900.0);
        assert_eq!(v.panel().powered, powered, "{rule:?}");
        assert!((v.panel().timer_left_s.unwrap() - left).abs() < 20.0, "{:?}", v.panel());
        if rule == TimerInACut::Forgets {
            v.act(Act::DialTimer { dial_s: 900.0 }).unwrap();
            go(&mut v, 4000.0);
            assert!(v.panel().powered);
        }
    }
}

#[test]
fn identity_a_dry_sock_reads_the_dry_bulb_until_it_is_wetted() {
    let (_, mut v) = at_three_hours(&[from(FaultKind::DrySock, 7200.0)]);
    let last = |v: &VirtualCabinet, role: Role| {
        readings(&v.log().unwrap(), v.scenario().start, |r| *r == role).last().unwrap().1
    };
    let (dry, wet) = (last(&v, Role::AirDryBulb), last(&v, Role::AirWetBulb));
    assert!((dry - wet).abs() < 3.0, "{dry} {wet}");
    v.act(Act::WetSock).unwrap();
    go(&mut v, 12_000.0);
    let (dry, wet) = (last(&v, Role::AirDryBulb), last(&v, Role::AirWetBulb));
    let truth = v.true_states().last().unwrap().wet_bulb_c;
    assert!(dry - wet > 10.0 && (wet - truth).abs() < 1.5, "{dry} {wet} {truth}");
}

#[test]
fn identity_a_probe_out_of_its_piece_reads_air_until_it_is_put_back() {
    let (plan, cabinet) = apple();
    let probe = VirtualCabinet::new(&plan, &cabinet, as_known(1))
        .unwrap()
        .scenario()
        .sensors
        .iter()
        .position(|s| s.name == "core 1")
        .unwrap();
    let mut s = as_known(1);
    s.faults = vec![from(FaultKind::ProbeOut { sensor: probe }, 600.0)];
    let mut v = VirtualCabinet::new(&plan, &cabinet, s).unwrap();
    v.start_as_planned().unwrap();
    let core = |v: &VirtualCabinet| {
        let log = v.log().unwrap();
        log.channels.iter().find(|c| c.name == "core 1").unwrap().readings().last().unwrap().value
    };
    go(&mut v, 1200.0);
    let state = v.true_states().last().unwrap();
    assert!((core(&v) - state.chamber_c).abs() < 1.5 && state.chamber_c > state.core_coldest_c + 5.0);
    v.act(Act::ReseatProbe { sensor: probe }).unwrap();
    go(&mut v, 1800.0);
    let state = v.true_states().last().unwrap();
    assert!((core(&v) - state.core_coldest_c).abs() < 2.5, "{} {}", core(&v), state.core_coldest_c);
}

#[test]
fn identity_a_drift_grows_with_time() {
    let (_, v) = at_three_hours(&[]);
    let index = v.scenario().sensors.iter().position(|s| s.name == "dry bulb").unwrap();
    let drift =
        Fault { kind: FaultKind::Drift { sensor: index, per_hour: 2.0 }, from_s: 3600.0, until_s: None };
    let (_, d) = at_three_hours(&[drift]);
    let of = |v: &VirtualCabinet| readings(&v.log().unwrap(), v.scenario().start, |r| *r == Role::AirDryBulb);
    for (a, b) in of(&v).iter().zip(of(&d)) {
        let expected = 2.0 * (a.0 - 3600.0).max(0.0) / 3600.0;
        assert!((b.1 - a.1 - expected).abs() < 0.11, "{} {expected} at {}", b.1 - a.1, a.0);
    }
}
