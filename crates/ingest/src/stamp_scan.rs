//! The scanner behind [`crate::stamp`].

use crate::stamp::{ClockTime, DateOrder, RawDate, ZoneMark};

pub(crate) struct Scan<'a> {
    pub(crate) text: &'a [u8],
    pub(crate) at: usize,
}

impl<'a> Scan<'a> {
    pub(crate) fn peek(&self) -> u8 {
        self.text.get(self.at).copied().unwrap_or(0)
    }
    pub(crate) fn ahead(&self, n: usize) -> u8 {
        self.text.get(self.at + n).copied().unwrap_or(0)
    }
    pub(crate) fn done(&self) -> bool {
        self.at >= self.text.len()
    }
    /// Skips spaces, also the no-break (C2 A0) and narrow no-break (E2 80 AF) ones.
    pub(crate) fn spaces(&mut self) {
        loop {
            match self.peek() {
                b' ' | b'\t' => self.at += 1,
                0xc2 if self.ahead(1) == 0xa0 => self.at += 2,
                0xe2 if self.ahead(1) == 0x80 && self.ahead(2) == 0xaf => self.at += 3,
                _ => break,
            }
        }
    }
    pub(crate) fn number(&mut self, most: u8) -> Option<(i64, u8)> {
        let (mut value, mut count) = (0i64, 0u8);
        while count < most {
            let d = self.peek().wrapping_sub(b'0');
            if d > 9 {
                break;
            }
            value = value * 10 + i64::from(d);
            count += 1;
            self.at += 1;
        }
        (count > 0).then_some((value, count))
    }
    pub(crate) fn word(&mut self) -> &'a [u8] {
        let start = self.at;
        while self.peek().is_ascii_alphabetic() || self.peek() >= 0x80 {
            self.at += 1;
        }
        self.text.get(start..self.at).unwrap_or(&[])
    }
}

/// First three letters of months in English, Spanish and German; `\u{e4}` of `Mär` arrives as two bytes.
const MONTHS: [&[&str]; 12] = [
    &["jan", "ene"],
    &["feb"],
    &["mar", "mär", "mrz"],
    &["apr", "abr"],
    &["may", "mai"],
    &["jun"],
    &["jul"],
    &["aug", "ago"],
    &["sep", "set"],
    &["oct", "okt"],
    &["nov"],
    &["dec", "dic", "dez"],
];

pub(crate) fn month_of(word: &[u8]) -> Option<i64> {
    let text = std::str::from_utf8(word).ok()?;
    let head: String = text.chars().take(3).flat_map(char::to_lowercase).collect();
    let found = MONTHS.iter().position(|names| names.contains(&head.as_str()))?;
    i64::try_from(found + 1).ok()
}

pub(crate) fn raw_date(scan: &mut Scan<'_>) -> Option<RawDate> {
    if scan.peek().is_ascii_alphabetic() {
        // A weekday before the date ("Sun, 01 Mar 2026"); a month name is read below.
        let before = scan.at;
        let word = scan.word();
        if month_of(word).is_some() {
            scan.at = before;
        } else {
            while matches!(scan.peek(), b',' | b'.') {
                scan.at += 1;
            }
            scan.spaces();
        }
    }
    if let Some(date) = compact_date(scan) {
        return Some(date);
    }
    let mut date = RawDate { parts: [0; 3], digits: [0; 3], named_month: None };
    for index in 0..3 {
        let (value, digits) = if scan.peek().is_ascii_digit() {
            scan.number(4)?
        } else {
            let month = month_of(scan.word())?;
            if date.named_month.is_some() {
                return None;
            }
            date.named_month = Some((index, month));
            (month, 2)
        };
        *date.parts.get_mut(index)? = value;
        *date.digits.get_mut(index)? = digits;
        if index < 2 {
            let before = scan.at;
            scan.spaces();
            while matches!(scan.peek(), b'-' | b'/' | b'.' | b',') {
                scan.at += 1;
                scan.spaces();
            }
            // "1 de marzo de 2026"
            if scan.peek() == b'd' && scan.ahead(1) == b'e' && scan.ahead(2) == b' ' {
                scan.at += 3;
                scan.spaces();
            }
            if scan.at == before && date.named_month.is_none() && !scan.peek().is_ascii_alphabetic() {
                return None;
            }
        }
    }
    (!scan.peek().is_ascii_digit()).then_some(date)
}

/// `20260301` (year first only).
pub(crate) fn compact_date(scan: &mut Scan<'_>) -> Option<RawDate> {
    let digits = scan.text.get(scan.at..scan.at + 8)?;
    if !digits.iter().all(u8::is_ascii_digit) {
        return None;
    }
    let run = scan.text.get(scan.at..)?.iter().take_while(|b| b.is_ascii_digit()).count();
    if !matches!(run, 8 | 12 | 14) {
        return None;
    }
    let n = |from: usize, to: usize| -> i64 {
        digits.get(from..to).unwrap_or(&[]).iter().fold(0, |v, d| v * 10 + i64::from(d - b'0'))
    };
    let date = RawDate { parts: [n(0, 4), n(4, 6), n(6, 8)], digits: [4, 2, 2], named_month: None };
    date.under(DateOrder::YearMonthDay)?;
    scan.at += 8;
    Some(date)
}

