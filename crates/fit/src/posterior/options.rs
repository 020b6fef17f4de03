//! What goes into sampling and what comes out of it.

use crate::FitError;
use crate::posterior::diagnose::quantile_of_sorted;

/// Logarithm of an unnormalised density; an error other than a cancel counts as 0 density.
pub type Density<'a> = dyn Fn(&[f64]) -> Result<f64, FitError> + Sync + 'a;

/// Where the search begins: best values and their covariance (Laplace's approximation).
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// Best values.
    pub centre: Vec<f64>,
    /// Covariance, row by row.
    pub covariance: Vec<Vec<f64>>,
}

/// How far sampling has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PosteriorProgress {
    /// Still learning the shape of the steps.
    pub warming_up: bool,
    /// Draws of each chain so far, without the warm-up.
    pub draws: usize,
    /// Smallest effective sample size over the parameters; 0 in the warm-up.
    pub effective_sample_size: f64,
    /// Largest R-hat; infinite in the warm-up.
    pub r_hat: f64,
}

/// Told about the progress after every round; returning false cancels.
pub type PosteriorObserver<'a> = dyn Fn(PosteriorProgress) -> bool + 'a;

/// How the posterior is sampled.
pub struct PosteriorOptions<'a> {
    /// Chains, 2 to 16.
    pub chains: usize,
    /// Sampling ends where every parameter has this effective sample size (bulk and tails), 50 to 1e5,
    pub effective_sample_size: f64,
    /// and an R-hat below this, 1.001 to 1.2,
    pub r_hat: f64,
    /// or after this many draws of a chain (warm-up aside), 200 to 1e6: then it says that it has not converged.
    pub most_draws: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Progress and cancel.
    pub observer: Option<&'a PosteriorObserver<'a>>,
}

impl Default for PosteriorOptions<'_> {
    fn default() -> Self {
        Self {
            chains: 4,
            effective_sample_size: 400.0,
            r_hat: 1.01,
            most_draws: 20_000,
            seed: 20_261_120,
            observer: None,
        }
    }
}

/// One parameter of a posterior.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnParameter {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub deviation: f64,
    /// R-hat, rank-normalised.
    pub r_hat: f64,
    /// Effective sample size of the middle and of the tails, the smaller.
    pub effective_sample_size: f64,
    pub(crate) sorted: Vec<f64>,
}

impl DrawnParameter {
    /// Value below which a share (between 0 and 1) of the draws lies.
    #[must_use]
    pub fn quantile(&self, share: f64) -> f64 {
        quantile_of_sorted(&self.sorted, share.clamp(0.0, 1.0))
    }
    /// Interval that holds a share of the draws, as much below it as above.
    #[must_use]
    pub fn interval(&self, share: f64) -> (f64, f64) {
        (self.quantile(0.5 - 0.5 * share), self.quantile(0.5 + 0.5 * share))
    }
}

/// Draws from a posterior.
#[derive(Clone, Debug, PartialEq)]
pub struct Posterior {
    /// Draws, chain by chain, each a point.
    pub chains: Vec<Vec<Vec<f64>>>,
    /// Parameters in order.
    pub parameters: Vec<DrawnParameter>,
    /// Whether R-hat and sample size reached what was asked: if not, the draws are not to be used.
    pub converged: bool,
    /// Share of steps that were taken: drawn about the centre, and near the chain's place.
    pub taken: (f64, f64),
    /// Evaluations of the density, warm-up included.
    pub evaluations: usize,
}
