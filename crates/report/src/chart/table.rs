//! The table behind a chart, for readers who cannot see it.

use super::{Chart, Point};
use crate::scale::{drawable, number, round_step, ticks};
use crate::table::{Align, Column, Table};
use fallrate_units::Duration;

impl Chart {
    /// A table of the points nearest to round hours (at most 13 rows). Nothing is interpolated: a series without a
    /// point within half a step has an empty cell.
    #[must_use]
    pub fn data_table(&self) -> Table {
        let frame = super::frame::frame(self, super::Layout::wide());
        let (from, to) = (frame.x.from, frame.x.to);
        let step = super::frame::x_step(self, to - from, 12);
        let mark = self.words.decimal_mark;
        let mut header = vec![Column::right(&self.words.elapsed)];
        if self.clock_start.is_some() {
            header.push(Column::right(&self.words.clock));
        }
        for s in &self.series {
            let unit = self.axes.get(s.axis).map_or("", |a| a.unit.as_str());
            let label = super::frame::series_words(self, s);
            let text = if unit.is_empty() { label } else { format!("{label}, {unit}") };
            header.push(Column { text, align: Align::Right });
        }
        let rows = ticks(from, to, step, 0.0).into_iter().map(|h| self.row(h, step, mark)).collect();
        Table { title: self.title.clone(), header, rows, note: None }
    }

    fn row(&self, h: f64, step: f64, mark: char) -> Vec<String> {
        let digits = if step < 1.0 { 0.01 } else { 1.0 };
        let mut row = vec![match &self.x_unit {
            Some(unit) => format!("{} {unit}", number(h, step, mark)).trim_end().to_owned(),
            None => format!("{} h", number(h, digits, mark)),
        }];
        if let Some(start) = self.clock_start {
            row.push(start.plus(Duration::from_hours(h.clamp(-1e6, 1e6))).hm());
        }
        row.extend(self.series.iter().map(|s| {
            let far = |p: &&Point| (p.0 - h).abs();
            let usable = s.points.iter().filter(|p| drawable(p.0) && drawable(p.1));
            let nearest = usable.min_by(|a, b| far(a).total_cmp(&far(b))).filter(|p| far(p) <= step / 2.0);
            let spread = s.points.iter().map(|p| p.1.abs()).filter(|v| drawable(*v)).fold(0.0, f64::max);
            nearest.map_or(String::new(), |p| number(p.1, round_step(spread.max(1e-9), 200), mark))
        }));
        row
    }
}
