//! What was seen of a file before reading it.

use fallrate_series::Role;

use crate::clock_plan::{ChoiceNote, ClockColumns};
use crate::column_plan::ColumnSeen;
use crate::mapping::{ClockForm, ColumnMapping, Mapping};
use crate::number::DecimalMark;
use crate::question::Question;
use crate::sniff::Layout;

/// Open questions, and what was seen of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// The questions.
    pub questions: Vec<Question>,
    /// What was seen.
    pub seen: Inspection,
}

/// The form of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    /// Delimited text.
    DelimitedText,
    /// One JSON object a line.
    JsonLines,
    /// XLSX workbook.
    Workbook,
}

/// What was seen of a file before reading it.
#[derive(Clone, Debug, PartialEq)]
pub struct Inspection {
    /// Form.
    pub kind: FileKind,
    /// Encoding of a text.
    pub encoding: String,
    /// Table.
    pub layout: Layout,
    /// Columns.
    pub columns: Vec<ColumnSeen>,
    /// Form of the clock, where it is settled.
    pub clock_form: Option<ClockForm>,
    /// Headings of the clock's columns.
    pub clock_columns: Vec<String>,
    /// Zone, where it is settled.
    pub zone: Option<String>,
    /// Choices made from evidence.
    pub choices: Vec<ChoiceNote>,
    /// Roles settled or proposed with enough confidence: heading, column, role, unit.
    pub channels: Vec<(String, u32, Role, &'static str)>,
}

impl Inspection {
    /// A mapping that says what was seen and settled, for a person to confirm and keep.
    #[must_use]
    pub fn proposed_mapping(&self, given: &Mapping) -> Mapping {
        let mut mapping = given.clone();
        mapping.version = 1;
        if mapping.clock.columns.is_empty() {
            mapping.clock.columns.clone_from(&self.clock_columns);
        }
        mapping.clock.form = mapping.clock.form.or(self.clock_form);
        if mapping.clock.zone.is_none() {
            mapping.clock.zone.clone_from(&self.zone);
        }
        for (heading, number, role, unit) in &self.channels {
            let proposed = ColumnMapping::with_role(heading, *number, Some(role));
            if let Some(entry) = mapping.column_entry(heading, *number) {
                if entry.role.is_none() {
                    entry.role = proposed.role;
                    entry.number = proposed.number;
                    entry.position = proposed.position;
                }
                if entry.unit.is_none() && !matches!(*unit, "" | "state") {
                    entry.unit = Some((*unit).to_owned());
                }
            }
        }
        mapping
    }
}

pub(crate) fn form_of(columns: ClockColumns) -> ClockForm {
    match columns {
        ClockColumns::Stamp(_, order) | ClockColumns::DayAndClock(_, _, order) => ClockForm::of_order(order),
        ClockColumns::Clock(_) => ClockForm::TimeOfDay,
        ClockColumns::Span(_) => ClockForm::ElapsedSpan,
        ClockColumns::Serial(_, false) => ClockForm::Excel1900,
        ClockColumns::Serial(_, true) => ClockForm::Excel1904,
        ClockColumns::Unix(_, factor) if factor > 1.0 => ClockForm::UnixSeconds,
        ClockColumns::Unix(..) => ClockForm::UnixMilliseconds,
        ClockColumns::Elapsed(_, factor) if factor >= 3e6 => ClockForm::ElapsedHours,
        ClockColumns::Elapsed(_, factor) if factor >= 6e4 => ClockForm::ElapsedMinutes,
        ClockColumns::Elapsed(..) => ClockForm::ElapsedSeconds,
    }
}

pub(crate) fn nothing_seen() -> Inspection {
    Inspection {
        kind: FileKind::Workbook,
        encoding: String::new(),
        layout: Layout {
            delimiter: 0,
            decimal: DecimalMark::Point,
            decimal_doubt: None,
            heading_line: None,
            unit_line: None,
            first_line: 0,
            width: 0,
            headings: Vec::new(),
            has_headings: false,
            units: Vec::new(),
            preamble: Vec::new(),
        },
        columns: Vec::new(),
        clock_form: None,
        clock_columns: Vec::new(),
        zone: None,
        choices: Vec::new(),
        channels: Vec::new(),
    }
}
