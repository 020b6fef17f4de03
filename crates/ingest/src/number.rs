//! Fast reading of one cell: a number, a number with its unit, nothing, or a code for "no sensor".

/// The character that stands before the decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum DecimalMark {
    /// `71.5`
    #[serde(rename = ".")]
    Point,
    /// `71,5`
    #[serde(rename = ",")]
    Comma,
}

impl DecimalMark {
    pub(crate) fn byte(self) -> u8 {
        match self {
            Self::Point => b'.',
            Self::Comma => b',',
        }
    }
}

/// What one cell of a log says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cell<'a> {
    /// A number alone.
    Number(f64),
    /// A number followed by letters: `71.5 °C`.
    WithUnit(f64, &'a str),
    /// Nothing, or a mark for "no reading" (`-`, `n/a`, `NaN`).
    Empty,
    /// A word loggers print for a sensor that is not there or is broken (`OPEN`, `#N/A`, `ERR`).
    Fault(&'a str),
    /// `<` or `>` before a number: outside the instrument's range.
    Beyond(&'a str),
    /// Other text.
    Text(&'a str),
}

/// Words for "sensor missing or broken", common practice of loggers, no source. Compared without capitals, spaces or points.
const FAULT_WORDS: &[&str] = &[
    "open",
    "opn",
    "oc",
    "opencircuit",
    "opentc",
    "burnout",
    "burn-out",
    "bout",
    "sbrk",
    "sbreak",
    "break",
    "brk",
    "err",
    "error",
    "sensorerror",
    "fehler",
    "fault",
    "fail",
    "#n/a",
    "#na",
    "#value!",
    "#div/0!",
    "#ref!",
    "#num!",
    "unplugged",
    "disconnected",
    "disconnect",
    "noprobe",
    "nosensor",
    "ol",
    "oor",
    "over",
    "under",
    "overrange",
    "underrange",
    "overload",
    "hhhh",
    "llll",
    "hh",
    "ll",
    "****",
    "*****",
    "######",
    "####",
    "short",
    "inf",
    "+inf",
    "-inf",
    "infinity",
    "-infinity",
    "bad",
    "invalid",
    "abierto",
    "desconectado",
    "sinsonda",
    "sinsensor",
    "offen",
    "bruch",
];

const EMPTY_WORDS: &[&str] = &[
    "-",
    "--",
    "---",
    "----",
    "-----",
    "n/a",
    "na",
    "nan",
    "null",
    "none",
    "nil",
    "nodata",
    "noreading",
    "missing",
    "?",
    "..",
    "sindato",
    "s/d",
];

const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// The number a cell holds, or `None` where it holds anything else. Plain numbers take a path without allocation that
/// is correctly rounded (a mantissa below 2^53 and one division by an exact power of ten); all others go through the
/// standard library.
#[must_use]
pub fn parse_number(bytes: &[u8], mark: DecimalMark) -> Option<f64> {
    match plain_number(bytes, mark.byte()) {
        Some(value) => Some(value),
        None => slow_number(bytes, mark),
    }
}

fn plain_number(bytes: &[u8], mark: u8) -> Option<f64> {
    let (negative, digits) = match bytes.first()? {
        b'-' => (true, bytes.get(1..)?),
        b'+' => (false, bytes.get(1..)?),
        _ => (false, bytes),
    };
    if digits.is_empty() || digits.len() > 16 {
        return None;
    }
    let mut mantissa: u64 = 0;
    let mut decimals: usize = 0;
    let mut seen_mark = false;
    let mut count = 0usize;
    for &c in digits {
        let d = c.wrapping_sub(b'0');
        if d < 10 {
            mantissa = mantissa * 10 + u64::from(d);
            decimals += usize::from(seen_mark);
            count += 1;
        } else if c == mark && !seen_mark {
            seen_mark = true;
        } else {
            return None;
        }
    }
    if count == 0 || mantissa >= 1 << 53 {
        return None;
    }
    #[allow(clippy::cast_precision_loss)] // below 2^53: exact
    let value = mantissa as f64 / POWERS.get(decimals)?;
    Some(if negative { -value } else { value })
}

fn slow_number(bytes: &[u8], mark: DecimalMark) -> Option<f64> {
    if bytes.len() > 40 {
        return None;
    }
    let text = std::str::from_utf8(bytes).ok()?.trim();
    let first = text.bytes().next()?;
    let begins =
        first.is_ascii_digit() || matches!(first, b'-' | b'+' | b'.' | b',') || text.starts_with('\u{2212}');
    if !begins {
        return None;
    }
    let mut clean = String::with_capacity(text.len());
    let group = if mark == DecimalMark::Point { ',' } else { '.' };
    let mut grouped = false;
    for c in text.chars() {
        match c {
            '\u{2212}' => clean.push('-'),
            c if c == char::from(mark.byte()) => clean.push('.'),
            c if c == group || matches!(c, '\'' | '\u{2019}' | ' ' | '\u{a0}' | '\u{202f}') => {
                grouped = true;
                clean.push('_');
            }
            c if c.is_ascii_digit() || matches!(c, '-' | '+' | 'e' | 'E') => clean.push(c),
            _ => return None,
        }
    }
    if grouped {
        if !groups_are_thousands(&clean) {
            return None;
        }
        clean.retain(|c| c != '_');
    }
    clean.parse::<f64>().ok().filter(|v| v.is_finite())
}

/// `1_234_567.8`: one to three digits, then groups of exactly three, marks only before the decimals.
fn groups_are_thousands(clean: &str) -> bool {
    let whole = clean.split('.').next().unwrap_or("");
    if clean.len() > whole.len() && clean.get(whole.len()..).is_some_and(|t| t.contains('_')) {
        return false;
    }
    let mut parts = whole.trim_start_matches(['-', '+']).split('_');
    let head = parts.next().unwrap_or("");
    let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    (1..=3).contains(&head.len()) && digits(head) && parts.all(|p| p.len() == 3 && digits(p))
}

/// Reads a cell.
#[must_use]
pub fn read_cell(bytes: &[u8], mark: DecimalMark) -> Cell<'_> {
    if let Some(value) = plain_number(bytes, mark.byte()) {
        return Cell::Number(value);
    }
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text.trim_matches(|c: char| c.is_whitespace() || c == '"' || c == '\u{0}'),
        Err(_) => return Cell::Text("(not text)"),
    };
    if text.is_empty() {
        return Cell::Empty;
    }
    if let Some(value) = parse_number(text.as_bytes(), mark) {
        return Cell::Number(value);
    }
    if matches!(text.as_bytes().first(), Some(b'<' | b'>')) && text.bytes().any(|b| b.is_ascii_digit()) {
        return Cell::Beyond(text);
    }
    if let Some(cell) = word_cell(text) {
        return cell;
    }
    number_and_unit(text, mark).unwrap_or(Cell::Text(text))
}

fn word_cell(text: &str) -> Option<Cell<'_>> {
    if text.len() > 24 {
        return None;
    }
    let word: String = text
        .chars()
        .filter(|c| !c.is_whitespace() && *c != '.' && *c != '_')
        .flat_map(char::to_lowercase)
        .collect();
    if word.is_empty() || EMPTY_WORDS.contains(&word.as_str()) {
        Some(Cell::Empty)
    } else if FAULT_WORDS.contains(&word.as_str()) {
        Some(Cell::Fault(text))
    } else {
        None
    }
}

