//! Which columns hold the clock, in which form, and what must be asked about it.

use crate::error::{IngestError, Place};
use crate::limits::Options;
use crate::mapping::{ClockForm, ClockMapping};
use crate::number::{DecimalMark, parse_number};
use crate::question::{Choice, Question, Setting, Topic};
use crate::roles::words;
use crate::sniff::{Layout, Shape, shape};
use crate::stamp::{DateOrder, RawDate, local_from_serial, parse_clock, scan_stamp};
use crate::table::Row;
use crate::zone::{Zone, fixed_offset, show_local};

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

fn heading_words(e: &Evidence<'_>, column: usize) -> Vec<String> {
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

fn numbers(e: &Evidence<'_>, column: usize) -> Vec<f64> {
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

/// The orders that every date of some rows fits.
#[must_use]
pub fn orders_that_fit<'r>(cells: impl Iterator<Item = &'r [u8]>) -> Vec<DateOrder> {
    let mut counts = [0usize; 3];
    let mut dates = 0usize;
    for cell in cells {
        let Some((raw, _)) = scan_stamp(cell) else { continue };
        dates += 1;
        for (count, order) in counts.iter_mut().zip(DateOrder::ALL) {
            *count += usize::from(raw.under(order).is_some());
        }
    }
    let best = counts.iter().copied().max().unwrap_or(0);
    if dates == 0 || best == 0 {
        return Vec::new();
    }
    // Where no order fits every date the evidence contradicts itself: all that fit at least half as often stay open.
    let least = if best == dates { best } else { best.div_ceil(2) };
    DateOrder::ALL.iter().zip(counts).filter(|(_, n)| *n >= least).map(|(o, _)| *o).collect()
}

fn date_order(
    e: &Evidence<'_>,
    column: usize,
    plan: &mut ClockPlan,
    questions: &mut Vec<Question>,
    notes: &mut Vec<ChoiceNote>,
) -> Option<DateOrder> {
    if let Some(order) = e.given.form.and_then(ClockForm::order) {
        return Some(order);
    }
    let fitting = match e.orders {
        Some(orders) => orders.to_vec(),
        None => orders_that_fit(e.rows.iter().map(|r| r.cell(column))),
    };
    let first = e.rows.iter().find_map(|r| scan_stamp(r.cell(column)).map(|(raw, _)| (raw, r)));
    let (raw, row) = first?;
    match fitting.as_slice() {
        [] => None,
        [one] => {
            if *one != DateOrder::YearMonthDay {
                notes.push(ChoiceNote {
                    what: "date order".to_owned(),
                    chosen: one.word().to_owned(),
                    because: "the only order that fits every date".to_owned(),
                });
            }
            Some(*one)
        }
        open => {
            if let Some(order) = hinted_order(e, column).filter(|o| open.contains(o)) {
                notes.push(ChoiceNote {
                    what: "date order".to_owned(),
                    chosen: order.word().to_owned(),
                    because: "the file shows its pattern".to_owned(),
                });
                return Some(order);
            }
            plan.open_orders = open.to_vec();
            questions.push(order_question(e, column, open, raw, row));
            None
        }
    }
}

/// The pattern in the unit row or heading: `dd.mm.yyyy`, `MM/DD/YYYY`, `TT.MM.JJJJ`, `dd/mm/aaaa`.
fn hinted_order(e: &Evidence<'_>, column: usize) -> Option<DateOrder> {
    let unit = e.layout.units.get(column).map_or("", String::as_str);
    let heading = e.layout.headings.get(column).map_or("", String::as_str);
    [unit, heading].into_iter().find_map(|text| {
        let lower = text.to_lowercase();
        let at = |words: [&str; 3]| words.iter().filter_map(|w| lower.find(w)).min();
        let (day, month, year) = (at(["dd", "tt", "d/"])?, lower.find("mm")?, at(["yy", "jj", "aa"])?);
        Some(match (day < month, year < month.min(day)) {
            (_, true) => DateOrder::YearMonthDay,
            (true, false) => DateOrder::DayMonthYear,
            (false, false) => DateOrder::MonthDayYear,
        })
    })
}

fn order_question(e: &Evidence<'_>, column: usize, open: &[DateOrder], raw: RawDate, row: &Row) -> Question {
    let choices: Vec<Choice> = open
        .iter()
        .filter_map(|order| {
            let day = raw.under(*order)?;
            Some(Choice {
                setting: Setting::Form(ClockForm::of_order(*order)),
                shown: format!("{:04}-{:02}-{:02} ({})", day.year, day.month, day.day, order.word()),
            })
        })
        .collect();
    let likelier = smoothest(e, column, open);
    Question {
        topic: Topic::DateOrder,
        heading: e.layout.headings.get(column).cloned(),
        example: row.text(column),
        choices,
        likelier,
        place: Place {
            file: e.file.to_owned(),
            line: row.line,
            column: u32::try_from(column + 1).unwrap_or(0),
        },
    }
}

/// The order under which the days of the sample lie closest together, where one is clearly closer.
fn smoothest(e: &Evidence<'_>, column: usize, open: &[DateOrder]) -> Option<usize> {
    let extent = |order: DateOrder| -> i64 {
        let days: Vec<i64> = e
            .rows
            .iter()
            .filter_map(|r| {
                scan_stamp(r.cell(column))?.0.under(order).map(crate::stamp::CivilDay::days_from_epoch)
            })
            .collect();
        days.iter().max().unwrap_or(&0) - days.iter().min().unwrap_or(&0)
    };
    let extents: Vec<i64> = open.iter().map(|o| extent(*o)).collect();
    let (at, least) = extents.iter().enumerate().min_by_key(|(_, d)| **d)?;
    extents.iter().enumerate().all(|(i, d)| i == at || *d > least + 7).then_some(at)
}

fn elapsed_unit(e: &Evidence<'_>, column: usize, questions: &mut Vec<Question>) -> Option<f64> {
    match e.given.form {
        Some(ClockForm::ElapsedSeconds) => return Some(1000.0),
        Some(ClockForm::ElapsedMinutes) => return Some(60_000.0),
        Some(ClockForm::ElapsedHours) => return Some(3_600_000.0),
        _ => {}
    }
    let mut seen = heading_words(e, column);
    seen.extend(words(e.layout.units.get(column).map_or("", String::as_str)));
    for word in &seen {
        match word.as_str() {
            "s" | "sec" | "secs" | "second" | "seconds" | "sek" | "sekunden" | "segundos" | "seg" => {
                return Some(1000.0);
            }
            "min" | "mins" | "minute" | "minutes" | "minuten" | "minutos" => return Some(60_000.0),
            "h" | "hr" | "hrs" | "hour" | "hours" | "stunden" | "horas" => return Some(3_600_000.0),
            "ms" | "msec" | "milliseconds" => return Some(1.0),
            _ => {}
        }
    }
    let values = numbers(e, column);
    let last = values.last().copied().unwrap_or(0.0);
    let choice = |form: ClockForm, unit: &str| Choice {
        setting: Setting::Form(form),
        shown: format!("{last} {unit} at the last row seen"),
    };
    questions.push(Question {
        topic: Topic::ElapsedUnit,
        heading: e.layout.headings.get(column).cloned(),
        example: e.rows.iter().take(3).map(|r| r.text(column)).collect::<Vec<_>>().join(", "),
        choices: vec![
            choice(ClockForm::ElapsedSeconds, "s"),
            choice(ClockForm::ElapsedMinutes, "min"),
            choice(ClockForm::ElapsedHours, "h"),
        ],
        likelier: None,
        place: Place {
            file: e.file.to_owned(),
            line: e.layout.first_line,
            column: u32::try_from(column + 1).unwrap_or(0),
        },
    });
    None
}

fn epoch(e: &Evidence<'_>, column: usize, questions: &mut Vec<Question>) -> Option<bool> {
    match e.given.form {
        Some(ClockForm::Excel1900) => return Some(false),
        Some(ClockForm::Excel1904) => return Some(true),
        _ => {}
    }
    if let Some(flag) = e.workbook_1904 {
        return Some(flag);
    }
    let value = numbers(e, column).first().copied()?;
    let choice = |form: ClockForm, system: bool, word: &str| {
        local_from_serial(value, system).map(|ms| Choice {
            setting: Setting::Form(form),
            shown: format!("{} (days since {word})", show_local(ms)),
        })
    };
    questions.push(Question {
        topic: Topic::SpreadsheetEpoch,
        heading: e.layout.headings.get(column).cloned(),
        example: e.rows.first().map(|r| r.text(column)).unwrap_or_default(),
        choices: [
            choice(ClockForm::Excel1900, false, "1899-12-30"),
            choice(ClockForm::Excel1904, true, "1904-01-01"),
        ]
        .into_iter()
        .flatten()
        .collect(),
        likelier: Some(0),
        place: Place {
            file: e.file.to_owned(),
            line: e.layout.first_line,
            column: u32::try_from(column + 1).unwrap_or(0),
        },
    });
    None
}

fn settle_zone(
    e: &Evidence<'_>,
    plan: &mut ClockPlan,
    questions: &mut Vec<Question>,
    notes: &mut Vec<ChoiceNote>,
) -> Result<(), IngestError> {
    let offsets_in_cells =
        matches!(plan.columns, Some(ClockColumns::Unix(..))) || cells_carry_offsets(e, &plan.used);
    plan.zone_in_file = offsets_in_cells;
    let named = |name: &str, key: &str| {
        Zone::named(name).ok_or_else(|| IngestError::Mapping {
            key: key.to_owned(),
            found: name.to_owned(),
            allowed: "a zone of the zone database such as Europe/Madrid, or an offset such as +01:00"
                .to_owned(),
            place: Place::file(e.file),
        })
    };
    if let Some(name) = &e.given.zone {
        plan.zone = Some(named(name, "clock.zone")?);
        return Ok(());
    }
    if offsets_in_cells {
        return Ok(());
    }
    if let Some((zone, text)) = zone_in_file(e, &plan.used) {
        notes.push(ChoiceNote {
            what: "zone".to_owned(),
            chosen: zone.name.clone(),
            because: format!("the file says '{text}'"),
        });
        plan.zone = Some(zone);
        plan.zone_in_file = true;
        return Ok(());
    }
    if let Some(name) = &e.options.default_zone {
        plan.zone = Some(named(name, "default zone")?);
        return Ok(());
    }
    let column = plan.used.first().copied().unwrap_or(0);
    questions.push(Question {
        topic: Topic::Zone,
        heading: e.layout.headings.get(column).cloned(),
        example: e.rows.first().map(|r| r.text(column)).unwrap_or_default(),
        choices: Vec::new(),
        likelier: None,
        place: Place::line(e.file, e.layout.first_line),
    });
    Ok(())
}

fn cells_carry_offsets(e: &Evidence<'_>, used: &[usize]) -> bool {
    use crate::stamp::ZoneMark;
    let mut any = false;
    for row in e.rows {
        let clock = used.iter().filter_map(|c| {
            scan_stamp(row.cell(*c)).and_then(|(_, clock)| clock).or_else(|| parse_clock(row.cell(*c)))
        });
        for clock in clock {
            match clock.zone {
                ZoneMark::Offset(_) => any = true,
                _ => return false,
            }
        }
    }
    any
}

fn zone_in_file(e: &Evidence<'_>, used: &[usize]) -> Option<(Zone, String)> {
    for column in used {
        for text in [e.layout.headings.get(*column), e.layout.units.get(*column)].into_iter().flatten() {
            if let Some(seconds) = offset_inside(text) {
                return Some((Zone::fixed(seconds), text.clone()));
            }
        }
    }
    for (_, line) in &e.layout.preamble {
        let lower = line.to_lowercase();
        let key = ["time zone", "timezone", "utc offset", "gmt offset", "zona horaria", "zeitzone", "tz"]
            .iter()
            .find(|k| {
                lower.find(**k).is_some_and(|at| {
                    lower.get(at + k.len()..).is_some_and(|t| {
                        t.trim_start_matches(['"', ' ']).starts_with([':', '=', ',', ';', '\t', '|'])
                    })
                })
            })?;
        let at = lower.find(key)? + key.len();
        let value = line.get(at..)?.trim_matches(|c: char| !c.is_alphanumeric() && c != '+' && c != '-');
        let value = value.split([',', ';', '\t', '|', '"', ' ']).next().unwrap_or("").trim();
        if let Some(zone) = Zone::named(value).or_else(|| offset_inside(line).map(Zone::fixed)) {
            return Some((zone, line.trim().to_owned()));
        }
    }
    None
}

/// `Date Time, GMT-05:00`, `Timestamp (UTC)`.
fn offset_inside(text: &str) -> Option<i64> {
    let upper = text.to_ascii_uppercase();
    let at = upper.find("GMT").or_else(|| upper.find("UTC"))?;
    let tail: String = upper
        .get(at..)?
        .chars()
        .take_while(|c| c.is_ascii_alphanumeric() || matches!(c, '+' | '-' | ':'))
        .collect();
    fixed_offset(&tail)
}

fn settle_start(
    e: &Evidence<'_>,
    plan: &mut ClockPlan,
    questions: &mut Vec<Question>,
    notes: &mut Vec<ChoiceNote>,
) -> Result<(), IngestError> {
    let used = plan.used.first().copied().unwrap_or(0);
    let shape_of = |c: &ClockColumns| match c {
        ClockColumns::Elapsed(..) | ClockColumns::Span(_) => Some(Topic::Start),
        ClockColumns::Clock(_) => Some(Topic::FirstDay),
        _ => None,
    };
    let topic = match &plan.columns {
        Some(columns) => shape_of(columns),
        None => questions.iter().any(|q| q.topic == Topic::ElapsedUnit).then_some(Topic::Start),
    };
    let Some(topic) = topic else { return Ok(()) };
    if let Some(text) = &e.given.start {
        let ms = start_ms(text, DateOrder::YearMonthDay).ok_or_else(|| IngestError::Mapping {
            key: "clock.start".to_owned(),
            found: text.clone(),
            allowed: "2026-03-01 08:00:00".to_owned(),
            place: Place::file(e.file),
        })?;
        plan.start_local_ms = Some(ms);
        return Ok(());
    }
    if let Some((ms, line)) = start_in_preamble(e) {
        notes.push(ChoiceNote {
            what: "start".to_owned(),
            chosen: show_local(ms),
            because: format!("the file says '{line}'"),
        });
        plan.start_local_ms = Some(ms);
        return Ok(());
    }
    questions.push(Question {
        topic,
        heading: e.layout.headings.get(used).cloned(),
        example: e.rows.first().map(|r| r.text(used)).unwrap_or_default(),
        choices: Vec::new(),
        likelier: None,
        place: Place::line(e.file, e.layout.first_line),
    });
    Ok(())
}

fn start_ms(text: &str, order: DateOrder) -> Option<i64> {
    let stamp = crate::stamp::parse_stamp(text.as_bytes(), order)?;
    let clock = stamp.clock.map_or(0, |c| c.milliseconds);
    Some(stamp.day.days_from_epoch() * 86_400_000 + clock)
}

/// `Start: 2026-03-01 08:00`: taken only where the date can be read in one way.
fn start_in_preamble(e: &Evidence<'_>) -> Option<(i64, String)> {
    for (_, line) in &e.layout.preamble {
        let lower = line.to_lowercase();
        let named = ["start", "inicio", "beginn", "date", "fecha", "datum", "begin"]
            .iter()
            .any(|k| lower.contains(k));
        if !named {
            continue;
        }
        let from = line.find(|c: char| c.is_ascii_digit())?;
        let value = line.get(from..)?.trim_end_matches([',', ';', '\t', '"', '|', ' ']);
        let value = value.replace(['\t', ';'], " ");
        let Some((raw, _)) = scan_stamp(value.as_bytes()) else { continue };
        let fitting: Vec<DateOrder> =
            DateOrder::ALL.into_iter().filter(|o| raw.under(*o).is_some()).collect();
        if let [one] = fitting.as_slice() {
            return start_ms(&value, *one).map(|ms| (ms, line.trim().to_owned()));
        }
    }
    None
}

/// A 12-hour clock without AM and PM: no hour is 0 or above 12, and 12 is followed by 1.
fn settle_half_day(e: &Evidence<'_>, plan: &mut ClockPlan, questions: &mut Vec<Question>) {
    if let Some(half) = e.given.half_day {
        plan.half_day = Some(half == crate::mapping::HalfDay::Pm);
        return;
    }
    if plan.used.is_empty() || matches!(plan.columns, Some(ClockColumns::Span(_) | ClockColumns::Elapsed(..)))
    {
        return;
    }
    let clocks: Vec<(u16, bool, &Row)> = e
        .rows
        .iter()
        .filter_map(|r| {
            plan.used.iter().find_map(|c| {
                let cell = r.cell(*c);
                let clock = scan_stamp(cell).and_then(|(_, k)| k).or_else(|| parse_clock(cell))?;
                Some((clock.hour_written, clock.half_day, r))
            })
        })
        .collect();
    let twelve = !clocks.is_empty() && clocks.iter().all(|(h, half, _)| (1..=12).contains(h) && !half);
    let wrap = clocks.iter().zip(clocks.iter().skip(1)).find(|(a, b)| a.0 == 12 && b.0 == 1);
    if let (true, Some((_, (_, _, row)))) = (twelve, wrap) {
        let column = plan.used.last().copied().unwrap_or(0);
        questions.push(Question {
            topic: Topic::HalfDay,
            heading: e.layout.headings.get(column).cloned(),
            example: e.rows.first().map(|r| r.text(column)).unwrap_or_default(),
            choices: vec![
                Choice {
                    setting: Setting::HalfDay(crate::mapping::HalfDay::Am),
                    shown: "the first reading before noon".to_owned(),
                },
                Choice {
                    setting: Setting::HalfDay(crate::mapping::HalfDay::Pm),
                    shown: "the first reading after noon".to_owned(),
                },
            ],
            likelier: None,
            place: Place::line(e.file, row.line),
        });
    }
}

/// Whether a heading text is the decimal mark's doubt (kept here for the question's wording).
#[must_use]
pub fn decimal_question(file: &str, layout: &Layout, example: &str) -> Question {
    let read = |mark: DecimalMark| {
        parse_number(example.as_bytes(), mark).map_or_else(|| "(no number)".to_owned(), |v| v.to_string())
    };
    let choice = |mark: DecimalMark, word: &str| Choice {
        setting: Setting::Decimal(mark),
        shown: format!("{} (decimal {word})", read(mark)),
    };
    Question {
        topic: Topic::DecimalMark,
        heading: None,
        example: example.to_owned(),
        choices: vec![choice(DecimalMark::Point, "point"), choice(DecimalMark::Comma, "comma")],
        likelier: Some(usize::from(example.contains(','))),
        place: Place::line(file, layout.first_line),
    }
}
