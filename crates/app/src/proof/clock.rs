//! Clock times of a place: text to instant and back, with the skipped and the repeated hour.

use fallrate_series::{CalendarDate, Instant};
use jiff::civil::{DateTime, Time};
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};

/// What a clock time may look like.
pub(crate) const ALLOWED: &str = "'08:05' on the day of the batch, or '2026-03-13 08:05', each with seconds or an offset such as '+01:00' if need be";

/// The clock of a place.
#[derive(Clone, Debug)]
pub struct LocalClock {
    name: String,
    zone: TimeZone,
}

/// Why a text is no instant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum NoInstant {
    /// Not a clock time at all.
    Unreadable,
    /// The clock was set back: the text means two instants, written with their offsets.
    Twice(String, String),
    /// The clock was set forward over it.
    Skipped,
}

impl LocalClock {
    /// A zone of the zone database ("America/Denver"), `UTC`, or an offset ("+01:00").
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        let name = name.trim();
        let zone = match offset(name) {
            Some(offset) => TimeZone::fixed(offset),
            None if name == "UTC" => TimeZone::UTC,
            None if name.contains('/') => TimeZone::get(name).ok()?,
            None => return None,
        };
        Some(Self { name: name.to_owned(), zone })
    }
    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Reads a clock time on a day, or a date with a clock time.
    pub(crate) fn instant(&self, text: &str, day: Option<CalendarDate>) -> Result<Instant, NoInstant> {
        let text = text.trim();
        let (stamp, given) = split_offset(text);
        let local = civil(stamp, day).ok_or(NoInstant::Unreadable)?;
        let at = |offset: Offset| {
            let stamp = offset.to_timestamp(local).map_err(|_| NoInstant::Unreadable)?;
            i64::try_from(stamp.as_nanosecond())
                .map(Instant::from_unix_nanoseconds)
                .map_err(|_| NoInstant::Unreadable)
        };
        if let Some(offset) = given {
            return at(offset);
        }
        match self.zone.to_ambiguous_timestamp(local).offset() {
            AmbiguousOffset::Unambiguous { offset } => at(offset),
            AmbiguousOffset::Fold { before, after } => {
                Err(NoInstant::Twice(format!("{text}{}", shown(before)), format!("{text}{}", shown(after))))
            }
            AmbiguousOffset::Gap { .. } => Err(NoInstant::Skipped),
        }
    }

    /// Reads a clock time of the day that `today` lies in, or a date with a clock time.
    ///
    /// # Errors
    /// [`AppError::NoInstant`](crate::AppError::NoInstant) with what is allowed.
    pub fn read(&self, text: &str, today: Instant) -> Result<Instant, crate::AppError> {
        let day = CalendarDate::parse(&self.day(today)).ok();
        self.instant(text, day).map_err(|e| crate::AppError::NoInstant {
            text: text.to_owned(),
            allowed: match e {
                NoInstant::Unreadable => ALLOWED.to_owned(),
                NoInstant::Twice(first, second) => format!("'{first}' or '{second}'"),
                NoInstant::Skipped => "a clock time that the clock change does not skip".to_owned(),
            },
        })
    }

    fn local(&self, at: Instant) -> Option<(DateTime, Offset)> {
        let stamp = jiff::Timestamp::from_nanosecond(i128::from(at.unix_nanoseconds())).ok()?;
        let offset = self.zone.to_offset(stamp);
        Some((offset.to_datetime(stamp), offset))
    }
    /// "2026-03-13".
    #[must_use]
    pub fn day(&self, at: Instant) -> String {
        self.local(at).map_or_else(|| at.utc_date().to_string(), |(t, _)| t.date().to_string())
    }
    /// "08:05".
    #[must_use]
    pub fn minute(&self, at: Instant) -> String {
        self.local(at).map_or_else(|| at.iso_utc(), |(t, _)| hm(t))
    }
    /// "2026-03-13 08:05".
    #[must_use]
    pub fn day_and_minute(&self, at: Instant) -> String {
        format!("{} {}", self.day(at), self.minute(at))
    }
    /// "2026-03-13 08:05:30 -07:00".
    #[must_use]
    pub fn full(&self, at: Instant) -> String {
        self.local(at).map_or_else(
            || at.iso_utc(),
            |(t, offset)| format!("{} {}:{:02} {}", t.date(), hm(t), t.second(), shown(offset)),
        )
    }
    /// The clock time as a time of day, for axes.
    pub(crate) fn time_of_day(&self, at: Instant) -> fallrate_units::TimeOfDay {
        let seconds = self.local(at).map_or(0.0, |(t, _)| {
            f64::from(t.hour()) * 3600.0 + f64::from(t.minute()) * 60.0 + f64::from(t.second())
        });
        fallrate_units::TimeOfDay::from_seconds(seconds)
    }
}

