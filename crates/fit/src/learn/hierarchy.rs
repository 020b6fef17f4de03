//! The hierarchy: mean of the library, what groups add, and batches scattered about them by Student's t.
//!
//! `y_i = m + sum of the effects of its groups + e_i`, e_i by Student's t with scale `sqrt(s^2 + d_i^2)` (s the spread between
//! batches, d_i the batch's own error); m by the first belief; effects normal with a spread of their kind. The spreads have
//! half-normal beliefs and are integrated over a grid; for each of its points the maximum in m and the effects is found by
//! reweighting, and the rest integrated by Laplace's approximation.

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use crate::learn::{BatchEstimate, GroupKind, LearnFault, LibraryValue};
use crate::linear::{inverse, log_determinant};

/// Points of the grid of the spread between batches, and of that of each kind of group, over this range of their scale.
const SPREAD_POINTS: u32 = 18;
const GROUP_POINTS: u32 = 7;
const RANGE: (f64, f64) = (0.02, 4.0);
/// Reweightings, and the change at which they end (in the fitted coordinate).
const ROUNDS: usize = 200;
const SETTLED: f64 = 1e-10;

/// How batches are joined.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HierarchyOptions {
    /// Degrees of freedom of Student's t, 1 to 1e6: 4 lets a bad batch count little, 1e6 is the normal distribution.
    pub degrees_of_freedom: f64,
    /// Scale of the belief about the spread between batches, in the fitted coordinate, above 0; the library's own where it has
    /// one.
    pub spread_scale: f64,
    /// Scale of the belief about what a season, lot or position adds, above 0.
    pub group_scale: f64,
}

impl Default for HierarchyOptions {
    fn default() -> Self {
        Self { degrees_of_freedom: 4.0, spread_scale: 0.2, group_scale: 0.15 }
    }
}

/// What the batches say.
#[derive(Clone, Debug)]
pub(crate) struct Joined {
    /// Mean of the library and its standard deviation, fitted coordinate.
    pub mean: f64,
    pub deviation: f64,
    /// Spread between batches: posterior mean.
    pub spread: f64,
    /// Effects: mean and standard deviation.
    pub effects: Vec<(GroupKind, String, f64, f64)>,
    /// Weight of every batch, 1 for one in the middle, towards 0 for one far off.
    pub weights: Vec<f64>,
}

/// A spread of the grid with the logarithm of its belief times the width of its step: between batches, then of every kind of
/// group.
type Point = Vec<(f64, f64)>;

/// The maximum at a point of the grid, with the logarithm of its share.
struct Found<'a> {
    log_share: f64,
    maximum: Maximum,
    point: &'a Point,
}

/// The problem at fixed spreads.
struct Problem<'a> {
    y: &'a [f64],
    errors: &'a [f64],
    /// Columns of each batch beside the mean.
    members: &'a [Vec<usize>],
    unknowns: usize,
    centre: f64,
    /// Precision of the mean.
    tightness: f64,
    degrees: f64,
}

struct Maximum {
    at: DVector<f64>,
    covariance: DMatrix<f64>,
    log_evidence: f64,
    weights: Vec<f64>,
}

pub(crate) fn join(
    of: &str,
    belief: &LibraryValue,
    batches: &[BatchEstimate],
    options: &HierarchyOptions,
) -> Result<Joined, LearnFault> {
    check(of, options)?;
    let y: Vec<f64> = batches.iter().map(|b| belief.coordinate(b.value)).collect();
    let errors: Vec<f64> = batches.iter().map(|b| b.deviation).collect();
    let labels = labels(batches);
    let members: Vec<Vec<usize>> = batches
        .iter()
        .map(|b| {
            let own = |(_, (kind, name)): &(usize, &(GroupKind, String))| b.group(*kind) == Some(name);
            labels.iter().enumerate().filter(own).map(|(k, _)| k + 1).collect()
        })
        .collect();
    let problem = Problem {
        y: &y,
        errors: &errors,
        members: &members,
        unknowns: 1 + labels.len(),
        centre: belief.coordinate(belief.value),
        tightness: belief.deviation.powi(-2),
        degrees: options.degrees_of_freedom,
    };
    let kinds: Vec<GroupKind> =
        GroupKind::ALL.into_iter().filter(|k| labels.iter().any(|l| l.0 == *k)).collect();
    let scale = if belief.spread > 0.0 { belief.spread } else { options.spread_scale };
    let grid = grid(scale, options.group_scale, kinds.len());
    let found: Vec<Found<'_>> = grid
        .par_iter()
        .filter_map(|point| {
            let spread_of =
                |kind: GroupKind| kinds.iter().position(|k| *k == kind).map_or(1.0, |i| point[i + 1].0);
            let group: Vec<f64> = labels.iter().map(|l| spread_of(l.0)).collect();
            let maximum = problem.maximum(point[0].0, &group)?;
            let log_belief: f64 = point.iter().map(|p| p.1).sum();
            Some(Found { log_share: maximum.log_evidence + log_belief, maximum, point })
        })
        .collect();
    mixture(&found, &labels).ok_or_else(|| LearnFault::NoMaximum { of: of.to_owned() })
}

