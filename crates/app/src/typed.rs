//! What hands type into a field, read with the unit that stands beside it, and read back where there was any doubt.

use fallrate_units::{
    Altitude, Duration, Fraction, HumidityRatio, Length, Mass, Moisture, Pressure, Quantity,
    RelativeHumidity, Temperature, TimeOfDay, Volume,
};

use crate::words::{Reader, Units};

/// What a field asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    /// Temperature of air or product in the cabinet.
    Temperature,
    /// Temperature of a room or of cold product.
    RoomTemperature,
    /// Temperature read anywhere in a run.
    Reading,
    /// Relative humidity.
    Humidity,
    /// Share of a whole.
    Share,
    /// Mass of a load or tray.
    Mass,
    /// Thickness.
    Thickness,
    /// Height above sea level.
    Altitude,
    /// Pressure of the air.
    Pressure,
    /// Volume of air.
    Volume,
    /// Water per dry air.
    HumidityRatio,
    /// Length of time.
    Duration,
    /// Time on the clock.
    Clock,
    /// Spans of clock time, "05:45-22:00".
    Hours,
    /// Moisture with its basis.
    Moisture,
    /// Water activity.
    Activity,
    /// Number without a unit: a price.
    Number,
    /// Whole number.
    Count,
    /// A few words.
    Words,
}

/// A field as read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Typed {
    /// As a plan file writes it, with its unit ("71.5 degC", "0.24").
    pub value: String,
    /// How it was understood, where the text left something open ("71.5 °C").
    pub read_back: Option<String>,
}

/// A field that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TypedFault {
    /// Not what is asked for.
    #[error("'{text}' is not read; allowed: as '{example}'")]
    Unread {
        /// As typed.
        text: String,
        /// How it is written.
        example: &'static str,
    },
    /// Two readings are possible and the difference matters.
    #[error("'{text}' may be {first} or {second}; allowed: with its unit")]
    TwoReadings {
        /// As typed.
        text: String,
        /// One.
        first: String,
        /// The other.
        second: String,
    },
    /// Longer than any entry.
    #[error("{length} characters; allowed: at most {LONGEST}")]
    Long {
        /// How long it is.
        length: usize,
    },
}

/// Most characters of a field.
const LONGEST: usize = 200;

impl TypedFault {
    /// The fault in the reader's language: what was typed and what to type.
    #[must_use]
    pub fn words(&self, r: &Reader) -> String {
        match self {
            Self::Unread { text, example } => {
                r.words.with("typed-unread", &[("text", text), ("example", example)])
            }
            Self::TwoReadings { text, first, second } => {
                r.words.with("typed-two", &[("text", text), ("first", first), ("second", second)])
            }
            Self::Long { .. } => r.words.with("typed-long", &[("most", &LONGEST.to_string())]),
        }
    }
}

