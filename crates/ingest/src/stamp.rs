//! Dates and clock times as loggers write them, read byte by byte without a format string.

use crate::stamp_scan::{Scan, clock_time, raw_date, trimmed};

/// In which order the three numbers of a date stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DateOrder {
    /// 2026-03-01
    YearMonthDay,
    /// 01.03.2026
    DayMonthYear,
    /// 03/01/2026
    MonthDayYear,
}

impl DateOrder {
    /// All orders.
    pub const ALL: [Self; 3] = [Self::YearMonthDay, Self::DayMonthYear, Self::MonthDayYear];

    /// The word of the mapping file.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::YearMonthDay => "year-month-day",
            Self::DayMonthYear => "day-month-year",
            Self::MonthDayYear => "month-day-year",
        }
    }
}

/// A calendar day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct CivilDay {
    /// Year, four digits.
    pub year: i16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day, 1 to the month's last.
    pub day: u8,
}

impl CivilDay {
    /// Checks the calendar; years 1970 to 2199.
    #[must_use]
    pub fn new(year: i64, month: i64, day: i64) -> Option<Self> {
        let last = match month {
            1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
            4 | 6 | 9 | 11 => 30,
            2 if year % 4 == 0 && (year % 100 != 0 || year % 400 == 0) => 29,
            2 => 28,
            _ => return None,
        };
        if !(1970..=2199).contains(&year) || !(1..=last).contains(&day) {
            return None;
        }
        Some(Self {
            year: i16::try_from(year).ok()?,
            month: u8::try_from(month).ok()?,
            day: u8::try_from(day).ok()?,
        })
    }

    /// Days since 1970-01-01 (proleptic Gregorian calendar; the era form of the count, exact).
    #[must_use]
    pub fn days_from_epoch(self) -> i64 {
        let (month, day) = (i64::from(self.month), i64::from(self.day));
        let year = i64::from(self.year) - i64::from(month <= 2);
        let era = year.div_euclid(400);
        let year_of_era = year.rem_euclid(400);
        let day_of_year = (153 * (month + if month > 2 { -3 } else { 9 }) + 2) / 5 + day - 1;
        let day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
        era * 146_097 + day_of_era - 719_468
    }

    /// The day that many days after 1970-01-01.
    #[must_use]
    pub fn from_days(days: i64) -> Option<Self> {
        let z = days.checked_add(719_468)?;
        let era = z.div_euclid(146_097);
        let doe = z.rem_euclid(146_097);
        let yoe = (doe - doe / 1460 + doe / 36_524 - doe / 146_096) / 365;
        let doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
        let mp = (5 * doy + 2) / 153;
        let month = if mp < 10 { mp + 3 } else { mp - 9 };
        Self::new(yoe + era * 400 + i64::from(month <= 2), month, doy - (153 * mp + 2) / 5 + 1)
    }
}

/// What follows a clock time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ZoneMark {
    /// Nothing: the zone must come from elsewhere.
    None,
    /// An offset east of UTC in seconds.
    Offset(i32),
    /// An abbreviation (`CET`), upper case, at most 5 letters; not unique in the world.
    Abbreviation([u8; 5]),
}

/// A clock time within a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClockTime {
    /// Milliseconds since midnight (24:00:00 allowed). Finer fractions are cut.
    pub milliseconds: i64,
    /// Zone mark after it.
    pub zone: ZoneMark,
    /// Written with AM or PM.
    pub half_day: bool,
    /// Hours as written (for the search for a 12-hour clock without AM/PM).
    pub hour_written: u16,
}

/// A date and a time of day as written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// The day.
    pub day: CivilDay,
    /// The time, if the text had one.
    pub clock: Option<ClockTime>,
}

/// The three numbers of a date before their order is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RawDate {
    pub(crate) parts: [i64; 3],
    pub(crate) digits: [u8; 3],
    pub(crate) named_month: Option<(usize, i64)>,
}

