//! Verifying a record without the program that wrote it: raw bytes, files, an expected head.

use std::collections::BTreeMap;

use crate::line::read_lines;
use crate::{Body, Digest, Entry, Rule};

/// What is wrong with a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Line of the file, from 1; 0 for the file as a whole.
    pub line: u64,
    /// What.
    pub kind: ProblemKind,
    /// What was found.
    pub found: String,
    /// What should stand there.
    pub expected: String,
}

/// Kinds of problem.
#[derive(Clone, Debug, PartialEq)]
pub enum ProblemKind {
    /// There is nothing.
    Empty,
    /// The last line does not end.
    NoLineFeed,
    /// A line that is no entry.
    NotAnEntry,
    /// A line that does not end with its hash.
    NoHash,
    /// The bytes of the line are not those that were sealed.
    Hash,
    /// The line before is not the one that was there.
    Previous,
    /// The number is not the line's.
    Number,
    /// An entry the rules do not allow here.
    Rule(Rule),
    /// A kept file is not there.
    FileMissing,
    /// A kept file is another one.
    FileDiffers,
    /// The last line is not the one expected (cut off at the end, or another record).
    Head,
}

impl Problem {
    pub(crate) fn new(line: u64, kind: ProblemKind, found: &str, expected: &str) -> Self {
        Self { line, kind, found: found.to_owned(), expected: expected.to_owned() }
    }
    pub(crate) fn broken_rule(line: u64, rule: Rule) -> Self {
        let found = rule.to_string();
        Self { line, kind: ProblemKind::Rule(rule), found, expected: "an entry the rules allow".to_owned() }
    }
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let what = match self.kind {
            ProblemKind::Empty => "record",
            ProblemKind::NoLineFeed => "end of the file",
            ProblemKind::NotAnEntry => "entry",
            ProblemKind::NoHash | ProblemKind::Hash => "hash",
            ProblemKind::Previous => "hash of the line before",
            ProblemKind::Number => "number",
            ProblemKind::Rule(_) => "rule",
            ProblemKind::FileMissing | ProblemKind::FileDiffers => "kept file",
            ProblemKind::Head => "head of the chain",
        };
        write!(f, "{what}: {}; expected: {}; line {}", self.found, self.expected, self.line)
    }
}

/// Something worth knowing that does not make the record wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// Line of the file, from 1.
    pub line: u64,
    /// What.
    pub kind: NoteKind,
}

/// Kinds of note.
#[derive(Clone, Debug, PartialEq)]
pub enum NoteKind {
    /// The entry's time is before that of the entry above it.
    ClockWentBack {
        /// By so many seconds.
        by_s: f64,
    },
    /// A kind or a body this version does not know.
    Unknown {
        /// Kind.
        kind: String,
        /// Why it could not be read.
        why: String,
    },
    /// A field of the line this version does not know.
    UnknownField {
        /// Its name.
        name: String,
    },
}

/// What verifying found.
#[derive(Clone, Debug, PartialEq)]
pub struct Verification {
    /// Name of the file.
    pub file_name: String,
    /// The entries that could be read, in order.
    pub entries: Vec<Entry>,
    /// Hash of the last line as it stands; `None` where there is no line with a hash.
    pub head: Option<Digest>,
    /// Whether an expected head was given. Without one a record that was cut off at the end of a line looks whole.
    pub head_was_given: bool,
    /// What is wrong, in the order of the lines.
    pub problems: Vec<Problem>,
    /// What is worth knowing.
    pub notes: Vec<Note>,
}

impl Verification {
    /// Whether nothing is wrong.
    #[must_use]
    pub fn is_intact(&self) -> bool {
        self.problems.is_empty()
    }
}

/// Verifies the bytes of a `record.jsonl`.
///
/// `attachments` gives SHA-256 and length of a kept file by its name. Every change, insertion, deletion or exchange
/// within the chain is found. What is cut off at its end is found only with `expected_head` (the head printed on a
/// signed page or kept with a backup), and so is a record that somebody wrote anew from the first line on.
#[must_use]
pub fn verify(
    file_name: &str,
    bytes: &[u8],
    attachments: &dyn Fn(&str) -> Option<(Digest, u64)>,
    expected_head: Option<Digest>,
) -> Verification {
    let read = read_lines::<Body>(bytes);
    let mut problems = read.problems;
    problems.extend(kept_files(&read.entries, attachments));
    let head = read.entries.last().map(|e| e.hash);
    if let Some(expected) = expected_head.filter(|e| Some(*e) != head) {
        let found = head.map_or_else(|| "none".to_owned(), |h| h.to_string());
        let line = read.entries.len() as u64;
        problems.push(Problem::new(line, ProblemKind::Head, &found, &expected.to_string()));
    }
    Verification {
        file_name: file_name.to_owned(),
        entries: read.entries,
        head,
        head_was_given: expected_head.is_some(),
        problems,
        notes: read.notes,
    }
}

/// Every file that was ever kept must still be there, also where its entry was withdrawn.
fn kept_files(entries: &[Entry], attachments: &dyn Fn(&str) -> Option<(Digest, u64)>) -> Vec<Problem> {
    let mut files: BTreeMap<&str, (u64, Digest, u64)> = BTreeMap::new();
    for e in entries {
        if let Body::FileKept(f) = &e.body {
            files.entry(&f.name).or_insert((e.n, f.sha256, f.bytes));
        }
    }
    let mut problems = Vec::new();
    for (name, (line, sha256, bytes)) in files {
        let expected = format!("{name}, {bytes} bytes, {sha256}");
        match attachments(name) {
            None => problems.push(Problem::new(line, ProblemKind::FileMissing, "no such file", &expected)),
            Some(found) if found != (sha256, bytes) => {
                let found = format!("{name}, {} bytes, {}", found.1, found.0);
                problems.push(Problem::new(line, ProblemKind::FileDiffers, &found, &expected));
            }
            Some(_) => {}
        }
    }
    problems.sort_by_key(|p| p.line);
    problems
}
