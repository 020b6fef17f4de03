//! An estimate with its uncertainty.

use nalgebra::DMatrix;

use crate::least_squares::{FitOptions, Model, StartReport};
use crate::solve::{Descent, evaluate, sizes};
use crate::{FitError, Parameter, Scale};

/// Two parameters correlated beyond this cannot be told apart by the data.
const CORRELATED: f64 = 0.95;
/// A relative standard error beyond this is no estimate.
const LOOSE: f64 = 0.5;
/// A ratio of singular values (columns scaled to length 1) below this leaves a direction of the parameters unknown.
const FLAT: f64 = 1e-10;

/// One parameter's estimate.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimated {
    /// Name.
    pub name: String,
    /// Unit.
    pub unit: String,
    /// Estimate.
    pub value: f64,
    /// Standard error, in the parameter's unit; none at a bound or where the data leave it unknown.
    pub standard_error: Option<f64>,
}

/// What the data cannot tell.
#[derive(Clone, Debug, PartialEq)]
pub enum Hint {
    /// The estimate sits at a bound; it is left out of the standard errors.
    AtBound {
        /// Parameter.
        name: String,
    },
    /// Two parameters move together.
    Correlated {
        /// Parameters.
        names: (String, String),
        /// Correlation.
        correlation: f64,
    },
    /// The standard error is more than half of the value.
    Loose {
        /// Parameter.
        name: String,
        /// Standard error over value.
        relative_standard_error: f64,
    },
    /// A direction of the parameters does not change the residuals.
    Flat {
        /// Smallest over largest singular value.
        ratio: f64,
    },
    /// Starts that did not come to an end: no answer of the model there, or no convergence.
    NotConverged {
        /// How many starts.
        starts: usize,
    },
    /// Starts that converged to another minimum.
    OtherMinima {
        /// How many starts.
        starts: usize,
        /// The lowest of their sums of squares.
        sum_of_squares: f64,
    },
}

/// The best end of all starts.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// Parameters in order.
    pub parameters: Vec<Estimated>,
    /// Correlation matrix; rows of parameters without a standard error are none.
    pub correlation: Vec<Vec<Option<f64>>>,
    /// Residuals.
    pub residuals: Vec<f64>,
    /// Sum of their squares.
    pub sum_of_squares: f64,
    /// Readings less parameters estimated.
    pub degrees_of_freedom: usize,
    /// Hints.
    pub hints: Vec<Hint>,
    /// Each start.
    pub starts: Vec<StartReport>,
}

impl Estimate {
    /// Values in order.
    #[must_use]
    pub fn values(&self) -> Vec<f64> {
        self.parameters.iter().map(|p| p.value).collect()
    }
    /// Puts the values of the parameters (not their names) into another order: `order[i]` is where the new i-th stands now.
    pub(crate) fn reorder(&mut self, order: &[usize]) {
        let old = self.clone();
        for (to, &from) in order.iter().enumerate() {
            self.parameters[to].value = old.parameters[from].value;
            self.parameters[to].standard_error = old.parameters[from].standard_error;
            for (column, &other) in order.iter().enumerate() {
                self.correlation[to][column] = old.correlation[from][other];
            }
        }
    }
    /// Covariance of the parameters in their own units; none where one of them has no standard error.
    #[must_use]
    pub fn covariance(&self) -> Option<Vec<Vec<f64>>> {
        let errors: Vec<f64> = self.parameters.iter().map(|p| p.standard_error).collect::<Option<_>>()?;
        let row = |(correlations, a): (&Vec<Option<f64>>, &f64)| {
            correlations.iter().zip(&errors).map(|(c, b)| c.map(|c| c * a * b)).collect::<Option<Vec<f64>>>()
        };
        self.correlation.iter().zip(&errors).map(row).collect()
    }
    /// Standard error of a function of the parameters by the delta method, from central differences with a step that is a
    /// share of each parameter; none where a parameter has no standard error or the function no value.
    #[must_use]
    pub fn delta_error(&self, step: f64, f: impl Fn(&[f64]) -> Option<f64>) -> Option<f64> {
        let covariance = self.covariance()?;
        let values = self.values();
        let slope = |i: usize| {
            // No further than a standard error, where the parameter itself is near 0.
            let error = covariance[i][i].sqrt();
            let moved = step * if values[i].abs() > error { values[i].abs() } else { error };
            let (mut up, mut down) = (values.clone(), values.clone());
            up[i] += moved;
            down[i] -= moved;
            Some((f(&up)? - f(&down)?) / (up[i] - down[i]))
        };
        let slopes: Vec<f64> = (0..values.len()).map(slope).collect::<Option<_>>()?;
        let mut variance = 0.0;
        for (row, a) in covariance.iter().zip(&slopes) {
            variance += a * row.iter().zip(&slopes).map(|(c, b)| c * b).sum::<f64>();
        }
        Some(variance.max(0.0).sqrt()).filter(|e| e.is_finite())
    }
    /// Residual standard deviation, in the residuals' unit.
    #[must_use]
    pub fn residual_standard_deviation(&self) -> f64 {
        #[allow(clippy::cast_precision_loss)]
        (self.sum_of_squares / self.degrees_of_freedom as f64).sqrt()
    }
}

