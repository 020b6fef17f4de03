//! How a reader wants to see figures.

use fallrate_units::{Duration, TimeOfDay, UnitSystem};

use super::{Language, Words, say};

/// The units of the pages.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// Degrees Celsius, kilograms, millimetres.
    #[default]
    Si,
    /// Degrees Fahrenheit, pounds, inches.
    Us,
}

impl Units {
    pub(crate) const fn system(self) -> UnitSystem {
        match self {
            Self::Si => UnitSystem::Si,
            Self::Us => UnitSystem::Us,
        }
    }
}

/// Language and units of a reader, with the printing of figures.
#[derive(Debug)]
pub struct Reader {
    /// Catalogue.
    pub words: Words,
    /// Units.
    pub units: Units,
}

const POUNDS: f64 = 1.0 / 0.453_592_37;

impl Reader {
    /// A reader.
    #[must_use]
    pub fn new(language: Language, units: Units) -> Self {
        Self { words: Words::new(language), units }
    }
    fn us(&self) -> bool {
        self.units == Units::Us
    }
    /// A quantity in the reader's units: "71.5 °C", "6 mm".
    #[must_use]
    pub fn shown<Q: fallrate_units::Quantity>(&self, q: Q, digits: usize) -> String {
        crate::typed::shown(q, self.units, digits)
    }
    /// A message without variables.
    pub(crate) fn text(&self, key: &str) -> String {
        self.words.text(key)
    }

    /// A temperature as a number in the reader's unit.
    pub(crate) fn temperature_number(&self, celsius: f64) -> f64 {
        if self.us() { celsius * 1.8 + 32.0 } else { celsius }
    }
    /// "°C" or "°F".
    pub(crate) fn temperature_unit(&self) -> &'static str {
        if self.us() { "°F" } else { "°C" }
    }
    /// "71.1 °C", "160 °F".
    pub(crate) fn temperature(&self, celsius: f64) -> String {
        format!("{} {}", self.temperature_short(celsius), self.temperature_unit())
    }
    /// The number alone: "71.1", "160".
    pub(crate) fn temperature_short(&self, celsius: f64) -> String {
        trimmed(self.temperature_number(celsius), usize::from(!self.us()))
    }
    /// The number alone for a column, where the decimals stand below one another: "71.0", "160".
    pub(crate) fn temperature_cell(&self, celsius: f64) -> String {
        fixed(self.temperature_number(celsius), usize::from(!self.us()))
    }
    /// A difference: "11 K" shown as "11 °C" would be read as a temperature, so SI says K.
    pub(crate) fn difference(&self, kelvin: f64) -> String {
        if self.us() {
            format!("{} °F", trimmed(kelvin * 1.8, 0))
        } else {
            format!("{} K", trimmed(kelvin, 1))
        }
    }

    /// "kg" or "lb".
    pub(crate) fn mass_unit(&self) -> &'static str {
        if self.us() { "lb" } else { "kg" }
    }
    /// A mass as a number in the reader's unit.
    pub(crate) fn mass_number(&self, kilograms: f64) -> f64 {
        if self.us() { kilograms * POUNDS } else { kilograms }
    }
    /// The number alone.
    pub(crate) fn mass_short(&self, kilograms: f64, digits: usize) -> String {
        fixed(self.mass_number(kilograms), digits)
    }
    /// "22.0 kg".
    pub(crate) fn mass(&self, kilograms: f64, digits: usize) -> String {
        format!("{} {}", self.mass_short(kilograms, digits), self.mass_unit())
    }
    /// A price per kg in the reader's unit of mass.
    pub(crate) fn per_mass(&self, per_kilogram: f64) -> f64 {
        if self.us() { per_kilogram / POUNDS } else { per_kilogram }
    }
    /// "6.0 mm", "0.24 in".
    pub(crate) fn thickness(&self, metres: f64) -> String {
        if self.us() {
            format!("{} in", fixed(metres / 0.0254, 2))
        } else {
            format!("{} mm", trimmed(metres * 1e3, 1))
        }
    }
    /// "1600 m", "5249 ft".
    pub(crate) fn altitude(&self, metres: f64) -> String {
        if self.us() {
            format!("{} ft", fixed(metres / 0.3048, 0))
        } else {
            format!("{} m", fixed(metres, 0))
        }
    }
    /// "1.4 m/s", "276 ft/min".
    pub(crate) fn air_speed(&self, m_per_s: f64) -> String {
        if self.us() {
            format!("{} ft/min", fixed(m_per_s / 0.005_08, 0))
        } else {
            format!("{} m/s", fixed(m_per_s, 1))
        }
    }

    /// "25.0 % wb", from dry basis.
    pub(crate) fn moisture(&self, dry_basis: f64) -> String {
        say!(self, "moisture-wb", value = self.moisture_short(dry_basis))
    }
    /// The number alone, % of the wet weight.
    pub(crate) fn moisture_short(&self, dry_basis: f64) -> String {
        fixed(100.0 * dry_basis / (1.0 + dry_basis), 1)
    }
    /// "0.62".
    pub(crate) fn activity(&self, aw: f64) -> String {
        fixed(aw, 2)
    }
    /// "34 %".
    pub(crate) fn percent(&self, fraction: f64) -> String {
        let percent = 100.0 * fraction;
        let digits = usize::from(percent.abs() > 0.0 && percent.abs() < 9.95);
        format!("{} %", trimmed(percent, digits))
    }
    /// "5 h 40 min".
    #[must_use]
    pub fn duration(&self, seconds: f64) -> String {
        if seconds.is_finite() { Duration::from_seconds(seconds).words() } else { self.text("not-reached") }
    }
    /// "12.40 USD".
    pub(crate) fn money(&self, amount: f64, currency: &str) -> String {
        format!("{} {currency}", fixed(amount, 2))
    }
    /// The clock at an instant of a run: "05:45", "05:45 next day".
    pub(crate) fn clock(&self, start: TimeOfDay, elapsed_s: f64) -> String {
        if !elapsed_s.is_finite() {
            return self.text("not-reached");
        }
        // The minute decides the day, so that 23:59:40 is 00:00 of the next.
        let minutes = ((start.seconds() + elapsed_s) / 60.0).round();
        let clock = TimeOfDay::from_seconds(minutes * 60.0).hm();
        match (minutes / 1440.0).floor() {
            days if days < 1.0 => clock,
            days if days < 2.0 => say!(self, "clock-next-day", clock = clock),
            days => say!(self, "clock-day", clock = clock, day = fixed(days + 1.0, 0)),
        }
    }
}

