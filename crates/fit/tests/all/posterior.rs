//! Posteriors: diagnostics against ArviZ, known distributions, and the drying model.

use std::cell::Cell;
use std::collections::BTreeMap;

use fallrate_fit::FitError;
use fallrate_fit::posterior::{
    Posterior, PosteriorFault, PosteriorOptions, PosteriorProgress, Proposal, effective_sample_size,
    rank_r_hat, sample, sample_residuals, tail_sample_size,
};
use fallrate_fit::stats::normal_quantile;
use fallrate_fit::trial::{TrialFitOptions, Unknown, fit_trials, sample_trials};

use crate::trial_case::{PLANS, TRUTH, apple, noisy, truth};

#[test]
fn val_diagnostics_of_chains() {
    let table = include_str!("../../../../reference/fit/chains.csv");
    let mut chains: BTreeMap<String, Vec<Vec<f64>>> = BTreeMap::new();
    for row in csv::Reader::from_reader(table.as_bytes()).records() {
        let row = row.unwrap();
        chains
            .entry(row[0].to_owned())
            .or_default()
            .push(row[2].split(' ').map(|v| v.parse().unwrap()).collect());
    }
    let expected = include_str!("../../../../reference/fit/chain_diagnostics.csv");
    let (mut worst, mut count) = (0.0_f64, 0);
    for row in csv::Reader::from_reader(expected.as_bytes()).records() {
        let row = row.unwrap();
        let own = &chains[&row[0]];
        let found = [rank_r_hat(own), effective_sample_size(own), tail_sample_size(own)];
        for (k, value) in found.into_iter().enumerate() {
            let e = (value / row[k + 1].parse::<f64>().unwrap() - 1.0).abs();
            assert!(e < 1e-6, "{} {k}: {value} {}", &row[0], &row[k + 1]);
            worst = worst.max(e);
            count += 1;
        }
    }
    println!(
        "VALIDATION|fit|R-hat and effective sample sizes (bulk, tail) of eight sets of chains|arviz 0.23.4 (reference/scripts/chain_diagnostics.py)|{count}|{worst:.3e}|relative|1e-6|COMPUTED"
    );
    assert!(rank_r_hat(&[vec![1.0; 4]]).is_nan() && effective_sample_size(&[]).is_nan());
    assert!(tail_sample_size(&[vec![f64::NAN; 20]]).is_nan());
}

fn run(
    density: &(dyn Fn(&[f64]) -> Result<f64, FitError> + Sync),
    centre: &[f64],
    variances: &[f64],
) -> Posterior {
    let n = centre.len();
    let covariance =
        (0..n).map(|i| (0..n).map(|j| if i == j { variances[i] } else { 0.0 }).collect()).collect();
    let found =
        sample(density, &Proposal { centre: centre.to_vec(), covariance }, &PosteriorOptions::default())
            .unwrap();
    assert!(
        found.converged,
        "{:?} {:?}",
        found.taken,
        found
            .parameters
            .iter()
            .map(|p| (p.mean, p.deviation, p.r_hat, p.effective_sample_size))
            .collect::<Vec<_>>()
    );
    assert!(found.parameters.iter().all(|p| p.effective_sample_size >= 400.0 && p.r_hat < 1.01));
    found
}

/// Distance of a mean from the true one over what so many independent draws scatter.
fn off(found: f64, truth: f64, deviation: f64, size: f64) -> f64 {
    (found - truth).abs() / (deviation / size.sqrt())
}

