//! The run: the plan's own where nothing is hidden; the same bytes for the same acts; refusals.

use fallrate_rehearse::{Act, Fault, FaultKind, RehearseError, VirtualCabinet};
use fallrate_schedule::VentSetting;

use crate::support::{APPLE, apple, as_known, go, planned, scenario};

#[test]
fn limit_with_nothing_hidden_it_is_the_plans_own_run() {
    let (plan, cabinet) = apple();
    let mut v = VirtualCabinet::new(&plan, &cabinet, as_known(1)).unwrap();
    v.start_as_planned().unwrap();
    let vent_s = plan.run.stage_ends[0].sample.elapsed_s;
    go(&mut v, vent_s);
    v.act(Act::Vent(VentSetting::Mark("quarter".to_owned()))).unwrap();
    go(&mut v, plan.timer.dial_s - 60.0);
    let mut compared = 0;
    for state in v.true_states().iter().filter(|s| s.elapsed_s % 1800.0 == 0.0) {
        let near = plan.run.samples.windows(2).find(|w| w[1].elapsed_s >= state.elapsed_s).unwrap();
        let (a, b) = (&near[0], &near[1]);
        let share = (state.elapsed_s - a.elapsed_s) / (b.elapsed_s - a.elapsed_s).max(1e-9);
        let line = |f: &dyn Fn(&fallrate_simulate::Sample) -> f64| f(a) + share * (f(b) - f(a));
        let x = line(&|s| s.moisture_mean_dry_basis);
        // The plan's run has finer pieces on three groups; this one has a group for every tray.
        assert!(
            (state.mean_dry_basis - x).abs() < 0.02,
            "{} {x} at {}",
            state.mean_dry_basis,
            state.elapsed_s
        );
        let wet_bulb = line(&|s| s.wet_bulb_c);
        assert!((state.wet_bulb_c - wet_bulb).abs() < 0.4, "{} {wet_bulb}", state.wet_bulb_c);
        compared += 1;
    }
    assert!(compared > 10, "{compared} instants");
}

#[test]
fn identity_same_acts_same_bytes_however_often_somebody_looks() {
    let (plan, cabinet) = apple();
    let run = |steps: &[f64]| {
        let mut s = scenario(7);
        s.hand_lag_s = (15.0, 45.0);
        s.faults = vec![
            Fault { kind: FaultKind::PowerCut, from_s: 4000.0, until_s: Some(5000.0) },
            Fault { kind: FaultKind::DoorOpen, from_s: 7000.0, until_s: None },
        ];
        let mut v = VirtualCabinet::new(&plan, &cabinet, s).unwrap();
        v.start_as_planned().unwrap();
        let acts = [
            (333.0, Act::Weigh { tray: 3 }),
            (2500.0, Act::Vent(VentSetting::Mark("half".to_owned()))),
            (2500.0, Act::Weigh { tray: 12 }),
            (7100.0, Act::Door { open: false }),
            (8000.0, Act::SetPoint(Some(55.0))),
        ];
        let (mut k, mut next) = (0, 0);
        while v.now_s() < 10_000.0 {
            while next < acts.len() && acts[next].0 <= v.now_s() {
                v.act(acts[next].1.clone()).unwrap();
                next += 1;
            }
            let due = acts.get(next).map_or(10_000.0, |a| a.0);
            let to = (v.now_s() + steps[k % steps.len()]).min(due);
            go(&mut v, to);
            k += 1;
        }
        serde_json::to_string(&v.log().unwrap()).unwrap()
    };
    let once = run(&[10_000.0]);
    assert!(once.len() > 50_000);
    assert_eq!(once, run(&[600.0, 1.0, 77.7]));
    assert_eq!(once, run(&[13.0]));
}

