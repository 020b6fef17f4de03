//! A whole file.

use std::cell::RefCell;

use toml::de::DeTable;

use crate::problem::{Problem, ProblemKind, Problems};
use crate::section::Section;
use crate::tree::{self, Node, Table, Value};

/// Largest file read, bytes (1 MiB); a data file is a few kilobytes.
pub const LARGEST_FILE_BYTES: usize = 1 << 20;
/// Most dots between two separators: dotted keys nest one table per dot, and the depth is bounded before parsing.
const MOST_DOTS_IN_A_KEY: usize = 40;
/// Most syntax errors named; those after the first few are mostly consequences.
const MOST_SYNTAX_ERRORS: usize = 10;

/// A parsed file and the problems found so far.
#[derive(Debug)]
pub struct Document {
    file: String,
    text: String,
    root: Table,
    problems: RefCell<Vec<Problem>>,
}

impl Document {
    /// Parses a file's text. `file_name` is only used in messages.
    ///
    /// # Errors
    /// [`Problems`] for a file that is too large, not text, nested too deeply, or not TOML.
    pub fn parse(file_name: &str, text: &str) -> Result<Self, Problems> {
        let place = Place { file: file_name, text };
        if text.len() > LARGEST_FILE_BYTES {
            return Err(place.too_large(text.len()));
        }
        if let Some(at) = text.find('\0') {
            return Err(place.one(
                ProblemKind::NotText,
                at,
                "a NUL byte: this is a binary file",
                "UTF-8 text",
            ));
        }
        if let Some(at) = long_dotted_key(text) {
            return Err(place.one(ProblemKind::Syntax, at, "a key of too many parts", "keys of a few parts"));
        }
        let (table, errors) = DeTable::parse_recoverable(text);
        if !errors.is_empty() {
            return Err(place.syntax(&errors));
        }
        let root = tree::table_from(table.get_ref(), 0)
            .map_err(|at| place.one(ProblemKind::Syntax, at, "nested too deeply", "a few levels"))?;
        Ok(Self { file: file_name.to_owned(), text: text.to_owned(), root, problems: RefCell::default() })
    }

    /// Parses a file's bytes, refusing what is not UTF-8 text.
    ///
    /// # Errors
    /// As [`Document::parse`].
    pub fn from_bytes(file_name: &str, bytes: &[u8]) -> Result<Self, Problems> {
        if bytes.len() > LARGEST_FILE_BYTES {
            return Err(Place { file: file_name, text: "" }.too_large(bytes.len()));
        }
        match std::str::from_utf8(bytes) {
            Ok(text) => Self::parse(file_name, text),
            Err(e) => {
                let good =
                    bytes.get(..e.valid_up_to()).and_then(|b| std::str::from_utf8(b).ok()).unwrap_or("");
                let found = match bytes.get(e.valid_up_to()) {
                    Some(byte) => format!("byte 0x{byte:02x} is not UTF-8 text"),
                    None => "the text breaks off inside a character".to_owned(),
                };
                let place = Place { file: file_name, text: good };
                Err(place.one(ProblemKind::NotText, good.len(), &found, "UTF-8 text"))
            }
        }
    }

