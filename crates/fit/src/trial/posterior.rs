//! The posterior of trials' unknowns on the full drying model.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use fallrate_foods::Product;
use nalgebra::DMatrix;

use crate::FitError;
use crate::linear::inverse;
use crate::posterior::{Posterior, PosteriorOptions, Proposal, sample_residuals};
use crate::trial::fit::{LEAST_INFORMATION, TrialProgress, TrialStep, setting_of, value};
use crate::trial::{Trial, TrialFit, TrialFitOptions, Unknown};

/// Draws of the unknowns of trials.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialPosterior {
    /// Unknowns in the order of the draws.
    pub unknowns: Vec<Unknown>,
    /// Draws and diagnostics in the fitted coordinates (logarithms of factors).
    pub posterior: Posterior,
    logarithm: Vec<bool>,
}

impl TrialPosterior {
    /// Interval of an unknown in its own unit that holds a share of the draws; none for an unknown that was not fitted.
    #[must_use]
    pub fn interval(&self, unknown: Unknown, share: f64) -> Option<(f64, f64)> {
        let k = self.unknowns.iter().position(|u| *u == unknown)?;
        let (low, high) = self.posterior.parameters[k].interval(share);
        let back = |c: f64| if self.logarithm[k] { c.exp() } else { c };
        Some((back(low), back(high)))
    }
    /// Every draw of an unknown in its own unit, chain after chain; none for an unknown that was not fitted.
    #[must_use]
    pub fn draws(&self, unknown: Unknown) -> Option<Vec<f64>> {
        let k = self.unknowns.iter().position(|u| *u == unknown)?;
        let back = |c: f64| if self.logarithm[k] { c.exp() } else { c };
        Some(self.posterior.chains.iter().flatten().map(|p| back(p[k])).collect())
    }
}

/// Samples the posterior of fitted trials, beginning with Laplace's approximation at the fit. Flat within the bounds in the
/// fitted coordinates, with what is stated of the trials, and with what is believed of the product where
/// [`TrialFitOptions::count_beliefs`] says so; errors of the readings as the fit found them; the loads of the trays at their
/// best. `options` must be those of the fit.
///
/// # Errors
/// As [`crate::trial::fit_trials`] and [`sample_residuals`]; [`FitError::WrongLength`] for another fit's options.
pub fn sample_trials(
    product: &Product,
    trials: &[Trial],
    options: &TrialFitOptions<'_>,
    fit: &TrialFit,
    how: &PosteriorOptions<'_>,
) -> Result<TrialPosterior, FitError> {
    let reviewed = trials.iter().map(crate::trial::review_trial).collect::<Result<Vec<_>, _>>()?;
    let runs = AtomicUsize::new(0);
    let stopped = AtomicBool::new(false);
    let go_on = || !stopped.load(Ordering::Relaxed);
    let begin_run = || {
        let runs = runs.fetch_add(1, Ordering::Relaxed) + 1;
        let progress = TrialProgress { step: TrialStep::Sampling, runs };
        if options.observer.is_some_and(|o| !o(progress)) {
            stopped.store(true, Ordering::Relaxed);
        }
        go_on()
    };
    let mut setting = setting_of(product, reviewed, options, &go_on, &begin_run);
    let n = setting.beliefs.len();
    if fit.unknowns.len() != n {
        let found = fit.unknowns.len();
        return Err(FitError::WrongLength { what: "unknowns of the fit", found, expected: n });
    }
    setting.objective.noise = fit.noise_factor;
    setting.objective.tares = fit.tares.clone();
    let centre: Vec<f64> = fit.unknowns.iter().map(|u| u.belief.coordinate(u.value)).collect();
    // Information of data and of what counts as known; a direction without any keeps the belief's width.
    let mut information = DMatrix::from_fn(n, n, |i, j| fit.information[i][j]);
    for (i, prior) in setting.objective.priors.iter().enumerate() {
        information[(i, i)] +=
            prior.map_or(0.0, |p| p.1.powi(-2)) + 0.1 * setting.beliefs[i].deviation.powi(-2);
    }
    let failed = FitError::NoDecomposition { readings: n, parameters: n };
    let covariance = inverse(&information, LEAST_INFORMATION).ok_or(failed)?;
    let proposal = Proposal {
        centre,
        covariance: (0..n).map(|i| (0..n).map(|j| covariance[(i, j)]).collect()).collect(),
    };
    let bounds: Vec<(f64, f64)> =
        setting.beliefs.iter().map(|b| (b.coordinate(b.bounds.0), b.coordinate(b.bounds.1))).collect();
    let rows = |q: &[f64]| {
        setting.rows(&setting.beliefs.iter().zip(q).map(|(b, c)| value(b, *c)).collect::<Vec<f64>>())
    };
    let posterior = sample_residuals(&rows, &bounds, &proposal, how)?;
    Ok(TrialPosterior {
        unknowns: setting.beliefs.iter().map(|b| b.unknown).collect(),
        logarithm: setting.beliefs.iter().map(|b| b.scale == crate::Scale::Logarithm).collect(),
        posterior,
    })
}
