//! What is wrong with a curve of moisture ratios.

/// Faults of the input of a thin-layer fit. Order of the message: what, value with unit, what is allowed, where.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ThinLayerFault {
    /// No curve at all.
    #[error("curves: 0; allowed: at least 1")]
    NoCurve,
    /// A moisture ratio that is none: moisture, per cent or weight in its place.
    #[error(
        "moisture ratio: {moisture_ratio}; allowed: {low} to {high}, at {elapsed_s} s of curve '{curve}'"
    )]
    NotARatio {
        /// Curve.
        curve: String,
        /// s
        elapsed_s: f64,
        /// Value.
        moisture_ratio: f64,
        /// Least.
        low: f64,
        /// Greatest.
        high: f64,
    },
    /// A curve that does not fall.
    #[error(
        "moisture ratio: {first} at the first reading, {last} at the last; allowed: a fall of at least {least}, curve '{curve}'"
    )]
    DoesNotFall {
        /// Curve.
        curve: String,
        /// First ratio.
        first: f64,
        /// Last ratio.
        last: f64,
        /// Least fall.
        least: f64,
    },
    /// An equilibrium moisture at or above the initial one.
    #[error(
        "equilibrium moisture: {equilibrium_dry_basis} kg/kg dry basis; allowed: 0 to below the initial {initial_dry_basis}, curve '{curve}'"
    )]
    NoSpan {
        /// Curve.
        curve: String,
        /// Initial, kg/kg dry basis.
        initial_dry_basis: f64,
        /// Equilibrium, kg/kg dry basis.
        equilibrium_dry_basis: f64,
    },
    /// The equation on the vapour-pressure deficit needs the humidity of every curve.
    #[error("relative humidity: not given; allowed: a fraction between 0 and 1, curve '{curve}'")]
    NoHumidity {
        /// Curve.
        curve: String,
    },
    /// All curves at one vapour-pressure deficit: its exponent cannot be told.
    #[error(
        "vapour-pressure deficits: {least_kpa} to {greatest_kpa} kPa; allowed: a ratio of at least {ratio} between two of the curves"
    )]
    OneDeficit {
        /// Least, kPa.
        least_kpa: f64,
        /// Greatest, kPa.
        greatest_kpa: f64,
        /// Least ratio.
        ratio: f64,
    },
    /// A moisture ratio that the equation does not come down to.
    #[error("moisture ratio: {ratio}; allowed: what the fitted equation reaches within {searched_s} s")]
    NotReached {
        /// Asked.
        ratio: f64,
        /// s
        searched_s: f64,
    },
}
