//! What can go wrong in a use case.

use std::fmt;

use fallrate_air::AirError;
use fallrate_datafile::Problems;
use fallrate_plan::PlanError;
use fallrate_report::ReportError;

use crate::edit::ChangeError;
use crate::ports::FileFault;

/// Where in a file something stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// File as the user named it.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", self.file, self.line, self.column)
    }
}

/// A name that does not exist, in a file or on the command line.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{what}: '{name}' is not known; allowed: {allowed}{}{}", at(place.as_ref()), meant(near.as_ref()))]
pub struct UnknownName {
    /// "product", "cabinet".
    pub what: &'static str,
    /// Name.
    pub name: String,
    /// What exists.
    pub allowed: String,
    /// Where it stands, where that is in a file.
    pub place: Option<Place>,
    /// A name near it.
    pub near: Option<String>,
}

/// Why there is no plan, and where in the plan file the cause stands.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{error}; {place}{}", meant(near.as_ref()))]
pub struct NoPlan {
    /// Why.
    pub error: PlanError,
    /// Where.
    pub place: Place,
    /// A name near a wrong one.
    pub near: Option<String>,
}

fn at(place: Option<&Place>) -> String {
    place.map_or_else(String::new, |p| format!("; {p}"))
}

fn meant(near: Option<&String>) -> String {
    near.map_or_else(String::new, |n| format!("; did you mean '{n}'?"))
}

