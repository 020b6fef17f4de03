//! From a cell to a value in the base unit, with its quality.

use fallrate_series::{DiagnosticKind, ExcludedReason, Quality, Role};

use crate::column_plan::ColumnPlan;
use crate::error::shorten;
use crate::limits::CheckLimits;
use crate::number::{Cell, DecimalMark, read_cell};
use crate::units_seen::{Kind, unit_word};

/// What a cell gave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CellValue {
    /// The cell was empty.
    Empty,
    /// The cell held something that is no reading (reported).
    Unreadable,
    /// A value in the base unit.
    Reading(f64, Quality),
}

impl CellValue {
    /// The value, where it counts.
    #[must_use]
    pub fn counting(self) -> Option<f64> {
        match self {
            Self::Reading(v, q) if q.counts() => Some(v),
            _ => None,
        }
    }
}

/// Temperatures outside of this, degC, are no readings of a dryer where the instrument's range is unknown: tool rule.
const THERMOMETER_RANGE_C: (f64, f64) = (-90.0, 450.0);

/// A reader of one column's cells.
#[derive(Clone, Debug)]
pub struct ValueReader {
    mark: DecimalMark,
    kind: Kind,
    is_rh: bool,
    factor: f64,
    offset: f64,
    codes: Vec<f64>,
    code_words: Vec<String>,
    least_code: f64,
    range: (f64, f64),
    rh_excess: f64,
}

impl ValueReader {
    /// Makes the reader of a column.
    #[must_use]
    pub fn new(plan: &ColumnPlan, mark: DecimalMark, checks: &CheckLimits) -> Self {
        let is_rh = matches!(plan.role, Role::RelativeHumidity | Role::RoomRelativeHumidity);
        let given = plan.instrument.as_ref().and_then(|i| i.range);
        let natural = match plan.kind {
            Kind::Temperature => THERMOMETER_RANGE_C,
            Kind::Share if is_rh => (0.0, f64::MAX),
            Kind::Share => (0.0, 1.0),
            Kind::Mass | Kind::Pressure => (0.0, f64::MAX),
            _ => (f64::MIN, f64::MAX),
        };
        let tolerance = plan.instrument.as_ref().and_then(|i| i.tolerance);
        Self {
            mark,
            kind: plan.kind,
            is_rh,
            factor: plan.unit.factor,
            offset: plan.unit.offset,
            least_code: plan.codes.iter().fold(f64::MAX, |m, c| m.min(c.abs())),
            codes: plan.codes.clone(),
            code_words: plan.code_words.clone(),
            range: given.unwrap_or(natural),
            rh_excess: tolerance.unwrap_or(checks.rh_above_100),
        }
    }

    /// Judges a value that is already in the base unit.
    pub fn judge(&self, base: f64, trouble: &mut Option<DiagnosticKind>) -> CellValue {
        self.number(base, base, trouble)
    }

    /// Reads a cell; what was wrong goes to `trouble`.
    pub fn read(&self, cell: &[u8], trouble: &mut Option<DiagnosticKind>) -> CellValue {
        match read_cell(cell, self.mark) {
            Cell::Number(v) if self.kind == Kind::State => self.state_number(v, trouble),
            Cell::Number(v) => self.number(v, v * self.factor + self.offset, trouble),
            Cell::Empty if self.code_words.is_empty() => CellValue::Empty,
            other => self.rare(other, cell, trouble),
        }
    }

    fn rare(&self, found: Cell<'_>, cell: &[u8], trouble: &mut Option<DiagnosticKind>) -> CellValue {
        let text = String::from_utf8_lossy(cell).trim().to_owned();
        if self.code_words.contains(&text.to_lowercase()) && !text.is_empty() {
            *trouble = Some(DiagnosticKind::FaultCode { text: shorten(&text) });
            return CellValue::Unreadable;
        }
        if matches!(self.kind, Kind::State | Kind::Share)
            && !self.is_rh
            && let Some(v) = state_word(&text)
        {
            return CellValue::Reading(v, Quality::Valid);
        }
        match found {
            Cell::Empty => CellValue::Empty,
            Cell::WithUnit(v, unit) => match unit_word(unit).filter(|u| u.kind == self.kind) {
                Some(u) => self.number(v, u.base_from(v), trouble),
                None => unreadable(&text, "a unit of the column", trouble),
            },
            Cell::Fault(_) => {
                *trouble = Some(DiagnosticKind::FaultCode { text: shorten(&text) });
                CellValue::Unreadable
            }
            Cell::Beyond(_) => unreadable(&text, "a number within the instrument's range", trouble),
            Cell::Text(_) | Cell::Number(_) => unreadable(&text, "a number", trouble),
        }
    }

    #[allow(clippy::float_cmp)]
    fn number(&self, raw: f64, base: f64, trouble: &mut Option<DiagnosticKind>) -> CellValue {
        if raw.abs() >= self.least_code && self.codes.contains(&raw) {
            *trouble = Some(DiagnosticKind::FaultCode { text: raw.to_string() });
            return CellValue::Reading(base, Quality::Excluded(ExcludedReason::FaultCode));
        }
        let (low, high) = self.range;
        if base < low || base > high {
            *trouble = Some(DiagnosticKind::OutOfInstrumentRange { value: base, low, high });
            let impossible = matches!(self.kind, Kind::Mass | Kind::Share) && base < 0.0
                || self.kind == Kind::Temperature && base < -273.15;
            let reason = if impossible {
                ExcludedReason::PhysicallyImpossible
            } else {
                ExcludedReason::OutOfInstrumentRange
            };
            return CellValue::Reading(base, Quality::Excluded(reason));
        }
        if self.is_rh && base > 1.0 {
            *trouble = Some(DiagnosticKind::RelativeHumidityAbove100 { value: base });
            if base > 1.0 + self.rh_excess {
                return CellValue::Reading(base, Quality::Excluded(ExcludedReason::RelativeHumidityAbove100));
            }
        }
        CellValue::Reading(base, Quality::Valid)
    }

    #[allow(clippy::float_cmp)]
    fn state_number(&self, v: f64, trouble: &mut Option<DiagnosticKind>) -> CellValue {
        if v == 0.0 || v == 1.0 {
            CellValue::Reading(v, Quality::Valid)
        } else {
            unreadable(&v.to_string(), "0, 1 or a word such as on, off, open, shut", trouble)
        }
    }
}

fn unreadable(text: &str, expected: &str, trouble: &mut Option<DiagnosticKind>) -> CellValue {
    *trouble = Some(DiagnosticKind::UnreadableCell { text: shorten(text), expected: expected.to_owned() });
    CellValue::Unreadable
}

/// 0 or 1 of a word for a state.
#[must_use]
pub fn state_word(text: &str) -> Option<f64> {
    match text.trim().to_lowercase().as_str() {
        "on" | "open" | "opened" | "true" | "yes" | "run" | "running" | "abierto" | "abierta"
        | "encendido" | "si" | "sí" | "ein" | "an" | "auf" | "offen" | "ja" => Some(1.0),
        "off" | "shut" | "closed" | "close" | "false" | "no" | "stop" | "stopped" | "cerrado" | "cerrada"
        | "apagado" | "aus" | "zu" | "geschlossen" | "nein" => Some(0.0),
        _ => None,
    }
}
