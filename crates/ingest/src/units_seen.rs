//! Units in headings, unit rows and cells.

use fallrate_units::{Fraction, Mass, Power, Pressure, Quantity, RelativeHumidity, Temperature, Unit};

/// What kind of quantity a unit belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Temperature.
    Temperature,
    /// Relative humidity, opening: a share.
    Share,
    /// Weight.
    Mass,
    /// Electric power.
    Power,
    /// Air pressure.
    Pressure,
    /// On or off, open or shut.
    State,
    /// Anything else, kept as written.
    Other,
}

/// A unit found or given.
#[derive(Clone, Copy, Debug)]
pub struct MeasureUnit {
    /// Kind.
    pub kind: Kind,
    /// Symbol for mapping files and messages.
    pub symbol: &'static str,
    /// `base = number * factor + offset`.
    pub factor: f64,
    /// `base = number * factor + offset`.
    pub offset: f64,
}

impl PartialEq for MeasureUnit {
    fn eq(&self, other: &Self) -> bool {
        self.kind == other.kind && self.symbol == other.symbol
    }
}

impl MeasureUnit {
    /// The value in the base unit of the series.
    #[must_use]
    pub fn base_from(&self, number: f64) -> f64 {
        number * self.factor + self.offset
    }
    /// Values kept as they stand.
    pub const AS_WRITTEN: Self = Self { kind: Kind::Other, symbol: "", factor: 1.0, offset: 0.0 };
    /// 0 or 1.
    pub const STATE: Self = Self { kind: Kind::State, symbol: "state", factor: 1.0, offset: 0.0 };
}

fn from_table(kind: Kind, unit: &'static Unit) -> Option<MeasureUnit> {
    let symbol = unit.symbols.first()?;
    Some(MeasureUnit { kind, symbol, factor: unit.factor, offset: unit.offset })
}

/// The units a kind may have, first the SI one.
#[must_use]
pub fn units_of(kind: Kind) -> Vec<MeasureUnit> {
    let table = match kind {
        Kind::Temperature => Temperature::unit_table(),
        Kind::Share => RelativeHumidity::unit_table(),
        Kind::Mass => Mass::unit_table(),
        Kind::Power => Power::unit_table(),
        Kind::Pressure => Pressure::unit_table(),
        Kind::State => return vec![MeasureUnit::STATE],
        Kind::Other => return vec![MeasureUnit::AS_WRITTEN],
    };
    table.iter().filter_map(|u| from_table(kind, u)).collect()
}

/// A unit of a kind by its name, as mapping files and hand entry give it.
#[must_use]
pub fn unit_named(kind: Kind, name: &str) -> Option<MeasureUnit> {
    let found = unit_word(name)?;
    if found.kind == kind {
        return Some(found);
    }
    None
}

fn simplified(text: &str) -> String {
    text.trim()
        .replace("Â°", "°")
        .replace(['º', '˚', '\u{2218}', '\u{fffd}'], "°")
        .replace('℃', "°C")
        .replace('℉', "°F")
        .trim_matches(|c: char| {
            matches!(c, '(' | ')' | '[' | ']' | '{' | '}' | '<' | '>' | '.' | ',' | ':' | ' ')
        })
        .to_owned()
}

/// The unit a whole text is, or `None`. A lone `C`, `F` or `K` counts.
#[must_use]
pub fn unit_word(text: &str) -> Option<MeasureUnit> {
    let text = simplified(text);
    if text.is_empty() || text.len() > 24 {
        return None;
    }
    let lower = text.to_lowercase();
    let squeezed: String = lower.chars().filter(|c| !c.is_whitespace() && *c != '.').collect();
    let (kind, symbol) = match squeezed.as_str() {
        "°c" | "?c" | "degc" | "deg_c" | "gradc" | "c" | "celsius" | "degreesc" | "degreecelsius"
        | "degreescelsius" | "gradosc" | "gradcelsius" | "cel" | "celcius" => (Kind::Temperature, "degC"),
        "°f" | "?f" | "degf" | "deg_f" | "f" | "fahrenheit" | "degreesf" | "degreefahrenheit"
        | "degreesfahrenheit" | "gradosf" => (Kind::Temperature, "degF"),
        "k" | "kelvin" => (Kind::Temperature, "K"),
        "%" | "%rh" | "rh%" | "%rf" | "%hr" | "%rel" | "percent" | "pct" | "%open" | "%relhum" | "%r"
        | "%rhum" => (Kind::Share, "%"),
        "fraction" | "frac" | "0-1" | "0..1" => (Kind::Share, "fraction"),
        "kg" | "kgs" | "kilogram" | "kilograms" | "kilogramm" | "kilogramos" => (Kind::Mass, "kg"),
        "g" | "gr" | "gram" | "grams" | "gramm" | "gramos" => (Kind::Mass, "g"),
        "lb" | "lbs" | "pound" | "pounds" | "libras" | "lb_av" => (Kind::Mass, "lb"),
        "oz" | "ounce" | "ounces" => (Kind::Mass, "oz"),
        "w" | "watt" | "watts" => (Kind::Power, "W"),
        "kw" | "kilowatt" | "kilowatts" => (Kind::Power, "kW"),
        "btu/h" | "btuh" | "btu/hr" => (Kind::Power, "BTU/h"),
        "pa" | "pascal" => (Kind::Pressure, "Pa"),
        "hpa" | "mbar" | "mb" => (Kind::Pressure, "hPa"),
        "kpa" => (Kind::Pressure, "kPa"),
        "psi" | "psia" => (Kind::Pressure, "psi"),
        "inhg" => (Kind::Pressure, "inHg"),
        "on/off" | "0/1" | "state" | "open/shut" | "open/closed" | "bool" => return Some(MeasureUnit::STATE),
        _ => return None,
    };
    let found = units_of(kind).into_iter().find(|u| u.symbol == symbol);
    found.or_else(|| {
        let table: &'static [Unit] = if kind == Kind::Share { Fraction::unit_table() } else { return None };
        table.iter().filter(|u| u.symbols.contains(&symbol)).find_map(|u| from_table(kind, u))
    })
}

