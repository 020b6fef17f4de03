//! Judged minutes: a strip on which counted time is filled and uncounted time is open, with its reason.

use crate::chart::Layout;
use crate::font::{Weight, fit, text_width, wrap};
use crate::scale::{Scale, drawable, hour_step, ticks};
use crate::svg::{Anchor, Svg, TextStyle, Tone};
use fallrate_units::{Duration, TimeOfDay};

/// A strip of judged time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strip {
    /// What was judged, one line.
    pub title: String,
    /// The finding in words.
    pub description: String,
    /// Clock time at hour 0.
    pub clock_start: Option<TimeOfDay>,
    /// The pieces, in order of time.
    pub spans: Vec<Span>,
    /// "counted".
    pub counted: String,
    /// "not counted".
    pub not_counted: String,
}

/// A piece of judged time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Span {
    /// Start, h.
    pub from_h: f64,
    /// End, h.
    pub to_h: f64,
    /// Whether it counted.
    pub counted: bool,
    /// Why, for what did not count.
    pub reason: String,
}

impl Span {
    fn sound(&self) -> bool {
        drawable(self.from_h) && drawable(self.to_h) && self.to_h > self.from_h
    }
}

impl Strip {
    /// Draws the strip as an SVG element: uncounted pieces carry numbers, their reasons stand below, each with its
    /// clock times. `id` starts every identifier in it.
    #[must_use]
    pub fn svg(&self, layout: &Layout, id: &str) -> String {
        self.drawn(layout, id, true)
    }

    /// Draws the strip without the reasons below it: for a page that writes [`Strip::reasons`] as text.
    #[must_use]
    pub fn svg_without_reasons(&self, layout: &Layout, id: &str) -> String {
        self.drawn(layout, id, false)
    }

    /// The reasons of the uncounted pieces, each with its number on the strip and its clock times.
    #[must_use]
    pub fn reasons(&self) -> Vec<String> {
        let uncounted = self.spans.iter().filter(|s| s.sound() && !s.counted);
        uncounted.enumerate().map(|(i, span)| self.reason(span, i + 1)).collect()
    }

