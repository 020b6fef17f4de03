//! The crate's errors: refusals. What is merely imperfect becomes a diagnostic, what can be read in two ways a question.

/// A place in a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// File name as given by the caller.
    pub file: String,
    /// Line, from 1; 0 where the whole file is meant.
    pub line: u64,
    /// Column of the table, from 1; 0 where the whole line is meant.
    pub column: u32,
}

impl Place {
    /// The whole file.
    #[must_use]
    pub fn file(file: &str) -> Self {
        Self { file: file.to_owned(), line: 0, column: 0 }
    }
    /// A line.
    #[must_use]
    pub fn line(file: &str, line: u64) -> Self {
        Self { file: file.to_owned(), line, column: 0 }
    }
}

impl std::fmt::Display for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match (self.line, self.column) {
            (0, _) => write!(f, "{}", self.file),
            (line, 0) => write!(f, "{}:{line}", self.file),
            (line, column) => write!(f, "{}:{line}:{column}", self.file),
        }
    }
}

/// Why a file is refused. Order: what, value, what is allowed, where.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum IngestError {
    /// More bytes than allowed.
    #[error("size: more than {allowed} bytes; allowed: up to {allowed} bytes; at {place}")]
    TooLarge {
        /// Most bytes.
        allowed: u64,
        /// Where.
        place: Place,
    },
    /// A line longer than allowed.
    #[error("line: longer than {allowed} bytes; allowed: up to {allowed} bytes; at {place}")]
    LineTooLong {
        /// Most bytes of a line.
        allowed: usize,
        /// Where.
        place: Place,
    },
    /// More rows than allowed.
    #[error("rows: more than {allowed}; allowed: up to {allowed}; at {place}")]
    TooManyRows {
        /// Most rows.
        allowed: u64,
        /// Where.
        place: Place,
    },
    /// More columns than allowed.
    #[error("columns: {found}; allowed: up to {allowed}; at {place}")]
    TooManyColumns {
        /// Columns found.
        found: usize,
        /// Most columns.
        allowed: usize,
        /// Where.
        place: Place,
    },
    /// Nothing in the file.
    #[error("file: no readings in it; allowed: at least one row with a clock time and a value; at {place}")]
    Empty {
        /// Where.
        place: Place,
    },
    /// The bytes are not text.
    #[error(
        "file: {found}; allowed: delimited text, JSON lines, a hand-entry form or an XLSX workbook; at {place}"
    )]
    NotText {
        /// What it looks like.
        found: String,
        /// Where.
        place: Place,
    },
    /// No table found.
    #[error(
        "table: no rows with a clock time and values found ({found}); allowed: cells parted by comma, semicolon, tab or bar; at {place}"
    )]
    NoTable {
        /// What was seen instead.
        found: String,
        /// Where.
        place: Place,
    },
    /// Decimal commas in a file that also parts its cells by commas, without quotes.
    #[error(
        "cells: {found} in a row under {headings} headings, as when decimal commas stand in comma-parted cells without quotes; allowed: another delimiter, quotes or decimal points; at {place}"
    )]
    CommasCollide {
        /// Cells found.
        found: usize,
        /// Headings found.
        headings: usize,
        /// Where.
        place: Place,
    },
    /// No column holds the clock.
    #[error(
        "clock: no column of dates, clock times or elapsed spans among {headings}; allowed: one named in the mapping; at {place}"
    )]
    NoClock {
        /// Headings.
        headings: String,
        /// Where.
        place: Place,
    },
    /// No column that could be read.
    #[error(
        "channels: none of {headings} has a role; allowed: at least one, given in the mapping; at {place}"
    )]
    NoChannel {
        /// Headings.
        headings: String,
        /// Where.
        place: Place,
    },
    /// The reader that delivers the bytes failed.
    #[error("reading: {kind}; allowed: bytes until the end of the file; at {place}")]
    Read {
        /// Kind of failure.
        kind: std::io::ErrorKind,
        /// Where.
        place: Place,
    },
    /// A workbook that cannot be read.
    #[error("workbook: {detail}; allowed: an unencrypted XLSX workbook; at {place}")]
    Workbook {
        /// What the reader says.
        detail: String,
        /// Where.
        place: Place,
    },
    /// A sheet that is not there.
    #[error("sheet: '{sheet}' is not in the workbook; allowed: {allowed}; at {place}")]
    NoSuchSheet {
        /// Sheet asked for.
        sheet: String,
        /// Sheets there are.
        allowed: String,
        /// Where.
        place: Place,
    },
    /// A line of hand entry that cannot be read.
    #[error("hand entry: '{found}'; allowed: {allowed}; at {place}")]
    Hand {
        /// Text found.
        found: String,
        /// What may stand there.
        allowed: String,
        /// Where.
        place: Place,
    },
    /// A mapping that cannot be read or does not fit the file.
    #[error("mapping: {key} is '{found}'; allowed: {allowed}; at {place}")]
    Mapping {
        /// Key of the mapping.
        key: String,
        /// Value found.
        found: String,
        /// What may stand there.
        allowed: String,
        /// Where.
        place: Place,
    },
    /// A file that lists its newest row first, read as a stream.
    #[error(
        "order: the newest row comes first; allowed in a stream: oldest first (read the whole file at once instead); at {place}"
    )]
    NewestFirst {
        /// Where.
        place: Place,
    },
    /// Logs that cannot be merged.
    #[error("merge: {found}; allowed: {allowed}")]
    Merge {
        /// What was found.
        found: String,
        /// What is allowed.
        allowed: String,
    },
    /// A value the series type refuses.
    #[error("series: {0}")]
    Series(#[from] fallrate_series::SeriesError),
}

/// A text shortened for a message, on one line.
#[must_use]
pub(crate) fn shorten(text: &str) -> String {
    const MOST: usize = 60;
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let clean = clean.trim();
    if clean.chars().count() <= MOST {
        clean.to_owned()
    } else {
        clean.chars().take(MOST).chain(['…']).collect()
    }
}
