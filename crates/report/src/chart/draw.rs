//! Drawing a settled chart.

use super::frame::{Frame, Panel, frame, small};
use super::labels::Placer;
use super::thin::{along, runs};
use super::{Chart, Layout, Point, Series};
use crate::font::Weight;
use crate::scale::drawable;
use crate::svg::{Anchor, Svg, TextStyle, Tone, c};

/// A drawing under way.
pub(super) struct Drawing<'a> {
    pub chart: &'a Chart,
    pub frame: Frame,
    pub id: &'a str,
    pub svg: Svg,
}

pub(super) fn chart(chart: &Chart, layout: Layout, id: &str) -> String {
    let mut d = Drawing { chart, frame: frame(chart, layout), id, svg: Svg::default() };
    d.defs();
    d.stage_bands();
    d.heading();
    d.hours();
    for index in 0..d.frame.panels.len() {
        d.grid(index);
    }
    d.moments();
    for index in 0..d.frame.panels.len() {
        d.panel_heading(index);
        d.panel(index);
    }
    let Drawing { frame, svg, .. } = d;
    svg.finish(id, &chart.title, &chart.description, frame.layout.width, frame.height)
}

fn ink_of(series: &Series, order: usize) -> usize {
    series.ink.unwrap_or(order)
}

impl Drawing<'_> {
    pub(super) fn style(&self, weight: Weight, tone: Tone, anchor: Anchor) -> TextStyle {
        TextStyle { size: small(&self.frame.layout), weight, tone, anchor, halo: false }
    }

    pub(super) fn panel_at(&self, index: usize) -> Option<&Panel> {
        self.frame.panels.get(index)
    }

    pub(super) fn bottom(&self) -> f64 {
        self.frame.panels.last().map_or(self.frame.mark_top, |p| p.area.bottom)
    }

    /// Clip paths of the panels and the hatch of each band.
    pub(super) fn defs(&mut self) {
        let mut defs = String::from("<defs>");
        for (i, p) in self.frame.panels.iter().enumerate() {
            let a = p.area;
            defs.push_str(&format!(
                "<clipPath id=\"{}-clip{i}\"><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/></clipPath>",
                self.id,
                c(a.left - 4.0),
                c(a.top - 1.0),
                c(a.right - a.left + 8.0),
                c(a.bottom - a.top + 2.0)
            ));
        }
        for (i, band) in self.chart.bands.iter().enumerate() {
            let stroke = Tone::Series(band.ink.unwrap_or(i)).stroke();
            let turn = if i % 2 == 0 { 45 } else { -45 };
            defs.push_str(&format!(
                "<pattern id=\"{}-hatch{i}\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" \
                 patternTransform=\"rotate({turn})\"><path d=\"M0 0 L0 6\" {stroke} stroke-width=\"1.3\" opacity=\"0.6\"/></pattern>",
                self.id
            ));
        }
        defs.push_str("</defs>");
        self.svg.raw(&defs);
    }

    pub(super) fn panel(&mut self, index: usize) {
        let Some(panel) = self.panel_at(index) else { return };
        let (area, y) = (panel.area, panel.y);
        let x = self.frame.x;
        let mut placer = Placer::new(area);
        for w in &self.frame.marks {
            placer.add_line(along(&[(w.at, area.top), (w.at, area.bottom)], 3.0));
        }
        self.svg.raw(&format!("<g clip-path=\"url(#{}-clip{index})\">", self.id));
        let mut band_words = vec![];
        for (i, band) in self.chart.bands.iter().enumerate().filter(|(_, b)| b.axis == index) {
            if let Some(middle) = self.band(i, band, index) {
                band_words.push((band.label.clone(), middle, band.ink.unwrap_or(i)));
            }
        }
        let targets: Vec<_> =
            self.chart.targets.iter().filter(|t| t.axis == index && drawable(t.value)).cloned().collect();
        for t in &targets {
            let at = y.at(t.value);
            let stroke = Tone::Ink.stroke();
            self.svg.line((area.left, at), (area.right, at), &format!("{stroke} stroke-width=\"1.3\""));
            placer.add_line(along(&[(area.left, at), (area.right, at)], 3.0));
        }
        let series: Vec<(usize, usize, &Series)> = self
            .chart
            .series
            .iter()
            .enumerate()
            .filter(|(_, s)| s.axis == index)
            .map(|(i, s)| {
                let alike = self.chart.series.iter().take(i).filter(|o| o.axis == index && o.kind == s.kind);
                (i, alike.count(), s)
            })
            .collect();
        let mut drawn: Vec<(usize, &Series, Point)> = vec![];
        for (i, in_panel, s) in &series {
            let lines = runs(&s.points, &x, &y);
            for run in &lines {
                placer.add_line(along(run, 3.0).into_iter().filter(|p| p.0 <= area.right + 1.0));
            }
            self.series(s, ink_of(s, *i), *in_panel, &lines);
            if let Some(end) = lines.last().and_then(|r| r.last()) {
                drawn.push((ink_of(s, *i), s, *end));
            }
        }
        self.svg.raw("</g>");
        if drawn.is_empty() && band_words.is_empty() {
            let words = self.chart.words.nothing.clone();
            let style = self.style(Weight::Regular, Tone::Muted, Anchor::Middle);
            self.svg.text(
                f64::midpoint(area.left, area.right),
                f64::midpoint(area.top, area.bottom),
                &words,
                style,
            );
        }
        self.end_words(&drawn, area);
        self.target_words(&targets, area, &y, &mut placer);
        self.inner_words(&drawn, &mut placer);
        self.band_words(&band_words, &mut placer);
    }
}
