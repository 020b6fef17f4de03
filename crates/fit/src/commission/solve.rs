//! Beliefs and readings together: the most probable figures and their covariance.

use fallrate_equipment::Cabinet;
use nalgebra::{DMatrix, DVector};

use crate::{Differences, FitError, FitOptions, Parameter, fit};

use super::figures::{Act, Figures};
use super::predict::{Channel, OWN, Row, rows};
use super::record::CabinetTest;
use super::unknown::{Belief, Places};

/// Beliefs as a normal distribution: theta = mean + root z, z standard normal.
#[derive(Clone, Debug)]
pub(crate) struct Prior {
    pub mean: DVector<f64>,
    pub root: DMatrix<f64>,
}

impl Prior {
    pub fn of(beliefs: &[Belief]) -> Self {
        let mean = DVector::from_iterator(beliefs.len(), beliefs.iter().map(Belief::coordinate));
        let deviations = DVector::from_iterator(beliefs.len(), beliefs.iter().map(|b| b.deviation));
        Self { mean, root: DMatrix::from_diagonal(&deviations) }
    }
    pub fn theta(&self, z: &[f64]) -> Vec<f64> {
        let own = DVector::from_column_slice(&z[..self.mean.len()]);
        (&self.mean + &self.root * own).iter().copied().collect()
    }
}

/// What is to be solved.
pub(crate) struct Problem<'a> {
    pub draft: &'a Cabinet,
    pub places: &'a Places,
    pub prior: &'a Prior,
    pub tests: &'a [CabinetTest],
    /// A figure that may have changed since: how it acts, with the deviation of its logarithm.
    pub change: Option<(Act, f64)>,
    /// Take the controller's cycles in.
    pub relay: bool,
    /// Let the readings differ by something smooth that no figure explains.
    pub other: bool,
}

/// Terms of what no figure explains: a curve of so many terms, and one for all single figures.
const OTHER: usize = 5;
/// How large its terms are: thermometer, K; humidity; single figures, as a share.
const OTHER_K: f64 = 1.5;
const OTHER_HUMIDITY: f64 = 0.04;
const OTHER_SHARE: f64 = 0.1;

/// Adds what no figure explains to what is expected.
fn add_other(rows: &mut [Row], z: &[f64]) {
    let (first, last) =
        (rows.first().map_or(0.0, |r| r.at_s), rows.iter().map(|r| r.at_s).fold(1.0, f64::max));
    for r in rows {
        let x = (2.0 * (r.at_s - first) / (last - first).max(1.0) - 1.0).clamp(-1.0, 1.0);
        let curve = z[0] + z[1] * x + z[2] * (1.5 * x * x - 0.5) + z[3] * (2.5 * x * x * x - 1.5 * x);
        r.expected += match r.channel {
            Channel::Temperature => OTHER_K * curve,
            Channel::Humidity => OTHER_HUMIDITY * curve,
            _ => OTHER_SHARE * r.measured.abs() * z[4],
        };
    }
}

/// The solution.
#[derive(Clone, Debug)]
pub(crate) struct Solution {
    /// Unknowns in their coordinates.
    pub theta: Vec<f64>,
    /// Their covariance, with misfit counted in.
    pub covariance: DMatrix<f64>,
    /// Own figures of each test, as multiples.
    pub own: Vec<f64>,
    /// Logarithm of the change, and its standard error.
    pub change: Option<(f64, f64)>,
    /// Sum of squares of everything.
    pub squares: f64,
    /// Logarithm of the determinant of the information.
    pub log_information: f64,
}

/// How far from its middle an unknown is followed, in standard deviations.
const REACH: f64 = 8.0;

