//! What is ahead of every draw, and when the powered time ends in it.

use fallrate_plan::Setup;
use fallrate_plan::sweep::Sweep;
use fallrate_simulate::{EndCondition, Options, SimulateError, run_from};
use rayon::prelude::*;

use crate::FollowError;
use crate::ensemble::{Ahead, Ensemble, Member, grid, sweep_ahead};
use crate::estimate::{Mode, Question};
use crate::predict::{followed, walk};
use crate::update::{EndForecast, Range};

/// Weighted percentiles of values; infinite ones count as late.
pub(crate) fn range(values: &[(f64, f64)]) -> Range {
    let mut sorted: Vec<(f64, f64)> = values.iter().copied().filter(|v| !v.1.is_nan()).collect();
    sorted.sort_by(|a, b| a.1.total_cmp(&b.1));
    let all: f64 = sorted.iter().map(|v| v.0).sum();
    let at = |share: f64| {
        let mut sum = 0.0;
        let mut before: Option<(f64, f64)> = None;
        for (w, v) in &sorted {
            // Each value stands in the middle of its own weight; between two the line.
            let place = (sum + 0.5 * w) / all;
            if place >= share {
                return match before {
                    Some((p, u)) if v.is_finite() && place > p => u + (share - p) / (place - p) * (v - u),
                    _ => *v,
                };
            }
            before = Some((place, *v));
            sum += w;
        }
        before.map_or(f64::NAN, |b| b.1)
    };
    Range { low: at(0.1), middle: at(0.5), high: at(0.9) }
}

/// A draw is looked at for this many times the expected rest, at least so long, s, and at the most so long, s.
const LOOKED: f64 = 1.35;
const LEAST_AHEAD_S: f64 = 3600.0;
const MOST_AHEAD_S: f64 = 3.0 * 86_400.0;
/// One that has not met its target then is looked at for longer, so often and by this factor.
const FARTHER: f64 = 1.8;
const LOOKS: usize = 4;

/// What is ahead of every draw.
pub(crate) struct Forecast {
    pub sweeps: Vec<Option<Sweep>>,
    /// That of the mode.
    pub nominal: Sweep,
    /// Weight and end of every draw, s; now at the earliest, infinite where it is not met.
    pub ends: Vec<(f64, f64)>,
    pub end: EndForecast,
}

impl Forecast {
    pub fn new(
        q: &Question<'_, '_>,
        mode: &Mode,
        ensemble: &Ensemble,
        setup: &Setup,
        progress: &(dyn Fn(f64) -> bool + Sync),
    ) -> Result<Self, FollowError> {
        let now_s = q.track.now_s;
        let middle = member_at(q, mode.mean.as_slice(), &|| progress(0.0))?;
        let rest_s = rest_to_target(q, &middle, setup, &mut |_| progress(0.0))?;
        let ahead_s = (LOOKED * rest_s).max(LEAST_AHEAD_S);
        let (nominal, sweeps) = rayon::join(
            || sweep_to_end(q, &middle, setup, ahead_s, progress),
            || sweep_all(q, ensemble, setup, ahead_s, progress),
        );
        let (nominal, sweeps) = (nominal.map_err(FollowError::of)?, sweeps?);
        let ends: Vec<(f64, f64)> = ensemble
            .members
            .iter()
            .zip(&sweeps)
            .map(|(m, s)| (m.weight, s.as_ref().and_then(|s| end_of(s, setup)).unwrap_or(f64::INFINITY)))
            .collect();
        let share =
            |f: &dyn Fn(f64) -> bool| ends.iter().filter(|e| f(e.1)).map(|e| e.0).fold(0.0, |a, b| a + b);
        let (met_already, unreached) = (share(&|e| e <= now_s), share(&|e| e.is_infinite()));
        let ends: Vec<(f64, f64)> = ends.iter().map(|e| (e.0, e.1.max(now_s))).collect();
        let power_off_s = range(&ends);
        let known = power_off_s.middle.is_finite();
        let unloaded_s = if known { setup.unloaded_s(power_off_s.middle) } else { f64::INFINITY };
        let end = EndForecast { power_off_s, unloaded_s, met_already, unreached };
        Ok(Self { sweeps, nominal, ends, end })
    }
}

