//! Thin-layer equations for people.

use fallrate_fit::thin_layer::{ThinLayerEquation, ThinLayerFit, ThinLayerWarning};
use fallrate_report::{
    Axis, AxisRange, Block, Chart, Column, Document, Kind, Level, Picture, Series, Table, Target,
};

use super::isotherm_page::dots;
use super::sheet::{Day, answer, digits, document, heading, notice, table};
use super::thin::ThinRun;
use crate::chart::chart_words;
use crate::words::{Reader, say};

/// Steps of a drawn curve; curves that are drawn.
const STEPS: u32 = 80;
const DRAWN: usize = 4;
/// A difference of AICc that is worth speaking of.
const WORTH: f64 = 4.0;

fn equation_name(r: &Reader, e: ThinLayerEquation) -> String {
    r.text(match e {
        ThinLayerEquation::Lewis => "thin-lewis",
        ThinLayerEquation::Page => "thin-page",
        ThinLayerEquation::HendersonPabis => "thin-henderson-pabis",
        ThinLayerEquation::Logarithmic => "thin-logarithmic",
        ThinLayerEquation::TwoTerm => "thin-two-term",
        ThinLayerEquation::Midilli => "thin-midilli",
        ThinLayerEquation::Weibull => "thin-weibull",
        ThinLayerEquation::SlabDiffusion => "thin-slab",
        ThinLayerEquation::DeficitPage => "thin-deficit",
    })
}

/// The study as a document.
#[must_use]
pub fn thin_document(run: &ThinRun, r: &Reader, day: &Day) -> Document {
    let mut d = document(r, r.text("thin-title"), run.file.clone(), day, run.invented);
    let Some(best) = run.study.ranked.first() else {
        d.blocks.push(answer(r.text("thin-nothing"), String::new()));
        d.blocks.push(Block::List(reasons(run, r)));
        return d;
    };
    let equal: Vec<String> = run
        .study
        .ranked
        .iter()
        .skip(1)
        .filter(|f| f.aicc_above_best.is_some_and(|a| a < WORTH))
        .map(|f| equation_name(r, f.equation))
        .collect();
    let also =
        if equal.is_empty() { String::new() } else { say!(r, "thin-as-good", list = equal.join(", ")) };
    d.blocks.push(answer(say!(r, "thin-answer", equation = equation_name(r, best.equation)), also));
    d.blocks.push(notice(r, Level::Caution, r.text("thin-warning")));
    d.blocks.push(Block::Text(range(best, r)));
    d.blocks.push(Block::Picture(Picture::Chart(chart(run, best, r))));
    d.blocks.push(heading(r.text("thin-ranked")));
    d.blocks.extend(table(ranking(run, r)));
    d.blocks.push(heading(say!(r, "thin-figures", equation = equation_name(r, best.equation))));
    d.blocks.extend(table(figures(best, r)));
    if !run.study.unfitted.is_empty() {
        d.blocks.push(heading(r.text("iso-unfitted")));
        d.blocks.push(Block::List(reasons(run, r)));
    }
    d.blocks.push(Block::Small(r.text("thin-method")));
    d
}

/// What the best fit holds for.
fn range(best: &ThinLayerFit, r: &Reader) -> String {
    let (mut hours, mut t) = ((f64::INFINITY, 0.0_f64), (f64::INFINITY, f64::NEG_INFINITY));
    let mut least = f64::INFINITY;
    for f in &best.fits {
        hours = (hours.0.min(f.range.elapsed_s.0), hours.1.max(f.range.elapsed_s.1));
        t = (t.0.min(f.range.temperature_c.0), t.1.max(f.range.temperature_c.1));
        least = least.min(f.range.moisture_ratio.0);
    }
    say!(
        r,
        "thin-range",
        to = r.duration(hours.1),
        coolest = r.temperature(t.0),
        warmest = r.temperature(t.1),
        least = digits(least, 2)
    )
}

