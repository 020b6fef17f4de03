//! The names of lines, bands and targets.

use super::draw::Drawing;
use super::frame::{end_lines, reaches_edge, series_words, small};
use super::labels::{Area, Placer, spread};
use super::{Point, Series};
use crate::font::{Weight, fit, text_width};
use crate::svg::{Anchor, Tone};

impl Drawing<'_> {
    /// Names in the right margin, moved apart, each led from the end of its line.
    pub(super) fn end_words(&mut self, drawn: &[(usize, &Series, Point)], area: Area) {
        let layout = self.frame.layout;
        let size = small(&layout);
        let span = (self.frame.x.from, self.frame.x.to);
        let ends: Vec<_> = drawn.iter().filter(|(_, s, _)| reaches_edge(s, span)).collect();
        let lines: Vec<Vec<String>> =
            ends.iter().map(|(_, s, _)| end_lines(self.chart, s, &layout)).collect();
        let line_height = size * 1.2;
        let wished: Vec<(f64, f64)> = ends
            .iter()
            .zip(&lines)
            .map(|((_, _, p), l)| {
                let h = l.len() as f64 * line_height + 4.0;
                (p.1.clamp(area.top, area.bottom) - h / 2.0, h)
            })
            .collect();
        let tops = spread(&wished, area.top - size * 0.7, area.bottom + size * 0.4);
        for ((((ink, _, p), words), top), (_, h)) in ends.iter().zip(&lines).zip(tops).zip(&wished) {
            if words.is_empty() {
                continue;
            }
            let from = (p.0.min(area.right), p.1.clamp(area.top, area.bottom));
            let to = (area.right + 18.0, top + h / 2.0);
            let stroke = Tone::Series(*ink).stroke();
            self.svg.path(
                &[(from.0 + 2.0, from.1), (area.right + 6.0, from.1), to],
                &format!("{stroke} fill=\"none\" stroke-width=\"1\""),
            );
            let style = self.style(Weight::Bold, Tone::Series(*ink), Anchor::Start);
            for (n, line) in words.iter().enumerate() {
                self.svg.text(area.right + 22.0, top + 2.0 + line_height * (n as f64 + 0.8), line, style);
            }
        }
    }

    pub(super) fn target_words(
        &mut self,
        targets: &[super::Target],
        area: Area,
        y: &crate::scale::Scale,
        placer: &mut Placer,
    ) {
        let mut style = self.style(Weight::Bold, Tone::Ink, Anchor::Start);
        style.halo = true;
        let h = style.size * 1.2;
        for t in targets {
            let at = y.at(t.value);
            if at < area.top - 1.0 || at > area.bottom + 1.0 {
                continue;
            }
            let label = fit(&t.label, Weight::Bold, style.size, area.right - area.left - 14.0);
            let w = text_width(&label, Weight::Bold, style.size) + 4.0;
            let room = (area.right - area.left - w - 8.0).max(0.0);
            let candidates: Vec<Area> = [1.0, 0.0, 0.85, 0.7, 0.5, 0.3, 0.15]
                .iter()
                .flat_map(|share| {
                    let left = area.left + 4.0 + room * share;
                    [Area::new(left, at - h - 2.0, w, h), Area::new(left, at + 2.0, w, h)]
                })
                .collect();
            if let Some(a) = placer.place(&candidates).and_then(|i| candidates.get(i)) {
                self.svg.text(a.left + 2.0, a.top + style.size * 0.95, &label, style);
            }
        }
    }

    /// Names of lines that end inside the panel.
    pub(super) fn inner_words(&mut self, drawn: &[(usize, &Series, Point)], placer: &mut Placer) {
        let span = (self.frame.x.from, self.frame.x.to);
        for (ink, s, end) in drawn.iter().filter(|(_, s, _)| !reaches_edge(s, span)) {
            let words = series_words(self.chart, s);
            self.word_near(&words, *end, *ink, Weight::Bold, placer);
        }
    }

    pub(super) fn band_words(&mut self, words: &[(String, Point, usize)], placer: &mut Placer) {
        for (label, middle, ink) in words {
            self.word_near(label, *middle, *ink, Weight::Regular, placer);
        }
    }

    /// Writes words as near to a point as lines and other words allow.
    pub(super) fn word_near(
        &mut self,
        words: &str,
        (px, py): Point,
        ink: usize,
        weight: Weight,
        placer: &mut Placer,
    ) {
        let mut style = self.style(weight, Tone::Series(ink), Anchor::Start);
        style.halo = true;
        let words = &fit(words, weight, style.size, self.frame.x.at_to - self.frame.x.at_from - 14.0);
        let (w, h) = (text_width(words, weight, style.size) + 4.0, style.size * 1.2);
        if words.trim().is_empty() {
            return;
        }
        let mut candidates = vec![];
        for ring in 0..7 {
            let d = 6.0 + f64::from(ring) * 11.0;
            for (left, top) in [
                (px + d, py - h / 2.0),
                (px - w / 2.0, py - d - h),
                (px - w / 2.0, py + d),
                (px + 4.0, py - d - h),
                (px + 4.0, py + d),
                (px - w - 4.0, py - d - h),
                (px - w - 4.0, py + d),
                (px - w - d, py - h / 2.0),
            ] {
                candidates.push(Area::new(left, top, w, h));
            }
        }
        let Some(a) = placer.place(&candidates).and_then(|i| candidates.get(i)).copied() else { return };
        let nearest = (px.clamp(a.left, a.right), py.clamp(a.top, a.bottom));
        if (nearest.0 - px).hypot(nearest.1 - py) > 14.0 {
            let stroke = Tone::Series(ink).stroke();
            self.svg.line((px, py), nearest, &format!("{stroke} stroke-width=\"1\""));
        }
        self.svg.text(a.left + 2.0, a.top + style.size * 0.95, words, style);
    }
}
