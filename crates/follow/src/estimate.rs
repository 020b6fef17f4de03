//! The uncertain inputs given the readings: where the mode lies and how wide it is.
//!
//! Prior: every input of the plan's draws standard normal. The model is made linear about the present guess by central
//! differences half a standard deviation wide, the normal update is exact for that, and both are repeated (Gauss and Newton;
//! the iterated Kalman smoother). Mistakes among the readings are looked for at every
//! repeat.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use rayon::prelude::*;

use crate::FollowError;
use crate::course::{Course, Track};
use crate::mistake::{Accepted, accepted};
use crate::noise;
use crate::predict::{Predicted, walk};
use crate::reading::Reading;
use fallrate_plan::sweep::Fineness;

/// Grid of the differences: their errors mostly cancel, and importance sampling makes good what is left.
const LIGHT: Fineness =
    Fineness { positions: 3, nodes: 7, relative_tolerance: 3e-4, samples: 0.0, stands: 0 };
/// After a move farther than this, standard deviations, slopes are taken by differences again, so often in all; after a
/// shorter one the step itself corrects them.
const FAR: f64 = 0.6;
const MOST_DIFFERENCED: usize = 2;
/// Half the width of the differences, standard deviations.
const STEP: f64 = 0.5;
/// Repeats of the linear update at the most.
const MOST_UPDATES: usize = 8;
/// It stands where no input moves by more than this, standard deviations.
const STANDS: f64 = 0.05;
/// An input moves by this much in one update at the most.
const LONGEST_MOVE: f64 = 1.5;
/// Inputs stay within this many standard deviations, as the plan's draws nearly do.
pub(crate) const FARTHEST: f64 = 3.5;
/// An input whose standard deviation moves no reading by more than this share of its spread is not differenced again.
const NEGLIGIBLE: f64 = 0.02;
/// Where the inputs lie given the readings.
#[derive(Clone, Debug)]
pub(crate) struct Mode {
    /// Standard deviations from the plan's figures.
    pub mean: DVector<f64>,
    pub covariance: DMatrix<f64>,
    /// The guess before the last update, the model there, and its slopes.
    pub at: DVector<f64>,
    pub predicted: Vec<Predicted>,
    pub slopes: DMatrix<f64>,
    /// The model with the plan's figures.
    pub before: Vec<Predicted>,
    /// The last update.
    pub step: Step,
    pub updates: usize,
    pub runs: usize,
}

/// What the estimate is asked with.
pub(crate) struct Question<'a, 'b> {
    pub track: &'a Track<'b>,
    pub course: &'a Course,
    pub readings: &'a [Reading],
    pub fineness: Fineness,
    pub inputs: usize,
}

impl Question<'_, '_> {
    fn predict(
        &self,
        z: &DVector<f64>,
        fineness: &Fineness,
        progress: &(dyn Fn() -> bool + Sync),
    ) -> Result<Vec<Predicted>, FollowError> {
        let mut go_on = |_: f64| progress();
        let walked = walk(self.track, z.as_slice(), self.readings, &[], fineness, &mut go_on);
        walked.map(|w| w.1).map_err(FollowError::of)
    }

    /// Slopes of the model about a point by the inputs asked for: central differences on a light grid, whose errors cancel.
    fn slopes(
        &self,
        z: &DVector<f64>,
        columns: &[usize],
        progress: &(dyn Fn() -> bool + Sync),
    ) -> Result<Vec<DVector<f64>>, FollowError> {
        let one = |k: &usize| {
            let at = |side: f64| {
                let mut moved = z.clone();
                moved[*k] += side;
                self.predict(&moved, &LIGHT, progress)
            };
            let (up, down) = rayon::join(|| at(STEP), || at(-STEP));
            let (up, down) = (up?, down?);
            let slope = up.iter().zip(&down).map(|(u, d)| (u.value - d.value) / (2.0 * STEP));
            Ok(DVector::from_iterator(up.len(), slope))
        };
        columns.par_iter().map(one).collect()
    }
}

