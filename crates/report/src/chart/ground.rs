//! What a chart stands on: stages, hours, grids, events.

use super::Kind;
use super::draw::Drawing;
use super::frame::small;
use crate::font::{Weight, text_width};
use crate::scale::{drawable, number, ticks};
use crate::svg::{Anchor, TextStyle, Tone, c};
use fallrate_units::Duration;

impl Drawing<'_> {
    pub(super) fn stage_bands(&mut self) {
        let bottom = self.bottom();
        let x = self.frame.x;
        let top = self.frame.stage_top;
        let sound = |s: &&super::Stage| {
            drawable(s.from_h) && drawable(s.to_h) && s.to_h > s.from_h && s.to_h > x.from && s.from_h < x.to
        };
        for (i, stage) in self.chart.stages.iter().filter(sound).enumerate() {
            let (a, b) = (x.at(stage.from_h.max(x.from)), x.at(stage.to_h.min(x.to)));
            if i % 2 == 0 {
                self.svg.rect(a, top, b - a, bottom - top, &Tone::Tint.fill());
            }
            for edge in [a, b] {
                self.svg.line(
                    (edge, top),
                    (edge, bottom),
                    &format!("{} stroke-width=\"1\"", Tone::Line.stroke()),
                );
            }
        }
        let size = small(&self.frame.layout);
        let words = std::mem::take(&mut self.frame.stages);
        for w in &words {
            let y = top + size * (1.15 + 1.4 * w.row as f64);
            let mut style = self.style(Weight::Bold, Tone::Ink, Anchor::Start);
            style.halo = w.bold;
            self.svg.text(w.left, y, &w.text, style);
        }
        self.frame.stages = words;
    }

    pub(super) fn heading(&mut self) {
        let layout = self.frame.layout;
        let size = layout.font_size * 1.1;
        let style =
            TextStyle { size, weight: Weight::Bold, tone: Tone::Ink, anchor: Anchor::Start, halo: false };
        let mut y = self.frame.title_top + size * 0.95;
        for line in self.frame.title.clone() {
            self.svg.text(4.0, y, &line, style);
            y += layout.font_size * 1.45;
        }
        let kinds: Vec<Kind> = [Kind::Forecast, Kind::Measured]
            .into_iter()
            .filter(|k| self.chart.series.iter().any(|s| s.kind == *k))
            .collect();
        let [kind] = kinds.as_slice() else { return };
        let word = match kind {
            Kind::Forecast => &self.chart.words.forecast,
            Kind::Measured => &self.chart.words.measured,
        };
        let s = small(&layout);
        let width = text_width(word, Weight::Regular, s);
        let left = if self.frame.kind_right { layout.width - 8.0 - width - 38.0 } else { 4.0 };
        let y = if self.frame.kind_right {
            self.frame.title_top + size * 0.95
        } else {
            y - layout.font_size * 0.1
        };
        self.sample(*kind, left, y - s * 0.33);
        let style = self.style(Weight::Regular, Tone::Muted, Anchor::Start);
        self.svg.text(left + 38.0, y, word, style);
    }

    /// A short piece of line as a forecast or a measurement is drawn.
    pub(super) fn sample(&mut self, kind: Kind, left: f64, y: f64) {
        let stroke = Tone::Muted.stroke();
        if kind == Kind::Forecast {
            self.svg.line(
                (left, y),
                (left + 32.0, y),
                &format!("{stroke} stroke-width=\"1.8\" stroke-dasharray=\"9 4\""),
            );
        } else {
            self.svg.line((left, y), (left + 32.0, y), &format!("{stroke} stroke-width=\"2.6\""));
            for x in [left + 2.0, left + 16.0, left + 30.0] {
                self.svg.raw(&format!(
                    "<circle cx=\"{}\" cy=\"{}\" r=\"3.2\" {}/>",
                    c(x),
                    c(y),
                    Tone::Muted.fill()
                ));
            }
        }
    }

    /// Elapsed hours above, the clock below.
    pub(super) fn hours(&mut self) {
        let (x, step) = (self.frame.x, self.frame.x_step);
        let mark = self.chart.words.decimal_mark;
        let muted = self.style(Weight::Regular, Tone::Muted, Anchor::Middle);
        let size = muted.size;
        let left = TextStyle { anchor: Anchor::Start, ..muted };
        let elapsed_word = self.chart.words.elapsed.clone();
        let word_end = 4.0 + text_width(&elapsed_word, Weight::Regular, size) + 8.0;
        self.svg.text(4.0, self.frame.elapsed_y, &elapsed_word, left);
        let most = self.frame.layout.width - 2.0;
        for h in ticks(x.from, x.to, step, 0.0) {
            let words = match &self.chart.x_unit {
                Some(unit) => format!("{} {unit}", number(h, step, mark)).trim_end().to_owned(),
                None if step < 0.45 && x.to <= 4.0 => format!("{} min", number(h * 60.0, 1.0, mark)),
                None => hours_words(h, step, mark),
            };
            let half = text_width(&words, Weight::Regular, size) / 2.0;
            let at = x.at(h);
            if at - half >= word_end && at + half <= most {
                self.svg.text(at, self.frame.elapsed_y, &words, muted);
            }
        }
        let Some(start) = self.chart.clock_start else { return };
        let start_h = start.seconds() / 3600.0;
        let y = self.frame.clock_y + size;
        let clock_word = self.chart.words.clock.clone();
        let width = text_width(&clock_word, Weight::Regular, size);
        let mut free_to = most;
        if self.frame.end_width > width + 4.0 {
            self.svg.text(self.frame.x.at_to + 22.0, y, &clock_word, left);
            free_to = self.frame.x.at_to + 18.0;
        }
        for h in ticks(x.from, x.to, step, -start_h) {
            let at = x.at(h);
            let words = start.plus(Duration::from_hours(h.clamp(-1e6, 1e6))).hm();
            let half = text_width(&words, Weight::Regular, size) / 2.0;
            self.svg.line(
                (at, self.bottom()),
                (at, self.bottom() + 5.0),
                &format!("{} stroke-width=\"1\"", Tone::Muted.stroke()),
            );
            if at - half >= 0.0 && at + half <= free_to.max(x.at_to + half) {
                self.svg.text(at, y, &words, TextStyle { tone: Tone::Ink, ..muted });
            }
        }
    }

    pub(super) fn grid(&mut self, index: usize) {
        let Some(panel) = self.panel_at(index) else { return };
        let (area, y, tick_words) = (panel.area, panel.y, panel.ticks.clone());
        let style = self.style(Weight::Regular, Tone::Ink, Anchor::End);
        for (value, words) in tick_words {
            let at = y.at(value);
            self.svg.line(
                (area.left, at),
                (area.right, at),
                &format!("{} stroke-width=\"1\"", Tone::Line.stroke()),
            );
            self.svg.text(area.left - 6.0, at + style.size * 0.35, &words, style);
        }
        let axis = format!("{} stroke-width=\"1.2\"", Tone::Muted.stroke());
        self.svg.line((area.left, area.top), (area.left, area.bottom), &axis);
        self.svg.line((area.left, area.bottom), (area.right, area.bottom), &axis);
    }

    pub(super) fn panel_heading(&mut self, index: usize) {
        let Some(panel) = self.panel_at(index) else { return };
        let (area, heading) = (panel.area, panel.heading.clone());
        let mut style = self.style(Weight::Bold, Tone::Ink, Anchor::Start);
        style.halo = true;
        let mut at = area.top - 11.0 - (heading.len().saturating_sub(1)) as f64 * style.size * 1.35;
        for line in heading {
            self.svg.text(4.0, at, &line, style);
            at += style.size * 1.35;
        }
    }

    /// Events and the present, down through all panels.
    pub(super) fn moments(&mut self) {
        let size = small(&self.frame.layout);
        let bottom = self.bottom();
        let words = std::mem::take(&mut self.frame.marks);
        for w in &words {
            let base = self.frame.mark_top + size * (1.05 + 1.35 * w.row as f64);
            let (tone, width) = if w.bold { (Tone::Ink, "2.4") } else { (Tone::Muted, "1.1") };
            let attributes = format!("{} stroke-width=\"{width}\"", tone.stroke());
            self.svg.line((w.at, base - size * 0.8), (w.at, bottom), &attributes);
        }
        for w in &words {
            let base = self.frame.mark_top + size * (1.05 + 1.35 * w.row as f64);
            let weight = if w.bold { Weight::Bold } else { Weight::Regular };
            let mut style = self.style(weight, Tone::Ink, Anchor::Start);
            style.halo = true;
            self.svg.text(w.left, base, &w.text, style);
        }
        self.frame.marks = words;
    }
}

/// `"1 h"`, `"1.5 h"`, `"1.25 h"`.
fn hours_words(h: f64, step: f64, mark: char) -> String {
    let whole = (h - h.round()).abs() < 1e-6;
    let half = (h * 2.0 - (h * 2.0).round()).abs() < 1e-6;
    let digits_of = if step >= 1.0 || whole {
        1.0f64.max(step.floor())
    } else if half {
        0.1
    } else {
        0.01
    };
    format!("{} h", number(h, digits_of, mark))
}
