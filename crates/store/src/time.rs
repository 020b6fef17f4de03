//! Instants as ISO 8601 text in UTC, to the nanosecond, and days of a zone.

use fallrate_series::{CalendarDate, Instant};
use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::StoreError;

/// `"2024-03-01T06:40:00Z"`, with a fraction of a second only where there is one.
#[must_use]
pub fn iso_from_instant(at: Instant) -> String {
    let whole = at.iso_utc();
    match at.unix_nanoseconds().rem_euclid(1_000_000_000) {
        0 => whole,
        part => {
            let fraction = format!("{part:09}");
            format!("{}.{}Z", whole.trim_end_matches('Z'), fraction.trim_end_matches('0'))
        }
    }
}

/// Reads an instant in UTC as [`iso_from_instant`] writes it.
///
/// # Errors
/// [`StoreError::NoInstant`] where it is none or does not end in `Z`.
pub fn instant_from_iso(text: &str) -> Result<Instant, StoreError> {
    let bad = || StoreError::NoInstant { found: text.chars().take(40).collect() };
    if !text.ends_with('Z') {
        return Err(bad());
    }
    let at: Timestamp = text.parse().map_err(|_| bad())?;
    i64::try_from(at.as_nanosecond()).map(Instant::from_unix_nanoseconds).map_err(|_| bad())
}

/// Whether the bundled zone database has a zone of this name.
#[must_use]
pub fn is_zone(name: &str) -> bool {
    name == "UTC" || (name.contains('/') && TimeZone::get(name).is_ok())
}

/// The calendar day of an instant in a zone; in UTC where the zone is not known here.
#[must_use]
pub fn day_in_zone(at: Instant, zone: &str) -> CalendarDate {
    let seconds = TimeZone::get(zone)
        .ok()
        .zip(Timestamp::from_nanosecond(i128::from(at.unix_nanoseconds())).ok())
        .map_or(0, |(zone, at)| zone.to_offset(at).seconds());
    at.plus_seconds(f64::from(seconds)).utc_date()
}

/// For fields of entries: an instant as text.
pub(crate) mod iso {
    use super::{Instant, instant_from_iso, iso_from_instant};
    use serde::{Deserialize as _, Deserializer, Serializer};

    pub(crate) fn serialize<S: Serializer>(at: &Instant, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(&iso_from_instant(*at))
    }
    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<Instant, D::Error> {
        let text = String::deserialize(d)?;
        instant_from_iso(&text).map_err(serde::de::Error::custom)
    }
}

/// For fields of entries: an instant that may be missing.
pub(crate) mod iso_option {
    use super::{Instant, instant_from_iso, iso_from_instant};
    use serde::{Deserialize as _, Deserializer, Serializer};

    pub(crate) fn serialize<S: Serializer>(at: &Option<Instant>, s: S) -> Result<S::Ok, S::Error> {
        match at {
            Some(at) => s.serialize_some(&iso_from_instant(*at)),
            None => s.serialize_none(),
        }
    }
    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<Option<Instant>, D::Error> {
        let text = Option::<String>::deserialize(d)?;
        text.map(|t| instant_from_iso(&t)).transpose().map_err(serde::de::Error::custom)
    }
}

/// For fields of entries: a span as its two instants.
pub(crate) mod iso_span {
    use fallrate_series::Span;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    use super::{Instant, iso};

    #[derive(Serialize, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Ends {
        #[serde(with = "iso")]
        from: Instant,
        #[serde(with = "iso")]
        to: Instant,
    }

    pub(crate) fn serialize<S: Serializer>(span: &Span, s: S) -> Result<S::Ok, S::Error> {
        Ends { from: span.from(), to: span.to() }.serialize(s)
    }
    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<Span, D::Error> {
        let ends = Ends::deserialize(d)?;
        Span::new(ends.from, ends.to).map_err(serde::de::Error::custom)
    }
}
