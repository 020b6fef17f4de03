//! An isotherm study for people.

use fallrate_fit::isotherm::{IsothermFit, IsothermForm, IsothermWarning};
use fallrate_report::{
    Axis, AxisRange, Block, Chart, ChartWords, Column, Document, Kind, Level, Picture, Series, Table, Target,
};

use super::isotherm::{IsothermRun, TargetMoisture, as_good, kept, library_moisture, outside};
use super::sheet::{Day, answer, digits, document, heading, notice, table};
use crate::chart::chart_words;
use crate::words::{Reader, say};

/// Pairs within this of one another are drawn together, K.
const SAME_K: f64 = 1.5;
/// Steps of a drawn isotherm.
const STEPS: u32 = 60;

/// Name of a form in files of the program's own.
pub(super) const fn form_key(form: IsothermForm) -> &'static str {
    match form {
        IsothermForm::Gab => "gab",
        IsothermForm::GabTemperature => "gab_temperature",
        IsothermForm::Oswin => "oswin",
        IsothermForm::OswinLinear => "oswin_linear",
        IsothermForm::ModifiedOswin => "modified_oswin",
        IsothermForm::Halsey => "halsey",
        IsothermForm::ModifiedHalsey => "modified_halsey",
        IsothermForm::Henderson => "henderson",
        IsothermForm::ModifiedHenderson => "modified_henderson",
        IsothermForm::ModifiedChungPfost => "modified_chung_pfost",
        IsothermForm::Peleg => "peleg",
    }
}

fn form_name(r: &Reader, form: IsothermForm) -> String {
    r.text(match form {
        IsothermForm::Gab => "iso-form-gab",
        IsothermForm::GabTemperature => "iso-form-gab-temperature",
        IsothermForm::Oswin => "iso-form-oswin",
        IsothermForm::OswinLinear => "iso-form-oswin-linear",
        IsothermForm::ModifiedOswin => "iso-form-modified-oswin",
        IsothermForm::Halsey => "iso-form-halsey",
        IsothermForm::ModifiedHalsey => "iso-form-modified-halsey",
        IsothermForm::Henderson => "iso-form-henderson",
        IsothermForm::ModifiedHenderson => "iso-form-modified-henderson",
        IsothermForm::ModifiedChungPfost => "iso-form-modified-chung-pfost",
        IsothermForm::Peleg => "iso-form-peleg",
    })
}

/// "11.8 % wb (13.4 % db)".
fn both(r: &Reader, dry_basis: f64) -> String {
    say!(r, "iso-both", wet = r.moisture(dry_basis), dry = digits(100.0 * dry_basis, 3))
}

/// The study as a document.
#[must_use]
pub fn isotherm_document(run: &IsothermRun, r: &Reader, day: &Day) -> Document {
    let product =
        run.product.as_ref().map(|p| r.words.pick(&p.product.name.en, &p.product.name.es).to_owned());
    let subject = [product.unwrap_or_default(), run.file.clone()];
    let subject: Vec<String> = subject.into_iter().filter(|s| !s.is_empty()).collect();
    let mut d = document(r, r.text("iso-title"), subject.join(" · "), day, false);
    let Some(best) = run.study.ranked.first() else {
        d.blocks.push(answer(r.text("iso-nothing"), r.text("iso-nothing-why")));
        d.blocks.push(Block::List(reasons(run, r)));
        return d;
    };
    d.blocks.push(front(run, best, r));
    d.blocks.extend(run.target.as_ref().into_iter().flat_map(|t| target_notices(run, t, r)));
    d.blocks.extend(warnings(run, best, r));
    d.blocks.push(Block::Picture(Picture::Chart(chart(run, best, r))));
    d.blocks.push(Block::Picture(Picture::Chart(residuals(run, best, r))));
    d.blocks.push(heading(r.text("iso-ranked")));
    d.blocks.push(Block::Text(r.text("iso-ranked-why")));
    d.blocks.extend(table(ranking(run, r)));
    d.blocks.push(heading(say!(r, "iso-parameters", form = form_name(r, best.form))));
    d.blocks.extend(table(parameters(best, r)));
    if !run.study.unfitted.is_empty() {
        d.blocks.push(heading(r.text("iso-unfitted")));
        d.blocks.push(Block::List(reasons(run, r)));
    }
    d.blocks.push(Block::Small(r.text("iso-method")));
    d
}

