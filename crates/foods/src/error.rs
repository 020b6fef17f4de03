//! The one error type of this crate.

/// Why an equation gave no value. Order of the message: what, value with unit, what is allowed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FoodsError {
    /// An input outside the range for which the equation means anything.
    #[error("{what}: {value} {unit} is out of range; allowed: {allowed}")]
    OutOfRange {
        /// Quantity.
        what: &'static str,
        /// Value found.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// What is allowed.
        allowed: &'static str,
    },
    /// A model name this crate does not hold.
    #[error("{what}: '{name}' is not known; allowed: {allowed}")]
    UnknownModel {
        /// Kind of model.
        what: &'static str,
        /// Name found.
        name: String,
        /// Names allowed.
        allowed: &'static str,
    },
    /// A model got another number of parameters than it needs.
    #[error("{model}: {found} parameters given; allowed: {needed}")]
    ParameterCount {
        /// Model.
        model: &'static str,
        /// Number given.
        found: usize,
        /// Number needed.
        needed: usize,
    },
    /// An equation has no solution in the bracket searched.
    #[error("{what}: no solution for {value} {unit}; searched: {searched}")]
    NoSolution {
        /// Quantity solved for.
        what: &'static str,
        /// Value asked.
        value: f64,
        /// Unit of the value.
        unit: &'static str,
        /// Bracket.
        searched: &'static str,
    },
}

/// Checks that `value` lies strictly between two bounds (and is finite).
pub(crate) fn between(
    what: &'static str,
    value: f64,
    unit: &'static str,
    (low, high): (f64, f64),
    allowed: &'static str,
) -> Result<f64, FoodsError> {
    if value > low && value < high {
        Ok(value)
    } else {
        Err(FoodsError::OutOfRange { what, value, unit, allowed })
    }
}
