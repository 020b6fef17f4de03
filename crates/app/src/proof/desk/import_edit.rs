//! What a person confirms about the columns and the clock of a file, put into its mapping.

use fallrate_ingest::{InstrumentMapping, Mapping, ROLE_WORDS, role_from_word, word_of_role};
use fallrate_series::CalendarDate;

use super::import::Look;
use crate::AppError;
use crate::proof::questions::NumberedAnswer;
use crate::proof::words;
use crate::words::Reader;

/// What was answered and confirmed in one go.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Edit {
    /// Answers to the questions, by their numbers.
    pub answers: Vec<NumberedAnswer>,
    /// Columns as confirmed.
    pub columns: Vec<ColumnEdit>,
    /// The clock as confirmed.
    pub clock: Option<ClockEdit>,
    /// Name under which the mapping is kept for the next file of the kind; empty keeps none.
    pub title: String,
}

/// A column as confirmed; all texts as typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ColumnEdit {
    /// Heading.
    pub heading: String,
    /// Column, from 1.
    pub column: u32,
    /// Word of what it measures; "ignore" leaves it out.
    pub role: String,
    /// Number of the probe or tray.
    pub number: String,
    /// Where a probe sat.
    pub position: String,
    /// Unit.
    pub unit: String,
    /// The plant's name of the instrument.
    pub instrument: String,
    /// Tolerance with its unit.
    pub tolerance: String,
    /// Lowest reading with its unit.
    pub low: String,
    /// Highest reading with its unit.
    pub high: String,
    /// Day of the last calibration.
    pub calibrated_on: String,
    /// Last day on which it holds.
    pub due: String,
    /// Certificate or check record.
    pub certificate: String,
}

/// The clock as confirmed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ClockEdit {
    /// Time zone.
    pub zone: String,
    /// Seconds to add to the logger's clock.
    pub offset_s: String,
    /// How well that is known, s either way.
    pub within_s: String,
    /// Who says so.
    pub by: String,
    /// Compared with what, when.
    pub with: String,
}

fn wrong(field: &str, text: &str, allowed: &str) -> AppError {
    AppError::NotAValue { field: field.to_owned(), why: format!("'{text}'; allowed: {allowed}") }
}

fn day(field: &str, text: &str) -> Result<Option<CalendarDate>, AppError> {
    match text.trim() {
        "" => Ok(None),
        t => CalendarDate::parse(t).map(Some).map_err(|_| wrong(field, t, "a day as '2026-03-13'")),
    }
}

fn seconds(field: &str, text: &str) -> Result<Option<f64>, AppError> {
    let text = text.trim().trim_end_matches('s').trim().replace(',', ".");
    match text.as_str() {
        "" => Ok(None),
        t => {
            let number = t.parse::<f64>().ok().filter(|n| n.is_finite());
            number.map(Some).ok_or_else(|| wrong(field, t, "seconds, as '-40' or '5'"))
        }
    }
}

/// Puts what was confirmed into a mapping.
pub(super) fn apply(mapping: &mut Mapping, edit: &Edit) -> Result<(), AppError> {
    if !edit.title.trim().is_empty() {
        edit.title.trim().clone_into(&mut mapping.name);
    }
    if let Some(c) = &edit.clock {
        let filled = |t: &str| (!t.trim().is_empty()).then(|| t.trim().to_owned());
        let clock = &mut mapping.clock;
        clock.zone = filled(&c.zone).or(clock.zone.take());
        clock.offset_seconds = seconds("offset", &c.offset_s)?.unwrap_or(0.0);
        clock.uncertainty_seconds = seconds("within", &c.within_s)?;
        c.by.trim().clone_into(&mut clock.declared_by);
        c.with.trim().clone_into(&mut clock.compared_with);
    }
    edit.columns.iter().try_for_each(|c| column(mapping, c))
}