impl Asked {
    /// The unit that is meant where none is typed, as shown beside the field; empty where there is none.
    #[must_use]
    pub const fn unit(self, units: Units) -> &'static str {
        match (self, units) {
            (Self::Temperature | Self::RoomTemperature | Self::Reading, Units::Si) => "°C",
            (Self::Temperature | Self::RoomTemperature | Self::Reading, Units::Us) => "°F",
            (Self::Humidity | Self::Share, _) => "%",
            (Self::Mass, Units::Si) => "kg",
            (Self::Mass, Units::Us) => "lb",
            (Self::Thickness, Units::Si) => "mm",
            (Self::Thickness, Units::Us) => "in",
            (Self::Altitude, Units::Si) => "m",
            (Self::Altitude, Units::Us) => "ft",
            (Self::Pressure, Units::Si) => "kPa",
            (Self::Pressure, Units::Us) => "inHg",
            (Self::Volume, Units::Si) => "m³",
            (Self::Volume, Units::Us) => "ft3",
            (Self::HumidityRatio, Units::Si) => "g/kg",
            (Self::HumidityRatio, Units::Us) => "gr/lb",
            (Self::Duration, _) => "h",
            (Self::Moisture, _) => "% wb",
            _ => "",
        }
    }

    /// How it is written.
    const fn example(self) -> &'static str {
        match self {
            Self::Temperature | Self::Reading => "71.5 C, 160 F",
            Self::RoomTemperature => "20 C, 68 F",
            Self::Humidity => "55 %",
            Self::Share => "28 %",
            Self::Mass => "22 kg, 48 lb",
            Self::Thickness => "6 mm, 1/4 in",
            Self::Altitude => "640 m, 2100 ft",
            Self::Pressure => "94 kPa, 27.8 inHg",
            Self::Volume => "1.6 m3, 56 ft3",
            Self::HumidityRatio => "25 g/kg, 175 gr/lb",
            Self::Duration => "1:30, 90 min, 1 h 30 min",
            Self::Clock => "06:40, 6:40 pm",
            Self::Hours => "05:45-22:00",
            Self::Moisture => "25 % wb, 33 % db",
            Self::Activity => "0.80",
            Self::Number => "0.24",
            Self::Count => "18",
            Self::Words => "",
        }
    }

    /// Reads what was typed; an empty field is `None`.
    ///
    /// # Errors
    /// [`TypedFault`].
    pub fn read(self, text: &str, units: Units) -> Result<Option<Typed>, TypedFault> {
        let text = text.trim();
        if text.is_empty() {
            return Ok(None);
        }
        if text.chars().count() > LONGEST {
            return Err(TypedFault::Long { length: text.chars().count() });
        }
        let read = match self {
            Self::Temperature => temperature(text, units, 35.0..=130.0),
            Self::Reading => temperature(text, units, -5.0..=130.0),
            Self::RoomTemperature => temperature(text, units, -15.0..=48.0),
            Self::Humidity => self.quantity::<RelativeHumidity>(text, units, 1),
            Self::Share => self.quantity::<Fraction>(text, units, 1),
            Self::Mass => self.quantity::<Mass>(text, units, 3),
            Self::Thickness => self.quantity::<Length>(text, units, 2),
            Self::Altitude => self.quantity::<Altitude>(text, units, 0),
            Self::Pressure => self.quantity::<Pressure>(text, units, 2),
            Self::Volume => self.quantity::<Volume>(text, units, 2),
            Self::HumidityRatio => self.quantity::<HumidityRatio>(text, units, 2),
            Self::Duration => duration(text),
            Self::Clock => clock(text).map(|t| Typed { read_back: differs(&t, text), value: t }),
            Self::Hours => hours(text),
            Self::Moisture => moisture(text),
            Self::Activity | Self::Number => number(text),
            Self::Count => text.parse::<u32>().ok().map(|n| Typed { value: n.to_string(), read_back: None }),
            Self::Words => Some(Typed { value: text.to_owned(), read_back: None }),
        };
        match read {
            Some(typed) => Ok(Some(typed)),
            None => Err(two_readings(self, text, units)
                .unwrap_or(TypedFault::Unread { text: text.to_owned(), example: self.example() })),
        }
    }

    fn quantity<Q: Quantity>(self, text: &str, units: Units, digits: usize) -> Option<Typed> {
        if Q::parse(text).is_ok() {
            return Some(Typed { value: text.to_owned(), read_back: None });
        }
        let value = format!("{text} {}", self.unit(units));
        let read = Q::parse(&value).ok()?;
        Some(Typed { read_back: Some(shown(read, units, digits)), value })
    }
}

pub(crate) fn shown<Q: Quantity>(q: Q, units: Units, digits: usize) -> String {
    let text = q.show(units.system(), digits);
    let (number, unit) = text.split_once(' ').unwrap_or((&text, ""));
    let number =
        if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number };
    format!("{number} {}", unit.replace("deg", "°").replace("m3", "m³").replace("ft3", "ft³"))
        .trim_end()
        .to_owned()
}

fn differs(read: &str, text: &str) -> Option<String> {
    (read != text).then(|| read.to_owned())
}

/// A number alone is taken in the unit beside the field unless only the other unit makes sense of it.
fn temperature(text: &str, units: Units, usual_c: std::ops::RangeInclusive<f64>) -> Option<Typed> {
    if Temperature::parse(text).is_ok() {
        return Some(Typed { value: text.to_owned(), read_back: None });
    }
    let (own, other) = both_temperatures(text, units)?;
    if !usual_c.contains(&own.1.celsius()) && usual_c.contains(&other.1.celsius()) {
        return None;
    }
    Some(Typed { read_back: Some(shown(own.1, units, 1)), value: own.0 })
}

fn both_temperatures(text: &str, units: Units) -> Option<((String, Temperature), (String, Temperature))> {
    let of = |unit: &str| {
        let value = format!("{text} {unit}");
        Temperature::parse(&value).ok().map(|t| (value, t))
    };
    let (c, f) = (of("degC")?, of("degF")?);
    Some(if units == Units::Si { (c, f) } else { (f, c) })
}

fn two_readings(asked: Asked, text: &str, units: Units) -> Option<TypedFault> {
    if asked == Asked::Duration && fallrate_units::split_number(text).is_ok_and(|(_, rest)| rest.is_empty()) {
        let (first, second) = (format!("{text} h"), format!("{text} min"));
        return Some(TypedFault::TwoReadings { text: text.to_owned(), first, second });
    }
    if !matches!(asked, Asked::Temperature | Asked::RoomTemperature | Asked::Reading) {
        return None;
    }
    let (own, other) = both_temperatures(text, units)?;
    let first = own.0.replace("deg", "°");
    Some(TypedFault::TwoReadings { text: text.to_owned(), first, second: other.0.replace("deg", "°") })
}

/// "1:30" is a length of one hour and a half here: lengths of drying are hours.
fn duration(text: &str) -> Option<Typed> {
    if Duration::parse(text).is_ok() {
        return Some(Typed { value: text.to_owned(), read_back: None });
    }
    let value = match text.split_once([':', 'h', 'H']) {
        Some((h, m)) => {
            let (h, m): (u32, u32) = (h.trim().parse().ok()?, m.trim().parse().ok().filter(|m| *m < 60)?);
            format!("{h} h {m} min")
        }
        // A large bare number may be minutes: it is asked for.
        None => fallrate_units::split_number(text)
            .ok()
            .filter(|(n, _)| *n <= 24.0)
            .map(|_| format!("{text} h"))?,
    };
    let read = Duration::parse(&value).ok()?;
    Some(Typed { value, read_back: Some(read.words()) })
}

