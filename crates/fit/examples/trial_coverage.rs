//! Prints bias and coverage of replicate trials as Markdown: `cargo run -p fallrate-fit --example trial_coverage`.
#![allow(clippy::unwrap_used, missing_docs, dead_code)]

#[path = "../tests/all/trial_case.rs"]
mod trial_case;

use fallrate_fit::stats::share_interval;
use fallrate_fit::trial::{TrialFitOptions, Unknown, fit_trials};
use rayon::prelude::*;
use trial_case::{PLANS, TRUTH, apple, noisy};

const REPLICATES: usize = 200;
const UNKNOWNS: [Unknown; 4] =
    [Unknown::Diffusivity, Unknown::ActivationEnergy, Unknown::DiffusivityMoisture, Unknown::Exchange];
const LEVELS: [f64; 2] = [0.8, 0.95];

fn truth(unknown: Unknown) -> f64 {
    TRUTH.iter().find(|t| t.0 == unknown).unwrap().1
}

/// Of one replicate: miss in standard errors, and whether the intervals hold.
fn replicate(stream: u64) -> Vec<(f64, f64, [bool; 2])> {
    let product = apple();
    let trials = [0, 1].map(|k| noisy(&product, &format!("{k}"), &PLANS[k], 77, 2 * stream + k as u64));
    let mut options = TrialFitOptions::of(&product, &UNKNOWNS);
    for b in &mut options.beliefs {
        if !UNKNOWNS.contains(&b.unknown) {
            b.value = truth(b.unknown);
        }
    }
    options.starts = 1;
    let fit = fit_trials(&product, &trials, &options).unwrap();
    let one = |u: &Unknown| {
        let f = fit.of(*u).unwrap();
        let miss = f.belief.coordinate(f.value) - f.belief.coordinate(truth(*u));
        let holds = LEVELS.map(|l| {
            let (low, high) = fit.interval(*u, l).unwrap();
            low <= truth(*u) && truth(*u) <= high
        });
        (miss, f.coordinate_error.unwrap(), holds)
    };
    UNKNOWNS.iter().map(one).collect()
}

fn main() {
    let all: Vec<Vec<(f64, f64, [bool; 2])>> =
        (0..REPLICATES as u64).into_par_iter().map(replicate).collect();
    println!(
        "Two trials (60 degC and 48 degC, two trays, nine weighings each, scale 2 g, raw moisture known to 0.5 points, thickness to 2 %), {REPLICATES} times with new noise and new lots. Truth: the drying model on a finer grid. Four parameters fitted; a joint binomial test at 1 % over the eight shares (each at 99.875 %).\n"
    );
    println!(
        "| parameter | bias, standard errors of the mean | mean standard error over scatter | share of 80 % intervals that hold | 95 % intervals | allowed |\n| --- | ---: | ---: | ---: | ---: | --- |"
    );
    let mut sound = true;
    let n = REPLICATES as f64;
    for (k, u) in UNKNOWNS.iter().enumerate() {
        let misses: Vec<f64> = all.iter().map(|r| r[k].0).collect();
        let mean = misses.iter().sum::<f64>() / n;
        let scatter = (misses.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        let error = all.iter().map(|r| r[k].1).sum::<f64>() / n;
        let mut shares = Vec::new();
        for (l, level) in LEVELS.into_iter().enumerate() {
            let held = all.iter().filter(|r| r[k].2[l]).count();
            let interval = share_interval(held, REPLICATES, 1.0 - 0.01 / 8.0).unwrap();
            sound &= interval.low <= level && interval.high >= level;
            shares.push(interval);
        }
        println!(
            "| {} | {:+.2} | {:.3} | {:.3} | {:.3} | {} |",
            u.name_and_unit().0,
            mean / (scatter / n.sqrt()),
            error / scatter,
            shares[0].share,
            shares[1].share,
            if shares.iter().zip(LEVELS).all(|(s, l)| s.low <= l && s.high >= l) { "yes" } else { "**no**" }
        );
    }
    println!("\nJoint test: {}.", if sound { "passed" } else { "**failed**" });
}
