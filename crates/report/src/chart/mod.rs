//! Charts over the hours of a run.
//!
//! One panel for each axis, one above the other, all sharing the hours: the clock below, the time elapsed above.
//! A forecast is drawn thin and dashed, its band hatched; what was measured is drawn solid with its points.
//! With `x_unit` the horizontal axis is any other quantity.
//! Series are named where their lines end. Numbers that are not finite leave a gap; nothing is bridged.

mod draw;
mod frame;
mod ground;
mod labels;
mod lines;
mod table;
mod thin;
mod words;

use fallrate_units::TimeOfDay;

/// A point: hours since the start of the run, and the value in the unit of its axis.
pub type Point = (f64, f64);

/// A chart over the hours of a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chart {
    /// What the chart shows, one line.
    pub title: String,
    /// What a reader who cannot see it should know: the main finding in a sentence or two.
    pub description: String,
    /// Clock time at hour 0; without it only elapsed time is shown.
    pub clock_start: Option<TimeOfDay>,
    /// First and last hour shown; `None` takes them from the data.
    pub x_hours: Option<(f64, f64)>,
    /// Where the chart is not over time: the unit of its horizontal numbers, which may be empty. They stand where hours
    /// would, named by [`ChartWords::elapsed`].
    pub x_unit: Option<String>,
    /// One panel each.
    pub axes: Vec<Axis>,
    /// The lines.
    pub series: Vec<Series>,
    /// Bands of a forecast.
    pub bands: Vec<Band>,
    /// Named stages.
    pub stages: Vec<Stage>,
    /// Horizontal lines with words.
    pub targets: Vec<Target>,
    /// Events: vertical lines with words.
    pub marks: Vec<Mark>,
    /// The present moment.
    pub now: Option<Mark>,
    /// Words of the chart itself.
    pub words: ChartWords,
}

/// The words and the decimal mark that a chart adds on its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartWords {
    /// Over the elapsed hours ("elapsed").
    pub elapsed: String,
    /// Beside the clock times ("clock").
    pub clock: String,
    /// "forecast".
    pub forecast: String,
    /// "measured".
    pub measured: String,
    /// Where there is nothing to draw ("no readings").
    pub nothing: String,
    /// `.` or `,`.
    pub decimal_mark: char,
}

impl Default for ChartWords {
    fn default() -> Self {
        Self {
            elapsed: "elapsed".into(),
            clock: "clock".into(),
            forecast: "forecast".into(),
            measured: "measured".into(),
            nothing: "no readings".into(),
            decimal_mark: '.',
        }
    }
}

/// A vertical axis, drawn as a panel of its own.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Axis {
    /// The quantity ("core temperature").
    pub label: String,
    /// Its unit ("°F").
    pub unit: String,
    /// What it spans.
    pub range: AxisRange,
}

/// What an axis spans.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum AxisRange {
    /// Whatever the data need.
    #[default]
    Auto,
    /// The data and zero.
    AutoFromZero,
    /// From a value to a value.
    Fixed(f64, f64),
}

/// Whether numbers were forecast or measured. The two never look alike.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Kind {
    /// Thin and dashed.
    #[default]
    Forecast,
    /// Solid, with its points.
    Measured,
}

/// Dash pattern of a forecast; a measured line is always solid.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Dash {
    /// The next one that the panel does not use yet.
    #[default]
    Auto,
    /// Long dashes.
    Long,
    /// Dots.
    Dots,
    /// Dash and dot.
    DashDot,
    /// Short dashes.
    Short,
    /// Dash and two dots.
    DashDotDot,
}

/// A line.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Series {
    /// Its name, written at its end.
    pub label: String,
    /// Which of the chart's axes it belongs to.
    pub axis: usize,
    /// Its points, in order of the hours.
    pub points: Vec<Point>,
    /// Forecast or measured.
    pub kind: Kind,
    /// Dash pattern, for a forecast.
    pub dash: Dash,
    /// Ink number; `None` takes the next. Give a forecast and its measurement the same one.
    pub ink: Option<usize>,
}

/// A band of a forecast, hatched.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Band {
    /// Its name, written inside or beside it ("8 of 10 batches").
    pub label: String,
    /// Which axis.
    pub axis: usize,
    /// Lower edge.
    pub lower: Vec<Point>,
    /// Upper edge.
    pub upper: Vec<Point>,
    /// Ink number; that of its series.
    pub ink: Option<usize>,
}

/// A named stage.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stage {
    /// Its name.
    pub name: String,
    /// Its start, h.
    pub from_h: f64,
    /// Its end, h.
    pub to_h: f64,
}

/// A horizontal line with words.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Target {
    /// The words ("plan limit 146 °F").
    pub label: String,
    /// Which axis.
    pub axis: usize,
    /// The value.
    pub value: f64,
}

/// A moment with words.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mark {
    /// The words ("vent to a quarter").
    pub label: String,
    /// The hour.
    pub at_h: f64,
}

/// How large a chart is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layout {
    /// Width in units of the drawing, px.
    pub width: f64,
    /// Font size in the same unit, px.
    pub font_size: f64,
    /// Height of one panel, px.
    pub panel_height: f64,
}

impl Layout {
    /// For a tablet, an office screen and paper.
    #[must_use]
    pub const fn wide() -> Self {
        Self { width: 840.0, font_size: 15.0, panel_height: 215.0 }
    }
    /// For a phone.
    #[must_use]
    pub const fn narrow() -> Self {
        Self { width: 360.0, font_size: 13.5, panel_height: 185.0 }
    }
    pub(crate) fn sound(self) -> Self {
        let within = |v: f64, lo: f64, hi: f64| if v.is_nan() { lo } else { v.clamp(lo, hi) };
        Self {
            width: within(self.width, 240.0, 4000.0),
            font_size: within(self.font_size, 6.0, 48.0),
            panel_height: within(self.panel_height, 80.0, 2000.0),
        }
    }
}

impl Chart {
    /// Draws the chart as an SVG element. `id` starts every identifier in it: give each chart of a page its own.
    #[must_use]
    pub fn svg(&self, layout: &Layout, id: &str) -> String {
        draw::chart(self, layout.sound(), &crate::escape::identifier(id))
    }
}