impl RawDate {
    /// The day under an order, or `None` where the numbers do not fit it.
    #[must_use]
    pub fn under(&self, order: DateOrder) -> Option<CivilDay> {
        let [a, b, c] = self.parts;
        let (year_at, month_at, day_at) = match order {
            DateOrder::YearMonthDay => (0, 1, 2),
            DateOrder::DayMonthYear => (2, 1, 0),
            DateOrder::MonthDayYear => (2, 0, 1),
        };
        if self.named_month.is_some_and(|(at, _)| at != month_at) {
            return None;
        }
        let (year, month, day) = match order {
            DateOrder::YearMonthDay => (a, b, c),
            DateOrder::DayMonthYear => (c, b, a),
            DateOrder::MonthDayYear => (c, a, b),
        };
        let width = |at: usize| self.digits.get(at).copied().unwrap_or(0);
        let year = match width(year_at) {
            4 => year,
            2 => 2000 + year,
            _ => return None,
        };
        if width(month_at) > 2 || width(day_at) > 2 {
            return None;
        }
        CivilDay::new(year, month, day)
    }
}

/// A date with or without a time, its order still open; the whole text must be used.
#[must_use]
pub fn scan_stamp(bytes: &[u8]) -> Option<(RawDate, Option<ClockTime>)> {
    let text = trimmed(bytes);
    if text.len() < 6 || text.len() > 48 {
        return None;
    }
    let mut scan = Scan { text, at: 0 };
    let date = raw_date(&mut scan)?;
    scan.spaces();
    while matches!(scan.peek(), b',' | b'-' | b'T' | b't' | b'_' | b';' | b':') {
        scan.at += 1;
        scan.spaces();
    }
    if scan.done() {
        return Some((date, None));
    }
    let clock = clock_time(&mut scan, 24)?;
    scan.done().then_some((date, Some(clock)))
}

/// Reads a date with or without a time under an order. The common fixed-width form takes a short path.
#[must_use]
pub fn parse_stamp(bytes: &[u8], order: DateOrder) -> Option<Stamp> {
    if let Some(stamp) = fixed_width(bytes, order) {
        return Some(stamp);
    }
    let (raw, clock) = scan_stamp(bytes)?;
    Some(Stamp { day: raw.under(order)?, clock })
}

/// `2026-03-01 08:00:00` and `01/03/2026 08:00:00`, 19 bytes, any separators that are the same for the date.
fn fixed_width(bytes: &[u8], order: DateOrder) -> Option<Stamp> {
    let b: &[u8; 19] = bytes.try_into().ok()?;
    let two = |i: usize| -> Option<i64> {
        let (x, y) = (b.get(i)?.wrapping_sub(b'0'), b.get(i + 1)?.wrapping_sub(b'0'));
        (x < 10 && y < 10).then(|| i64::from(x) * 10 + i64::from(y))
    };
    let separator = |c: u8| matches!(c, b'-' | b'/' | b'.');
    if b[13] != b':' || b[16] != b':' || !matches!(b[10], b' ' | b'T') {
        return None;
    }
    let day = if order == DateOrder::YearMonthDay {
        if !separator(b[4]) || b[7] != b[4] {
            return None;
        }
        CivilDay::new(two(0)? * 100 + two(2)?, two(5)?, two(8)?)?
    } else {
        if !separator(b[2]) || b[5] != b[2] {
            return None;
        }
        let (first, second, year) = (two(0)?, two(3)?, two(6)? * 100 + two(8)?);
        if order == DateOrder::DayMonthYear {
            CivilDay::new(year, second, first)?
        } else {
            CivilDay::new(year, first, second)?
        }
    };
    let (hour, minute, second) = (two(11)?, two(14)?, two(17)?);
    if hour > 23 || minute > 59 || second > 59 {
        return None;
    }
    let milliseconds = ((hour * 60 + minute) * 60 + second) * 1000;
    let clock = ClockTime {
        milliseconds,
        zone: ZoneMark::None,
        half_day: false,
        hour_written: u16::try_from(hour).ok()?,
    };
    Some(Stamp { day, clock: Some(clock) })
}

/// Reads a time of day alone (`08:05`, `8:05:00 PM`).
#[must_use]
pub fn parse_clock(bytes: &[u8]) -> Option<ClockTime> {
    let text = trimmed(bytes);
    if text.len() > 32
        || !text.contains(&b':') && !text.iter().any(u8::is_ascii_alphabetic) && text.len() != 8
    {
        return None;
    }
    let mut scan = Scan { text, at: 0 };
    let clock = clock_time(&mut scan, 24)?;
    scan.done().then_some(clock)
}