/// Power off at which the target is met at unloading, s; where it never is, with the power on.
fn end_of(sweep: &Sweep, setup: &Setup) -> Option<f64> {
    let target = setup.target;
    let at_unloading = sweep.at_unloading(target.piece).first_at_or_below(target.moisture_dry_basis);
    at_unloading.or_else(|| sweep.at_power_off(target.piece).first_at_or_below(target.moisture_dry_basis))
}

/// The sweep of a draw to past its end.
fn sweep_to_end(
    q: &Question<'_, '_>,
    member: &Member,
    setup: &Setup,
    ahead_s: f64,
    progress: &(dyn Fn(f64) -> bool + Sync),
) -> Result<Sweep, SimulateError> {
    let mut ahead_s = ahead_s;
    let mut look = 1;
    loop {
        let until_s = q.track.now_s + ahead_s.min(MOST_AHEAD_S);
        let ahead = remaining(q, member, setup, until_s);
        let sweep = sweep_ahead(q, member, &ahead, &mut |_| progress(0.5))?;
        if look >= LOOKS || ahead_s >= MOST_AHEAD_S || end_of(&sweep, setup).is_some() {
            return Ok(sweep);
        }
        ahead_s *= FARTHER;
        look += 1;
    }
}

pub(crate) fn remaining<'a>(
    q: &Question<'_, '_>,
    member: &Member,
    setup: &'a Setup,
    until_s: f64,
) -> Ahead<'a> {
    let mut stages = q.track.remaining(&member.standing, q.track.now_s);
    free_last(&mut stages);
    Ahead { setup, until_s, stages, interruptions: Vec::new() }
}

pub(crate) fn free_last(stages: &mut [fallrate_simulate::StageInput]) {
    if let Some(last) = stages.last_mut() {
        last.ends.clear();
        last.at_most_s = None;
    }
}

/// A draw walked to now.
pub(crate) fn member_at(
    q: &Question<'_, '_>,
    z: &[f64],
    progress: &(dyn Fn() -> bool + Sync),
) -> Result<Member, FollowError> {
    let past = grid(0.0, q.track.now_s, 16);
    let (standing, _) =
        walk(q.track, z, q.readings, &past, &q.fineness, &mut |_| progress()).map_err(FollowError::of)?;
    Ok(Member { z: z.to_vec(), standing, weight: 1.0 })
}

/// Time from now until the batch at the mode meets the target with the power on, s; long where it never does.
fn rest_to_target(
    q: &Question<'_, '_>,
    middle: &Member,
    setup: &Setup,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<f64, FollowError> {
    let batch = followed(q.track, &middle.z, &q.fineness);
    let mut stages = q.track.remaining(&middle.standing, q.track.now_s);
    if let Some(last) = stages.last_mut() {
        last.ends = vec![EndCondition::Moisture {
            piece: setup.target.piece,
            dry_basis: setup.target.moisture_dry_basis,
        }];
        last.at_most_s = None;
    }
    let options = Options {
        relative_tolerance: q.fineness.relative_tolerance,
        sample_every_s: None,
        longest_stage_s: MOST_AHEAD_S,
        enforce_balances: false,
        ..Options::default()
    };
    match run_from(&batch, &middle.standing.state, &stages, &options, progress) {
        Ok(run) => Ok(run.end.elapsed_s - q.track.now_s),
        Err(SimulateError::NeverEnds { .. }) => Ok(0.25 * MOST_AHEAD_S),
        Err(e) => Err(FollowError::of(e)),
    }
}

fn sweep_all(
    q: &Question<'_, '_>,
    ensemble: &Ensemble,
    setup: &Setup,
    ahead_s: f64,
    progress: &(dyn Fn(f64) -> bool + Sync),
) -> Result<Vec<Option<Sweep>>, FollowError> {
    let sweeps: Vec<Result<Sweep, SimulateError>> =
        ensemble.members.par_iter().map(|m| sweep_to_end(q, m, setup, ahead_s, progress)).collect();
    if sweeps.iter().any(|s| matches!(s, Err(SimulateError::Cancelled { .. }))) {
        return Err(FollowError::Cancelled);
    }
    Ok(sweeps.into_iter().map(Result::ok).collect())
}