fn hm(t: DateTime) -> String {
    format!("{:02}:{:02}", t.hour(), t.minute())
}

fn shown(offset: Offset) -> String {
    let s = offset.seconds();
    format!("{}{:02}:{:02}", if s < 0 { '-' } else { '+' }, s.abs() / 3600, s.abs() / 60 % 60)
}

/// "+01:00", "-0700".
fn offset(text: &str) -> Option<Offset> {
    let (sign, rest) = match text.as_bytes().first()? {
        b'+' => (1, text.get(1..)?),
        b'-' => (-1, text.get(1..)?),
        _ => return None,
    };
    let digits: String = rest.chars().filter(|c| *c != ':').collect();
    if digits.len() != 4 || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let number: i32 = digits.parse().ok()?;
    let (hours, minutes) = (number / 100, number % 100);
    (minutes < 60).then(|| Offset::from_seconds(sign * (hours * 3600 + minutes * 60)).ok()).flatten()
}

/// A text and the offset at its end.
fn split_offset(text: &str) -> (&str, Option<Offset>) {
    if let Some(stamp) = text.strip_suffix('Z') {
        return (stamp, Some(Offset::UTC));
    }
    for length in [6, 5] {
        let at = text.len().saturating_sub(length);
        // A date's own hyphens stand before the clock time.
        if text.is_char_boundary(at)
            && text[..at].contains(':')
            && let Some(found) = offset(&text[at..])
        {
            return (text[..at].trim_end(), Some(found));
        }
    }
    (text, None)
}

fn civil(text: &str, day: Option<CalendarDate>) -> Option<DateTime> {
    let (date, clock) = match text.split_once([' ', 'T']) {
        Some((date, clock)) => (CalendarDate::parse(date).ok()?, clock.trim()),
        None => (day?, text),
    };
    let mut parts = clock.split(':');
    let (h, m, s) = (parts.next()?, parts.next()?, parts.next());
    if parts.next().is_some() || h.is_empty() || h.len() > 2 || m.len() != 2 {
        return None;
    }
    let second = s.map_or(Some(0), |s| (s.len() == 2).then(|| s.parse().ok()).flatten())?;
    let time = Time::new(h.parse().ok()?, m.parse().ok()?, second, 0).ok()?;
    let year = i16::try_from(date.year()).ok()?;
    let date = jiff::civil::Date::new(year, i8::try_from(date.month()).ok()?, i8::try_from(date.day()).ok()?)
        .ok()?;
    Some(date.to_datetime(time))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn denver() -> LocalClock {
        LocalClock::named("America/Denver")
            .unwrap_or_else(|| LocalClock { name: String::new(), zone: TimeZone::UTC })
    }

    /// The zone database's rules for Denver in 2026 (IANA, as bundled): clocks forward 8 March, back 1 November.
    #[test]
    fn identity_the_repeated_hour_needs_an_offset_and_the_skipped_hour_does_not_exist() {
        let clock = denver();
        let twice = clock.instant("2026-11-01 01:30", None);
        assert_eq!(
            twice,
            Err(NoInstant::Twice("2026-11-01 01:30-06:00".into(), "2026-11-01 01:30-07:00".into()))
        );
        let first = clock.instant("2026-11-01 01:30-06:00", None).map(|i| i.iso_utc());
        let second = clock.instant("2026-11-01 01:30-07:00", None).map(|i| i.iso_utc());
        assert_eq!(first.as_deref(), Ok("2026-11-01T07:30:00Z"));
        assert_eq!(second.as_deref(), Ok("2026-11-01T08:30:00Z"));
        assert_eq!(clock.instant("2026-03-08 02:30", None), Err(NoInstant::Skipped));
    }

    #[test]
    fn identity_text_to_instant_and_back() {
        let clock = denver();
        let day = CalendarDate::parse("2026-04-12").ok();
        for text in ["8:05", "08:05", "2026-04-12 08:05", "2026-04-12T14:05:00Z", "08:05-06:00"] {
            let at = clock.instant(text, day);
            assert_eq!(at.as_ref().map(|i| i.iso_utc()).as_deref(), Ok("2026-04-12T14:05:00Z"), "{text}");
            assert_eq!(at.map(|i| clock.full(i)).as_deref(), Ok("2026-04-12 08:05:00 -06:00"), "{text}");
        }
        for text in ["", "8", "8:5", "25:00", "2026-13-01 08:00", "08:05:00:00", "noon"] {
            assert_eq!(clock.instant(text, day), Err(NoInstant::Unreadable), "{text}");
        }
        assert_eq!(clock.instant("08:05", None), Err(NoInstant::Unreadable));
    }
}
