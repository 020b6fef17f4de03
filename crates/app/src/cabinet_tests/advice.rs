//! Which test next, with what the operator does.

use fallrate_equipment::{Cabinet, ControllerKind};
use fallrate_fit::commission::{Advice, Ask, Planned, Quantity};
use fallrate_report::{Block, Column, Document, Sign, Table};

use super::report::Evaluated;
use super::tell;
use crate::words::{Reader, fixed, say};
use crate::{AppError, Library};

/// Instructions are written out for so many tests.
const WRITTEN_OUT: usize = 3;

/// Which test to do next on a cabinet of the library or of a file, nothing being measured yet; or after what was evaluated.
///
/// # Errors
/// [`AppError`] where the cabinet is not known.
pub fn advice_document(
    library: &Library,
    files: &dyn crate::ports::Files,
    cabinet: &str,
    done: Option<&Evaluated>,
    r: &Reader,
) -> Result<Document, AppError> {
    let (draft, advice) = match done {
        Some(e) => (e.draft.clone(), e.advice.clone()),
        None => {
            let draft = library.cabinet(files, cabinet)?;
            let advice = fallrate_fit::commission::advise(&draft, &Default::default(), None)?;
            (draft, advice)
        }
    };
    Ok(document(&draft, &advice, done.is_some(), r))
}

fn document(draft: &Cabinet, advice: &[Advice], after: bool, r: &Reader) -> Document {
    let mut blocks = Vec::new();
    match advice.first() {
        Some(first) => blocks.push(Block::Answer {
            sign: Sign::Plain,
            headline: say!(r, "advise-headline", test = tell::ask(r, draft, first.planned.ask)),
            subline: takes(r, &first.planned),
        }),
        None => blocks.push(Block::Answer {
            sign: Sign::Yes,
            headline: r.text("advise-enough"),
            subline: r.text("advise-enough-text"),
        }),
    }
    blocks.push(Block::Text(r.text(if after { "advise-after" } else { "advise-before" })));
    if !advice.is_empty() {
        blocks.push(Block::Table(table(draft, advice, r)));
        blocks.push(Block::Heading { level: 1, text: r.text("advise-ready") });
        blocks.push(Block::List(vec![
            r.text("advise-ready-logger"),
            r.text("advise-ready-room"),
            r.text("advise-ready-mark"),
            r.text("advise-ready-meter"),
        ]));
    }
    for a in distinct(advice).into_iter().take(WRITTEN_OUT) {
        blocks.push(Block::Heading { level: 1, text: tell::ask(r, draft, a.planned.ask) });
        blocks.push(Block::Text(takes(r, &a.planned)));
        blocks.push(Block::List(steps(draft, &a.planned, r)));
        blocks.push(Block::Text(say!(r, "advise-pins-down", what = narrows(draft, a, r))));
    }
    Document {
        language: r.words.language().tag().to_owned(),
        title: say!(r, "advise-title", cabinet = r.words.pick(&draft.name.en, &draft.name.es).to_owned()),
        words: crate::proof::document_words(r),
        page_word: r.text("proof-page"),
        blocks,
        ..Document::default()
    }
}

/// One of each kind: the same test at another mark needs no second description.
fn distinct(advice: &[Advice]) -> Vec<&Advice> {
    let mut seen = Vec::new();
    let mut out = Vec::new();
    for a in advice {
        let kind = std::mem::discriminant(&a.planned.ask);
        if !seen.contains(&kind) {
            seen.push(kind);
            out.push(a);
        }
    }
    out
}

fn takes(r: &Reader, p: &Planned) -> String {
    say!(r, "advise-takes", whole = r.duration(rounded(p.duration_s)), hands = r.duration(rounded(p.hands_s)))
}

/// To 5 minutes.
fn rounded(s: f64) -> f64 {
    (s / 300.0).round().max(1.0) * 300.0
}

fn narrows(draft: &Cabinet, a: &Advice, r: &Reader) -> String {
    const MOST: usize = 4;
    let mut list: Vec<String> = a
        .narrows
        .iter()
        .filter(|n| !matches!(n.quantity, Quantity::AirShare(_)))
        .take(MOST)
        .map(|n| tell::quantity(r, draft, n.quantity))
        .collect();
    if a.narrows.iter().any(|n| matches!(n.quantity, Quantity::AirShare(_))) {
        list.insert(0, r.text("advise-map"));
    }
    list.join(", ")
}

fn table(draft: &Cabinet, advice: &[Advice], r: &Reader) -> Table {
    let row = |a: &Advice| {
        vec![
            tell::ask(r, draft, a.planned.ask),
            r.duration(rounded(a.planned.duration_s)),
            r.duration(rounded(a.planned.hands_s)),
            narrows(draft, a, r),
            fixed(a.worth, 1),
        ]
    };
    Table {
        title: r.text("advise-table"),
        header: vec![
            Column::left(&r.text("advise-col-test")),
            Column::right(&r.text("advise-col-takes")),
            Column::right(&r.text("advise-col-hands")),
            Column::left(&r.text("advise-col-pins")),
            Column::right(&r.text("advise-col-worth")),
        ],
        rows: advice.iter().map(row).collect(),
        note: Some(r.text("advise-table-note")),
    }
}

/// What the operator does.
fn steps(draft: &Cabinet, p: &Planned, r: &Reader) -> Vec<String> {
    let set = r.temperature(p.set_point_c);
    let least = tell::mark(draft, 0);
    match p.ask {
        Ask::HeatCool { meter } => {
            let mut out = vec![
                say!(r, "advise-heat-1", mark = least),
                say!(r, "advise-heat-2", set = set),
                say!(r, "advise-heat-3", off = r.temperature(p.off_at_c)),
                say!(r, "advise-heat-4", whole = r.duration(rounded(p.duration_s))),
            ];
            out.insert(2, r.text(if meter { "advise-heat-meter" } else { "advise-heat-no-meter" }));
            out
        }
        Ask::Hold => {
            let mut out = vec![
                say!(r, "advise-hold-1", mark = least, set = set),
                r.text("advise-hold-2"),
                r.text("advise-hold-3"),
            ];
            if matches!(draft.controller.kind, ControllerKind::OnOff { .. }) {
                out.push(r.text("advise-hold-display"));
            }
            out
        }
        Ask::Decay { mark } => vec![
            say!(r, "advise-decay-1", mark = tell::mark(draft, mark), set = set),
            r.text("advise-decay-2"),
            r.text("advise-decay-3"),
        ],
        Ask::Pan { mark } => vec![
            say!(r, "advise-pan-1", mark = tell::mark(draft, mark), set = set),
            r.text("advise-pan-2"),
            r.text("advise-pan-3"),
        ],
        Ask::Cloths { mark } => vec![
            say!(r, "advise-cloths-1", mark = tell::mark(draft, mark), set = set),
            r.text("advise-cloths-2"),
            r.text("advise-cloths-3"),
            r.text("advise-cloths-4"),
        ],
    }
}
