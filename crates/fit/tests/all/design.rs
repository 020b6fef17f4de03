//! Choosing measurements: published optima, exhaustive search, and the fit that follows.

use fallrate_fit::FitError;
use fallrate_fit::design::{DesignProblem, choose, expected_errors};
use fallrate_fit::trial::{
    FURTHER, Further, TrialFitOptions, Unknown, WeighingChoice, fit_trials, plan_weighings, rank_further,
};

use crate::trial_case::{PLANS, Plan, TRUTH, TRUTH_GRID, apple, exact, noisy};

/// Two readings of the middle product of two reactions in a row, y = a/(a-b) (exp(-b t) - exp(-a t)) at a = 0.7, b = 0.2:
/// best at 1.23 and 6.86. Box and Lucas, Design of experiments in non-linear situations, Biometrika 46 (1959) 77-90, the
/// figures from memory.
#[test]
fn table_box_and_lucas() {
    let y = |a: f64, b: f64, t: f64| a / (a - b) * ((-b * t).exp() - (-a * t).exp());
    let times: Vec<f64> = (0..=2000).map(|i| f64::from(i) * 0.01).collect();
    let slope = |t: f64| {
        let h = 1e-5;
        vec![
            (y(0.7 + h, 0.2, t) - y(0.7 - h, 0.2, t)) / (2.0 * h),
            (y(0.7, 0.2 + h, t) - y(0.7, 0.2 - h, t)) / (2.0 * h),
        ]
    };
    let problem = DesignProblem {
        candidates: times.iter().map(|t| slope(*t)).collect(),
        deviations: vec![1e4, 1e4],
        interest: 2,
        fixed: vec![],
    };
    let design = choose(&problem, 2, |_, _| true).unwrap();
    let mut best: Vec<f64> = design.chosen.iter().map(|c| times[c.0]).collect();
    best.sort_by(f64::total_cmp);
    let worst = (best[0] - 1.23).abs().max((best[1] - 6.86).abs());
    assert!(worst < 0.015, "{best:?}");
    println!(
        "VALIDATION|fit|best times of two readings, two reactions in a row|Box and Lucas 1959, Biometrika 46, 77-90|2|{worst:.3e}|time|0.015|MEMORY"
    );
}

/// Against trying every set: the best five of fourteen candidates with three unknowns, one of them not of interest.
#[test]
fn identity_against_every_set() {
    let times: Vec<f64> = (0..14).map(|i| f64::from(i) * 0.7).collect();
    let candidates: Vec<Vec<f64>> = times
        .iter()
        .map(|&t| {
            let e = (-0.4 * t).exp();
            vec![20.0 * e, -20.0 * t * e, 20.0]
        })
        .collect();
    let problem = DesignProblem { candidates, deviations: vec![0.5, 0.3, 0.2], interest: 2, fixed: vec![0] };
    let volume = |set: &[usize]| {
        // Of the covariance of the two of interest: by leaving one-by-one errors and their correlation to the inverse.
        let mut m = [[0.0_f64; 3]; 3];
        for (i, d) in problem.deviations.iter().enumerate() {
            m[i][i] = d.powi(-2);
        }
        for &s in [0].iter().chain(set) {
            for i in 0..3 {
                for j in 0..3 {
                    m[i][j] += problem.candidates[s][i] * problem.candidates[s][j];
                }
            }
        }
        let own = |i: usize, j: usize| m[i][j] - m[i][2] * m[2][j] / m[2][2];
        own(0, 0) * own(1, 1) - own(0, 1) * own(1, 0)
    };
    let mut best = (0.0, vec![]);
    for mask in 0_u32..1 << 14 {
        if mask.count_ones() == 4 && mask & 1 == 0 {
            let set: Vec<usize> = (0..14).filter(|i| mask >> i & 1 == 1).collect();
            let v = volume(&set);
            if v > best.0 {
                best = (v, set);
            }
        }
    }
    let design = choose(&problem, 4, |_, _| true).unwrap();
    let mut found: Vec<usize> = design.chosen.iter().map(|c| c.0).collect();
    found.sort_unstable();
    assert_eq!(found, best.1);
    let all: f64 = design.chosen.iter().map(|c| c.1).sum();
    assert!((all - (volume(&found) / volume(&[])).ln()).abs() < 1e-9);
    for (a, b) in design.after.iter().zip(expected_errors(&problem, &found).unwrap()) {
        assert!((a / b - 1.0).abs() < 1e-12);
    }
}