fn front(run: &IsothermRun, best: &IsothermFit, r: &Reader) -> Block {
    let form = say!(r, "iso-best", form = form_name(r, best.form), pairs = run.pairs.len());
    match &run.target {
        None => answer(form, r.text("iso-no-target")),
        Some(t) => {
            let headline = say!(
                r,
                "iso-answer",
                aw = r.activity(t.water_activity),
                at = r.temperature(t.temperature_c),
                moisture = both(r, t.point.value)
            );
            let sure = match t.interval {
                Some((low, high)) => say!(r, "iso-interval", low = both(r, low), high = both(r, high)),
                None => r.text("iso-no-interval"),
            };
            answer(headline, format!("{sure} {form}"))
        }
    }
}

fn target_notices(run: &IsothermRun, t: &TargetMoisture, r: &Reader) -> Vec<Block> {
    let mut list = Vec::new();
    if outside(&t.point) {
        list.push(notice(r, Level::Act, r.text("iso-outside")));
    }
    let wide = t.interval.map(|i| i.1 - i.0);
    if t.forms.1 - t.forms.0 > 0.5 * wide.unwrap_or(f64::INFINITY) {
        let text = say!(r, "iso-forms-differ", low = both(r, t.forms.0), high = both(r, t.forms.1));
        list.push(notice(r, Level::Note, text));
    }
    if let Some(aw) = t.ten_warmer {
        list.push(notice(
            r,
            Level::Note,
            say!(r, "iso-warmer", aw = r.activity(aw), by = r.difference(10.0)),
        ));
    }
    let own = run.product.as_ref();
    let told = own.and_then(|p| library_moisture(&p.product, t.water_activity, t.temperature_c));
    if let Some(before) = told {
        list.push(Block::Text(say!(r, "iso-library", moisture = both(r, before))));
    }
    list
}

fn warnings(run: &IsothermRun, best: &IsothermFit, r: &Reader) -> Vec<Block> {
    let mut list: Vec<Block> = best
        .warnings
        .iter()
        .map(|w| match w {
            IsothermWarning::NotUnique => notice(r, Level::Note, r.text("iso-not-unique")),
            IsothermWarning::Outlier { pair, deviations } => {
                let text = say!(r, "iso-outlier", pair = *pair, deviations = digits(*deviations, 2));
                notice(r, Level::Caution, text)
            }
        })
        .collect();
    if kept(&run.study).is_some_and(|k| k.form != best.form) {
        list.push(notice(r, Level::Note, r.text("iso-peleg-not-kept")));
    }
    list
}

/// Dots that are not joined.
pub(super) fn dots(points: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    points.flat_map(|p| [p, (p.0, f64::NAN)]).collect()
}

/// Words of a chart whose horizontal axis is no time.
pub(super) fn across(r: &Reader, name: String) -> ChartWords {
    ChartWords { elapsed: name, forecast: r.text("learn-fitted"), ..chart_words(r) }
}

fn chart(run: &IsothermRun, best: &IsothermFit, r: &Reader) -> Chart {
    let (low, high) = aw_range(run);
    let temperatures = temperatures(run);
    let mut series = Vec::new();
    for (n, &t) in temperatures.iter().enumerate() {
        let own = run.pairs.iter().filter(|p| (p.temperature_c - t).abs() < SAME_K);
        let mut points: Vec<(f64, f64)> =
            own.map(|p| (p.water_activity, 100.0 * p.moisture_dry_basis)).collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let label = r.temperature(t);
        let points = dots(points.into_iter());
        series.push(Series { label, points, kind: Kind::Measured, ink: Some(n), ..Series::default() });
        let curve = (0..=STEPS).filter_map(|i| {
            let aw = low + (high - low) * f64::from(i) / f64::from(STEPS);
            Some((aw, 100.0 * best.moisture_at(aw, t)?.value))
        });
        let label = r.temperature(t);
        series.push(Series { label, points: curve.collect(), ink: Some(n), ..Series::default() });
    }
    let targets = run.target.as_ref().map(|t| Target {
        label: say!(r, "iso-target-line", aw = r.activity(t.water_activity)),
        axis: 0,
        value: 100.0 * t.point.value,
    });
    Chart {
        title: r.text("iso-chart"),
        description: say!(r, "iso-chart-description", form = form_name(r, best.form)),
        x_unit: Some(String::new()),
        axes: vec![Axis {
            label: r.text("iso-axis"),
            unit: r.text("unit-db"),
            range: AxisRange::AutoFromZero,
        }],
        series,
        targets: targets.into_iter().collect(),
        words: across(r, r.text("iso-activity")),
        ..Chart::default()
    }
}

