//! Slopes by central differences.

use rayon::prelude::*;

use crate::FitError;

/// How slopes are taken. The step is in the fitted coordinate: of a logarithm it is a share of the parameter, of a linear
/// parameter it is multiplied by the parameter's size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Differences {
    /// `(r(u+h) - r(u-h))/(2h)`, error of the order of h^2: for a model that itself carries the error of a solver.
    Central {
        /// h, 1e-8 to 0.1.
        step: f64,
    },
    /// Central differences at h and h/2 extrapolated, error of the order of h^4: for a closed form.
    Extrapolated {
        /// h, 1e-8 to 0.1.
        step: f64,
    },
}

impl Differences {
    const fn step(self) -> f64 {
        match self {
            Self::Central { step } | Self::Extrapolated { step } => step,
        }
    }
    /// Offsets in units of the step, with their weights (to be divided by the step).
    const fn stencil(self) -> &'static [(f64, f64)] {
        match self {
            Self::Central { .. } => &[(1.0, 0.5), (-1.0, -0.5)],
            // (4 c(h/2) - c(h))/3 with c(h) the central difference.
            Self::Extrapolated { .. } => {
                &[(1.0, -1.0 / 6.0), (0.5, 4.0 / 3.0), (-0.5, -4.0 / 3.0), (-1.0, 1.0 / 6.0)]
            }
        }
    }
    pub(crate) fn check(self) -> Result<(), FitError> {
        let (step, low, high) = (self.step(), 1e-8, 0.1);
        if step >= low && step <= high {
            return Ok(());
        }
        Err(FitError::OutOfRange {
            what: "step of the differences".to_owned(),
            value: step,
            unit: "-".to_owned(),
            low,
            high,
        })
    }

    /// Columns of slopes of `residuals` at a point; `sizes` multiplies the step of each coordinate.
    pub(crate) fn slopes<F>(self, at: &[f64], sizes: &[f64], residuals: F) -> Result<Vec<Vec<f64>>, FitError>
    where
        F: Fn(&[f64]) -> Result<Vec<f64>, FitError> + Sync,
    {
        let stencil = self.stencil();
        let jobs: Vec<(usize, f64)> =
            (0..at.len()).flat_map(|i| stencil.iter().map(move |s| (i, s.0))).collect();
        let moved = |&(i, offset): &(usize, f64)| {
            let mut point = at.to_vec();
            point[i] += offset * self.step() * sizes[i];
            // The step that the arithmetic really made.
            let made = (point[i] - at[i]) / offset;
            residuals(&point).map(|r| (made, r))
        };
        let values: Vec<(f64, Vec<f64>)> = jobs.par_iter().map(moved).collect::<Result<_, _>>()?;
        Ok(values.chunks(stencil.len()).map(|chunk| combine(chunk, stencil)).collect())
    }
}

fn combine(chunk: &[(f64, Vec<f64>)], stencil: &[(f64, f64)]) -> Vec<f64> {
    let rows = chunk.first().map_or(0, |c| c.1.len());
    let mut column = vec![0.0; rows];
    for ((made, residuals), (_, weight)) in chunk.iter().zip(stencil) {
        for (c, r) in column.iter_mut().zip(residuals) {
            *c += weight * r / made;
        }
    }
    column
}
