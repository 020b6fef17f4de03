//! What can be wrong with a data file.

use std::fmt;

/// The sort of a [`Problem`], for callers that act on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProblemKind {
    /// The file is larger than [`crate::LARGEST_FILE_BYTES`].
    TooLarge,
    /// The file is not text: it holds NUL or is not UTF-8.
    NotText,
    /// The text is not TOML, or nests too deeply.
    Syntax,
    /// A key that must be there is not.
    Missing,
    /// A value of another type than asked for.
    WrongType,
    /// A text that is no number with a unit of the quantity, a clock time or a moisture with its basis.
    Unit,
    /// A number outside its range, not finite, or below/above its own low and high.
    OutOfRange,
    /// A name that is not one of the choices.
    UnknownName,
    /// A key nobody asked for.
    UnknownKey,
    /// Two statements that cannot both hold, or another rule of the file's own kind.
    Contradiction,
}

/// One thing wrong with a data file. Message order: what, value, allowed, where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The key, with the path to it (`product.thickness`), or the file.
    pub what: String,
    /// What was found.
    pub value: String,
    /// What is allowed; may be empty.
    pub allowed: String,
    /// File name as given by the caller.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Sort of problem.
    pub kind: ProblemKind,
    /// A known name near the one found.
    pub near: Option<String>,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.what, self.value)?;
        if !self.allowed.is_empty() {
            write!(f, "; allowed: {}", self.allowed)?;
        }
        write!(f, "; {}:{}:{}", self.file, self.line, self.column)?;
        match &self.near {
            Some(near) => write!(f, "; did you mean '{near}'?"),
            None => Ok(()),
        }
    }
}

/// All problems of a file in file order; never empty.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
pub struct Problems(pub(crate) Vec<Problem>);

impl Problems {
    /// Sorts by place and drops repetitions. `None` where there is nothing.
    #[must_use]
    pub fn from_list(mut list: Vec<Problem>) -> Option<Self> {
        list.sort_by_key(|p| (p.line, p.column));
        list.dedup();
        (!list.is_empty()).then_some(Self(list))
    }
    /// The problems in file order.
    #[must_use]
    pub fn list(&self) -> &[Problem] {
        &self.0
    }
}

/// A value from a file, shortened for a message.
pub(crate) fn excerpt(text: &str) -> String {
    const LONGEST: usize = 60;
    let clean: String = text.chars().take(LONGEST).flat_map(char::escape_debug).collect();
    if text.chars().nth(LONGEST).is_some() { format!("'{clean}...'") } else { format!("'{clean}'") }
}