fn number_and_unit(text: &str, mark: DecimalMark) -> Option<Cell<'_>> {
    let end = text
        .char_indices()
        .find(|(_, c)| !(c.is_ascii_digit() || matches!(c, '-' | '+' | '.' | ',' | '\u{2212}')))
        .map(|(i, _)| i)?;
    let (number, unit) = (text.get(..end)?, text.get(end..)?.trim());
    let value = parse_number(number.as_bytes(), mark)?;
    let letters = unit.chars().filter(|c| c.is_alphabetic() || matches!(c, '%' | '°' | 'º' | '˚')).count();
    (letters > 0 && unit.len() <= 12 && !unit.bytes().any(|b| b.is_ascii_digit()))
        .then_some(Cell::WithUnit(value, unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identity_fast_path_is_the_standard_librarys_number() {
        for text in
            ["71.5", "-0.001", "160", "+4.25", "0.1", "123456789.0123", ".5", "5.", "9007199254740991"]
        {
            let want: f64 = text.parse().unwrap();
            assert_eq!(parse_number(text.as_bytes(), DecimalMark::Point), Some(want), "{text}");
            let comma = text.replace('.', ",");
            assert_eq!(parse_number(comma.as_bytes(), DecimalMark::Comma), Some(want), "{comma}");
        }
    }

    #[test]
    fn thousands_need_groups_of_three() {
        assert_eq!(parse_number(b"1,234.5", DecimalMark::Point), Some(1234.5));
        assert_eq!(parse_number(b"1.234,5", DecimalMark::Comma), Some(1234.5));
        assert_eq!(parse_number("1 234,5".as_bytes(), DecimalMark::Comma), Some(1234.5));
        assert_eq!(parse_number(b"71,5", DecimalMark::Point), None);
        assert_eq!(parse_number(b"1,23,456", DecimalMark::Point), None);
    }

    #[test]
    fn cells_are_told_apart() {
        assert_eq!(read_cell("71.5 °C".as_bytes(), DecimalMark::Point), Cell::WithUnit(71.5, "°C"));
        assert_eq!(read_cell(b"161F", DecimalMark::Point), Cell::WithUnit(161.0, "F"));
        assert_eq!(read_cell(b" --- ", DecimalMark::Point), Cell::Empty);
        assert_eq!(read_cell(b"Open Circuit", DecimalMark::Point), Cell::Fault("Open Circuit"));
        assert_eq!(read_cell(b"#N/A", DecimalMark::Point), Cell::Fault("#N/A"));
        assert_eq!(read_cell(b"> 100", DecimalMark::Point), Cell::Beyond("> 100"));
        assert_eq!(read_cell(b"door open", DecimalMark::Point), Cell::Text("door open"));
        assert_eq!(read_cell(b"71,5", DecimalMark::Point), Cell::Text("71,5"));
    }
}
