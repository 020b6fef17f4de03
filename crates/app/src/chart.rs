//! Curves of a plan as charts.

use fallrate_plan::band::Band as Draws;
use fallrate_plan::quantile;
use fallrate_report::{
    Axis, AxisRange, Band, Bar, BarChart, Chart, ChartWords, Dash, Kind, Mark, Picture, Point, Series, Stage,
    Target,
};
use fallrate_simulate::Sample;

use crate::page::input_name;
use crate::page::view::{View, end_core};
use crate::words::{Reader, say};

/// Pictures of a plan.
pub(crate) fn plan_pictures(v: &View<'_>) -> Vec<Picture> {
    let mut list = vec![
        Picture::Chart(moisture(v)),
        Picture::Chart(temperatures(v)),
        Picture::Chart(humidity_and_heater(v)),
    ];
    list.extend(shares(v).map(Picture::Bars));
    list
}

/// The charts that readings of a run are drawn into: moisture, then temperatures.
pub(crate) fn running_chart(v: &View<'_>) -> [Chart; 2] {
    [moisture(v), temperatures(v)]
}

/// The chart's own words.
pub(crate) fn chart_words(r: &Reader) -> ChartWords {
    ChartWords {
        elapsed: r.text("chart-elapsed"),
        clock: r.text("chart-clock"),
        forecast: r.text("chart-forecast"),
        measured: r.text("chart-measured"),
        nothing: r.text("chart-nothing"),
        decimal_mark: '.',
    }
}

/// Points of a quantity over the hours.
pub(crate) fn points(samples: &[Sample], f: impl Fn(&Sample) -> f64) -> Vec<Point> {
    samples.iter().map(|s| (s.elapsed_s / 3600.0, f(s))).collect()
}

pub(crate) fn line(label: String, axis: usize, points: Vec<Point>, ink: usize, dash: Dash) -> Series {
    Series { label, axis, points, kind: Kind::Forecast, dash, ink: Some(ink) }
}

/// Per cent of the wet weight.
pub(crate) fn wet_basis_percent(dry_basis: f64) -> f64 {
    100.0 * dry_basis / (1.0 + dry_basis)
}

fn base(v: &View<'_>, title: &str, description: String) -> Chart {
    Chart {
        title: v.r.text(title),
        description,
        clock_start: Some(v.setup.start),
        x_hours: Some((0.0, v.plan.timer.unloaded_s / 3600.0)),
        stages: stages(v),
        marks: vec![Mark { label: v.r.text("mark-power-off"), at_h: v.plan.timer.dial_s / 3600.0 }],
        words: chart_words(v.r),
        ..Chart::default()
    }
}

fn stages(v: &View<'_>) -> Vec<Stage> {
    v.plan
        .run
        .stage_ends
        .iter()
        .map(|e| Stage {
            name: v.stage(&e.name),
            from_h: e.started_s / 3600.0,
            to_h: e.sample.elapsed_s / 3600.0,
        })
        .collect()
}

fn temperatures(v: &View<'_>) -> Chart {
    let r = v.r;
    let samples = &v.plan.run.samples;
    let (worst, best) = v.worst_and_best_group();
    let t = |c: f64| r.temperature_number(c);
    let last = v.power_off();
    let description = last.map_or_else(String::new, |s| {
        say!(
            r,
            "chart-temperatures-words",
            air = r.temperature(s.chamber_temperature_c),
            wet_bulb = r.temperature(s.wet_bulb_c),
            core = r.temperature(s.core_coldest_c)
        )
    });
    Chart {
        axes: vec![Axis {
            label: r.text("axis-temperature"),
            unit: r.temperature_unit().to_owned(),
            range: AxisRange::Auto,
        }],
        series: vec![
            line(r.text("line-air"), 0, points(samples, |s| t(s.chamber_temperature_c)), 0, Dash::Long),
            line(
                r.text("line-core-first"),
                0,
                points(samples, |s| t(end_core(s, best, false))),
                1,
                Dash::DashDot,
            ),
            line(
                r.text("line-core-last"),
                0,
                points(samples, |s| t(end_core(s, worst, true))),
                2,
                Dash::Short,
            ),
            line(r.text("line-wet-bulb"), 0, points(samples, |s| t(s.wet_bulb_c)), 3, Dash::Dots),
        ],
        ..base(v, "chart-temperatures", description)
    }
}

