//! A share that was counted, with its exact interval.

use statrs::distribution::{Beta, ContinuousCDF};

use crate::FitError;

/// How often something held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// Times it held.
    pub held: usize,
    /// Times it was looked at.
    pub of: usize,
    /// `held / of`.
    pub share: f64,
    /// Lower end of the exact interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Confidence of the interval.
    pub confidence: f64,
}

/// A counted share with its exact (Clopper-Pearson) interval: whatever the true share, the interval misses it with at most
/// `1 - confidence`.
///
/// ```
/// // 8 of 10 at 95 %: 0.4439 to 0.9748 (any table of exact binomial limits).
/// let s = fallrate_fit::stats::share_interval(8, 10, 0.95)?;
/// assert!((s.low - 0.4439).abs() < 5e-5 && (s.high - 0.9748).abs() < 5e-5);
/// # Ok::<(), fallrate_fit::FitError>(())
/// ```
///
/// # Errors
/// [`FitError::OutOfRange`] where nothing was looked at, more held than were looked at, or the confidence is not between 0
/// and 1.
#[allow(clippy::cast_precision_loss)]
pub fn share_interval(held: usize, of: usize, confidence: f64) -> Result<Share, FitError> {
    let refuse = |what: &str, value: f64, low: f64, high: f64| FitError::OutOfRange {
        what: what.to_owned(),
        value,
        unit: "-".to_owned(),
        low,
        high,
    };
    if of == 0 || held > of {
        return Err(refuse("times something held", held as f64, 0.0, of as f64));
    }
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(refuse("confidence", confidence, 0.0, 1.0));
    }
    let tail = 0.5 * (1.0 - confidence);
    let (k, n) = (held as f64, of as f64);
    let at = |a: f64, b: f64, p: f64, end: f64| Beta::new(a, b).map_or(end, |beta| beta.inverse_cdf(p));
    Ok(Share {
        held,
        of,
        share: k / n,
        low: if held == 0 { 0.0 } else { at(k, n - k + 1.0, tail, 0.0) },
        high: if held == of { 1.0 } else { at(k + 1.0, n - k, 1.0 - tail, 1.0) },
        confidence,
    })
}
