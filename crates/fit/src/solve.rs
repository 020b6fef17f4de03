//! One descent with the Levenberg-Marquardt method.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};

use crate::differences::Differences;
use crate::least_squares::{FitOptions, Model};
use crate::{FitError, Parameter};

/// How far above the start's size a point without an answer is put, so that the method turns away from it.
const REFUSED: f64 = 1e6;

/// What one descent came to.
pub(crate) struct Descent {
    /// Fitted coordinates (not the solver's).
    pub coordinates: Vec<f64>,
    pub sum_of_squares: f64,
    pub evaluations: usize,
    pub converged: bool,
}

/// The residuals as a function of the solver's coordinates: 1 at the start, and moving by 1 where a parameter moves by its
/// size. The method takes its first step and its test of convergence from their length, so they must not begin near 0, as
/// the inner coordinates of a start in the middle of its bounds would.
struct Landscape<'a> {
    parameters: &'a [Parameter],
    model: &'a Model<'a>,
    differences: Differences,
    /// Inner coordinates of the start, and what 1 means in each.
    start: Vec<f64>,
    sizes: Vec<f64>,
    at: DVector<f64>,
    residuals: Option<DVector<f64>>,
    rows: usize,
    refused: f64,
}

impl Landscape<'_> {
    fn inner(&self) -> Vec<f64> {
        let rows = self.at.iter().zip(&self.start).zip(&self.sizes);
        rows.map(|((x, start), size)| start + size * (x - 1.0)).collect()
    }
    fn coordinates(&self, inner: &[f64]) -> Vec<f64> {
        self.parameters.iter().zip(inner).map(|(p, &u)| p.coordinate_of_inner(u)).collect()
    }
    fn evaluate(&self, inner: &[f64]) -> Result<Vec<f64>, FitError> {
        evaluate(self.parameters, self.model, &self.coordinates(inner))
    }
}

/// Residuals at fitted coordinates; every one finite.
pub(crate) fn evaluate(
    parameters: &[Parameter],
    model: &Model<'_>,
    coordinates: &[f64],
) -> Result<Vec<f64>, FitError> {
    let values: Vec<f64> = parameters.iter().zip(coordinates).map(|(p, &q)| p.value(q)).collect();
    let residuals = model(&values)?;
    match residuals.iter().enumerate().find(|(_, r)| !r.is_finite()) {
        Some((index, &value)) => Err(FitError::NotFinite { index, value }),
        None => Ok(residuals),
    }
}

/// Sizes by which a difference step is multiplied: 1 for logarithms and bounded parameters, the magnitude for free ones.
pub(crate) fn sizes(parameters: &[Parameter], coordinates: &[f64]) -> Vec<f64> {
    let size = |(p, q): (&Parameter, &f64)| match (p.scale, p.bounds) {
        (crate::Scale::Logarithm, _) => 1.0,
        (_, Some((low, high))) => high - low,
        _ if *q != 0.0 => q.abs(),
        _ if p.start != 0.0 => p.start.abs(),
        _ => 1.0,
    };
    parameters.iter().zip(coordinates).map(size).collect()
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Landscape<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, at: &DVector<f64>) {
        self.at.copy_from(at);
        let found = self.evaluate(&self.inner()).ok().filter(|r| r.len() == self.rows);
        // A point where the model has no answer is refused by residuals far above those of the start. It can never be
        // the estimate: the end of a descent is evaluated again without this.
        let refused = || DVector::from_element(self.rows, self.refused);
        self.residuals = Some(found.map_or_else(refused, DVector::from_vec));
    }
    fn params(&self) -> DVector<f64> {
        self.at.clone()
    }
    fn residuals(&self) -> Option<DVector<f64>> {
        self.residuals.clone()
    }
    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let at = self.inner();
        let sizes = sizes(self.parameters, &self.coordinates(&at));
        let mut columns = self.differences.slopes(&at, &sizes, |u| self.evaluate(u)).ok()?;
        for (column, size) in columns.iter_mut().zip(&self.sizes) {
            column.iter_mut().for_each(|v| *v *= size);
        }
        let whole = columns.iter().all(|c| c.len() == self.rows);
        whole.then(|| DMatrix::from_iterator(self.rows, at.len(), columns.into_iter().flatten()))
    }
}

/// Descends from a start.
pub(crate) fn descend(
    parameters: &[Parameter],
    model: &Model<'_>,
    start: &[f64],
    options: &FitOptions,
) -> Result<Descent, FitError> {
    let coordinates: Vec<f64> = parameters.iter().zip(start).map(|(p, &v)| p.coordinate(v)).collect();
    let inner: Vec<f64> = parameters.iter().zip(&coordinates).map(|(p, &q)| p.inner(q)).collect();
    let first = evaluate(parameters, model, &coordinates)?;
    let refused = REFUSED * (1.0 + first.iter().fold(0.0_f64, |m, r| m.max(r.abs())));
    let rows = first.len();
    let landscape = Landscape {
        parameters,
        model,
        differences: options.differences,
        at: DVector::from_element(inner.len(), 1.0),
        start: inner,
        sizes: sizes(parameters, &coordinates),
        residuals: Some(DVector::from_vec(first)),
        rows,
        refused,
    };
    let method = LevenbergMarquardt::new()
        .with_ftol(options.tolerance)
        .with_xtol(options.tolerance)
        .with_gtol(options.tolerance)
        .with_patience(options.patience);
    let (end, report) = method.minimize(landscape);
    let coordinates = end.coordinates(&end.inner());
    let last = evaluate(parameters, model, &coordinates)?;
    Ok(Descent {
        sum_of_squares: last.iter().map(|r| r * r).sum(),
        coordinates,
        evaluations: report.number_of_evaluations,
        converged: report.termination.was_successful(),
    })
}
