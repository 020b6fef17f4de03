//! Uncertainty from leaving out one group of readings at a time.

/// Standard errors of the parameters by the delete-one-group jackknife, in the parameters' units:
/// `sqrt((n-1)/n sum (p_i - mean)^2)` over the estimates p_i without group i of n. Readings along one curve are not
/// independent, so this is wider, and more honest, than the standard error that counts every reading.
///
/// Range: at least 2 groups, all estimates of one length; otherwise empty. Source: Tukey's jackknife, from memory.
///
/// ```
/// // The jackknife of a mean is its standard error: values 1, 2, 6, means without each 4, 3.5, 1.5.
/// let errors = fallrate_fit::jackknife_standard_errors(&[vec![4.0], vec![3.5], vec![1.5]]);
/// let expected = (((2.0_f64).powi(2) + 1.0 + 9.0) / 2.0 / 3.0).sqrt();
/// assert!((errors[0] - expected).abs() < 1e-12);
/// ```
#[must_use]
pub fn jackknife_standard_errors(without_each: &[Vec<f64>]) -> Vec<f64> {
    let count = without_each.len();
    let width = without_each.first().map_or(0, Vec::len);
    if count < 2 || without_each.iter().any(|e| e.len() != width) {
        return Vec::new();
    }
    #[allow(clippy::cast_precision_loss)]
    let n = count as f64;
    (0..width)
        .map(|j| {
            let mean = without_each.iter().map(|e| e[j]).sum::<f64>() / n;
            let squares: f64 = without_each.iter().map(|e| (e[j] - mean) * (e[j] - mean)).sum();
            ((n - 1.0) / n * squares).sqrt()
        })
        .collect()
}