fn humidity_and_heater(v: &View<'_>) -> Chart {
    let r = v.r;
    let samples = &v.plan.run.samples;
    let highest = samples.iter().map(|s| s.relative_humidity).fold(0.0, f64::max);
    let full = samples.iter().filter(|s| s.heater_demand > 0.995).count();
    #[allow(clippy::cast_precision_loss)]
    let share = full as f64 / samples.len().max(1) as f64;
    let percent =
        |label: &str| Axis { label: r.text(label), unit: "%".to_owned(), range: AxisRange::AutoFromZero };
    Chart {
        axes: vec![
            percent("axis-rh"),
            Axis { range: AxisRange::Fixed(0.0, 100.0), ..percent("axis-heater") },
        ],
        series: vec![
            line(r.text("line-rh"), 0, points(samples, |s| 100.0 * s.relative_humidity), 3, Dash::Dots),
            line(r.text("line-heater"), 1, points(samples, |s| 100.0 * s.heater_demand), 4, Dash::Long),
        ],
        ..base(
            v,
            "chart-humidity",
            say!(r, "chart-humidity-words", rh = r.percent(highest), full = r.percent(share)),
        )
    }
}

fn moisture(v: &View<'_>) -> Chart {
    let r = v.r;
    let samples = &v.plan.run.samples;
    let x = wet_basis_percent;
    let target = &v.setup.target;
    let mut series = vec![
        line(r.text("line-wettest"), 0, points(samples, |s| x(s.moisture_slowest_dry_basis)), 2, Dash::Short),
        line(r.text("line-mean"), 0, points(samples, |s| x(s.moisture_mean_dry_basis)), 0, Dash::Long),
        line(
            r.text("line-driest"),
            0,
            points(samples, |s| x(s.moisture_fastest_dry_basis)),
            1,
            Dash::DashDot,
        ),
    ];
    series.push(line(
        r.text("line-aw-wettest"),
        1,
        points(samples, |s| s.water_activity_slowest),
        2,
        Dash::Short,
    ));
    series.push(line(r.text("line-aw-mean"), 1, points(samples, |s| s.water_activity_mean), 0, Dash::Long));
    let mut targets = vec![Target {
        label: say!(r, "line-target", moisture = r.moisture(target.moisture_dry_basis)),
        axis: 0,
        value: x(target.moisture_dry_basis),
    }];
    targets.extend(target.water_activity.map(|aw| Target {
        label: say!(r, "line-target", moisture = r.activity(aw)),
        axis: 1,
        value: aw,
    }));
    Chart {
        axes: vec![
            Axis { label: r.text("axis-moisture"), unit: r.text("unit-wb"), range: AxisRange::AutoFromZero },
            Axis { label: r.text("axis-activity"), unit: "aw".to_owned(), range: AxisRange::Fixed(0.0, 1.0) },
        ],
        series,
        bands: v.plan.band.as_ref().map(|b| band(v, b)).into_iter().collect(),
        targets,
        ..base(
            v,
            "chart-moisture",
            say!(r, "chart-moisture-words", target = v.target(), dial = r.duration(v.plan.timer.dial_s)),
        )
    }
}

/// 10th and 90th percentile over the draws of the mean moisture while powered; as far as every draw was followed.
pub(crate) fn band_at(draws: &Draws, at_s: f64) -> Option<(f64, f64)> {
    let covered =
        draws.draws.iter().all(|d| d.sweep.mean_at_power_off.range().is_some_and(|(_, to)| to >= at_s));
    if draws.draws.is_empty() || !covered {
        return None;
    }
    let values: Vec<f64> = draws.draws.iter().map(|d| d.sweep.mean_at_power_off.at(at_s)).collect();
    Some((quantile(&values, 0.1), quantile(&values, 0.9)))
}

fn band(v: &View<'_>, draws: &Draws) -> Band {
    let dial = v.plan.timer.dial_s;
    let (mut lower, mut upper) = (Vec::new(), Vec::new());
    for n in 0..=120 {
        let at_s = dial * f64::from(n) / 120.0;
        let Some((low, high)) = band_at(draws, at_s) else { break };
        lower.push((at_s / 3600.0, wet_basis_percent(low)));
        upper.push((at_s / 3600.0, wet_basis_percent(high)));
    }
    Band { label: v.r.text("line-band"), axis: 0, lower, upper, ink: Some(0) }
}

/// What the spread of the end comes from.
fn shares(v: &View<'_>) -> Option<BarChart> {
    let shares = v.plan.variance.as_ref().filter(|s| !s.shares.is_empty())?;
    let bars = shares.shares.iter().take(6).map(|s| Bar {
        label: input_name(v.r, s.input),
        value: 100.0 * s.share,
        interval: None,
        words: v.r.percent(s.share),
        kind: Kind::Forecast,
    });
    let top = shares.shares.first().map_or_else(String::new, |s| input_name(v.r, s.input));
    Some(BarChart {
        title: v.r.text("chart-shares"),
        description: say!(v.r, "chart-shares-words", input = top),
        unit: v.r.text("chart-shares-unit"),
        bars: bars.collect(),
        range: None,
        reference: None,
        words: chart_words(v.r),
    })
}