/// "6:40", "6.40", "640", "6h40", "6 pm" as hh:mm.
fn clock(text: &str) -> Option<String> {
    let lower = text.trim().to_ascii_lowercase().replace(['.', 'h'], ":");
    let tail = lower.find(['a', 'p']).unwrap_or(lower.len());
    let (digits, half) = lower.split_at(tail);
    let half = half.replace(':', "");
    let mut digits = digits.trim().trim_end_matches(':').to_owned();
    if digits.bytes().all(|b| b.is_ascii_digit()) {
        digits = match digits.len() {
            1 | 2 => format!("{digits}:00"),
            3 | 4 => format!("{}:{}", &digits[..digits.len() - 2], &digits[digits.len() - 2..]),
            _ => return None,
        };
    }
    TimeOfDay::parse(&format!("{digits} {half}")).ok().map(TimeOfDay::hm)
}

fn hours(text: &str) -> Option<Typed> {
    let spans: Option<Vec<String>> = text
        .split([',', ';'])
        .map(|span| {
            let (from, to) = span
                .split_once(" to ")
                .or_else(|| span.split_once(" a "))
                .or_else(|| span.split_once(['-', '–']))?;
            Some(format!("{}-{}", clock(from)?, clock(to)?))
        })
        .collect();
    let value = spans?.join(", ");
    Some(Typed { read_back: differs(&value, text), value })
}

/// Without a basis the wet one is taken, as the word beside the field says.
fn moisture(text: &str) -> Option<Typed> {
    if Moisture::parse(text).is_ok() {
        return Some(Typed { value: text.to_owned(), read_back: None });
    }
    let value = format!("{} % wb", text.trim_end_matches('%').trim_end());
    Moisture::parse(&value).ok()?;
    Some(Typed { read_back: Some(value.clone()), value })
}

fn number(text: &str) -> Option<Typed> {
    let (value, rest) = fallrate_units::split_number(text).ok()?;
    let value = value.to_string();
    rest.is_empty().then(|| Typed { read_back: differs(&value, text).filter(|_| text.contains(',')), value })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(asked: Asked, text: &str) -> (String, Option<String>) {
        let typed = asked.read(text, Units::Si).expect("read").expect("not empty");
        (typed.value, typed.read_back)
    }

    #[test]
    fn identity_what_hands_type_is_read() {
        assert_eq!(read(Asked::Temperature, "160F"), ("160F".to_owned(), None));
        assert_eq!(read(Asked::Temperature, "71,5"), ("71,5 degC".to_owned(), Some("71.5 °C".to_owned())));
        assert_eq!(read(Asked::Duration, "90 min"), ("90 min".to_owned(), None));
        assert_eq!(read(Asked::Duration, "1:30"), ("1 h 30 min".to_owned(), Some("1 h 30 min".to_owned())));
        assert_eq!(read(Asked::Clock, "640"), ("06:40".to_owned(), Some("06:40".to_owned())));
        assert_eq!(read(Asked::Clock, "6 pm").0, "18:00");
        assert_eq!(read(Asked::Hours, "5:45 - 22").0, "05:45-22:00");
        assert_eq!(read(Asked::Moisture, "25 %").0, "25 % wb");
        assert_eq!(read(Asked::Number, "0,24"), ("0.24".to_owned(), Some("0.24".to_owned())));
        assert_eq!(read(Asked::Mass, "22"), ("22 kg".to_owned(), Some("22 kg".to_owned())));
    }

    #[test]
    fn refuse_a_temperature_that_only_the_other_unit_makes_sense_of() {
        let two = |text: &str, units| Asked::Temperature.read(text, units).expect_err("two readings");
        assert!(matches!(two("160", Units::Si), TypedFault::TwoReadings { .. }));
        assert!(matches!(two("71", Units::Us), TypedFault::TwoReadings { .. }));
        assert!(Asked::RoomTemperature.read("71", Units::Us).is_ok());
        let ninety = Asked::Duration.read("90", Units::Si).expect_err("minutes or hours");
        assert!(matches!(ninety, TypedFault::TwoReadings { .. }));
    }

    #[test]
    fn refuse_what_is_no_entry() {
        for (asked, text) in [
            (Asked::Mass, "many"),
            (Asked::Clock, "25:00"),
            (Asked::Clock, "12345"),
            (Asked::Duration, "1:75"),
            (Asked::Hours, "all day"),
            (Asked::Count, "-3"),
            (Asked::Number, "12 apples"),
        ] {
            assert!(asked.read(text, Units::Si).is_err(), "{text}");
        }
        assert!(Asked::Words.read(&"x".repeat(201), Units::Si).is_err());
        assert_eq!(Asked::Mass.read("  ", Units::Si), Ok(None));
    }
}
