//! What each column measures and in which unit, and what must be asked about it.

use fallrate_series::{Instrument, Role};

use crate::clock_plan::ChoiceNote;
use crate::column_unit::settle_unit;
use crate::error::{IngestError, Place};
use crate::limits::Options;
use crate::mapping::{ColumnMapping, Mapping, role_from_word};
use crate::number::{Cell, DecimalMark, read_cell};
use crate::question::{Choice, Question, Setting, Topic};
use crate::roles::{Proposal, kind_of, propose};
use crate::sniff::Layout;
use crate::table::Row;
use crate::units_seen::{Kind, MeasureUnit, unit_in_heading, unit_word};

/// One column that is read.
#[derive(Clone, Debug)]
pub struct ColumnPlan {
    /// Index in the row, from 0.
    pub index: usize,
    /// Heading.
    pub heading: String,
    /// Name of the channel: the heading, with the column number where headings repeat.
    pub name: String,
    /// What it measures.
    pub role: Role,
    /// Kind of quantity.
    pub kind: Kind,
    /// Unit.
    pub unit: MeasureUnit,
    /// Instrument.
    pub instrument: Option<Instrument>,
    /// Numbers that mean "no sensor".
    pub codes: Vec<f64>,
    /// Texts that mean "no sensor", lower case.
    pub code_words: Vec<String>,
}

/// What was seen about one column, for a person to confirm.
#[derive(Clone, Debug, PartialEq)]
pub struct ColumnSeen {
    /// Heading.
    pub heading: String,
    /// Column, from 1.
    pub number: u32,
    /// First cells.
    pub samples: Vec<String>,
    /// Symbol of the unit found.
    pub unit: Option<&'static str>,
    /// Where the unit was found.
    pub unit_from: &'static str,
    /// What it may measure, best first.
    pub proposals: Vec<Proposal>,
    /// Column of the clock.
    pub is_clock: bool,
    /// Column of running record numbers.
    pub is_counter: bool,
}

/// Numbers loggers write for an open or broken sensor: common practice, no source. Taken as such only for temperatures
/// and humidities, where none of them can be a reading of a food dryer.
pub(crate) const CODES: [f64; 20] = [
    850.0, -127.0, -196.6, -999.0, -999.9, -9999.0, 999.0, 999.9, 9999.0, 9999.9, 99_999.0, 32_767.0,
    -32_768.0, 3276.7, -3276.8, 6553.5, 65_535.0, 1562.0, -200.0, -328.0,
];
/// The same for weights, where the positive ones may be grams.
const WEIGHT_CODES: [f64; 5] = [-999.0, -999.9, -9999.0, -32_768.0, 99_999.0];

/// What the plan is made from.
pub struct Evidence<'a> {
    /// File name.
    pub file: &'a str,
    /// Table.
    pub layout: &'a Layout,
    /// Rows of the sample.
    pub rows: &'a [Row],
    /// Mapping.
    pub mapping: &'a Mapping,
    /// Options.
    pub options: &'a Options,
    /// Columns of the clock.
    pub clock: &'a [usize],
}

/// The columns found.
#[derive(Clone, Debug, Default)]
pub struct Columns {
    /// Those that are read.
    pub read: Vec<ColumnPlan>,
    /// All, as seen.
    pub seen: Vec<ColumnSeen>,
    /// Index of a column of running record numbers.
    pub counter: Option<usize>,
}

/// Makes the plan of the columns.
///
/// # Errors
/// [`IngestError::Mapping`] where the mapping names columns that are not there; [`IngestError::NoChannel`].
pub fn plan(
    e: &Evidence<'_>,
    questions: &mut Vec<Question>,
    notes: &mut Vec<ChoiceNote>,
) -> Result<Columns, IngestError> {
    check_named(e)?;
    let mut columns = Columns::default();
    let global = global_temperature_unit(e);
    let asked_before = questions.len();
    for index in 0..e.layout.headings.len() {
        let seen = see(e, index, &mut columns);
        let wanted = !seen.is_clock && !seen.is_counter;
        columns.seen.push(seen.clone());
        if wanted && let Some(plan) = settle(e, index, &seen, global, questions, notes)? {
            columns.read.push(plan);
        }
    }
    number_probes(&mut columns.read);
    if columns.read.is_empty() && questions.len() == asked_before {
        return Err(IngestError::NoChannel {
            headings: e.layout.headings.join(", "),
            place: Place::line(e.file, e.layout.heading_line.unwrap_or(e.layout.first_line)),
        });
    }
    Ok(columns)
}

fn check_named(e: &Evidence<'_>) -> Result<(), IngestError> {
    for column in e.mapping.columns.iter().filter(|c| c.role.as_deref() != Some("ignore")) {
        let found = e.layout.headings.iter().zip(1u32..).any(|(h, n)| column.means(h, n, repeats(e, h)));
        if !found {
            return Err(IngestError::Mapping {
                key: "column.heading".to_owned(),
                found: if column.heading.is_empty() {
                    format!("#{}", column.column_number.unwrap_or(0))
                } else {
                    column.heading.clone()
                },
                allowed: e.layout.headings.join(", "),
                place: Place::line(e.file, e.layout.heading_line.unwrap_or(0)),
            });
        }
    }
    Ok(())
}

