//! Reading a file: looking at its first part, making a plan, asking what is open, passing over all rows.

use std::io::{Cursor, Read};

use fallrate_series::{Clock, ClockEvidence, Diagnostic, DiagnosticKind, Role, Source};

use crate::clock::{ClockReader, ClockReading};
use crate::clock_plan::{self, ChoiceNote, ClockColumns, ClockPlan};
use crate::column_plan::{self, ColumnPlan, ColumnSeen, Columns};
use crate::encoding::{self, EncodingEvidence, Utf8Reader};
use crate::engine::{Engine, Parts, RowSink};
use crate::error::{IngestError, Place};
use crate::limits::Options;
use crate::mapping::{ClockForm, ColumnMapping, Mapping};
use crate::number::DecimalMark;
use crate::question::Question;
use crate::sniff::{self, Layout, SampleLine};
use crate::source::RowSource;
use crate::stamp::DateOrder;
use crate::table::{HashingReader, LineReader, Row, read_error};
use crate::{jsonl, xlsx};

/// Bytes looked at before reading.
const SAMPLE_BYTES: usize = 256 << 10;
/// Lines looked at before reading.
const SAMPLE_LINES: usize = 4000;

/// Either what was asked for, or what must be answered first.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome<T> {
    /// Done.
    Done(T),
    /// Questions are open; answer them in the mapping and read again.
    Asked(Box<Asked>),
}

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

/// A file opened and looked at.
struct Opened<R: Read> {
    kind: FileKind,
    encoding: String,
    guessed: bool,
    rows: RowSource<R>,
    layout: Layout,
    sample: Vec<Row>,
    workbook_1904: Option<bool>,
    ready_digest: Option<(String, u64)>,
}

enum Opening<R: Read> {
    Table(Box<Opened<R>>),
    Asked(Question),
}

/// The plan of a file and what is open about it.
struct Planned {
    clock: ClockPlan,
    columns: Columns,
    questions: Vec<Question>,
    choices: Vec<ChoiceNote>,
}

fn open<R: Read>(
    file: &str,
    reader: R,
    mapping: &Mapping,
    options: &Options,
) -> Result<Opening<R>, IngestError> {
    let mut hashing = HashingReader::new(reader, options.limits.bytes);
    let head = read_head(file, &mut hashing, SAMPLE_BYTES)?;
    let whole = head.len() < SAMPLE_BYTES;
    if head.is_empty() {
        return Err(IngestError::Empty { place: Place::file(file) });
    }
    if head.starts_with(b"PK\x03\x04") || head.starts_with(b"PK\x05\x06") {
        return open_workbook(file, head, hashing, mapping, options);
    }
    let found = mapping
        .layout
        .encoding
        .as_deref()
        .and_then(encoding::named)
        .unwrap_or_else(|| encoding::detect(&head, whole));
    if let Some(what) = encoding::not_text(&head, &found) {
        return Err(IngestError::NotText { found: what, place: Place::file(file) });
    }
    let (lines, carriage_return) = sample_lines(file, &head, found, whole, options)?;
    let stream = Utf8Reader::new(Cursor::new(head).chain(hashing), found);
    let lines_left = LineReader::new(stream, file, options.limits.line_bytes, carriage_return);
    let (kind, rows, layout, sample) = if jsonl::is_json(&lines) {
        let keys = jsonl::keys(&lines, options.limits.columns);
        let sample = json_rows(&lines, &keys);
        let layout = json_layout(file, &sample, keys.clone(), mapping, options)?;
        (
            FileKind::JsonLines,
            RowSource::Json { lines: lines_left, keys, file: file.to_owned() },
            layout,
            sample,
        )
    } else {
        let layout = sniff::sniff(file, &lines, &mapping.layout, options.limits.columns)?;
        let sample = sample_rows(&lines, &layout);
        (
            FileKind::DelimitedText,
            RowSource::Text { lines: lines_left, delimiter: layout.delimiter },
            layout,
            sample,
        )
    };
    Ok(Opening::Table(Box::new(Opened {
        kind,
        encoding: found.encoding.name().to_owned(),
        guessed: found.evidence == EncodingEvidence::Guessed,
        rows,
        layout,
        sample,
        workbook_1904: None,
        ready_digest: None,
    })))
}

fn read_head<R: Read>(file: &str, reader: &mut R, most: usize) -> Result<Vec<u8>, IngestError> {
    let mut head = Vec::new();
    let got = reader.take(most as u64).read_to_end(&mut head);
    got.map_err(|e| read_error(&e, Place::file(file)))?;
    Ok(head)
}