fn column(mapping: &mut Mapping, c: &ColumnEdit) -> Result<(), AppError> {
    let filled = |t: &str| (!t.trim().is_empty()).then(|| t.trim().to_owned());
    let number = match c.number.trim() {
        "" => None,
        t => Some(t.parse::<u16>().map_err(|_| wrong("number", t, "a whole number"))?),
    };
    let instrument = InstrumentMapping {
        id: c.instrument.trim().to_owned(),
        description: String::new(),
        tolerance: filled(&c.tolerance),
        low: filled(&c.low),
        high: filled(&c.high),
        calibrated_on: day("calibrated_on", &c.calibrated_on)?,
        calibration_due: day("due", &c.due)?,
        calibration_record: c.certificate.trim().to_owned(),
    };
    let Some(entry) = mapping.column_entry(&c.heading, c.column) else { return Ok(()) };
    if let Some(role) = filled(&c.role) {
        entry.role = Some(role);
        entry.number = number;
        c.position.trim().clone_into(&mut entry.position);
    }
    if let Some(unit) = filled(&c.unit) {
        entry.unit = Some(unit);
    }
    let told = entry.instrument.as_ref().map_or_else(String::new, |i| i.description.clone());
    let instrument = InstrumentMapping { description: told, ..instrument };
    entry.instrument = (instrument != InstrumentMapping::default()).then_some(instrument);
    Ok(())
}

/// A column as it is understood, with how sure that is, and as it is confirmed so far.
#[derive(Clone, Debug, PartialEq)]
pub struct ChannelSeen {
    /// As confirmed so far.
    pub edit: ColumnEdit,
    /// First cells.
    pub samples: Vec<String>,
    /// What it is taken for, in words.
    pub what: String,
    /// How sure, 0 to 1; `None` where the mapping says it.
    pub confidence: Option<f64>,
    /// The words that speak for it.
    pub because: String,
    /// Where the unit was found; empty where nowhere.
    pub unit_from: String,
    /// Holds the clock or running numbers: nothing to confirm.
    pub is_clock: bool,
}

/// The columns of a file as they are understood.
#[must_use]
pub fn channels_seen(look: &Look, r: &Reader) -> Vec<ChannelSeen> {
    let Some(open) = &look.open else { return Vec::new() };
    let seen = &open.asked.seen;
    let proposed = seen.proposed_mapping(&look.mapping);
    let mut out = Vec::new();
    for c in &seen.columns {
        let given =
            look.mapping.columns.iter().any(|m| m.means(&c.heading, c.number, true) && m.role.is_some());
        let entry = proposed.columns.iter().find(|m| m.means(&c.heading, c.number, true));
        let first = c.proposals.first();
        let role = entry.and_then(|e| e.role.clone()).or_else(|| {
            first.filter(|_| !c.is_clock && !c.is_counter).map(|p| word_of_role(p.role.as_ref()).to_owned())
        });
        let role = role.unwrap_or_else(|| "ignore".to_owned());
        let instrument = entry.and_then(|e| e.instrument.clone()).unwrap_or_default();
        let day = |d: Option<CalendarDate>| d.map_or_else(String::new, |d| d.to_string());
        out.push(ChannelSeen {
            what: if c.is_clock { r.text("seen-clock") } else { role_name(r, &role) },
            confidence: if given { None } else { first.map(|p| p.confidence) },
            because: first.filter(|_| !given).map_or_else(String::new, |p| p.because.clone()),
            unit_from: c.unit_from.to_owned(),
            is_clock: c.is_clock || c.is_counter,
            samples: c.samples.clone(),
            edit: ColumnEdit {
                heading: c.heading.clone(),
                column: c.number,
                role,
                number: entry.and_then(|e| e.number).map_or_else(String::new, |n| n.to_string()),
                position: entry.map_or_else(String::new, |e| e.position.clone()),
                unit: entry
                    .and_then(|e| e.unit.clone())
                    .or_else(|| c.unit.map(str::to_owned))
                    .unwrap_or_default(),
                instrument: instrument.id,
                tolerance: instrument.tolerance.unwrap_or_default(),
                low: instrument.low.unwrap_or_default(),
                high: instrument.high.unwrap_or_default(),
                calibrated_on: day(instrument.calibrated_on),
                due: day(instrument.calibration_due),
                certificate: instrument.calibration_record,
            },
        });
    }
    out
}

/// What a role word means, in the reader's words.
#[must_use]
pub fn role_name(r: &Reader, word: &str) -> String {
    let key = match word {
        "core" => "desk-role-core",
        "surface" => "desk-role-surface",
        "tray" => "desk-role-tray",
        "other" => "desk-role-other",
        "ignore" => "desk-role-ignore",
        word => {
            let role = role_from_word(word, 1, "", "").flatten();
            return role.map_or_else(|| word.to_owned(), |role| words::role(r, &role));
        }
    };
    r.text(key)
}

impl ColumnEdit {
    /// The words a column's measure is chosen from.
    pub const ROLES: [&'static str; 17] = ROLE_WORDS;
}
