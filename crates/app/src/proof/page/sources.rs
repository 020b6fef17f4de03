//! Method, cautions, and where every limit comes from.

use fallrate_lethality::{Citation, LimitClass};
use fallrate_report::{Block, Column, Level, Table};

use super::super::words;
use super::Sheet;
use crate::words::say;

pub(super) fn blocks(s: &Sheet<'_>) -> Vec<Block> {
    let mut out = vec![Block::Heading { level: 1, text: s.r.text("proof-cautions") }];
    for c in &s.judgement().cautions {
        out.push(s.notice(Level::Caution, words::caution(s.r, *c)));
    }
    for key in ["proof-caution-model", "proof-caution-calibration", "proof-caution-listeria"] {
        out.push(s.notice(Level::Note, s.r.text(key)));
    }
    out.push(Block::Heading { level: 1, text: s.r.text("proof-method") });
    out.push(Block::List(
        [
            "proof-method-colder",
            "proof-method-missing",
            "proof-method-positions",
            "proof-method-not-averaged",
        ]
        .map(|k| s.r.text(k))
        .to_vec(),
    ));
    let documents = documents(s);
    out.push(Block::Table(limits(s, &documents)));
    let numbered = documents.iter().zip(1..).map(|(d, n)| format!("[{n}] {d}"));
    out.push(Block::List(numbered.collect()));
    out
}

/// A document as it is cited.
fn cited(c: &Citation) -> String {
    let parts = [&c.issuer, &c.document, &c.number, &c.date];
    parts.into_iter().map(String::as_str).filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ")
}

/// Every document used, once.
fn documents(s: &Sheet<'_>) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    for text in s.judgement().limits.iter().map(cited) {
        if !list.contains(&text) {
            list.push(text);
        }
    }
    list
}

/// Each limit with document, section, and how it is known.
fn limits(s: &Sheet<'_>, documents: &[String]) -> Table {
    let col = |key: &str| Column::left(&s.r.text(key));
    let number = |c: &Citation| documents.iter().position(|d| *d == cited(c)).map_or(0, |i| i + 1);
    Table {
        title: s.r.text("proof-sources"),
        header: vec![
            col("proof-source-id"),
            col("proof-source-asks"),
            col("proof-source-document"),
            col("proof-source-basis"),
        ],
        rows: s
            .judgement()
            .limits
            .iter()
            .map(|c| {
                vec![
                    c.id.clone(),
                    c.statement.clone(),
                    format!("[{}] {}", number(c), c.section),
                    format!("{}, {}", class(s, c.class), words::basis(s.r, c.basis)),
                ]
            })
            .collect(),
        note: Some(say!(s.r, "proof-sources-note", version = crate::VERSION)),
    }
}

pub(super) fn class(s: &Sheet<'_>, c: LimitClass) -> String {
    s.r.text(match c {
        LimitClass::Critical => "class-critical",
        LimitClass::Label => "class-label",
        LimitClass::Quality => "class-quality",
        LimitClass::Advice => "class-advice",
        LimitClass::Record => "class-record",
    })
}
