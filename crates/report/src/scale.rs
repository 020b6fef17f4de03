//! Ranges, round steps and tick words.

/// Numbers beyond this are not drawn: differences of two of them still fit.
pub(crate) const LARGEST: f64 = 1e100;

/// Whether a number can be drawn.
pub(crate) fn drawable(v: f64) -> bool {
    v.is_finite() && v.abs() <= LARGEST
}

/// A straight scale from values to a coordinate.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scale {
    pub from: f64,
    pub to: f64,
    pub at_from: f64,
    pub at_to: f64,
}

impl Scale {
    /// The coordinate of a value, kept within 20,000 of the origin.
    pub fn at(&self, value: f64) -> f64 {
        let share = (value - self.from) / (self.to - self.from);
        let at = self.at_from + share * (self.at_to - self.at_from);
        if at.is_nan() { self.at_from } else { at.clamp(-20_000.0, 20_000.0) }
    }
}

/// The smallest of 1, 2, 5 times a power of ten that cuts `span` into at most `most` steps.
pub(crate) fn round_step(span: f64, most: usize) -> f64 {
    let raw = (span / most.max(1) as f64).max(1e-12);
    let power = 10f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].iter().map(|m| m * power).find(|s| *s >= raw * (1.0 - 1e-9));
    step.unwrap_or(10.0 * power)
}

/// Multiples of `step` plus `offset` from `from` to `to`, at most 200.
pub(crate) fn ticks(from: f64, to: f64, step: f64, offset: f64) -> Vec<f64> {
    let first = ((from - offset) / step - 1e-6).ceil();
    let count = ((to - offset) / step + 1e-6).floor() - first;
    if !(0.0..=200.0).contains(&count) || first.abs() > 1e12 {
        return vec![from, to];
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let count = count as u32;
    (0..=count).map(|i| (first + f64::from(i)) * step + offset).collect()
}

/// A pleasant range around values: padded and ended on ticks.
pub(crate) fn auto_range(values: impl Iterator<Item = f64>, from_zero: bool, most: usize) -> (f64, f64) {
    let (lo, hi) = values
        .filter(|v| drawable(*v))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| (lo.min(v), hi.max(v)));
    if lo > hi {
        return (0.0, 1.0);
    }
    let lo = if from_zero { lo.min(0.0) } else { lo };
    let hi = if from_zero { hi.max(0.0) } else { hi };
    let pad =
        if hi - lo > 1e-9 * lo.abs().max(hi.abs()) { (hi - lo) * 0.04 } else { (lo.abs() * 0.1).max(0.5) };
    let (low, high) = (if from_zero && lo == 0.0 { 0.0 } else { lo - pad }, hi + pad);
    let step = round_step(high - low, most);
    ((low / step).floor() * step, (high / step).ceil() * step)
}

/// A tick's number with as many decimals as its step needs.
pub(crate) fn number(value: f64, step: f64, decimal_mark: char) -> String {
    let shown = if value.abs() >= 1e6 || (value != 0.0 && step.abs() < 1e-4) {
        format!("{value:.1e}")
    } else {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let digits = (-(step.abs().max(1e-6).log10() + 1e-9).floor()).clamp(0.0, 6.0) as usize;
        let plain = format!("{value:.digits$}");
        if plain.trim_start_matches('-').chars().all(|c| matches!(c, '0' | '.')) {
            plain.trim_start_matches('-').to_owned()
        } else {
            plain
        }
    };
    shown.replace('.', &decimal_mark.to_string()).replace('-', "\u{2212}")
}

/// Round steps for hours, and beyond a fortnight by the decimal rule.
pub(crate) fn hour_step(span_h: f64, most: usize) -> f64 {
    let steps = [1.0 / 12.0, 1.0 / 6.0, 0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 12.0, 24.0, 48.0, 72.0];
    let most_f = most.max(1) as f64;
    steps.into_iter().find(|s| span_h / s <= most_f).unwrap_or_else(|| round_step(span_h, most))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limit_a_scale_without_extent_stays_put() {
        let s = Scale { from: 1.0, to: 1.0, at_from: 7.0, at_to: 90.0 };
        assert_eq!((s.at(1.0), s.at(2.0)), (7.0, 20_000.0));
    }

    #[test]
    fn identity_ticks_are_round_and_their_words_exact() {
        let step = round_step(120.0, 6);
        let words: Vec<String> =
            ticks(60.0, 180.0, step, 0.0).into_iter().map(|v| number(v, step, '.')).collect();
        assert_eq!(words, ["60", "80", "100", "120", "140", "160", "180"]);
        assert_eq!(number(0.25, round_step(1.0, 4), ','), "0,2");
        assert_eq!([number(-0.0, 1.0, '.'), number(-5.0, 1.0, '.')], ["0", "\u{2212}5"]);
        assert_eq!(number(0.125, 0.005, ','), "0,125");
    }

    #[test]
    fn limit_automatic_ranges_hold_their_values() {
        for values in
            [vec![], vec![5.0], vec![0.0, 0.0], vec![-3.0, 8.0], vec![1e99, -1e99], vec![f64::NAN, 2.0]]
        {
            for from_zero in [false, true] {
                let (lo, hi) = auto_range(values.iter().copied(), from_zero, 5);
                assert!(
                    lo < hi && values.iter().filter(|v| !v.is_nan()).all(|v| lo <= *v && *v <= hi),
                    "{values:?}"
                );
                assert!(!from_zero || (lo <= 0.0 && hi >= 0.0));
            }
        }
    }
}
