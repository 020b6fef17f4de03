//! Where words go so that they cover neither lines nor one another.

use super::Point;

/// A box: left, top, right, bottom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Area {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Area {
    pub fn new(left: f64, top: f64, width: f64, height: f64) -> Self {
        Self { left, top, right: left + width, bottom: top + height }
    }
    fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }
    fn holds(&self, p: &Point) -> bool {
        p.0 > self.left && p.0 < self.right && p.1 > self.top && p.1 < self.bottom
    }
    fn inside(&self, other: &Self) -> bool {
        self.left >= other.left
            && self.right <= other.right
            && self.top >= other.top
            && self.bottom <= other.bottom
    }
}

/// Keeps what is already on a panel.
#[derive(Debug)]
pub(super) struct Placer {
    panel: Area,
    lines: Vec<Point>,
    words: Vec<Area>,
}

impl Placer {
    pub fn new(panel: Area) -> Self {
        Self { panel, lines: vec![], words: vec![] }
    }
    pub fn add_line(&mut self, points: impl IntoIterator<Item = Point>) {
        self.lines.extend(points);
    }
    /// Takes the first of the candidate boxes that costs least: leaving the panel, covering words, covering lines.
    pub fn place(&mut self, candidates: &[Area]) -> Option<usize> {
        let cost = |a: &Area| {
            let outside = if a.inside(&self.panel) { 0 } else { 100_000 };
            let words = self.words.iter().filter(|w| a.meets(w)).count() * 1000;
            outside + words + self.lines.iter().filter(|p| a.holds(p)).count()
        };
        let (best, area) = candidates.iter().enumerate().min_by_key(|(_, a)| cost(a))?;
        self.words.push(*area);
        Some(best)
    }
}

/// Moves boxes of given heights, wished at given tops, apart between `top` and `bottom`; answers their tops in the
/// order given. Where they cannot all fit, they overlap evenly.
pub(super) fn spread(wished: &[(f64, f64)], top: f64, bottom: f64) -> Vec<f64> {
    let total: f64 = wished.iter().map(|w| w.1).sum();
    let squeeze = if total > bottom - top { (bottom - top) / total } else { 1.0 };
    let mut order: Vec<usize> = (0..wished.len()).collect();
    let at = |i: usize| wished.get(i).copied().unwrap_or((top, 0.0));
    order.sort_by(|a, b| at(*a).0.total_cmp(&at(*b).0));
    let mut placed: Vec<(usize, f64, f64)> = vec![];
    let mut floor = top;
    for i in order {
        let (wish, height) = at(i);
        let y = wish.max(floor);
        floor = y + height * squeeze;
        placed.push((i, y, height * squeeze));
    }
    let mut ceiling = bottom;
    for (_, y, height) in placed.iter_mut().rev() {
        *y = y.min(ceiling - *height);
        ceiling = *y;
    }
    let mut tops = vec![top; wished.len()];
    for (i, y, _) in placed {
        if let Some(t) = tops.get_mut(i) {
            *t = y;
        }
    }
    tops
}

/// Puts spans into rows, left to right, none over another and no span's own line (at its left end) through a span
/// of a lower row; answers each span's row.
pub(super) fn rows(spans: &[(f64, f64)]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..spans.len()).collect();
    let at = |i: usize| spans.get(i).copied().unwrap_or((0.0, 0.0));
    order.sort_by(|a, b| at(*a).0.total_cmp(&at(*b).0));
    let mut out = vec![0; spans.len()];
    let mut done: Vec<(f64, usize)> = vec![];
    for i in order {
        let (from, to) = at(i);
        let row = done.iter().filter(|(end, _)| *end > from).map(|(_, r)| r + 1).max().unwrap_or(0);
        done.push((to, row));
        if let Some(r) = out.get_mut(i) {
            *r = row;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limit_spread_keeps_boxes_apart_and_inside() {
        let wished = [(50.0, 10.0), (52.0, 10.0), (51.0, 20.0), (95.0, 10.0)];
        let tops = spread(&wished, 0.0, 100.0);
        let mut boxes: Vec<(f64, f64)> = tops.iter().zip(wished).map(|(t, (_, h))| (*t, *t + h)).collect();
        boxes.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(boxes.windows(2).all(|w| w[0].1 <= w[1].0 + 1e-9), "{boxes:?}");
        assert!(boxes[0].0 >= 0.0 && boxes[3].1 <= 100.0);
    }

    #[test]
    fn limit_spread_at_an_edge_stays_inside() {
        assert_eq!(spread(&[(-5.0, 10.0), (-5.0, 10.0), (0.0, 10.0)], 0.0, 100.0), [0.0, 10.0, 20.0]);
        assert_eq!(spread(&[(99.0, 10.0), (99.0, 10.0)], 0.0, 100.0), [80.0, 90.0]);
    }

    #[test]
    fn limit_rows_do_not_overlap() {
        assert_eq!(rows(&[(0.0, 10.0), (5.0, 20.0), (12.0, 30.0), (25.0, 40.0)]), vec![0, 1, 2, 3]);
        assert_eq!(rows(&[(0.0, 10.0), (12.0, 20.0)]), vec![0, 0]);
    }

    #[test]
    fn limit_a_label_goes_where_no_line_runs() {
        let mut p = Placer::new(Area::new(0.0, 0.0, 100.0, 100.0));
        p.add_line((0..100).map(|i| (f64::from(i), 15.0)));
        let boxes = [Area::new(10.0, 10.0, 30.0, 10.0), Area::new(10.0, 30.0, 30.0, 10.0)];
        assert_eq!(p.place(&boxes), Some(1));
        assert_eq!(p.place(&boxes), Some(0), "covering a word is worse than covering a line");
    }
}
