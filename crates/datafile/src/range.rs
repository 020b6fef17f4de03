//! Ranges and numbers as messages show them.

use std::ops::RangeInclusive;

use fallrate_units::{Quantity, UnitSystem};

/// A number with up to four significant digits, without trailing zeros.
pub(crate) fn brief(x: f64) -> String {
    if x == 0.0 || !x.is_finite() {
        return format!("{x}");
    }
    let size = x.abs();
    if !(1e-3..1e6).contains(&size) {
        return format!("{x:e}");
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let digits = (3 - size.log10().floor() as i64).clamp(0, 6) as usize;
    let text = format!("{x:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A quantity in its first unit for people who read SI.
pub(crate) fn show<Q: Quantity>(q: Q) -> String {
    let unit = Q::display_unit(UnitSystem::Si);
    format!("{} {}", brief(q.in_unit(unit)), unit.symbols.first().unwrap_or(&""))
}

/// "2 mm to 50 mm", "at least 0 kg", "any value".
pub(crate) fn quantity_range<Q: Quantity>(range: &RangeInclusive<Q>) -> String {
    words(range.start().base(), range.end().base(), &show(*range.start()), &show(*range.end()))
}

/// The same for plain numbers.
pub(crate) fn number_range(range: &RangeInclusive<f64>) -> String {
    words(*range.start(), *range.end(), &brief(*range.start()), &brief(*range.end()))
}

fn words(low: f64, high: f64, low_text: &str, high_text: &str) -> String {
    match (low.is_finite(), high.is_finite()) {
        (true, true) => format!("{low_text} to {high_text}"),
        (true, false) => format!("at least {low_text}"),
        (false, true) => format!("at most {high_text}"),
        (false, false) => "any finite value".to_owned(),
    }
}
