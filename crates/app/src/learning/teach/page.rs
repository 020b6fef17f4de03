//! What was learned, for people.

use fallrate_fit::learn::{
    CoverageVerdict, GroupKind, LedgerAct, LedgerEntry, LibraryValue, ProposalWarning, QuantityKey, Standing,
};
use fallrate_report::{Bar, BarChart, Block, Column, Document, Kind, Level, Picture, Table};

use super::decide::reversible;
use super::{BatchNote, DRYING_RATE, Learned, Lesson};
use crate::chart::chart_words;
use crate::learning::sheet::{Day, answer, digits, document, heading, notice, table};
use crate::library::Library;
use crate::words::{Reader, say};

/// What was learned, as a document.
#[must_use]
pub fn learned_document(l: &Learned, library: &Library, r: &Reader, day: &Day) -> Document {
    let mut d = document(r, r.text("teach-title"), String::new(), day, false);
    let open = l.lessons.iter().filter(|x| x.is_new).count();
    let said = l.batches.iter().filter(|b| !b.estimates.is_empty()).count();
    let headline = if open == 0 { r.text("teach-nothing-new") } else { r.words.counted("teach-open", open) };
    d.blocks.push(answer(headline, say!(r, "teach-batches-said", said = said, all = l.batches.len())));
    for (n, lesson) in l.lessons.iter().enumerate() {
        d.blocks.extend(lesson_blocks(lesson, n + 1, library, r));
    }
    d.blocks.push(heading(r.text("teach-coverage")));
    d.blocks.push(match l.coverage.is_empty() {
        true => Block::Text(r.text("teach-coverage-none")),
        false => Block::Table(coverage(l, library, r)),
    });
    d.blocks.push(heading(r.text("teach-batches")));
    d.blocks.extend(table(batches(l, library, r)));
    d.blocks.push(heading(r.text("teach-history")));
    match l.ledger.entries().is_empty() {
        true => d.blocks.push(Block::Text(r.text("teach-history-none"))),
        false => d.blocks.extend(table(history(l, library, r))),
    }
    d.blocks.push(Block::Small(r.text("teach-method")));
    d
}

fn product_name(library: &Library, key: &str, r: &Reader) -> String {
    let found = library.products().iter().find(|p| p.key == key);
    found.map_or_else(|| key.to_owned(), |p| r.words.pick(&p.name.en, &p.name.es).to_owned())
}

fn cabinet_name(library: &Library, key: &str, r: &Reader) -> String {
    let found = library.cabinets().iter().find(|c| c.key == key);
    found.map_or_else(|| key.to_owned(), |c| r.words.pick(&c.name.en, &c.name.es).to_owned())
}

fn name(key: &QuantityKey, library: &Library, r: &Reader) -> String {
    match (&key.product, &key.cabinet) {
        (Some(p), _) => say!(r, "teach-rate-of", product = product_name(library, p, r)),
        (None, Some(c)) => say!(r, "teach-exchange-of", cabinet = cabinet_name(library, c, r)),
        (None, None) => key.quantity.clone(),
    }
}

fn shown(key: &QuantityKey, v: f64) -> String {
    if key.quantity == DRYING_RATE {
        format!("{} 10⁻¹⁰ m²/s", digits(1e10 * v, 3))
    } else {
        digits(v, 3)
    }
}

/// "6.8 (5.9 to 7.8)": the mean with the 80 % interval of its own error.
fn with_range(key: &QuantityKey, v: &LibraryValue, r: &Reader) -> String {
    let half = 1.2816 * v.deviation;
    let c = v.coordinate(v.value);
    let (low, high) = (shown(key, v.value_of(c - half)), shown(key, v.value_of(c + half)));
    say!(r, "teach-with-range", value = shown(key, v.value), low = low, high = high)
}

fn lesson_blocks(l: &Lesson, number: usize, library: &Library, r: &Reader) -> Vec<Block> {
    let mut list = vec![heading(say!(r, "teach-lesson", number = number, what = name(&l.key, library, r)))];
    let now = with_range(&l.key, &l.now, r);
    let Some(p) = &l.proposal else {
        list.push(Block::Text(say!(r, "teach-stands", now = now)));
        return list;
    };
    let new = with_range(&l.key, &p.new, r);
    list.push(Block::Text(match l.is_new {
        true => say!(r, "teach-proposal", now = now, new = new, batches = p.new.batches),
        false => say!(r, "teach-approved", now = now, batches = p.new.batches),
    }));
    list.extend(p.warnings.iter().map(|w| warning(w, r)));
    let bar = |e: &fallrate_fit::learn::BatchEvidence| {
        let c = p.new.coordinate(e.estimate.value);
        let factor = if l.key.quantity == DRYING_RATE { 1e10 } else { 1.0 };
        let end = |s: f64| factor * p.new.value_of(c + s * 1.2816 * e.estimate.deviation);
        let standing = r.text(match e.standing {
            Standing::Counted => "teach-counted",
            Standing::Discounted => "teach-discounted",
            Standing::SetAside => "teach-set-aside",
        });
        Bar {
            label: e.estimate.batch.clone(),
            value: factor * e.estimate.value,
            interval: Some((end(-1.0), end(1.0))),
            words: format!("{}, {standing}", digits(factor * e.estimate.value, 3)),
            kind: Kind::Measured,
        }
    };
    let factor = if l.key.quantity == DRYING_RATE { 1e10 } else { 1.0 };
    list.push(Block::Picture(Picture::Bars(BarChart {
        title: r.text("teach-chart"),
        description: r.text("teach-chart-description"),
        unit: if factor > 1.0 { "10⁻¹⁰ m²/s".to_owned() } else { String::new() },
        bars: p.evidence.iter().map(bar).collect(),
        reference: Some((factor * p.new.value, r.text("teach-new"))),
        words: chart_words(r),
        ..BarChart::default()
    })));
    list
}

