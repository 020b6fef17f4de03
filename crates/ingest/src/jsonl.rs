//! JSON lines: one object a line, nested objects flattened to `outer.inner`. A frame of `[`, `]` and commas at line
//! ends (an array with one object a line) is accepted.

use serde_json::Value;

use crate::table::Row;

/// Whether a text's first line is that of JSON lines.
#[must_use]
pub fn is_json(lines: &[(u64, Vec<u8>)]) -> bool {
    let mut filled = lines.iter().filter(|(_, l)| !l.iter().all(u8::is_ascii_whitespace) && !is_frame(l));
    filled.next().is_some_and(|(_, l)| l.trim_ascii_start().starts_with(b"{"))
}

/// Lines that only frame an array, and blank ones.
#[must_use]
pub fn is_frame(line: &[u8]) -> bool {
    matches!(line.trim_ascii(), b"" | b"[" | b"]" | b"],")
}

fn object(line: &[u8]) -> Result<Vec<(String, String)>, String> {
    let text = line.trim_ascii();
    let text = text.strip_suffix(b",").unwrap_or(text);
    let value: Value = serde_json::from_slice(text).map_err(|e| format!("a line that is not JSON ({e})"))?;
    let mut cells = Vec::new();
    match value {
        Value::Object(map) => {
            for (key, value) in map {
                flatten(&key, value, 0, &mut cells);
            }
            Ok(cells)
        }
        other => Err(format!(
            "a JSON line that is not an object ('{}')",
            crate::error::shorten(&other.to_string())
        )),
    }
}

fn flatten(key: &str, value: Value, depth: u8, cells: &mut Vec<(String, String)>) {
    match value {
        Value::Object(map) if depth < 4 => {
            for (inner, value) in map {
                flatten(&format!("{key}.{inner}"), value, depth + 1, cells);
            }
        }
        Value::Array(list) if depth < 4 && list.len() <= 64 => {
            for (n, value) in list.into_iter().enumerate() {
                flatten(&format!("{key}.{}", n + 1), value, depth + 1, cells);
            }
        }
        Value::Null => cells.push((key.to_owned(), String::new())),
        Value::String(text) => cells.push((key.to_owned(), text)),
        other => cells.push((key.to_owned(), other.to_string())),
    }
}

/// All keys of some lines, in the order first met. Lines that cannot be read are passed over here; reading reports them.
#[must_use]
pub fn keys(lines: &[(u64, Vec<u8>)], most: usize) -> Vec<String> {
    let mut keys: Vec<String> = Vec::new();
    for (_, line) in lines.iter().filter(|(_, l)| !is_frame(l)) {
        for (key, _) in object(line).unwrap_or_default() {
            if keys.len() < most && !keys.contains(&key) {
                keys.push(key);
            }
        }
    }
    keys
}

/// The row of a line: one cell for each key.
///
/// # Errors
/// What the line is instead of an object.
pub fn row_from_line(line: &[u8], number: u64, keys: &[String], row: &mut Row) -> Result<(), String> {
    row.clear(number);
    let cells = object(line)?;
    for key in keys {
        let found = cells.iter().find(|(k, _)| k == key);
        row.push(found.map_or(&b""[..], |(_, v)| v.as_bytes()));
    }
    Ok(())
}
