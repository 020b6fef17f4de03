//! Products and cabinets: what there is, and each figure with its range, mark and source.

mod cabinet;
mod facts;
mod product;

pub use cabinet::{cabinet_page, cabinets_page};
pub use product::{product_page, products_page};

pub(crate) use cabinet::cabinet_facts;
pub(crate) use facts::Fact;
pub(crate) use product::product_facts;

use std::collections::BTreeSet;

use fallrate_report::{Caution, Column, FigureGroup, Level, PlanPage, Source, Table};

use crate::library::Library;
use crate::page::mark_word;
use crate::words::{Reader, say};

/// The figures of an item as a table.
fn facts_table(r: &Reader, facts: &[Fact]) -> Table {
    let rows = facts.iter().map(|f| {
        vec![
            f.label.clone(),
            f.value.clone(),
            f.range.clone(),
            mark_word(r, &f.mark),
            source_name(r, &f.source),
            f.note.clone().unwrap_or_default(),
        ]
    });
    let rows: Vec<Vec<String>> = rows.collect();
    let mut header = vec![
        Column::left(&r.text("column-figure")),
        Column::right(&r.text("column-value")),
        Column::right(&r.text("column-range")),
        Column::left(&r.text("column-mark")),
        Column::left(&r.text("column-source")),
    ];
    let noted = rows.iter().any(|row| row.last().is_some_and(|n| !n.is_empty()));
    let rows = if noted {
        header.push(Column::left(&r.text("column-note")));
        rows
    } else {
        rows.into_iter()
            .map(|mut row| {
                row.pop();
                row
            })
            .collect()
    };
    Table { title: r.text("table-figures"), header, rows, note: Some(r.text("table-figures-note")) }
}

fn source_name(r: &Reader, key: &str) -> String {
    match key {
        "own-assumption" => r.text("source-own"),
        "common-practice" => r.text("source-practice"),
        "invented for demonstration" => r.text("source-invented"),
        _ => key.to_owned(),
    }
}

/// How many figures carry each mark.
fn marks_summary(r: &Reader, facts: &[Fact]) -> String {
    let count = |mark: &str| facts.iter().filter(|f| f.mark == mark).count();
    say!(
        r,
        "marks-summary",
        all = facts.len(),
        read = count("read"),
        computed = count("computed"),
        memory = count("memory"),
        assumed = count("assumed")
    )
}

/// Sources named by the figures.
fn sources(r: &Reader, library: &Library, facts: &[Fact]) -> Vec<Source> {
    let keys: BTreeSet<&str> = facts.iter().map(|f| f.source.as_str()).collect();
    keys.into_iter()
        .filter_map(|key| {
            let s = library.sources().get(key)?;
            Some(Source {
                text: format!("{}, {}, {}", s.title, s.issuer, s.year),
                basis: say!(r, "source-read", read = r.text(read_key(&s.read))),
                used_for: key.to_owned(),
            })
        })
        .collect()
}

fn read_key(read: &str) -> &'static str {
    match read {
        "whole" => "read-whole",
        "page" => "read-page",
        "abstract" => "read-abstract",
        "excerpt" => "read-excerpt",
        "second hand" => "read-second-hand",
        "none needed" => "read-none-needed",
        _ => "read-nothing",
    }
}

fn note(text: String) -> Caution {
    Caution { level: Level::Note, text }
}

fn page(r: &Reader, subject: String, headline: String, subline: String) -> PlanPage {
    PlanPage {
        language: r.words.language().tag().to_owned(),
        subject,
        headline,
        subline,
        footer: vec![say!(r, "footer-version", version = crate::VERSION)],
        ..PlanPage::default()
    }
}

fn group(title: String, summary: String) -> FigureGroup {
    FigureGroup { title, summary: Some(summary), figures: Vec::new() }
}
