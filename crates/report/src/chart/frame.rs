//! The frame of a chart: ranges, margins, panels, rows of words.

use super::labels::{Area, rows};
use super::{Axis, AxisRange, Chart, Kind, Layout, Mark, Point, Series};
use crate::font::{Weight, fit, text_width, wrap};
use crate::scale::{Scale, auto_range, drawable, hour_step, number, round_step, ticks};

/// One axis and where it is drawn.
#[derive(Debug)]
pub(super) struct Panel {
    pub area: Area,
    pub heading: Vec<String>,
    pub y: Scale,
    pub ticks: Vec<(f64, String)>,
}

/// A word in a row above the panels: its lines, left edge, and row.
#[derive(Debug)]
pub(super) struct Placed {
    pub text: String,
    pub left: f64,
    pub row: usize,
    /// The coordinate of the moment it names (a stage: its middle).
    pub at: f64,
    pub bold: bool,
}

/// All that is settled before drawing.
#[derive(Debug)]
pub(super) struct Frame {
    pub layout: Layout,
    pub x: Scale,
    pub title: Vec<String>,
    pub title_top: f64,
    pub kind_right: bool,
    pub elapsed_y: f64,
    pub stage_top: f64,
    pub stages: Vec<Placed>,
    pub mark_top: f64,
    pub marks: Vec<Placed>,
    pub panels: Vec<Panel>,
    pub end_width: f64,
    pub clock_y: f64,
    pub height: f64,
    pub x_step: f64,
}

/// Small text.
pub(super) fn small(layout: &Layout) -> f64 {
    layout.font_size * 0.87
}

/// The hours shown.
fn hours(chart: &Chart) -> (f64, f64) {
    let least = if chart.x_unit.is_some() { 0.0 } else { 1e-6 };
    let sound = |(a, b): (f64, f64)| (drawable(a) && drawable(b) && b - a > least).then_some((a, b));
    if let Some(range) = chart.x_hours.and_then(sound) {
        return range;
    }
    let lines = chart.series.iter().flat_map(|s| &s.points);
    let edges = chart.bands.iter().flat_map(|b| b.lower.iter().chain(&b.upper));
    let points = lines.chain(edges).filter(|p| drawable(p.0) && drawable(p.1)).map(|p| p.0);
    let stages = chart.stages.iter().flat_map(|s| [s.from_h, s.to_h]).filter(|h| drawable(*h));
    let (lo, hi) =
        points.chain(stages).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), h| (a.min(h), b.max(h)));
    sound((lo, hi)).unwrap_or(if drawable(lo) && lo.abs() < 1e6 { (lo - 0.5, lo + 0.5) } else { (0.0, 1.0) })
}

/// Distance of the horizontal ticks.
pub(super) fn x_step(chart: &Chart, span: f64, most: usize) -> f64 {
    if chart.x_unit.is_some() { round_step(span, most) } else { hour_step(span, most) }
}

/// The range of an axis and its step.
fn range(chart: &Chart, index: usize, axis: &Axis, (x0, x1): (f64, f64), most: usize) -> (f64, f64) {
    if let AxisRange::Fixed(a, b) = axis.range
        && drawable(a)
        && drawable(b)
        && b > a
    {
        return (a, b);
    }
    let seen = |p: &&Point| p.0 >= x0 && p.0 <= x1 && drawable(p.1);
    let lines = chart.series.iter().filter(|s| s.axis == index).flat_map(|s| &s.points);
    let edges = chart.bands.iter().filter(|b| b.axis == index).flat_map(|b| b.lower.iter().chain(&b.upper));
    let targets = chart.targets.iter().filter(|t| t.axis == index).map(|t| t.value);
    let values = lines.chain(edges).filter(seen).map(|p| p.1).chain(targets);
    auto_range(values, axis.range == AxisRange::AutoFromZero, most)
}

/// Whether a series reaches the right edge, so that its name goes into the margin.
pub(super) fn reaches_edge(series: &Series, (x0, x1): (f64, f64)) -> bool {
    let last = series.points.iter().rev().find(|p| drawable(p.0) && drawable(p.1));
    last.is_some_and(|p| (p.0 - x0) / (x1 - x0) > 0.955)
}