fn repeats(e: &Evidence<'_>, heading: &str) -> bool {
    let wanted = heading.trim().to_lowercase();
    e.layout.headings.iter().filter(|h| h.trim().to_lowercase() == wanted).count() > 1
}

fn number_of(index: usize) -> u32 {
    u32::try_from(index + 1).unwrap_or(u32::MAX)
}

fn entry<'a>(e: &'a Evidence<'_>, index: usize) -> Option<&'a ColumnMapping> {
    let heading = e.layout.headings.get(index)?;
    let repeated = repeats(e, heading);
    e.mapping.columns.iter().find(|c| c.means(heading, number_of(index), repeated))
}

/// A unit all temperatures share, said before the table ("Units: F").
fn global_temperature_unit(e: &Evidence<'_>) -> Option<MeasureUnit> {
    for (_, line) in &e.layout.preamble {
        let lower = line.to_lowercase();
        let named = [
            "temperature unit",
            "temp unit",
            "temp. unit",
            "units",
            "unit",
            "unidades",
            "unidad",
            "einheit",
            "scale",
        ];
        let Some(at) = named.iter().find_map(|k| lower.find(k).map(|i| i + k.len())) else { continue };
        let tail = line.get(at..).unwrap_or("");
        let parts = tail.split([':', '=', ',', ';', '\t', '|', ' ', '"']).filter(|p| !p.trim().is_empty());
        let found: Vec<MeasureUnit> =
            parts.filter_map(unit_word).filter(|u| u.kind == Kind::Temperature).collect();
        if let [one] = found.as_slice() {
            return Some(*one);
        }
    }
    None
}

fn see(e: &Evidence<'_>, index: usize, columns: &mut Columns) -> ColumnSeen {
    let heading = e.layout.headings.get(index).cloned().unwrap_or_default();
    let is_clock = e.clock.contains(&index);
    let is_counter = !is_clock && columns.counter.is_none() && is_counter(e, index, &heading);
    if is_counter {
        columns.counter = Some(index);
    }
    let in_heading = unit_in_heading(&heading);
    let in_row = e.layout.units.get(index).and_then(|t| unit_word(t));
    let in_cells = unit_of_cells(e, index);
    let (unit, unit_from) = match (in_heading.unit, in_row, in_cells) {
        (Some(u), ..) => (Some(u), "heading"),
        (None, Some(u), _) => (Some(u), "unit row"),
        (None, None, Some(u)) => (Some(u), "cells"),
        _ => (None, ""),
    };
    ColumnSeen {
        proposals: propose(&in_heading.rest, unit.map(|u| u.kind)),
        heading,
        number: number_of(index),
        samples: e.rows.iter().take(3).map(|r| r.text(index)).collect(),
        unit: unit.map(|u| u.symbol),
        unit_from,
        is_clock,
        is_counter,
    }
}

fn is_counter(e: &Evidence<'_>, index: usize, heading: &str) -> bool {
    let words = crate::roles::words(heading);
    let named = heading.trim().starts_with('#')
        || words.iter().any(|w| {
            matches!(
                w.as_str(),
                "record" | "rec" | "no" | "nr" | "num" | "index" | "idx" | "scan" | "sample" | "row"
            )
        });
    let values: Vec<f64> =
        e.rows.iter().filter_map(|r| crate::number::parse_number(r.cell(index), e.layout.decimal)).collect();
    let one_up =
        values.iter().zip(values.iter().skip(1)).filter(|(a, b)| (*b - *a - 1.0).abs() < 1e-9).count();
    named && values.len() >= 3 && one_up * 5 >= (values.len() - 1) * 4
}

/// The unit that most cells of the sample carry.
pub(crate) fn unit_of_cells(e: &Evidence<'_>, index: usize) -> Option<MeasureUnit> {
    let mut found: Option<MeasureUnit> = None;
    for row in e.rows {
        match read_cell(row.cell(index), e.layout.decimal) {
            Cell::WithUnit(_, text) => found = found.or(unit_word(text)),
            Cell::Number(_) => return None,
            _ => {}
        }
    }
    found
}

