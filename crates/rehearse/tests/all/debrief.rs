//! The debrief: what was late, what it cost, what would have been better.

use fallrate_lethality::{BatchFacts, Case, Claim, ClaimedDocument, Endpoint, LogTarget, OptionId, Species};
use fallrate_rehearse::{Act, Change, Fault, FaultKind, VirtualCabinet};
use fallrate_schedule::VentSetting;
use fallrate_units::Duration;

use crate::support::{apple, as_known, beef, go, scenario};

fn quarter() -> Act {
    Act::Vent(VentSetting::Mark("quarter".to_owned()))
}

#[test]
fn identity_a_trainee_who_does_everything_in_time_has_the_plans_outcome() {
    let (plan, cabinet) = apple();
    let mut v = VirtualCabinet::new(&plan, &cabinet, scenario(1)).unwrap();
    v.start_as_planned().unwrap();
    // The right moment on this very cabinet, learnt from a debrief of a run cut short.
    let mut probe = v.clone();
    go(&mut probe, 60.0);
    probe.act(Act::Unload).unwrap();
    go(&mut probe, 100.0);
    let due = probe.debrief(None).unwrap().acts;
    let vent = due.iter().find(|a| a.act == quarter()).unwrap();
    assert!(vent.done_s.is_none() && vent.late_s().is_none());
    go(&mut v, vent.due_s);
    v.act(quarter()).unwrap();
    go(&mut v, plan.timer.dial_s);
    v.act(Act::Unload).unwrap();
    go(&mut v, plan.timer.dial_s + 60.0);
    let d = v.debrief(None).unwrap();
    assert!(d.acts.iter().all(|a| a.late_s().is_some_and(|l| l.abs() < 1.0)), "{:?}", d.acts);
    assert!(d.unplanned.is_empty());
    let planned = &d.ways.iter().find(|w| w.change == Change::AsPlanned).unwrap().outcome;
    assert!((planned.mean_dry_basis - d.outcome.mean_dry_basis).abs() < 1e-3, "{planned:?} {:?}", d.outcome);
    assert!((planned.energy_kwh / d.outcome.energy_kwh - 1.0).abs() < 2e-3);
    assert_eq!(planned.unloaded_s, d.outcome.unloaded_s);
}

#[test]
fn identity_the_run_again_is_the_run() {
    let (plan, cabinet) = apple();
    let mut s = scenario(11);
    s.faults = vec![Fault { kind: FaultKind::DoorOpen, from_s: 5000.0, until_s: None }];
    let mut v = VirtualCabinet::new(&plan, &cabinet, s).unwrap();
    v.start_as_planned().unwrap();
    for (at, act) in
        [(2000.0, quarter()), (4000.0, Act::Weigh { tray: 4 }), (6000.0, Act::Door { open: false })]
    {
        go(&mut v, at);
        v.act(act).unwrap();
    }
    go(&mut v, 12_000.0);
    v.act(Act::Unload).unwrap();
    go(&mut v, 12_000.0);
    let d = v.debrief(None).unwrap();
    let last = v.true_states().last().unwrap();
    assert_eq!(d.outcome.mean_dry_basis, last.mean_dry_basis);
    assert_eq!(d.outcome.wettest_dry_basis, last.wettest_dry_basis);
    assert_eq!(d.outcome.energy_kwh, last.energy_j / 3.6e6);
    assert_eq!(d.faults[0].seen_to_s, Some(6000.0));
    let shut = d.ways.iter().find(|w| w.change == Change::DoorShut { fault: 0 }).unwrap();
    assert!(shut.outcome.mean_dry_basis < d.outcome.mean_dry_basis, "15 min less of an open door");
}

#[test]
fn identity_a_vent_left_shut_is_found_and_costs() {
    let (plan, cabinet) = apple();
    let mut v = VirtualCabinet::new(&plan, &cabinet, as_known(2)).unwrap();
    v.start_as_planned().unwrap();
    go(&mut v, 9000.0);
    v.act(quarter()).unwrap();
    go(&mut v, plan.timer.dial_s);
    v.act(Act::Unload).unwrap();
    go(&mut v, plan.timer.dial_s);
    let d = v.debrief(None).unwrap();
    let (i, vent) = d.acts.iter().enumerate().find(|(_, a)| a.act == quarter()).unwrap();
    assert!(vent.late_s().unwrap() > 5000.0, "{vent:?}");
    let in_time = d.ways.iter().find(|w| w.change == Change::InTime { act: i }).unwrap();
    assert!(in_time.outcome.mean_dry_basis < d.outcome.mean_dry_basis - 0.01, "{in_time:?} {:?}", d.outcome);
    assert!(!d.outcome.target_met && in_time.gain >= 0.0);
    assert!(d.ways.windows(2).all(|w| w[0].gain >= w[1].gain));
    assert!(!d.outcome.trays_too_wet.is_empty());
}

#[test]
fn identity_over_drying_is_given_away_and_stopping_in_time_is_best() {
    let (plan, cabinet) = apple();
    let mut v = VirtualCabinet::new(&plan, &cabinet, as_known(3)).unwrap();
    for act in [Act::SetPoint(Some(60.0)), quarter(), Act::Power { on: true }] {
        v.act(act).unwrap();
    }
    go(&mut v, plan.timer.dial_s + 4.0 * 3600.0);
    v.act(Act::Unload).unwrap();
    go(&mut v, plan.timer.dial_s + 4.0 * 3600.0);
    let d = v.debrief(None).unwrap();
    assert!(d.outcome.target_met && d.outcome.given_away_kg > 0.3, "{:?}", d.outcome);
    assert!(
        matches!(d.ways[0].change, Change::StoppedAtTarget { .. } | Change::AsPlanned),
        "{:?}",
        d.ways[0]
    );
    let stopped = d.ways.iter().find(|w| matches!(w.change, Change::StoppedAtTarget { .. })).unwrap();
    assert!(stopped.outcome.target_met && stopped.outcome.given_away_kg < 0.05 && stopped.gain > 0.0);
    assert!(stopped.outcome.energy_kwh < d.outcome.energy_kwh);
    // The vent at a quarter was set at once, not when the plan asked for it.
    let vent = d.acts.iter().find(|a| a.act == quarter()).unwrap();
    assert!(vent.late_s().unwrap() < 0.0 && vent.done_s.unwrap() < 60.0, "{vent:?}");
}

#[test]
fn identity_readings_of_a_rehearsal_are_judged_as_a_rehearsal() {
    let (plan, cabinet) = beef();
    let mut v = VirtualCabinet::new(&plan, &cabinet, as_known(4)).unwrap();
    v.start_as_planned().unwrap();
    go(&mut v, 3.0 * 3600.0);
    v.act(Act::Unload).unwrap();
    go(&mut v, 3.0 * 3600.0);
    let mut facts = BatchFacts::new(Duration::from_minutes(5.0));
    facts.species = Some(Species::Beef);
    facts.product_met_heat = Some(v.scenario().start);
    facts.required_positions = v.log().unwrap().core_positions();
    let claim = Claim {
        document: Some(ClaimedDocument::CookingGuideline2021),
        options: vec![OptionId::Sealed2021],
        target: LogTarget::SixPointFive,
        endpoint: Endpoint::Tables,
        claimed_at: None,
    };
    let d = v.debrief(Some(&Case { claim, facts })).unwrap();
    let judged = d.judgement.unwrap();
    assert!(!judged.judgement().positions.is_empty());
    assert!(!d.exposure.is_empty());
    assert!(d.outcome.growth_min.is_some_and(|m| (5.0..120.0).contains(&m)), "{:?}", d.outcome.growth_min);
}
