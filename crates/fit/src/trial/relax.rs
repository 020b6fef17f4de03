//! Letting the other unknowns follow one that is held: Gauss-Newton steps with slopes that are kept as long as they serve.

use nalgebra::DMatrix;

use crate::FitError;
use crate::linear::{gram, inverse};
use crate::trial::fit::Setting;

/// Steps with the same slopes.
const STEPS: usize = 4;
/// The sum of squares counts as settled where a step promises less than this.
const SETTLED: f64 = 0.02;
/// A scaled eigenvalue of the information below this is none.
const LEAST_INFORMATION: f64 = 1e-9;

/// What is held, and the slopes to begin with.
pub(crate) struct Held<'a> {
    /// Index of the unknown.
    pub index: usize,
    /// Slopes of the rows by all unknowns.
    pub columns: &'a [Vec<f64>],
    /// How often slopes may be taken anew.
    pub renew: usize,
}

/// Moves all unknowns but the held one downhill; values and sum of squares at the end.
pub(crate) fn relax(
    setting: &Setting<'_>,
    from: Vec<f64>,
    held: &Held<'_>,
) -> Result<(Vec<f64>, f64), FitError> {
    let mut columns = held.columns.to_vec();
    let mut at = from;
    let mut rows = setting.rows(&at)?;
    let mut squares: f64 = rows.iter().map(|r| r * r).sum();
    for round in 0..=held.renew {
        let free: Vec<usize> = (0..at.len()).filter(|&i| i != held.index).collect();
        let own: Vec<Vec<f64>> = free.iter().map(|&i| columns[i].clone()).collect();
        let Some(covariance) = inverse(&gram(&own), LEAST_INFORMATION) else { break };
        let mut promised = f64::INFINITY;
        for _ in 0..STEPS {
            let downhill: Vec<f64> =
                own.iter().map(|c| -c.iter().zip(&rows).map(|(a, b)| a * b).sum::<f64>()).collect();
            let downhill = DMatrix::from_column_slice(downhill.len(), 1, &downhill);
            let step = &covariance * &downhill;
            promised = (step.transpose() * &downhill)[(0, 0)];
            if promised < SETTLED {
                break;
            }
            let mut next = at.clone();
            for (k, &i) in free.iter().enumerate() {
                next[i] = setting.beliefs[i].moved(at[i], step[(k, 0)]);
            }
            let next_rows = setting.rows(&next)?;
            let next_squares: f64 = next_rows.iter().map(|r| r * r).sum();
            if !(next_squares < squares) {
                break;
            }
            (at, rows, squares) = (next, next_rows, next_squares);
        }
        if promised < SETTLED || round == held.renew {
            break;
        }
        columns = setting.slopes(&at)?;
    }
    Ok((at, squares))
}
