//! The pass over a file: rows to instants and values, everything noticed on the way.

use std::collections::VecDeque;
use std::io::Read;

use fallrate_series::{
    DiagnosticKind, ExcludedReason, Gap, GapReason, Instant, Quality, Span, SuspectReason,
};

use crate::checks::{Checks, Found, instant};
use crate::clock::{ClockReader, ClockReading};
use crate::column_plan::ColumnPlan;
use crate::error::{IngestError, Place, shorten};
use crate::limits::Options;
use crate::notes::{Notes, Where};
use crate::number::parse_number;
use crate::sniff::Layout;
use crate::source::RowSource;
use crate::table::Row;
use crate::value::{CellValue, ValueReader};

/// One row of values.
#[derive(Clone, Copy, Debug)]
pub struct ReadRow<'a> {
    /// When.
    pub at: Instant,
    /// Line of the file, from 1.
    pub line: u64,
    /// One value for each channel, in the order of [`crate::FileRead::channels`].
    pub values: &'a [CellValue],
}

/// Takes what a pass over a file gives, as it comes.
pub trait RowSink {
    /// A row. Rows come in the order of the file; late ones are reported and come all the same.
    ///
    /// # Errors
    /// Ends the pass.
    fn row(&mut self, row: &ReadRow<'_>) -> Result<(), IngestError>;
    /// Readings of a channel, by its index, are suspect; `None` means every channel.
    fn suspect(&mut self, _channel: Option<usize>, _span: Span, _reason: SuspectReason) {}
    /// A channel, by its index, held nothing; `None` means every channel.
    fn gap(&mut self, _channel: Option<usize>, _gap: Gap) {}
}

/// A stretch of rows earlier than a row before them.
#[derive(Clone, Copy, Debug)]
struct Back {
    from: i64,
    to: i64,
    max: i64,
    line: u64,
    row: u64,
    by: i64,
    goes_on: bool,
}

/// How many rows are remembered for finding repeats.
const REMEMBERED: usize = 4096;

/// The state of a pass.
pub struct Engine<'a> {
    file: &'a str,
    options: &'a Options,
    layout: &'a Layout,
    columns: &'a [ColumnPlan],
    readers: Vec<ValueReader>,
    clock: ClockReader,
    counter: Option<usize>,
    last_count: Option<f64>,
    checks: Checks,
    pub(crate) notes: Notes,
    usual_step_ms: Option<i64>,
    values: Vec<CellValue>,
    troubles: Vec<(usize, DiagnosticKind)>,
    row_number: u64,
    max_at: Option<i64>,
    last_at: Option<i64>,
    recent: VecDeque<(i64, u64)>,
    back: Option<Back>,
    ragged_matters: bool,
    /// Rows given to the sink.
    pub(crate) rows_given: u64,
}

/// What an engine is made from.
pub struct Parts<'a> {
    /// File name.
    pub file: &'a str,
    /// Options.
    pub options: &'a Options,
    /// Table.
    pub layout: &'a Layout,
    /// Channels.
    pub columns: &'a [ColumnPlan],
    /// Clock.
    pub clock: ClockReader,
    /// Column of running record numbers.
    pub counter: Option<usize>,
    /// Usual step.
    pub usual_step_ms: Option<i64>,
    /// Rows come from text, where a wrong number of cells says something.
    pub from_text: bool,
}

impl<'a> Engine<'a> {
    /// A pass about to begin.
    #[must_use]
    pub fn new(parts: Parts<'a>) -> Self {
        let mark = parts.layout.decimal;
        let checks = &parts.options.checks;
        Self {
            readers: parts.columns.iter().map(|c| ValueReader::new(c, mark, checks)).collect(),
            checks: Checks::new(parts.columns, checks, parts.usual_step_ms),
            notes: Notes::new(parts.options.limits.diagnostics),
            file: parts.file,
            options: parts.options,
            layout: parts.layout,
            columns: parts.columns,
            clock: parts.clock,
            counter: parts.counter,
            last_count: None,
            usual_step_ms: parts.usual_step_ms,
            values: vec![CellValue::Empty; parts.columns.len()],
            troubles: Vec::new(),
            row_number: 0,
            max_at: None,
            last_at: None,
            recent: VecDeque::with_capacity(REMEMBERED),
            back: None,
            ragged_matters: parts.from_text,
            rows_given: 0,
        }
    }

    /// Runs through all rows; gives back the questions that only the rows raised.
    ///
    /// # Errors
    /// Those of the source and the sink; [`IngestError::TooManyRows`].
    pub fn run<R: Read>(
        &mut self,
        source: &mut RowSource<R>,
        sink: &mut dyn RowSink,
    ) -> Result<Vec<crate::Question>, IngestError> {
        let mut row = Row::default();
        while source.next(&mut row)? {
            if row.line < self.layout.first_line {
                continue;
            }
            self.row_number += 1;
            if self.row_number > self.options.limits.rows {
                return Err(IngestError::TooManyRows {
                    allowed: self.options.limits.rows,
                    place: Place::line(self.file, row.line),
                });
            }
            if source.unfinished() && row.len() < self.layout.width {
                self.notes.note(DiagnosticKind::Truncated, None, self.place(row.line, None));
                row.drop_last();
            }
            self.row(&row, sink)?;
        }
        self.close_back(sink);
        self.checks.finish(&mut self.notes);
        self.drain(sink);
        let questions = self.clock.finish();
        self.drain_clock(row.line, None);
        Ok(questions)
    }

