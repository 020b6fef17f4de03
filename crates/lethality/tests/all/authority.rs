//! A process authority's own criterion.

use fallrate_lethality::Answer::{CannotBeJudged, Met, NotMet};
use fallrate_lethality::*;
use fallrate_series::*;
use fallrate_units::*;

use crate::integral::authority_criterion;
use crate::support::*;

fn run(minutes_at_60: f64) -> Lab {
    Lab::new(&[OptionId::Rh90Share2021]).with(
        core("coldest"),
        0.0,
        &sampled(&[(0.0, 40.0), (20.0, 40.0), (20.1, 60.0), (20.1 + minutes_at_60, 60.0), (80.0, 40.0)], 6.0),
    )
}

fn answer(lab: &Lab, c: &AuthorityCriterion) -> AuthorityVerdict {
    judge_by_authority(&lab.log, &lab.case, c).unwrap()
}

/// proves: TOOL-11, RULE-C27
#[test]
fn it_is_inactive_until_a_second_person_approves() {
    let lab = run(30.0);
    let mut c = authority_criterion(10.0);
    assert_eq!(answer(&lab, &c).answer, Met);
    c.approved = None;
    let v = answer(&lab, &c);
    assert_eq!(v.answer, CannotBeJudged);
    assert!(v.missing.contains(&Missing::SecondPersonApproval));
    c.approved = Some(Approval { name: " dr. a ".into(), at: at_min(0.0) });
    assert_eq!(answer(&lab, &c).answer, CannotBeJudged, "the author is not a second person");
    c = authority_criterion(10.0);
    c.author = " ".into();
    assert!(judge_by_authority(&lab.log, &lab.case, &c).is_err());
    c = authority_criterion(f64::NAN);
    assert!(judge_by_authority(&lab.log, &lab.case, &c).is_err());
}

#[test]
fn credit_is_at_the_colder_end_and_gaps_are_granted_at_the_highest_rate_only_for_not_met() {
    // 60 degC for 30 min at D = 1.75 min: 17.1 log, beside what the fall earns.
    let v = answer(&run(30.0), &authority_criterion(17.0));
    assert_eq!(v.answer, Met);
    assert!(v.positions[0].credited_log10 < v.positions[0].exact_log10);
    let mut lab = run(30.0);
    lab.case.facts.record_ends = Some(at_min(81.0));
    let v = answer(&lab, &authority_criterion(20.0));
    assert_eq!(v.answer, CannotBeJudged, "one minute at 72 degC could be worth 82 log");
    assert_eq!(answer(&run(30.0), &authority_criterion(20.0)).answer, NotMet);
}

/// proves: JERKY-J16
#[test]
fn nothing_is_credited_once_the_surface_is_dry() {
    let lab = run(30.0);
    let mut c = authority_criterion(10.0);
    c.dryness = Some(DrynessProxy::StatedInstant(at_min(30.0)));
    let v = answer(&lab, &c);
    assert_eq!(v.answer, NotMet);
    assert!((v.positions[0].credited_log10 - 9.9 / 1.75).abs() < 0.06, "{:?}", v.positions[0]);
    c.dryness = Some(DrynessProxy::SurfaceAboveWetBulb(TemperatureDifference::from_kelvin(3.0)));
    assert_eq!(answer(&lab, &c).answer, CannotBeJudged, "no surface probe");
    let surface = Role::SurfaceProbe { number: 1, position: "coldest".into() };
    let wet = |lab: Lab, from: f64| {
        lab.with(Role::AirWetBulb, 0.0, &sampled(&[(0.0, 50.0), (80.0, 50.0)], 60.0)).with(
            surface.clone(),
            0.0,
            &sampled(&[(0.0, 51.0), (from, 51.0), (from + 0.1, 56.0), (80.0, 60.0)], 6.0),
        )
    };
    let v = answer(&wet(lab.clone(), 30.0), &c);
    assert_eq!(v.answer, NotMet);
    let at = v.positions[0].credited_until.unwrap().seconds_since(at_min(30.0));
    assert!((at - 6.0).abs() < 0.1, "{at}");
    assert_eq!(answer(&wet(lab, 70.0), &c).answer, Met);
}

#[test]
fn the_humidity_condition_joins_by_and() {
    let mut c = authority_criterion(10.0);
    c.humidity = Some(HumidityCondition { least: RelativeHumidity::from_percent(40.0), minutes: 30.0 });
    assert_eq!(answer(&run(30.0), &c).answer, CannotBeJudged);
    let with = |rh: f64| {
        let line = |v: f64| sampled(&[(0.0, v), (80.0, v)], 60.0);
        run(30.0).with(Role::RelativeHumidity, 0.0, &line(rh)).with(Role::AirDryBulb, 0.0, &line(65.0))
    };
    assert_eq!(answer(&with(0.41), &c).answer, Met);
    assert_eq!(answer(&with(0.39), &c).answer, NotMet);
}

#[test]
fn a_position_without_a_probe_never_passes() {
    let mut lab = run(30.0);
    lab.case.facts.required_positions.push("nowhere".into());
    assert_eq!(answer(&lab, &authority_criterion(10.0)).answer, CannotBeJudged);
    assert_eq!(answer(&lab, &authority_criterion(20.0)).answer, NotMet, "the other position failed");
    lab.log.sources.push(Source {
        file_name: "a.csv".into(),
        sha256: String::new(),
        bytes: 0,
        clock: Clock {
            zone: String::new(),
            offset_s: 0.0,
            uncertainty_s: None,
            evidence: ClockEvidence::Unknown,
        },
    });
    assert_eq!(answer(&lab, &authority_criterion(20.0)).answer, CannotBeJudged);
}
