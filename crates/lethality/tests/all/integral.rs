//! The exact integral and the crediting against an independent account.

use std::collections::BTreeMap;

use fallrate_lethality::*;
use fallrate_units::*;

use crate::support::*;

#[derive(serde::Deserialize)]
struct Expected {
    trace_id: String,
    monitoring_interval_s: f64,
    tolerance_k: f64,
    log10_exact: f64,
    unknown_s: f64,
    #[serde(rename = "seconds_at_140F")]
    at_140: f64,
    #[serde(rename = "seconds_at_145F")]
    at_145: f64,
    #[serde(rename = "seconds_at_150F")]
    at_150: f64,
    #[serde(rename = "seconds_at_158F")]
    at_158: f64,
}

fn traces() -> BTreeMap<String, Vec<(f64, f64)>> {
    let text = include_str!("../../../../reference/safety/lethality_traces.csv");
    let mut out: BTreeMap<String, Vec<(f64, f64)>> = BTreeMap::new();
    for r in csv::Reader::from_reader(text.as_bytes()).into_deserialize::<(String, f64, f64)>() {
        let (id, s, c) = r.unwrap();
        out.entry(id).or_default().push((s, c));
    }
    out
}

fn criterion(target: f64) -> AuthorityCriterion {
    AuthorityCriterion {
        author: "Dr. A".into(),
        document: "letter of 2024-01-02".into(),
        product_range: "whole muscle beef strips, moist".into(),
        target: LogReduction::from_log10(target),
        kinetics: LogLinear {
            d_ref: Duration::from_seconds(105.0),
            t_ref: Temperature::from_celsius(60.0),
            z: TemperatureDifference::from_kelvin(50.0 / 9.0),
            lowest_counted: Temperature::from_celsius(54.0),
            highest_credited: Temperature::from_celsius(72.0),
        },
        humidity: None,
        dryness: None,
        approved: Some(Approval { name: "B. Second".into(), at: at_min(-60.0) }),
    }
}

/// Independent account: reference/scripts/lethality_traces.py (scipy.integrate.quad; invented traces, COMPUTED).
#[test]
fn val_thirteen_invented_traces_against_adaptive_quadrature() {
    let text = include_str!("../../../../reference/safety/lethality_traces_expected.csv");
    let traces = traces();
    let mut worst: f64 = 0.0;
    let expected: Vec<Expected> =
        csv::Reader::from_reader(text.as_bytes()).into_deserialize().map(|r| r.unwrap()).collect();
    assert_eq!(expected.len(), 13);
    for e in expected {
        let points = &traces[&e.trace_id];
        let mut lab = Lab::new(&[OptionId::Rh90Share2021]).with(core("coldest"), e.tolerance_k, points);
        lab.case.facts.monitoring_interval = Duration::from_seconds(e.monitoring_interval_s);
        let v = judge_by_authority(&lab.log, &lab.case, &criterion(5.0)).unwrap();
        let p = &v.positions[0];
        let error = (p.exact_log10 - e.log10_exact).abs() / e.log10_exact.max(1.0);
        worst = worst.max(error);
        assert!(error < 1e-8, "{}: {} against {}", e.trace_id, p.exact_log10, e.log10_exact);
        assert!(
            p.credited_log10 <= p.exact_log10 + 1e-9,
            "{}: the credit is never above the integral",
            e.trace_id
        );
        let j = lab.judge();
        let rows = &j.positions[0].rows;
        for (f, s) in [(140.0, e.at_140), (145.0, e.at_145), (150.0, e.at_150), (158.0, e.at_158)] {
            let r = rows.iter().find(|r| r.row_f == f).unwrap();
            assert!((r.shown_s - s).abs() < 1e-6, "{} {f}: {} against {s}", e.trace_id, r.shown_s);
            assert!((r.unknown_s - e.unknown_s).abs() < 1e-6, "{}", e.trace_id);
        }
    }
    println!("worst relative error of the integral: {worst:.1e}");
}

#[derive(serde::Deserialize)]
struct Printed {
    #[serde(rename = "T_C")]
    t_c: f64,
    lethal_rate_printed: f64,
    #[serde(rename = "time_6D_min_printed")]
    time_printed_min: f64,
    #[serde(rename = "time_6D_min_formula")]
    time_formula_min: f64,
}

