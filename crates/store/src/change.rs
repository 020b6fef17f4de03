//! What differs between two values, field by field.

use serde::Serialize;
use serde_json::Value;

/// One field that differs. Values are JSON; `None` where the field is missing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Which field ("lot.water_activity", "raw_lots[1]"); empty for the whole.
    pub path: String,
    /// What it was.
    pub old: Option<String>,
    /// What it is.
    pub new: Option<String>,
}

/// The fields in which two values differ, in the order of their names.
#[must_use]
pub fn changes<T: Serialize + ?Sized>(old: &T, new: &T) -> Vec<Change> {
    let value = |v: &T| serde_json::to_value(v).unwrap_or(Value::Null);
    let mut out = Vec::new();
    compare("", Some(&value(old)), Some(&value(new)), &mut out);
    out
}

fn compare(path: &str, old: Option<&Value>, new: Option<&Value>, out: &mut Vec<Change>) {
    match (old, new) {
        (a, b) if a == b => {}
        (Some(Value::Object(a)), Some(Value::Object(b))) => {
            let mut names: Vec<&String> = a.keys().chain(b.keys()).collect();
            names.sort();
            names.dedup();
            for name in names {
                let path = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
                compare(&path, a.get(name), b.get(name), out);
            }
        }
        (Some(Value::Array(a)), Some(Value::Array(b))) => {
            for i in 0..a.len().max(b.len()) {
                compare(&format!("{path}[{i}]"), a.get(i), b.get(i), out);
            }
        }
        (a, b) => out.push(Change {
            path: path.to_owned(),
            old: a.map(Value::to_string),
            new: b.map(Value::to_string),
        }),
    }
}