fn check(of: &str, options: &HierarchyOptions) -> Result<(), LearnFault> {
    let rows = [
        ("degrees of freedom", options.degrees_of_freedom, 1.0, 1e6, "1 to 1e6"),
        ("scale of the spread", options.spread_scale, 1e-9, 1e9, "above 0"),
        ("scale of the groups", options.group_scale, 1e-9, 1e9, "above 0"),
    ];
    for (what, value, low, high, allowed) in rows {
        if !(value >= low && value <= high) {
            return Err(LearnFault::BadNumber { what, value, allowed, of: of.to_owned() });
        }
    }
    Ok(())
}

/// Labels of the kinds that tell batches apart: at least two of a kind.
fn labels(batches: &[BatchEstimate]) -> Vec<(GroupKind, String)> {
    let mut list = Vec::new();
    for kind in GroupKind::ALL {
        let mut own: Vec<&str> = batches.iter().filter_map(|b| b.group(kind)).collect();
        own.sort_unstable();
        own.dedup();
        if own.len() > 1 {
            list.extend(own.into_iter().map(|name| (kind, name.to_owned())));
        }
    }
    list
}

/// Points (spread, logarithm of belief times width) of every combination.
fn grid(spread_scale: f64, group_scale: f64, kinds: usize) -> Vec<Point> {
    let line = |scale: f64, points: u32| -> Vec<(f64, f64)> {
        let ratio = (RANGE.1 / RANGE.0).ln() / f64::from(points - 1);
        (0..points)
            .map(|i| {
                let s = RANGE.0 * (ratio * f64::from(i)).exp();
                // Half-normal density times s, for even steps of its logarithm.
                (scale * s, -0.5 * s * s + s.ln() + ratio.ln())
            })
            .collect()
    };
    let mut all: Vec<Point> = line(spread_scale, SPREAD_POINTS).into_iter().map(|p| vec![p]).collect();
    for _ in 0..kinds {
        let own = line(group_scale, GROUP_POINTS);
        all = all
            .iter()
            .flat_map(|first| {
                own.iter().map(move |p| {
                    let mut next = first.clone();
                    next.push(*p);
                    next
                })
            })
            .collect();
    }
    all
}

