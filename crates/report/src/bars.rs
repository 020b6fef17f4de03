//! Horizontal bars with intervals: shares of variance, sensitivities, the map of trays.

use crate::chart::Layout;
use crate::font::{Weight, text_width, wrap};
use crate::scale::{Scale, auto_range, drawable, number, round_step, ticks};
use crate::svg::{Anchor, Svg, TextStyle, Tone, c};
use crate::{ChartWords, Kind};

/// Horizontal bars.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BarChart {
    /// What it shows, one line.
    pub title: String,
    /// The main finding in words.
    pub description: String,
    /// Unit of the values, below the scale.
    pub unit: String,
    /// The bars, from the top.
    pub bars: Vec<Bar>,
    /// First and last value shown; `None` takes them from the data and zero.
    pub range: Option<(f64, f64)>,
    /// A value to compare with, and its words.
    pub reference: Option<(f64, String)>,
    /// Words of the chart itself.
    pub words: ChartWords,
}

/// One bar.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bar {
    /// Its name.
    pub label: String,
    /// Its value.
    pub value: f64,
    /// An interval about the value.
    pub interval: Option<(f64, f64)>,
    /// The value in words, written after the bar ("1.18 kg/h"); empty writes the number.
    pub words: String,
    /// Forecast (hatched) or measured (solid).
    pub kind: Kind,
}

struct Places {
    size: f64,
    left: f64,
    x: Scale,
    row: f64,
    top: f64,
    bottom: f64,
}

impl BarChart {
    /// Draws the bars as an SVG element. `id` starts every identifier in it.
    #[must_use]
    pub fn svg(&self, layout: &Layout, id: &str) -> String {
        let layout = layout.sound();
        let id = crate::escape::identifier(id);
        let size = layout.font_size * 0.93;
        let most = layout.width * 0.34;
        let labels: Vec<Vec<String>> =
            self.bars.iter().map(|b| wrap(&b.label, Weight::Regular, size, most)).collect();
        let title = wrap(&self.title, Weight::Bold, layout.font_size * 1.1, layout.width - 8.0);
        let p = self.places(&layout, &labels, size, title.len());
        let mut svg = Svg::default();
        let bold = TextStyle {
            size: layout.font_size * 1.1,
            weight: Weight::Bold,
            tone: Tone::Ink,
            anchor: Anchor::Start,
            halo: false,
        };
        for (n, line) in title.iter().enumerate() {
            svg.text(4.0, 6.0 + layout.font_size * (1.05 + 1.45 * n as f64), line, bold);
        }
        self.hatch(&mut svg, &id);
        self.scale(&mut svg, &p);
        for (i, (bar, label)) in self.bars.iter().zip(&labels).enumerate() {
            self.bar(&mut svg, &p, i, bar, label, &id);
        }
        if self.bars.is_empty() {
            let style = TextStyle { size, weight: Weight::Regular, tone: Tone::Muted, ..bold };
            svg.text(p.left, p.top + p.row * 0.6, &self.words.nothing, style);
        }
        self.reference(&mut svg, &p);
        svg.finish(
            &id,
            &self.title,
            &self.description,
            layout.width,
            p.bottom + size * if self.unit.trim().is_empty() { 2.1 } else { 3.1 },
        )
    }

    fn value_words(&self, bar: &Bar) -> String {
        match (bar.words.trim(), drawable(bar.value)) {
            ("", true) => {
                number(bar.value, round_step(bar.value.abs().max(1e-6), 100), self.words.decimal_mark)
            }
            ("", false) => self.words.nothing.clone(),
            (words, _) => words.to_owned(),
        }
    }

    fn places(&self, layout: &Layout, labels: &[Vec<String>], size: f64, title_lines: usize) -> Places {
        let left =
            labels.iter().flatten().map(|l| text_width(l, Weight::Regular, size)).fold(0.0, f64::max) + 14.0;
        let after = self
            .bars
            .iter()
            .map(|b| text_width(&self.value_words(b), Weight::Bold, size))
            .fold(0.0, f64::max);
        let after = after.min(layout.width * 0.35) + 14.0;
        let values = self.bars.iter().flat_map(|b| {
            let (lo, hi) = b.interval.unwrap_or((b.value, b.value));
            [b.value, lo, hi]
        });
        let sound = |(a, b): &(f64, f64)| drawable(*a) && drawable(*b) && b > a;
        let (from, to) = self
            .range
            .filter(sound)
            .unwrap_or_else(|| auto_range(values.chain(self.reference.iter().map(|r| r.0)), true, 5));
        let x = Scale { from, to, at_from: left, at_to: (layout.width - after).max(left + 40.0) };
        let lines = labels.iter().map(Vec::len).max().unwrap_or(1).max(1);
        let row = size * (0.75 + 1.15 * lines as f64);
        let above = if self.reference.is_some() { size * 1.5 } else { 0.0 };
        let top = 12.0 + layout.font_size * 1.45 * title_lines as f64 + above;
        Places { size, left, x, row, top, bottom: top + row * self.bars.len().max(1) as f64 }
    }