/// The name at the end of a series, with "forecast" or "measured" where a chart holds both.
pub(super) fn series_words(chart: &Chart, series: &Series) -> String {
    let mixed = chart.series.iter().any(|s| s.kind != series.kind);
    let kind = match series.kind {
        Kind::Forecast => &chart.words.forecast,
        Kind::Measured => &chart.words.measured,
    };
    match (series.label.trim(), mixed) {
        ("", false) => String::new(),
        ("", true) => kind.clone(),
        (label, false) => label.to_owned(),
        (label, true) => format!("{label}, {kind}"),
    }
}

/// Wraps the name of a series for the margin.
pub(super) fn end_lines(chart: &Chart, series: &Series, layout: &Layout) -> Vec<String> {
    let most = layout.width * if layout.width < 600.0 { 0.25 } else { 0.18 };
    wrap(&series_words(chart, series), Weight::Bold, small(layout), most)
}

fn end_width(chart: &Chart, layout: &Layout, x: (f64, f64)) -> f64 {
    let lines = chart.series.iter().filter(|s| reaches_edge(s, x)).flat_map(|s| end_lines(chart, s, layout));
    lines.map(|l| text_width(&l, Weight::Bold, small(layout))).fold(0.0, f64::max)
}

fn stage_words(chart: &Chart, layout: &Layout, x: &Scale) -> Vec<Placed> {
    let size = small(layout);
    let mut out: Vec<Placed> = chart
        .stages
        .iter()
        .filter(|s| drawable(s.from_h) && drawable(s.to_h) && s.to_h > s.from_h && !s.name.trim().is_empty())
        .filter(|s| s.to_h > x.from && s.from_h < x.to)
        .map(|s| {
            let (a, b) = (x.at(s.from_h.max(x.from)), x.at(s.to_h.min(x.to)));
            let name = fit(&s.name, Weight::Bold, size, layout.width - 8.0);
            let width = text_width(&name, Weight::Bold, size);
            let fits = width + 6.0 <= b - a;
            let left = if fits { f64::midpoint(a, b) - width / 2.0 } else { a + 2.0 };
            let left = left.min(layout.width - width - 2.0).max(2.0);
            Placed { text: name, left, row: 0, at: f64::midpoint(a, b), bold: !fits }
        })
        .collect();
    set_rows(&mut out, size);
    out
}

fn set_rows(words: &mut [Placed], size: f64) {
    let spans: Vec<(f64, f64)> =
        words.iter().map(|w| (w.left, w.left + text_width(&w.text, Weight::Bold, size) + 8.0)).collect();
    for (w, row) in words.iter_mut().zip(rows(&spans)) {
        w.row = row;
    }
}

fn mark_words(chart: &Chart, layout: &Layout, x: &Scale) -> Vec<Placed> {
    let size = small(layout);
    let one = |m: &Mark, bold: bool| {
        let at = x.at(m.at_h);
        let text = fit(&m.label, Weight::Bold, size, layout.width - 8.0);
        let width = text_width(&text, Weight::Bold, size);
        let flipped = at + 4.0 + width > layout.width - 2.0;
        let left = if flipped { (at - 4.0 - width).max(2.0) } else { at + 4.0 };
        Placed { text, left, row: 0, at, bold }
    };
    let seen = |m: &&Mark| drawable(m.at_h) && m.at_h >= x.from && m.at_h <= x.to;
    let mut out: Vec<Placed> = chart.marks.iter().filter(seen).map(|m| one(m, false)).collect();
    out.extend(chart.now.iter().filter(seen).map(|m| one(m, true)));
    set_rows(&mut out, size);
    out
}

fn row_count(words: &[Placed]) -> usize {
    words.iter().map(|w| w.row + 1).max().unwrap_or(0)
}

/// A panel's range and its ticks, before its place is known.
struct Range {
    from: f64,
    to: f64,
    ticks: Vec<(f64, String)>,
}

fn ranges(chart: &Chart, axes: &[Axis], layout: &Layout, x: (f64, f64)) -> Vec<Range> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let most = ((layout.panel_height / (layout.font_size * 2.2)) as usize).clamp(2, 8);
    let one = |(i, axis): (usize, &Axis)| {
        let (from, to) = range(chart, i, axis, x, most);
        let step = round_step(to - from, most);
        let words = |v| (v, number(v, step, chart.words.decimal_mark));
        Range { from, to, ticks: ticks(from, to, step, 0.0).into_iter().map(words).collect() }
    };
    axes.iter().enumerate().map(one).collect()
}

