//! A fit of trials for people.

use fallrate_fit::trial::{FittedUnknown, TrialFinding, Unknown};
use fallrate_report::{Block, Column, Document, Level, Picture, Table};

use super::findings::finding;
use super::fit::{CONFIDENCE, TrialRun};
use super::names::{further_words, product_unknown, unknown_name};
use super::pictures::{correlation_table, correlations, measured_and_fitted, profile, shown_value};
use super::untold::{joined, untold};
use crate::learning::sheet::{Day, answer, digits, document, heading, notice, table};
use crate::learning::thin_page::ranking as thin_ranking;
use crate::words::{Reader, say};

/// Share of the width that matters below which a figure counts as told.
const TOLD: f64 = 0.5;

/// The fit as a document.
#[must_use]
pub fn trial_document(run: &TrialRun, r: &Reader, day: &Day) -> Document {
    let p = &run.file.product.product;
    let subject = format!("{} · {}", run.file.title, r.words.pick(&p.name.en, &p.name.es));
    let mut d = document(r, r.text("trial-title"), subject, day, run.file.invented);
    d.blocks.push(front(run, r));
    d.blocks.extend(run.fit.findings.iter().map(|f| finding(r, f, &run.file)));
    d.blocks.push(heading(r.text("trial-figures")));
    d.blocks.push(Block::Text(r.text(if run.file.count_beliefs { "trial-counts" } else { "trial-alone" })));
    d.blocks.extend(table(figures(run, r, false)));
    d.blocks.extend(exchange_note(run, r));
    d.blocks.push(heading(r.text("trial-untold-head")));
    match run.fit.untold.is_empty() {
        true => d.blocks.push(Block::Text(r.text("trial-untold-none"))),
        false => d.blocks.extend(run.fit.untold.iter().map(|u| untold(r, u, &run.file))),
    }
    d.blocks.extend(next(run, r));
    d.blocks.push(heading(r.text("trial-pictures")));
    for case in &run.file.cases {
        d.blocks.push(Block::Picture(measured_and_fitted(run, &case.trial.name, r)));
    }
    d.blocks.extend(table(residual_tests(run, r)));
    d.blocks.extend(profiles(run, r));
    d.blocks.push(heading(r.text("trial-correlation-head")));
    d.blocks.extend(correlations(run, r).map(Block::Picture));
    d.blocks.extend(table(correlation_table(run, r)));
    d.blocks.push(heading(r.text("trial-lots")));
    d.blocks.extend(table(figures(run, r, true)));
    d.blocks.extend(critical(run, r));
    d.blocks.push(heading(r.text("thin-beside")));
    d.blocks.push(notice(r, Level::Caution, r.text("thin-warning")));
    match &run.thin {
        Ok(thin) => d.blocks.extend(table(thin_ranking(thin, r))),
        Err(reason) => d.blocks.push(Block::Text(say!(r, "thin-not-fitted", reason = reason.clone()))),
    }
    d.blocks.push(Block::Small(r.text("trial-method")));
    d
}

/// Figures of the product that the data told well.
fn told(run: &TrialRun) -> Vec<&FittedUnknown> {
    let well = |u: &&FittedUnknown| {
        let narrow = u.coordinate_error.is_some_and(|e| e < TOLD * u.unknown.width_that_matters());
        let better = u.coordinate_error.is_some_and(|e| e < 0.7 * u.belief.deviation);
        u.unknown.trial().is_none() && narrow && better
    };
    run.fit.unknowns.iter().filter(well).collect()
}

fn front(run: &TrialRun, r: &Reader) -> Block {
    let own = run.file.unknowns.len();
    let known = told(run);
    let contradicts = run.fit.findings.iter().any(|f| matches!(f, TrialFinding::AgainstStatement { .. }));
    let headline = match (contradicts, known.len()) {
        (true, _) => r.text("trial-answer-contradicts"),
        (false, 0) => r.text("trial-answer-nothing"),
        (false, n) if n == own => r.text("trial-answer-all"),
        (false, n) => say!(r, "trial-answer-some", told = n, all = own),
    };
    let names: Vec<String> = known.iter().map(|u| product_unknown(r, u.unknown)).collect();
    let told = match names.is_empty() {
        true => String::new(),
        false => say!(r, "trial-answer-told", list = joined(r, &names)),
    };
    let made = r.words.counted("trial-answer-trials", run.file.cases.len());
    let weighings: usize = run.file.cases.iter().map(|c| c.trial.weighings()).sum();
    answer(
        headline,
        format!("{told} {made} {}", say!(r, "trial-answer-weighings", count = weighings)).trim().to_owned(),
    )
}

