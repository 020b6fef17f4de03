//! Which columns hold the clock, in which form, and what must be asked about it.

use crate::clock_form::{date_order, elapsed_unit, epoch};
use crate::clock_settle::{settle_half_day, settle_start, settle_zone};
use crate::error::{IngestError, Place};
use crate::limits::Options;
use crate::mapping::{ClockForm, ClockMapping};
use crate::number::parse_number;
use crate::question::Question;
use crate::roles::words;
use crate::sniff::{Layout, Shape, shape};
use crate::stamp::DateOrder;
use crate::table::Row;
use crate::zone::Zone;

/// Columns and form of the clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ClockColumns {
    /// One column of dates with clock times.
    Stamp(usize, DateOrder),
    /// A column of dates and one of clock times.
    DayAndClock(usize, usize, DateOrder),
    /// Clock times alone.
    Clock(usize),
    /// A count since the start; the factor gives milliseconds.
    Elapsed(usize, f64),
    /// `h:mm:ss` since the start.
    Span(usize),
    /// Spreadsheet days; 1904 system or not. The second column holds the share of the day where it is apart.
    Serial(usize, bool),
    /// A count since 1970 UTC; the factor gives milliseconds.
    Unix(usize, f64),
}

impl ClockColumns {
    /// The columns used.
    #[must_use]
    pub fn indices(&self) -> Vec<usize> {
        match *self {
            Self::DayAndClock(a, b, _) => vec![a, b],
            Self::Stamp(a, _)
            | Self::Clock(a)
            | Self::Elapsed(a, _)
            | Self::Span(a)
            | Self::Serial(a, _)
            | Self::Unix(a, _) => {
                vec![a]
            }
        }
    }
}

/// A choice made from evidence, for the list of diagnostics.
#[derive(Clone, Debug, PartialEq)]
pub struct ChoiceNote {
    /// What.
    pub what: String,
    /// What was chosen.
    pub chosen: String,
    /// Why.
    pub because: String,
}

/// The clock of a file, as far as it is known.
#[derive(Clone, Debug)]
pub struct ClockPlan {
    /// Columns; `None` while a question about them is open.
    pub columns: Option<ClockColumns>,
    /// Columns the clock uses, also while its form is open.
    pub used: Vec<usize>,
    /// Zone; `None` where the file carries offsets or a question is open.
    pub zone: Option<Zone>,
    /// The file says its own zone or offset.
    pub zone_in_file: bool,
    /// Start (ms local), or the first day for clock times alone.
    pub start_local_ms: Option<i64>,
    /// The 12-hour clock without AM/PM begins after noon; `None` where the clock is none such.
    pub half_day: Option<bool>,
    /// Orders that the sample leaves open.
    pub open_orders: Vec<DateOrder>,
}

/// What the plan is made from.
pub struct Evidence<'a> {
    /// File name.
    pub file: &'a str,
    /// Table.
    pub layout: &'a Layout,
    /// Rows of the sample.
    pub rows: &'a [Row],
    /// Mapping of the clock.
    pub given: &'a ClockMapping,
    /// Options.
    pub options: &'a Options,
    /// The workbook counts from 1904 (`None` for texts).
    pub workbook_1904: Option<bool>,
    /// Orders left by a search through the whole file, where one was made.
    pub orders: Option<&'a [DateOrder]>,
}

struct Seen {
    filled: usize,
    stamp: usize,
    day: usize,
    clock: usize,
    span: usize,
    number: usize,
}

impl Seen {
    fn mostly(&self, count: usize) -> bool {
        self.filled > 0 && count * 3 >= self.filled * 2
    }
}