/// A number with a fixed count of decimals, never "-0".
pub(crate) fn fixed(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

/// The same without trailing zeros.
pub(crate) fn trimmed(value: f64, digits: usize) -> String {
    let text = fixed(value, digits);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identity_clock_says_the_day() {
        let r = Reader::new(Language::English, Units::Si);
        let start = TimeOfDay::from_hm(15, 40);
        assert_eq!(r.clock(start, 3600.0), "16:40");
        assert_eq!(r.clock(start, 8.0 * 3600.0 + 19.0 * 60.0 + 40.0), "00:00 next day");
        assert_eq!(r.clock(start, 40.0 * 3600.0), "07:40, day 3");
        assert_eq!(r.clock(start, f64::INFINITY), "not reached");
    }

    #[test]
    fn identity_figures_in_both_systems() {
        let (si, us) = (Reader::new(Language::English, Units::Si), Reader::new(Language::English, Units::Us));
        assert_eq!(
            (si.temperature(71.111), us.temperature(71.111)),
            ("71.1 °C".to_owned(), "160 °F".to_owned())
        );
        assert_eq!((si.difference(11.111), us.difference(11.111)), ("11.1 K".to_owned(), "20 °F".to_owned()));
        assert_eq!((si.mass(10.0, 1), us.mass(10.0, 1)), ("10.0 kg".to_owned(), "22.0 lb".to_owned()));
        assert_eq!(si.moisture(1.0 / 3.0), "25.0 % wb");
        assert_eq!(fixed(-0.004, 2), "0.00");
    }
}