    fn place(&self, line: u64, at: Option<i64>) -> Where {
        Where { row: self.row_number, line, column: 0, at: at.map(instant) }
    }

    fn row(&mut self, row: &Row, sink: &mut dyn RowSink) -> Result<(), IngestError> {
        let reading = self.clock.read(row);
        let at = match reading {
            ClockReading::At(at) => at,
            other => {
                self.without_clock(row, other);
                return Ok(());
            }
        };
        if self.clock.has_notes() {
            self.drain_clock(row.line, Some(at));
        }
        let ragged = self.ragged_matters && row.len() != self.layout.width && self.is_ragged(row);
        if ragged {
            let kind = DiagnosticKind::RaggedRow { found: row.len(), expected: self.layout.headings.len() };
            self.notes.note(kind, None, self.place(row.line, Some(at)));
            if row.len() > self.layout.headings.len() {
                // Cells may have slipped: none of them is trusted.
                return Ok(());
            }
        }
        self.read_values(row);
        let print = self.fingerprint();
        if !self.settle_order(at, print, row, sink) {
            return Ok(());
        }
        self.note_troubles(row.line, at);
        self.wet_above_dry(row.line, at);
        sink.row(&ReadRow { at: instant(at), line: row.line, values: &self.values })?;
        self.rows_given += 1;
        if self.back.is_none() {
            self.checks.follow(at, row.line, &self.values, &mut self.notes);
            if self.checks.has_found() {
                self.drain(sink);
            }
        }
        Ok(())
    }

    /// Too few cells, or too many of which one is filled.
    fn is_ragged(&self, row: &Row) -> bool {
        let most = self.layout.headings.len();
        let beyond = (most..row.len()).any(|i| !row.cell(i).trim_ascii().is_empty());
        row.len() < self.layout.width || beyond
    }

    fn read_values(&mut self, row: &Row) {
        self.troubles.clear();
        let slots = self.values.iter_mut().zip(&self.readers).zip(self.columns).enumerate();
        let mut trouble = None;
        for (index, ((slot, reader), column)) in slots {
            *slot = reader.read(row.cell(column.index), &mut trouble);
            if let Some(kind) = trouble.take() {
                self.troubles.push((index, kind));
            }
        }
    }

    /// A number that tells rows with different values apart (FNV-1a over the bits).
    fn fingerprint(&self) -> u64 {
        let mut hash = 0xcbf2_9ce4_8422_2325u64;
        for value in &self.values {
            let bits = match value {
                CellValue::Empty => 1,
                CellValue::Unreadable => 2,
                CellValue::Reading(v, _) => v.to_bits(),
            };
            hash = (hash ^ bits).wrapping_mul(0x0100_0000_01b3).rotate_left(17);
        }
        hash
    }

    /// Notes what the order of the rows says; false where the row repeats an earlier one and is dropped.
    fn settle_order(&mut self, at: i64, print: u64, row: &Row, sink: &mut dyn RowSink) -> bool {
        let ahead = self.max_at.is_none_or(|m| at > m);
        if ahead {
            if let Some(back) = &mut self.back {
                back.to = back.max;
            }
            self.close_back(sink);
            self.step_forward(at, row, sink);
        } else {
            if self.recent.contains(&(at, print)) {
                self.notes.note(
                    DiagnosticKind::Duplicate { same_value: true },
                    None,
                    self.place(row.line, Some(at)),
                );
                return false;
            }
            if self.last_at == Some(at) {
                let kind = DiagnosticKind::Duplicate { same_value: false };
                self.notes.note(kind, None, self.place(row.line, Some(at)));
            } else {
                self.step_back(at, row.line);
            }
        }
        self.last_at = Some(at);
        self.max_at = Some(self.max_at.map_or(at, |m| m.max(at)));
        if self.recent.len() >= REMEMBERED {
            self.recent.pop_front();
        }
        self.recent.push_back((at, print));
        true
    }

