//! The clock's part of a mapping file.

use serde::{Deserialize, Serialize};

use crate::mapping::is_zero;
use crate::stamp::DateOrder;

/// The form the clock is written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ClockForm {
    /// 2026-03-01
    YearMonthDay,
    /// 01.03.2026
    DayMonthYear,
    /// 03/01/2026
    MonthDayYear,
    /// Clock times without a date.
    TimeOfDay,
    /// Days since 1899-12-30 as spreadsheets count.
    Excel1900,
    /// Days since 1904-01-01 as some spreadsheets count.
    Excel1904,
    /// Seconds since the start.
    ElapsedSeconds,
    /// Minutes since the start.
    ElapsedMinutes,
    /// Hours since the start.
    ElapsedHours,
    /// `h:mm:ss` since the start.
    ElapsedSpan,
    /// Seconds since 1970-01-01 UTC.
    UnixSeconds,
    /// Milliseconds since 1970-01-01 UTC.
    UnixMilliseconds,
}

impl ClockForm {
    /// The order of the date, for the forms that have one.
    #[must_use]
    pub fn order(self) -> Option<DateOrder> {
        match self {
            Self::YearMonthDay => Some(DateOrder::YearMonthDay),
            Self::DayMonthYear => Some(DateOrder::DayMonthYear),
            Self::MonthDayYear => Some(DateOrder::MonthDayYear),
            _ => None,
        }
    }
    /// The form of an order.
    #[must_use]
    pub fn of_order(order: DateOrder) -> Self {
        match order {
            DateOrder::YearMonthDay => Self::YearMonthDay,
            DateOrder::DayMonthYear => Self::DayMonthYear,
            DateOrder::MonthDayYear => Self::MonthDayYear,
        }
    }
    /// The word of the mapping file.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::YearMonthDay => "year-month-day",
            Self::DayMonthYear => "day-month-year",
            Self::MonthDayYear => "month-day-year",
            Self::TimeOfDay => "time-of-day",
            Self::Excel1900 => "excel1900",
            Self::Excel1904 => "excel1904",
            Self::ElapsedSeconds => "elapsed-seconds",
            Self::ElapsedMinutes => "elapsed-minutes",
            Self::ElapsedHours => "elapsed-hours",
            Self::ElapsedSpan => "elapsed-span",
            Self::UnixSeconds => "unix-seconds",
            Self::UnixMilliseconds => "unix-milliseconds",
        }
    }
}

/// Which of two passes a local time belongs to when the clock was set back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fold {
    /// The pass before the clock was set back.
    First,
    /// The pass after.
    Second,
}

/// What to do with local times that the clock change skipped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Skipped {
    /// Leave those rows out, reported.
    Exclude,
}

/// The half of the day in which a 12-hour clock without AM and PM begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HalfDay {
    /// Before noon.
    Am,
    /// After noon.
    Pm,
}

/// A change of the logger's clock within the file.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ClockStep {
    /// From this line of the file on.
    pub from_line: u64,
    /// Seconds to add to the logger's clock, in place of `offset_seconds`.
    pub add_seconds: f64,
}

/// What is known about the clock.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ClockMapping {
    /// Headings (or numbers, from 1, as text `#1`) of the one column, or of date and time.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub columns: Vec<String>,
    /// Form.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub form: Option<ClockForm>,
    /// Zone ("America/Chicago") or fixed offset ("+01:00").
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// Seconds to add to every reading of this file.
    #[serde(skip_serializing_if = "is_zero")]
    pub offset_seconds: f64,
    /// How well the clock is known, s either way.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uncertainty_seconds: Option<f64>,
    /// Who vouches for zone and offset.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub declared_by: String,
    /// What the clock was compared with.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub compared_with: String,
    /// Start for elapsed columns ("2026-03-01 08:00:00"), or the first day for clock times without a date.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start: Option<String>,
    /// Pass of the repeated hour.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fold: Option<Fold>,
    /// Rows in the skipped hour.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub skipped: Option<Skipped>,
    /// First half of the day of a 12-hour clock.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub half_day: Option<HalfDay>,
    /// Usual step between readings, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub interval_seconds: Option<f64>,
    /// Clock changes within the file.
    #[serde(rename = "step", skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<ClockStep>,
}
