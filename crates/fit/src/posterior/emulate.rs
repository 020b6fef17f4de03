//! An emulator of residuals: every residual as a polynomial of second degree in the unknowns, fitted to runs of the true model.
//! The chains walk on it for many cheap steps; where they arrive, the true model decides (delayed acceptance: Christen and Fox
//! 2005, from memory), so that the draws have the true posterior whatever the emulator's errors.

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use crate::posterior::PosteriorFault;
use crate::posterior::step::Shape;
use crate::stats::Draws;
use crate::{FitError, Model};

/// Runs of the true model per coefficient, to begin with and in every further round.
const FIRST: usize = 3;
const FURTHER: usize = 2;
/// Rounds of refining at most; they end where the emulator's error of half the sum of squares scatters by less than this.
const ROUNDS: usize = 4;
const GOOD: f64 = 0.4;
/// Moves of a walk on the emulator that learns its shape, and of one that makes a proposal.
const LEARNING: usize = 1200;
pub(crate) const WALK: usize = 10;
/// A move is a throw of a ball that rolls on the emulator's surface (Hamiltonian Monte Carlo): its longest step, in the
/// coordinates in which the shape is the unit one, and its fewest and most steps. One move in five is a plain local step.
const LONGEST: f64 = 0.5;
const ROLLS: (usize, usize) = (4, 20);
const PLAIN: usize = 5;
/// Runs count by how likely they are: half where the sum of squares lies this many dimensions above the best.
const LIKELY: f64 = 4.0;
/// Tries to find a point inside the bounds.
const TRIES: usize = 200;
/// A little of the diagonal that keeps the fit of the coefficients sound.
const RIDGE: f64 = 1e-9;

/// Bounds of every coordinate.
pub(crate) type Bounds<'a> = &'a [(f64, f64)];

pub(crate) fn inside(bounds: Bounds<'_>, at: &DVector<f64>) -> bool {
    at.iter().zip(bounds).all(|(x, (low, high))| x > low && x < high)
}

/// A run of the true model.
#[derive(Clone, Debug)]
struct Run {
    at: DVector<f64>,
    rows: Vec<f64>,
    squares: f64,
}

/// The emulator with the shape of its own posterior.
pub(crate) struct Emulator {
    shape: Shape,
    /// Coefficients: all residuals of the first feature, then of the next.
    coefficients: Vec<f64>,
    residuals: usize,
    bounds: Vec<(f64, f64)>,
    /// Walks begin here.
    pub starts: Vec<DVector<f64>>,
    /// Runs of the true model that it took.
    pub runs: usize,
}

/// 1, z_i, z_i z_j for i <= j.
fn features(z: &DVector<f64>) -> Vec<f64> {
    let d = z.len();
    let mut list = Vec::with_capacity(1 + d + d * (d + 1) / 2);
    list.push(1.0);
    list.extend(z.iter());
    for i in 0..d {
        for j in i..d {
            list.push(z[i] * z[j]);
        }
    }
    list
}

impl Emulator {
    fn rows(&self, z: &DVector<f64>) -> Vec<f64> {
        let mut rows = vec![0.0; self.residuals];
        for (f, own) in features(z).iter().zip(self.coefficients.chunks_exact(self.residuals)) {
            for (r, c) in rows.iter_mut().zip(own) {
                *r += f * c;
            }
        }
        rows
    }

    /// Logarithm of the emulated density; minus infinity outside the bounds.
    pub fn log_density(&self, at: &DVector<f64>) -> f64 {
        if !inside(&self.bounds, at) {
            return f64::NEG_INFINITY;
        }
        -0.5 * self.rows(&self.shape.standard(at)).iter().map(|r| r * r).sum::<f64>()
    }

    /// Slopes of the logarithm of the density by the standard coordinates, without the bounds.
    fn slopes(&self, z: &DVector<f64>) -> DVector<f64> {
        let d = z.len();
        let rows = self.rows(z);
        let by: Vec<f64> = self
            .coefficients
            .chunks_exact(self.residuals)
            .map(|own| own.iter().zip(&rows).map(|(c, r)| c * r).sum())
            .collect();
        let mut slopes = DVector::from_fn(d, |i, _| -by[1 + i]);
        let mut k = 1 + d;
        for i in 0..d {
            for j in i..d {
                slopes[i] -= by[k] * z[j];
                slopes[j] -= by[k] * z[i];
                k += 1;
            }
        }
        slopes
    }

