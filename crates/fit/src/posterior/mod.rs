//! Posteriors by Markov chains, where standard errors and profiles are not enough: several chains of steps drawn half about the
//! best values and half about the chain's own place, the shape of the steps learned in a warm-up and then kept; and the
//! diagnostics that say whether the draws can be trusted.

mod diagnose;
mod emulate;
mod fault;
mod options;
mod sample;
mod step;

pub use diagnose::{effective_sample_size, rank_r_hat, tail_sample_size};
pub use fault::PosteriorFault;
pub use options::{
    Density, DrawnParameter, Posterior, PosteriorObserver, PosteriorOptions, PosteriorProgress, Proposal,
};
pub use sample::{sample, sample_residuals};