pub(crate) fn estimate(
    parameters: &[Parameter],
    model: &Model<'_>,
    end: &Descent,
    starts: Vec<StartReport>,
    options: &FitOptions,
) -> Result<Estimate, FitError> {
    let q = &end.coordinates;
    let residuals = evaluate(parameters, model, q)?;
    let inside: Vec<usize> = (0..q.len()).filter(|&i| !parameters[i].at_bound(q[i])).collect();
    if residuals.len() <= inside.len() {
        return Err(FitError::TooFewReadings { readings: residuals.len(), parameters: inside.len() });
    }
    let degrees_of_freedom = residuals.len() - inside.len();
    #[allow(clippy::cast_precision_loss)]
    let variance = end.sum_of_squares / degrees_of_freedom as f64;
    let point: Vec<f64> = inside.iter().map(|&i| q[i]).collect();
    let whole_sizes = sizes(parameters, q);
    let own_sizes: Vec<f64> = inside.iter().map(|&i| whole_sizes[i]).collect();
    let moved = |inner: &[f64]| {
        let mut whole = q.clone();
        for (&i, &v) in inside.iter().zip(inner) {
            whole[i] = v;
        }
        evaluate(parameters, model, &whole)
    };
    let columns = options.differences.slopes(&point, &own_sizes, moved)?;
    let (covariance, mut ratio) = unit_covariance(&columns)?;
    let inside_ratio = ratio;
    if inside.len() < q.len() {
        ratio = ratio.min(ratio_of_all(parameters, model, q, options)?);
    }
    let mut found = Estimate {
        parameters: parameters
            .iter()
            .zip(q)
            .map(|(p, &q)| Estimated {
                name: p.name.clone(),
                unit: p.unit.clone(),
                value: p.value(q),
                standard_error: None,
            })
            .collect(),
        correlation: vec![vec![None; q.len()]; q.len()],
        residuals,
        sum_of_squares: end.sum_of_squares,
        degrees_of_freedom,
        hints: Vec::new(),
        starts,
    };
    if inside_ratio > FLAT {
        fill(&mut found, parameters, &inside, &covariance, variance);
    }
    hints(&mut found, parameters, q, ratio);
    Ok(found)
}

/// Smallest ratio of singular values of the slopes by every parameter, those at a bound taken a little inside it: a direction
/// without effect drives parameters to their bounds, where the others alone would look well told.
fn ratio_of_all(
    parameters: &[Parameter],
    model: &Model<'_>,
    q: &[f64],
    options: &FitOptions,
) -> Result<f64, FitError> {
    let point: Vec<f64> = parameters.iter().zip(q).map(|(p, &q)| p.pulled_inside(q)).collect();
    let columns = options
        .differences
        .slopes(&point, &sizes(parameters, &point), |at| evaluate(parameters, model, at))?;
    Ok(unit_covariance(&columns)?.1)
}

