//! One figure of a product or cabinet file, in words.

use fallrate_datafile::Cited;
use fallrate_units::{Duration, Quantity};

use crate::words::Reader;

/// A figure with its range, mark and source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Fact {
    /// What it is.
    pub label: String,
    /// With its unit.
    pub value: String,
    /// Low to high; empty where it is one value.
    pub range: String,
    /// Word of the file: read, computed, memory, assumed.
    pub mark: String,
    /// Source key.
    pub source: String,
    /// Note of the file.
    pub note: Option<String>,
}

/// A figure of a quantity in the reader's unit.
pub(crate) fn quantity<Q: Quantity>(r: &Reader, label: String, c: &Cited<Q>) -> Fact {
    let unit = Q::display_unit(r.units.system());
    let symbol = unit.symbols.first().copied().unwrap_or("");
    let pretty = symbol
        .replace("deg", "°")
        .replace("m2", "m²")
        .replace("m3", "m³")
        .replace("ft2", "ft²")
        .replace("ft3", "ft³");
    of_numbers(label, c, &pretty, [c.low, c.value, c.high].map(|q| q.in_unit(unit)))
}

/// A figure that is a length of time.
pub(crate) fn duration(label: String, c: &Cited<Duration>) -> Fact {
    let words = |d: Duration| match d.seconds() {
        s if s < 120.0 => format!("{} s", brief(s)),
        _ => d.words(),
    };
    let range = if c.low == c.high { String::new() } else { format!("{}–{}", words(c.low), words(c.high)) };
    Fact { value: words(c.value), range, ..of_numbers(label, c, "", [0.0; 3]) }
}

/// A figure that is a plain number.
pub(crate) fn number(label: String, unit: &str, c: &Cited<f64>) -> Fact {
    of_numbers(label, c, unit, [c.low, c.value, c.high])
}

fn of_numbers<T>(label: String, c: &Cited<T>, unit: &str, [low, value, high]: [f64; 3]) -> Fact {
    let range = if low == high { String::new() } else { format!("{}–{}", brief(low), brief(high)) };
    Fact {
        label,
        value: format!("{} {unit}", brief(value)).trim_end().to_owned(),
        range,
        mark: c.mark.word().to_owned(),
        source: c.source.clone(),
        note: c.note.clone(),
    }
}

/// Up to four significant digits, without trailing zeros.
pub(crate) fn brief(x: f64) -> String {
    if x == 0.0 || !x.is_finite() {
        return format!("{x}");
    }
    let size = x.abs();
    if !(1e-3..1e6).contains(&size) {
        return format!("{x:.2e}");
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let digits = (3 - size.log10().floor() as i64).clamp(0, 6) as usize;
    crate::words::trimmed(x, digits)
}
