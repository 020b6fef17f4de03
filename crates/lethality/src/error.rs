//! The crate's errors. "Not met" and "cannot be judged" are results, not errors.

/// What can go wrong before anything can be judged.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LethalityError {
    /// A table of criteria compiled into the program cannot be read.
    #[error("criteria table '{table}', line {line}: {problem}")]
    Criteria {
        /// Name of the table.
        table: &'static str,
        /// Line, 0 where unknown.
        line: u64,
        /// What is wrong.
        problem: String,
    },
    /// A requirement id nobody defined.
    #[error("requirement '{id}': not defined; allowed: an id of docs/requirements")]
    NoSuchRequirement {
        /// Id asked for.
        id: String,
    },
    /// A value outside its range.
    #[error("{what}: {value} {unit} is out of range; allowed: {allowed}")]
    OutOfRange {
        /// Quantity.
        what: &'static str,
        /// Value found.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// Range.
        allowed: &'static str,
    },
    /// A text that must not be empty.
    #[error("{what}: is empty; allowed: {allowed}")]
    Empty {
        /// Field.
        what: &'static str,
        /// What belongs there.
        allowed: &'static str,
    },
    /// A study id nobody defined.
    #[error("study '{id}': not in the list of published trials")]
    NoSuchStudy {
        /// Id asked for.
        id: String,
    },
    /// An organism that the table of exposure limits lacks.
    #[error("organism '{name}': has no exposure limit; allowed: a name of the published table")]
    NoSuchOrganism {
        /// Name asked for.
        name: String,
    },
    /// An option id nobody defined.
    #[error("humidity option '{id}': not in the list; allowed: 1, 2, 3, 4, J-A to J-E, N1 to N5")]
    NoSuchOption {
        /// Id asked for.
        id: String,
    },
}

impl LethalityError {
    /// Passes a finite value within a range.
    pub(crate) fn within(
        what: &'static str,
        value: f64,
        unit: &'static str,
        range: std::ops::RangeInclusive<f64>,
        allowed: &'static str,
    ) -> Result<f64, Self> {
        if value.is_finite() && range.contains(&value) {
            Ok(value)
        } else {
            Err(Self::OutOfRange { what, value, unit, allowed })
        }
    }
}
