//! From local clock readings to instants: zones, the skipped and the repeated hour.

use jiff::civil;
use jiff::tz::{AmbiguousOffset, TimeZone};

/// A zone of the bundled database, or a fixed offset.
#[derive(Clone, Debug)]
pub struct Zone {
    /// Name as given.
    pub name: String,
    kind: ZoneKind,
    block: Option<Block>,
}

#[derive(Clone, Debug)]
enum ZoneKind {
    Fixed(i64),
    Named(Box<TimeZone>),
}

/// A quarter of an hour of local time that has one offset throughout.
#[derive(Clone, Copy, Debug)]
struct Block {
    from_ms: i64,
    offset_ms: i64,
}

const BLOCK_MS: i64 = 900_000;

/// What a local clock reading can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Local {
    /// One instant, ms since 1970-01-01 UTC.
    One(i64),
    /// Two instants, the clock having been set back; the earlier first.
    Two(i64, i64),
    /// None, the clock having been set forward. The instants that the offsets before and after would give.
    Skipped {
        /// By the offset before the change.
        before: i64,
        /// By the offset after the change.
        after: i64,
    },
}

impl Zone {
    /// A zone by its name in the zone database, `UTC`, or an offset such as `+01:00`, `UTC-5`, `GMT+0530`.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        let text = name.trim();
        if let Some(seconds) = fixed_offset(text) {
            return Some(Self { name: text.to_owned(), kind: ZoneKind::Fixed(seconds * 1000), block: None });
        }
        if !text.contains('/') {
            return None;
        }
        let zone = TimeZone::get(text).ok()?;
        Some(Self { name: text.to_owned(), kind: ZoneKind::Named(Box::new(zone)), block: None })
    }

    /// A fixed offset east of UTC in seconds.
    #[must_use]
    pub fn fixed(seconds: i64) -> Self {
        Self { name: offset_name(seconds), kind: ZoneKind::Fixed(seconds * 1000), block: None }
    }

    /// What a local reading, ms since 1970-01-01 00:00 of the local calendar, can be.
    pub fn resolve(&mut self, local_ms: i64) -> Option<Local> {
        let zone = match &self.kind {
            ZoneKind::Fixed(offset_ms) => return Some(Local::One(local_ms - offset_ms)),
            ZoneKind::Named(zone) => zone,
        };
        let from_ms = local_ms.div_euclid(BLOCK_MS) * BLOCK_MS;
        if let Some(block) = self.block.filter(|b| b.from_ms == from_ms) {
            return Some(Local::One(local_ms - block.offset_ms));
        }
        let begin = offsets(zone, from_ms)?;
        let end = offsets(zone, from_ms + BLOCK_MS - 1000)?;
        if let (AmbiguousOffset::Unambiguous { offset: a }, AmbiguousOffset::Unambiguous { offset: b }) =
            (begin, end)
            && a == b
        {
            let offset_ms = i64::from(a.seconds()) * 1000;
            self.block = Some(Block { from_ms, offset_ms });
            return Some(Local::One(local_ms - offset_ms));
        }
        let by = |offset: jiff::tz::Offset| local_ms - i64::from(offset.seconds()) * 1000;
        Some(match offsets(zone, local_ms)? {
            AmbiguousOffset::Unambiguous { offset } => Local::One(by(offset)),
            AmbiguousOffset::Fold { before, after } => Local::Two(by(before), by(after)),
            AmbiguousOffset::Gap { before, after } => Local::Skipped { before: by(before), after: by(after) },
        })
    }

    /// The offset east of UTC at an instant, s.
    #[must_use]
    pub fn offset_at(&self, utc_ms: i64) -> Option<i64> {
        match &self.kind {
            ZoneKind::Fixed(ms) => Some(ms / 1000),
            ZoneKind::Named(zone) => {
                let at = jiff::Timestamp::from_millisecond(utc_ms).ok()?;
                Some(i64::from(zone.to_offset(at).seconds()))
            }
        }
    }

    /// Whether the zone writes this abbreviation at an instant.
    #[must_use]
    pub fn abbreviates(&self, utc_ms: i64, letters: &[u8; 5]) -> bool {
        let ZoneKind::Named(zone) = &self.kind else { return false };
        let Ok(at) = jiff::Timestamp::from_millisecond(utc_ms) else { return false };
        let wanted = letters.iter().take_while(|b| **b != 0);
        zone.to_offset_info(at).abbreviation().bytes().eq(wanted.copied())
    }
}

fn offsets(zone: &TimeZone, local_ms: i64) -> Option<AmbiguousOffset> {
    Some(zone.to_ambiguous_timestamp(civil_from_ms(local_ms)?).offset())
}

