//! Finding the table in a text: delimiter, decimal mark, headings, unit row, first row of readings.

use crate::error::{IngestError, Place, shorten};
use crate::mapping::LayoutMapping;
use crate::number::{Cell, DecimalMark, read_cell};
use crate::stamp::{DateOrder, parse_clock, parse_span, scan_stamp};
use crate::table::Row;
use crate::units_seen::unit_word;

/// A line of the sample.
pub type SampleLine = (u64, Vec<u8>);

/// What one cell looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Nothing.
    Empty,
    /// A number, with or without a unit.
    Number,
    /// A word or sign for "no sensor".
    Fault,
    /// Date and clock time.
    Stamp,
    /// A date.
    Day,
    /// A clock time.
    Clock,
    /// Hours beyond 24, as only a span has.
    Span,
    /// Anything else.
    Text,
}

/// What a cell looks like.
#[must_use]
pub fn shape(cell: &[u8], mark: DecimalMark) -> Shape {
    match read_cell(cell, mark) {
        Cell::Empty => Shape::Empty,
        Cell::Fault(_) | Cell::Beyond(_) => Shape::Fault,
        Cell::Number(_) => {
            if cell.len() == 14 && scan_stamp(cell).is_some() {
                Shape::Stamp
            } else {
                Shape::Number
            }
        }
        found => {
            if let Some((raw, clock)) = scan_stamp(cell)
                && DateOrder::ALL.iter().any(|o| raw.under(*o).is_some())
            {
                return if clock.is_some() { Shape::Stamp } else { Shape::Day };
            }
            if parse_clock(cell).is_some() {
                Shape::Clock
            } else if parse_span(cell).is_some() {
                Shape::Span
            } else if matches!(found, Cell::WithUnit(..)) {
                Shape::Number
            } else {
                Shape::Text
            }
        }
    }
}

/// The table found.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Byte between cells; 0 where the cells come parted.
    pub delimiter: u8,
    /// Mark before decimals.
    pub decimal: DecimalMark,
    /// The marks can also be read the other way; a cell that shows it.
    pub decimal_doubt: Option<String>,
    /// Line of the headings, if there are any.
    pub heading_line: Option<u64>,
    /// Line of the units, if there is one.
    pub unit_line: Option<u64>,
    /// Line of the first row of readings.
    pub first_line: u64,
    /// Cells of a usual row.
    pub width: usize,
    /// Headings; made up (`Column 3`) where there are none.
    pub headings: Vec<String>,
    /// Whether the file has headings.
    pub has_headings: bool,
    /// Texts of the unit row.
    pub units: Vec<String>,
    /// Lines before the table.
    pub preamble: Vec<(u64, String)>,
}

const DELIMITERS: [u8; 4] = [b';', b'\t', b'|', b','];

struct Trial {
    delimiter: u8,
    mark: DecimalMark,
    score: i64,
    width: usize,
    /// All lines of the sample, parted.
    all: Vec<Row>,
    /// Rows of readings: index into `all` and shapes.
    rows: Vec<(usize, Vec<Shape>)>,
}

impl Trial {
    fn data(&self) -> impl Iterator<Item = (&Row, &Vec<Shape>)> {
        self.rows.iter().filter_map(|(i, shapes)| Some((self.all.get(*i)?, shapes)))
    }
}

/// Whether shapes are those of a row of readings.
fn is_data(shapes: &[Shape]) -> bool {
    let filled = shapes.iter().filter(|s| **s != Shape::Empty).count();
    let numbers = shapes.iter().filter(|s| matches!(s, Shape::Number | Shape::Fault)).count();
    let texts = shapes.iter().filter(|s| **s == Shape::Text).count();
    let clocks = filled - numbers - texts;
    let first_clock =
        shapes.iter().position(|s| matches!(s, Shape::Stamp | Shape::Day | Shape::Clock | Shape::Span));
    let real = shapes.contains(&Shape::Number);
    filled >= 2
        && ((clocks >= 1 && numbers >= 1 && first_clock.is_some_and(|at| at < 4) && texts <= numbers + 2)
            || (real && texts == 0 && clocks == 0 && numbers == filled))
}