impl Problem<'_> {
    fn len(&self) -> usize {
        self.prior.mean.len()
            + OWN * self.tests.len()
            + usize::from(self.change.is_some())
            + if self.other { OTHER } else { 0 }
    }

    pub fn figures(&self, z: &[f64]) -> Figures {
        let figures = Figures::new(self.draft, self.places, &self.prior.theta(z));
        match self.change {
            Some((act, deviation)) => {
                let factor = (deviation * z.last().copied().unwrap_or(0.0)).exp();
                figures.changed(&act(factor), self.draft.heat_transfer.exponent.value)
            }
            None => figures,
        }
    }

    fn own<'z>(&self, z: &'z [f64], test: usize) -> &'z [f64] {
        let at = self.prior.mean.len() + OWN * test;
        &z[at..at + OWN]
    }

    /// Expected against measured, test by test.
    pub fn rows(&self, z: &[f64]) -> Vec<Vec<Row>> {
        let figures = self.figures(z);
        let one = |(i, t): (usize, &CabinetTest)| {
            let mut out = rows(self.draft, t, &figures, self.own(z, i), self.relay);
            if self.other {
                add_other(&mut out, &z[z.len() - OTHER..]);
            }
            out
        };
        self.tests.iter().enumerate().map(one).collect()
    }

    pub fn residuals(&self, z: &[f64]) -> Vec<f64> {
        let mut out: Vec<f64> =
            self.rows(z).iter().flatten().map(|r| r.residual().clamp(-1e4, 1e4)).collect();
        out.extend_from_slice(z);
        out
    }

    /// # Errors
    /// As [`fit`].
    pub fn solve(&self) -> Result<Solution, FitError> {
        // What needs no cycles first: their predictions are far from linear in the figures.
        let start =
            if self.relay { Some(Problem { relay: false, ..*self }.most_probable(None)?) } else { None };
        let z = self.most_probable(start)?;
        self.solution(&z)
    }

    fn most_probable(&self, start: Option<Vec<f64>>) -> Result<Vec<f64>, FitError> {
        let n = self.len();
        let parameters: Vec<Parameter> =
            (0..n).map(|i| Parameter::bounded(&format!("{i}"), "-", 0.0, (-REACH, REACH))).collect();
        let options = FitOptions {
            differences: Differences::Central { step: 1e-3 },
            tolerance: 1e-7,
            patience: if self.change.is_some() || self.other { 1 } else { 3 },
            starts: start
                .into_iter()
                .map(|z| z.iter().map(|v| v.clamp(-0.99 * REACH, 0.99 * REACH)).collect())
                .collect(),
        };
        Ok(fit(&parameters, &|z: &[f64]| Ok(self.residuals(z)), &options)?.values())
    }

    /// Covariance about a solution.
    ///
    /// # Errors
    /// [`FitError::NoDecomposition`].
    pub fn solution(&self, z: &[f64]) -> Result<Solution, FitError> {
        let columns = Differences::Central { step: 1e-3 }
            .slopes(z, &vec![2.0 * REACH; z.len()], |z| Ok(self.residuals(z)))?;
        let residuals = self.residuals(z);
        let squares: f64 = residuals.iter().map(|r| r * r).sum();
        let (n, own) = (z.len(), self.prior.mean.len());
        let failed = FitError::NoDecomposition { readings: residuals.len(), parameters: n };
        let information = crate::linear::gram(&columns);
        let inverse = crate::linear::inverse(&information, 1e-13).ok_or(failed)?;
        #[allow(clippy::cast_precision_loss)]
        let variance = squares / (residuals.len() - n).max(1) as f64;
        let misfit = variance.max(1.0);
        let whole = inverse.view((0, 0), (own, own)).into_owned() * misfit;
        let change = self
            .change
            .map(|(_, deviation)| (deviation * z[n - 1], deviation * inverse[(n - 1, n - 1)].sqrt()));
        Ok(Solution {
            theta: self.prior.theta(z),
            covariance: &self.prior.root * whole * self.prior.root.transpose(),
            own: z[own..own + OWN * self.tests.len()].to_vec(),
            change,
            squares,
            log_information: crate::linear::log_determinant(&information),
        })
    }
}
