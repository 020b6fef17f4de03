//! Small dense linear algebra of least squares.

use nalgebra::{DMatrix, SymmetricEigen};

/// `sum over rows of a_i a_j`, from columns.
pub(crate) fn gram(columns: &[Vec<f64>]) -> DMatrix<f64> {
    let n = columns.len();
    let dot = |i: usize, j: usize| columns[i].iter().zip(&columns[j]).map(|(a, b)| a * b).sum::<f64>();
    DMatrix::from_fn(n, n, |i, j| if i <= j { dot(i, j) } else { dot(j, i) })
}

/// Inverse of a symmetric matrix that is positive, after scaling its diagonal to 1; none where a scaled eigenvalue is below
/// `least`.
pub(crate) fn inverse(matrix: &DMatrix<f64>, least: f64) -> Option<DMatrix<f64>> {
    let n = matrix.nrows();
    if n == 0 {
        return Some(matrix.clone());
    }
    let size: Vec<f64> = (0..n).map(|i| matrix[(i, i)].sqrt()).collect();
    if size.iter().any(|s| !(*s > 0.0 && s.is_finite())) {
        return None;
    }
    let scaled = DMatrix::from_fn(n, n, |i, j| matrix[(i, j)] / (size[i] * size[j]));
    let (values, vectors) = eigen(&scaled)?;
    if values.first().is_none_or(|v| !(*v > least)) {
        return None;
    }
    Some(DMatrix::from_fn(n, n, |i, j| {
        let sum: f64 = (0..n).map(|k| vectors[(i, k)] * vectors[(j, k)] / values[k]).sum();
        sum / (size[i] * size[j])
    }))
}

/// Eigenvalues of a symmetric matrix, rising, with their vectors as columns; the largest entry of each vector is positive.
pub(crate) fn eigen(matrix: &DMatrix<f64>) -> Option<(Vec<f64>, DMatrix<f64>)> {
    if matrix.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let n = matrix.nrows();
    let found = SymmetricEigen::try_new(matrix.clone(), f64::EPSILON, 0)?;
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&a, &b| found.eigenvalues[a].total_cmp(&found.eigenvalues[b]));
    let sign = |k: usize| {
        let column = found.eigenvectors.column(k);
        let largest = column.iter().fold(0.0_f64, |m, v| if v.abs() > m.abs() + 1e-12 { *v } else { m });
        if largest < 0.0 { -1.0 } else { 1.0 }
    };
    let vectors = DMatrix::from_fn(n, n, |i, j| sign(order[j]) * found.eigenvectors[(i, order[j])]);
    Some((order.iter().map(|&k| found.eigenvalues[k]).collect(), vectors))
}

/// Logarithm of the determinant of a symmetric positive matrix; minus infinity where it is not.
pub(crate) fn log_determinant(matrix: &DMatrix<f64>) -> f64 {
    match matrix.clone().cholesky() {
        Some(c) => 2.0 * c.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>(),
        None => f64::NEG_INFINITY,
    }
}
