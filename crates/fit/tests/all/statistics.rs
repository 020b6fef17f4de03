//! Quantiles, exact limits and tests of residuals against SciPy.

use fallrate_fit::stats::{
    Draws, chi_squared_quantile, f_beyond, lag_one, normal_quantile, residual_tests, runs_test,
    share_interval, student_quantile,
};

const SOURCE: &str =
    "scipy 1.17.1; the runs test by listing every order (reference/scripts/statistics_values.py)";

/// Signs with the given numbers of either and the given number of runs.
fn signs(above: usize, below: usize, runs: usize) -> Vec<f64> {
    let (ups, downs) = (runs.div_ceil(2), runs / 2);
    // The sign with the more runs begins; it must have enough of them.
    let (first, second, swap) =
        if above >= ups && below >= downs { (above, below, 1.0) } else { (below, above, -1.0) };
    let mut left = [first, second];
    let mut list = Vec::new();
    for r in 0..runs {
        let own = r % 2;
        let later = (0..runs).skip(r + 1).filter(|k| k % 2 == own).count();
        let take = if later == 0 { left[own] } else { 1 };
        list.extend(std::iter::repeat_n(if own == 0 { swap } else { -swap }, take));
        left[own] -= take;
    }
    list
}

#[test]
fn val_quantiles_limits_and_runs() {
    let table = include_str!("../../../../reference/fit/statistics.csv");
    let (mut worst, mut count) = (0.0_f64, 0);
    for row in csv::Reader::from_reader(table.as_bytes()).records() {
        let row = row.unwrap();
        let n = |i: usize| row[i].parse::<f64>().unwrap_or(f64::NAN);
        let (a, b, c, expected) = (n(1), n(2), n(3), n(4));
        let whole = |v: f64| v as usize;
        let found = match &row[0] {
            "normal_quantile" => normal_quantile(a),
            "student_quantile" => student_quantile(a, b),
            "chi_squared_quantile" => chi_squared_quantile(a, b),
            "f_beyond" => f_beyond(a, b, c),
            "share_low" => share_interval(whole(a), whole(b), c).unwrap().low,
            "share_high" => share_interval(whole(a), whole(b), c).unwrap().high,
            name => {
                let test = runs_test(&signs(whole(a), whole(b), whole(c)));
                assert_eq!((test.above, test.below, test.runs), (whole(a), whole(b), whole(c)));
                if name == "runs_few" { test.few_probability } else { test.many_probability }
            }
        };
        // Close to 0 (the median) a relative error means nothing.
        let error = (found - expected).abs() / expected.abs().max(1e-3);
        assert!(error < 1e-8, "{row:?}: {found}");
        worst = worst.max(error);
        count += 1;
    }
    println!(
        "VALIDATION|fit|quantiles, tail probabilities, exact binomial limits, runs test|{SOURCE}|{count}|{worst:.3e}|relative|1e-8|COMPUTED"
    );
}

#[test]
fn limit_arguments_without_a_value_are_no_panic() {
    assert!(normal_quantile(0.0).is_nan() && normal_quantile(f64::NAN).is_nan());
    assert!(student_quantile(0.5, -1.0).is_nan() && chi_squared_quantile(1.0, 3.0).is_nan());
    assert!(f_beyond(-1.0, 2.0, 3.0).is_nan());
    assert!(share_interval(3, 2, 0.9).is_err() && share_interval(0, 0, 0.9).is_err());
    assert!(share_interval(1, 2, 1.0).is_err());
    let nothing = residual_tests(&[]);
    assert_eq!((nothing.runs.runs, nothing.lag_one.probability), (0, 1.0));
    assert!(!nothing.another_shape() && !residual_tests(&[0.0; 6]).another_shape());
}

/// Independent draws fail each test about as often as its level says; a slow swing is always found.
#[test]
fn identity_tests_of_residuals_keep_their_level() {
    let (mut few, mut lag) = (0, 0);
    for stream in 0..2000 {
        let mut draws = Draws::new(5, stream);
        let e: Vec<f64> = (0..40).map(|_| draws.normal()).collect();
        few += usize::from(runs_test(&e).few_probability < 0.05);
        lag += usize::from(lag_one(&e).probability < 0.05);
        let swing: Vec<f64> = e.iter().enumerate().map(|(i, e)| (i as f64 * 0.25).sin() + 0.2 * e).collect();
        assert!(residual_tests(&swing).another_shape());
    }
    // The exact test is discrete, so its level lies below 5 %; both intervals are exact at 99.9 %.
    let share = share_interval(few, 2000, 0.999).unwrap();
    assert!(share.high > 0.015 && share.low < 0.05, "{share:?}");
    let share = share_interval(lag, 2000, 0.999).unwrap();
    assert!(share.low < 0.05 && share.high > 0.03, "{share:?}");
}

#[test]
fn identity_draws_repeat_and_streams_differ() {
    let take = |seed, stream| {
        let mut d = Draws::new(seed, stream);
        (d.even(), d.normal(), d.below(10))
    };
    assert_eq!(take(1, 2), take(1, 2));
    assert_ne!(take(1, 2), take(1, 3));
    assert_eq!(Draws::new(0, 0).below(0), 0);
}
