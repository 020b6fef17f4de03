//! Measured against fitted, residuals, and the map of the trays.

use fallrate_fit::commission::{Channel, Commissioned, Fitted, Quantity, Row, Told};
use fallrate_report::{Axis, AxisRange, Bar, BarChart, Block, Chart, ChartWords, Kind, Picture, Series};

use crate::chart::chart_words;
use crate::words::{Reader, fixed, say};

/// The curve of a test with what the fit makes of it, and below it what is left; none where a test has single figures only.
pub(super) fn curves(r: &Reader, name: &str, rows: &[Row]) -> Option<Block> {
    let mut series = Vec::new();
    let mut axes = Vec::new();
    for (channel, label, unit) in [
        (Channel::Temperature, r.text("commission-chart-temperature"), r.temperature_unit()),
        (Channel::Humidity, r.text("commission-chart-humidity"), "%"),
    ] {
        let own: Vec<&Row> = rows.iter().filter(|w| w.channel == channel).collect();
        if own.len() < 3 {
            continue;
        }
        let shown =
            |v: f64| if channel == Channel::Temperature { r.temperature_number(v) } else { 100.0 * v };
        let axis = axes.len();
        axes.push(Axis { label, unit: unit.to_owned(), range: AxisRange::Auto });
        let line = |label: String, axis, kind, f: &dyn Fn(&Row) -> f64| Series {
            label,
            axis,
            points: own.iter().map(|w| (w.at_s / 3600.0, f(w))).collect(),
            kind,
            ..Series::default()
        };
        let air = r.text("commission-chart-air");
        series.push(line(air.clone(), axis, Kind::Measured, &|w| shown(w.measured)));
        series.push(line(air, axis, Kind::Forecast, &|w| shown(w.expected)));
        let label = r.text("commission-chart-left");
        let scale = if channel == Channel::Temperature { "K" } else { "%" };
        axes.push(Axis { label: label.clone(), unit: scale.to_owned(), range: AxisRange::AutoFromZero });
        let by = if channel == Channel::Temperature { 1.0 } else { 100.0 };
        series.push(line(label, axis + 1, Kind::Measured, &|w| by * (w.measured - w.expected)));
    }
    if series.is_empty() {
        return None;
    }
    let largest = rows.iter().map(|w| w.residual().abs()).fold(0.0, f64::max);
    Some(Block::Keep(vec![Block::Picture(Picture::Chart(Chart {
        title: say!(r, "commission-chart-title", test = name.to_owned()),
        description: say!(r, "commission-chart-description", largest = fixed(largest, 1)),
        axes,
        series,
        words: ChartWords { forecast: r.text("commission-chart-fitted"), ..chart_words(r) },
        ..Chart::default()
    }))]))
}

/// The single figures of a test: measured, expected, and the difference over its standard deviation.
pub(super) fn single_rows(r: &Reader, fitted: &Fitted) -> Vec<Vec<String>> {
    let single = |w: &&Row| !matches!(w.channel, Channel::Temperature | Channel::Humidity);
    let row = |w: &Row| {
        let (what, by, unit, digits) = channel(r, w.channel);
        let shown = |v: f64| format!("{} {unit}", fixed(by.0 * v + by.1, digits));
        vec![fitted.name.clone(), what, shown(w.measured), shown(w.expected), fixed(-w.residual(), 1)]
    };
    fitted.rows.iter().filter(single).map(row).collect()
}

/// Name, factor and shift, unit and decimals of a single figure.
fn channel(r: &Reader, c: Channel) -> (String, (f64, f64), &'static str, usize) {
    let us = r.temperature_unit() == "°F";
    let degrees = if us { (1.8, 32.0) } else { (1.0, 0.0) };
    let kelvins = if us { (1.8, 0.0) } else { (1.0, 0.0) };
    match c {
        Channel::Energy => (r.text("commission-row-energy"), (1.0, 0.0), "kWh", 3),
        Channel::Swing => (r.text("commission-row-swing"), kelvins, if us { "°F" } else { "K" }, 1),
        Channel::Period => (r.text("commission-row-period"), (1.0, 0.0), "s", 0),
        Channel::HeldMean => (r.text("commission-row-mean"), degrees, r.temperature_unit(), 1),
        Channel::DisplayLow => (r.text("commission-row-display-low"), degrees, r.temperature_unit(), 1),
        Channel::DisplayHigh => (r.text("commission-row-display-high"), degrees, r.temperature_unit(), 1),
        Channel::Water => (r.text("commission-row-water"), (1e3, 0.0), "g", 0),
        Channel::Tray(t) => (say!(r, "commission-row-tray", tray = t.to_string()), (1e3, 0.0), "g", 0),
        Channel::Temperature => (r.text("commission-chart-temperature"), degrees, r.temperature_unit(), 1),
        Channel::Humidity => (r.text("commission-chart-humidity"), (100.0, 0.0), "%", 1),
    }
}

/// Air over each tray relative to the mean, from the top, with its 90 % interval; none where no cloths were weighed.
pub(super) fn map(r: &Reader, found: &Commissioned, trays: u32) -> Option<Block> {
    let bar = |tray: usize| {
        let Told::Yes { value, standard_error } = found.outcome(Quantity::AirShare(tray))?.told else {
            return None;
        };
        let half = 1.645 * standard_error;
        Some(Bar {
            label: say!(r, "commission-map-tray", tray = (tray + 1).to_string()),
            value: 100.0 * value,
            interval: Some((100.0 * (value - half), 100.0 * (value + half))),
            words: format!("{} %", fixed(100.0 * value, 0)),
            kind: Kind::Measured,
        })
    };
    let bars: Vec<Bar> = (0..trays as usize).filter_map(bar).collect();
    let by = |a: &&Bar, b: &&Bar| a.value.total_cmp(&b.value);
    let (least, most) = (bars.iter().min_by(by)?, bars.iter().max_by(by)?);
    let description = say!(
        r,
        "commission-map-description",
        least = least.label.clone(),
        low = least.words.clone(),
        most = most.label.clone(),
        high = most.words.clone()
    );
    Some(Block::Keep(vec![
        Block::Picture(Picture::Bars(BarChart {
            title: r.text("commission-map-title"),
            description: description.clone(),
            unit: r.text("commission-map-unit"),
            reference: Some((100.0, r.text("commission-map-mean"))),
            range: None,
            words: chart_words(r),
            bars,
        })),
        Block::Text(description),
    ]))
}
