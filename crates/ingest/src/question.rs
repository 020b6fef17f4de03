//! What can be read in two ways is asked, with every reading shown.

use fallrate_series::Role;

use crate::error::Place;
use crate::mapping::{ClockForm, ColumnMapping, Fold, HalfDay, Mapping, Skipped};
use crate::number::DecimalMark;

/// What a question is about.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Topic {
    /// Unit of a column.
    Unit,
    /// What a column measures.
    Role,
    /// Order of the date's numbers.
    DateOrder,
    /// Which day a spreadsheet counts from.
    SpreadsheetEpoch,
    /// Mark before decimals.
    DecimalMark,
    /// Zone of the clock; any zone name or offset may be given.
    Zone,
    /// Start of an elapsed column; a date and a clock time are needed.
    Start,
    /// Day of clock times without a date.
    FirstDay,
    /// Unit of an elapsed column.
    ElapsedUnit,
    /// Which pass of the repeated hour.
    RepeatedHour,
    /// Clock times that the zone skips.
    SkippedHour,
    /// Half of the day of a 12-hour clock.
    HalfDay,
    /// Sheet of a workbook.
    Sheet,
}

/// What an answer puts into the mapping.
#[derive(Clone, Debug, PartialEq)]
pub enum Setting {
    /// Unit of a column.
    Unit {
        /// Heading.
        heading: String,
        /// Column, from 1.
        column_number: u32,
        /// Unit.
        unit: String,
    },
    /// Role of a column; `None` leaves it out.
    Role {
        /// Heading.
        heading: String,
        /// Column, from 1.
        column_number: u32,
        /// Role.
        role: Option<Role>,
    },
    /// Form of the clock.
    Form(ClockForm),
    /// Decimal mark.
    Decimal(DecimalMark),
    /// Zone.
    Zone(String),
    /// Start or first day.
    Start(String),
    /// Pass of the repeated hour.
    Fold(Fold),
    /// Rows in the skipped hour.
    Skipped(Skipped),
    /// Half of the day.
    HalfDay(HalfDay),
    /// Sheet.
    Sheet(String),
}

/// One reading of what can be read in several ways.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// What the answer sets.
    pub setting: Setting,
    /// What a value of the file becomes under it.
    pub shown: String,
}

/// Something that must be answered before the file is read.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// About what.
    pub topic: Topic,
    /// Heading of the column, where it is about one.
    pub heading: Option<String>,
    /// Text of the file it is about.
    pub example: String,
    /// The readings. Empty where the answer is free ([`Topic::Zone`], [`Topic::Start`], [`Topic::FirstDay`]).
    pub choices: Vec<Choice>,
    /// The likelier choice, for showing it first; never taken without an answer.
    pub likelier: Option<usize>,
    /// Where.
    pub place: Place,
}

impl std::fmt::Display for Question {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let what = match self.topic {
            Topic::Unit => "unit",
            Topic::Role => "what it measures",
            Topic::DateOrder => "order of day and month",
            Topic::SpreadsheetEpoch => "first day of the spreadsheet's count",
            Topic::DecimalMark => "decimal mark",
            Topic::Zone => "time zone",
            Topic::Start => "date and clock time of the start",
            Topic::FirstDay => "date of the first reading",
            Topic::ElapsedUnit => "unit of the elapsed count",
            Topic::RepeatedHour => "pass of the repeated hour",
            Topic::SkippedHour => "clock times the zone skips",
            Topic::HalfDay => "half of the day",
            Topic::Sheet => "sheet",
        };
        write!(f, "{what}")?;
        if let Some(heading) = &self.heading {
            write!(f, " of '{heading}'")?;
        }
        write!(f, ": '{}'", self.example)?;
        for (n, choice) in self.choices.iter().enumerate() {
            write!(f, "{}{}", if n == 0 { " is either " } else { " or " }, choice.shown)?;
        }
        write!(f, "; at {}", self.place)
    }
}

impl Mapping {
    /// Puts an answer into the mapping.
    pub fn apply(&mut self, setting: &Setting) {
        match setting {
            Setting::Unit { heading, column_number, unit } => {
                if let Some(column) = self.column_entry(heading, *column_number) {
                    column.unit = Some(unit.clone());
                }
            }
            Setting::Role { heading, column_number, role } => {
                if let Some(column) = self.column_entry(heading, *column_number) {
                    let new = ColumnMapping::with_role(heading, *column_number, role.as_ref());
                    column.role = new.role;
                    column.number = new.number;
                    column.position = new.position;
                }
            }
            Setting::Form(form) => self.clock.form = Some(*form),
            Setting::Decimal(mark) => self.layout.decimal = Some(*mark),
            Setting::Zone(zone) => self.clock.zone = Some(zone.clone()),
            Setting::Start(start) => self.clock.start = Some(start.clone()),
            Setting::Fold(fold) => self.clock.fold = Some(*fold),
            Setting::Skipped(skipped) => self.clock.skipped = Some(*skipped),
            Setting::HalfDay(half) => self.clock.half_day = Some(*half),
            Setting::Sheet(sheet) => self.layout.sheet = Some(sheet.clone()),
        }
    }
}
