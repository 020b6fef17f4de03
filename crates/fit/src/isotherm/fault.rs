//! What is wrong with pairs of moisture and water activity.

/// Faults of sorption data. Order of the message: what, value with unit, what is allowed, where.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum IsothermFault {
    /// Too few pairs for anything.
    #[error("pairs of moisture and water activity: {found}; allowed: at least {needed}")]
    TooFewPairs {
        /// Pairs.
        found: usize,
        /// Needed.
        needed: usize,
    },
    /// A water activity that none can be.
    #[error("water activity: {value}; allowed: above 0 and below 1, pair {pair}")]
    NoActivity {
        /// Value.
        value: f64,
        /// Counted from 1.
        pair: usize,
    },
    /// A moisture that none can be.
    #[error("moisture: {value} kg/kg dry basis; allowed: above 0 and finite, pair {pair}")]
    NoMoisture {
        /// Value.
        value: f64,
        /// Counted from 1.
        pair: usize,
    },
    /// A temperature that none can be: kelvin, for instance.
    #[error("temperature: {value} degC; allowed: {low} to {high}, pair {pair}")]
    NoTemperature {
        /// Value.
        value: f64,
        /// Least.
        low: f64,
        /// Greatest.
        high: f64,
        /// Counted from 1.
        pair: usize,
    },
    /// Water activities in per cent.
    #[error(
        "water activity: {least} to {greatest}, which is per cent; allowed: fractions above 0 and below 1"
    )]
    ActivityInPercent {
        /// Least found.
        least: f64,
        /// Greatest found.
        greatest: f64,
    },
    /// Moistures in per cent.
    #[error(
        "moisture: {greatest} at a water activity of {water_activity}, which is per cent; allowed: kg/kg dry basis, at most {most} there"
    )]
    MoistureInPercent {
        /// Greatest found.
        greatest: f64,
        /// Its water activity.
        water_activity: f64,
        /// Greatest that a food holds there.
        most: f64,
    },
    /// Moisture in the column of the water activity, and the other way round.
    #[error(
        "moisture above water activity in {above} of {pairs} pairs, which no dried food has: columns swapped; allowed: water activity and moisture each in its column"
    )]
    SwappedColumns {
        /// Pairs where it is above.
        above: usize,
        /// Pairs looked at.
        pairs: usize,
    },
    /// All pairs at one water activity.
    #[error("water activities: {least} to {greatest}; allowed: at least {needed} between least and greatest")]
    OneActivity {
        /// Least.
        least: f64,
        /// Greatest.
        greatest: f64,
        /// Needed.
        needed: f64,
    },
    /// Moisture that does not rise with water activity at one temperature.
    #[error(
        "moisture against water activity at {temperature_c} degC: rank correlation {rank_correlation}; allowed: above 0"
    )]
    DoesNotRise {
        /// degC
        temperature_c: f64,
        /// Kendall's rank correlation, -1 to 1.
        rank_correlation: f64,
    },
    /// Too few different water activities for the shape of a form.
    #[error("different water activities: {found}; allowed: at least {needed} for this form")]
    TooFewActivities {
        /// Groups further apart than 0.02.
        found: usize,
        /// Needed.
        needed: usize,
    },
    /// One temperature for a form that depends on it.
    #[error("temperatures: {least} to {greatest} degC; allowed: at least {needed} K apart for this form")]
    OneTemperature {
        /// Least, degC.
        least: f64,
        /// Greatest, degC.
        greatest: f64,
        /// Needed, K.
        needed: f64,
    },
    /// An error that is none.
    #[error("{what}: {value}; allowed: 0 or more and finite, with the moisture's above 0")]
    NoError {
        /// Which.
        what: &'static str,
        /// Value.
        value: f64,
    },
    /// Too few draws of a bootstrap led to an estimate.
    #[error("bootstrap estimates: {found} of {asked}; allowed: at least 90 %")]
    BootstrapFailed {
        /// Estimates.
        found: usize,
        /// Asked.
        asked: usize,
    },
}