fn trial(all: Vec<Row>, delimiter: u8, mark: DecimalMark) -> Trial {
    let mut rows = Vec::new();
    let mut widths = std::collections::BTreeMap::new();
    let mut score = 0;
    for (index, row) in all.iter().enumerate().filter(|(_, r)| r.len() >= 2) {
        let shapes: Vec<Shape> = (0..row.len()).map(|i| shape(row.cell(i), mark)).collect();
        if is_data(&shapes) {
            *widths.entry(row.len()).or_insert(0usize) += 1;
            rows.push((index, shapes));
        }
    }
    let width = widths.iter().max_by_key(|(w, n)| (**n, **w)).map_or(0, |(w, _)| *w);
    for (index, shapes) in &rows {
        let texts = shapes.iter().filter(|s| **s == Shape::Text).count();
        let filled = shapes.iter().filter(|s| **s != Shape::Empty).count();
        let uneven = if all.get(*index).is_some_and(|r| r.len() == width) { 0 } else { 2 };
        score += i64::try_from(filled).unwrap_or(0) - 3 * i64::try_from(texts).unwrap_or(0) - uneven + 4;
    }
    Trial { delimiter, mark, score, width, all, rows }
}

fn parted(lines: &[SampleLine], delimiter: u8) -> Vec<Row> {
    lines
        .iter()
        .map(|(number, line)| {
            let mut row = Row::default();
            row.split(line, *number, delimiter);
            row
        })
        .collect()
}

/// Finds the table in the first lines of a text.
///
/// # Errors
/// [`IngestError::NoTable`], [`IngestError::CommasCollide`], [`IngestError::TooManyColumns`].
pub fn sniff(
    file: &str,
    lines: &[SampleLine],
    given: &LayoutMapping,
    most_columns: usize,
) -> Result<Layout, IngestError> {
    let marks = |delimiter: u8| -> Vec<DecimalMark> {
        match given.decimal {
            Some(mark) => vec![mark],
            None if delimiter == b',' && !lines.iter().any(|(_, l)| l.contains(&b'"')) => {
                vec![DecimalMark::Point]
            }
            None => vec![DecimalMark::Point, DecimalMark::Comma],
        }
    };
    let delimiters = match given.delimiter.and_then(|d| u8::try_from(u32::from(d)).ok()) {
        Some(d) => vec![d],
        None => DELIMITERS.to_vec(),
    };
    let mut best: Option<Trial> = None;
    for delimiter in delimiters {
        for mark in marks(delimiter) {
            let trial = trial(parted(lines, delimiter), delimiter, mark);
            if best.as_ref().is_none_or(|b| trial.score > b.score) {
                best = Some(trial);
            }
        }
    }
    finish(file, best, given, most_columns)
}

/// Finds the table among rows that come parted (a workbook, JSON lines).
///
/// # Errors
/// [`IngestError::NoTable`], [`IngestError::TooManyColumns`].
pub fn sniff_rows(
    file: &str,
    rows: &[Row],
    given: &LayoutMapping,
    most_columns: usize,
) -> Result<Layout, IngestError> {
    let marks = given.decimal.map_or(vec![DecimalMark::Point, DecimalMark::Comma], |m| vec![m]);
    let trials = marks.into_iter().map(|mark| trial(rows.to_vec(), 0, mark));
    let best = trials.reduce(|a, b| if b.score > a.score { b } else { a });
    finish(file, best, given, most_columns)
}

fn finish(
    file: &str,
    best: Option<Trial>,
    given: &LayoutMapping,
    most_columns: usize,
) -> Result<Layout, IngestError> {
    let Some(best) = best else { return Err(IngestError::Empty { place: Place::file(file) }) };
    if best.rows.is_empty() {
        return Err(no_table(file, &best.all));
    }
    let widest = best.all.iter().map(Row::len).max().unwrap_or(0);
    if best.width.max(if best.delimiter == 0 { widest } else { 0 }) > most_columns {
        return Err(IngestError::TooManyColumns {
            found: best.width.max(widest),
            allowed: most_columns,
            place: Place::file(file),
        });
    }
    layout(file, given, &best)
}

fn no_table(file: &str, rows: &[Row]) -> IngestError {
    match rows.iter().find(|r| !r.is_blank()) {
        None => IngestError::Empty { place: Place::file(file) },
        Some(row) => IngestError::NoTable {
            found: format!("first line '{}'", shorten(&row.texts().join(" "))),
            place: Place::line(file, row.line),
        },
    }
}

