//! Rows of cells from a stream of text, a line at a time and in flat memory.
//!
//! A line of the file is a row: a quoted cell may hold delimiters and doubled quotes but no line end, so that one stray
//! quote damages one row (which is then reported) and never swallows those after it.

use std::io::Read;

use crate::error::{IngestError, Place};

/// One row: its cells and where it stood.
#[derive(Clone, Debug, Default)]
pub struct Row {
    text: Vec<u8>,
    ends: Vec<(u32, u32)>,
    /// Line of the file, from 1.
    pub line: u64,
}

impl Row {
    /// Number of cells.
    #[must_use]
    #[allow(clippy::len_without_is_empty)]
    pub fn len(&self) -> usize {
        self.ends.len()
    }
    /// A cell; empty where the row has no such cell.
    #[must_use]
    pub fn cell(&self, index: usize) -> &[u8] {
        match self.ends.get(index) {
            Some(&(from, to)) => self.text.get(from as usize..to as usize).unwrap_or(&[]),
            None => &[],
        }
    }
    /// A cell as text, repaired where it is not UTF-8.
    #[must_use]
    pub fn text(&self, index: usize) -> String {
        String::from_utf8_lossy(self.cell(index)).trim().to_owned()
    }
    /// All cells as text.
    #[must_use]
    pub fn texts(&self) -> Vec<String> {
        (0..self.len()).map(|i| self.text(i)).collect()
    }
    /// Whether all cells are blank.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        self.text.iter().all(|b| b.is_ascii_whitespace() || matches!(b, b',' | b';' | b'|' | b'"'))
    }
    /// Drops the last cell.
    pub fn drop_last(&mut self) {
        self.ends.pop();
    }
    /// Empties the row for a new line.
    pub fn clear(&mut self, line: u64) {
        self.text.clear();
        self.ends.clear();
        self.line = line;
    }
    /// Adds a cell.
    #[allow(clippy::cast_possible_truncation)] // lines are limited far below 4 GiB
    pub fn push(&mut self, cell: &[u8]) {
        let from = self.text.len() as u32;
        self.text.extend_from_slice(cell);
        self.ends.push((from, self.text.len() as u32));
    }

    /// Splits a line into cells.
    pub fn split(&mut self, line: &[u8], number: u64, delimiter: u8) {
        self.clear(number);
        self.text.extend_from_slice(line);
        if memchr::memchr(b'"', line).is_some() {
            self.split_quoted(line, delimiter);
            return;
        }
        self.split_plain(line, delimiter);
    }

    #[allow(clippy::cast_possible_truncation)]
    fn split_plain(&mut self, line: &[u8], delimiter: u8) {
        let mut from = 0u32;
        for (at, c) in line.iter().enumerate() {
            if *c == delimiter {
                self.ends.push((from, at as u32));
                from = at as u32 + 1;
            }
        }
        self.ends.push((from, line.len() as u32));
    }

    /// Cells with quotes: a quote at the beginning of a cell opens it, a doubled quote inside stands for one.
    fn split_quoted(&mut self, line: &[u8], delimiter: u8) {
        self.text.clear();
        let mut cell = Vec::new();
        let (mut quoted, mut at) = (false, 0);
        while let Some(&c) = line.get(at) {
            at += 1;
            if quoted {
                match (c, line.get(at)) {
                    (b'"', Some(b'"')) => {
                        cell.push(b'"');
                        at += 1;
                    }
                    (b'"', _) => quoted = false,
                    _ => cell.push(c),
                }
            } else if c == delimiter {
                self.push(&cell);
                cell.clear();
            } else if c == b'"' && cell.iter().all(u8::is_ascii_whitespace) {
                cell.clear();
                quoted = true;
            } else {
                cell.push(c);
            }
        }
        self.push(&cell);
    }
}

/// Lines of a stream, without their ends (LF, CR LF, or CR alone where the file has no LF).
pub struct LineReader<R> {
    inner: R,
    buffer: Vec<u8>,
    from: usize,
    to: usize,
    ended: bool,
    number: u64,
    end_byte: u8,
    most: usize,
    file: String,
    /// The last line had no line end.
    pub unfinished: bool,
}

impl<R: Read> LineReader<R> {
    /// Reads lines of at most `most` bytes; `carriage_return` for files whose lines end in CR alone.
    pub fn new(inner: R, file: &str, most: usize, carriage_return: bool) -> Self {
        let end_byte = if carriage_return { b'\r' } else { b'\n' };
        Self {
            inner,
            buffer: vec![0; (256 << 10).max(most + 2)],
            from: 0,
            to: 0,
            ended: false,
            number: 0,
            end_byte,
            most,
            file: file.to_owned(),
            unfinished: false,
        }
    }

    /// The stream behind.
    pub fn inner(&self) -> &R {
        &self.inner
    }

