//! One test repeated later: what has changed, and how sure that is.

use fallrate_fit::commission::{Cause, Drift, Weighed, drift};
use fallrate_report::{Bar, BarChart, Block, Column, Document, Kind, Level, Picture, Sign, Table};

use super::file::Commissioning;
use super::report::{Evaluated, frame};
use super::tests::{TestFiles, records};
use super::{charts, tell};
use crate::chart::chart_words;
use crate::error::AppError;
use crate::words::{Reader, fixed, say};

/// A later test, weighed.
#[derive(Debug)]
pub struct Drifted {
    /// What was written about the later tests.
    pub later: Commissioning,
    /// Each test of that file with what came of it.
    pub tests: Vec<(String, Drift)>,
}

/// Weighs the tests of a later file against an earlier commissioning.
///
/// # Errors
/// [`AppError`] where a file cannot be read or is refused.
pub fn weigh_drift(
    before: &Evaluated,
    later: Commissioning,
    logs: &dyn TestFiles,
    reader: &Reader,
) -> Result<Drifted, AppError> {
    let records = records(&later, &before.draft, logs, reader)?;
    let weigh = |t: &fallrate_fit::commission::CabinetTest| Ok((t.name.clone(), drift(&before.found, t)?));
    let tests = records.iter().map(weigh).collect::<Result<Vec<_>, AppError>>()?;
    Ok(Drifted { later, tests })
}

/// From this probability on a cause is named as the answer.
const SURE: f64 = 0.8;

/// The answer of a drift in one word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// Nothing has changed.
    None,
    /// Something has.
    Some,
    /// The tests leave it open.
    NotSure,
}

impl Drifted {
    /// The answer: something where any test is sure of it, nothing where all are.
    #[must_use]
    pub fn change(&self) -> Change {
        let sure = |d: &Drift| d.weighed.first().filter(|w| w.probability >= SURE).map(|w| w.cause);
        let causes: Vec<Option<Cause>> = self.tests.iter().map(|t| sure(&t.1)).collect();
        if causes.iter().any(|c| c.is_some_and(|c| c != Cause::Nothing)) {
            Change::Some
        } else if !causes.is_empty() && causes.iter().all(Option::is_some) {
            Change::None
        } else {
            Change::NotSure
        }
    }
}

/// The report.
#[must_use]
pub fn drift_document(d: &Drifted, r: &Reader) -> Document {
    let mut blocks = Vec::new();
    for (name, drift) in &d.tests {
        blocks.push(answer(drift, r));
        blocks.push(Block::Heading { level: 1, text: say!(r, "drift-test", test = name.clone()) });
        for f in &drift.findings {
            let text = tell::finding(r, f);
            blocks.push(Block::Notice { level: Level::Act, word: r.text("level-act"), text });
        }
        if drift.weighed.is_empty() {
            continue;
        }
        blocks.push(Block::Keep(vec![Block::Picture(Picture::Bars(bars(drift, r)))]));
        blocks.push(Block::Table(table(drift, r)));
        let blind: Vec<String> = drift
            .weighed
            .iter()
            .filter(|w| !w.visible)
            .map(|w| tell::cause(r, w.cause, Some(blind_way(w))))
            .collect();
        if !blind.is_empty() {
            blocks.push(Block::Text(say!(r, "drift-blind", list = blind.join("; "))));
        }
        blocks.extend(charts::curves(r, name, &drift.against_known));
    }
    blocks.push(Block::Text(r.text("drift-how")));
    frame(r, &d.later, say!(r, "drift-title", key = d.later.key.clone()), blocks)
}

/// The way in which a cause that cannot be seen mostly goes: a vent blocks, a seal leaks.
const fn blind_way(w: &Weighed) -> f64 {
    match w.cause {
        Cause::DoorSeal | Cause::Walls => 2.0,
        _ => 0.5,
    }
}

fn answer(d: &Drift, r: &Reader) -> Block {
    let Some(first) = d.weighed.first() else {
        return Block::Answer {
            sign: Sign::Open,
            headline: r.text("drift-refused"),
            subline: r.text("drift-refused-text"),
        };
    };
    let what = tell::cause(r, first.cause, first.factor.map(|f| f.0));
    let sure = probability(r, first.probability);
    if first.probability < SURE {
        let second =
            d.weighed.get(1).map_or_else(String::new, |w| tell::cause(r, w.cause, w.factor.map(|f| f.0)));
        return Block::Answer {
            sign: Sign::Open,
            headline: r.text("drift-open"),
            subline: say!(r, "drift-open-text", what = what, sure = sure, second = second),
        };
    }
    let sign = if first.cause == Cause::Nothing { Sign::Yes } else { Sign::No };
    let subline = match first.factor {
        Some((factor, error)) => say!(
            r,
            "drift-sure-by",
            sure = sure,
            low = r.percent(factor * (-1.645 * error).exp()),
            high = r.percent(factor * (1.645 * error).exp())
        ),
        None => say!(r, "drift-sure", sure = sure),
    };
    Block::Answer { sign, headline: what, subline }
}

fn bars(d: &Drift, r: &Reader) -> BarChart {
    let bar = |w: &Weighed| Bar {
        label: tell::cause(r, w.cause, w.factor.map(|f| f.0)),
        value: 100.0 * w.probability,
        interval: None,
        words: probability(r, w.probability),
        kind: Kind::Measured,
    };
    BarChart {
        title: r.text("drift-bars"),
        description: r.text("drift-bars-description"),
        unit: "%".to_owned(),
        bars: d.weighed.iter().map(bar).collect(),
        range: Some((0.0, 100.0)),
        reference: None,
        words: chart_words(r),
    }
}

fn probability(r: &Reader, p: f64) -> String {
    match p {
        p if p < 0.005 => r.text("drift-under-one"),
        p if p > 0.995 => r.text("drift-over-ninety-nine"),
        p => format!("{} %", fixed(100.0 * p, 0)),
    }
}

fn table(d: &Drift, r: &Reader) -> Table {
    let row = |w: &Weighed| {
        let factor = w.factor.map_or_else(
            || "–".to_owned(),
            |(f, e)| match w.visible {
                true => format!("{} %", fixed(100.0 * f, 0)) + &format!(" ± {} %", fixed(100.0 * f * e, 0)),
                false => r.text("drift-not-seen"),
            },
        );
        let ratio = match w.against_nothing {
            x if x >= 1e4 => r.text("drift-over-ten-thousand"),
            x if x >= 10.0 => fixed(x, 0),
            x => fixed(x, 2),
        };
        vec![tell::cause(r, w.cause, w.factor.map(|f| f.0)), probability(r, w.probability), ratio, factor]
    };
    Table {
        title: r.text("drift-table"),
        header: vec![
            Column::left(&r.text("drift-col-cause")),
            Column::right(&r.text("drift-col-probability")),
            Column::right(&r.text("drift-col-ratio")),
            Column::right(&r.text("drift-col-factor")),
        ],
        rows: d.weighed.iter().map(row).collect(),
        note: Some(r.text("drift-table-note")),
    }
}