/// The horizontal scale between the margins, and the width of the names in the right one.
fn across(chart: &Chart, layout: &Layout, ranges: &[Range], (from, to): (f64, f64)) -> (Scale, f64) {
    let s = small(layout);
    let widest = ranges.iter().flat_map(|r| &r.ticks).map(|(_, t)| text_width(t, Weight::Regular, s));
    let clock = text_width("00:00", Weight::Regular, s) / 2.0 + 2.0;
    let edge = if chart.clock_start.is_some() { clock } else { 8.0 };
    let left = (widest.fold(0.0, f64::max) + 10.0).max(edge).min(layout.width * 0.3);
    let end = end_width(chart, layout, (from, to));
    let right = layout.width - (if end > 0.0 { end + 28.0 } else { 0.0 }).max(edge + 6.0);
    (Scale { from, to, at_from: left, at_to: right }, end)
}

/// Whether the word for the only kind of series fits beside the title; `None` where there is no such word.
fn kind_beside(chart: &Chart, layout: &Layout, title: &[String]) -> Option<bool> {
    let kind = chart.series.first()?.kind;
    if chart.series.iter().any(|s| s.kind != kind) {
        return None;
    }
    let word = if kind == Kind::Forecast { &chart.words.forecast } else { &chart.words.measured };
    let width = text_width(word, Weight::Regular, small(layout)) + 44.0;
    let [line] = title else { return Some(title.is_empty()) };
    Some(text_width(line, Weight::Bold, layout.font_size * 1.1) + 32.0 + width < layout.width)
}

fn axis_words(axis: &Axis) -> String {
    match (axis.label.trim(), axis.unit.trim()) {
        ("", unit) => unit.to_owned(),
        (label, "") => label.to_owned(),
        (label, unit) => format!("{label}, {unit}"),
    }
}

/// The panels below `y`; answers where they end.
fn panels(axes: &[Axis], ranges: Vec<Range>, layout: &Layout, x: &Scale, mut y: f64) -> (Vec<Panel>, f64) {
    let s = small(layout);
    let mut out = vec![];
    for (r, axis) in ranges.into_iter().zip(axes) {
        let heading = wrap(&axis_words(axis), Weight::Bold, s, layout.width - 8.0);
        y += heading.len() as f64 * s * 1.35 + 10.0;
        let area = Area { left: x.at_from, right: x.at_to, top: y, bottom: y + layout.panel_height };
        let scale = Scale { from: r.from, to: r.to, at_from: area.bottom, at_to: area.top };
        out.push(Panel { area, heading, y: scale, ticks: r.ticks });
        y = area.bottom + s * 0.9;
    }
    (out, y)
}

/// Settles everything.
pub(super) fn frame(chart: &Chart, layout: Layout) -> Frame {
    let (f, s) = (layout.font_size, small(&layout));
    let span = hours(chart);
    let no_axis = [Axis::default()];
    let axes: &[Axis] = if chart.axes.is_empty() { &no_axis } else { &chart.axes };
    let ranges = ranges(chart, axes, &layout, span);
    let (x, end_width) = across(chart, &layout, &ranges, span);
    let title = wrap(&chart.title, Weight::Bold, f * 1.1, layout.width - 8.0);
    let beside = kind_beside(chart, &layout, &title);
    let title_end = 6.0 + title.len() as f64 * f * 1.45 + if beside == Some(false) { s * 1.5 } else { 0.0 };
    let elapsed_y = title_end + s * 1.25;
    let stage_top = elapsed_y + s * 0.6;
    let stages = stage_words(chart, &layout, &x);
    let stage_rows = row_count(&stages) as f64;
    let mark_top = stage_top + stage_rows * s * 1.4 + if stage_rows > 0.0 { 4.0 } else { 0.0 };
    let marks = mark_words(chart, &layout, &x);
    let first_panel = mark_top + row_count(&marks) as f64 * s * 1.35 + 2.0;
    let (panels, end) = panels(axes, ranges, &layout, &x, first_panel);
    let clock_y = end - s * 0.35;
    let widest_tick = if chart.clock_start.is_some() { "00:00" } else { "10.5 h" };
    let tick_room = text_width(widest_tick, Weight::Regular, s) * 1.55;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let most_hours = ((x.at_to - x.at_from) / tick_room) as usize;
    Frame {
        x_step: x_step(chart, span.1 - span.0, most_hours.clamp(2, 12)),
        kind_right: beside == Some(true),
        title_top: 6.0,
        height: clock_y + s * if chart.clock_start.is_some() { 1.8 } else { 0.6 },
        layout,
        x,
        title,
        elapsed_y,
        stage_top,
        stages,
        mark_top,
        marks,
        panels,
        end_width,
        clock_y,
    }
}