/// Makes the plan; what is open goes to `questions`, what was chosen to `notes`.
///
/// # Errors
/// [`IngestError::NoClock`], [`IngestError::Mapping`].
pub fn plan(
    e: &Evidence<'_>,
    questions: &mut Vec<Question>,
    notes: &mut Vec<ChoiceNote>,
) -> Result<ClockPlan, IngestError> {
    let mut plan = ClockPlan {
        columns: None,
        used: Vec::new(),
        zone: None,
        zone_in_file: false,
        start_local_ms: None,
        half_day: None,
        open_orders: Vec::new(),
    };
    let found = find_columns(e, notes)?;
    plan.used = found.indices();
    plan.columns = settle_form(e, found, &mut plan, questions, notes);
    settle_zone(e, &mut plan, questions, notes)?;
    settle_start(e, &mut plan, questions, notes)?;
    settle_half_day(e, &mut plan, questions);
    Ok(plan)
}

fn seen(e: &Evidence<'_>, column: usize) -> Seen {
    let mut s = Seen { filled: 0, stamp: 0, day: 0, clock: 0, span: 0, number: 0 };
    for row in e.rows {
        let shape = shape(row.cell(column), e.layout.decimal);
        s.filled += usize::from(shape != Shape::Empty);
        match shape {
            Shape::Stamp => s.stamp += 1,
            Shape::Day => s.day += 1,
            Shape::Clock => s.clock += 1,
            Shape::Span => s.span += 1,
            Shape::Number => s.number += 1,
            _ => {}
        }
    }
    s
}

fn heading_index(e: &Evidence<'_>, name: &str) -> Result<usize, IngestError> {
    let by_number = name.strip_prefix('#').and_then(|n| n.trim().parse::<usize>().ok()).filter(|n| *n >= 1);
    if let Some(n) = by_number.filter(|n| *n <= e.layout.headings.len()) {
        return Ok(n - 1);
    }
    let wanted = name.trim().to_lowercase();
    e.layout.headings.iter().position(|h| h.trim().to_lowercase() == wanted).ok_or_else(|| {
        IngestError::Mapping {
            key: "clock.columns".to_owned(),
            found: name.to_owned(),
            allowed: e.layout.headings.join(", "),
            place: Place::file(e.file),
        }
    })
}

fn find_columns(e: &Evidence<'_>, notes: &mut Vec<ChoiceNote>) -> Result<ClockColumns, IngestError> {
    let order = DateOrder::YearMonthDay;
    let given: Vec<usize> = e.given.columns.iter().map(|n| heading_index(e, n)).collect::<Result<_, _>>()?;
    if let [day, clock] = given.as_slice() {
        return Ok(ClockColumns::DayAndClock(*day, *clock, order));
    }
    let all: Vec<usize> =
        if given.is_empty() { (0..e.layout.headings.len()).collect() } else { given.clone() };
    let table: Vec<(usize, Seen)> = all.iter().map(|i| (*i, seen(e, *i))).collect();
    let column = |test: &dyn Fn(&Seen) -> bool| table.iter().find(|(_, s)| test(s)).map(|(i, _)| *i);
    let stamps: Vec<usize> = table.iter().filter(|(_, s)| s.mostly(s.stamp)).map(|(i, _)| *i).collect();
    if let Some(&first) = stamps.first() {
        if stamps.len() > 1 {
            notes.push(ChoiceNote {
                what: "clock column".to_owned(),
                chosen: e.layout.headings.get(first).cloned().unwrap_or_default(),
                because: "the first of several".to_owned(),
            });
        }
        return Ok(ClockColumns::Stamp(first, order));
    }
    let day = column(&|s| s.mostly(s.day + s.stamp));
    let clock = column(&|s| s.mostly(s.clock));
    match (day, clock) {
        (Some(d), Some(c)) if given.is_empty() => return Ok(ClockColumns::DayAndClock(d, c, order)),
        (Some(d), None) => return Ok(ClockColumns::Stamp(d, order)),
        _ => {}
    }
    if let Some(c) = column(&|s| s.mostly(s.clock + s.span)) {
        let elapsed = e.given.form == Some(ClockForm::ElapsedSpan)
            || table.iter().any(|(i, s)| *i == c && s.span > 0)
            || heading_words(e, c)
                .iter()
                .any(|w| matches!(w.as_str(), "elapsed" | "transcurrido" | "duration" | "laufzeit"));
        let elapsed = elapsed && e.given.form != Some(ClockForm::TimeOfDay);
        return Ok(if elapsed { ClockColumns::Span(c) } else { ClockColumns::Clock(c) });
    }
    numeric_clock(e, &table, !given.is_empty()).ok_or_else(|| IngestError::NoClock {
        headings: e.layout.headings.join(", "),
        place: Place::line(e.file, e.layout.heading_line.unwrap_or(e.layout.first_line)),
    })
}

