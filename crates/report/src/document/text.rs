//! Foreign text made legible: nothing in it may hide or turn the text around it.

use crate::table::{Column, Table};
use std::fmt::Write as _;

/// Whether a character has no shape of its own or changes how its neighbours are shown: controls, invisible marks,
/// marks that turn the direction of writing, and private characters.
pub(crate) fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}' | '\u{180b}'..='\u{180f}'
            | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{3164}'
            | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}' | '\u{fffe}' | '\u{ffff}'
            | '\u{e000}'..='\u{f8ff}' | '\u{1bca0}'..='\u{1bca3}' | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{10ffff}')
}

/// The text with every hidden character written out as `[U+202E]`; line ends stay, tabs become spaces.
///
/// ```
/// assert_eq!(fallrate_report::legible("lot\u{202e} 17\tA\r\n"), "lot[U+202E] 17 A\n");
/// ```
#[must_use]
pub fn legible(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '\r' if rest.peek() == Some(&'\n') => {}
            '\r' | '\n' | '\u{85}' | '\u{2028}' | '\u{2029}' => out.push('\n'),
            '\t' => out.push(' '),
            c if is_hidden(c) => {
                let _ = write!(out, "[U+{:04X}]", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out
}

/// Units and the like that never stand at the start of a line, away from their number.
const UNITS: [&str; 44] = [
    "%", "°C", "°F", "K", "s", "min", "h", "d", "mm", "cm", "m", "in", "ft", "g", "kg", "t", "oz", "lb", "L",
    "mL", "gal", "W", "kW", "kWh", "V", "A", "Pa", "hPa", "kPa", "bar", "psi", "mph", "m/s", "ft/min", "m³",
    "m³/h", "ft³/min", "kg/h", "lb/h", "g/kg", "Hz", "px", "°", "‰",
];

/// The text with every unit held to the number before it by a no-break space.
///
/// ```
/// assert_eq!(fallrate_report::units_kept("for 4 min, or 12 March"), "for 4\u{a0}min, or 12 March");
/// ```
#[must_use]
pub fn units_kept(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for (n, word) in text.split(' ').enumerate() {
        let unit = word.trim_end_matches(|c: char| ",.;:)!?".contains(c));
        let unit = unit.split('\n').next().unwrap_or(unit);
        let held = out.ends_with(|c: char| c.is_ascii_digit()) && UNITS.contains(&unit);
        if n > 0 {
            out.push(if held { '\u{a0}' } else { ' ' });
        }
        out.push_str(word);
    }
    out
}

/// A text without spaces at its ends that ends as a sentence does: with the mark it has, or a full stop.
///
/// ```
/// assert_eq!(fallrate_report::sentence(" The core "), "The core.");
/// ```
#[must_use]
pub fn sentence(text: &str) -> String {
    let text = text.trim();
    let closed = text.is_empty() || text.ends_with(['.', '!', '?', '…', ':']);
    if closed { text.to_owned() } else { format!("{text}.") }
}

/// The table with every text made legible.
pub(crate) fn legible_table(table: &Table) -> Table {
    let column = |c: &Column| Column { text: legible(&c.text), align: c.align };
    Table {
        title: legible(&table.title),
        header: table.header.iter().map(column).collect(),
        rows: table.rows.iter().map(|row| row.iter().map(|cell| legible(cell)).collect()).collect(),
        note: table.note.as_deref().map(legible),
    }
}
