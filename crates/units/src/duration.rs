//! Durations and clock times as people write them.

use crate::{Quantity, Unit, UnitError, UnitSystem, parse};

/// A length of time. Base unit: s.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct Duration(f64);

impl Duration {
    /// From seconds.
    #[must_use]
    pub const fn from_seconds(s: f64) -> Self {
        Self(s)
    }
    /// From minutes.
    #[must_use]
    pub const fn from_minutes(min: f64) -> Self {
        Self(min * 60.0)
    }
    /// From hours.
    #[must_use]
    pub const fn from_hours(h: f64) -> Self {
        Self(h * 3600.0)
    }
    /// In seconds.
    #[must_use]
    pub const fn seconds(self) -> f64 {
        self.0
    }
    /// In minutes.
    #[must_use]
    pub const fn minutes(self) -> f64 {
        self.0 / 60.0
    }
    /// In hours.
    #[must_use]
    pub const fn hours(self) -> f64 {
        self.0 / 3600.0
    }
    /// Prints to the nearest minute: `"5 h 40 min"`, `"25 min"`.
    ///
    /// ```
    /// assert_eq!(fallrate_units::Duration::from_minutes(340.0).words(), "5 h 40 min");
    /// ```
    #[must_use]
    pub fn words(self) -> String {
        #[allow(clippy::cast_possible_truncation)]
        let minutes = (self.0.abs() / 60.0).round() as i64;
        let sign = if self.0 < -29.9 { "-" } else { "" };
        match (minutes / 60, minutes % 60) {
            (0, m) => format!("{sign}{m} min"),
            (h, 0) => format!("{sign}{h} h"),
            (h, m) => format!("{sign}{h} h {m:02} min"),
        }
    }
    /// Reads `"5 h 40 min"`, `"90 min"`, `"1.5 h"`, `"3600 s"`, `"2 d"`.
    /// A bare `"1:30"` is refused: it may be minutes or hours.
    ///
    /// # Errors
    /// [`UnitError`] as for any quantity.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        let allowed = || "h, min, s, d (for example '5 h 40 min')".to_owned();
        let whole = text.trim();
        let mut rest = whole;
        let mut total = 0.0;
        let mut last_factor = f64::INFINITY;
        while !rest.is_empty() {
            let (number, tail) = parse::split_number(rest).map_err(|_| UnitError::NotANumber {
                quantity: "duration",
                text: whole.to_owned(),
                allowed: allowed(),
            })?;
            let len = tail.find(|c: char| !c.is_alphabetic()).unwrap_or(tail.len());
            let (unit, tail) = tail.split_at(len);
            let factor = match unit {
                "h" | "hr" | "hrs" | "hour" | "hours" => 3600.0,
                "min" | "m" | "mins" | "minute" | "minutes" => 60.0,
                "s" | "sec" | "second" | "seconds" => 1.0,
                "d" | "day" | "days" => 86400.0,
                "" if last_factor == 3600.0 && tail.is_empty() => 60.0,
                "" => {
                    return Err(UnitError::NoUnit {
                        quantity: "duration",
                        text: whole.to_owned(),
                        allowed: allowed(),
                    });
                }
                other => {
                    return Err(UnitError::UnknownUnit {
                        quantity: "duration",
                        text: whole.to_owned(),
                        unit: other.to_owned(),
                        allowed: allowed(),
                    });
                }
            };
            if factor >= last_factor || number < 0.0 {
                return Err(UnitError::NotANumber {
                    quantity: "duration",
                    text: whole.to_owned(),
                    allowed: allowed(),
                });
            }
            total += number * factor;
            last_factor = factor;
            rest = tail.trim_start();
        }
        if last_factor.is_infinite() {
            return Err(UnitError::NotANumber {
                quantity: "duration",
                text: whole.to_owned(),
                allowed: allowed(),
            });
        }
        Ok(Self(total))
    }
}

impl Quantity for Duration {
    const NAME: &'static str = "duration";
    fn from_base(value: f64) -> Self {
        Self(value)
    }
    fn base(self) -> f64 {
        self.0
    }
    fn unit_table() -> &'static [Unit] {
        const T: &[Unit] = &[
            Unit { symbols: &["h"], factor: 3600.0, offset: 0.0 },
            Unit { symbols: &["min"], factor: 60.0, offset: 0.0 },
            Unit { symbols: &["s"], factor: 1.0, offset: 0.0 },
        ];
        T
    }
    fn display_unit(_: UnitSystem) -> &'static Unit {
        &Self::unit_table()[0]
    }
    fn parse(text: &str) -> Result<Self, UnitError> {
        Duration::parse(text)
    }
    fn show(self, _: UnitSystem, _: usize) -> String {
        self.words()
    }
}

/// A time on the clock, seconds after midnight, 0 to below 86,400.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default)]
pub struct TimeOfDay(f64);

impl TimeOfDay {
    /// From seconds after midnight, taken modulo one day.
    #[must_use]
    pub fn from_seconds(s: f64) -> Self {
        Self(s.rem_euclid(86400.0))
    }
    /// From hours and minutes.
    #[must_use]
    pub fn from_hm(h: u32, min: u32) -> Self {
        Self::from_seconds(f64::from(h) * 3600.0 + f64::from(min) * 60.0)
    }
    /// Seconds after midnight.
    #[must_use]
    pub const fn seconds(self) -> f64 {
        self.0
    }
    /// This clock time plus a duration, past midnight if need be.
    #[must_use]
    pub fn plus(self, d: Duration) -> Self {
        Self::from_seconds(self.0 + d.seconds())
    }
    /// Prints `"06:40"`, rounded to the minute.
    #[must_use]
    pub fn hm(self) -> String {
        #[allow(clippy::cast_possible_truncation)]
        let m = ((self.0 / 60.0).round() as i64).rem_euclid(1440);
        format!("{:02}:{:02}", m / 60, m % 60)
    }
    /// Reads `"06:40"`, `"6:40"`, `"18:05:30"`, `"6:40 pm"`.
    ///
    /// # Errors
    /// [`UnitError::NotANumber`] where it is no clock time.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        let bad = || UnitError::NotANumber {
            quantity: "clock time",
            text: text.trim().to_owned(),
            allowed: "hh:mm from 00:00 to 23:59, or with am / pm".to_owned(),
        };
        let lower = text.trim().to_ascii_lowercase();
        let (digits, half) = match (lower.strip_suffix("am"), lower.strip_suffix("pm")) {
            (Some(d), _) => (d.trim(), Some(0)),
            (_, Some(d)) => (d.trim(), Some(12)),
            _ => (lower.as_str(), None),
        };
        let parts: Vec<&str> = digits.split(':').collect();
        if !(2..=3).contains(&parts.len())
            || parts.iter().any(|p| p.is_empty() || p.len() > 2 || !p.bytes().all(|b| b.is_ascii_digit()))
        {
            return Err(bad());
        }
        let n: Vec<u32> = parts.iter().filter_map(|p| p.parse().ok()).collect();
        let (h, min, s) = (n[0], n[1], n.get(2).copied().unwrap_or(0));
        let h = match half {
            None if h < 24 => h,
            Some(add) if (1..=12).contains(&h) => h % 12 + add,
            _ => return Err(bad()),
        };
        if min > 59 || s > 59 {
            return Err(bad());
        }
        Ok(Self::from_seconds(f64::from(h * 3600 + min * 60 + s)))
    }
}