#[test]
fn identity_seeds_differ_and_the_loads_weight_stays() {
    let (plan, cabinet) = apple();
    let a = VirtualCabinet::new(&plan, &cabinet, scenario(1)).unwrap();
    let b = VirtualCabinet::new(&plan, &cabinet, scenario(2)).unwrap();
    assert_ne!(a.truth().inputs, b.truth().inputs);
    for v in [&a, &b] {
        let trays = &v.truth().trays;
        assert_eq!(trays.len(), 20);
        let mean = trays.iter().map(|t| t.load).sum::<f64>() / 20.0;
        assert!((mean - 1.0).abs() < 1e-12, "{mean}");
        for g in 0..3 {
            let own: Vec<f64> = trays.iter().filter(|t| t.group == g).map(|t| t.air).collect();
            let mean = own.iter().sum::<f64>() / own.len() as f64;
            assert!((mean - 1.0).abs() < 1e-12, "{mean}");
        }
        assert!(v.truth().inputs.iter().all(|(_, z)| z.abs() <= 2.5));
    }
}

#[test]
fn identity_the_timer_stops_the_cabinet_and_must_not_be_dialled_while_it_runs() {
    let (plan, cabinet) = apple();
    let mut v = VirtualCabinet::new(&plan, &cabinet, as_known(3)).unwrap();
    v.act(Act::SetPoint(Some(60.0))).unwrap();
    v.act(Act::DialTimer { dial_s: 3600.0 }).unwrap();
    go(&mut v, 1800.0);
    assert!(v.panel().powered);
    assert!((v.panel().timer_left_s.unwrap() - 1810.0).abs() < 20.0);
    let refused = v.act(Act::DialTimer { dial_s: 7200.0 });
    assert!(matches!(refused, Err(RehearseError::TimerRuns { .. })), "{refused:?}");
    v.act(Act::Power { on: false }).unwrap();
    v.act(Act::DialTimer { dial_s: 1200.0 }).unwrap();
    go(&mut v, 2000.0);
    assert!(v.panel().powered);
    go(&mut v, 4000.0);
    let hot = v.true_states().last().unwrap().clone();
    assert!(!v.panel().powered && v.panel().timer_left_s == Some(0.0));
    go(&mut v, 7000.0);
    let cool = v.true_states().last().unwrap();
    assert!(cool.energy_j == hot.energy_j && cool.chamber_c < hot.chamber_c - 3.0);
    v.act(Act::DialTimer { dial_s: 1200.0 }).unwrap();
    go(&mut v, 7300.0);
    assert!(v.panel().powered);
}

#[test]
fn identity_unloading_ends_it() {
    let (plan, cabinet) = apple();
    let mut v = VirtualCabinet::new(&plan, &cabinet, scenario(4)).unwrap();
    v.start_as_planned().unwrap();
    go(&mut v, 1000.0);
    assert!(matches!(v.debrief(None), Err(RehearseError::NotUnloaded { .. })));
    v.act(Act::Unload).unwrap();
    assert_eq!(v.advance(9000.0, &mut |_| true).unwrap(), 1000.0);
    assert!(matches!(v.act(Act::WetSock), Err(RehearseError::Unloaded { .. })));
    assert!(v.panel().unloaded_s.is_some() && !v.panel().powered);
}