    fn drawn(&self, layout: &Layout, id: &str, with_reasons: bool) -> String {
        let layout = layout.sound();
        let id = crate::escape::identifier(id);
        let (f, s) = (layout.font_size, layout.font_size * 0.9);
        let spans: Vec<&Span> = self.spans.iter().filter(|s| s.sound()).collect();
        let (from, to) = spans
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| (a.min(s.from_h), b.max(s.to_h)));
        let (from, to) = if to > from { (from, to) } else { (0.0, 1.0) };
        let edge = text_width("00:00", Weight::Regular, s) / 2.0 + 2.0;
        let x = Scale { from, to, at_from: edge, at_to: layout.width - edge };
        let bold = TextStyle {
            size: f * 1.1,
            weight: Weight::Bold,
            tone: Tone::Ink,
            anchor: Anchor::Start,
            halo: false,
        };
        let mut svg = Svg::default();
        let mut y = 6.0;
        for line in wrap(&self.title, Weight::Bold, bold.size, layout.width - 8.0) {
            svg.text(4.0, y + bold.size * 0.95, &line, bold);
            y += f * 1.45;
        }
        y = self.key(&mut svg, layout.width, y + 3.0, s);
        let height = f * 2.2;
        let ink = Tone::Ink;
        svg.rect(
            x.at_from,
            y,
            x.at_to - x.at_from,
            height,
            &format!("fill=\"none\" {} stroke-width=\"1\"", Tone::Line.stroke()),
        );
        let (mut count, mut free_from) = (0_usize, f64::NEG_INFINITY);
        for span in spans {
            let (a, b) = (x.at(span.from_h), x.at(span.to_h));
            if span.counted {
                svg.rect(a, y, b - a, height, &Tone::Series(0).fill());
            } else {
                svg.rect(a, y, b - a, height, &open_look());
                count += 1;
                let number = TextStyle { size: s, anchor: Anchor::Middle, halo: true, tone: ink, ..bold };
                let (text, middle) = (count.to_string(), f64::midpoint(a, b));
                let half = text_width(&text, Weight::Bold, s) / 2.0;
                // Numbers that would run into one another are left out: the reasons carry their times.
                if middle - half >= free_from {
                    svg.text(middle, y + height / 2.0 + s * 0.35, &text, number);
                    free_from = middle + half + 2.0;
                }
            }
        }
        y = self.clock(&mut svg, &x, y + height, s);
        let reasons = if with_reasons { self.reasons() } else { vec![] };
        for reason in reasons {
            for line in wrap(&reason, Weight::Regular, s, layout.width - 8.0) {
                y += s * 1.35;
                svg.text(4.0, y, &line, TextStyle { size: s, weight: Weight::Regular, ..bold });
            }
        }
        svg.finish(&id, &self.title, &self.description, layout.width, y + s * 0.8)
    }

    fn hm(&self, h: f64) -> String {
        let after = Duration::from_hours(h.clamp(-1e6, 1e6));
        self.clock_start.map_or_else(|| after.words(), |start| start.plus(after).hm())
    }

    fn reason(&self, span: &Span, number: usize) -> String {
        let word = if span.reason.trim().is_empty() { &self.not_counted } else { &span.reason };
        format!("{number}  {} – {}  {word}", self.hm(span.from_h), self.hm(span.to_h))
    }

    /// The two looks, named.
    fn key(&self, svg: &mut Svg, width: f64, y: f64, s: f64) -> f64 {
        let style = TextStyle {
            size: s,
            weight: Weight::Regular,
            tone: Tone::Muted,
            anchor: Anchor::Start,
            halo: false,
        };
        let word = |text: &str| fit(text, Weight::Regular, s, (width - 8.0 - s * 5.5) / 2.0);
        let (counted, not_counted) = (word(&self.counted), word(&self.not_counted));
        svg.rect(4.0, y, s * 1.6, s, &Tone::Series(0).fill());
        let x = 4.0 + s * 2.0;
        svg.text(x, y + s * 0.85, &counted, style);
        let next = x + text_width(&counted, Weight::Regular, s) + s * 1.5;
        svg.rect(next, y, s * 1.6, s, &open_look());
        svg.text(next + s * 2.0, y + s * 0.85, &not_counted, style);
        y + s * 1.8
    }

    fn clock(&self, svg: &mut Svg, x: &Scale, bottom: f64, s: f64) -> f64 {
        let style = TextStyle {
            size: s,
            weight: Weight::Regular,
            tone: Tone::Ink,
            anchor: Anchor::Middle,
            halo: false,
        };
        let label = if self.clock_start.is_some() {
            s * 4.6
        } else {
            text_width("10 h 30 min", Weight::Regular, s) + s
        };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let most = (((x.at_to - x.at_from) / label) as usize).clamp(2, 12);
        let offset = self.clock_start.map_or(0.0, |start| -start.seconds() / 3600.0);
        for h in ticks(x.from, x.to, hour_step(x.to - x.from, most), offset) {
            let at = x.at(h);
            svg.line(
                (at, bottom),
                (at, bottom + 5.0),
                &format!("{} stroke-width=\"1\"", Tone::Muted.stroke()),
            );
            svg.text(at, bottom + 5.0 + s, &self.hm(h), style);
        }
        bottom + 9.0 + s
    }
}

/// The look of time that did not count: paper with a dashed edge.
fn open_look() -> String {
    let day = crate::theme::DAY;
    format!(
        "class=\"fr-paper fr-mutedline\" fill=\"{}\" stroke=\"{}\" stroke-width=\"1.4\" stroke-dasharray=\"3 2\"",
        day.paper, day.muted
    )
}
