//! Why there is no posterior.

/// Faults of a posterior. Order of the message: what, value, what is allowed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PosteriorFault {
    /// A number of the options that cannot be.
    #[error("{what}: {value}; allowed: {allowed}")]
    BadOption {
        /// Which.
        what: &'static str,
        /// Value.
        value: f64,
        /// Allowed.
        allowed: &'static str,
    },
    /// The density is 0 at the centre.
    #[error("density at the centre of the proposal: 0; allowed: above 0")]
    NoDensityAtCentre,
    /// The proposal has no shape.
    #[error("covariance of the proposal, {dimensions} x {dimensions}: not positive; allowed: a covariance")]
    NoShape {
        /// Dimensions.
        dimensions: usize,
    },
}
