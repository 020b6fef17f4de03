//! Published limits of growth, and growth limits that a plan claims.

use fallrate_lethality::Answer::{CannotBeJudged, Met, NotMet};
use fallrate_lethality::*;

use crate::support::*;

/// Source: FDA Fish and Fishery Products Hazards and Controls Guidance, 4th ed., Appendix 4, Table A-1 and the lists named
/// row by row (READ). Copied with `reference/safety`.
/// proves: GROWTH-LIMITS
#[test]
fn table_growth_limits_keep_every_list_with_its_figure() {
    let all = growth_limits().unwrap();
    assert_eq!(all.len(), 40);
    let of = |organism: &str, of: GrowthLimitOf| -> Vec<f64> {
        let rows = all.iter().filter(|l| l.organism == organism && l.limit_of == of);
        rows.map(|l| l.lowest_water_activity().unwrap()).collect()
    };
    // Sources disagree; all stand beside each other.
    assert_eq!(of("Staphylococcus aureus", GrowthLimitOf::Growth), [0.83, 0.90, 0.86, 0.86]);
    assert_eq!(of("Staphylococcus aureus", GrowthLimitOf::Toxin), [0.85]);
    // A range gives its lower end, an exception the lower figure.
    assert_eq!(of("lactic acid bacteria", GrowthLimitOf::Growth), [0.92]);
    assert_eq!(of("Salmonella", GrowthLimitOf::Growth), [0.94, 0.94, 0.941]);
    let listeria = &all.iter().find(|l| l.organism == "Listeria monocytogenes").unwrap();
    assert_eq!(
        (listeria.t_min_c, listeria.ph_min, listeria.wps_max_pct),
        (Some(-0.4), Some(4.4), Some(10.0))
    );
    let nothing = GrowthLimit { aw_min: "not stated".into(), ..all[0].clone() };
    assert_eq!(nothing.lowest_water_activity(), None);
    let found = growth_at(0.85, 0.0).unwrap();
    assert!(found.iter().all(|f| f.limit.limit_of != GrowthLimitOf::Range));
    assert_eq!(found.len(), all.iter().filter(|l| l.limit_of != GrowthLimitOf::Range).count());
    let below = |aw: f64, tol: f64| growth_at(aw, tol).unwrap().iter().filter(|f| f.below).count();
    assert_eq!(below(0.5, 0.0), found.len());
    assert!(below(0.849, 0.0) > below(0.849, 0.001), "the tolerance is added; at the limit is not below it");
    assert_eq!(below(1.0, 0.0), 0);
    for (aw, tol) in [(1.2, 0.0), (-0.1, 0.0), (0.8, -0.1), (0.8, f64::NAN)] {
        assert!(growth_at(aw, tol).is_err(), "{aw} {tol}");
    }
    let back: Vec<GrowthLimit> = serde_json::from_str(&serde_json::to_string(all).unwrap()).unwrap();
    assert_eq!(back, all);
}

fn claim(class: LimitClass, rule: GrowthRule) -> PlanGrowthLimit {
    PlanGrowthLimit { name: "slow warming".into(), class, rule }
}

fn warm(f: f64, hours: f64) -> Lab {
    Lab::new(&[OptionId::Immersion]).core_f(&[(0.0, f), (hours * 60.0, f)])
}

/// proves: TOOL-12, DEGREE-HOURS, EXPOSURE-A2, DRIED-D13
#[test]
fn growth_limits_decide_only_where_the_plan_claims_them() {
    let of = |lab: &Lab, rule: &GrowthRule| {
        judge_plan_growth(&lab.log, &lab.case, &claim(LimitClass::Critical, rule.clone())).unwrap()
    };
    let degrees = GrowthRule::DegreeHours;
    // 80 degF is 20 degF over 60: 1200 degree-hours in 60 h, which the printed limit allows.
    assert_eq!(of(&warm(80.0, 59.9), &degrees).answer, Met);
    let missed = of(&warm(80.0, 60.1), &degrees);
    assert_eq!((missed.answer, missed.corrective_action), (NotMet, Some(CorrectiveAction::default())));
    let label = judge_plan_growth(
        &warm(80.0, 60.1).log,
        &warm(80.0, 60.1).case,
        &claim(LimitClass::Quality, degrees.clone()),
    );
    assert_eq!(label.unwrap().corrective_action, None);
    // The tolerance, or a gap, may decide.
    let mut loose = warm(80.0, 59.0);
    loose.log.channels[0].instrument = Some(instrument(0.5));
    let j = of(&loose, &degrees);
    assert_eq!(j.answer, CannotBeJudged);
    let d = &j.degree_hours[0];
    assert!(d.at_least.unwrap().within && !d.at_most.unwrap().within);
    let gap = |hours: f64| {
        let mut lab = warm(80.0, hours);
        let points: Vec<_> =
            lab.log.channels[0].readings().iter().map(|r| (r.at.seconds_since(at_s(0.0)), r.value)).collect();
        let kept: Vec<_> = points.into_iter().filter(|p| !(3600.0..7200.0).contains(&p.0)).collect();
        lab.log.channels[0] = channel(core("coldest"), 0.0, &kept);
        lab
    };
    let j = of(&gap(40.0), &degrees);
    assert_eq!((j.answer, j.degree_hours[0].at_most), (CannotBeJudged, None));
    assert_eq!(of(&gap(70.0), &degrees).answer, NotMet, "missed even without the gap");
    // Exposure: 21 to 54.4 degC, Salmonella, 2 h.
    let salmonella = GrowthRule::Exposure { organism: "Salmonella".into() };
    assert_eq!(of(&warm(100.0, 2.0), &salmonella).answer, Met);
    let j = of(&warm(100.0, 2.1), &salmonella);
    assert_eq!((j.answer, j.exposure.len()), (NotMet, 3));
    assert!(j.exposure.iter().all(|f| f.organism == "Salmonella"));
    // What is missing is said; nothing known is no answer.
    let mut nowhere = warm(80.0, 1.0);
    nowhere.case.facts.required_positions.clear();
    let j = of(&nowhere, &degrees);
    assert_eq!((j.answer, j.missing), (CannotBeJudged, vec![Missing::RequiredPositions]));
    let mut no_start = warm(80.0, 1.0);
    no_start.case.facts.product_met_heat = None;
    let j = of(&no_start, &degrees);
    assert_eq!((j.answer, j.missing), (CannotBeJudged, vec![Missing::ProductMetHeat]));
    let mut no_probe = warm(80.0, 1.0);
    no_probe.case.facts.required_positions = vec!["elsewhere".into()];
    assert_eq!(of(&no_probe, &degrees).answer, CannotBeJudged);
    // Refused.
    let lab = warm(80.0, 1.0);
    let nameless = PlanGrowthLimit { name: " ".into(), ..claim(LimitClass::Critical, degrees) };
    assert!(judge_plan_growth(&lab.log, &lab.case, &nameless).is_err());
    let unknown = GrowthRule::Exposure { organism: "a mould".into() };
    let error = judge_plan_growth(&lab.log, &lab.case, &claim(LimitClass::Critical, unknown)).unwrap_err();
    assert!(error.to_string().contains("a mould"), "{error}");
}