fn warning(w: &ProposalWarning, r: &Reader) -> Block {
    let (level, text) = match w {
        ProposalWarning::FewBatches { batches } => (Level::Note, r.words.counted("teach-few", *batches)),
        ProposalWarning::AgainstBelief { deviations } => {
            (Level::Caution, say!(r, "teach-against", deviations = digits(*deviations, 2)))
        }
        ProposalWarning::SetAside { batch, .. } => {
            (Level::Caution, say!(r, "teach-look-at", batch = batch.clone()))
        }
        ProposalWarning::GroupDiffers { kind, name, .. } => {
            let kind = r.text(match kind {
                GroupKind::Season => "teach-season",
                GroupKind::Lot => "teach-lot",
                GroupKind::Position => "teach-position",
            });
            (Level::Note, say!(r, "teach-group", kind = kind, name = name.clone()))
        }
        ProposalWarning::LessSure => (Level::Note, r.text("teach-less-sure")),
    };
    notice(r, level, text)
}

fn coverage(l: &Learned, library: &Library, r: &Reader) -> Table {
    let row = |c: &fallrate_fit::learn::Coverage| {
        vec![
            product_name(library, &c.product, r),
            cabinet_name(library, &c.cabinet, r),
            r.percent(c.level),
            say!(r, "teach-held", held = c.share.held, all = c.share.of),
            say!(r, "learn-range", low = r.percent(c.share.low), high = r.percent(c.share.high)),
            r.text(match c.verdict {
                CoverageVerdict::TooFew => "teach-too-few",
                CoverageVerdict::Agrees => "teach-honest",
                CoverageVerdict::TooNarrow => "teach-too-narrow",
                CoverageVerdict::TooWide => "teach-too-wide",
            }),
        ]
    };
    Table {
        title: String::new(),
        header: vec![
            Column::left(&r.text("teach-column-product")),
            Column::left(&r.text("teach-column-cabinet")),
            Column::right(&r.text("teach-column-promised")),
            Column::right(&r.text("teach-column-held")),
            Column::right(&r.text("teach-column-likely")),
            Column::left(&r.text("teach-column-verdict")),
        ],
        rows: l.coverage.iter().map(row).collect(),
        note: Some(r.text("teach-coverage-note")),
    }
}

fn batches(l: &Learned, library: &Library, r: &Reader) -> Table {
    let row = |b: &BatchNote| {
        let said: Vec<String> = b
            .estimates
            .iter()
            .map(|(k, e)| format!("{}: {}", name(k, library, r), shown(k, e.value)))
            .collect();
        let said = match (&b.why_not, said.is_empty()) {
            (Some(why), _) => say!(r, "teach-not-used", why = why.clone()),
            (None, true) => r.text("teach-says-nothing"),
            (None, false) => said.join("; "),
        };
        vec![b.day.clone(), b.lot.clone(), b.weighings.to_string(), said]
    };
    Table {
        title: String::new(),
        header: vec![
            Column::left(&r.text("teach-column-day")),
            Column::left(&r.text("teach-column-lot")),
            Column::right(&r.text("teach-column-weighings")),
            Column::left(&r.text("teach-column-says")),
        ],
        rows: l.batches.iter().map(row).collect(),
        note: None,
    }
}

fn history(l: &Learned, library: &Library, r: &Reader) -> Table {
    let back = reversible(&l.ledger);
    let row = |e: &LedgerEntry| {
        let act = match &e.act {
            LedgerAct::Begun => r.text("teach-begun"),
            LedgerAct::Approved { batches } => r.words.counted("teach-was-approved", batches.len()),
            LedgerAct::TurnedDown { reason, .. } => say!(r, "teach-was-turned-down", reason = reason.clone()),
            LedgerAct::TakenBack { entry, reason } => {
                say!(r, "teach-was-taken-back", entry = *entry, reason = reason.clone())
            }
        };
        let can = if back.contains(&e.number) { r.text("teach-can-go-back") } else { String::new() };
        vec![
            e.number.to_string(),
            e.at.get(..10).unwrap_or(&e.at).to_owned(),
            name(&e.key, library, r),
            act,
            shown(&e.key, e.value.value),
            e.by.clone(),
            can,
        ]
    };
    Table {
        title: String::new(),
        header: vec![
            Column::right(&r.text("teach-column-entry")),
            Column::left(&r.text("teach-column-day")),
            Column::left(&r.text("learn-column-parameter")),
            Column::left(&r.text("teach-column-act")),
            Column::right(&r.text("learn-column-value")),
            Column::left(&r.text("teach-column-by")),
            Column::left(""),
        ],
        rows: l.ledger.entries().iter().map(row).collect(),
        note: None,
    }
}
