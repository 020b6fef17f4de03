//! Instants on the UTC line, spans between them and calendar dates.

use fallrate_units::Duration;
use serde::{Deserialize, Serialize};

use crate::SeriesError;

/// A point on the UTC line: whole nanoseconds since 1970-01-01T00:00:00Z (leap seconds not counted).
/// Covers the years 1678 to 2261; sums beyond that stay at the end.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Instant(i64);

impl Instant {
    /// From nanoseconds since the epoch.
    #[must_use]
    pub const fn from_unix_nanoseconds(ns: i64) -> Self {
        Self(ns)
    }
    /// Nanoseconds since the epoch.
    #[must_use]
    pub const fn unix_nanoseconds(self) -> i64 {
        self.0
    }
    /// From seconds since the epoch, rounded to the nanosecond (at today's dates an `f64` resolves about 240 ns).
    #[must_use]
    #[allow(clippy::cast_possible_truncation)]
    pub fn from_unix_seconds(s: f64) -> Self {
        let whole = s.floor();
        let part = ((s - whole) * 1e9).round() as i64;
        Self((whole as i64).saturating_mul(1_000_000_000).saturating_add(part))
    }
    /// Seconds since the epoch.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn unix_seconds(self) -> f64 {
        self.0 as f64 / 1e9
    }
    /// Seconds from `earlier` to `self`, negative where `self` is the earlier one.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn seconds_since(self, earlier: Self) -> f64 {
        self.0.saturating_sub(earlier.0) as f64 / 1e9
    }
    /// The length from `earlier` to `self`.
    #[must_use]
    pub fn since(self, earlier: Self) -> Duration {
        Duration::from_seconds(self.seconds_since(earlier))
    }
    /// This instant plus seconds, rounded to the nanosecond.
    #[must_use]
    #[allow(clippy::cast_possible_truncation)]
    pub fn plus_seconds(self, s: f64) -> Self {
        Self(self.0.saturating_add((s * 1e9).round() as i64))
    }
    /// This instant plus a length.
    #[must_use]
    pub fn plus(self, d: Duration) -> Self {
        self.plus_seconds(d.seconds())
    }
    /// The UTC calendar date of this instant.
    #[must_use]
    pub fn utc_date(self) -> CalendarDate {
        CalendarDate::from_days_since_epoch(self.0.div_euclid(86_400_000_000_000))
    }
    /// ISO 8601 in UTC to the second: `"2024-03-01T06:40:00Z"`.
    ///
    /// ```
    /// use fallrate_series::Instant;
    /// assert_eq!(Instant::from_unix_seconds(1_709_275_200.0).iso_utc(), "2024-03-01T06:40:00Z");
    /// ```
    #[must_use]
    pub fn iso_utc(self) -> String {
        let s = self.0.div_euclid(1_000_000_000).rem_euclid(86_400);
        format!("{}T{:02}:{:02}:{:02}Z", self.utc_date(), s / 3600, s / 60 % 60, s % 60)
    }
}

/// A stretch of the UTC line, from an instant to a later one or the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "(Instant, Instant)", into = "(Instant, Instant)")]
pub struct Span {
    from: Instant,
    to: Instant,
}

impl Span {
    /// From two instants.
    ///
    /// # Errors
    /// [`SeriesError::SpanReversed`] where `to` is before `from`.
    pub fn new(from: Instant, to: Instant) -> Result<Self, SeriesError> {
        if to < from {
            return Err(SeriesError::SpanReversed { end_before_start_s: from.seconds_since(to) });
        }
        Ok(Self { from, to })
    }
    /// From an instant on for so many seconds; a length below 0 counts as 0.
    #[must_use]
    pub fn lasting(from: Instant, seconds: f64) -> Self {
        Self { from, to: from.max(from.plus_seconds(seconds)) }
    }
    /// Its beginning.
    #[must_use]
    pub const fn from(self) -> Instant {
        self.from
    }
    /// Its end.
    #[must_use]
    pub const fn to(self) -> Instant {
        self.to
    }
    /// Its length in seconds.
    #[must_use]
    pub fn seconds(self) -> f64 {
        self.to.seconds_since(self.from)
    }
    /// Whether an instant lies in it, ends included.
    #[must_use]
    pub fn contains(self, at: Instant) -> bool {
        self.from <= at && at <= self.to
    }
    /// The common part with another span, if it has a length.
    #[must_use]
    pub fn overlap(self, other: Self) -> Option<Self> {
        let (from, to) = (self.from.max(other.from), self.to.min(other.to));
        (from < to).then_some(Self { from, to })
    }
}