fn chart(run: &ThinRun, best: &ThinLayerFit, r: &Reader) -> Chart {
    let mut series = Vec::new();
    for (n, curve) in run.curves.iter().take(DRAWN).enumerate() {
        let points = curve.points().iter().map(|p| (p.elapsed_s / 3600.0, p.moisture_ratio));
        let label = curve.name().to_owned();
        series.push(Series {
            label,
            points: dots(points),
            kind: Kind::Measured,
            ink: Some(n),
            ..Series::default()
        });
        let Some(own) = best.fits.iter().find(|f| f.curves.iter().any(|c| c == curve.name())) else {
            continue;
        };
        let last = curve.points().last().map_or(0.0, |p| p.elapsed_s);
        let at = |s: f64| own.moisture_ratio(s, curve.conditions()).map(|p| p.moisture_ratio).ok();
        let line = (0..=STEPS).filter_map(|i| {
            let s = last * f64::from(i) / f64::from(STEPS);
            Some((s / 3600.0, at(s)?))
        });
        let label = curve.name().to_owned();
        series.push(Series { label, points: line.collect(), ink: Some(n), ..Series::default() });
        let off = curve
            .points()
            .iter()
            .filter_map(|p| Some((p.elapsed_s / 3600.0, p.moisture_ratio - at(p.elapsed_s)?)));
        let label = curve.name().to_owned();
        series.push(Series {
            label,
            axis: 1,
            points: dots(off),
            kind: Kind::Measured,
            ink: Some(n),
            ..Series::default()
        });
    }
    let axis = |key: &str| Axis { label: r.text(key), unit: String::new(), range: AxisRange::Auto };
    let mut words = chart_words(r);
    words.forecast = r.text("learn-fitted");
    Chart {
        title: r.text("thin-chart"),
        description: r.text("thin-chart-description"),
        axes: vec![axis("thin-axis"), axis("learn-residual-axis")],
        series,
        targets: vec![Target { label: r.text("learn-zero"), axis: 1, value: 0.0 }],
        words,
        ..Chart::default()
    }
}

/// All equations, best first.
pub(super) fn ranking(run: &ThinRun, r: &Reader) -> Table {
    let row = |f: &ThinLayerFit| {
        let mut kinds: Vec<String> = f.warnings.iter().map(|w| warning(r, w)).collect();
        kinds.sort_unstable();
        kinds.dedup();
        vec![
            equation_name(r, f.equation),
            f.parameters.to_string(),
            digits(f.root_mean_square, 2),
            f.aicc_above_best.map_or_else(|| r.text("learn-none"), |a| digits(a, 2)),
            kinds.join("; "),
        ]
    };
    Table {
        title: String::new(),
        header: vec![
            Column::left(&r.text("thin-column-equation")),
            Column::right(&r.text("learn-column-parameters")),
            Column::right(&r.text("thin-column-scatter")),
            Column::right(&r.text("learn-column-aicc")),
            Column::left(&r.text("thin-column-wary")),
        ],
        rows: run.study.ranked.iter().map(row).collect(),
        note: None,
    }
}

fn warning(r: &Reader, w: &ThinLayerWarning) -> String {
    match w {
        ThinLayerWarning::AnotherShape { .. } => r.text("thin-wary-shape"),
        ThinLayerWarning::NotUnique { .. } => r.text("thin-wary-unique"),
        ThinLayerWarning::Rises { .. } => r.text("thin-wary-rises"),
        ThinLayerWarning::BelowZero { .. } => r.text("thin-wary-negative"),
        ThinLayerWarning::SameCurveAs { equation } => {
            say!(r, "thin-wary-same", equation = equation_name(r, *equation))
        }
    }
}

fn figures(best: &ThinLayerFit, r: &Reader) -> Table {
    let mut rows = Vec::new();
    for f in &best.fits {
        for p in &f.estimate.parameters {
            let error = p.standard_error.map_or_else(|| r.text("learn-not-told"), |e| digits(e, 2));
            rows.push(vec![f.curves.join(", "), p.name.clone(), digits(p.value, 4), error, p.unit.clone()]);
        }
    }
    Table {
        title: String::new(),
        header: vec![
            Column::left(&r.text("thin-column-curve")),
            Column::left(&r.text("learn-column-parameter")),
            Column::right(&r.text("learn-column-value")),
            Column::right(&r.text("learn-column-error")),
            Column::left(&r.text("learn-column-unit")),
        ],
        rows,
        note: Some(r.text("thin-hours")),
    }
}

fn reasons(run: &ThinRun, r: &Reader) -> Vec<String> {
    run.study
        .unfitted
        .iter()
        .map(|u| format!("{}: {}", equation_name(r, u.equation), super::fault_words::fault(r, &u.reason)))
        .collect()
}
