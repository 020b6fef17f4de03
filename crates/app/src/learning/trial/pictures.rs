//! Pictures of a fit: measured and fitted, what is left over, correlations, profiles.

use fallrate_fit::trial::{FittedRecord, Profile, Unknown};
use fallrate_report::{
    Axis, AxisRange, Bar, BarChart, Chart, Column, Kind, Mark, Picture, Series, Table, Target,
};

use super::file::TrialFile;
use super::fit::TrialRun;
use super::names::{product_unknown, unknown_name};
use crate::chart::chart_words;
use crate::learning::isotherm_page::{across, dots};
use crate::learning::sheet::digits;
use crate::words::{Reader, say};

fn records<'a>(run: &'a TrialRun, trial: &'a str) -> impl Iterator<Item = &'a FittedRecord> {
    run.fit.records.iter().filter(move |r| r.key.trial == trial)
}

/// Weights of the trays of a trial, measured and fitted, and what is left over below.
pub(super) fn measured_and_fitted(run: &TrialRun, trial: &str, r: &Reader) -> Picture {
    let mut series = Vec::new();
    for (n, record) in records(run, trial).filter(|x| x.load_kg.is_some()).enumerate() {
        let line = |of: fn(&fallrate_fit::trial::FittedReading) -> f64| {
            record.readings.iter().map(|x| (x.elapsed_s / 3600.0, r.mass_number(of(x)))).collect()
        };
        let label = say!(r, "trial-chart-tray", tray = record.key.tray.clone());
        let measured = dots(line_of(line(|x| x.measured)));
        series.push(Series {
            label,
            points: measured,
            kind: Kind::Measured,
            ink: Some(n),
            ..Series::default()
        });
        let label = say!(r, "trial-chart-tray", tray = record.key.tray.clone());
        series.push(Series { label, points: line(|x| x.fitted), ink: Some(n), ..Series::default() });
        let label = say!(r, "trial-chart-tray", tray = record.key.tray.clone());
        let off = record.readings.iter().map(|x| (x.elapsed_s / 3600.0, -x.residual)).collect();
        let points = dots(line_of(off));
        series.push(Series {
            label,
            axis: 1,
            points,
            kind: Kind::Measured,
            ink: Some(n),
            ..Series::default()
        });
    }
    let axis = |label: String, unit: &str| Axis { label, unit: unit.to_owned(), range: AxisRange::Auto };
    let mut words = chart_words(r);
    words.forecast = r.text("learn-fitted");
    Picture::Chart(Chart {
        title: say!(r, "trial-chart-title", trial = trial.to_owned()),
        description: r.text("trial-chart-description"),
        axes: vec![axis(r.text("trial-chart-axis"), r.mass_unit()), axis(r.text("trial-chart-residual"), "")],
        series,
        targets: vec![Target { label: r.text("learn-zero"), axis: 1, value: 0.0 }],
        words,
        ..Chart::default()
    })
}

fn line_of(points: Vec<(f64, f64)>) -> impl Iterator<Item = (f64, f64)> {
    points.into_iter()
}

/// Correlations of the product's unknowns, strongest first, as bars.
pub(super) fn correlations(run: &TrialRun, r: &Reader) -> Option<Picture> {
    let mut list: Vec<(Unknown, Unknown, f64)> = Vec::new();
    let unknowns = &run.fit.unknowns;
    for (i, a) in unknowns.iter().enumerate() {
        for (j, b) in unknowns.iter().enumerate().take(i) {
            if let Some(c) = run.fit.correlation[i][j].filter(|_| a.unknown.trial().is_none()) {
                list.push((b.unknown, a.unknown, c));
            }
        }
    }
    list.sort_by(|a, b| b.2.abs().total_cmp(&a.2.abs()));
    let bar = |(a, b, c): &(Unknown, Unknown, f64)| Bar {
        label: format!("{} / {}", product_unknown(r, *a), product_unknown(r, *b)),
        value: *c,
        words: format!("{c:+.2}"),
        kind: Kind::Forecast,
        ..Bar::default()
    };
    (!list.is_empty()).then(|| {
        Picture::Bars(BarChart {
            title: r.text("trial-correlation-title"),
            description: r.text("trial-correlation-description"),
            bars: list.iter().take(8).map(bar).collect(),
            range: Some((-1.0, 1.0)),
            words: chart_words(r),
            ..BarChart::default()
        })
    })
}

