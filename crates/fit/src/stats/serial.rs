//! Whether residuals along a curve look like independent errors.

use statrs::function::gamma::ln_gamma;

use crate::stats::normal_beyond;

/// Below this probability a test counts as failed.
const REFUSED: f64 = 0.01;
/// Below this size relative to the largest value a residual has no sign: what arithmetic leaves of an exact fit.
const NO_SIGN: f64 = 1e-12;

/// Runs of residuals of one sign, against what independent signs in any order would give (Wald and Wolfowitz; exact).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunsTest {
    /// Residuals above 0.
    pub above: usize,
    /// Residuals below 0.
    pub below: usize,
    /// Stretches of one sign.
    pub runs: usize,
    /// Runs that independent signs give on average.
    pub expected: f64,
    /// Probability of as few runs or fewer: small where the curve has another shape than the data.
    pub few_probability: f64,
    /// Probability of as many runs or more: small where readings swing about.
    pub many_probability: f64,
}

/// Correlation of a residual with the one before.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LagOne {
    /// `sum e_i e_(i+1) / sum e_i^2`, -1 to 1.
    pub correlation: f64,
    /// Probability of as large a value from independent errors, by the normal approximation with mean `-1/n` and variance
    /// `1/n`; it takes no account of the parameters fitted, which make residuals look more alternating than errors are.
    pub probability: f64,
}

/// Both tests of one curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ResidualTests {
    /// Runs.
    pub runs: RunsTest,
    /// Correlation with the residual before.
    pub lag_one: LagOne,
}

impl ResidualTests {
    /// Whether the residuals keep one sign for longer than chance allows (1 %): the curve has another shape than the data,
    /// and standard errors that count every reading as independent are too small.
    #[must_use]
    pub fn another_shape(&self) -> bool {
        self.runs.few_probability < REFUSED || self.lag_one.probability < REFUSED
    }
}

/// Tests residuals in the order of time.
#[must_use]
pub fn residual_tests(residuals: &[f64]) -> ResidualTests {
    ResidualTests { runs: runs_test(residuals), lag_one: lag_one(residuals) }
}

/// Counts the runs of residuals in the order of time; those that are 0 are passed over.
///
/// Exact distribution of the number of runs given the numbers of either sign (Wald and Wolfowitz 1940, from memory).
///
/// ```
/// // Four above, then four below: 2 runs, which 2 of the 70 orders have.
/// let test = fallrate_fit::stats::runs_test(&[1.0, 2.0, 1.0, 1.0, -1.0, -1.0, -2.0, -1.0]);
/// assert_eq!(test.runs, 2);
/// assert!((test.few_probability - 2.0 / 70.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn runs_test(residuals: &[f64]) -> RunsTest {
    let least = NO_SIGN * residuals.iter().fold(0.0_f64, |m, r| m.max(r.abs()));
    let signs: Vec<bool> = residuals.iter().filter(|r| r.abs() > least).map(|r| *r > 0.0).collect();
    let above = signs.iter().filter(|s| **s).count();
    let below = signs.len() - above;
    let runs = usize::from(!signs.is_empty()) + signs.windows(2).filter(|w| w[0] != w[1]).count();
    #[allow(clippy::cast_precision_loss)]
    let expected =
        if signs.is_empty() { 0.0 } else { 1.0 + 2.0 * (above * below) as f64 / signs.len() as f64 };
    let (mut few_probability, mut many_probability) = (0.0, 0.0);
    for r in 1..=signs.len() {
        let p = runs_probability(r, above, below);
        few_probability += if r <= runs { p } else { 0.0 };
        many_probability += if r >= runs { p } else { 0.0 };
    }
    if signs.is_empty() {
        (few_probability, many_probability) = (1.0, 1.0);
    }
    RunsTest {
        above,
        below,
        runs,
        expected,
        few_probability: few_probability.min(1.0),
        many_probability: many_probability.min(1.0),
    }
}

/// Probability of exactly `runs` runs.
fn runs_probability(runs: usize, above: usize, below: usize) -> f64 {
    if above == 0 || below == 0 {
        return if runs == 1 { 1.0 } else { 0.0 };
    }
    let half = runs / 2;
    let orders = ln_choose(above + below, above);
    // Ways to cut each sign's residuals into its runs.
    let term = |a: usize, b: usize| {
        if a == 0 || b == 0 || a > above || b > below {
            return 0.0;
        }
        (ln_choose(above - 1, a - 1) + ln_choose(below - 1, b - 1) - orders).exp()
    };
    if runs.is_multiple_of(2) { 2.0 * term(half, half) } else { term(half + 1, half) + term(half, half + 1) }
}

#[allow(clippy::cast_precision_loss)]
fn ln_choose(n: usize, k: usize) -> f64 {
    ln_gamma(n as f64 + 1.0) - ln_gamma(k as f64 + 1.0) - ln_gamma((n - k) as f64 + 1.0)
}

/// Correlation of each residual with the one before it in time; 0 with probability 1 for fewer than 3 residuals or where all
/// are 0.
#[must_use]
pub fn lag_one(residuals: &[f64]) -> LagOne {
    let squares: f64 = residuals.iter().map(|r| r * r).sum();
    if residuals.len() < 3 || !(squares > 0.0) {
        return LagOne { correlation: 0.0, probability: 1.0 };
    }
    let products: f64 = residuals.windows(2).map(|w| w[0] * w[1]).sum();
    let correlation = products / squares;
    #[allow(clippy::cast_precision_loss)]
    let n = residuals.len() as f64;
    LagOne { correlation, probability: normal_beyond((correlation + 1.0 / n) * n.sqrt()) }
}
