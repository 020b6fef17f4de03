//! What is wrong with a file that something should be learned from.

use fallrate_units::UnitError;

/// Faults of the files of learning. Order of the message: what, value, what is allowed, where.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LearningFault {
    /// Not text.
    #[error("file: not text; allowed: UTF-8, rows of cells with commas, semicolons or tabs between; {file}")]
    NotText {
        /// File.
        file: String,
    },
    /// No row.
    #[error("rows: 0; allowed: a row of headings and at least one row of numbers; {file}")]
    NoRow {
        /// File.
        file: String,
    },
    /// A column that is needed and not there.
    #[error("column '{column}': missing; allowed: {allowed}; {file}: headings are {headings}")]
    NoColumn {
        /// Which.
        column: &'static str,
        /// Headings that are understood.
        allowed: &'static str,
        /// File.
        file: String,
        /// Headings found.
        headings: String,
    },
    /// Two columns for one thing.
    #[error("column '{column}': twice; allowed: once; {file}: headings are {headings}")]
    ColumnTwice {
        /// Which.
        column: &'static str,
        /// File.
        file: String,
        /// Headings found.
        headings: String,
    },
    /// A cell that cannot be read.
    #[error("{what}: {fault}; {file}:{line}")]
    Cell {
        /// Column.
        what: &'static str,
        /// Why, with what is allowed.
        fault: String,
        /// File.
        file: String,
        /// Line, from 1.
        line: u64,
    },
    /// A temperature is needed.
    #[error(
        "temperature: no column and none given; allowed: a column 'temperature (degC)', or one for all pairs; {file}"
    )]
    NoTemperature {
        /// File.
        file: String,
    },
    /// Nothing that could be written into a product file.
    #[error("product file: {what}; allowed: {allowed}")]
    NotWritten {
        /// What is the matter.
        what: String,
        /// What is allowed.
        allowed: &'static str,
    },
    /// A plan of another product.
    #[error(
        "product of the plan '{plan}': '{found}'; allowed: '{expected}', the product of the trial file; {file}"
    )]
    OtherProduct {
        /// Plan.
        plan: String,
        /// Its product.
        found: String,
        /// The trial file's.
        expected: String,
        /// Trial file.
        file: String,
    },
    /// A plan whose stages are to be proposed.
    #[error(
        "stages of the plan '{plan}': none written; allowed: the [[stage]] sections the trial was run by"
    )]
    NoStages {
        /// Plan.
        plan: String,
    },
    /// A tray without any weight.
    #[error("weighings of tray {tray}: 0; allowed: at least 2 in the files of trial '{trial}'; {file}")]
    NoWeighings {
        /// Tray.
        tray: u16,
        /// Trial.
        trial: String,
        /// Trial file.
        file: String,
    },
    /// No air in the files.
    #[error(
        "air: none recorded; allowed: air temperature with relative humidity or wet bulb in the files of trial '{trial}', or air = \"computed\"; {file}"
    )]
    NoAirRecord {
        /// Trial.
        trial: String,
        /// Trial file.
        file: String,
    },
    /// A tray group that is not loaded.
    #[error("tray group '{name}': not among the loaded ones; allowed: {allowed}, trial '{trial}'; {file}")]
    NoGroup {
        /// Name.
        name: String,
        /// Loaded groups.
        allowed: String,
        /// Trial.
        trial: String,
        /// Trial file.
        file: String,
    },
    /// A trial that the product file counts already.
    #[error(
        "trial '{trial}' of {date}: counted already in product '{product}'; allowed: the product file as it was before that trial, so that nothing counts twice"
    )]
    CountedTwice {
        /// Trial.
        trial: String,
        /// Day.
        date: String,
        /// Product.
        product: String,
    },
    /// A curve whose moisture cannot be told.
    #[error("moisture of curve '{curve}': {found}; allowed: {allowed}")]
    NoMoisture {
        /// Curve.
        curve: String,
        /// What was found.
        found: String,
        /// What is allowed.
        allowed: &'static str,
    },
    /// A lesson that is not there.
    #[error("lesson {number}: not there; allowed: {allowed}")]
    NoLesson {
        /// As given, from 1.
        number: usize,
        /// What there is.
        allowed: String,
    },
    /// The kept ledger cannot be read.
    #[error("what batches taught: {why}; allowed: what this program wrote")]
    Ledger {
        /// Why.
        why: String,
    },
    /// A name for a new product file that is none.
    #[error(
        "product file '{name}': not a new name; allowed: a file ending in .toml, its stem of small letters, digits and '_', and not the key of a product of the library"
    )]
    FileName {
        /// As given.
        name: String,
    },
}

impl LearningFault {
    pub(super) fn cell(what: &'static str, fault: &UnitError, file: &str, line: u64) -> Self {
        Self::Cell { what, fault: fault.to_string(), file: file.to_owned(), line }
    }
}