fn printed(text: &str) -> Vec<Printed> {
    csv::Reader::from_reader(text.as_bytes()).into_deserialize().map(|r| r.unwrap()).collect()
}

/// Source: FDA fish guidance, 4th ed., App. 4, Tables A-3 and A-4 (READ). Printed rates are rounded to two or three
/// digits: 1.5 %. Printed times are truncated to a tenth of a minute in places (72 degC: 1.0 for 1.08): 0.09 min or 1 %.
/// proves: LETHAL-A3, LETHAL-A4
#[test]
fn table_lethal_rates_of_listeria_and_botulinum() {
    let a3 = printed(include_str!("../../../../reference/safety/fda_listeria_6d.csv"));
    let a4 = printed(include_str!("../../../../reference/safety/fda_cbot_np_6d.csv"));
    assert_eq!((a3.len(), a4.len()), (23, 16));
    let z4 = |t: f64| if t < 90.0 { 7.0 } else { 10.0 };
    let rows = a3
        .iter()
        .map(|r| (r, lethal_rate(r.t_c, 70.0, 7.5), 2.0))
        .chain(a4.iter().map(|r| (r, lethal_rate(r.t_c, 90.0, z4(r.t_c)), 10.0)));
    for (r, rate, minutes) in rows {
        assert!((rate / r.lethal_rate_printed - 1.0).abs() < 0.015, "{} degC: {rate}", r.t_c);
        let time = minutes / rate;
        assert!((time - r.time_formula_min).abs() < 0.0006, "{} degC: {time}", r.t_c);
        let off = (time - r.time_printed_min).abs();
        assert!(off < (0.01 * time).max(0.09), "{} degC: {time} printed {}", r.t_c, r.time_printed_min);
    }
}

#[test]
fn limit_the_integral_of_a_hold_is_time_over_d_and_the_cap_holds() {
    let k = criterion(5.0).kinetics;
    let hold = |c: f64| log_reduction_exact(&[(0.0, c), (1050.0, c)], &k).unwrap().log10();
    assert!((hold(60.0) - 10.0).abs() < 1e-9);
    assert_eq!(hold(53.9), 0.0);
    assert!((hold(80.0) - hold(72.0)).abs() < 1e-9);
    assert!(log_reduction_exact(&[(0.0, 60.0), (-1.0, 60.0)], &k).is_err());
    assert!(log_reduction_exact(&[(0.0, 60.0), (1.0, f64::NAN)], &k).is_err());
    let bad = LogLinear { d_ref: Duration::from_seconds(0.0), ..k };
    assert!(log_reduction_exact(&[(0.0, 60.0), (1.0, 60.0)], &bad).is_err());
}

/// The linear time at a row is on the line less the tolerance: from 60 to 66 degC in 60 s with 1 K, 63.33 degC (146 F)
/// is passed at 43.3 s.
#[test]
fn identity_linear_time_subtracts_the_tolerance() {
    let lab = Lab::new(&[OptionId::Rh90Share2021]).with(core("coldest"), 1.0, &[(0.0, 60.0), (60.0, 66.0)]);
    let j = lab.judge();
    let row = |f: f64| j.positions[0].rows.iter().find(|r| r.row_f == f).unwrap().linear_s;
    assert!((row(146.0) - (60.0 - 10.0 * (celsius_from_fahrenheit(146.0) + 1.0 - 60.0))).abs() < 1e-6);
    assert_eq!(row(150.0), 0.0);
}

/// proves: RULE-C42
#[test]
fn the_zero_second_rows_are_not_an_infinite_rate() {
    // One second at 200 degF earns what the highest credited temperature earns in one second, no more.
    let k = criterion(5.0).kinetics;
    let t = celsius_from_fahrenheit(200.0);
    let one = log_reduction_exact(&[(0.0, t), (1.0, t)], &k).unwrap().log10();
    assert!((one - 10f64.powf((72.0 - 60.0) / (50.0 / 9.0)) / 105.0).abs() < 1e-12);
}

pub fn authority_criterion(target: f64) -> AuthorityCriterion {
    criterion(target)
}
