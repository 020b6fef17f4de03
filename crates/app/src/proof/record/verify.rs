//! Verifying a record offline, against its files and a printed head.

use fallrate_report::{Block, Document, Sign};
use fallrate_store::{Digest, NoteKind, RECORD_FILE, Verification, verify};

use super::super::page::{document_words, grouped};
use crate::AppError;
use crate::words::{Reader, fixed, say};

/// Least digits of a printed head that are enough to compare by (16 hexadecimal digits: one in 10^19 by chance).
const LEAST_DIGITS: usize = 16;

/// Where a printed head stands in a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PrintedHead {
    /// None was given: what is cut off at the end is not found.
    NotGiven,
    /// It is that of an entry, with so many after it.
    OfEntry {
        /// Number of the entry.
        entry: u64,
        /// Entries after it.
        after: u64,
    },
    /// It is in none.
    Unknown,
}

/// What verifying found.
#[derive(Clone, Debug)]
pub struct Verified {
    /// Chain and files.
    pub chain: Verification,
    /// Number of kept files.
    pub files: usize,
    /// The printed head.
    pub printed_head: PrintedHead,
}

impl Verified {
    /// Whether nothing is wrong.
    #[must_use]
    pub fn is_intact(&self) -> bool {
        self.chain.is_intact() && self.printed_head != PrintedHead::Unknown
    }
}

/// Verifies the bytes of a record. `printed_head`: the head as it stands on a page, spaces and all, whole or its first
/// 16 digits or more. Pages printed earlier carry the head of an earlier entry.
///
/// # Errors
/// [`AppError::NotAHead`] for a head that is too short or not hexadecimal.
pub fn verify_record(
    bytes: &[u8],
    files: &[(String, Vec<u8>)],
    printed_head: Option<&str>,
) -> Result<Verified, AppError> {
    let wanted = printed_head.map(head_digits).transpose()?;
    let attachments =
        |name: &str| files.iter().find(|(n, _)| n == name).map(|(_, b)| (Digest::of(b), b.len() as u64));
    let chain = verify(RECORD_FILE, bytes, &attachments, None);
    let printed_head = match wanted {
        None => PrintedHead::NotGiven,
        Some(w) => {
            let found = chain.entries.iter().find(|e| e.hash.to_string().starts_with(&w));
            found.map_or(PrintedHead::Unknown, |e| PrintedHead::OfEntry {
                entry: e.n,
                after: (chain.entries.len() as u64).saturating_sub(e.n),
            })
        }
    };
    Ok(Verified { chain, files: files.len(), printed_head })
}

fn head_digits(printed: &str) -> Result<String, AppError> {
    let digits: String =
        printed.chars().filter(|c| !c.is_whitespace() && *c != '…').collect::<String>().to_lowercase();
    let length = (LEAST_DIGITS..=64).contains(&digits.len());
    if length && digits.bytes().all(|b| b.is_ascii_hexdigit()) {
        Ok(digits)
    } else {
        Err(AppError::NotAHead { found: printed.to_owned() })
    }
}

/// What verifying found, in words.
#[must_use]
pub fn verified_document(v: &Verified, title: &str, r: &Reader) -> Document {
    let head = v.chain.head.map_or_else(|| "–".to_owned(), |h| grouped(&h.to_string()));
    let (sign, headline) = if v.is_intact() {
        let (entries, files) = (v.chain.entries.len().to_string(), v.files.to_string());
        (Sign::Yes, say!(r, "verify-intact", entries = entries, files = files, head = head))
    } else {
        let unknown = usize::from(v.printed_head == PrintedHead::Unknown);
        let count = (v.chain.problems.len() + unknown).to_string();
        (Sign::No, say!(r, "verify-broken", problems = count))
    };
    let mut lines: Vec<String> = v.chain.problems.iter().map(ToString::to_string).collect();
    lines.push(match v.printed_head {
        PrintedHead::NotGiven => r.text("verify-no-head"),
        PrintedHead::OfEntry { entry, after } => {
            say!(r, "verify-head-fits", entry = entry.to_string(), after = after.to_string())
        }
        PrintedHead::Unknown => r.text("verify-head-unknown"),
    });
    lines.extend(v.chain.notes.iter().map(|n| {
        let entry = n.line.to_string();
        match &n.kind {
            NoteKind::ClockWentBack { by_s } => {
                say!(r, "verify-clock-back", entry = entry, seconds = fixed(*by_s, 0))
            }
            NoteKind::Unknown { kind, .. } => {
                say!(r, "verify-unknown-kind", entry = entry, kind = kind.clone())
            }
            NoteKind::UnknownField { name } => {
                say!(r, "verify-unknown-field", entry = entry, kind = name.clone())
            }
        }
    }));
    Document {
        language: r.words.language().tag().to_owned(),
        title: title.to_owned(),
        words: document_words(r),
        blocks: vec![Block::Answer { sign, headline, subline: String::new() }, Block::List(lines)],
        ..Document::default()
    }
}
