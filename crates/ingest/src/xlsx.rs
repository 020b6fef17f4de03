//! XLSX workbooks: the cells of one sheet as rows of text. Dates become `2026-03-01 08:00:00` by the workbook's own
//! count (1900 or 1904).

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

use calamine::{DataRef, Reader, Xlsx};

use crate::error::{IngestError, Place};
use crate::limits::Limits;
use crate::question::{Choice, Question, Setting, Topic};
use crate::stamp::local_from_serial;
use crate::table::Row;
use crate::zone::show_local;

/// A sheet read.
pub struct Sheet {
    /// Its rows; `line` is the row number of the sheet.
    pub rows: Vec<Row>,
    /// Days count from 1904.
    pub from_1904: bool,
}

/// Reads a sheet, or asks which.
///
/// # Errors
/// [`IngestError::Workbook`], [`IngestError::NoSuchSheet`], [`IngestError::TooLarge`], [`IngestError::TooManyColumns`],
/// [`IngestError::TooManyRows`].
pub fn read(
    file: &str,
    bytes: &[u8],
    sheet: Option<&str>,
    limits: &Limits,
) -> Result<Result<Sheet, Question>, IngestError> {
    let bad = |detail: String| IngestError::Workbook {
        detail: crate::error::shorten(&detail),
        place: Place::file(file),
    };
    if declared_size(bytes) > limits.bytes.min(1 << 30) {
        return Err(IngestError::TooLarge { allowed: limits.bytes.min(1 << 30), place: Place::file(file) });
    }
    // The library for workbooks is not ours: should it panic on a damaged file, the file is refused.
    let read = catch_unwind(AssertUnwindSafe(|| read_inner(file, bytes, sheet, limits)));
    read.unwrap_or_else(|_| Err(bad("damaged".to_owned())))
}

fn read_inner(
    file: &str,
    bytes: &[u8],
    sheet: Option<&str>,
    limits: &Limits,
) -> Result<Result<Sheet, Question>, IngestError> {
    let bad = |e: calamine::XlsxError| IngestError::Workbook {
        detail: crate::error::shorten(&e.to_string()),
        place: Place::file(file),
    };
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(bad)?;
    let names = book.sheet_names();
    let name = match (sheet, names.as_slice()) {
        (Some(wanted), _) => match names.iter().find(|n| n.trim() == wanted.trim()) {
            Some(name) => name.clone(),
            None => {
                return Err(IngestError::NoSuchSheet {
                    sheet: wanted.to_owned(),
                    allowed: names.join(", "),
                    place: Place::file(file),
                });
            }
        },
        (None, [one]) => one.clone(),
        (None, _) => match filled_sheets(&mut book, &names).as_slice() {
            [one] => one.clone(),
            _ => return Ok(Err(sheet_question(file, &names))),
        },
    };
    let from_1904 = book.has_1904_epoch();
    let rows = rows_of(file, &mut book, &name, from_1904, limits)?;
    Ok(Ok(Sheet { rows, from_1904 }))
}

fn filled_sheets(book: &mut Xlsx<Cursor<&[u8]>>, names: &[String]) -> Vec<String> {
    names
        .iter()
        .filter(|name| {
            book.worksheet_cells_reader(name).is_ok_and(|mut cells| {
                let mut seen = 0;
                while let Ok(Some(cell)) = cells.next_cell() {
                    seen += usize::from(!matches!(cell.get_value(), DataRef::Empty));
                    if seen >= 4 {
                        return true;
                    }
                }
                false
            })
        })
        .cloned()
        .collect()
}

fn sheet_question(file: &str, names: &[String]) -> Question {
    Question {
        topic: Topic::Sheet,
        heading: None,
        example: names.join(", "),
        choices: names
            .iter()
            .map(|n| Choice { setting: Setting::Sheet(n.clone()), shown: n.clone() })
            .collect(),
        likelier: None,
        place: Place::file(file),
    }
}

