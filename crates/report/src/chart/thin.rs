//! Lines made ready to draw: cut at gaps, and thinned so that no pixel changes.

use super::Point;
use crate::scale::{Scale, drawable};

/// Cuts a line where a number cannot be drawn, and turns the runs into coordinates.
pub(super) fn runs(points: &[Point], x: &Scale, y: &Scale) -> Vec<Vec<Point>> {
    points
        .split(|(h, v)| !(drawable(*h) && drawable(*v)))
        .filter(|run| !run.is_empty())
        .map(|run| thin(&run.iter().map(|(h, v)| (x.at(*h), y.at(*v))).collect::<Vec<_>>()))
        .collect()
}

/// Keeps of each half-pixel column the first, lowest, highest and last point, in their order: the drawn line covers
/// the same pixels as with all points.
pub(super) fn thin(points: &[Point]) -> Vec<Point> {
    let column = |p: &Point| (p.0 * 2.0).floor();
    let mut kept: Vec<Point> = vec![];
    for run in points.chunk_by(|a, b| column(a) == column(b)) {
        if run.len() <= 4 {
            kept.extend_from_slice(run);
            continue;
        }
        let by_height = |pick: fn(f64, f64) -> bool| {
            run.iter().enumerate().fold(0, |best, (i, p)| match run.get(best) {
                Some(b) if pick(p.1, b.1) => i,
                _ => best,
            })
        };
        let mut indices = [0, by_height(|a, b| a < b), by_height(|a, b| a > b), run.len() - 1];
        indices.sort_unstable();
        let mut last = None;
        for i in indices {
            if last != Some(i) {
                kept.extend(run.get(i));
            }
            last = Some(i);
        }
    }
    kept
}

/// Points at least `apart` from the one before, the last always among them.
pub(super) fn spaced(points: &[Point], apart: f64) -> Vec<Point> {
    let mut kept: Vec<Point> = vec![];
    let far = |a: &Point, b: &Point| (a.0 - b.0).hypot(a.1 - b.1) >= apart;
    for p in points {
        if kept.last().is_none_or(|k| far(k, p)) {
            kept.push(*p);
        }
    }
    if let (Some(last), Some(k)) = (points.last(), kept.last().copied())
        && k != *last
    {
        if kept.len() > 1 {
            kept.pop();
        }
        kept.push(*last);
    }
    kept
}

/// Points along a line no further apart than `step`, at most 4,000: where a label must not lie.
pub(super) fn along(run: &[Point], step: f64) -> Vec<Point> {
    let mut out: Vec<Point> = vec![];
    for pair in run.windows(2) {
        let [a, b] = pair else { continue };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let n = (((b.0 - a.0).hypot(b.1 - a.1) / step).ceil() as usize).clamp(1, 400);
        for i in 0..n {
            let s = i as f64 / n as f64;
            out.push((a.0 + s * (b.0 - a.0), a.1 + s * (b.1 - a.1)));
        }
        if out.len() > 4000 {
            break;
        }
    }
    out.extend(run.last());
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limit_thinning_keeps_every_extreme_and_both_ends() {
        let dense: Vec<Point> = (0..10_000u32)
            .map(|i| (f64::from(i) / 100.0, if i == 5_555 { 99.0 } else { f64::from(i % 7) }))
            .collect();
        let kept = thin(&dense);
        assert!(kept.len() <= 4 * 201 && kept.len() > 200, "{}", kept.len());
        assert!(kept.contains(&(55.55, 99.0)));
        assert_eq!((kept.first(), kept.last()), (dense.first(), dense.last()));
        for column in 0..200u32 {
            let in_column = |p: &&Point| (p.0 * 2.0).floor() == f64::from(column);
            let extremes = |ps: &[Point]| {
                let ys: Vec<f64> = ps.iter().filter(in_column).map(|p| p.1).collect();
                (ys.iter().copied().fold(f64::MAX, f64::min), ys.iter().copied().fold(f64::MIN, f64::max))
            };
            assert_eq!(extremes(&dense), extremes(&kept));
        }
    }

    #[test]
    fn limit_gaps_are_not_bridged() {
        let s = Scale { from: 0.0, to: 1.0, at_from: 0.0, at_to: 1.0 };
        let r = runs(&[(0.0, 0.0), (0.1, f64::NAN), (0.2, 0.2), (f64::INFINITY, 1.0), (0.3, 1e200)], &s, &s);
        assert_eq!(r, vec![vec![(0.0, 0.0)], vec![(0.2, 0.2)]]);
    }
}