fn residuals(run: &IsothermRun, best: &IsothermFit, r: &Reader) -> Chart {
    let off = |p: &fallrate_fit::isotherm::SorptionPair| {
        let fitted = best.moisture_at(p.water_activity, p.temperature_c)?.value;
        Some((p.water_activity, 100.0 * (p.moisture_dry_basis - fitted)))
    };
    let mut points: Vec<(f64, f64)> = run.pairs.iter().filter_map(off).collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    Chart {
        title: r.text("learn-residuals"),
        description: r.text("iso-residuals-description"),
        x_unit: Some(String::new()),
        axes: vec![Axis {
            label: r.text("learn-residual-axis"),
            unit: r.text("unit-db"),
            range: AxisRange::Auto,
        }],
        series: vec![Series {
            label: r.text("learn-residual"),
            points: dots(points.into_iter()),
            kind: Kind::Measured,
            ..Series::default()
        }],
        targets: vec![Target { label: r.text("learn-zero"), axis: 0, value: 0.0 }],
        words: across(r, r.text("iso-activity")),
        ..Chart::default()
    }
}

fn aw_range(run: &IsothermRun) -> (f64, f64) {
    let fold = |(l, h): (f64, f64), a: f64| (l.min(a), h.max(a));
    run.pairs.iter().map(|p| p.water_activity).fold((1.0, 0.0), fold)
}

/// Temperatures of the pairs, each group once.
fn temperatures(run: &IsothermRun) -> Vec<f64> {
    let mut all: Vec<f64> = run.pairs.iter().map(|p| p.temperature_c).collect();
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < SAME_K);
    all
}

fn ranking(run: &IsothermRun, r: &Reader) -> Table {
    let good: Vec<IsothermForm> = as_good(&run.study).map(|f| f.form).collect();
    let row = |f: &IsothermFit| {
        let at = run.target.as_ref().and_then(|t| f.moisture_at(t.water_activity, t.temperature_c));
        vec![
            form_name(r, f.form),
            f.estimate.parameters.len().to_string(),
            digits(100.0 * f.estimate.residual_standard_deviation(), 2),
            f.aicc_above_best.map_or_else(|| r.text("learn-none"), |a| digits(a, 2)),
            at.map_or_else(String::new, |p| digits(100.0 * p.value, 3)),
            r.text(if good.contains(&f.form) { "iso-as-good" } else { "iso-worse" }),
        ]
    };
    Table {
        title: String::new(),
        header: vec![
            Column::left(&r.text("iso-column-form")),
            Column::right(&r.text("learn-column-parameters")),
            Column::right(&r.text("iso-column-scatter")),
            Column::right(&r.text("learn-column-aicc")),
            Column::right(&r.text("iso-column-target")),
            Column::left(&r.text("iso-column-verdict")),
        ],
        rows: run.study.ranked.iter().map(row).collect(),
        note: None,
    }
}

fn parameters(best: &IsothermFit, r: &Reader) -> Table {
    let rows = best.estimate.parameters.iter().map(|p| {
        let error = p.standard_error.map_or_else(|| r.text("learn-not-told"), |e| digits(e, 2));
        vec![p.name.clone(), digits(p.value, 4), error, p.unit.clone()]
    });
    Table {
        title: String::new(),
        header: vec![
            Column::left(&r.text("learn-column-parameter")),
            Column::right(&r.text("learn-column-value")),
            Column::right(&r.text("learn-column-error")),
            Column::left(&r.text("learn-column-unit")),
        ],
        rows: rows.collect(),
        note: Some(say!(r, "iso-reference", at = r.temperature(best.reference_temperature_c))),
    }
}

fn reasons(run: &IsothermRun, r: &Reader) -> Vec<String> {
    run.study
        .unfitted
        .iter()
        .map(|u| format!("{}: {}", form_name(r, u.form), super::fault_words::fault(r, &u.reason)))
        .collect()
}
