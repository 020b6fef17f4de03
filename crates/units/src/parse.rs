//! Reading a number with its unit as people write it.

use crate::Quantity;

/// Why a text is not the quantity that was asked for. Order: what, value, what is allowed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// No number could be read.
    #[error(
        "{quantity}: '{text}' is not a number with a unit; allowed: a number followed by one of {allowed}"
    )]
    NotANumber {
        /// Quantity asked for.
        quantity: &'static str,
        /// Text found.
        text: String,
        /// Units allowed.
        allowed: String,
    },
    /// A number without a unit.
    #[error("{quantity}: '{text}' has no unit; allowed: {allowed}")]
    NoUnit {
        /// Quantity asked for.
        quantity: &'static str,
        /// Text found.
        text: String,
        /// Units allowed.
        allowed: String,
    },
    /// A unit this quantity does not have.
    #[error("{quantity}: '{unit}' in '{text}' is not one of its units; allowed: {allowed}")]
    UnknownUnit {
        /// Quantity asked for.
        quantity: &'static str,
        /// Text found.
        text: String,
        /// Unit found.
        unit: String,
        /// Units allowed.
        allowed: String,
    },
    /// Moisture without wet or dry basis.
    #[error(
        "moisture: '{text}' does not say its basis; allowed: '% wb' (of the wet weight) or '% db' / 'kg/kg db' (per dry solids)"
    )]
    NoBasis {
        /// Text found.
        text: String,
    },
    /// A value outside its range.
    #[error("{quantity}: {value} is out of range; allowed: {allowed}")]
    OutOfRange {
        /// Quantity asked for.
        quantity: &'static str,
        /// Value found.
        value: String,
        /// Range.
        allowed: String,
    },
}

/// Splits `"71,5 degC"` into its number and the rest. A decimal comma is one comma between digits with no point in the
/// number; `1/4` and `1 1/4` are read as fractions.
///
/// # Errors
/// [`UnitError::NotANumber`] where the text does not begin with a finite number.
pub fn split_number(text: &str) -> Result<(f64, &str), UnitError> {
    let trimmed = text.trim();
    let bad = || UnitError::NotANumber {
        quantity: "number",
        text: trimmed.to_owned(),
        allowed: "units of the quantity".to_owned(),
    };
    let end = number_end(trimmed);
    let (head, rest) = trimmed.split_at(end);
    let value = read_number(head.trim()).ok_or_else(bad)?;
    Ok((value, rest.trim()))
}

/// Byte length of the leading number, with fractions ("1 1/4") and exponents ("3e-10").
fn number_end(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut i = 0;
    while i < bytes.len() {
        let c = bytes[i];
        let exponent = (c == b'e' || c == b'E')
            && i > 0
            && bytes[i - 1].is_ascii_digit()
            && bytes.get(i + 1).is_some_and(|n| {
                n.is_ascii_digit()
                    || ((*n == b'-' || *n == b'+') && bytes.get(i + 2).is_some_and(u8::is_ascii_digit))
            });
        let sign = (c == b'-' || c == b'+') && (i == 0 || matches!(bytes[i - 1], b'e' | b'E'));
        let fraction = (c == b'/' || c == b' ')
            && i > 0
            && bytes[i - 1].is_ascii_digit()
            && bytes.get(i + 1).is_some_and(u8::is_ascii_digit);
        if c.is_ascii_digit()
            || c == b'.'
            || exponent
            || sign
            || fraction
            || (c == b',' && bytes.get(i + 1).is_some_and(u8::is_ascii_digit))
        {
            i += 1;
        } else {
            break;
        }
    }
    i
}

fn read_number(head: &str) -> Option<f64> {
    let value = if let Some((whole, fraction)) = head.split_once(' ') {
        let whole: f64 = whole.parse().ok()?;
        whole + read_fraction(fraction)?
    } else if head.contains('/') {
        read_fraction(head)?
    } else if head.matches(',').count() == 1 && !head.contains('.') {
        head.replace(',', ".").parse().ok()?
    } else {
        head.parse().ok()?
    };
    value.is_finite().then_some(value)
}

fn read_fraction(text: &str) -> Option<f64> {
    let (a, b) = text.split_once('/')?;
    let (a, b): (f64, f64) = (a.parse().ok()?, b.parse().ok()?);
    (b != 0.0).then_some(a / b)
}

/// The allowed units of a quantity, printed.
pub(crate) fn allowed_units<Q: Quantity>() -> String {
    Q::unit_table().iter().map(|u| u.symbols[0]).collect::<Vec<_>>().join(", ")
}

pub(crate) fn quantity<Q: Quantity>(text: &str) -> Result<Q, UnitError> {
    let (number, unit) = split_number(text).map_err(|_| UnitError::NotANumber {
        quantity: Q::NAME,
        text: text.trim().to_owned(),
        allowed: allowed_units::<Q>(),
    })?;
    if unit.is_empty() {
        return Err(UnitError::NoUnit {
            quantity: Q::NAME,
            text: text.trim().to_owned(),
            allowed: allowed_units::<Q>(),
        });
    }
    let normal: String = unit.split_whitespace().collect::<Vec<_>>().join(" ");
    let found = Q::unit_table().iter().find(|u| u.symbols.contains(&normal.as_str())).or_else(|| {
        // Spelling that differs only in capitals is accepted where it is not ambiguous.
        let mut close =
            Q::unit_table().iter().filter(|u| u.symbols.iter().any(|s| s.eq_ignore_ascii_case(&normal)));
        match (close.next(), close.next()) {
            (Some(one), None) => Some(one),
            _ => None,
        }
    });
    let Some(unit_found) = found else {
        return Err(UnitError::UnknownUnit {
            quantity: Q::NAME,
            text: text.trim().to_owned(),
            unit: normal,
            allowed: allowed_units::<Q>(),
        });
    };
    Ok(Q::from_base(number * unit_found.factor + unit_found.offset))
}