fn civil_from_ms(local_ms: i64) -> Option<civil::DateTime> {
    let day = crate::stamp::CivilDay::from_days(local_ms.div_euclid(86_400_000))?;
    let ms = local_ms.rem_euclid(86_400_000);
    let part = |v: i64| i8::try_from(v).ok();
    civil::DateTime::new(
        day.year,
        i8::try_from(day.month).ok()?,
        i8::try_from(day.day).ok()?,
        part(ms / 3_600_000)?,
        part(ms / 60_000 % 60)?,
        part(ms / 1000 % 60)?,
        i32::try_from(ms % 1000 * 1_000_000).ok()?,
    )
    .ok()
}

/// `UTC`, `Z`, `+01:00`, `UTC-5`, `GMT+0530` in seconds east.
#[must_use]
pub fn fixed_offset(text: &str) -> Option<i64> {
    let upper = text.trim().to_ascii_uppercase();
    let rest = upper.strip_prefix("UTC").or_else(|| upper.strip_prefix("GMT")).unwrap_or(&upper).trim();
    if rest.is_empty() {
        return (!upper.is_empty()).then_some(0);
    }
    if rest == "Z" || rest == "\u{b1}0" {
        return Some(0);
    }
    let sign = match rest.bytes().next()? {
        b'+' => 1,
        b'-' => -1,
        _ => return None,
    };
    let digits = rest.get(1..)?;
    let (hours, minutes) = match digits.split_once(':') {
        Some((h, m)) if m.len() == 2 => (h.parse().ok()?, m.parse().ok()?),
        Some(_) => return None,
        None if digits.len() == 4 => (digits.get(..2)?.parse().ok()?, digits.get(2..)?.parse().ok()?),
        None if digits.len() <= 2 => (digits.parse::<i64>().ok()?, 0i64),
        None => return None,
    };
    ((0..=14).contains(&hours) && (0..60).contains(&minutes)).then_some(sign * (hours * 3600 + minutes * 60))
}

/// `+01:00`
#[must_use]
pub fn offset_name(seconds: i64) -> String {
    let sign = if seconds < 0 { '-' } else { '+' };
    format!("{sign}{:02}:{:02}", seconds.abs() / 3600, seconds.abs() / 60 % 60)
}

/// `2026-03-01 08:00:00` of a local reading.
#[must_use]
pub fn show_local(local_ms: i64) -> String {
    let (days, ms) = (local_ms.div_euclid(86_400_000), local_ms.rem_euclid(86_400_000));
    match crate::stamp::CivilDay::from_days(days) {
        Some(d) => format!(
            "{:04}-{:02}-{:02} {:02}:{:02}:{:02}",
            d.year,
            d.month,
            d.day,
            ms / 3_600_000,
            ms / 60_000 % 60,
            ms / 1000 % 60
        ),
        None => format!("{local_ms} ms"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stamp::{DateOrder, parse_stamp};

    fn local(text: &str) -> i64 {
        let s = parse_stamp(text.as_bytes(), DateOrder::YearMonthDay).unwrap();
        s.day.days_from_epoch() * 86_400_000 + s.clock.unwrap().milliseconds
    }

    #[test]
    fn clock_changes() {
        // EU rule: last Sunday of March 01:00 UTC forward, last Sunday of October 01:00 UTC back (zone database).
        let mut zone = Zone::named("Europe/Dublin").unwrap();
        assert_eq!(
            zone.resolve(local("2026-10-25 00:59:59")),
            Some(Local::One(local("2026-10-24 23:59:59")))
        );
        assert_eq!(
            zone.resolve(local("2026-10-25 01:30:00")),
            Some(Local::Two(local("2026-10-25 00:30:00"), local("2026-10-25 01:30:00")))
        );
        assert!(matches!(zone.resolve(local("2026-03-29 01:30:00")), Some(Local::Skipped { .. })));
        assert_eq!(
            zone.resolve(local("2026-07-01 12:00:00")),
            Some(Local::One(local("2026-07-01 11:00:00")))
        );
    }

    #[test]
    fn offsets_by_name() {
        assert_eq!(fixed_offset("GMT-05:00"), Some(-18_000));
        assert_eq!(fixed_offset("UTC+1"), Some(3600));
        assert_eq!(fixed_offset("+0530"), Some(19_800));
        assert_eq!(fixed_offset("Europe/Dublin"), None);
        assert_eq!(fixed_offset(""), None);
        assert!(Zone::named("CST").is_none());
        assert!(Zone::named("Nowhere/Town").is_none());
    }
}
