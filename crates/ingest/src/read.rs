//! Reading a file: looking at its first part, making a plan, asking what is open, passing over all rows.

use std::io::Read;

use fallrate_series::{Clock, ClockEvidence, Diagnostic, DiagnosticKind, Role, Source};

use crate::clock::{ClockReader, ClockReading};
use crate::clock_form;
use crate::clock_plan::{self, ChoiceNote, ClockPlan};
use crate::column_plan::{self, ColumnPlan, Columns};
use crate::engine::{Engine, Parts, RowSink};
use crate::error::{IngestError, Place};
pub use crate::inspection::{Asked, FileKind, Inspection};
use crate::inspection::{form_of, nothing_seen};
use crate::limits::Options;
use crate::mapping::Mapping;
use crate::number::DecimalMark;
use crate::open::{Opened, Opening, open};
use crate::question::Question;
use crate::source::RowSource;
use crate::stamp::DateOrder;
use crate::table::Row;

/// Either what was asked for, or what must be answered first.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome<T> {
    /// Done.
    Done(T),
    /// Questions are open; answer them in the mapping and read again.
    Asked(Box<Asked>),
}

/// One channel of a file that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct ChannelRead {
    /// Name.
    pub name: String,
    /// What it measures.
    pub role: Role,
    /// Instrument.
    pub instrument: Option<fallrate_series::Instrument>,
}

/// A file that was passed over.
#[derive(Clone, Debug, PartialEq)]
pub struct FileRead {
    /// The source with its hash and clock.
    pub source: Source,
    /// Channels, in the order of the values of each row.
    pub channels: Vec<ChannelRead>,
    /// Everything noticed; `source` is not set.
    pub diagnostics: Vec<Diagnostic>,
    /// Rows given.
    pub rows: u64,
    /// Zone of the readings for printing.
    pub zone: String,
    /// What was seen.
    pub seen: Inspection,
}

/// The plan of a file and what is open about it.
struct Planned {
    clock: ClockPlan,
    columns: Columns,
    questions: Vec<Question>,
    choices: Vec<ChoiceNote>,
}

fn make_plan<R: Read>(
    file: &str,
    opened: &Opened<R>,
    mapping: &Mapping,
    options: &Options,
    orders: Option<&[DateOrder]>,
) -> Result<Planned, IngestError> {
    let (mut questions, mut choices) = (Vec::new(), Vec::new());
    let layout = &opened.layout;
    if let Some(example) = &layout.decimal_doubt {
        questions.push(clock_form::decimal_question(file, layout, example));
    } else if layout.decimal == DecimalMark::Comma && mapping.layout.decimal.is_none() {
        let because = "the cells are numbers only so".to_owned();
        choices.push(ChoiceNote { what: "decimal mark".to_owned(), chosen: "comma".to_owned(), because });
    }
    let evidence = clock_plan::Evidence {
        file,
        layout,
        rows: &opened.sample,
        given: &mapping.clock,
        options,
        workbook_1904: opened.workbook_1904,
        orders,
    };
    let clock = clock_plan::plan(&evidence, &mut questions, &mut choices)?;
    let evidence =
        column_plan::Evidence { file, layout, rows: &opened.sample, mapping, options, clock: &clock.used };
    let columns = column_plan::plan(&evidence, &mut questions, &mut choices)?;
    Ok(Planned { clock, columns, questions, choices })
}

fn inspection<R: Read>(opened: &Opened<R>, planned: &Planned) -> Inspection {
    Inspection {
        kind: opened.kind,
        encoding: opened.encoding.clone(),
        layout: opened.layout.clone(),
        columns: planned.columns.seen.clone(),
        clock_form: planned.clock.columns.map(form_of),
        clock_columns: planned
            .clock
            .used
            .iter()
            .filter_map(|i| opened.layout.headings.get(*i).cloned())
            .collect(),
        zone: planned.clock.zone.as_ref().map(|z| z.name.clone()),
        choices: planned.choices.clone(),
        channels: planned
            .columns
            .read
            .iter()
            .map(|c| {
                (c.heading.clone(), u32::try_from(c.index + 1).unwrap_or(0), c.role.clone(), c.unit.symbol)
            })
            .collect(),
    }
}

/// The usual step between rows and whether the newest row comes first, from the sample.
fn steps<R: Read>(
    file: &str,
    opened: &Opened<R>,
    planned: &Planned,
    mapping: &Mapping,
) -> (Option<i64>, bool) {
    let Some(mut clock) = ClockReader::new(&planned.clock, &mapping.clock, opened.layout.decimal, None, file)
    else {
        return (None, false);
    };
    let instants: Vec<i64> = opened
        .sample
        .iter()
        .filter_map(|r| match clock.read(r) {
            ClockReading::At(at) => Some(at),
            _ => None,
        })
        .collect();
    let differences: Vec<i64> = instants.iter().zip(instants.iter().skip(1)).map(|(a, b)| b - a).collect();
    let falling = differences.iter().filter(|d| **d < 0).count();
    let newest_first = differences.len() >= 2 && falling * 10 >= differences.len() * 9;
    let mut steps: Vec<i64> = differences.iter().map(|d| d.abs()).filter(|d| *d > 0).collect();
    steps.sort_unstable();
    let given = mapping.clock.interval_seconds.filter(|s| *s > 0.0);
    #[allow(clippy::cast_possible_truncation)] // limited when the mapping is checked
    let given = given.map(|s| (s * 1000.0).round() as i64);
    (given.or(steps.get(steps.len().saturating_sub(1) / 2).copied()), newest_first)
}