    /// Walks on the emulator from a point: where it arrives. The walk is reversible for the emulated posterior.
    pub fn walk(&self, from: &DVector<f64>, moves: usize, draws: &mut Draws) -> DVector<f64> {
        self.walk_seen(from, moves, draws, &mut |_| ())
    }

    fn walk_seen(
        &self,
        from: &DVector<f64>,
        moves: usize,
        draws: &mut Draws,
        seen: &mut dyn FnMut(&DVector<f64>),
    ) -> DVector<f64> {
        let (mut at, mut log_density) = (from.clone(), self.log_density(from));
        for _ in 0..moves {
            let (next, correction) = if draws.below(PLAIN) == 0 {
                (self.shape.local(&at, draws), 0.0)
            } else {
                self.rolled(&at, draws)
            };
            let value = self.log_density(&next);
            let lot = draws.even().ln();
            if lot < value - log_density + correction {
                (at, log_density) = (next, value);
            }
            seen(&at);
        }
        at
    }

    /// A throw in a random direction that rolls on the surface; with what its speed has lost, to be added to the logarithm of
    /// the ratio of densities.
    fn rolled(&self, from: &DVector<f64>, draws: &mut Draws) -> (DVector<f64>, f64) {
        let mut z = self.shape.standard(from);
        let mut speed = DVector::from_fn(z.len(), |_, _| draws.normal());
        let before = speed.norm_squared();
        let step = LONGEST * draws.even();
        let rolls = ROLLS.0 + draws.below(ROLLS.1 - ROLLS.0 + 1);
        speed += self.slopes(&z) * (0.5 * step);
        for roll in 0..rolls {
            z += &speed * step;
            let share = if roll + 1 == rolls { 0.5 } else { 1.0 };
            speed += self.slopes(&z) * (share * step);
        }
        (self.shape.place_of(&z), 0.5 * (before - speed.norm_squared()))
    }

    /// Builds one about a centre.
    ///
    /// `rows` are the residuals over their errors; `count` walks will begin at [`Emulator::starts`].
    pub fn build(
        rows: &Model<'_>,
        bounds: Bounds<'_>,
        centre: &[f64],
        covariance: &DMatrix<f64>,
        (count, seed): (usize, u64),
        tell: &dyn Fn() -> Result<(), FitError>,
    ) -> Result<Self, FitError> {
        let d = centre.len();
        let coefficients = 1 + d + d * (d + 1) / 2;
        let mut shape = Shape::new(centre, covariance)?;
        let middle = DVector::from_column_slice(centre);
        let mut draws = Draws::new(seed, u64::MAX);
        let mut points = vec![middle.clone()];
        points.extend((0..FIRST * coefficients).filter_map(|_| drawn_inside(&shape, bounds, &mut draws)));
        let mut runs = run_all(rows, &points)?;
        if !runs.iter().any(|r| r.at == middle) {
            return Err(PosteriorFault::NoDensityAtCentre.into());
        }
        let mut emulator = fitted(&shape, bounds, &runs)?;
        for round in 0..ROUNDS {
            tell()?;
            let seen = emulator.learn(&middle, &mut draws);
            shape = shape_of(&seen)?;
            // Evenly out of the walk, and the emulator is held against the truth there before it is refined.
            let step = (seen.len() / (FURTHER * coefficients)).max(1);
            let next: Vec<DVector<f64>> = seen.iter().step_by(step).cloned().collect();
            let own = run_all(rows, &next)?;
            let errors: Vec<f64> =
                own.iter().map(|r| emulator.log_density(&r.at) + 0.5 * r.squares).collect();
            runs.extend(own);
            emulator = fitted(&shape, bounds, &runs)?;
            emulator.starts = begin(&runs, &next, count);
            if scatter(&errors) < GOOD && round > 0 {
                break;
            }
        }
        // The last fit may have moved it once more.
        let seen = emulator.learn(&middle, &mut draws);
        let learned = shape_of(&seen)?;
        emulator = fitted(&learned, bounds, &runs)?.with_starts(emulator.starts);
        emulator.runs = runs.len();
        Ok(emulator)
    }

    fn with_starts(mut self, starts: Vec<DVector<f64>>) -> Self {
        self.starts = starts;
        self
    }