impl Problem<'_> {
    fn residual(&self, at: &DVector<f64>, i: usize) -> f64 {
        self.y[i] - at[0] - self.members[i].iter().map(|&k| at[k]).sum::<f64>()
    }

    /// Normal equations with a weight for every batch.
    fn normal(&self, weights: &[f64], group: &[f64]) -> (DMatrix<f64>, DVector<f64>) {
        let n = self.unknowns;
        let mut matrix = DMatrix::zeros(n, n);
        let mut right = DVector::zeros(n);
        matrix[(0, 0)] = self.tightness;
        right[0] = self.tightness * self.centre;
        for (k, s) in group.iter().enumerate() {
            matrix[(k + 1, k + 1)] = s.powi(-2);
        }
        for (i, w) in weights.iter().enumerate() {
            let own: Vec<usize> = std::iter::once(0).chain(self.members[i].iter().copied()).collect();
            for &a in &own {
                right[a] += w * self.y[i];
                for &b in &own {
                    matrix[(a, b)] += w;
                }
            }
        }
        (matrix, right)
    }

    fn maximum(&self, spread: f64, group: &[f64]) -> Option<Maximum> {
        let variance: Vec<f64> = self.errors.iter().map(|e| e * e + spread * spread).collect();
        let nu = self.degrees;
        let mut at = DVector::zeros(self.unknowns);
        at[0] = median(self.y);
        let mut weights = vec![0.0; self.y.len()];
        for _ in 0..ROUNDS {
            for (i, w) in weights.iter_mut().enumerate() {
                let r = self.residual(&at, i);
                *w = (nu + 1.0) / (nu * variance[i] + r * r);
            }
            let (matrix, right) = self.normal(&weights, group);
            let next = matrix.cholesky()?.solve(&right);
            let change = (&next - &at).amax();
            at = next;
            if change < SETTLED {
                break;
            }
        }
        // Curvature of Student's t where it is positive in all, else that of the reweighted normal.
        let curvature: Vec<f64> = (0..self.y.len())
            .map(|i| {
                let r2 = self.residual(&at, i).powi(2);
                (nu + 1.0) * (nu * variance[i] - r2) / (nu * variance[i] + r2).powi(2)
            })
            .collect();
        let exact = self.normal(&curvature, group).0;
        let (hessian, determinant) = match log_determinant(&exact) {
            d if d.is_finite() => (exact, d),
            _ => {
                let other = self.normal(&weights, group).0;
                let d = log_determinant(&other);
                (other, d)
            }
        };
        let covariance = inverse(&hessian, 1e-15)?;
        let mut log_joint = -0.5 * self.tightness * (at[0] - self.centre).powi(2);
        for (k, s) in group.iter().enumerate() {
            log_joint += -0.5 * (at[k + 1] / s).powi(2) - s.ln();
        }
        for (i, v) in variance.iter().enumerate() {
            let r2 = self.residual(&at, i).powi(2);
            log_joint += -0.5 * v.ln() - 0.5 * (nu + 1.0) * (r2 / (nu * v)).ln_1p();
        }
        let relative = |(w, v): (&f64, &f64)| w * v * nu / (nu + 1.0);
        Some(Maximum {
            weights: weights.iter().zip(&variance).map(relative).collect(),
            log_evidence: log_joint - 0.5 * determinant,
            at,
            covariance,
        })
    }
}

fn median(y: &[f64]) -> f64 {
    let mut sorted = y.to_vec();
    sorted.sort_by(f64::total_cmp);
    let half = sorted.len() / 2;
    if sorted.len() % 2 == 1 { sorted[half] } else { 0.5 * (sorted[half - 1] + sorted[half]) }
}

/// The points of the grid joined by their weight.
fn mixture(found: &[Found<'_>], labels: &[(GroupKind, String)]) -> Option<Joined> {
    let best = found.iter().map(|f| f.log_share).fold(f64::NEG_INFINITY, f64::max);
    if !best.is_finite() {
        return None;
    }
    let share: Vec<f64> = found.iter().map(|f| (f.log_share - best).exp()).collect();
    let total: f64 = share.iter().sum();
    let mean_of = |of: &dyn Fn(&Found<'_>) -> f64| {
        found.iter().zip(&share).map(|(f, s)| s * of(f)).sum::<f64>() / total
    };
    let moments = |k: usize| {
        let mean = mean_of(&|f| f.maximum.at[k]);
        let square = mean_of(&|f| f.maximum.covariance[(k, k)] + (f.maximum.at[k] - mean).powi(2));
        (mean, square.sqrt())
    };
    let (mean, deviation) = moments(0);
    let effects = labels.iter().enumerate().map(|(k, (kind, name))| {
        let (effect, error) = moments(k + 1);
        (*kind, name.clone(), effect, error)
    });
    let batches = found.first()?.maximum.weights.len();
    Some(Joined {
        mean,
        deviation,
        spread: mean_of(&|f| f.point[0].0),
        effects: effects.collect(),
        weights: (0..batches).map(|i| mean_of(&|f| f.maximum.weights[i])).collect(),
    })
}