/// Looks at the first part of a file: what it is, which columns it has, what is open.
///
/// # Errors
/// [`IngestError`] where the file is refused.
pub fn inspect(file: &str, bytes: &[u8], mapping: &Mapping, options: &Options) -> Result<Asked, IngestError> {
    let opened = match open(file, bytes, mapping, options)? {
        Opening::Table(opened) => opened,
        Opening::Asked(question) => return Ok(Asked { questions: vec![question], seen: nothing_seen() }),
    };
    let planned = make_plan(file, &opened, mapping, options, None)?;
    let seen = inspection(&opened, &planned);
    Ok(Asked { questions: planned.questions, seen })
}

/// Passes over a file from a stream, in flat memory: each row goes to the sink as it is read.
///
/// # Errors
/// [`IngestError`] where the file is refused. The sink may then have got rows; they must be thrown away, as also
/// when questions come back.
pub fn stream<R: Read>(
    file: &str,
    reader: R,
    mapping: &Mapping,
    options: &Options,
    sink: &mut dyn RowSink,
) -> Result<Outcome<FileRead>, IngestError> {
    stream_with(file, reader, mapping, options, sink, None, false)
}

pub(crate) fn stream_with<R: Read>(
    file: &str,
    reader: R,
    mapping: &Mapping,
    options: &Options,
    sink: &mut dyn RowSink,
    orders: Option<&[DateOrder]>,
    may_reverse: bool,
) -> Result<Outcome<FileRead>, IngestError> {
    let mut opened = match open(file, reader, mapping, options)? {
        Opening::Table(opened) => opened,
        Opening::Asked(question) => {
            return Ok(Outcome::Asked(Box::new(Asked { questions: vec![question], seen: nothing_seen() })));
        }
    };
    let mut planned = make_plan(file, &opened, mapping, options, orders)?;
    let asked =
        |questions: Vec<Question>, seen: Inspection| Ok(Outcome::Asked(Box::new(Asked { questions, seen })));
    if !planned.questions.is_empty() {
        let seen = inspection(&opened, &planned);
        return asked(planned.questions, seen);
    }
    let (usual_step_ms, newest_first) = steps(file, &opened, &planned, mapping);
    if newest_first {
        reverse(file, &mut opened, &mut planned, may_reverse)?;
    }
    let Some(clock) =
        ClockReader::new(&planned.clock, &mapping.clock, opened.layout.decimal, usual_step_ms, file)
    else {
        return Err(IngestError::NoClock {
            headings: opened.layout.headings.join(", "),
            place: Place::file(file),
        });
    };
    let mut rows = std::mem::replace(&mut opened.rows, RowSource::Ready(Vec::new().into_iter()));
    let mut engine = Engine::new(Parts {
        file,
        options,
        layout: &opened.layout,
        columns: &planned.columns.read,
        clock,
        counter: planned.columns.counter,
        usual_step_ms,
        from_text: opened.kind == FileKind::DelimitedText,
    });
    let questions = engine.run(&mut rows, sink)?;
    let (rows_given, notes) = (engine.rows_given, engine.notes);
    let seen = inspection(&opened, &planned);
    if !questions.is_empty() {
        return asked(questions, seen);
    }
    if rows_given == 0 {
        return Err(IngestError::Empty { place: Place::file(file) });
    }
    let digest = rows.digest();
    let repaired = digest.as_ref().is_some_and(|(_, _, r)| *r);
    let (sha256, bytes) = match (digest, &opened.ready_digest) {
        (Some((hash, count, _)), _) => (hash, count),
        (None, Some((hash, count))) => (hash.clone(), *count),
        (None, None) => (String::new(), 0),
    };
    let mut diagnostics = choices_noted(&opened, &planned, mapping, repaired);
    diagnostics.extend(notes.finish());
    Ok(Outcome::Done(FileRead {
        source: Source {
            file_name: file.to_owned(),
            sha256,
            bytes,
            clock: clock_of(&planned.clock, mapping, options),
        },
        channels: planned.columns.read.iter().map(channel_read).collect(),
        diagnostics,
        rows: rows_given,
        zone: planned.clock.zone.as_ref().map_or_else(|| "UTC".to_owned(), |z| z.name.clone()),
        seen,
    }))
}

fn channel_read(c: &ColumnPlan) -> ChannelRead {
    ChannelRead { name: c.name.clone(), role: c.role.clone(), instrument: c.instrument.clone() }
}

