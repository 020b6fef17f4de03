//! Days, zones and clock times of a batch file.

use fallrate_datafile::Section;
use fallrate_series::{CalendarDate, Instant, Span};

use super::super::clock::{ALLOWED, LocalClock, NoInstant};

/// The day and the clock a file's times are written by.
pub(crate) struct When<'a> {
    pub clock: &'a LocalClock,
    pub day: CalendarDate,
}

pub(crate) fn required_date(s: &Section<'_>, key: &str) -> Option<CalendarDate> {
    if !s.has(key) {
        s.report(key, "missing", "a day as '2026-03-13'");
        return None;
    }
    date(s, key)
}

pub(crate) fn date(s: &Section<'_>, key: &str) -> Option<CalendarDate> {
    s.parsed(key, "a day as '2026-03-13'", |t| CalendarDate::parse(t).ok())
}

pub(crate) fn required_zone(s: &Section<'_>, key: &str) -> Option<LocalClock> {
    const ALLOWED: &str = "a zone of the zone database as 'America/Denver', 'UTC', or an offset as '-07:00'";
    if !s.has(key) {
        s.report(key, "missing", ALLOWED);
        return None;
    }
    s.parsed(key, ALLOWED, LocalClock::named)
}

impl When<'_> {
    /// An instant written as a clock time; what is wrong is reported.
    pub fn instant(&self, s: &Section<'_>, key: &str) -> Option<Instant> {
        let text = s.text(key)?;
        match self.clock.instant(&text, Some(self.day)) {
            Ok(at) => Some(at),
            Err(NoInstant::Unreadable) => {
                s.report(key, &format!("'{text}'"), ALLOWED);
                None
            }
            Err(NoInstant::Twice(first, second)) => {
                let what = format!("'{text}' came twice in {}, as the clock was set back", self.clock.name());
                s.report(key, &what, &format!("'{first}' or '{second}'"));
                None
            }
            Err(NoInstant::Skipped) => {
                let what =
                    format!("'{text}' did not exist in {}, as the clock was set forward", self.clock.name());
                s.report(key, &what, "a clock time of that day");
                None
            }
        }
    }
    pub fn required_instant(&self, s: &Section<'_>, key: &str) -> Option<Instant> {
        if !s.has(key) {
            s.report(key, "missing", ALLOWED);
            return None;
        }
        self.instant(s, key)
    }
    /// `from` and `to` of a section.
    pub fn span(&self, s: &Section<'_>) -> Option<Span> {
        let (from, to) = (self.required_instant(s, "from"), self.required_instant(s, "to"));
        let (from, to) = (from?, to?);
        let span = Span::new(from, to).ok();
        if span.is_none() {
            s.report(
                "to",
                &self.clock.day_and_minute(to),
                &format!("after {}", self.clock.day_and_minute(from)),
            );
        }
        span
    }
}
