//! Nonlinear least squares from several starts.

use crate::estimate::{Estimate, estimate};
use crate::solve::{Descent, descend};
use crate::{Differences, FitError, Parameter};

/// Residuals (model minus measured, each over its own standard deviation where they differ) at the parameters' values.
pub type Model<'a> = dyn Fn(&[f64]) -> Result<Vec<f64>, FitError> + Sync + 'a;

/// How a fit is done.
#[derive(Clone, Debug, PartialEq)]
pub struct FitOptions {
    /// Starts, as values of the parameters; empty: their own starts.
    pub starts: Vec<Vec<f64>>,
    /// Slopes.
    pub differences: Differences,
    /// Relative change of sum of squares, parameters and gradient at which a descent ends.
    pub tolerance: f64,
    /// A descent ends after this many evaluations per parameter.
    pub patience: usize,
}

impl Default for FitOptions {
    fn default() -> Self {
        Self {
            starts: Vec::new(),
            differences: Differences::Central { step: 1e-3 },
            tolerance: 1e-8,
            patience: 60,
        }
    }
}

impl FitOptions {
    /// Settings for a model in closed form, exact to rounding.
    #[must_use]
    pub fn closed_form() -> Self {
        Self {
            differences: Differences::Extrapolated { step: 1e-3 },
            tolerance: 1e-14,
            patience: 500,
            ..Self::default()
        }
    }
}

/// What one start came to.
#[derive(Clone, Debug, PartialEq)]
pub struct StartReport {
    /// Start, values.
    pub start: Vec<f64>,
    /// Where it ended, values; none where the model had no answer.
    pub end: Option<Vec<f64>>,
    /// Sum of squares there; infinite where the model had no answer.
    pub sum_of_squares: f64,
    /// Evaluations without those of the slopes.
    pub evaluations: usize,
    /// Whether the method's own tests of convergence held.
    pub converged: bool,
}

/// Fits the parameters by least squares from every start and returns the best end with its uncertainty.
///
/// ```
/// use fallrate_fit::{FitOptions, Parameter, fit};
/// // y = a exp(-k t) without noise.
/// let t = [0.0_f64, 1.0, 2.0, 3.0, 4.0];
/// let y: Vec<f64> = t.iter().map(|t| 5.0 * (-0.3 * t).exp()).collect();
/// let parameters =
///     [Parameter::positive("a", "kg/kg", 1.0, (0.1, 100.0)), Parameter::positive("k", "1/h", 1.0, (1e-3, 10.0))];
/// let found = fit(&parameters, &|p| Ok(t.iter().zip(&y).map(|(t, y)| p[0] * (-p[1] * t).exp() - y).collect()),
///     &FitOptions::closed_form())?;
/// assert!((found.parameters[0].value - 5.0).abs() < 1e-9 && (found.parameters[1].value - 0.3).abs() < 1e-9);
/// # Ok::<(), fallrate_fit::FitError>(())
/// ```
///
/// # Errors
/// [`FitError`] where a start lies outside the bounds, there are too few readings, or no start led to an estimate.
pub fn fit(parameters: &[Parameter], model: &Model<'_>, options: &FitOptions) -> Result<Estimate, FitError> {
    options.differences.check()?;
    let own = vec![parameters.iter().map(|p| p.start).collect::<Vec<f64>>()];
    let starts = if options.starts.is_empty() { &own } else { &options.starts };
    for start in starts {
        if start.len() != parameters.len() {
            let (found, expected) = (start.len(), parameters.len());
            return Err(FitError::WrongLength { what: "values of a start", found, expected });
        }
        parameters.iter().zip(start).try_for_each(|(p, &v)| p.check(v))?;
    }
    let mut best: Option<Descent> = None;
    let mut reports = Vec::with_capacity(starts.len());
    let mut first_error = None;
    for start in starts {
        match descend(parameters, model, start, options) {
            Ok(end) => {
                reports.push(report(parameters, start, &end));
                if best.as_ref().is_none_or(|b| end.sum_of_squares < b.sum_of_squares) {
                    best = Some(end);
                }
            }
            Err(error) => {
                reports.push(failed(start));
                first_error = first_error.or(Some(error));
            }
        }
    }
    let Some(best) = best else {
        return Err(first_error.unwrap_or(FitError::NoStartConverged { starts: starts.len() }));
    };
    estimate(parameters, model, &best, reports, options)
}

fn report(parameters: &[Parameter], start: &[f64], end: &Descent) -> StartReport {
    StartReport {
        start: start.to_vec(),
        end: Some(parameters.iter().zip(&end.coordinates).map(|(p, &q)| p.value(q)).collect()),
        sum_of_squares: end.sum_of_squares,
        evaluations: end.evaluations,
        converged: end.converged,
    }
}

fn failed(start: &[f64]) -> StartReport {
    StartReport {
        start: start.to_vec(),
        end: None,
        sum_of_squares: f64::INFINITY,
        evaluations: 1,
        converged: false,
    }
}