/// `(J'J)^-1` from the singular values of J with its columns scaled to length 1, and their smallest ratio.
fn unit_covariance(columns: &[Vec<f64>]) -> Result<(DMatrix<f64>, f64), FitError> {
    let (rows, n) = (columns.first().map_or(0, Vec::len), columns.len());
    let failed = FitError::NoDecomposition { readings: rows, parameters: n };
    let length: Vec<f64> = columns.iter().map(|c| c.iter().map(|v| v * v).sum::<f64>().sqrt()).collect();
    if n == 0 {
        return Ok((DMatrix::zeros(0, 0), 1.0));
    }
    if length.iter().any(|&l| !(l > 0.0)) {
        return Ok((DMatrix::zeros(n, n), 0.0));
    }
    let scaled = columns.iter().zip(&length).flat_map(|(c, l)| c.iter().map(move |v| v / l));
    let matrix = DMatrix::from_iterator(rows, n, scaled);
    let svd = matrix.try_svd(false, true, f64::EPSILON, 0).ok_or_else(|| failed.clone())?;
    let v = svd.v_t.ok_or(failed)?;
    let s = &svd.singular_values;
    let ratio = s.min() / s.max();
    let entry = |i: usize, j: usize| {
        let sum: f64 = (0..n).map(|k| v[(k, i)] * v[(k, j)] / (s[k] * s[k])).sum();
        sum / (length[i] * length[j])
    };
    Ok((DMatrix::from_fn(n, n, entry), ratio))
}

fn fill(
    found: &mut Estimate,
    parameters: &[Parameter],
    inside: &[usize],
    covariance: &DMatrix<f64>,
    variance: f64,
) {
    for (a, &i) in inside.iter().enumerate() {
        let error = (variance * covariance[(a, a)]).sqrt();
        let scale = if parameters[i].scale == Scale::Logarithm { found.parameters[i].value } else { 1.0 };
        found.parameters[i].standard_error = Some(error * scale);
        for (b, &j) in inside.iter().enumerate() {
            let both = (covariance[(a, a)] * covariance[(b, b)]).sqrt();
            found.correlation[i][j] = Some(if i == j { 1.0 } else { covariance[(a, b)] / both });
        }
    }
}

fn hints(found: &mut Estimate, parameters: &[Parameter], q: &[f64], ratio: f64) {
    let mut list = Vec::new();
    for (i, p) in parameters.iter().enumerate() {
        if p.at_bound(q[i]) {
            list.push(Hint::AtBound { name: p.name.clone() });
        }
        let value = found.parameters[i].value.abs();
        let relative = found.parameters[i].standard_error.map_or(0.0, |e| e / value);
        if relative > LOOSE {
            list.push(Hint::Loose { name: p.name.clone(), relative_standard_error: relative });
        }
        for j in i + 1..parameters.len() {
            if let Some(correlation) = found.correlation[i][j].filter(|c| c.abs() > CORRELATED) {
                list.push(Hint::Correlated {
                    names: (p.name.clone(), parameters[j].name.clone()),
                    correlation,
                });
            }
        }
    }
    if !(ratio > FLAT) {
        list.push(Hint::Flat { ratio });
    }
    let lost = found.starts.iter().filter(|s| !s.converged).count();
    if lost > 0 {
        list.push(Hint::NotConverged { starts: lost });
    }
    let other: Vec<f64> = found
        .starts
        .iter()
        .filter(|s| s.converged && s.sum_of_squares > found.sum_of_squares * 1.001 + 1e-300)
        .map(|s| s.sum_of_squares)
        .collect();
    if !other.is_empty() {
        let sum_of_squares = other.iter().copied().fold(f64::INFINITY, f64::min);
        list.push(Hint::OtherMinima { starts: other.len(), sum_of_squares });
    }
    found.hints = list;
}
