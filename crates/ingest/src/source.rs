//! Where rows come from: lines of text, JSON lines, or rows already parted (workbook, reversed file).

use std::io::{Chain, Cursor, Read};

use crate::encoding::Utf8Reader;
use crate::error::{IngestError, Place};
use crate::table::{HashingReader, LineReader, Row};

/// The lines of a file: its first bytes, kept for looking at, then the rest.
pub type Lines<R> = LineReader<Utf8Reader<Chain<Cursor<Vec<u8>>, HashingReader<R>>>>;

/// Rows of a file.
pub enum RowSource<R: Read> {
    /// Delimited text.
    Text {
        /// Lines.
        lines: Lines<R>,
        /// Byte between cells.
        delimiter: u8,
    },
    /// One JSON object a line.
    Json {
        /// Lines.
        lines: Lines<R>,
        /// Keys that make the columns.
        keys: Vec<String>,
        /// File name.
        file: String,
    },
    /// Rows at hand.
    Ready(std::vec::IntoIter<Row>),
}

impl<R: Read> RowSource<R> {
    /// Reads the next row; false at the end.
    ///
    /// # Errors
    /// Those of the lines, and [`IngestError::NotText`] for a line that is no JSON object.
    pub fn next(&mut self, row: &mut Row) -> Result<bool, IngestError> {
        match self {
            Self::Text { lines, delimiter } => Ok(match lines.next_line()? {
                Some((line, number)) => {
                    row.split(line, number, *delimiter);
                    true
                }
                None => false,
            }),
            Self::Json { lines, keys, file } => loop {
                let Some((line, number)) = lines.next_line()? else { return Ok(false) };
                if crate::jsonl::is_frame(line) {
                    continue;
                }
                crate::jsonl::row_from_line(line, number, keys, row)
                    .map_err(|found| IngestError::NotText { found, place: Place::line(file, number) })?;
                return Ok(true);
            },
            Self::Ready(rows) => Ok(match rows.next() {
                Some(next) => {
                    *row = next;
                    true
                }
                None => false,
            }),
        }
    }

    /// The last row given ended without a line end.
    #[must_use]
    pub fn unfinished(&self) -> bool {
        match self {
            Self::Text { lines, .. } | Self::Json { lines, .. } => lines.unfinished,
            Self::Ready(_) => false,
        }
    }

    /// SHA-256 and number of the bytes read, and whether the encoding had to be repaired.
    #[must_use]
    pub fn digest(&self) -> Option<(String, u64, bool)> {
        match self {
            Self::Text { lines, .. } | Self::Json { lines, .. } => {
                let utf8 = lines.inner();
                let (hash, count) = utf8.inner().get_ref().1.digest();
                Some((hash, count, utf8.repaired()))
            }
            Self::Ready(_) => None,
        }
    }
}
