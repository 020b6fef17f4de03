//! Opening a file: its form, encoding and table, and a sample of its rows.

use std::io::{Cursor, Read};

use crate::encoding::{self, EncodingEvidence, Utf8Reader};
use crate::error::{IngestError, Place};
use crate::limits::Options;
use crate::mapping::Mapping;
use crate::question::Question;
use crate::read::FileKind;
use crate::sniff::{self, Layout, SampleLine};
use crate::source::RowSource;
use crate::table::{HashingReader, LineReader, Row, read_error};
use crate::{jsonl, xlsx};

/// Bytes looked at before reading.
const SAMPLE_BYTES: usize = 256 << 10;

/// Lines looked at before reading.
const SAMPLE_LINES: usize = 4000;

/// A file opened and looked at.
pub(crate) struct Opened<R: Read> {
    pub(crate) kind: FileKind,
    pub(crate) encoding: String,
    pub(crate) guessed: bool,
    pub(crate) rows: RowSource<R>,
    pub(crate) layout: Layout,
    pub(crate) sample: Vec<Row>,
    pub(crate) workbook_1904: Option<bool>,
    pub(crate) ready_digest: Option<(String, u64)>,
}

pub(crate) enum Opening<R: Read> {
    Table(Box<Opened<R>>),
    Asked(Question),
}

pub(crate) fn open<R: Read>(
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

pub(crate) fn read_head<R: Read>(file: &str, reader: &mut R, most: usize) -> Result<Vec<u8>, IngestError> {
    let mut head = Vec::new();
    let got = reader.take(most as u64).read_to_end(&mut head);
    got.map_err(|e| read_error(&e, Place::file(file)))?;
    Ok(head)
}

pub(crate) fn open_workbook<R: Read>(
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

pub(crate) fn sample_lines(
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

pub(crate) fn sample_rows(lines: &[SampleLine], layout: &Layout) -> Vec<Row> {
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

pub(crate) fn json_rows(lines: &[SampleLine], keys: &[String]) -> Vec<Row> {
    lines
        .iter()
        .filter(|(_, l)| !jsonl::is_frame(l))
        .filter_map(|(n, l)| {
            let mut row = Row::default();
            jsonl::row_from_line(l, *n, keys, &mut row).ok().map(|()| row)
        })
        .collect()
}

pub(crate) fn json_layout(
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
