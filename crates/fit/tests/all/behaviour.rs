//! What a fit must do whatever is fitted.

use fallrate_fit::{
    Differences, DryingCurve, FitError, FitOptions, Hint, Parameter, Reading, fit, spread_starts,
};

const T: [f64; 8] = [0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0];

fn decay(p: &[f64], t: f64) -> f64 {
    p[0] * (-p[1] * t).exp()
}

/// Readings with a fixed wobble.
fn readings() -> Vec<f64> {
    T.iter().enumerate().map(|(i, &t)| decay(&[5.0, 0.3], t) + 0.02 * (i as f64 * 2.3).sin()).collect()
}

fn fitted(parameters: &[Parameter], options: &FitOptions) -> fallrate_fit::Estimate {
    let y = readings();
    fit(parameters, &|p| Ok(T.iter().zip(&y).map(|(&t, y)| decay(p, t) - y).collect()), options).unwrap()
}

/// A logarithm between bounds and the plain value are two roads to one estimate, one standard error and one correlation.
#[test]
fn identity_scale_and_bounds_do_not_change_the_estimate() {
    let free =
        fitted(&[Parameter::free("a", "-", 3.0), Parameter::free("k", "-", 0.5)], &FitOptions::closed_form());
    let logarithm = fitted(
        &[Parameter::positive("a", "-", 3.0, (0.1, 50.0)), Parameter::positive("k", "-", 0.5, (0.01, 5.0))],
        &FitOptions::closed_form(),
    );
    for (a, b) in free.parameters.iter().zip(&logarithm.parameters) {
        assert!((a.value / b.value - 1.0).abs() < 1e-8);
        assert!((a.standard_error.unwrap() / b.standard_error.unwrap() - 1.0).abs() < 1e-6);
    }
    assert!((free.correlation[0][1].unwrap() - logarithm.correlation[0][1].unwrap()).abs() < 1e-6);
}

/// A start in the very middle of all bounds is a start like any other.
#[test]
fn bug_a_start_in_the_middle_of_its_bounds_moves() {
    let parameters = [
        Parameter::positive("a", "-", 3.0, (3.0 / 50.0, 3.0 * 50.0)),
        Parameter::positive("k", "-", 0.5, (0.5 / 50.0, 0.5 * 50.0)),
    ];
    let found = fitted(&parameters, &FitOptions { tolerance: 1e-9, ..FitOptions::closed_form() });
    assert!((found.parameters[0].value - 5.0).abs() < 0.05, "{:?}", found.values());
}

#[test]
fn identity_the_same_input_gives_the_same_bits() {
    let parameters =
        [Parameter::positive("a", "-", 3.0, (0.1, 50.0)), Parameter::positive("k", "-", 0.5, (0.01, 5.0))];
    let options = FitOptions { starts: spread_starts(&parameters, 5), ..FitOptions::closed_form() };
    assert_eq!(options.starts.len(), 5);
    assert_eq!(fitted(&parameters, &options), fitted(&parameters, &options));
}

#[test]
fn limit_an_estimate_at_a_bound_says_so_and_has_no_standard_error() {
    let parameters =
        [Parameter::positive("a", "-", 3.0, (0.1, 4.0)), Parameter::positive("k", "-", 0.5, (0.01, 5.0))];
    let found = fitted(&parameters, &FitOptions::closed_form());
    assert!(found.hints.contains(&Hint::AtBound { name: "a".to_owned() }));
    assert!(found.parameters[0].value <= 4.0 && found.parameters[0].standard_error.is_none());
    assert!(found.parameters[1].standard_error.is_some());
}

/// Two parameters of which only the product is seen.
#[test]
fn limit_what_the_data_cannot_tell_is_said() {
    let y = readings();
    let parameters = [
        Parameter::positive("a", "-", 2.0, (0.1, 50.0)),
        Parameter::positive("b", "-", 2.0, (0.1, 50.0)),
        Parameter::positive("k", "-", 0.5, (0.01, 5.0)),
    ];
    let model = |p: &[f64]| {
        Ok(T.iter().zip(&y).map(|(&t, y)| decay(&[p[0] * p[1], p[2]], t) - y).collect::<Vec<f64>>())
    };
    let found = fit(&parameters, &model, &FitOptions::closed_form()).unwrap();
    let told = |h: &Hint| {
        matches!(h, Hint::Flat { .. })
            || matches!(h, Hint::Correlated { names, .. } if names.0 == "a" && names.1 == "b")
    };
    assert!(found.hints.iter().any(told), "{:?}", found.hints);
}

#[test]
fn limit_bad_input_is_an_error() {
    let p = [Parameter::positive("a", "kg", 100.0, (0.1, 50.0))];
    let flat = |_: &[f64]| Ok(vec![0.0; 5]);
    assert!(matches!(fit(&p, &flat, &FitOptions::default()), Err(FitError::OutOfRange { .. })));
    let p = [Parameter::positive("a", "kg", 1.0, (0.1, 50.0))];
    let options = FitOptions { starts: vec![vec![1.0, 2.0]], ..FitOptions::default() };
    assert!(matches!(fit(&p, &flat, &options), Err(FitError::WrongLength { .. })));
    let options = FitOptions { differences: Differences::Central { step: 0.0 }, ..FitOptions::default() };
    assert!(matches!(fit(&p, &flat, &options), Err(FitError::OutOfRange { .. })));
    let one = |p: &[f64]| Ok(vec![p[0] - 2.0]);
    assert!(matches!(fit(&p, &one, &FitOptions::default()), Err(FitError::TooFewReadings { .. })));
    let nan = |_: &[f64]| Ok(vec![f64::NAN; 5]);
    assert!(matches!(fit(&p, &nan, &FitOptions::default()), Err(FitError::NotFinite { .. })));
}

#[test]
fn identity_a_curve_gives_back_its_readings_and_a_cubic() {
    let cubic = |t: f64| 6.0 - 0.5 * t + 0.02 * t * t - 0.0003 * t * t * t;
    let readings: Vec<Reading> =
        T.iter().map(|&t| Reading { elapsed_s: t, moisture_dry_basis: cubic(t) }).collect();
    let curve = DryingCurve::new("cubic", readings.clone()).unwrap();
    for t in [0.0, 0.4, 1.0, 2.5, 5.1, 7.7, 11.9, 12.0] {
        assert!((curve.moisture_at(t) - cubic(t)).abs() < 1e-12);
    }
    assert!((curve.elapsed_at(cubic(4.0)).unwrap() - 4.0).abs() < 1e-12);
    assert!(matches!(curve.elapsed_at(0.1), Err(FitError::NotReached { .. })));
    let twice = vec![readings[1], readings[1]];
    assert!(matches!(DryingCurve::new("twice", twice), Err(FitError::TimesDoNotRise { .. })));
}