    /// Points of a long walk, its first quarter left out.
    fn learn(&self, from: &DVector<f64>, draws: &mut Draws) -> Vec<DVector<f64>> {
        let mut seen: Vec<DVector<f64>> = Vec::with_capacity(LEARNING);
        self.walk_seen(from, LEARNING, draws, &mut |p| seen.push(p.clone()));
        seen.split_off(LEARNING / 4)
    }
}

fn scatter(values: &[f64]) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let n = values.len().max(2) as f64;
    // The median and the mean distance from it: a single far run must not count for all.
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let Some(&median) = sorted.get(sorted.len() / 2) else { return f64::INFINITY };
    values.iter().map(|v| (v - median).abs().min(10.0)).sum::<f64>() / n
}

/// Chains begin at runs of the last round, evenly out of them.
fn begin(runs: &[Run], next: &[DVector<f64>], count: usize) -> Vec<DVector<f64>> {
    let own: Vec<&Run> = runs.iter().rev().take(next.len()).collect();
    let step = (own.len() / count.max(1)).max(1);
    own.iter().step_by(step).take(count).map(|r| r.at.clone()).collect()
}

fn drawn_inside(shape: &Shape, bounds: Bounds<'_>, draws: &mut Draws) -> Option<DVector<f64>> {
    (0..TRIES).map(|_| shape.about(draws)).find(|p| inside(bounds, p))
}

/// Runs of the true model at points; where it has no answer there is none.
fn run_all(rows: &Model<'_>, points: &[DVector<f64>]) -> Result<Vec<Run>, FitError> {
    let one = |at: &DVector<f64>| match rows(at.as_slice()) {
        Err(FitError::Cancelled) => Err(FitError::Cancelled),
        Ok(r) if r.iter().all(|v| v.is_finite()) => {
            let squares = r.iter().map(|v| v * v).sum();
            Ok(Some(Run { at: at.clone(), rows: r, squares }))
        }
        _ => Ok(None),
    };
    let all: Vec<Option<Run>> = points.par_iter().map(one).collect::<Result<_, _>>()?;
    Ok(all.into_iter().flatten().collect())
}

/// Mean and covariance of points as a shape.
fn shape_of(points: &[DVector<f64>]) -> Result<Shape, PosteriorFault> {
    let d = points.first().map_or(0, DVector::len);
    #[allow(clippy::cast_precision_loss)]
    let n = points.len() as f64;
    let centre: DVector<f64> = points.iter().fold(DVector::zeros(d), |s, p| s + p) / n;
    let mut covariance = DMatrix::zeros(d, d);
    for p in points {
        let away = p - &centre;
        covariance += &away * away.transpose();
    }
    covariance /= n - 1.0;
    for i in 0..d {
        covariance[(i, i)] *= 1.0 + 1e-6;
    }
    Shape::new(centre.as_slice(), &covariance)
}

/// Coefficients by least squares, likely runs counting more.
fn fitted(shape: &Shape, bounds: Bounds<'_>, runs: &[Run]) -> Result<Emulator, FitError> {
    let best = runs.iter().map(|r| r.squares).fold(f64::INFINITY, f64::min);
    let (d, residuals) = runs.first().map_or((0, 0), |r| (r.at.len(), r.rows.len()));
    let count = 1 + d + d * (d + 1) / 2;
    let mut normal = DMatrix::zeros(count, count);
    let mut right = DMatrix::zeros(count, residuals);
    #[allow(clippy::cast_precision_loss)]
    let scale = LIKELY * d as f64;
    for run in runs {
        let f = DVector::from_vec(features(&shape.standard(&run.at)));
        let weight = 1.0 / (1.0 + (run.squares - best) / scale).powi(2);
        normal.ger(weight, &f, &f, 1.0);
        right.ger(weight, &f, &DVector::from_column_slice(&run.rows), 1.0);
    }
    for i in 0..count {
        normal[(i, i)] *= 1.0 + RIDGE;
    }
    let failed = FitError::NoDecomposition { readings: runs.len(), parameters: count };
    let solved = normal.cholesky().ok_or(failed)?.solve(&right);
    Ok(Emulator {
        shape: shape.clone(),
        coefficients: solved.row_iter().flat_map(|r| r.iter().copied().collect::<Vec<f64>>()).collect(),
        residuals,
        bounds: bounds.to_vec(),
        starts: Vec::new(),
        runs: runs.len(),
    })
}