/// Figures of the product (or those of the trials' lots): value, error, interval, and what was said before.
fn figures(run: &TrialRun, r: &Reader, of_trials: bool) -> Table {
    let row = |u: &FittedUnknown| {
        let shown = |v: f64| digits(shown_value(r, u.unknown, &run.file, v).0, 3);
        let unit = shown_value(r, u.unknown, &run.file, 1.0).1;
        let interval = run.fit.interval(u.unknown, CONFIDENCE);
        let factor = shown_value(r, u.unknown, &run.file, 1.0).0;
        vec![
            unknown_name(r, u.unknown, &run.file),
            shown(u.value),
            u.standard_error.map_or_else(|| r.text("learn-not-told"), |e| digits(e * factor, 2)),
            interval.map_or_else(
                || r.text("learn-not-told"),
                |(l, h)| say!(r, "learn-range", low = shown(l), high = shown(h)),
            ),
            shown(u.belief.value),
            unit,
        ]
    };
    let own = run.fit.unknowns.iter().filter(|u| u.unknown.trial().is_some() == of_trials);
    Table {
        title: String::new(),
        header: vec![
            Column::left(&r.text("learn-column-parameter")),
            Column::right(&r.text("learn-column-value")),
            Column::right(&r.text("learn-column-error")),
            Column::right(&r.text("learn-column-interval")),
            Column::right(&r.text(if of_trials { "trial-column-stated" } else { "trial-column-before" })),
            Column::left(&r.text("learn-column-unit")),
        ],
        rows: own.map(row).collect(),
        note: None,
    }
}

fn exchange_note(run: &TrialRun, r: &Reader) -> Option<Block> {
    let u = run.fit.of(Unknown::Exchange)?;
    Some(Block::Text(say!(r, "trial-exchange-note", factor = digits(u.value, 3))))
}

/// The next trial that would tell most.
fn next(run: &TrialRun, r: &Reader) -> Vec<Block> {
    let row = |f: &fallrate_fit::trial::FurtherGain| {
        let gain = |e: &fallrate_fit::trial::ExpectedError| e.after / e.before;
        let best = f.errors.iter().min_by(|a, b| gain(a).total_cmp(&gain(b)));
        vec![
            further_words(r, f.further, &run.file),
            best.map_or_else(String::new, |e| {
                let (what, to) = (product_unknown(r, e.unknown), r.percent(gain(e)));
                say!(r, "trial-next-helps", what = what, to = to)
            }),
            digits(f.gain, 2),
        ]
    };
    let rows: Vec<Vec<String>> = run.further.iter().take(5).map(row).collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let header = vec![
        Column::left(&r.text("trial-next-do")),
        Column::left(&r.text("trial-next-most")),
        Column::right(&r.text("trial-next-gain")),
    ];
    vec![
        heading(r.text("trial-next")),
        Block::Table(Table { title: String::new(), header, rows, note: Some(r.text("trial-next-note")) }),
    ]
}

fn residual_tests(run: &TrialRun, r: &Reader) -> Table {
    let row = |f: &fallrate_fit::trial::FittedRecord| {
        let t = &f.tests;
        vec![
            f.key.trial.clone(),
            f.key.tray.clone(),
            f.readings.len().to_string(),
            format!("{} / {}", t.runs.runs, digits(t.runs.expected, 2)),
            digits(t.runs.few_probability, 2),
            format!("{:+.2}", t.lag_one.correlation),
            r.text(if t.another_shape() { "trial-tests-bends" } else { "trial-tests-fine" }),
        ]
    };
    Table {
        title: r.text("trial-tests"),
        header: vec![
            Column::left(&r.text("trial-tests-trial")),
            Column::left(&r.text("trial-tests-tray")),
            Column::right(&r.text("trial-tests-readings")),
            Column::right(&r.text("trial-tests-runs")),
            Column::right(&r.text("trial-tests-chance")),
            Column::right(&r.text("trial-tests-lag")),
            Column::left(&r.text("trial-tests-verdict")),
        ],
        rows: run.fit.records.iter().map(row).collect(),
        note: Some(r.text("trial-tests-note")),
    }
}

fn profiles(run: &TrialRun, r: &Reader) -> Vec<Block> {
    let mut list = vec![heading(r.text("trial-profiles"))];
    if run.fit.profiles.is_empty() {
        list.push(Block::Text(r.text("trial-profiles-none")));
        return list;
    }
    list.push(Block::Text(r.text("trial-profiles-why")));
    let pictures = run.fit.profiles.iter().filter_map(|p| profile(run, p, r));
    list.extend(pictures.map(|p: Picture| Block::Picture(p)));
    list
}

fn critical(run: &TrialRun, r: &Reader) -> Vec<Block> {
    let line = |c: &fallrate_fit::trial::CriticalMoisture| {
        say!(
            r,
            "trial-critical",
            trial = c.trial.clone(),
            moisture = r.moisture(c.moisture_dry_basis),
            at = r.duration(c.elapsed_s)
        )
    };
    let lines: Vec<String> = run.fit.critical.iter().map(line).collect();
    if lines.is_empty() { Vec::new() } else { vec![Block::List(lines)] }
}
