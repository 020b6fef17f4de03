//! Quantiles and tail probabilities. The distributions themselves are those of `statrs`; arguments outside their range give
//! NaN, never a panic.

use statrs::distribution::{ChiSquared, ContinuousCDF, FisherSnedecor, Normal, StudentsT};

fn inside(share: f64) -> bool {
    share > 0.0 && share < 1.0
}

/// Value below which a standard normal number lies with probability `share` (between 0 and 1; NaN outside).
///
/// ```
/// assert!((fallrate_fit::stats::normal_quantile(0.975) - 1.959963984540054).abs() < 1e-10);
/// ```
#[must_use]
pub fn normal_quantile(share: f64) -> f64 {
    if !inside(share) {
        return f64::NAN;
    }
    Normal::standard().inverse_cdf(share)
}

/// Value below which Student's t of `degrees` degrees of freedom (above 0) lies with probability `share` (between 0 and 1);
/// NaN outside.
///
/// ```
/// // Any table of Student's t: 4 degrees of freedom, 97.5 %.
/// assert!((fallrate_fit::stats::student_quantile(0.975, 4.0) - 2.776445105).abs() < 1e-8);
/// ```
#[must_use]
pub fn student_quantile(share: f64, degrees: f64) -> f64 {
    match StudentsT::new(0.0, 1.0, degrees) {
        Ok(t) if inside(share) => t.inverse_cdf(share),
        _ => f64::NAN,
    }
}

/// Value below which chi-squared of `degrees` degrees of freedom (above 0) lies with probability `share`; NaN outside.
#[must_use]
pub fn chi_squared_quantile(share: f64, degrees: f64) -> f64 {
    match ChiSquared::new(degrees) {
        Ok(c) if inside(share) => c.inverse_cdf(share),
        _ => f64::NAN,
    }
}

/// Probability that F of the given degrees of freedom (both above 0) exceeds a value of 0 or more; NaN outside.
#[must_use]
pub fn f_beyond(value: f64, above: f64, below: f64) -> f64 {
    match FisherSnedecor::new(above, below) {
        Ok(f) if value >= 0.0 => f.sf(value),
        _ => f64::NAN,
    }
}

/// Probability that a standard normal number exceeds a value.
pub(crate) fn normal_beyond(value: f64) -> f64 {
    Normal::standard().sf(value)
}

/// Probability that chi-squared of `degrees` degrees of freedom (above 0) exceeds a value of 0 or more; NaN outside.
#[must_use]
pub fn chi_squared_beyond(value: f64, degrees: f64) -> f64 {
    match ChiSquared::new(degrees) {
        Ok(c) if value >= 0.0 => c.sf(value),
        _ => f64::NAN,
    }
}
