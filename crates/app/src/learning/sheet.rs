//! What all documents of learning have in common.

use fallrate_report::{Block, Document, Flag, Level, Paper, Sign, Table};

use crate::proof::document_words;
use crate::words::{Reader, Units, say};

/// The day a document is made on, as `YYYY-MM-DD`: given from outside, where there is a clock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Day(pub String);

/// A document with its head and foot.
pub(super) fn document(r: &Reader, title: String, subject: String, day: &Day, invented: bool) -> Document {
    Document {
        language: r.words.language().tag().to_owned(),
        date: Some(day.0.clone()),
        paper: match r.units {
            Units::Si => Paper::A4,
            Units::Us => Paper::Letter,
        },
        flag: invented.then(|| Flag {
            word: r.text("learn-flag-invented"),
            meaning: r.text("learn-flag-invented-meaning"),
        }),
        running_head: r.text("learn-head"),
        title,
        subject,
        running_foot: say!(r, "proof-foot", version = crate::VERSION),
        page_word: r.text("proof-page"),
        words: document_words(r),
        ..Document::default()
    }
}

/// The largest line.
pub(super) fn answer(headline: String, subline: String) -> Block {
    Block::Answer { sign: Sign::Plain, headline, subline }
}

/// A notice of a level.
pub(super) fn notice(r: &Reader, level: Level, text: String) -> Block {
    let word = r.text(match level {
        Level::Note => "level-note",
        Level::Caution => "level-caution",
        Level::Act => "level-act",
    });
    Block::Notice { level, word, text }
}

pub(super) fn heading(text: String) -> Block {
    Block::Heading { level: 1, text }
}

/// A table that is left out where it has no row.
pub(super) fn table(table: Table) -> Option<Block> {
    (!table.rows.is_empty()).then_some(Block::Table(table))
}

/// A number with so many digits that count: "0.134", "2.31e-10".
pub(super) fn digits(value: f64, count: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return crate::words::fixed(value, 0);
    }
    let exponent = value.abs().log10().floor();
    if !(-4.0..6.0).contains(&exponent) {
        return format!("{value:.*e}", count.saturating_sub(1));
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let after = (count as f64 - 1.0 - exponent).max(0.0) as usize;
    format!("{value:.after$}")
}

/// JSON with indents; what cannot be written becomes empty, which a test excludes.
pub(super) fn json(value: &serde_json::Value) -> String {
    serde_json::to_string_pretty(value).map(|t| t + "\n").unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::digits;

    #[test]
    fn identity_digits_that_count() {
        assert_eq!(digits(0.134_49, 3), "0.134");
        assert_eq!(digits(2.314e-10, 3), "2.31e-10");
        assert_eq!(digits(12_345.6, 3), "12346");
    }
}
