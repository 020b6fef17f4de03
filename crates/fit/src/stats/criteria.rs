//! Information criteria of least-squares fits.

/// Criteria by which fits of the same readings are ranked: lower is better; only differences mean anything.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Criteria {
    /// Akaike's criterion with the correction for few readings; none where there are too few (readings less unknowns less 1
    /// not above 0).
    pub aicc: Option<f64>,
    /// Schwarz's (Bayesian) criterion.
    pub bic: f64,
}

/// Criteria of a least-squares fit of normal errors with unknown variance: `n ln(S/n) + penalty`, the unknowns K counting
/// the variance too. `AICc = n ln(S/n) + 2K + 2K(K+1)/(n-K-1)`, `BIC = n ln(S/n) + K ln n`.
///
/// Sources: Hurvich and Tsai 1989 for the correction; Schwarz 1978; both from memory.
///
/// ```
/// let c = fallrate_fit::stats::information_criteria(0.04, 10, 2);
/// // n ln(S/n) = 10 ln 0.004, K = 3.
/// let base = 10.0 * 0.004_f64.ln();
/// assert!((c.aicc.unwrap() - (base + 6.0 + 24.0 / 6.0)).abs() < 1e-12);
/// assert!((c.bic - (base + 3.0 * 10.0_f64.ln())).abs() < 1e-12);
/// ```
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn information_criteria(sum_of_squares: f64, readings: usize, parameters: usize) -> Criteria {
    let (n, k) = (readings as f64, parameters as f64 + 1.0);
    // An exact fit has no finite logarithm: the smallest positive number stands for 0, so that ranks stay defined.
    let base = n * (sum_of_squares.max(f64::MIN_POSITIVE) / n).ln();
    let room = n - k - 1.0;
    Criteria {
        aicc: (room > 0.0).then(|| base + 2.0 * k + 2.0 * k * (k + 1.0) / room),
        bic: base + k * n.ln(),
    }
}

/// What fits of the same readings are ranked by: AICc where all of them have one, else BIC (never one by this and another by
/// that).
pub(crate) fn rank_key(own: &Criteria, all: &[Criteria]) -> f64 {
    match own.aicc {
        Some(aicc) if all.iter().all(|c| c.aicc.is_some()) => aicc,
        _ => own.bic,
    }
}