impl TryFrom<(Instant, Instant)> for Span {
    type Error = SeriesError;
    fn try_from((from, to): (Instant, Instant)) -> Result<Self, SeriesError> {
        Self::new(from, to)
    }
}

impl From<Span> for (Instant, Instant) {
    fn from(span: Span) -> Self {
        (span.from, span.to)
    }
}

/// A day of the Gregorian calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct CalendarDate {
    year: i32,
    month: u8,
    day: u8,
}

impl CalendarDate {
    /// From year, month and day.
    ///
    /// # Errors
    /// [`SeriesError::NoSuchDate`] where there is no such day.
    pub fn new(year: i32, month: u8, day: u8) -> Result<Self, SeriesError> {
        let date = Self { year, month, day };
        let ok = (1..=12).contains(&month)
            && day >= 1
            && (1600..=9999).contains(&year)
            && Self::from_days_since_epoch(date.days_since_epoch()) == date;
        if ok {
            Ok(date)
        } else {
            Err(SeriesError::NoSuchDate { text: format!("{year}-{month:02}-{day:02}") })
        }
    }
    /// Reads `"2024-03-01"`.
    ///
    /// # Errors
    /// [`SeriesError::NoSuchDate`] where it is none.
    pub fn parse(text: &str) -> Result<Self, SeriesError> {
        let bad = || SeriesError::NoSuchDate { text: text.to_owned() };
        let mut parts = text.trim().split('-');
        let (Some(y), Some(m), Some(d), None) = (parts.next(), parts.next(), parts.next(), parts.next())
        else {
            return Err(bad());
        };
        match (y.parse(), m.parse(), d.parse()) {
            (Ok(y), Ok(m), Ok(d)) => Self::new(y, m, d),
            _ => Err(bad()),
        }
    }
    /// Year.
    #[must_use]
    pub const fn year(self) -> i32 {
        self.year
    }
    /// Month, 1 to 12.
    #[must_use]
    pub const fn month(self) -> u8 {
        self.month
    }
    /// Day of the month.
    #[must_use]
    pub const fn day(self) -> u8 {
        self.day
    }
    /// Days since 1970-01-01 (proleptic Gregorian calendar, counted in eras of 400 years from 1 March).
    #[must_use]
    pub fn days_since_epoch(self) -> i64 {
        let y = i64::from(self.year) - i64::from(self.month <= 2);
        let month_from_march = (i64::from(self.month) + 9) % 12;
        let day_of_year = (153 * month_from_march + 2) / 5 + i64::from(self.day) - 1;
        y.div_euclid(400) * 146_097
            + (y.rem_euclid(400) * 365 + y.rem_euclid(400) / 4 - y.rem_euclid(400) / 100 + day_of_year)
            - 719_468
    }
    /// The date so many days after 1970-01-01.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub fn from_days_since_epoch(days: i64) -> Self {
        let z = days + 719_468;
        let doe = z.rem_euclid(146_097);
        let yoe = (doe - doe / 1460 + doe / 36_524 - doe / 146_096) / 365;
        let doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
        let mp = (5 * doy + 2) / 153;
        let month = if mp < 10 { mp + 3 } else { mp - 9 };
        let year = yoe + z.div_euclid(146_097) * 400 + i64::from(month <= 2);
        Self { year: year as i32, month: month as u8, day: (doy - (153 * mp + 2) / 5 + 1) as u8 }
    }
    /// Day of the week, Monday 0 to Sunday 6.
    #[must_use]
    pub fn weekday_from_monday(self) -> i64 {
        (self.days_since_epoch() + 3).rem_euclid(7)
    }
}

impl std::fmt::Display for CalendarDate {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl TryFrom<String> for CalendarDate {
    type Error = SeriesError;
    fn try_from(text: String) -> Result<Self, SeriesError> {
        Self::parse(&text)
    }
}

impl From<CalendarDate> for String {
    fn from(date: CalendarDate) -> Self {
        date.to_string()
    }
}
