//! The unit of a column: said by the file or the mapping, or asked.

use fallrate_series::Role;

use crate::clock_plan::ChoiceNote;
use crate::column_plan::{CODES, ColumnSeen, Evidence, unit_of_cells};
use crate::error::Place;
use crate::mapping::ColumnMapping;
use crate::question::{Choice, Question, Setting, Topic};
use crate::roles::kind_of;
use crate::units_seen::{Kind, MeasureUnit, unit_in_heading, unit_named, unit_word, units_of};

#[allow(clippy::too_many_arguments)]
pub(crate) fn settle_unit(
    e: &Evidence<'_>,
    index: usize,
    seen: &ColumnSeen,
    entry: Option<&ColumnMapping>,
    role: &Role,
    global: Option<MeasureUnit>,
    questions: &mut Vec<Question>,
    notes: &mut Vec<ChoiceNote>,
) -> Option<MeasureUnit> {
    let kind = kind_of(role);
    if let Some(unit) = entry.and_then(|c| c.unit.as_ref()).and_then(|u| unit_named(kind, u)) {
        return Some(unit);
    }
    match kind {
        Kind::State => return Some(MeasureUnit::STATE),
        Kind::Other => return Some(MeasureUnit::AS_WRITTEN),
        _ => {}
    }
    let in_heading = unit_in_heading(&seen.heading).unit.filter(|u| u.kind == kind);
    let in_row = e.layout.units.get(index).and_then(|t| unit_word(t)).filter(|u| u.kind == kind);
    let in_cells = unit_of_cells(e, index).filter(|u| u.kind == kind);
    let said: Vec<MeasureUnit> = [in_heading, in_row, in_cells].into_iter().flatten().collect();
    if let Some(first) = said.first() {
        if said.iter().all(|u| u == first) {
            return Some(*first);
        }
        questions.push(unit_question(e, index, seen, &said, None));
        return None;
    }
    if let Some(unit) = global.filter(|_| kind == Kind::Temperature) {
        notes.push(ChoiceNote {
            what: format!("unit of '{}'", seen.heading),
            chosen: unit.symbol.to_owned(),
            because: "the lines before the table say so".to_owned(),
        });
        return Some(unit);
    }
    if kind == Kind::Share
        && let Some(unit) = only_percent(e, index)
    {
        notes.push(ChoiceNote {
            what: format!("unit of '{}'", seen.heading),
            chosen: unit.symbol.to_owned(),
            because: "values above 1 cannot be fractions".to_owned(),
        });
        return Some(unit);
    }
    if kind == Kind::Share && words_only(e, index) {
        return Some(MeasureUnit { symbol: "fraction", kind, factor: 1.0, offset: 0.0 });
    }
    let likely = likelier(e, index, kind);
    questions.push(unit_question(e, index, seen, &candidates(kind), likely));
    None
}

pub(crate) fn candidates(kind: Kind) -> Vec<MeasureUnit> {
    let wanted: &[&str] = match kind {
        Kind::Temperature => &["degC", "degF"],
        Kind::Share => &["%", "fraction"],
        Kind::Mass => &["kg", "g", "lb", "oz"],
        Kind::Power => &["W", "kW"],
        Kind::Pressure => &["Pa", "hPa", "kPa", "psi"],
        Kind::State | Kind::Other => &[],
    };
    units_of(kind).into_iter().filter(|u| wanted.contains(&u.symbol)).collect()
}

pub(crate) fn values<'a>(e: &'a Evidence<'_>, index: usize) -> impl Iterator<Item = f64> + 'a {
    let ordinary = |v: &f64| !CODES.contains(v);
    e.rows
        .iter()
        .filter_map(move |r| crate::number::parse_number(r.cell(index), e.layout.decimal))
        .filter(ordinary)
}

pub(crate) fn only_percent(e: &Evidence<'_>, index: usize) -> Option<MeasureUnit> {
    values(e, index).any(|v| v > 1.5).then(|| unit_word("%")).flatten()
}

pub(crate) fn words_only(e: &Evidence<'_>, index: usize) -> bool {
    values(e, index).next().is_none()
}

/// For showing the likelier unit first: temperatures that would be above 110 degC are more often degF, those below 32
/// more often degC. Never taken without an answer.
pub(crate) fn likelier(e: &Evidence<'_>, index: usize, kind: Kind) -> Option<&'static str> {
    let (low, high) = values(e, index).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
    match kind {
        Kind::Temperature if high > 110.0 => Some("degF"),
        Kind::Temperature if low < 32.0 => Some("degC"),
        Kind::Share => Some("fraction"),
        _ => None,
    }
}

pub(crate) fn unit_question(
    e: &Evidence<'_>,
    index: usize,
    seen: &ColumnSeen,
    units: &[MeasureUnit],
    likely: Option<&str>,
) -> Question {
    let example_row =
        e.rows.iter().find(|r| crate::number::parse_number(r.cell(index), e.layout.decimal).is_some());
    let value = example_row.and_then(|r| crate::number::parse_number(r.cell(index), e.layout.decimal));
    let choices = units
        .iter()
        .map(|u| Choice {
            setting: Setting::Unit {
                heading: seen.heading.clone(),
                column_number: seen.number,
                unit: u.symbol.to_owned(),
            },
            shown: shown(u, value),
        })
        .collect();
    Question {
        topic: Topic::Unit,
        heading: Some(seen.heading.clone()),
        example: example_row.map(|r| r.text(index)).unwrap_or_default(),
        choices,
        likelier: likely.and_then(|s| units.iter().position(|u| u.symbol == s)),
        place: Place {
            file: e.file.to_owned(),
            line: example_row.map_or(e.layout.first_line, |r| r.line),
            column: seen.number,
        },
    }
}

/// `71 degC (159.8 degF)` or `71 degF (21.7 degC)`: the value under the unit, and in the other one.
pub(crate) fn shown(unit: &MeasureUnit, value: Option<f64>) -> String {
    let Some(v) = value else { return unit.symbol.to_owned() };
    match unit.symbol {
        "degC" => format!("{v} degC ({:.1} degF)", v * 1.8 + 32.0),
        "degF" => format!("{v} degF ({:.1} degC)", unit.base_from(v)),
        "fraction" => format!("{v} ({:.1} %)", v * 100.0),
        symbol => format!("{v} {symbol}"),
    }
}