fn settle(
    e: &Evidence<'_>,
    index: usize,
    seen: &ColumnSeen,
    global: Option<MeasureUnit>,
    questions: &mut Vec<Question>,
    notes: &mut Vec<ChoiceNote>,
) -> Result<Option<ColumnPlan>, IngestError> {
    let entry = entry(e, index);
    let role = match settle_role(e, index, seen, entry, questions, notes) {
        Some(role) => role,
        None => return Ok(None),
    };
    let kind = kind_of(&role);
    let Some(unit) = settle_unit(e, index, seen, entry, &role, global, questions, notes) else {
        return Ok(None);
    };
    let place = Place::line(e.file, e.layout.heading_line.unwrap_or(0));
    let instrument = match entry.and_then(|c| c.instrument.as_ref()) {
        Some(instrument) => Some(instrument.instrument(&role, &place)?),
        None => None,
    };
    let mut codes: Vec<f64> = match kind {
        Kind::Temperature | Kind::Share => CODES.to_vec(),
        Kind::Mass => WEIGHT_CODES.to_vec(),
        _ => Vec::new(),
    };
    codes.extend(
        e.mapping
            .unplugged
            .iter()
            .filter_map(|t| crate::number::parse_number(t.trim().as_bytes(), DecimalMark::Point)),
    );
    let heading = seen.heading.clone();
    let name =
        if repeats(e, &heading) { format!("{heading} (column {})", seen.number) } else { heading.clone() };
    Ok(Some(ColumnPlan {
        index,
        name,
        heading,
        role,
        kind,
        unit,
        instrument,
        codes,
        code_words: e.mapping.unplugged.iter().map(|t| t.trim().to_lowercase()).collect(),
    }))
}

fn settle_role(
    e: &Evidence<'_>,
    index: usize,
    seen: &ColumnSeen,
    entry: Option<&ColumnMapping>,
    questions: &mut Vec<Question>,
    notes: &mut Vec<ChoiceNote>,
) -> Option<Role> {
    if let Some((word, column)) = entry.and_then(|c| c.role.as_ref().map(|r| (r, c))) {
        return role_from_word(word, column.number.unwrap_or(0), &column.position, &seen.heading).flatten();
    }
    if e.mapping.ignore_other_columns {
        return None;
    }
    let has_numbers = e
        .rows
        .iter()
        .any(|r| matches!(read_cell(r.cell(index), e.layout.decimal), Cell::Number(_) | Cell::WithUnit(..)));
    let best = seen.proposals.first();
    let state = best
        .is_some_and(|p| p.role.as_ref().is_some_and(|r| matches!(kind_of(r), Kind::State | Kind::Share)));
    let Some(best) = best.filter(|_| has_numbers || state) else {
        notes.push(left_out(
            &seen.heading,
            if has_numbers { "its heading says nothing known" } else { "it holds no numbers" },
        ));
        return None;
    };
    if best.confidence >= e.options.accept_confidence {
        match &best.role {
            Some(role) => notes.push(ChoiceNote {
                what: format!("role of '{}'", seen.heading),
                chosen: crate::mapping::word_of_role(Some(role)).to_owned(),
                because: format!("its heading has '{}'", best.because),
            }),
            None => notes.push(left_out(&seen.heading, &format!("its heading has '{}'", best.because))),
        }
        return best.role.clone();
    }
    questions.push(role_question(e, index, seen));
    None
}

fn left_out(heading: &str, because: &str) -> ChoiceNote {
    ChoiceNote {
        what: format!("column '{heading}'"),
        chosen: "left out".to_owned(),
        because: because.to_owned(),
    }
}

fn role_question(e: &Evidence<'_>, index: usize, seen: &ColumnSeen) -> Question {
    let setting = |role: Option<Role>| Setting::Role {
        heading: seen.heading.clone(),
        column_number: seen.number,
        role,
    };
    let mut choices: Vec<Choice> = seen
        .proposals
        .iter()
        .map(|p| Choice {
            setting: setting(p.role.clone()),
            shown: crate::mapping::word_of_role(p.role.as_ref()).to_owned(),
        })
        .collect();
    if seen.proposals.iter().all(|p| p.role.is_some()) {
        choices.push(Choice { setting: setting(None), shown: "ignore".to_owned() });
    }
    Question {
        topic: Topic::Role,
        heading: Some(seen.heading.clone()),
        example: e.rows.first().map(|r| r.text(index)).unwrap_or_default(),
        choices,
        likelier: None,
        place: Place {
            file: e.file.to_owned(),
            line: e.layout.heading_line.unwrap_or(e.layout.first_line),
            column: seen.number,
        },
    }
}

/// Probes and trays without a number get the next free one, in the order of the columns.
fn number_probes(columns: &mut [ColumnPlan]) {
    fn slot(role: &mut Role) -> Option<(u8, &mut u16)> {
        match role {
            Role::CoreProbe { number, .. } => Some((0, number)),
            Role::SurfaceProbe { number, .. } => Some((1, number)),
            Role::TrayWeight { tray } => Some((2, tray)),
            _ => None,
        }
    }
    let mut used: Vec<(u8, u16)> = columns
        .iter_mut()
        .filter_map(|c| slot(&mut c.role).map(|(k, n)| (k, *n)))
        .filter(|(_, n)| *n > 0)
        .collect();
    for column in columns.iter_mut() {
        if let Some((kind, number)) = slot(&mut column.role)
            && *number == 0
        {
            let free = (1..=u16::MAX).find(|n| !used.contains(&(kind, *n))).unwrap_or(u16::MAX);
            *number = free;
            used.push((kind, free));
        }
    }
}
