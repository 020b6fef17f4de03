//! Lines, points and bands.

use super::draw::Drawing;
use super::thin::{runs, spaced};
use super::{Band, Dash, Kind, Point, Series};
use crate::svg::{Tone, c, path_data};

impl Drawing<'_> {
    /// Draws a band; answers the middle of its widest place.
    pub(super) fn band(&mut self, number: usize, band: &Band, index: usize) -> Option<Point> {
        let panel = self.panel_at(index)?;
        let (x, y) = (self.frame.x, panel.y);
        let lower = runs(&band.lower, &x, &y).concat();
        let upper = runs(&band.upper, &x, &y).concat();
        if lower.len() < 2 || upper.len() < 2 {
            return None;
        }
        let outline: Vec<Point> = upper.iter().copied().chain(lower.iter().rev().copied()).collect();
        self.svg.raw(&format!(
            "<path d=\"{} Z\" fill=\"url(#{}-hatch{number})\"/>",
            path_data(&outline),
            self.id
        ));
        let stroke = Tone::Series(band.ink.unwrap_or(number)).stroke();
        for edge in [&lower, &upper] {
            self.svg.path(edge, &format!("{stroke} fill=\"none\" stroke-width=\"0.9\" opacity=\"0.75\""));
        }
        let width = x.at_to - x.at_from;
        let shown = |p: &&Point| p.0 >= x.at_from + 0.15 * width && p.0 <= x.at_to - 0.15 * width;
        let mut widest: Option<(f64, Point)> = None;
        for u in upper.iter().filter(shown) {
            let below = lower.iter().min_by(|a, b| (a.0 - u.0).abs().total_cmp(&(b.0 - u.0).abs()))?;
            let width = below.1 - u.1;
            if widest.is_none_or(|(w, _)| width > w) {
                widest = Some((width, (u.0, f64::midpoint(u.1, below.1))));
            }
        }
        widest.map(|w| w.1).or_else(|| upper.first().copied())
    }

    pub(super) fn series(&mut self, s: &Series, ink: usize, in_panel: usize, lines: &[Vec<Point>]) {
        let stroke = Tone::Series(ink).stroke();
        let join = "fill=\"none\" stroke-linejoin=\"round\"";
        let fill = Tone::Series(ink).fill();
        for run in lines {
            match s.kind {
                Kind::Forecast => {
                    let dashes = dash_pattern(s.dash, in_panel);
                    self.svg.path(
                        run,
                        &format!("{stroke} {join} stroke-width=\"1.8\" stroke-dasharray=\"{dashes}\""),
                    );
                    if let [(px, py)] = run.as_slice() {
                        self.svg.raw(&format!(
                            "<circle cx=\"{}\" cy=\"{}\" r=\"3.4\" fill=\"none\" {stroke} stroke-width=\"1.8\"/>",
                            c(*px),
                            c(*py)
                        ));
                    }
                }
                Kind::Measured => {
                    self.svg.path(run, &format!("{stroke} {join} stroke-width=\"2.6\""));
                    for p in spaced(run, 13.0) {
                        self.svg.raw(&marker(in_panel, p, &fill));
                    }
                }
            }
        }
    }
}

fn dash_pattern(dash: Dash, order: usize) -> &'static str {
    match (dash, order % 5) {
        (Dash::Long, _) | (Dash::Auto, 0) => "9 4",
        (Dash::Dots, _) | (Dash::Auto, 1) => "2 2.6",
        (Dash::DashDot, _) | (Dash::Auto, 2) => "11 3.5 2 3.5",
        (Dash::Short, _) | (Dash::Auto, 3) => "5 3",
        (Dash::DashDotDot, _) | (Dash::Auto, _) => "14 3 2 3 2 3",
    }
}

/// A measured point: a shape for each line of a panel, so that they differ without colour.
fn marker(order: usize, (x, y): Point, fill: &str) -> String {
    let r = 3.4;
    let corners: &[(f64, f64)] = match order % 4 {
        0 => return format!("<circle cx=\"{}\" cy=\"{}\" r=\"{r}\" {fill}/>", c(x), c(y)),
        1 => &[(-3.1, -3.1), (3.1, -3.1), (3.1, 3.1), (-3.1, 3.1)],
        2 => &[(0.0, -4.4), (4.0, 2.8), (-4.0, 2.8)],
        _ => &[(0.0, -4.6), (4.6, 0.0), (0.0, 4.6), (-4.6, 0.0)],
    };
    let moved: Vec<Point> = corners.iter().map(|(dx, dy)| (x + dx, y + dy)).collect();
    format!("<path d=\"{} Z\" {fill}/>", path_data(&moved))
}
