//! Draws about the mode, each followed to the end, weighted by what they make of the readings.
//!
//! Importance sampling with the normal approximation, a little widened, as its proposal: what the linear picture gets wrong
//! the weights put right, and their effective number says how much that was. Where they are few, the proposal is fitted to
//! the weighted draws and they are drawn anew (Cappe et al., J. Comput. Graph. Stat. 13 (2004) 907-929, from memory).

use fallrate_plan::band::latin_hypercube;
use fallrate_plan::sweep::{Sweep, sweep_of};
use fallrate_plan::{Setup, Unloading};
use fallrate_simulate::{Interruption, Options, Sample, SimulateError, StageInput, run_from};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use rayon::prelude::*;

use crate::FollowError;
use crate::course::Standing;
use crate::estimate::{FARTHEST, Mode, Question, cholesky};
use crate::predict::{Predicted, followed, walk};
use crate::reading::Reading;

/// The proposal is this much wider than the normal approximation.
const WIDER: f64 = 1.15;
/// Effective share of the draws below which the proposal is fitted anew, and then the weights are evened.
const FEW: f64 = 0.25;
/// Fits of the proposal at the most.
const MOST_FITS: usize = 1;
/// No draw weighs more than this share times the root of their number (Ionides, J. Comput. Graph. Stat. 17 (2008) 295-311,
/// from memory: truncated importance sampling).
const HEAVIEST: f64 = 1.0;
/// Samples of a draw before now and after.
const PAST: usize = 16;
const AHEAD: usize = 80;
/// Whole states kept ahead for the stands after power-off.
const KEPT: usize = 33;

/// A draw, walked to now.
#[derive(Clone, Debug)]
pub(crate) struct Member {
    pub z: Vec<f64>,
    pub standing: Standing,
    /// Its share of all weights.
    pub weight: f64,
}

/// Draws given the readings.
#[derive(Clone, Debug)]
pub(crate) struct Ensemble {
    pub members: Vec<Member>,
    /// Logarithms of their weights, up to a constant.
    logs: Vec<f64>,
    /// Effective number of draws, before the weights were evened.
    pub effective: f64,
    /// Power that the weights were raised to, 1 where the draws were enough.
    pub power: f64,
    pub fits: usize,
    pub runs: usize,
}

/// The proposal: normal about a mean.
struct Proposal {
    mean: DVector<f64>,
    factor: Cholesky<f64, Dyn>,
}

impl Proposal {
    fn of(mode: &Mode) -> Result<Self, FollowError> {
        Ok(Self { mean: mode.mean.clone(), factor: cholesky(mode.covariance.clone() * (WIDER * WIDER))? })
    }
    fn point(&self, u: &[f64]) -> Vec<f64> {
        let z = &self.mean + self.factor.l() * DVector::from_column_slice(u);
        z.iter().map(|v| v.clamp(-FARTHEST, FARTHEST)).collect()
    }
    /// Logarithm of its density at a point, up to a constant that all points share.
    fn log_density(&self, z: &[f64]) -> f64 {
        let away = DVector::from_column_slice(z) - &self.mean;
        -0.5 * away.dot(&self.factor.solve(&away))
    }
    /// Fitted to weighted draws, their covariance held against the one before by their effective number.
    fn fitted(&self, ensemble: &Ensemble) -> Result<Self, FollowError> {
        let d = self.mean.len();
        let points = || ensemble.members.iter().map(|m| (m.weight, DVector::from_column_slice(&m.z)));
        let mean = points().fold(DVector::zeros(d), |sum, (w, z)| sum + z * w);
        let spread = points().fold(DMatrix::zeros(d, d), |sum: DMatrix<f64>, (w, z)| {
            let away = z - &mean;
            sum + &away * away.transpose() * w
        });
        #[allow(clippy::cast_precision_loss)]
        let trust = ensemble.effective / (ensemble.effective + d as f64);
        let old = self.factor.l() * self.factor.l().transpose();
        let covariance = spread * (trust * WIDER * WIDER) + old * (1.0 - trust);
        Ok(Self { mean, factor: cholesky(covariance)? })
    }
}

/// Draws about the mode.
pub(crate) fn draw(
    q: &Question<'_, '_>,
    mode: &Mode,
    count: usize,
    progress: &(dyn Fn(f64) -> bool + Sync),
) -> Result<Ensemble, FollowError> {
    let mut proposal = Proposal::of(mode)?;
    let target = Target::of(q, mode)?;
    let rows = latin_hypercube(count, q.inputs);
    let mut runs = 0;
    for fits in 0.. {
        let mut ensemble = weighted(q, &target, &proposal, &rows, progress)?;
        runs += count;
        ensemble.fits = fits;
        ensemble.runs = runs;
        #[allow(clippy::cast_precision_loss)]
        let count = count as f64;
        let few = ensemble.effective < FEW * count;
        if !few || fits >= MOST_FITS {
            return Ok(evened_out(ensemble, FEW * count));
        }
        proposal = proposal.fitted(&ensemble)?;
    }
    Err(FollowError::Cancelled)
}

/// Weights that too few draws carry, drawn towards evenness.
fn evened_out(mut ensemble: Ensemble, enough: f64) -> Ensemble {
    ensemble.power = power_for(&ensemble.logs, enough);
    let (weights, _) = normalised(&ensemble.logs, ensemble.power);
    for (m, w) in ensemble.members.iter_mut().zip(weights) {
        m.weight = w;
    }
    ensemble
}

/// Logarithm of the posterior, up to a constant: the readings' weights and errors as found at the mode.
struct Target {
    y: DVector<f64>,
    errors: Cholesky<f64, Dyn>,
}