/// Reads an elapsed span `[d.]h:mm:ss[.f]` (hours may pass 24) in milliseconds.
#[must_use]
pub fn parse_span(bytes: &[u8]) -> Option<i64> {
    let text = trimmed(bytes);
    if text.len() > 24 || !text.contains(&b':') {
        return None;
    }
    let mut scan = Scan { text, at: 0 };
    let mut days = 0;
    let (first, digits) = scan.number(4)?;
    scan.at = 0;
    if matches!(text.get(usize::from(digits)), Some(b'.' | b' ' | b'd')) {
        days = first;
        scan.at = usize::from(digits) + 1;
        scan.spaces();
    }
    let clock = clock_time(&mut scan, 9999)?;
    (scan.done() && clock.zone == ZoneMark::None && !clock.half_day)
        .then_some(days * 86_400_000 + clock.milliseconds)
}

/// Milliseconds since 1970-01-01 00:00 local of a spreadsheet serial (days since 1899-12-30, or since 1904-01-01).
/// Serials below 61 in the 1900 system are refused: that system counts a 29 February 1900 that never was.
#[must_use]
pub fn local_from_serial(serial: f64, system_1904: bool) -> Option<i64> {
    let epoch_days = if system_1904 { -24_107.0 } else { -25_569.0 };
    if !(serial.is_finite() && (61.0..110_000.0).contains(&serial)) {
        return None;
    }
    #[allow(clippy::cast_possible_truncation)] // bounded above
    Some(((serial + epoch_days) * 86_400_000.0).round() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn civil(text: &str, order: DateOrder) -> Option<(i16, u8, u8, i64)> {
        let s = parse_stamp(text.as_bytes(), order)?;
        Some((s.day.year, s.day.month, s.day.day, s.clock.map_or(-1, |c| c.milliseconds)))
    }

    #[test]
    fn stamps_of_many_makes() {
        use DateOrder::{DayMonthYear as D, MonthDayYear as M, YearMonthDay as Y};
        let eight_five = 29_100_000;
        for (text, order) in [
            ("2026-03-01 08:05:00", Y),
            ("2026-03-01T08:05:00.000Z", Y),
            ("2026/3/1 8:05", Y),
            ("20260301T080500", Y),
            ("20260301 0805", Y),
            ("01.03.2026 08:05:00", D),
            ("1/3/26 8:05:00 AM", D),
            ("01-Mar-2026 08:05:00", D),
            ("1 mar. 2026 8:05 a. m.", D),
            ("Sun, 01 Mar 2026 08:05:00 +0000", D),
            ("03/01/2026 08:05:00", M),
            ("Mar 1, 2026 8:05:00 AM", M),
            ("01.03.26, 08.05", D),
            ("1 de marzo de 2026 08:05", D),
        ] {
            assert_eq!(civil(text, order), Some((2026, 3, 1, eight_five)), "{text}");
        }
    }

    #[test]
    fn what_is_not_a_stamp() {
        for text in [
            "71.5",
            "2026-13-01 08:00:00",
            "31/31/2026",
            "2026-02-30 00:00:00",
            "08:05",
            "1.2.3",
            "",
            "2026-03-01 25:00:00",
        ] {
            for order in DateOrder::ALL {
                assert_eq!(civil(text, order), None, "{text}");
            }
        }
    }

    #[test]
    fn halves_of_the_day() {
        let ms = |t: &str| parse_clock(t.as_bytes()).map(|c| c.milliseconds);
        assert_eq!(ms("12:00 AM"), Some(0));
        assert_eq!(ms("12:00 p.m."), Some(43_200_000));
        assert_eq!(ms("1:30:15 PM"), Some(48_615_000));
        assert_eq!(ms("13:30 PM"), None);
        assert_eq!(ms("24:00"), Some(86_400_000));
        assert_eq!(ms("24:01"), None);
        assert_eq!(parse_span(b"27:15:00"), Some(98_100_000));
        assert_eq!(parse_span(b"1.03:15:00"), Some(98_100_000));
    }

    #[test]
    fn identity_days_go_there_and_back() {
        for days in (0..80_000).step_by(17) {
            assert_eq!(CivilDay::from_days(days).map(CivilDay::days_from_epoch), Some(days));
        }
    }

    #[test]
    fn table_spreadsheet_serials() {
        // 2026-03-01 is serial 46082 in the 1900 system and 44620 in the 1904 system (difference 1462 days by definition).
        let day = CivilDay::new(2026, 3, 1).unwrap().days_from_epoch() * 86_400_000;
        assert_eq!(local_from_serial(46_082.0, false), Some(day));
        assert_eq!(local_from_serial(44_620.5, true), Some(day + 43_200_000));
    }
}