pub(crate) fn heading_words(e: &Evidence<'_>, column: usize) -> Vec<String> {
    let heading = e.layout.headings.get(column).map_or("", String::as_str);
    words(heading)
}

const CLOCK_WORDS: &[&str] = &[
    "time",
    "elapsed",
    "seconds",
    "sec",
    "s",
    "minutes",
    "min",
    "hours",
    "h",
    "date",
    "datetime",
    "timestamp",
    "epoch",
    "unix",
    "ts",
    "zeit",
    "datum",
    "tiempo",
    "fecha",
    "hora",
    "transcurrido",
    "clock",
    "ms",
];

pub(crate) fn numbers(e: &Evidence<'_>, column: usize) -> Vec<f64> {
    e.rows.iter().filter_map(|r| parse_number(r.cell(column), e.layout.decimal)).collect()
}

fn numeric_clock(e: &Evidence<'_>, table: &[(usize, Seen)], given: bool) -> Option<ClockColumns> {
    for (column, s) in table.iter().filter(|(_, s)| s.mostly(s.number)) {
        let _ = s;
        let words = heading_words(e, *column);
        let named = words.iter().any(|w| CLOCK_WORDS.contains(&w.as_str()));
        let forced = given || named || (!e.layout.has_headings && *column == 0);
        let values = numbers(e, *column);
        if !forced || !values.iter().zip(values.iter().skip(1)).all(|(a, b)| b >= a) && !given && !named {
            continue;
        }
        let within = |low: f64, high: f64| values.iter().all(|v| (low..high).contains(v));
        let kind = match e.given.form {
            Some(ClockForm::UnixSeconds) => ClockColumns::Unix(*column, 1000.0),
            Some(ClockForm::UnixMilliseconds) => ClockColumns::Unix(*column, 1.0),
            Some(ClockForm::Excel1900 | ClockForm::Excel1904) => ClockColumns::Serial(*column, false),
            Some(ClockForm::ElapsedSeconds | ClockForm::ElapsedMinutes | ClockForm::ElapsedHours) => {
                ClockColumns::Elapsed(*column, 0.0)
            }
            _ if within(6e8, 4.2e9) => ClockColumns::Unix(*column, 1000.0),
            _ if within(6e11, 4.2e12) => ClockColumns::Unix(*column, 1.0),
            _ if within(28_000.0, 75_000.0)
                && words.iter().all(|w| !matches!(w.as_str(), "elapsed" | "s" | "sec" | "seconds")) =>
            {
                ClockColumns::Serial(*column, false)
            }
            _ => ClockColumns::Elapsed(*column, 0.0),
        };
        return Some(kind);
    }
    None
}

fn settle_form(
    e: &Evidence<'_>,
    found: ClockColumns,
    plan: &mut ClockPlan,
    questions: &mut Vec<Question>,
    notes: &mut Vec<ChoiceNote>,
) -> Option<ClockColumns> {
    match found {
        ClockColumns::Stamp(column, _) => {
            date_order(e, column, plan, questions, notes).map(|o| ClockColumns::Stamp(column, o))
        }
        ClockColumns::DayAndClock(day, clock, _) => {
            date_order(e, day, plan, questions, notes).map(|o| ClockColumns::DayAndClock(day, clock, o))
        }
        ClockColumns::Elapsed(column, _) => {
            elapsed_unit(e, column, questions).map(|f| ClockColumns::Elapsed(column, f))
        }
        ClockColumns::Serial(column, _) => {
            epoch(e, column, questions).map(|b| ClockColumns::Serial(column, b))
        }
        other => Some(other),
    }
}