/// Known distributions, all begun with a wrong centre and shape: a correlated normal one in five dimensions, a bent one
/// (y about x^2/2), a half-normal one at its bound, and one with heavy tails. Means and quantiles within four times the scatter
/// of as many independent draws as the effective sample size says.
#[test]
fn table_known_posteriors() {
    let mut worst = 0.0_f64;
    let mut count = 0;
    let mut check = |name: &str, z: f64| {
        assert!(z < 4.0, "{name}: {z}");
        worst = worst.max(z);
        count += 1;
    };
    // x1 normal, each next 0.9 of the one before and a little of its own: variance 1, correlation 0.9 to the power of the gap.
    let chain = |x: &[f64]| {
        Ok(-0.5 * (x[0] * x[0] + (1..5).map(|i| (x[i] - 0.9 * x[i - 1]).powi(2) / 0.19).sum::<f64>()))
    };
    let found = run(&chain, &[0.5, -0.5, 0.5, 0.0, 1.0], &[0.3; 5]);
    for p in &found.parameters {
        check("normal, mean", off(p.mean, 0.0, 1.0, p.effective_sample_size));
        // Variance of a sample variance: 2/n.
        check("normal, variance", off(p.deviation.powi(2), 1.0, 2.0_f64.sqrt(), p.effective_sample_size));
    }
    let product: f64 = found.chains.iter().flatten().map(|x| x[0] * x[4]).sum::<f64>()
        / found.chains.iter().map(Vec::len).sum::<usize>() as f64;
    check(
        "normal, covariance",
        off(
            product,
            0.9_f64.powi(4),
            (1.0 + 0.9_f64.powi(8)).sqrt(),
            found.parameters[0].effective_sample_size,
        ),
    );
    // y = x^2/2 + e/2: mean 1/2, variance 3/4.
    let bent = |x: &[f64]| Ok(-0.5 * (x[0] * x[0] + ((x[1] - 0.5 * x[0] * x[0]) / 0.5).powi(2)));
    let found = run(&bent, &[0.0, 0.0], &[1.0, 0.25]);
    check(
        "bent, mean of x",
        off(found.parameters[0].mean, 0.0, 1.0, found.parameters[0].effective_sample_size),
    );
    check(
        "bent, mean of y",
        off(found.parameters[1].mean, 0.5, 0.75_f64.sqrt(), found.parameters[1].effective_sample_size),
    );
    // Half-normal: quantiles are those of the normal distribution.
    let half = |x: &[f64]| Ok(if x[0] > 0.0 { -0.5 * x[0] * x[0] } else { f64::NEG_INFINITY });
    let found = run(&half, &[0.3], &[0.2]);
    for share in [0.1, 0.5, 0.9] {
        let q = normal_quantile(0.5 + 0.5 * share);
        let density = 2.0 * (-0.5 * q * q).exp() / (2.0 * std::f64::consts::PI).sqrt();
        let scatter = (share * (1.0_f64 - share)).sqrt() / density;
        check(
            "half-normal, quantile",
            off(found.parameters[0].quantile(share), q, scatter, found.parameters[0].effective_sample_size),
        );
    }
    // Student's t of 3 degrees: quartiles 0.76489 either side (any table).
    let heavy = |x: &[f64]| Ok(-2.0 * (x[0] * x[0] / 3.0).ln_1p());
    let found = run(&heavy, &[2.0], &[1.0]);
    let (low, high) = found.parameters[0].interval(0.5);
    let scatter = (0.75_f64 * 0.25).sqrt() / 0.2343;
    for q in [-low, high] {
        check("heavy tails, quartile", off(q, 0.764_892, scatter, found.parameters[0].effective_sample_size));
    }
    println!(
        "VALIDATION|fit|posteriors of known distributions (normal in 5 dimensions, bent, at a bound, heavy tails): means, variances, quantiles|their exact values|{count}|{worst:.3e}|scatter of as many independent draws|4|COMPUTED"
    );
}

/// A decay with few noisy readings, whose posterior is skew: quantiles by chains, and by chains on an emulator of the residuals,
/// against plain integration over a grid; the same with the rate cut off at a bound.
#[test]
fn table_a_skew_posterior_against_integration() {
    let data = [(0.5, 0.83), (1.0, 0.74), (2.0, 0.39), (4.0, 0.31)];
    let rows = |p: &[f64]| -> Result<Vec<f64>, FitError> {
        Ok(data.iter().map(|(t, y)| (p[0].exp() * (-p[1].exp() * t).exp() - y) / 0.12).collect())
    };
    let mut worst = [0.0_f64; 2];
    for highest in [3.0, -1.1] {
        let bounds = [(-3.0, 3.0), (-3.0, highest)];
        let density = |p: &[f64]| {
            let inside = p.iter().zip(&bounds).all(|(v, (low, high))| v > low && v < high);
            Ok(if inside { -0.5 * rows(p)?.iter().map(|r| r * r).sum::<f64>() } else { f64::NEG_INFINITY })
        };
        let at = |j: usize| -3.0 + 6.0 * (j as f64 + 0.5) / 1200.0;
        let line = |k: f64| {
            (0..600).map(|i| density(&[-3.0 + (f64::from(i) + 0.5) * 0.01, k]).unwrap().exp()).sum::<f64>()
        };
        let marginal: Vec<f64> = (0..1200).map(|j| line(at(j))).collect();
        let total: f64 = marginal.iter().sum();
        let proposal =
            Proposal { centre: vec![0.0, -1.2], covariance: vec![vec![0.01, 0.0], vec![0.0, 0.01]] };
        let plain = sample(&density, &proposal, &PosteriorOptions::default()).unwrap();
        let emulated = sample_residuals(&rows, &bounds, &proposal, &PosteriorOptions::default()).unwrap();
        assert!(plain.converged && emulated.converged);
        assert!(emulated.taken.0 > 0.5 && emulated.evaluations < plain.evaluations, "{:?}", emulated.taken);
        for (way, found) in [plain, emulated].iter().enumerate() {
            let own = &found.parameters[1];
            for share in [0.1, 0.5, 0.9] {
                let mut sum = 0.0;
                let j = marginal
                    .iter()
                    .position(|m| {
                        sum += m / total;
                        sum >= share
                    })
                    .unwrap();
                let height = marginal[j] / total * 200.0;
                let scatter = (share * (1.0_f64 - share)).sqrt() / height;
                let z = off(own.quantile(share), at(j), scatter, own.effective_sample_size);
                assert!(z < 4.0, "{way} {share}: {} {} {z}", own.quantile(share), at(j));
                worst[way] = worst[way].max(z);
            }
        }
    }
    for (way, name) in ["chains", "chains on an emulator"].into_iter().enumerate() {
        println!(
            "VALIDATION|fit|skew posterior of a decay, free and at a bound, by {name}: quantiles|integration over a grid|6|{:.3e}|scatter of as many independent draws|4|COMPUTED",
            worst[way]
        );
    }
}