/// Errors of the use cases. Order of a message: what, value, what is allowed, where.
#[derive(Debug, thiserror::Error)]
pub enum AppError {
    /// A file cannot be read or written.
    #[error(transparent)]
    File(#[from] FileFault),
    /// A file that is wrong somewhere; every problem with its place.
    #[error(transparent)]
    Problems(#[from] Problems),
    /// A name that does not exist.
    #[error(transparent)]
    Unknown(Box<UnknownName>),
    /// There is no plan.
    #[error(transparent)]
    Plan(Box<NoPlan>),
    /// A comparison needs something the cabinet does not have.
    #[error("ways of starting: cabinet '{cabinet}' has {marks} vent mark; allowed: two or more")]
    NoWays {
        /// Cabinet's key.
        cabinet: String,
        /// Number of marks.
        marks: usize,
    },
    /// Two sides are needed.
    #[error(
        "compare: {given} sides; allowed: two or more plan files, one file with --with, or one file with --ways"
    )]
    Sides {
        /// How many there are.
        given: usize,
    },
    /// A change that cannot be made.
    #[error(transparent)]
    Change(#[from] ChangeError),
    /// Air that cannot be.
    #[error(transparent)]
    Air(#[from] AirError),
    /// A question about air with too little or too much given.
    #[error("air: {given}; allowed: {allowed}")]
    AirQuestion {
        /// What was given.
        given: String,
        /// What is allowed.
        allowed: String,
    },
    /// A picture cannot be made.
    #[error(transparent)]
    Report(#[from] ReportError),
    /// A table cannot be written.
    #[error("curves: not written as CSV: {reason}")]
    Csv {
        /// Why.
        reason: String,
    },
    /// A rehearsal that cannot go on.
    #[error(transparent)]
    Rehearse(Box<fallrate_rehearse::RehearseError>),
    /// Simulated readings where measured ones are wanted.
    #[error(
        "{file}: simulated readings of a virtual cabinet; allowed: in a batch whose batch file says 'invented = true', which gives practice only"
    )]
    SimulatedFile {
        /// The file.
        file: String,
    },
    /// A file of readings that is refused.
    #[error(transparent)]
    Ingest(#[from] fallrate_ingest::IngestError),
    /// A test of a cabinet whose file cannot be used.
    #[error("test '{test}': {what}; allowed: {allowed}")]
    CabinetTest {
        /// Name of the test.
        test: String,
        /// What is wrong.
        what: String,
        /// What is allowed.
        allowed: String,
    },
    /// Something stated for a judgement is out of its range.
    #[error(transparent)]
    Lethality(#[from] fallrate_lethality::LethalityError),
    /// A batch under way that cannot be followed.
    #[error(transparent)]
    Follow(fallrate_follow::FollowError),
    /// A series that cannot be.
    #[error(transparent)]
    Series(#[from] fallrate_series::SeriesError),
    /// Batch file and readings name different times for one thing.
    #[error(
        "{key}: {first} and {second}; allowed: one time, or both within a minute; in {file} and the readings"
    )]
    TwoTimes {
        /// Key of the batch file.
        key: &'static str,
        /// The earlier.
        first: String,
        /// The later.
        second: String,
        /// Batch file.
        file: String,
    },
    /// An answer about a channel that does not exist.
    #[error("suspect.channel: '{name}' is not among the readings; allowed: {allowed}; in {file}")]
    NoSuchChannel {
        /// Name.
        name: String,
        /// Channels there are.
        allowed: String,
        /// Batch file.
        file: String,
    },
    /// An entry, a record or the place where it is kept.
    #[error(transparent)]
    Store(#[from] fallrate_store::StoreError),
    /// Files that can be read in two ways.
    #[error("readings: {} open; allowed: an answer to each, in a mapping file\n{}", list.len(), list.join("\n"))]
    Questions {
        /// The questions, each with its readings.
        list: Vec<String>,
    },
    /// A text that is no instant.
    #[error("time: '{text}'; allowed: {allowed}")]
    NoInstant {
        /// As given.
        text: String,
        /// What is allowed.
        allowed: String,
    },
    /// A question that is not asked.
    #[error("question {question}: not asked; allowed: 1 to {questions}")]
    NoSuchQuestion {
        /// Number given.
        question: usize,
        /// How many are asked.
        questions: usize,
    },
    /// An answer that is none of the readings.
    #[error("question {question}: '{answer}'; allowed: a number from 1 to {readings}")]
    NoSuchReading {
        /// Question.
        question: usize,
        /// Answer given.
        answer: String,
        /// How many readings there are.
        readings: usize,
    },
    /// A document that cannot be written as PDF.
    #[error("PDF: {reason}")]
    Pdf {
        /// Why.
        reason: String,
    },
    /// The raw mass is not stated.
    #[error("batch.quantity: missing; allowed: the raw mass loaded, as '22 kg'; in {file}")]
    NoQuantity {
        /// Batch file.
        file: String,
    },
    /// A record that lacks something before it can be judged.
    #[error("record: no {what}; allowed: one, entered from a batch file")]
    RecordIncomplete {
        /// What it lacks.
        what: &'static str,
    },
    /// A kept file that is not there or is another one.
    #[error("kept file '{name}': {found}; allowed: the bytes of entry {entry}")]
    KeptFile {
        /// Name.
        name: String,
        /// What was found.
        found: String,
        /// Entry that kept it.
        entry: u64,
    },
    /// An entry that does not exist.
    #[error("entry {entry}: not in the record; allowed: 1 to {entries}")]
    NoSuchEntry {
        /// Number.
        entry: u64,
        /// How many there are.
        entries: usize,
    },
    /// A field that an entry does not have.
    #[error("field '{field}': not in the entry; allowed: {allowed}")]
    NoSuchField {
        /// Field.
        field: String,
        /// Fields there are.
        allowed: String,
    },
    /// A value that cannot stand in its field.
    #[error("field '{field}': {why}")]
    NotAValue {
        /// Field.
        field: String,
        /// Why.
        why: String,
    },
    /// A printed head that is none.
    #[error(
        "head of the chain: '{found}'; allowed: 16 to 64 hexadecimal digits, as printed at the foot of a page"
    )]
    NotAHead {
        /// As given.
        found: String,
    },
    /// A file that something should be learned from.
    #[error(transparent)]
    Learning(#[from] crate::learning::LearningFault),
    /// There is no estimate.
    #[error(transparent)]
    Fit(Box<fallrate_fit::FitError>),
    /// The user cancelled.
    #[error("cancelled; nothing was written")]
    Cancelled,
}

impl From<fallrate_follow::FollowError> for AppError {
    fn from(e: fallrate_follow::FollowError) -> Self {
        match e {
            fallrate_follow::FollowError::Cancelled => Self::Cancelled,
            other => Self::Follow(other),
        }
    }
}

impl From<fallrate_fit::FitError> for AppError {
    fn from(e: fallrate_fit::FitError) -> Self {
        match e {
            fallrate_fit::FitError::Cancelled => Self::Cancelled,
            e => Self::Fit(Box::new(e)),
        }
    }
}

/// The place of a key (or of a quoted name) in a text: the first line that has it, else the first line of the file.
pub(crate) fn place_of(file: &str, text: &str, section: Option<&str>, key: &str) -> Place {
    let mut inside = section.is_none();
    for (n, line) in text.lines().enumerate() {
        let bare = line.trim_start();
        if let Some(head) = bare.strip_prefix('[') {
            let name = head.trim_start_matches('[').split(']').next().unwrap_or("").trim();
            inside = section.is_none_or(|s| s == name);
            if inside && key.is_empty() {
                return Place { file: file.to_owned(), line: n + 1, column: 1 };
            }
            continue;
        }
        if !inside {
            continue;
        }
        let after = bare.strip_prefix(key).map(str::trim_start);
        if !key.is_empty() && after.is_some_and(|rest| rest.starts_with('=')) {
            let column = line.find('=').map_or(1, |at| {
                let rest = &line[at + 1..];
                line[..at + 1].chars().count() + rest.chars().take_while(|c| c.is_whitespace()).count() + 1
            });
            return Place { file: file.to_owned(), line: n + 1, column };
        }
    }
    Place { file: file.to_owned(), line: 1, column: 1 }
}

/// The place of a quoted name in a text.
pub(crate) fn place_of_name(file: &str, text: &str, name: &str) -> Option<Place> {
    text.lines().enumerate().find_map(|(n, line)| {
        let code = line.split('#').next().unwrap_or("");
        let at = [format!("\"{name}\""), format!("'{name}'")].iter().find_map(|q| code.find(q.as_str()))?;
        Some(Place { file: file.to_owned(), line: n + 1, column: line[..at].chars().count() + 1 })
    })
}

/// Where in the plan file the cause of an error stands.
pub(crate) fn plan_place(file: &str, text: &str, error: &PlanError) -> Place {
    match error {
        PlanError::OutOfReach { .. } | PlanError::AlreadyThere { .. } | PlanError::NoSuchActivity { .. } => {
            place_of(file, text, Some("target"), "")
        }
        PlanError::Unknown { name, .. } => {
            place_of_name(file, text, name).unwrap_or_else(|| place_of(file, text, None, "cabinet"))
        }
        PlanError::Contradiction { what, .. } => contradiction_place(file, text, what),
        PlanError::Simulate(e) => simulate_place(file, text, &e.to_string()),
        PlanError::Cancelled => Place { file: file.to_owned(), line: 1, column: 1 },
    }
}

fn contradiction_place(file: &str, text: &str, what: &str) -> Place {
    if what.contains("trays") {
        return place_of(file, text, Some("load"), "trays");
    }
    if let Some(name) = what.split('\'').nth(1) {
        return place_of_name(file, text, name).unwrap_or_else(|| place_of(file, text, Some("stage"), ""));
    }
    let section = if what.contains("target") {
        "target"
    } else if what.contains("vent") {
        "stage"
    } else {
        "raw"
    };
    place_of(file, text, Some(section), "")
}

fn simulate_place(file: &str, text: &str, message: &str) -> Place {
    let quoted = message.split('\'').nth(1);
    quoted.and_then(|name| place_of_name(file, text, name)).unwrap_or_else(|| Place {
        file: file.to_owned(),
        line: 1,
        column: 1,
    })
}

impl From<fallrate_rehearse::RehearseError> for AppError {
    fn from(e: fallrate_rehearse::RehearseError) -> Self {
        match e {
            fallrate_rehearse::RehearseError::Cancelled => Self::Cancelled,
            e => Self::Rehearse(Box::new(e)),
        }
    }
}