pub(crate) fn clock_time(scan: &mut Scan<'_>, most_hours: i64) -> Option<ClockTime> {
    let (hour, minute, second, thousandths) = clock_numbers(scan)?;
    let mut hours = hour;
    let hour_written = u16::try_from(hour).ok()?;
    scan.spaces();
    let half_day = match half_day(scan) {
        Some(afternoon) => {
            if !(1..=12).contains(&hour) {
                return None;
            }
            hours = hour % 12 + if afternoon { 12 } else { 0 };
            true
        }
        None => false,
    };
    scan.spaces();
    let zone = zone_mark(scan)?;
    let milliseconds = ((hours * 60 + minute) * 60 + second) * 1000 + thousandths;
    if minute > 59 || second > 59 || milliseconds > most_hours * 3_600_000 {
        return None;
    }
    Some(ClockTime { milliseconds, zone, half_day, hour_written })
}

pub(crate) fn clock_numbers(scan: &mut Scan<'_>) -> Option<(i64, i64, i64, i64)> {
    let (first, digits) = scan.number(6)?;
    match (digits, scan.peek()) {
        (6, _) => {
            let fraction = fraction(scan);
            return Some((first / 10_000, first / 100 % 100, first % 100, fraction));
        }
        (4, c) if c != b':' => return Some((first / 100, first % 100, 0, 0)),
        (1..=4, b':' | b'h' | b'H') => scan.at += 1,
        (1..=2, b'.') => scan.at += 1,
        // "8 PM"
        (1..=2, _) if matches!(scan.peek(), b' ' | b'a' | b'p' | b'A' | b'P') => {
            let here = scan.at;
            scan.spaces();
            let named = half_day(scan).is_some();
            scan.at = here;
            return named.then_some((first, 0, 0, 0));
        }
        _ => return None,
    }
    let (minute, width) = scan.number(2)?;
    if width != 2 {
        return None;
    }
    let mut second = 0;
    let mut thousandths = 0;
    if matches!(scan.peek(), b':' | b'm' | b'M' | b'.') && scan.ahead(1).is_ascii_digit() {
        scan.at += 1;
        second = scan.number(2)?.0;
        thousandths = fraction(scan);
    }
    if scan.peek() == b's' {
        scan.at += 1;
    }
    Some((first, minute, second, thousandths))
}

pub(crate) fn fraction(scan: &mut Scan<'_>) -> i64 {
    if !matches!(scan.peek(), b'.' | b',' | b':') || !scan.ahead(1).is_ascii_digit() {
        return 0;
    }
    scan.at += 1;
    let (mut value, mut scale) = (0, 100);
    while scan.peek().is_ascii_digit() {
        value += i64::from(scan.peek() - b'0') * scale;
        scale /= 10;
        scan.at += 1;
    }
    value
}

/// `AM`, `p.m.`, `a. m.`: true for the afternoon.
pub(crate) fn half_day(scan: &mut Scan<'_>) -> Option<bool> {
    let here = scan.at;
    let afternoon = match scan.peek() {
        b'a' | b'A' => false,
        b'p' | b'P' => true,
        _ => return None,
    };
    scan.at += 1;
    if scan.peek() == b'.' {
        scan.at += 1;
    }
    scan.spaces();
    if matches!(scan.peek(), b'm' | b'M') {
        scan.at += 1;
        if scan.peek() == b'.' {
            scan.at += 1;
        }
        if !scan.peek().is_ascii_alphabetic() {
            return Some(afternoon);
        }
    }
    scan.at = here;
    None
}

pub(crate) fn zone_mark(scan: &mut Scan<'_>) -> Option<ZoneMark> {
    match scan.peek() {
        b'Z' | b'z' if !scan.ahead(1).is_ascii_alphabetic() => {
            scan.at += 1;
            Some(ZoneMark::Offset(0))
        }
        b'+' | b'-' => offset(scan),
        b'(' | b'A'..=b'Z' => {
            let bracket = scan.peek() == b'(';
            scan.at += usize::from(bracket);
            let word = scan.word();
            let mark = if matches!(word, b"UTC" | b"GMT") {
                if matches!(scan.peek(), b'+' | b'-') { offset(scan)? } else { ZoneMark::Offset(0) }
            } else {
                abbreviation(word)?
            };
            if bracket {
                (scan.peek() == b')').then(|| scan.at += 1)?;
            }
            Some(mark)
        }
        _ => Some(ZoneMark::None),
    }
}

pub(crate) fn abbreviation(word: &[u8]) -> Option<ZoneMark> {
    if !(2..=5).contains(&word.len()) || !word.iter().all(u8::is_ascii_uppercase) {
        return None;
    }
    let mut letters = [0u8; 5];
    for (to, from) in letters.iter_mut().zip(word) {
        *to = *from;
    }
    Some(ZoneMark::Abbreviation(letters))
}

pub(crate) fn offset(scan: &mut Scan<'_>) -> Option<ZoneMark> {
    let sign = if scan.peek() == b'-' { -1 } else { 1 };
    scan.at += 1;
    let (first, digits) = scan.number(4)?;
    let (hours, minutes) = match digits {
        4 => (first / 100, first % 100),
        1 | 2 if scan.peek() == b':' => {
            scan.at += 1;
            (first, scan.number(2)?.0)
        }
        1 | 2 => (first, 0),
        _ => return None,
    };
    if hours > 14 || minutes > 59 {
        return None;
    }
    Some(ZoneMark::Offset(i32::try_from(sign * (hours * 3600 + minutes * 60)).ok()?))
}

pub(crate) fn trimmed(bytes: &[u8]) -> &[u8] {
    let strip = |b: &u8| matches!(b, b' ' | b'\t' | b'"' | b'\'' | b'\r' | b'[' | b']');
    let start = bytes.iter().position(|b| !strip(b)).unwrap_or(bytes.len());
    let end = bytes.iter().rposition(|b| !strip(b)).map_or(start, |i| i + 1);
    bytes.get(start..end).unwrap_or(&[])
}