/// A trial on the full model: the draws converge, agree with the fit where the fit is nearly linear, and hold the truth.
#[test]
fn identity_posterior_of_a_trial() {
    let product = apple();
    let unknowns = [Unknown::Diffusivity, Unknown::Exchange];
    let mut options = TrialFitOptions::of(&product, &unknowns);
    for b in &mut options.beliefs {
        b.value = TRUTH.iter().find(|t| t.0 == b.unknown).unwrap().1;
    }
    options.starts = 1;
    options.profiles = false;
    let trials = [noisy(&product, "warm", &PLANS[0], 31, 0)];
    let fit = fit_trials(&product, &trials, &options).unwrap();
    let found = sample_trials(&product, &trials, &options, &fit, &PosteriorOptions::default()).unwrap();
    assert!(found.posterior.converged, "{:?}", found.posterior.taken);
    assert_eq!(found.unknowns.len(), 4);
    for u in unknowns {
        let (low, high) = found.interval(u, 0.999).unwrap();
        assert!(low < truth(u) && truth(u) < high);
        let k = found.unknowns.iter().position(|x| *x == u).unwrap();
        let (draws, own) = (&found.posterior.parameters[k], fit.of(u).unwrap());
        // Scatter of a standard deviation from 400 draws is 3.5 %.
        assert!((draws.deviation / own.coordinate_error.unwrap() - 1.0).abs() < 0.15, "{u:?}");
        assert!((draws.mean - own.value.ln()).abs() < 0.25 * draws.deviation, "{u:?}");
        assert_eq!(found.draws(u).unwrap().len(), found.posterior.chains.iter().map(Vec::len).sum::<usize>());
    }
    assert!(found.interval(Unknown::WaterHeld, 0.5).is_none());
}

#[test]
fn identity_progress_cancel_and_the_same_draws() {
    let density = |x: &[f64]| Ok(-0.5 * (x[0] * x[0] + x[1] * x[1]));
    let proposal = Proposal { centre: vec![0.0, 0.0], covariance: vec![vec![1.0, 0.0], vec![0.0, 1.0]] };
    let one = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| sample(&density, &proposal, &PosteriorOptions::default()).unwrap())
    };
    assert_eq!(one(1), one(3));
    let rounds = Cell::new(0);
    let observer = |_: PosteriorProgress| {
        rounds.set(rounds.get() + 1);
        rounds.get() < 3
    };
    let options = PosteriorOptions { observer: Some(&observer), ..PosteriorOptions::default() };
    assert!(matches!(sample(&density, &proposal, &options), Err(FitError::Cancelled)));
    assert_eq!(rounds.get(), 3);
    // Two separate humps cannot be told from so few draws: it says so.
    let humps = |x: &[f64]| {
        Ok((-0.5 * ((x[0] - 40.0) / 0.1_f64).powi(2))
            .exp()
            .max((-0.5 * ((x[0] + 40.0) / 0.1_f64).powi(2)).exp())
            .ln())
    };
    let options = PosteriorOptions { most_draws: 300, ..PosteriorOptions::default() };
    let split = Proposal { centre: vec![40.0], covariance: vec![vec![1600.0]] };
    assert!(!sample(&humps, &split, &options).unwrap().converged);
}

#[test]
fn refuse_impossible_options() {
    let density = |_: &[f64]| Ok(0.0);
    let proposal = Proposal { centre: vec![0.0], covariance: vec![vec![1.0]] };
    let fault = |p: &Proposal, o: &PosteriorOptions<'_>| match sample(&density, p, o) {
        Err(FitError::Posterior(f)) => f,
        other => panic!("{other:?}"),
    };
    let usual = PosteriorOptions::default;
    assert!(matches!(
        fault(&proposal, &PosteriorOptions { chains: 1, ..usual() }),
        PosteriorFault::BadOption { .. }
    ));
    assert!(matches!(
        fault(&proposal, &PosteriorOptions { r_hat: 2.0, ..usual() }),
        PosteriorFault::BadOption { .. }
    ));
    assert!(matches!(
        fault(&proposal, &PosteriorOptions { most_draws: 0, ..usual() }),
        PosteriorFault::BadOption { .. }
    ));
    assert!(matches!(
        fault(&Proposal { covariance: vec![vec![-1.0]], ..proposal.clone() }, &usual()),
        PosteriorFault::NoShape { .. }
    ));
    assert!(matches!(
        fault(&Proposal { covariance: vec![], ..proposal.clone() }, &usual()),
        PosteriorFault::NoShape { .. }
    ));
    let nowhere = |_: &[f64]| Err(FitError::NotFinite { index: 0, value: f64::NAN });
    assert!(matches!(
        sample(&nowhere, &proposal, &usual()),
        Err(FitError::Posterior(PosteriorFault::NoDensityAtCentre))
    ));
}