fn layout(file: &str, given: &LayoutMapping, best: &Trial) -> Result<Layout, IngestError> {
    let first = first_row(best);
    let above = best.all.get(..first).unwrap_or(&[]);
    let head = headings_above(above, best, given.heading_line);
    let first_line = best.all.get(first).map_or(1, |r| r.line);
    let width = best.width.max(head.names.len());
    if head.line.is_some() {
        let named = head.names.iter().filter(|n| !n.trim().is_empty()).count();
        if best.delimiter == b','
            && best.mark == DecimalMark::Point
            && named >= 2
            && best.width > named
            && commas_split_decimals(best, named)
        {
            return Err(IngestError::CommasCollide {
                found: best.width,
                headings: named,
                place: Place::line(file, first_line),
            });
        }
    }
    let headings = (0..width)
        .map(|i| match head.names.get(i).map(|n| n.trim()) {
            Some(name) if !name.is_empty() => name.to_owned(),
            _ => format!("Column {}", i + 1),
        })
        .collect();
    let upto = head.line.unwrap_or(first_line);
    let separator =
        if best.delimiter == 0 { "\t".to_owned() } else { char::from(best.delimiter).to_string() };
    Ok(Layout {
        delimiter: best.delimiter,
        decimal: best.mark,
        decimal_doubt: if given.decimal.is_some() { None } else { decimal_doubt(best) },
        heading_line: head.line,
        unit_line: head.unit_line,
        first_line,
        width: best.width,
        headings,
        has_headings: head.line.is_some(),
        units: head.units,
        preamble: above
            .iter()
            .filter(|r| r.line < upto && !r.is_blank())
            .map(|r| (r.line, r.texts().join(&separator)))
            .collect(),
    })
}

/// Every value column of the headings has become two cells.
fn commas_split_decimals(best: &Trial, named: usize) -> bool {
    let extra = best.width - named;
    let all_whole = best.data().all(|(row, shapes)| {
        shapes.iter().enumerate().all(|(i, s)| *s != Shape::Number || !row.cell(i).contains(&b'.'))
    });
    all_whole && extra >= 1 && (extra + 1 == named || extra + 2 == named)
}

/// The first row of readings: the first data row of the usual width, and rows directly above it that have a clock time
/// in the same column but no value yet.
fn first_row(best: &Trial) -> usize {
    let width_of = |i: usize| best.all.get(i).map_or(0, Row::len);
    let usual = best.rows.iter().find(|(i, _)| width_of(*i) == best.width).or(best.rows.first());
    let Some((mut first, shapes)) = usual.map(|(i, s)| (*i, s)) else { return 0 };
    let clock_at = shapes.iter().position(|s| matches!(s, Shape::Stamp | Shape::Day | Shape::Clock));
    while let (Some(at), Some(row)) = (clock_at, first.checked_sub(1).and_then(|i| best.all.get(i))) {
        let same = row.len() == best.width
            && matches!(shape(row.cell(at), best.mark), Shape::Stamp | Shape::Day | Shape::Clock);
        if !same {
            break;
        }
        first -= 1;
    }
    first
}

#[derive(Default)]
struct Head {
    line: Option<u64>,
    unit_line: Option<u64>,
    names: Vec<String>,
    units: Vec<String>,
}

/// Date and clock patterns as unit rows show them.
fn is_format_word(text: &str) -> bool {
    let lower = text.to_lowercase();
    let letters = lower.chars().filter(|c| c.is_alphabetic()).collect::<String>();
    letters.len() >= 2
        && letters.chars().all(|c| "ymdhstjauf".contains(c))
        && lower.contains(['/', '.', '-', ':'])
}

fn is_unit_row(cells: &[String]) -> bool {
    let filled: Vec<&String> = cells.iter().filter(|c| !c.is_empty()).collect();
    let units =
        filled.iter().filter(|c| unit_word(c).is_some() || is_format_word(c) || is_span_word(c)).count();
    units >= 1 && units * 2 > filled.len()
}

fn is_span_word(text: &str) -> bool {
    matches!(
        text.to_lowercase().as_str(),
        "s" | "sec" | "min" | "h" | "hr" | "ms" | "#" | "no." | "seconds" | "minutes" | "hours"
    )
}