    fn step_forward(&mut self, at: i64, row: &Row, sink: &mut dyn RowSink) {
        let count = self.counter.and_then(|c| parse_number(row.cell(c), self.layout.decimal));
        let counted_on = matches!((count, self.last_count), (Some(now), Some(before)) if (now - before - 1.0).abs() < 1e-9);
        self.last_count = count;
        let (Some(last), Some(step)) = (self.max_at, self.usual_step_ms) else { return };
        let waited = at - last;
        #[allow(clippy::cast_precision_loss)]
        let long = waited as f64 > step as f64 * self.options.checks.gap_steps && waited > step + 1000;
        let Some(span) = Span::new(instant(last), instant(at)).ok().filter(|_| long) else { return };
        #[allow(clippy::cast_precision_loss)]
        let usual_step_s = step as f64 / 1000.0;
        // The record number went on by one: the logger missed nothing, its clock was set forward.
        let (kind, reason) = if counted_on {
            (DiagnosticKind::ClockJump { by_s: span.seconds() - usual_step_s }, GapReason::ClockJump)
        } else {
            (DiagnosticKind::Gap { seconds: span.seconds(), usual_step_s }, GapReason::NothingRecorded)
        };
        let mut entry = fallrate_series::Diagnostic::new(kind).line(row.line);
        entry.span = Some(span);
        self.notes.push(entry);
        sink.gap(None, Gap { span, reason });
    }

    fn step_back(&mut self, at: i64, line: u64) {
        let max = self.max_at.unwrap_or(at);
        match &mut self.back {
            Some(back) => {
                back.goes_on |= self.last_at.is_some_and(|l| at > l);
                back.from = back.from.min(at);
                back.to = back.to.max(at);
            }
            None => {
                let by = self.last_at.map_or(0, |l| l - at);
                self.back =
                    Some(Back { from: at, to: at, max, line, row: self.row_number, by, goes_on: false });
            }
        }
    }

    /// A single late row is out of order; rows that go on from an earlier time show a clock that was set back.
    fn close_back(&mut self, sink: &mut dyn RowSink) {
        let Some(back) = self.back.take() else { return };
        #[allow(clippy::cast_precision_loss)]
        let by_s = back.by as f64 / 1000.0;
        if back.goes_on {
            // The stretch that the rows after the change went through: what is in doubt is which of two rows is meant.
            let span = Span::new(instant(back.from), instant(back.to)).ok();
            let mut entry =
                fallrate_series::Diagnostic::new(DiagnosticKind::ClockJump { by_s: -by_s }).line(back.line);
            entry.span = span;
            self.notes.push(entry);
            if let Some(span) = span {
                sink.suspect(None, span, SuspectReason::ClockJump);
            }
        } else {
            let place = Where { row: back.row, line: back.line, column: 0, at: Some(instant(back.from)) };
            self.notes.note(DiagnosticKind::OutOfOrder { back_s: by_s }, None, place);
        }
    }

    fn note_troubles(&mut self, line: u64, at: i64) {
        if self.troubles.is_empty() {
            return;
        }
        for (index, kind) in std::mem::take(&mut self.troubles) {
            let Some(column) = self.columns.get(index) else { continue };
            let mut place = self.place(line, Some(at));
            place.column = u32::try_from(column.index + 1).unwrap_or(0);
            self.notes.note(kind, Some(&column.name), place);
        }
    }

    fn wet_above_dry(&mut self, line: u64, at: i64) {
        let found: Vec<(usize, f64, f64)> = self.checks.wet_above_dry(&self.values).collect();
        for (index, by_k, tolerance) in found {
            let Some(column) = self.columns.get(index) else { continue };
            let quality = if by_k > tolerance {
                Quality::Excluded(ExcludedReason::WetBulbAboveDryBulb)
            } else {
                Quality::Suspect(SuspectReason::WetBulbNearAboveDryBulb)
            };
            if let Some(CellValue::Reading(_, q)) = self.values.get_mut(index) {
                *q = quality;
            }
            let mut place = self.place(line, Some(at));
            place.column = u32::try_from(column.index + 1).unwrap_or(0);
            self.notes.note(DiagnosticKind::WetBulbAboveDryBulb { by_k }, Some(&column.name), place);
        }
    }

    fn without_clock(&mut self, row: &Row, reading: ClockReading) {
        self.read_values(row);
        self.troubles.clear();
        let filled = self.values.iter().any(|v| matches!(v, CellValue::Reading(..)));
        let place = self.place(row.line, None);
        let text = row.texts().join(" ");
        let kind = match reading {
            ClockReading::Skipped(text) => DiagnosticKind::NonexistentLocalTime { text },
            ClockReading::Unreadable(text) if filled => DiagnosticKind::UnreadableCell {
                text: shorten(&text),
                expected: "a date and clock time".to_owned(),
            },
            ClockReading::Blank if filled => DiagnosticKind::UnreadableCell {
                text: String::new(),
                expected: "a date and clock time".to_owned(),
            },
            _ if text.trim().is_empty() || row.is_blank() => return,
            _ => DiagnosticKind::NotATableLine { text: shorten(&text) },
        };
        self.notes.note(kind, None, place);
    }

    fn drain_clock(&mut self, line: u64, at: Option<i64>) {
        for kind in self.clock.take_notes() {
            self.notes.note(kind, None, self.place(line, at));
        }
    }

    fn drain(&mut self, sink: &mut dyn RowSink) {
        for found in self.checks.take_found() {
            match found {
                Found::Suspect(channel, span, reason) => sink.suspect(Some(channel), span, reason),
                Found::Gap(channel, gap) => sink.gap(Some(channel), gap),
            }
        }
    }
}
