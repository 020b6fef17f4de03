//! The measured temperatures as a chart, judged minutes as strips.

use fallrate_lethality::{Counted, OptionResult, PositionResult, StripEntry};
use fallrate_report::{Axis, AxisRange, Chart, Kind, Mark, Picture, Series, Span, Stage, Strip, Target};
use fallrate_series::{Instant, Role};

use super::super::words;
use super::Sheet;
use super::front::{coldest, deciding};
use crate::chart::chart_words;
use crate::words::say;

/// Hour 0 of every picture: the product met heat, else the first reading.
fn zero(s: &Sheet<'_>) -> Option<Instant> {
    s.j.case.facts.product_met_heat.or_else(|| s.j.log.span().map(fallrate_series::Span::from))
}

fn hours(zero: Instant, at: Instant) -> f64 {
    at.seconds_since(zero) / 3600.0
}

/// Core, wet and dry bulb as recorded, with the deciding row, stages and events.
pub(super) fn measured(s: &Sheet<'_>) -> Option<Picture> {
    let zero = zero(s)?;
    let mut series = Vec::new();
    for c in &s.j.log.channels {
        let label = match &c.role {
            Role::CoreProbe { position, .. } if !position.is_empty() => {
                say!(s.r, "chart-core-at", position = position.clone())
            }
            Role::CoreProbe { .. } | Role::AirDryBulb | Role::AirWetBulb => words::role(s.r, &c.role),
            _ => continue,
        };
        let axis = usize::from(!matches!(c.role, Role::CoreProbe { .. }));
        let mut points = Vec::with_capacity(c.readings().len());
        let mut last: Option<Instant> = None;
        for reading in c.readings() {
            // A gap in the record is a gap in the line.
            if last.is_some_and(|l| c.gaps.iter().any(|g| g.span.from() >= l && g.span.to() <= reading.at)) {
                points.push((hours(zero, reading.at), f64::NAN));
            }
            let value = if reading.quality.counts() { reading.value } else { f64::NAN };
            points.push((hours(zero, reading.at), s.r.temperature_number(value)));
            last = Some(reading.at);
        }
        series.push(Series { label, axis, points, kind: Kind::Measured, ..Series::default() });
    }
    if series.is_empty() {
        return None;
    }
    let unit = s.r.temperature_unit().to_owned();
    let axis = |key: &str| Axis { label: s.r.text(key), unit: unit.clone(), range: AxisRange::Auto };
    let row = coldest(s).and_then(deciding).and_then(|o| o.row.as_ref());
    let targets = row.map(|r| Target {
        label: say!(s.r, "chart-row", row = s.row(r.row_f)),
        axis: 0,
        value: s.r.temperature_number((r.row_f - 32.0) / 1.8),
    });
    let mut axes = vec![axis("chart-core"), axis("chart-air")];
    if series.iter().all(|x| x.axis == 0) {
        axes.pop();
    }
    Some(Picture::Chart(Chart {
        title: s.r.text("proof-chart"),
        description: s.r.text("proof-chart-description"),
        clock_start: Some(s.file.clock.time_of_day(zero)),
        axes,
        series,
        targets: targets.into_iter().collect(),
        stages: stages(s, zero),
        marks: marks(s, zero),
        words: chart_words(s.r),
        ..Chart::default()
    }))
}

fn stages(s: &Sheet<'_>, zero: Instant) -> Vec<Stage> {
    let f = &s.j.case.facts;
    let Some(end) = s.j.log.span().map(|l| hours(zero, l.to())) else { return Vec::new() };
    let Some(dry) = f.drying_began.map(|d| hours(zero, d)) else { return Vec::new() };
    vec![
        Stage { name: s.r.text("stage-cook"), from_h: 0.0, to_h: dry },
        Stage { name: s.r.text("stage-dry"), from_h: dry, to_h: end },
    ]
}

fn marks(s: &Sheet<'_>, zero: Instant) -> Vec<Mark> {
    let cut = |i: &fallrate_lethality::InterruptionFinding| Mark {
        label: words::event(s.r, &i.kind),
        at_h: hours(zero, i.span.from()),
    };
    s.j.interruptions.iter().map(cut).collect()
}

pub(super) fn temperature_strip(s: &Sheet<'_>, p: &PositionResult) -> Picture {
    strip(s, say!(s.r, "strip-temperature", position = p.position.clone()), &p.strip)
}

pub(super) fn humid_strip(s: &Sheet<'_>, o: &OptionResult) -> Picture {
    strip(s, say!(s.r, "strip-humidity", option = words::option(s.r, o.option)), &o.humid_strip)
}

/// A strip with a sentence that says how much counted.
pub(super) fn strip(s: &Sheet<'_>, title: String, entries: &[StripEntry]) -> Picture {
    let zero = zero(s).or_else(|| entries.first().map(|e| e.span.from())).unwrap_or_default();
    let minutes = |c: Counted| {
        entries.iter().filter(|e| e.counted == c).map(|e| e.span.seconds() / 60.0).fold(0.0, |a, b| a + b)
    };
    let description = say!(
        s.r,
        "strip-description",
        counted = s.minutes(minutes(Counted::Yes)),
        not = s.minutes(minutes(Counted::No)),
        unknown = s.minutes(minutes(Counted::Unknown))
    );
    let spans = entries.iter().map(|e| Span {
        from_h: hours(zero, e.span.from()),
        to_h: hours(zero, e.span.to()),
        counted: e.counted == Counted::Yes,
        reason: match e.counted {
            Counted::Unknown => say!(s.r, "strip-unknown", reason = words::strip_reason(s.r, e.reason)),
            _ => words::strip_reason(s.r, e.reason),
        },
    });
    Picture::Strip(Strip {
        title,
        description,
        clock_start: Some(s.file.clock.time_of_day(zero)),
        spans: spans.collect(),
        counted: s.r.text("strip-counted"),
        not_counted: s.r.text("strip-not-counted"),
    })
}
