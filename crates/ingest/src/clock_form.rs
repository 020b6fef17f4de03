//! The form of the clock: order of the date's numbers, unit of a count, first day of a spreadsheet's count.

use crate::clock_plan::{ChoiceNote, ClockPlan, Evidence, heading_words, numbers};
use crate::error::Place;
use crate::mapping::ClockForm;
use crate::number::{DecimalMark, parse_number};
use crate::question::{Choice, Question, Setting, Topic};
use crate::roles::words;
use crate::sniff::Layout;
use crate::stamp::{DateOrder, RawDate, local_from_serial, scan_stamp};
use crate::table::Row;
use crate::zone::show_local;

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

pub(crate) fn date_order(
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
pub(crate) fn hinted_order(e: &Evidence<'_>, column: usize) -> Option<DateOrder> {
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

pub(crate) fn order_question(
    e: &Evidence<'_>,
    column: usize,
    open: &[DateOrder],
    raw: RawDate,
    row: &Row,
) -> Question {
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
pub(crate) fn smoothest(e: &Evidence<'_>, column: usize, open: &[DateOrder]) -> Option<usize> {
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

pub(crate) fn elapsed_unit(e: &Evidence<'_>, column: usize, questions: &mut Vec<Question>) -> Option<f64> {
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

pub(crate) fn epoch(e: &Evidence<'_>, column: usize, questions: &mut Vec<Question>) -> Option<bool> {
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