    fn hatch(&self, svg: &mut Svg, id: &str) {
        let stroke = Tone::Series(0).stroke();
        svg.raw(&format!(
            "<defs><pattern id=\"{id}-hatch\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(45)\"><path d=\"M0 0 L0 5\" {stroke} stroke-width=\"2\" opacity=\"0.75\"/></pattern></defs>"
        ));
    }

    fn scale(&self, svg: &mut Svg, p: &Places) {
        let style = TextStyle {
            size: p.size * 0.93,
            weight: Weight::Regular,
            tone: Tone::Muted,
            anchor: Anchor::Middle,
            halo: false,
        };
        let room = p.x.at_to - p.x.at_from;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let most = ((room / (style.size * 4.0)) as usize).clamp(2, 8);
        let step = round_step(p.x.to - p.x.from, most);
        let grid = format!("{} stroke-width=\"1\"", Tone::Line.stroke());
        for v in ticks(p.x.from, p.x.to, step, 0.0) {
            let at = p.x.at(v);
            svg.line((at, p.top), (at, p.bottom), &grid);
            svg.text(at, p.bottom + style.size * 1.3, &number(v, step, self.words.decimal_mark), style);
        }
        let end = TextStyle { anchor: Anchor::End, ..style };
        svg.text(
            p.x.at_to.max(text_width(&self.unit, style.weight, style.size)),
            p.bottom + style.size * 2.6,
            &self.unit,
            end,
        );
    }

    fn bar(&self, svg: &mut Svg, p: &Places, index: usize, bar: &Bar, label: &[String], id: &str) {
        let style = TextStyle {
            size: p.size,
            weight: Weight::Regular,
            tone: Tone::Ink,
            anchor: Anchor::End,
            halo: false,
        };
        let middle = p.top + p.row * (index as f64 + 0.5);
        let first = middle - p.size * (0.575 * (label.len() as f64 - 1.0) - 0.35);
        for (n, line) in label.iter().enumerate() {
            svg.text(p.left - 10.0, first + p.size * 1.15 * n as f64, line, style);
        }
        let clamp = |v: f64| p.x.at(v).clamp(p.x.at_from, p.x.at_to);
        let zero = clamp(0.0);
        let mut end = zero;
        if drawable(bar.value) {
            let at = clamp(bar.value);
            end = end.max(at);
            let h = p.size * 0.95;
            let stroke = Tone::Series(0).stroke();
            let (left, width) = (zero.min(at), (at - zero).abs());
            match bar.kind {
                Kind::Forecast => svg.rect(
                    left,
                    middle - h / 2.0,
                    width,
                    h,
                    &format!("fill=\"url(#{id}-hatch)\" {stroke} stroke-width=\"1.2\""),
                ),
                Kind::Measured => svg.rect(left, middle - h / 2.0, width, h, &Tone::Series(0).fill()),
            }
        }
        if let Some((lo, hi)) = bar.interval.filter(|(lo, hi)| drawable(*lo) && drawable(*hi)) {
            let (a, b) = (clamp(lo), clamp(hi));
            end = end.max(a).max(b);
            whisker(svg, a, b, middle, p.size);
        }
        let words = TextStyle { weight: Weight::Bold, anchor: Anchor::Start, halo: true, ..style };
        svg.text(end + 8.0, middle + p.size * 0.35, &self.value_words(bar), words);
    }

    fn reference(&self, svg: &mut Svg, p: &Places) {
        let Some((value, words)) = self.reference.as_ref().filter(|r| drawable(r.0)) else { return };
        let at = p.x.at(*value).clamp(p.x.at_from, p.x.at_to);
        svg.line((at, p.top - 4.0), (at, p.bottom), &format!("{} stroke-width=\"1.3\"", Tone::Ink.stroke()));
        let half = text_width(words, Weight::Bold, p.size) / 2.0;
        let style = TextStyle {
            size: p.size,
            weight: Weight::Bold,
            tone: Tone::Ink,
            anchor: Anchor::Middle,
            halo: true,
        };
        svg.text(at.max(half + 2.0), p.top - 9.0, words, style);
    }
}

/// The interval: a line with ends, on a rim so that it shows on the bar and beside it.
fn whisker(svg: &mut Svg, a: f64, b: f64, y: f64, size: f64) {
    let h = size * 0.28;
    for (stroke, width) in [(Tone::Paper.stroke(), 4.5), (Tone::Ink.stroke(), 1.6)] {
        svg.raw(&format!(
            "<path d=\"M{a} {t} L{a} {u} M{a} {y} L{b} {y} M{b} {t} L{b} {u}\" fill=\"none\" {stroke} stroke-width=\"{width}\"/>",
            a = c(a),
            b = c(b),
            y = c(y),
            t = c(y - h),
            u = c(y + h)
        ));
    }
}