/// Finds the mode.
pub(crate) fn mode(q: &Question<'_, '_>, progress: &(dyn Fn() -> bool + Sync)) -> Result<Mode, FollowError> {
    let (n, d) = (q.readings.len(), q.inputs);
    let y = DVector::from_iterator(n, q.readings.iter().map(Reading::compared));
    let value = |p: &[Predicted]| DVector::from_iterator(n, p.iter().map(|p| p.value));
    let all: Vec<usize> = (0..d).collect();
    let mut z = DVector::zeros(d);
    let (before, found) =
        rayon::join(|| q.predict(&z, &q.fineness, progress), || q.slopes(&z, &all, progress));
    let (before, found) = (before?, found?);
    let mut slopes = DMatrix::from_columns(&found);
    let mut predicted = before.clone();
    let (mut updates, mut differenced, mut runs) = (0, 1, 1 + 2 * d);
    loop {
        updates += 1;
        let step = Step::new(q, &predicted, &slopes, &z, &y)?;
        let moved = (&step.mean - &z).map(|m| m.clamp(-LONGEST_MOVE, LONGEST_MOVE));
        let at = z.clone();
        z = (&z + &moved).map(|v| v.clamp(-FARTHEST, FARTHEST));
        if moved.amax() < STANDS || updates >= MOST_UPDATES {
            let covariance = DMatrix::identity(d, d) - slopes.transpose() * &step.s_inverse * &slopes;
            let mean = z;
            return Ok(Mode { mean, covariance, at, predicted, slopes, before, step, updates, runs });
        }
        let was = value(&predicted);
        predicted = q.predict(&z, &q.fineness, progress)?;
        runs += 1;
        if moved.amax() > FAR && differenced < MOST_DIFFERENCED {
            let columns = telling(&slopes, &step.sound);
            let found = q.slopes(&z, &columns, progress)?;
            runs += 2 * columns.len();
            differenced += 1;
            columns.iter().zip(&found).for_each(|(k, column)| slopes.set_column(*k, column));
        } else {
            // Broyden's rank-one update: the slopes that explain the step just made, else as they were.
            let dz = &z - &at;
            let missed = value(&predicted) - was - &slopes * &dz;
            slopes += missed * dz.transpose() / dz.norm_squared().max(1e-12);
        }
    }
}

/// One linear update about a point.
#[derive(Clone, Debug)]
pub(crate) struct Step {
    /// Covariance of sound readings about the model, and the mistakes found.
    pub sound: DMatrix<f64>,
    pub accepted: Accepted,
    /// Inverse covariance of the residuals with the inputs' uncertainty in it, and that times the residuals.
    pub s_inverse: DMatrix<f64>,
    pub scaled: DVector<f64>,
    mean: DVector<f64>,
}

impl Step {
    fn new(
        q: &Question<'_, '_>,
        predicted: &[Predicted],
        slopes: &DMatrix<f64>,
        z: &DVector<f64>,
        y: &DVector<f64>,
    ) -> Result<Self, FollowError> {
        let sound = noise::covariance(q.readings, predicted, q.course, &q.track.case);
        let h = DVector::from_iterator(y.len(), predicted.iter().map(|p| p.value));
        let residual = y - h + slopes * z;
        let about = slopes * slopes.transpose() + &sound;
        let accepted = accepted(q.readings, predicted, (q.course, &q.track.case), &about, &residual)?;
        let s_inverse = cholesky(about + &accepted.extra)?.inverse();
        let scaled = &s_inverse * (residual - &accepted.shift);
        let mean = slopes.transpose() * &scaled;
        Ok(Self { sound, accepted, s_inverse, scaled, mean })
    }
}

/// Inputs that move some reading noticeably.
fn telling(slopes: &DMatrix<f64>, sound: &DMatrix<f64>) -> Vec<usize> {
    let spread = sound.diagonal().map(f64::sqrt);
    let moves = |k: &usize| slopes.column(*k).iter().zip(&spread).any(|(s, sd)| s.abs() > NEGLIGIBLE * sd);
    (0..slopes.ncols()).filter(moves).collect()
}

impl Mode {
    /// Covariance of the readings about the model, with the mistakes in it.
    pub fn errors(&self) -> DMatrix<f64> {
        &self.step.sound + &self.step.accepted.extra
    }
}

/// Cholesky factor of a covariance, its diagonal lifted as far as rounding needs.
pub(crate) fn cholesky(m: DMatrix<f64>) -> Result<Cholesky<f64, Dyn>, FollowError> {
    let n = m.nrows();
    let scale = m.diagonal().iter().fold(1e-12, |s: f64, v| s.max(v.abs()));
    let symmetric = 0.5 * (&m + m.transpose());
    for lift in [0.0, 1e-12, 1e-10, 1e-8, 1e-6] {
        if let Some(c) = Cholesky::new(&symmetric + DMatrix::identity(n, n) * (lift * scale)) {
            return Ok(c);
        }
    }
    Err(FollowError::NotDefinite { size: n })
}