    /// The next line, or `None` at the end.
    ///
    /// # Errors
    /// [`IngestError::LineTooLong`], or the error of the stream.
    pub fn next_line(&mut self) -> Result<Option<(&[u8], u64)>, IngestError> {
        let mut searched = 0;
        let end = loop {
            let pending = self.buffer.get(self.from..self.to).unwrap_or(&[]);
            let tail = pending.get(searched..).unwrap_or(&[]);
            if let Some(at) = memchr::memchr(self.end_byte, tail) {
                break Some(searched + at);
            }
            searched = pending.len();
            if searched > self.most {
                return Err(self.too_long());
            }
            if self.ended {
                break None;
            }
            self.fill()?;
        };
        let pending = self.to - self.from;
        let (length, used) = match end {
            Some(at) => (at, at + 1),
            None if pending == 0 => return Ok(None),
            None => {
                self.unfinished = true;
                (pending, pending)
            }
        };
        if length > self.most {
            return Err(self.too_long());
        }
        let start = self.from;
        self.from += used;
        self.number += 1;
        let line = self.buffer.get(start..start + length).unwrap_or(&[]);
        Ok(Some((line.strip_suffix(b"\r").unwrap_or(line), self.number)))
    }

    fn too_long(&self) -> IngestError {
        IngestError::LineTooLong { allowed: self.most, place: Place::line(&self.file, self.number + 1) }
    }

    fn fill(&mut self) -> Result<(), IngestError> {
        if self.from > 0 {
            self.buffer.copy_within(self.from..self.to, 0);
            self.to -= self.from;
            self.from = 0;
        }
        if self.to == self.buffer.len() {
            return Err(self.too_long());
        }
        let space = self.buffer.get_mut(self.to..).unwrap_or(&mut []);
        let n = loop {
            match self.inner.read(space) {
                Ok(n) => break n,
                Err(e) if e.kind() == std::io::ErrorKind::Interrupted => {}
                Err(e) => return Err(read_error(&e, Place::line(&self.file, self.number + 1))),
            }
        };
        self.ended = n == 0;
        self.to += n;
        Ok(())
    }
}

/// The error a limited stream raises; carried through `io::Error`.
#[derive(Debug)]
struct PastLimit(u64);
impl std::fmt::Display for PastLimit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "more than {} bytes", self.0)
    }
}
impl std::error::Error for PastLimit {}

/// The refusal that an error of a stream means.
pub(crate) fn read_error(error: &std::io::Error, place: Place) -> IngestError {
    match limit_of(error) {
        Some(allowed) => IngestError::TooLarge { allowed, place },
        None => IngestError::Read { kind: error.kind(), place },
    }
}

fn limit_of(error: &std::io::Error) -> Option<u64> {
    error.get_ref()?.downcast_ref::<PastLimit>().map(|p| p.0)
}

/// Counts and hashes the original bytes as they pass, and refuses to pass more than a limit.
pub struct HashingReader<R> {
    inner: R,
    hasher: sha2::Sha256,
    count: u64,
    most: u64,
}

impl<R: Read> HashingReader<R> {
    /// Wraps a stream.
    pub fn new(inner: R, most: u64) -> Self {
        Self { inner, hasher: <sha2::Sha256 as sha2::Digest>::new(), count: 0, most }
    }
    /// SHA-256 in lower-case hexadecimal digits, and the number of bytes.
    #[must_use]
    pub fn digest(&self) -> (String, u64) {
        use sha2::Digest;
        (hex(&self.hasher.clone().finalize()), self.count)
    }
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::with_capacity(64), |mut text, b| {
        let _ = write!(text, "{b:02x}");
        text
    })
}

impl<R: Read> Read for HashingReader<R> {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        let n = self.inner.read(out)?;
        sha2::Digest::update(&mut self.hasher, out.get(..n).unwrap_or(&[]));
        self.count += n as u64;
        if self.count > self.most {
            return Err(std::io::Error::other(PastLimit(self.most)));
        }
        Ok(n)
    }
}

/// SHA-256 of bytes in lower-case hexadecimal digits.
#[must_use]
pub fn sha256_hex(bytes: &[u8]) -> String {
    hex(&<sha2::Sha256 as sha2::Digest>::digest(bytes))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(line: &str) -> Vec<String> {
        let mut row = Row::default();
        row.split(line.as_bytes(), 1, b',');
        row.texts()
    }

    #[test]
    fn quotes() {
        assert_eq!(cells(r#""a,b",c,"d ""e""" "#), ["a,b", "c", "d \"e\""]);
        assert_eq!(cells(r#"5" tray,2"#), ["5\" tray", "2"]);
        assert_eq!(cells(r#""open,2,3"#), ["open,2,3"]);
        assert_eq!(cells(",,"), ["", "", ""]);
    }

    #[test]
    fn lines_and_their_limit() {
        let mut lines = LineReader::new(&b"a\r\nb\n\nc"[..], "f", 10, false);
        let mut got = Vec::new();
        while let Some((line, n)) = lines.next_line().unwrap() {
            got.push((String::from_utf8(line.to_vec()).unwrap(), n));
        }
        assert_eq!(got, [("a".into(), 1), ("b".into(), 2), (String::new(), 3), ("c".into(), 4)]);
        let long = vec![b'x'; 5000];
        assert!(LineReader::new(&long[..], "f", 100, false).next_line().is_err());
    }

    #[test]
    fn table_sha256_of_abc() {
        // FIPS 180-4 example value, from memory; also printed by `printf abc | sha256sum`.
        assert_eq!(sha256_hex(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
