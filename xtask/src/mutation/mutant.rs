//! What cargo-mutants lists.

use serde_json::Value;

use crate::XtaskError;

/// The kinds of change that are switched at run time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Genre {
    /// The whole function gives another value.
    FnValue,
    /// Another binary operator.
    Binary,
    /// An operator before its operand left out.
    Unary,
    /// An arm of a match left out.
    Arm,
    /// The guard of an arm always true, or always false.
    Guard,
    /// A field of a struct expression left to its base.
    Field,
}

impl Genre {
    fn of(name: &str) -> Option<Self> {
        Some(match name {
            "FnValue" => Self::FnValue,
            "BinaryOperator" => Self::Binary,
            "UnaryOperator" => Self::Unary,
            "MatchArm" => Self::Arm,
            "MatchArmGuard" => Self::Guard,
            "StructField" => Self::Field,
            _ => return None,
        })
    }
}

/// One change to the code.
#[derive(Clone, Debug)]
pub struct Mutant {
    /// The number it is switched on by.
    pub id: usize,
    /// File below the workspace.
    pub file: String,
    /// What it is, with file, line and column.
    pub name: String,
    /// Its kind; none where the kind is not known here.
    pub genre: Option<Genre>,
    /// What stands there instead.
    pub replacement: String,
    /// Line and column of its start, from 1.
    pub at: (usize, usize),
}

/// The mutants of what `cargo mutants --list --json` prints.
///
/// # Errors
/// Where it is not JSON.
pub fn listed(json: &str) -> Result<Vec<Mutant>, XtaskError> {
    let value: Value = serde_json::from_str(json)?;
    let text = |v: &Value| v.as_str().unwrap_or_default().to_owned();
    let number = |v: &Value| v.as_u64().and_then(|n| usize::try_from(n).ok()).unwrap_or_default();
    let all = value.as_array().into_iter().flatten().enumerate();
    Ok(all
        .map(|(id, m)| Mutant {
            id,
            file: text(&m["file"]),
            name: text(&m["name"]),
            genre: Genre::of(m["genre"].as_str().unwrap_or_default()),
            replacement: text(&m["replacement"]),
            at: (number(&m["span"]["start"]["line"]), number(&m["span"]["start"]["column"])),
        })
        .collect())
}