fn rows_of(
    file: &str,
    book: &mut Xlsx<Cursor<&[u8]>>,
    name: &str,
    from_1904: bool,
    limits: &Limits,
) -> Result<Vec<Row>, IngestError> {
    let bad = |e: calamine::XlsxError| IngestError::Workbook {
        detail: crate::error::shorten(&e.to_string()),
        place: Place::file(file),
    };
    let mut cells = book.worksheet_cells_reader(name).map_err(bad)?;
    let mut rows: Vec<Row> = Vec::new();
    let mut current: Option<(u32, Vec<String>)> = None;
    while let Some(cell) = cells.next_cell().map_err(bad)? {
        let (at, column) = cell.get_position();
        let text = cell_text(cell.get_value(), from_1904);
        if text.is_empty() {
            continue;
        }
        if column as usize >= limits.columns {
            return Err(IngestError::TooManyColumns {
                found: column as usize + 1,
                allowed: limits.columns,
                place: Place::line(file, u64::from(at) + 1),
            });
        }
        if current.as_ref().is_none_or(|(row, _)| *row != at) {
            flush(current.take(), &mut rows);
            if rows.len() as u64 >= limits.rows {
                return Err(IngestError::TooManyRows {
                    allowed: limits.rows,
                    place: Place::line(file, u64::from(at) + 1),
                });
            }
            current = Some((at, Vec::new()));
        }
        if let Some((_, texts)) = current.as_mut() {
            texts.resize(texts.len().max(column as usize + 1), String::new());
            if let Some(slot) = texts.get_mut(column as usize) {
                *slot = text;
            }
        }
    }
    flush(current, &mut rows);
    Ok(rows)
}

fn flush(current: Option<(u32, Vec<String>)>, rows: &mut Vec<Row>) {
    if let Some((at, texts)) = current {
        let mut row = Row::default();
        row.clear(u64::from(at) + 1);
        for text in &texts {
            row.push(text.as_bytes());
        }
        rows.push(row);
    }
}

fn cell_text(value: &DataRef<'_>, from_1904: bool) -> String {
    match value {
        DataRef::Int(v) => v.to_string(),
        DataRef::Float(v) => v.to_string(),
        DataRef::String(s) => s.trim().to_owned(),
        DataRef::SharedString(s) => s.trim().to_owned(),
        DataRef::Bool(b) => if *b { "1" } else { "0" }.to_owned(),
        DataRef::DateTime(d) if d.is_duration() => span_text(d.as_f64()),
        DataRef::DateTime(d) => date_text(d.as_f64(), from_1904),
        DataRef::DateTimeIso(s) | DataRef::DurationIso(s) => s.clone(),
        DataRef::Error(e) => e.to_string(),
        _ => String::new(),
    }
}

/// A serial as a date, a date with clock time, or (below one day) a clock time.
fn date_text(serial: f64, from_1904: bool) -> String {
    if (0.0..1.0).contains(&serial) {
        return span_text(serial);
    }
    match local_from_serial(serial, from_1904) {
        Some(ms) if serial.fract() == 0.0 => show_local(ms).chars().take(10).collect(),
        // Serials carry about 10 microseconds of rounding: the millisecond is shown where it is not 0.
        Some(ms) if ms % 1000 == 0 => show_local(ms),
        Some(ms) => format!("{}.{:03}", show_local(ms), ms.rem_euclid(1000)),
        None => serial.to_string(),
    }
}

fn span_text(days: f64) -> String {
    if !days.is_finite() || days.abs() > 100_000.0 {
        return days.to_string();
    }
    #[allow(clippy::cast_possible_truncation)] // bounded above
    let ms = (days * 86_400_000.0).round() as i64;
    format!("{:02}:{:02}:{:02}", ms / 3_600_000, ms / 60_000 % 60, ms / 1000 % 60)
}

/// Sum of the unpacked sizes that the archive's directory declares.
fn declared_size(bytes: &[u8]) -> u64 {
    let word = |at: usize, n: usize| -> u64 {
        bytes.get(at..at + n).map_or(0, |b| b.iter().rev().fold(0, |v, x| v << 8 | u64::from(*x)))
    };
    let mut total = 0u64;
    for at in memchr::memmem::find_iter(bytes, b"PK\x01\x02") {
        total = total.saturating_add(word(at + 24, 4));
    }
    total
}
