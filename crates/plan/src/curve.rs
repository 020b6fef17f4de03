//! A smooth monotone curve through points.

/// Piecewise cubic through points of rising x, with slopes limited so that it never overshoots
/// (Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246; harmonic-mean slopes, from memory).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Curve {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl Curve {
    /// From points; those whose x does not rise are dropped.
    #[must_use]
    pub fn new(points: &[(f64, f64)]) -> Self {
        let mut x: Vec<f64> = Vec::with_capacity(points.len());
        let mut y = Vec::with_capacity(points.len());
        for &(px, py) in points {
            if x.last().is_none_or(|&last| px > last) {
                x.push(px);
                y.push(py);
            }
        }
        let slope = slopes(&x, &y);
        Self { x, y, slope }
    }

    /// First and last x; none for an empty curve.
    #[must_use]
    pub fn range(&self) -> Option<(f64, f64)> {
        Some((*self.x.first()?, *self.x.last()?))
    }

    /// Value at x, held constant beyond the ends; NaN for an empty curve.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        let n = self.x.len();
        if n == 0 {
            return f64::NAN;
        }
        let k = self.x.partition_point(|&v| v <= x);
        if k == 0 {
            return self.y[0];
        }
        if k == n {
            return self.y[n - 1];
        }
        let (x0, h) = (self.x[k - 1], self.x[k] - self.x[k - 1]);
        let s = (x - x0) / h;
        let (s2, s3) = (s * s, s * s * s);
        (2.0 * s3 - 3.0 * s2 + 1.0) * self.y[k - 1]
            + (s3 - 2.0 * s2 + s) * h * self.slope[k - 1]
            + (3.0 * s2 - 2.0 * s3) * self.y[k]
            + (s3 - s2) * h * self.slope[k]
    }

    /// First x at which a falling curve is at or below a value; none where it never is.
    #[must_use]
    pub fn first_at_or_below(&self, value: f64) -> Option<f64> {
        let k = self.y.iter().position(|&y| y <= value)?;
        if k == 0 {
            return Some(self.x[0]);
        }
        let (mut low, mut high) = (self.x[k - 1], self.x[k]);
        for _ in 0..60 {
            let mid = 0.5 * (low + high);
            if self.at(mid) <= value { high = mid } else { low = mid }
        }
        Some(high)
    }
}

fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let n = x.len();
    if n < 2 {
        return vec![0.0; n];
    }
    let secant: Vec<f64> = (0..n - 1).map(|i| (y[i + 1] - y[i]) / (x[i + 1] - x[i])).collect();
    let mut s = vec![0.0; n];
    s[0] = secant[0];
    s[n - 1] = secant[n - 2];
    for i in 1..n - 1 {
        let (a, b) = (secant[i - 1], secant[i]);
        s[i] = if a * b <= 0.0 { 0.0 } else { 2.0 * a * b / (a + b) };
    }
    s
}

/// Quantile of values by linear interpolation between order statistics (type 7); NaN for none.
#[must_use]
pub fn quantile(values: &[f64], share: f64) -> f64 {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
    sorted.sort_by(f64::total_cmp);
    if sorted.is_empty() {
        return f64::NAN;
    }
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let (place, last) = (share.clamp(0.0, 1.0) * (sorted.len() - 1) as f64, sorted.len() - 1);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let low = place.floor() as usize;
    let high = (low + 1).min(last);
    let share_of_gap = place - place.floor();
    // An infinite neighbour that carries no weight must not turn the value into NaN.
    if sorted[low] == sorted[high] || share_of_gap == 0.0 {
        return sorted[low];
    }
    sorted[low] + share_of_gap * (sorted[high] - sorted[low])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identity_curve_passes_through_its_points_and_stays_monotone() {
        let points: Vec<(f64, f64)> = (0..8).map(|i| f64::from(i) * 0.7).map(|x| (x, (-x).exp())).collect();
        let c = Curve::new(&points);
        for &(x, y) in &points {
            assert!((c.at(x) - y).abs() < 1e-14);
        }
        let fine: Vec<f64> = (0..=490).map(|i| c.at(f64::from(i) * 0.01)).collect();
        assert!(fine.windows(2).all(|w| w[1] <= w[0] + 1e-15));
        let x = c.first_at_or_below(0.2).unwrap();
        assert!((x - 0.2_f64.ln().abs()).abs() < 0.02);
        assert!(c.first_at_or_below(0.001).is_none());
    }

    #[test]
    fn identity_quantiles_of_a_row_of_numbers() {
        let v: Vec<f64> = (0..=100).map(f64::from).collect();
        assert_eq!(quantile(&v, 0.1), 10.0);
        assert_eq!(quantile(&v, 0.5), 50.0);
        assert!(quantile(&[], 0.5).is_nan());
        assert_eq!(quantile(&[1.0, 2.0, f64::INFINITY], 0.5), 2.0);
        assert_eq!(quantile(&[1.0, 2.0, f64::INFINITY], 0.9), f64::INFINITY);
    }
}