/// Reads all rows and turns them round, where that is allowed.
fn reverse<R: Read>(
    file: &str,
    opened: &mut Opened<R>,
    planned: &mut Planned,
    allowed: bool,
) -> Result<(), IngestError> {
    if !allowed && !matches!(opened.rows, RowSource::Ready(_)) {
        return Err(IngestError::NewestFirst { place: Place::line(file, opened.layout.first_line) });
    }
    let mut rows = Vec::new();
    let mut row = Row::default();
    while opened.rows.next(&mut row)? {
        if row.line >= opened.layout.first_line {
            rows.push(row.clone());
        }
    }
    if opened.ready_digest.is_none() {
        opened.ready_digest = opened.rows.digest().map(|(hash, count, _)| (hash, count));
    }
    rows.reverse();
    opened.rows = RowSource::Ready(rows.into_iter());
    planned.choices.push(ChoiceNote {
        what: "order of the rows".to_owned(),
        chosen: "newest first, turned round".to_owned(),
        because: "the clock runs backward down the file".to_owned(),
    });
    Ok(())
}

fn choices_noted<R: Read>(
    opened: &Opened<R>,
    planned: &Planned,
    mapping: &Mapping,
    repaired: bool,
) -> Vec<Diagnostic> {
    let mut list = Vec::new();
    for c in &planned.choices {
        let ChoiceNote { what, chosen, because } = c.clone();
        list.push(Diagnostic::new(DiagnosticKind::ChoiceMade { what, chosen, because }));
    }
    if opened.guessed {
        list.push(Diagnostic::new(DiagnosticKind::ChoiceMade {
            what: "encoding".to_owned(),
            chosen: opened.encoding.clone(),
            because: "the bytes are not UTF-8".to_owned(),
        }));
    }
    if repaired {
        list.push(Diagnostic::new(DiagnosticKind::EncodingRepaired { encoding: opened.encoding.clone() }));
    }
    for (line, text) in opened.layout.preamble.iter().take(40) {
        let kind = DiagnosticKind::NotATableLine { text: crate::error::shorten(text) };
        list.push(Diagnostic::new(kind).line(*line));
    }
    if let Some((line, _)) = opened.layout.preamble.get(40) {
        let more = opened.layout.preamble.len() - 40;
        let kind = DiagnosticKind::NotATableLine { text: format!("and {more} more lines") };
        list.push(Diagnostic { count: more as u64, ..Diagnostic::new(kind).line(*line) });
    }
    if mapping.clock.offset_seconds != 0.0 {
        list.push(Diagnostic::new(DiagnosticKind::ClockOffsetApplied {
            seconds: mapping.clock.offset_seconds,
        }));
    }
    for step in &mapping.clock.steps {
        let kind = DiagnosticKind::ClockOffsetApplied { seconds: step.add_seconds };
        list.push(Diagnostic::new(kind).line(step.from_line));
    }
    list
}

fn clock_of(plan: &ClockPlan, mapping: &Mapping, options: &Options) -> Clock {
    let given = &mapping.clock;
    let evidence = if !given.compared_with.is_empty() {
        ClockEvidence::Compared { with: given.compared_with.clone() }
    } else if !given.declared_by.is_empty() {
        ClockEvidence::Declared { by: given.declared_by.clone() }
    } else if plan.zone_in_file {
        ClockEvidence::InFile
    } else if given.zone.is_none() && !options.declared_by.is_empty() {
        ClockEvidence::Declared { by: options.declared_by.clone() }
    } else {
        ClockEvidence::Unknown
    };
    Clock {
        zone: plan.zone.as_ref().map_or_else(String::new, |z| z.name.clone()),
        offset_s: given.offset_seconds,
        uncertainty_s: given.uncertainty_seconds,
        evidence,
    }
}

/// Whether the orders of dates are open, and in which column.
pub(crate) fn open_orders(asked: &Asked) -> Option<usize> {
    let open = asked.questions.iter().any(|q| q.topic == crate::question::Topic::DateOrder);
    let heading = asked.seen.clock_columns.first()?;
    open.then(|| asked.seen.layout.headings.iter().position(|h| h == heading)).flatten()
}

/// The orders that every date of the whole file fits.
pub(crate) fn orders_in_whole(
    file: &str,
    bytes: &[u8],
    column: usize,
    mapping: &Mapping,
    options: &Options,
) -> Result<Vec<DateOrder>, IngestError> {
    let Opening::Table(mut opened) = open(file, bytes, mapping, options)? else { return Ok(Vec::new()) };
    let mut row = Row::default();
    let mut cells: Vec<Vec<u8>> = Vec::new();
    while opened.rows.next(&mut row)? {
        let cell = row.cell(column);
        let day = cell.get(..cell.len().min(24)).unwrap_or(cell);
        let last = cells.last().map(Vec::as_slice);
        // Dates repeat for a day's length: only the leading ten bytes that change matter.
        let head = |c: &[u8]| c.get(..c.len().min(10)).unwrap_or(c).to_vec();
        if row.line >= opened.layout.first_line && last.map(head) != Some(head(day)) {
            cells.push(cell.to_vec());
        }
    }
    Ok(clock_form::orders_that_fit(cells.iter().map(Vec::as_slice)))
}