#[test]
fn refuse_what_cannot_be() {
    let (plan, cabinet) = apple();
    let mut v = VirtualCabinet::new(&plan, &cabinet, scenario(5)).unwrap();
    v.start_as_planned().unwrap();
    go(&mut v, 500.0);
    assert!(matches!(v.advance(400.0, &mut |_| true), Err(RehearseError::InThePast { .. })));
    assert!(matches!(v.advance(f64::NAN, &mut |_| true), Err(RehearseError::InThePast { .. })));
    assert!(matches!(v.start_as_planned(), Err(RehearseError::InThePast { .. })));
    let refused = [
        Act::SetPoint(Some(140.0)),
        Act::Vent(VentSetting::Mark("ajar".to_owned())),
        Act::Fan(fallrate_schedule::FanSetting::Step("storm".to_owned())),
        Act::Weigh { tray: 0 },
        Act::Weigh { tray: 21 },
        Act::TakeOut { trays: vec![3, 99] },
        Act::ReseatProbe { sensor: 99 },
        Act::AddWater { kilograms: f64::NAN },
        Act::SwapGroups { a: 0, b: 1 },
        Act::SwapGroups { a: 0, b: 0 },
    ];
    for act in refused {
        assert!(v.act(act.clone()).is_err(), "{act:?}");
    }
    go(&mut v, 900.0);
    assert_eq!(v.done().len(), 4, "only the start");
    let mut cancelled = 0;
    let r = v.advance(50_000.0, &mut |_| {
        cancelled += 1;
        cancelled < 50
    });
    assert_eq!(r, Err(RehearseError::Cancelled));
    // What was reached before it was cancelled stays.
    assert!(v.now_s() >= 900.0);
    let on = v.now_s() + 600.0;
    go(&mut v, on);
    for broken in [
        Fault { kind: FaultKind::PowerCut, from_s: 10.0, until_s: None },
        Fault { kind: FaultKind::FailedElement { left: 1.5 }, from_s: 10.0, until_s: None },
        Fault { kind: FaultKind::ProbeOut { sensor: 77 }, from_s: 10.0, until_s: None },
        Fault { kind: FaultKind::DoorOpen, from_s: f64::NAN, until_s: None },
    ] {
        let mut s = scenario(1);
        s.faults = vec![broken];
        assert!(VirtualCabinet::new(&plan, &cabinet, s).is_err(), "{broken:?}");
    }
}

#[test]
fn identity_swapped_groups_go_on_where_the_others_were() {
    let (plan, cabinet) = apple();
    let mut v = VirtualCabinet::new(&plan, &cabinet, as_known(6)).unwrap();
    v.start_as_planned().unwrap();
    go(&mut v, 1500.0);
    v.act(Act::Vent(VentSetting::Mark("quarter".to_owned()))).unwrap();
    go(&mut v, 15_000.0);
    let before = v.true_states().last().unwrap().trays_dry_basis.clone();
    // Upper (trays 1 to 7) and lower (14 to 20) hold seven trays each; the lower ones get less air.
    assert!(before[0] < before[19] - 0.05, "{before:?}");
    v.act(Act::SwapGroups { a: 0, b: 2 }).unwrap();
    go(&mut v, 15_120.0);
    let after = v.true_states().last().unwrap().trays_dry_basis.clone();
    assert!((after[0] - before[19]).abs() < 0.02 && (after[19] - before[0]).abs() < 0.02);
}

#[test]
fn identity_an_on_off_heater_runs_and_trays_come_out() {
    let (plan, cabinet) = planned(
        &APPLE
            .replace("north", "bench_unit")
            .replace("\"shut\"", "\"fixed\"")
            .replace("\"quarter\"", "\"fixed\""),
        "apple",
        "bench_unit",
    );
    let mut v = VirtualCabinet::new(&plan, &cabinet, scenario(8)).unwrap();
    v.start_as_planned().unwrap();
    go(&mut v, 7200.0);
    v.act(Act::TakeOut { trays: vec![2, 5] }).unwrap();
    go(&mut v, 7300.0);
    assert!(matches!(v.act(Act::Weigh { tray: 2 }), Err(RehearseError::NoSuchTray { .. })));
    let out = v.true_states().last().unwrap().trays_dry_basis[1];
    go(&mut v, 12_000.0);
    let later = v.true_states().last().unwrap();
    assert!(later.chamber_c > 50.0);
    assert!(later.trays_dry_basis[1].is_finite() && out.is_finite());
    assert!(later.mean_dry_basis < out - 0.1, "the others dry on");
    assert_eq!(later.trays_dry_basis[1], out, "what is out stays as it was");
}