impl Target {
    fn of(q: &Question<'_, '_>, mode: &Mode) -> Result<Self, FollowError> {
        let y = DVector::from_iterator(q.readings.len(), q.readings.iter().map(Reading::compared));
        let y = y - &mode.step.accepted.shift;
        Ok(Self { y, errors: cholesky(mode.errors())? })
    }
    fn log(&self, z: &[f64], predicted: &[Predicted]) -> f64 {
        let prior: f64 = z.iter().map(|v| v * v).sum();
        let h = DVector::from_iterator(predicted.len(), predicted.iter().map(|p| p.value));
        let away = &self.y - h;
        -0.5 * (prior + away.dot(&self.errors.solve(&away)))
    }
}

fn weighted(
    q: &Question<'_, '_>,
    target: &Target,
    proposal: &Proposal,
    rows: &[Vec<f64>],
    progress: &(dyn Fn(f64) -> bool + Sync),
) -> Result<Ensemble, FollowError> {
    let past = grid(0.0, q.track.now_s, PAST);
    let walked: Vec<Result<(Member, f64), FollowError>> = rows
        .par_iter()
        .map(|u| {
            let z = proposal.point(u);
            let mut go_on = |_: f64| progress(0.0);
            let (standing, predicted) =
                walk(q.track, &z, q.readings, &past, &q.fineness, &mut go_on).map_err(FollowError::of)?;
            let log = target.log(&z, &predicted) - proposal.log_density(&z);
            Ok((Member { z, standing, weight: 0.0 }, log))
        })
        .collect();
    let mut members = Vec::with_capacity(rows.len());
    let mut logs = Vec::with_capacity(rows.len());
    for w in walked {
        match w {
            Ok((member, log)) if log.is_finite() => {
                members.push(member);
                logs.push(log);
            }
            Err(FollowError::Cancelled) => return Err(FollowError::Cancelled),
            _ => {}
        }
    }
    if members.len() * 2 < rows.len() {
        return Err(FollowError::NoRuns { draws: rows.len(), needed: rows.len() / 2 });
    }
    let (weights, effective) = normalised(&logs, 1.0);
    for (m, w) in members.iter_mut().zip(weights) {
        m.weight = w;
    }
    Ok(Ensemble { members, logs, effective, power: 1.0, fits: 0, runs: 0 })
}

/// Weights that sum to one out of their logarithms, the heaviest held back, their effective number, and the power they were
/// raised to.
#[allow(clippy::cast_precision_loss)]
fn normalised(logs: &[f64], power: f64) -> (Vec<f64>, f64) {
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let raw: Vec<f64> = logs.iter().map(|l| (power * (l - most)).exp()).collect();
    let n = raw.len() as f64;
    let mean = raw.iter().sum::<f64>() / n;
    let cut = HEAVIEST * mean * n.sqrt();
    let held: Vec<f64> = raw.iter().map(|w| w.min(cut)).collect();
    let sum: f64 = held.iter().sum();
    let weights: Vec<f64> = held.iter().map(|w| w / sum).collect();
    let effective = 1.0 / weights.iter().map(|w| w * w).sum::<f64>();
    (weights, effective)
}

/// The greatest power up to 1 under which the weights' effective number is enough: weights that a few draws carry say little
/// of the posterior and much of chance; drawn towards evenness they give the wider proposal instead.
fn power_for(logs: &[f64], enough: f64) -> f64 {
    if normalised(logs, 1.0).1 >= enough {
        return 1.0;
    }
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..30 {
        let mid = 0.5 * (low + high);
        if normalised(logs, mid).1 >= enough { low = mid } else { high = mid }
    }
    low
}

#[allow(clippy::cast_precision_loss)]
pub(crate) fn grid(from_s: f64, to_s: f64, steps: usize) -> Vec<f64> {
    (0..=steps).map(|k| from_s + (to_s - from_s) * k as f64 / steps as f64).collect()
}

/// How a run goes on from now.
#[derive(Clone, Debug)]
pub(crate) struct Ahead<'a> {
    pub setup: &'a Setup,
    /// The power stays on until then, s from the start.
    pub until_s: f64,
    pub stages: Vec<StageInput>,
    /// To come, beside those met.
    pub interruptions: Vec<Interruption>,
}

/// The sweep of a draw: its past as walked, and what is ahead of it with the power on up to a time.
pub(crate) fn sweep_ahead(
    q: &Question<'_, '_>,
    member: &Member,
    ahead: &Ahead<'_>,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Sweep, SimulateError> {
    let mut batch = followed(q.track, &member.z, &q.fineness);
    batch.interruptions.extend(ahead.interruptions.iter().copied());
    let now_s = q.track.now_s;
    let stands = ahead.setup.unloading != Unloading::AtOnce;
    let options = Options {
        relative_tolerance: q.fineness.relative_tolerance,
        sample_every_s: None,
        samples_at_s: grid(now_s, ahead.until_s, AHEAD),
        snapshots_at_s: if stands { grid(now_s, ahead.until_s, KEPT) } else { Vec::new() },
        timer_ends_s: Some(ahead.until_s),
        enforce_balances: false,
        ..Options::default()
    };
    let mut run = run_from(&batch, &member.standing.state, &ahead.stages, &options, progress)?;
    let past = member.standing.samples.iter().filter(|s| s.elapsed_s < now_s).cloned();
    run.samples = past.chain(run.samples).collect::<Vec<Sample>>();
    let ends: Vec<f64> = run.stage_ends.iter().map(|e| e.sample.elapsed_s).collect();
    let mut sweep = sweep_of(ahead.setup, &batch, run, &options, &q.fineness, progress)?;
    sweep.samples.iter_mut().for_each(|s| s.pieces = Vec::new());
    sweep.stage_ends_s = member.standing.trail.iter().map(|t| t.1.sample.elapsed_s).chain(ends).collect();
    Ok(sweep)
}
