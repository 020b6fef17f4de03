//! Times the fit of three trials, six parameters, and its posterior: `cargo run --release -p fallrate-fit --example trial_speed`.
#![allow(clippy::unwrap_used, missing_docs, dead_code)]

#[path = "../tests/all/trial_case.rs"]
mod trial_case;

use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use fallrate_fit::posterior::PosteriorOptions;
use fallrate_fit::trial::{TrialFitOptions, TrialProgress, Unknown, fit_trials, sample_trials};
use trial_case::{apple, three};

fn main() {
    let product = apple();
    println!("| seed | with profiles | time, s | runs of the model |\n| ---: | --- | ---: | ---: |");
    for seed in 1..=5 {
        let trials = three(&product, seed);
        for profiles in [false, true] {
            let runs = AtomicUsize::new(0);
            let observer = |p: TrialProgress| {
                runs.fetch_max(p.runs, Ordering::Relaxed);
                true
            };
            let mut options = TrialFitOptions::of(&product, &Unknown::OF_PRODUCT);
            options.profiles = profiles;
            options.observer = Some(&observer);
            let start = Instant::now();
            fit_trials(&product, &trials, &options).unwrap();
            let word = if profiles { "yes" } else { "no" };
            println!(
                "| {seed} | {word} | {:.2} | {} |",
                start.elapsed().as_secs_f64(),
                runs.load(Ordering::Relaxed)
            );
        }
    }
    println!(
        "\n| seed | posterior, time, s | evaluations | smallest sample size | largest R-hat | taken, about the centre and near |\n| ---: | ---: | ---: | ---: | ---: | --- |"
    );
    for seed in 1..=3 {
        let trials = three(&product, seed);
        let mut options = TrialFitOptions::of(&product, &Unknown::OF_PRODUCT);
        options.profiles = false;
        let fit = fit_trials(&product, &trials, &options).unwrap();
        let start = Instant::now();
        let found = sample_trials(&product, &trials, &options, &fit, &PosteriorOptions::default()).unwrap();
        let own = &found.posterior;
        println!(
            "| {seed} | {:.1} | {} | {:.0} | {:.4} | {:.2}, {:.2}{} |",
            start.elapsed().as_secs_f64(),
            own.evaluations,
            own.parameters.iter().map(|p| p.effective_sample_size).fold(f64::INFINITY, f64::min),
            own.parameters.iter().map(|p| p.r_hat).fold(0.0, f64::max),
            own.taken.0,
            own.taken.1,
            if own.converged { "" } else { ", not converged" }
        );
    }
}