/// A unit in a heading, and the heading without it.
#[derive(Clone, Debug, PartialEq)]
pub struct InHeading {
    /// The unit, if one stands there.
    pub unit: Option<MeasureUnit>,
    /// The heading without it.
    pub rest: String,
}

/// Finds the unit of a heading: in brackets, after a comma, slash or underscore, or as an unmistakable last word.
/// A bare last letter ("Probe C") is not a unit.
#[must_use]
pub fn unit_in_heading(heading: &str) -> InHeading {
    let clean = heading.replace("Â°", "°");
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}'), ('<', '>')] {
        for (at, _) in clean.match_indices(open) {
            let Some(tail) = clean.get(at + open.len_utf8()..) else { continue };
            let Some(end) = tail.find(close) else { continue };
            let inside = tail.get(..end).unwrap_or("");
            if let Some(unit) = unit_word(inside) {
                let after = tail.get(end + close.len_utf8()..).unwrap_or("");
                let rest = format!("{} {}", clean.get(..at).unwrap_or(""), after);
                return InHeading { unit: Some(unit), rest: rest.trim().to_owned() };
            }
        }
    }
    for mark in [',', '/', '_', '|', ':', ';', '-'] {
        if let Some((before, after)) = clean.rsplit_once(mark)
            && let Some(unit) = unit_word(after)
            && !(mark == '-' && after.trim().chars().count() < 2)
        {
            return InHeading { unit: Some(unit), rest: before.trim().to_owned() };
        }
    }
    last_or_first_word(&clean)
}

fn last_or_first_word(clean: &str) -> InHeading {
    let words: Vec<&str> = clean.split_whitespace().collect();
    let unmistakable = |word: &str| {
        let unit = unit_word(word)?;
        let letters = word.chars().filter(|c| c.is_alphabetic()).count();
        (word.contains(['°', 'º', '˚', '%', '℃', '℉', '\u{fffd}'])
            || letters >= 2 && unit.symbol != "oz"
            || unit.symbol == "oz" && letters == 2)
            .then_some(unit)
    };
    if let Some((last, before)) = words.split_last()
        && let Some(unit) = unmistakable(last)
        && !before.is_empty()
    {
        return InHeading { unit: Some(unit), rest: before.join(" ") };
    }
    if words.len() >= 2 {
        let tail = words.get(words.len() - 2..).unwrap_or(&[]).concat();
        if let Some(unit) = unmistakable(&tail) {
            let rest = words.get(..words.len() - 2).unwrap_or(&[]).join(" ");
            return InHeading { unit: Some(unit), rest };
        }
    }
    if let Some((first, after)) = words.split_first()
        && first.starts_with('%')
        && let Some(unit) = unit_word("%")
    {
        let rest = format!("{} {}", first.trim_start_matches('%'), after.join(" "));
        return InHeading { unit: Some(unit), rest: rest.trim().to_owned() };
    }
    // "Air°C", "RH%"
    for sign in ['°', '%'] {
        if let Some(at) = clean.rfind(sign)
            && let (Some(before), Some(after)) = (clean.get(..at), clean.get(at..))
            && !before.trim().is_empty()
            && let Some(unit) = unit_word(after)
        {
            return InHeading { unit: Some(unit), rest: before.trim().to_owned() };
        }
    }
    InHeading { unit: None, rest: clean.trim().to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(heading: &str) -> (Option<&'static str>, String) {
        let found = unit_in_heading(heading);
        (found.unit.map(|u| u.symbol), found.rest)
    }

    #[test]
    fn headings() {
        for (heading, symbol, rest) in [
            ("Core 1 (°C)", Some("degC"), "Core 1"),
            ("Temp [degF]", Some("degF"), "Temp"),
            ("Temp, °F", Some("degF"), "Temp"),
            ("air_c", Some("degC"), "air"),
            ("RH%", Some("%"), "RH"),
            ("RH (%)", Some("%"), "RH"),
            ("%RH", Some("%"), "RH"),
            ("Probe C", None, "Probe C"),
            ("Luft Â°C", Some("degC"), "Luft"),
            ("Kern ?C", None, "Kern ?C"),
            ("Kern (?C)", Some("degC"), "Kern"),
            ("Tray 3 weight kg", Some("kg"), "Tray 3 weight"),
            ("Air deg C", Some("degC"), "Air"),
            ("Wet bulb", None, "Wet bulb"),
        ] {
            assert_eq!(of(heading), (symbol, rest.to_owned()), "{heading}");
        }
    }

    #[test]
    fn identity_conversion_is_that_of_the_units_crate() {
        let f = unit_word("°F").unwrap();
        assert!((f.base_from(160.0) - Temperature::from_fahrenheit(160.0).celsius()).abs() < 1e-12);
    }
}