fn open_workbook<R: Read>(
    file: &str,
    mut bytes: Vec<u8>,
    mut rest: HashingReader<R>,
    mapping: &Mapping,
    options: &Options,
) -> Result<Opening<R>, IngestError> {
    rest.read_to_end(&mut bytes).map_err(|e| read_error(&e, Place::file(file)))?;
    let sheet = match xlsx::read(file, &bytes, mapping.layout.sheet.as_deref(), &options.limits)? {
        Ok(sheet) => sheet,
        Err(question) => return Ok(Opening::Asked(question)),
    };
    let upto = sheet.rows.len().min(SAMPLE_LINES);
    let layout = sniff::sniff_rows(
        file,
        sheet.rows.get(..upto).unwrap_or(&[]),
        &mapping.layout,
        options.limits.columns,
    )?;
    let sample: Vec<Row> =
        sheet.rows.iter().filter(|r| r.line >= layout.first_line).take(SAMPLE_LINES).cloned().collect();
    Ok(Opening::Table(Box::new(Opened {
        kind: FileKind::Workbook,
        encoding: String::new(),
        guessed: false,
        rows: RowSource::Ready(sheet.rows.into_iter()),
        layout,
        sample,
        workbook_1904: Some(sheet.from_1904),
        ready_digest: Some(rest.digest()),
    })))
}

fn sample_lines(
    file: &str,
    head: &[u8],
    found: encoding::FoundEncoding,
    whole: bool,
    options: &Options,
) -> Result<(Vec<SampleLine>, bool), IngestError> {
    let mut text = Vec::new();
    let mut decoded = Utf8Reader::new(head, found);
    decoded
        .read_to_end(&mut text)
        .map_err(|e| IngestError::Read { kind: e.kind(), place: Place::file(file) })?;
    let carriage_return = memchr::memchr(b'\n', &text).is_none() && memchr::memchr(b'\r', &text).is_some();
    let mut reader = LineReader::new(&text[..], file, options.limits.line_bytes, carriage_return);
    let mut lines = Vec::new();
    while lines.len() < SAMPLE_LINES {
        match reader.next_line() {
            Ok(Some((line, number))) => lines.push((number, line.to_vec())),
            Ok(None) => break,
            Err(e) if lines.is_empty() || whole => return Err(e),
            Err(_) => break,
        }
    }
    if !whole && reader.unfinished {
        lines.pop();
    }
    Ok((lines, carriage_return))
}

fn sample_rows(lines: &[SampleLine], layout: &Layout) -> Vec<Row> {
    lines
        .iter()
        .filter(|(n, l)| *n >= layout.first_line && !l.iter().all(u8::is_ascii_whitespace))
        .map(|(n, l)| {
            let mut row = Row::default();
            row.split(l, *n, layout.delimiter);
            row
        })
        .filter(|r| r.len() * 2 > layout.width)
        .collect()
}

fn json_rows(lines: &[SampleLine], keys: &[String]) -> Vec<Row> {
    lines
        .iter()
        .filter(|(_, l)| !jsonl::is_frame(l))
        .filter_map(|(n, l)| {
            let mut row = Row::default();
            jsonl::row_from_line(l, *n, keys, &mut row).ok().map(|()| row)
        })
        .collect()
}

fn json_layout(
    file: &str,
    sample: &[Row],
    keys: Vec<String>,
    mapping: &Mapping,
    options: &Options,
) -> Result<Layout, IngestError> {
    let mut layout = sniff::sniff_rows(file, sample, &mapping.layout, options.limits.columns)?;
    layout.first_line = 1;
    layout.has_headings = true;
    layout.width = keys.len();
    layout.headings = keys;
    layout.units = Vec::new();
    layout.preamble = Vec::new();
    if mapping.layout.decimal.is_none() {
        layout.decimal_doubt = None;
    }
    Ok(layout)
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
        questions.push(clock_plan::decimal_question(file, layout, example));
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

fn form_of(columns: ClockColumns) -> ClockForm {
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
    for (line, text) in &opened.layout.preamble {
        let kind = DiagnosticKind::NotATableLine { text: crate::error::shorten(text) };
        list.push(Diagnostic::new(kind).line(*line));
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
    Ok(clock_plan::orders_that_fit(cells.iter().map(Vec::as_slice)))
}
