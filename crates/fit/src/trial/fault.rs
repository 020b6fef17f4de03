//! Why a trial is refused.

use fallrate_foods::FoodsError;

/// Faults of a trial that make it useless or dangerous to use. Order of the message: what, value with unit, what is allowed,
/// where.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TrialFault {
    /// Nothing to fit.
    #[error("trials: 0; allowed: at least 1")]
    NoTrial,
    /// Nothing to fit for, or the same unknown twice.
    #[error("unknown '{unknown}': {found} times; allowed: once, and at least one unknown of the product")]
    Unknowns {
        /// Its name.
        unknown: &'static str,
        /// How often.
        found: usize,
    },
    /// Too few weighings.
    #[error(
        "weighings: {found} on {trays} trays; allowed: at least {needed}, of which 2 on one tray, trial '{trial}'"
    )]
    TooFewWeighings {
        /// Trial.
        trial: String,
        /// Weighings that can be used.
        found: usize,
        /// Trays.
        trays: usize,
        /// Needed.
        needed: usize,
    },
    /// A number that cannot be, or in another unit than asked for.
    #[error("{what}: {value} {unit}; allowed: {low} to {high}, trial '{trial}'")]
    OutOfRange {
        /// Quantity.
        what: &'static str,
        /// Value.
        value: f64,
        /// Unit asked for.
        unit: &'static str,
        /// Least.
        low: f64,
        /// Greatest.
        high: f64,
        /// Trial.
        trial: String,
    },
    /// A number that makes sense in another unit.
    #[error("{what}: {value} {unit}, which looks like {seems}; allowed: {unit}, trial '{trial}'")]
    WrongUnit {
        /// Quantity.
        what: &'static str,
        /// Value.
        value: f64,
        /// Unit asked for.
        unit: &'static str,
        /// Unit it seems to be in.
        seems: &'static str,
        /// Trial.
        trial: String,
    },
    /// Weights in the column of the times, and the other way round.
    #[error(
        "times fall and weights rise: columns swapped; allowed: rising times with falling weights, tray '{tray}' of trial '{trial}'"
    )]
    SwappedColumns {
        /// Trial.
        trial: String,
        /// Tray.
        tray: String,
    },
    /// Times that do not rise.
    #[error("reading at {elapsed_s} s; allowed: later than the one before, '{of}' of trial '{trial}'")]
    TimesDoNotRise {
        /// Trial.
        trial: String,
        /// Tray, probe or air.
        of: String,
        /// s
        elapsed_s: f64,
    },
    /// A tray lighter than its tare.
    #[error(
        "weight: {gross_kg} kg with a tare of {tare_kg} kg; allowed: more than the tare (tare and weight in one unit, weights with the tray), tray '{tray}' of trial '{trial}'"
    )]
    BelowTare {
        /// Trial.
        trial: String,
        /// Tray.
        tray: String,
        /// kg
        gross_kg: f64,
        /// kg
        tare_kg: f64,
    },
    /// Weights that rise again and again: no drying, another tray, or another order.
    #[error(
        "weights that rise by more than {allowed_kg} kg: {rises} of {steps} steps; allowed: single ones, tray '{tray}' of trial '{trial}'"
    )]
    WeightsRise {
        /// Trial.
        trial: String,
        /// Tray.
        tray: String,
        /// Steps that rise.
        rises: usize,
        /// Steps.
        steps: usize,
        /// kg
        allowed_kg: f64,
    },
    /// A tray group, position or probe that the apparatus does not have.
    #[error("{what}: {found}; allowed: 0 to {most}, '{of}' of trial '{trial}'")]
    NoSuchPlace {
        /// Trial.
        trial: String,
        /// Tray or probe.
        of: String,
        /// Group or position.
        what: &'static str,
        /// Found.
        found: usize,
        /// Greatest.
        most: usize,
    },
    /// No usable air where weights were read.
    #[error(
        "air record: {from_s} to {to_s} s; allowed: from at most {within_s} s after the start on, without gaps of more than {gap_s} s, trial '{trial}'"
    )]
    NoAir {
        /// Trial.
        trial: String,
        /// First s with air, or start of the gap.
        from_s: f64,
        /// Last s with air, or end of the gap.
        to_s: f64,
        /// Allowed, s.
        within_s: f64,
        /// Allowed, s.
        gap_s: f64,
    },
    /// A tunnel has no stages to compute its air from.
    #[error("air of a tunnel: to be computed; allowed: held or recorded, trial '{trial}'")]
    TunnelWithoutAir {
        /// Trial.
        trial: String,
    },
    /// The stages of a cabinet whose air is computed end before the last reading.
    #[error("stages end at {at_s} s; allowed: not before the last reading at {needed_s} s, trial '{trial}'")]
    StagesEndEarly {
        /// Trial.
        trial: String,
        /// s
        at_s: f64,
        /// s
        needed_s: f64,
    },
    /// The food cannot be prepared or sorbs in an impossible way.
    #[error("trial '{trial}': {source}")]
    Food {
        /// Trial.
        trial: String,
        /// Why.
        source: FoodsError,
    },
}