/// The whole table of correlations.
pub(super) fn correlation_table(run: &TrialRun, r: &Reader) -> Table {
    let fit = &run.fit;
    let mut header = vec![Column::left("")];
    header.extend((1..=fit.unknowns.len()).map(|n| Column::right(&n.to_string())));
    let rows = fit.unknowns.iter().enumerate().map(|(i, u)| {
        let mut row = vec![format!("{}. {}", i + 1, unknown_name(r, u.unknown, &run.file))];
        let cell = |c: &Option<f64>| c.map_or_else(String::new, |c| format!("{c:+.2}"));
        row.extend(fit.correlation[i].iter().take(i + 1).map(cell));
        row
    });
    Table { title: r.text("trial-correlation-table"), header, rows: rows.collect(), note: None }
}

/// Number of an unknown's value in the unit it is shown in, with that unit.
pub(super) fn shown_value(r: &Reader, u: Unknown, file: &TrialFile, v: f64) -> (f64, String) {
    match u {
        Unknown::ActivationEnergy => (1e-3 * v, "kJ/mol".to_owned()),
        Unknown::Diffusivity => (1e10 * v, "10⁻¹⁰ m²/s".to_owned()),
        Unknown::InitialMoisture { .. } => (100.0 * v, r.text("unit-wb")),
        Unknown::Size { trial } => {
            let size = file.cases.get(trial).map_or(0.0, |c| c.trial.size_m);
            if r.units == crate::words::Units::Us {
                (v * size / 0.0254, "in".to_owned())
            } else {
                (1e3 * v * size, "mm".to_owned())
            }
        }
        _ => (v, String::new()),
    }
}

/// A profile: how the fit worsens as one figure is moved and all others follow, with the linear picture beside it.
pub(super) fn profile(run: &TrialRun, p: &Profile, r: &Reader) -> Option<Picture> {
    let fitted = run.fit.of(p.unknown)?;
    let unit = shown_value(r, p.unknown, &run.file, 1.0).1;
    let x = |v: f64| shown_value(r, p.unknown, &run.file, v).0;
    let points: Vec<(f64, f64)> = p.points.iter().map(|q| (x(q.value), q.worse)).collect();
    let centre = fitted.belief.coordinate(fitted.value);
    let linear = fitted
        .coordinate_error
        .map(|e| p.points.iter().map(|q| (x(q.value), ((q.coordinate - centre) / e).powi(2))).collect());
    let mut series =
        vec![Series { label: r.text("trial-profile"), points, ink: Some(0), ..Series::default() }];
    series.extend(linear.map(|points| Series {
        label: r.text("trial-profile-linear"),
        points,
        ink: Some(1),
        ..Series::default()
    }));
    let (low, high) = run.fit.interval(p.unknown, super::fit::CONFIDENCE)?;
    let most = p.points.iter().map(|q| q.worse).fold(1.0, f64::max);
    let mark = |v: f64| Mark { label: digits(x(v), 3), at_h: x(v) };
    let name = unknown_name(r, p.unknown, &run.file);
    Some(Picture::Chart(Chart {
        title: say!(r, "trial-profile-title", what = name.clone()),
        description: r.text("trial-profile-description"),
        x_unit: Some(unit),
        axes: vec![Axis {
            label: r.text("trial-profile-axis"),
            unit: String::new(),
            range: AxisRange::Fixed(0.0, most.min(12.0)),
        }],
        series,
        marks: vec![mark(low), mark(high)],
        words: across(r, name),
        ..Chart::default()
    }))
}
