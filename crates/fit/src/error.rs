//! Why there is no estimate.

use fallrate_simulate::SimulateError;

/// Errors of an estimation. Order of the message: what, value with unit, what is allowed, where.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FitError {
    /// A number outside its range.
    #[error("{what}: {value} {unit}; allowed: {low} to {high}")]
    OutOfRange {
        /// Quantity.
        what: String,
        /// Value.
        value: f64,
        /// Unit.
        unit: String,
        /// Least.
        low: f64,
        /// Greatest.
        high: f64,
    },
    /// Fewer readings than parameters.
    #[error("readings: {readings}; allowed: more than the {parameters} parameters that are fitted")]
    TooFewReadings {
        /// Readings.
        readings: usize,
        /// Parameters.
        parameters: usize,
    },
    /// Two lists that must be of one length are not.
    #[error("{what}: {found} values; allowed: {expected}")]
    WrongLength {
        /// List.
        what: &'static str,
        /// Length found.
        found: usize,
        /// Length that fits.
        expected: usize,
    },
    /// Readings whose times do not rise.
    #[error("curve '{curve}': reading at {elapsed_s} s; allowed: later than the one before")]
    TimesDoNotRise {
        /// Curve.
        curve: String,
        /// s
        elapsed_s: f64,
    },
    /// A moisture that a curve does not reach.
    #[error("curve '{curve}': moisture {level} kg/kg dry basis; allowed: between {lowest} and {highest}")]
    NotReached {
        /// Curve.
        curve: String,
        /// Moisture asked for.
        level: f64,
        /// Lowest of the curve.
        lowest: f64,
        /// Highest of the curve.
        highest: f64,
    },
    /// The model gives no finite residual.
    #[error("residual {index}: {value}; allowed: a finite number")]
    NotFinite {
        /// Index.
        index: usize,
        /// Value.
        value: f64,
    },
    /// No start led to an estimate.
    #[error("starts that led to an estimate: 0 of {starts}; allowed: at least 1")]
    NoStartConverged {
        /// Starts tried.
        starts: usize,
    },
    /// The matrix of slopes could not be decomposed.
    #[error(
        "singular values of the {readings} x {parameters} matrix of slopes: none found; allowed: finite slopes"
    )]
    NoDecomposition {
        /// Rows.
        readings: usize,
        /// Columns.
        parameters: usize,
    },
    /// A curve of moisture ratios that cannot be fitted.
    #[error(transparent)]
    ThinLayer(#[from] crate::thin_layer::ThinLayerFault),
    /// Pairs of moisture and water activity that cannot be fitted.
    #[error(transparent)]
    Isotherm(#[from] crate::isotherm::IsothermFault),
    /// A trial that cannot be fitted.
    #[error(transparent)]
    Trial(#[from] crate::trial::TrialFault),
    /// Batches that nothing can be learned from.
    #[error(transparent)]
    Learn(#[from] crate::learn::LearnFault),
    /// A posterior that cannot be sampled.
    #[error(transparent)]
    Posterior(#[from] crate::posterior::PosteriorFault),
    /// A fault of commissioning.
    #[error(transparent)]
    Commission(#[from] crate::commission::CommissionFault),
    /// The caller cancelled.
    #[error("the estimation was cancelled")]
    Cancelled,
    /// The drying model has no result.
    #[error("drying model, curve '{curve}': {source}")]
    Simulation {
        /// Curve.
        curve: String,
        /// Why.
        source: SimulateError,
    },
}