    /// The outermost section.
    #[must_use]
    pub fn root(&self) -> Section<'_> {
        Section::new(self, &self.root, String::new(), 0)
    }
    /// The file name given.
    #[must_use]
    pub fn file_name(&self) -> &str {
        &self.file
    }
    /// True while nothing wrong was found (unknown keys are only looked for by [`Document::finish`]).
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.problems.borrow().is_empty()
    }

    /// Ends the reading: reports all problems found, and every key that nobody asked for.
    ///
    /// # Errors
    /// [`Problems`] where there are any.
    pub fn finish(self) -> Result<(), Problems> {
        self.unknown_keys(&self.root, "");
        Problems::from_list(self.problems.into_inner()).map_or(Ok(()), Err)
    }

    /// Ends the reading and hands out the value that was read, where nothing was wrong.
    ///
    /// # Errors
    /// [`Problems`] where there are any. A missing value without any problem is itself reported.
    pub fn finish_with<T>(self, value: Option<T>) -> Result<T, Problems> {
        let place = Place { file: &self.file.clone(), text: "" };
        self.finish()?;
        value.ok_or_else(|| place.one(ProblemKind::Missing, 0, "incomplete", "a complete file"))
    }

    pub(crate) fn add(
        &self,
        kind: ProblemKind,
        at: usize,
        what: &str,
        value: &str,
        allowed: &str,
        near: Option<&str>,
    ) {
        let place = Place { file: &self.file, text: &self.text };
        let mut problem = place.problem(kind, at, what, value, allowed);
        problem.near = near.map(ToOwned::to_owned);
        self.problems.borrow_mut().push(problem);
    }

    fn unknown_keys(&self, table: &Table, path: &str) {
        for entry in &table.entries {
            let what = join(path, &entry.key);
            if entry.used.get() {
                self.unknown_keys_within(&entry.node, &what);
                continue;
            }
            let asked = table.asked.borrow();
            // A key already present cannot be what was meant, so only absent ones are suggested.
            let absent = asked.iter().filter(|k| table.find(k).is_none()).map(String::as_str);
            let near = crate::near::nearest(&entry.key, absent);
            self.add(ProblemKind::UnknownKey, entry.key_at, &what, "unknown key", &asked.join(", "), near);
        }
    }

    fn unknown_keys_within(&self, node: &Node, path: &str) {
        match &node.value {
            // A table read whole as a value (or refused as one) had nothing asked of it.
            Value::Table(table) => self.unknown_keys(table, path),
            Value::List(items) => {
                for (i, item) in items.iter().enumerate() {
                    self.unknown_keys_within(item, &format!("{path}[{}]", i + 1));
                }
            }
            _ => {}
        }
    }
}

/// `path.key`, or the key alone at the root.
pub(crate) fn join(path: &str, key: &str) -> String {
    let key = crate::problem::excerpt(key).trim_matches('\'').to_owned();
    if path.is_empty() { key } else { format!("{path}.{key}") }
}

/// Where the text has more dots between separators than any key of ours.
fn long_dotted_key(text: &str) -> Option<usize> {
    let mut dots = 0;
    for (at, byte) in text.bytes().enumerate() {
        match byte {
            b'.' => dots += 1,
            b'\n' | b'=' | b',' | b'{' | b'}' | b'[' | b']' => dots = 0,
            _ => {}
        }
        if dots > MOST_DOTS_IN_A_KEY {
            return Some(at);
        }
    }
    None
}

/// Makes problems from byte offsets.
struct Place<'a> {
    file: &'a str,
    text: &'a str,
}

impl Place<'_> {
    fn problem(&self, kind: ProblemKind, at: usize, what: &str, value: &str, allowed: &str) -> Problem {
        let (line, column) = self.line_and_column(at);
        Problem {
            what: what.to_owned(),
            value: value.to_owned(),
            allowed: allowed.to_owned(),
            file: self.file.to_owned(),
            line,
            column,
            kind,
            near: None,
        }
    }
    fn one(&self, kind: ProblemKind, at: usize, value: &str, allowed: &str) -> Problems {
        Problems(vec![self.problem(kind, at, "file", value, allowed)])
    }
    fn too_large(&self, bytes: usize) -> Problems {
        let allowed = format!("at most {LARGEST_FILE_BYTES} bytes");
        self.one(ProblemKind::TooLarge, 0, &format!("{bytes} bytes"), &allowed)
    }
    fn syntax(&self, errors: &[toml::de::Error]) -> Problems {
        let mut list: Vec<Problem> = Vec::new();
        for error in errors {
            let at = error.span().map_or(0, |s| s.start);
            let message = error.message().lines().collect::<Vec<_>>().join(", ");
            let problem = self.problem(ProblemKind::Syntax, at, "syntax", &message, "TOML");
            if list.len() < MOST_SYNTAX_ERRORS && list.iter().all(|p| p.line != problem.line) {
                list.push(problem);
            }
        }
        list.sort_by_key(|p| (p.line, p.column));
        Problems(list)
    }
    /// Line and column from 1, the column in characters; past the end counts as the end.
    fn line_and_column(&self, at: usize) -> (usize, usize) {
        let mut end = at.min(self.text.len());
        while !self.text.is_char_boundary(end) {
            end -= 1;
        }
        let before = self.text.get(..end).unwrap_or("");
        let line_start = before.rfind('\n').map_or(0, |i| i + 1);
        let line = before.bytes().filter(|b| *b == b'\n').count() + 1;
        (line, before.get(line_start..).unwrap_or("").chars().count() + 1)
    }
}