/// A plan of eight weighings tells more than eight at even distances, and the fit of a trial weighed so has about the errors
/// that were promised.
#[test]
fn identity_the_plan_keeps_its_promise() {
    let product = apple();
    let unknowns = [Unknown::Diffusivity, Unknown::DiffusivityMoisture, Unknown::Exchange];
    let mut options = TrialFitOptions::of(&product, &unknowns);
    for b in &mut options.beliefs {
        b.value = TRUTH.iter().find(|t| t.0 == b.unknown).unwrap().1;
    }
    options.starts = 1;
    options.profiles = false;
    options.count_beliefs = true;
    let mut trial = exact(&product, "planned", &PLANS[0]);
    trial.trays.iter_mut().for_each(|t| t.weighings.clear());
    let choice = WeighingChoice { count: 8, until_s: 25_200.0, every_s: 900.0, load_kg: 1.5 };
    let plan = plan_weighings(&product, &trial, &options, &choice).unwrap();
    assert_eq!(plan.weighings.len(), 8);
    assert!(plan.weighings.iter().all(|w| w.gain > 0.0 && w.elapsed_s > 0.0 && w.expected_kg > 0.1));
    let volume = |list: &[fallrate_fit::trial::ExpectedError]| list.iter().map(|e| e.after.ln()).sum::<f64>();
    assert!(volume(&plan.errors) < volume(&plan.evenly));
    // Weigh so.
    for tray in &mut trial.trays {
        let own = plan.weighings.iter().filter(|w| w.tray == tray.name).map(|w| w.elapsed_s);
        let times: Vec<f64> = std::iter::once(0.0).chain(own).collect();
        tray.weighings = times
            .into_iter()
            .map(|elapsed_s| fallrate_fit::trial::Weighing { elapsed_s, gross_kg: 1.0 })
            .collect();
    }
    let ratios =
        fallrate_fit::trial::expected_readings(&product, &trial, &TRUTH, TRUTH_GRID).unwrap().weight_ratios;
    for (tray, ratios) in trial.trays.iter_mut().zip(&ratios) {
        for (w, r) in tray.weighings.iter_mut().zip(ratios) {
            w.gross_kg = tray.tare_kg + 1.5 * r;
        }
    }
    let fit = fit_trials(&product, &[trial], &options).unwrap();
    let mut worst = 0.0_f64;
    for e in &plan.errors {
        let found = fit.of(e.unknown).unwrap().coordinate_error.unwrap();
        worst = worst.max((found / e.after - 1.0).abs());
        assert!(e.after < e.before);
    }
    assert!(worst < 0.1, "{worst}");
}

/// After a trial at one temperature another temperature adds most for the activation energy, and an honest forecast of its
/// error is kept by the fit of both.
#[test]
fn identity_the_second_trial_that_adds_most() {
    let product = apple();
    let unknowns = [Unknown::Diffusivity, Unknown::ActivationEnergy, Unknown::DiffusivityMoisture];
    let mut options = TrialFitOptions::of(&product, &unknowns);
    for b in &mut options.beliefs {
        b.value = TRUTH.iter().find(|t| t.0 == b.unknown).unwrap().1;
    }
    options.starts = 1;
    options.profiles = false;
    let warm = noisy(&product, "warm", &PLANS[0], 21, 0);
    let fit = fit_trials(&product, std::slice::from_ref(&warm), &options).unwrap();
    let ranked = rank_further(&product, std::slice::from_ref(&warm), &options, &fit, &FURTHER).unwrap();
    assert!(matches!(ranked[0].further, Further::OtherTemperature { .. }), "{ranked:?}");
    assert!(ranked.windows(2).all(|w| w[0].gain >= w[1].gain) && ranked.iter().all(|r| r.gain > -1e-9));
    let of = |further: Further| ranked.iter().find(|r| r.further == further).unwrap().errors[1].after;
    assert!(of(Further::OtherTemperature { kelvin: -12.0 }) < 0.6 * of(Further::Repeat));
    let cool = Plan { temperature_c: 48.0, hours: 9.0, ..PLANS[0] };
    let both = fit_trials(&product, &[warm, noisy(&product, "cool", &cool, 21, 1)], &options).unwrap();
    let found = both.of(Unknown::ActivationEnergy).unwrap().coordinate_error.unwrap();
    let promised = of(Further::OtherTemperature { kelvin: -12.0 });
    assert!((found / promised - 1.0).abs() < 0.35, "{found} {promised}");
}

#[test]
fn refuse_impossible_choices() {
    let problem = DesignProblem {
        candidates: vec![vec![1.0, 0.0]],
        deviations: vec![1.0, 1.0],
        interest: 2,
        fixed: vec![],
    };
    assert!(choose(&problem, 1, |_, _| true).is_ok());
    let refused = |change: &dyn Fn(&mut DesignProblem), count| {
        let mut p = problem.clone();
        change(&mut p);
        choose(&p, count, |_, _| true).unwrap_err()
    };
    assert!(matches!(refused(&|_| (), 2), FitError::OutOfRange { .. }));
    assert!(matches!(refused(&|p| p.interest = 0, 1), FitError::OutOfRange { .. }));
    assert!(matches!(refused(&|p| p.deviations[0] = 0.0, 1), FitError::OutOfRange { .. }));
    assert!(matches!(refused(&|p| p.deviations.push(1.0), 1), FitError::WrongLength { .. }));
    let product = apple();
    let trial = exact(&product, "t", &PLANS[0]);
    let options = TrialFitOptions::of(&product, &[Unknown::Diffusivity]);
    let good = WeighingChoice { count: 4, until_s: 7200.0, every_s: 1800.0, load_kg: 1.0 };
    for bad in [
        WeighingChoice { count: 0, ..good.clone() },
        WeighingChoice { until_s: -1.0, ..good.clone() },
        WeighingChoice { every_s: 1.0, ..good.clone() },
        WeighingChoice { load_kg: 0.0, ..good.clone() },
    ] {
        assert!(matches!(plan_weighings(&product, &trial, &options, &bad), Err(FitError::OutOfRange { .. })));
    }
    let mut empty = trial.clone();
    empty.trays.clear();
    assert!(plan_weighings(&product, &empty, &options, &good).is_err());
}