fn headings_above(above: &[Row], best: &Trial, given: Option<u64>) -> Head {
    let split = |row: &Row| {
        let mut cells = row.texts();
        while cells.last().is_some_and(String::is_empty) {
            cells.pop();
        }
        cells
    };
    if let Some(wanted) = given {
        let found = above.iter().find(|l| l.line == wanted);
        return found.map_or_else(Head::default, |l| {
            let below = above
                .iter()
                .find(|b| b.line > wanted)
                .map(|b| (b.line, split(b)))
                .filter(|(_, c)| is_unit_row(c));
            let (unit_line, units) = below.map_or((None, Vec::new()), |(n, c)| (Some(n), c));
            Head { line: Some(wanted), unit_line, names: split(l), units }
        });
    }
    let rule =
        |cells: &[String]| cells.iter().all(|c| c.chars().all(|x| matches!(x, '-' | '=' | '_' | '*' | '+')));
    let mut candidates =
        above.iter().rev().map(|l| (l.line, split(l))).filter(|(_, c)| !c.is_empty() && !rule(c));
    let mut head = Head::default();
    let Some((line, cells)) = candidates.next() else { return head };
    let wide = |cells: &[String]| cells.len() >= 2 && cells.len() * 2 >= best.width;
    let texts = |cells: &[String]| {
        let filled = cells.iter().filter(|c| !c.is_empty()).count();
        let text = cells
            .iter()
            .filter(|c| shape(c.as_bytes(), best.mark) == Shape::Text || unit_word(c).is_some())
            .count();
        text * 2 > filled
    };
    if !wide(&cells) {
        return head;
    }
    if is_unit_row(&cells)
        && let Some((name_line, names)) = candidates.next().filter(|(_, c)| wide(c) && !is_unit_row(c))
    {
        head = Head { line: Some(name_line), unit_line: Some(line), names, units: cells };
    } else if texts(&cells) {
        head = Head { line: Some(line), unit_line: None, names: cells, units: Vec::new() };
    }
    head
}

/// A cell that shows the doubt where all marks could part thousands as well as decimals.
fn decimal_doubt(best: &Trial) -> Option<String> {
    let mut example = None;
    for (row, shapes) in best.data() {
        for (i, s) in shapes.iter().enumerate().filter(|(_, s)| **s == Shape::Number) {
            let cell = row.text(i);
            let number: &str = cell.trim_start_matches(['-', '+']);
            let number =
                number.split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','))).next().unwrap_or("");
            if !number.contains(['.', ',']) || *s != Shape::Number {
                continue;
            }
            let suspicious = if best.delimiter == b';' { ['.', ','] } else { [',', ','] };
            if !looks_like_thousands(number, suspicious) {
                return None;
            }
            example.get_or_insert(cell);
        }
    }
    example
}

fn looks_like_thousands(number: &str, marks: [char; 2]) -> bool {
    let found: Vec<char> = number.chars().filter(|c| !c.is_ascii_digit()).collect();
    let [mark] = found.as_slice() else { return false };
    let Some((whole, rest)) = number.split_once(*mark) else { return false };
    marks.contains(mark) && (1..=3).contains(&whole.len()) && rest.len() == 3 && !whole.starts_with('0')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Result<Layout, IngestError> {
        let lines: Vec<SampleLine> = text.lines().zip(1..).map(|(l, n)| (n, l.as_bytes().to_vec())).collect();
        sniff("f", &lines, &LayoutMapping::default(), 100)
    }

    #[test]
    fn semicolons_and_decimal_commas_under_a_preamble() {
        let l = of("Logger 7\nSerial;1234\n\nDatum;Luft;Kern\nTT.MM.JJJJ hh:mm;°C;°C\n01.03.2026 08:00;71,5;20,1\n01.03.2026 08:01;71,6;20,2\n").unwrap();
        assert_eq!((l.delimiter, l.decimal), (b';', DecimalMark::Comma));
        assert_eq!((l.heading_line, l.unit_line, l.first_line), (Some(4), Some(5), 6));
        assert_eq!(l.headings, ["Datum", "Luft", "Kern"]);
        assert_eq!(l.preamble.len(), 2);
    }

    #[test]
    fn thousands_or_decimals_is_in_doubt() {
        assert!(of("t;w\n2026-03-01 08:00;1,234\n2026-03-01 08:01;1,230\n").unwrap().decimal_doubt.is_some());
        assert!(of("t;w\n2026-03-01 08:00;1,234\n2026-03-01 08:01;0,980\n").unwrap().decimal_doubt.is_none());
        assert!(of("t,w\n2026-03-01 08:00,1.234\n").unwrap().decimal_doubt.is_none());
    }

    #[test]
    fn commas_that_collide_are_refused() {
        let e = of("time,air,core\n01/03/2026 08:00,71,5,20,1\n01/03/2026 08:01,71,6,20,2\n");
        assert!(matches!(e, Err(IngestError::CommasCollide { found: 5, headings: 3, .. })), "{e:?}");
    }
}
