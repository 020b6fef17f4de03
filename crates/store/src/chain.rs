//! A chain of entries that only grows.

use crate::entry::write;
use crate::line::read_lines;
use crate::{Body, Digest, Draft, Entry, EntryBody, RecordView, Rule, StoreError};

/// A chain of entries. It only grows; every line names the hash of the line before.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain<B = Body> {
    entries: Vec<Entry<B>>,
    lines: Vec<String>,
}

impl<B: EntryBody> Chain<B> {
    /// Begins a chain.
    ///
    /// # Errors
    /// As [`Chain::append`].
    pub fn open(draft: Draft<B>) -> Result<Self, StoreError> {
        let mut chain = Self { entries: Vec::new(), lines: Vec::new() };
        chain.append(draft)?;
        Ok(chain)
    }
    /// Adds an entry.
    ///
    /// # Errors
    /// [`StoreError::Rule`] where the entry may not stand here, [`StoreError::Unwritable`] where a number is not
    /// finite. The chain is then as it was.
    pub fn append(&mut self, draft: Draft<B>) -> Result<&Entry<B>, StoreError> {
        let n = self.entries.len() as u64 + 1;
        let (line, entry) = write(n, self.head(), draft)?;
        let broken = |rule| StoreError::Rule { n, rule };
        crate::rules::check_envelope(&entry).map_err(broken)?;
        entry.body.check(&entry, &self.entries).map_err(broken)?;
        self.lines.push(line);
        self.entries.push(entry);
        self.entries.last().ok_or(StoreError::Rule { n, rule: Rule::NoSuchEntry { entry: n, entries: 0 } })
    }
    /// Seals an entry after the end of a stream that is not read: for entries that stand alone
    /// ([`EntryBody::stands_alone`]).
    ///
    /// # Errors
    /// As [`Chain::append`].
    pub(crate) fn seal_after(
        last_n: u64,
        head: Digest,
        draft: Draft<B>,
    ) -> Result<(String, Entry<B>), StoreError> {
        let n = last_n + 1;
        let (line, entry) = write(n, head, draft)?;
        let broken = |rule| StoreError::Rule { n, rule };
        crate::rules::check_envelope(&entry).map_err(broken)?;
        entry.body.check(&entry, &[]).map_err(broken)?;
        Ok((line, entry))
    }
    /// Reads the bytes of a `record.jsonl`.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] with the first thing that is wrong; [`crate::verify`] lists all.
    pub fn parse(bytes: &[u8]) -> Result<Self, StoreError> {
        let read = read_lines::<B>(bytes);
        if let Some(problem) = read.problems.into_iter().next() {
            return Err(StoreError::Damaged(Box::new(problem)));
        }
        Ok(Self { entries: read.entries, lines: read.lines })
    }
    /// The entries in order.
    #[must_use]
    pub fn entries(&self) -> &[Entry<B>] {
        &self.entries
    }
    /// The lines in order, without their line feeds.
    #[must_use]
    pub fn lines(&self) -> &[String] {
        &self.lines
    }
    /// The bytes of `record.jsonl`: every line with a line feed.
    #[must_use]
    pub fn to_jsonl(&self) -> String {
        self.lines.iter().flat_map(|l| [l.as_str(), "\n"]).collect()
    }
    /// Hash of the last entry: the head of the chain.
    #[must_use]
    pub fn head(&self) -> Digest {
        self.entries.last().map_or(Digest::ZERO, |e| e.hash)
    }
    /// Number of the last entry.
    #[must_use]
    pub fn last_n(&self) -> u64 {
        self.entries.len() as u64
    }
}

impl Chain<Body> {
    /// What stands after corrections and withdrawals.
    #[must_use]
    pub fn view(&self) -> RecordView {
        RecordView::of(&self.entries)
    }
}
