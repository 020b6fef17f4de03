//! The chains.

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use crate::posterior::PosteriorFault;
use crate::posterior::diagnose::{effective_sample_size, rank_r_hat, tail_sample_size};
use crate::posterior::emulate::{Emulator, WALK, inside};
use crate::posterior::options::{
    Density, DrawnParameter, Posterior, PosteriorOptions, PosteriorProgress, Proposal,
};
use crate::posterior::step::{Kind, Shape};
use crate::stats::Draws;
use crate::{FitError, Model};

/// Draws of a chain between two looks at the shape (warm-up) or at the diagnostics.
const ROUND: usize = 50;
/// Rounds of the warm-up: at least and at most.
const WARM_UP: (usize, usize) = (4, 24);
/// The warm-up ends where the shape's standard deviations move by less than this.
const SETTLED: f64 = 0.15;
/// Fewest draws of a chain that are judged.
const LEAST_DRAWS: usize = 200;

/// A chain under way.
#[derive(Clone, Debug)]
struct Chain {
    at: DVector<f64>,
    log_density: f64,
    draws: Draws,
    points: Vec<DVector<f64>>,
    tried: [usize; 2],
    taken: [usize; 2],
}

/// Samples a posterior from Laplace's approximation of it.
///
/// Half of the steps are drawn about the centre by Student's t and taken by the ratio of densities (independence sampler),
/// half near the chain's place (random walk). Centre and shape are learned from all chains in a warm-up and then kept, so that
/// the draws afterwards have the posterior as their distribution. Rounds of all chains run in parallel, each chain on its own
/// stream of draws: the same input gives the same draws on any number of threads.
///
/// ```
/// use fallrate_fit::posterior::{PosteriorOptions, Proposal, sample};
/// // A normal distribution, begun with a bad guess of its shape.
/// let density = |x: &[f64]| Ok(-0.5 * (x[0] - 3.0).powi(2) / 4.0);
/// let proposal = Proposal { centre: vec![2.0], covariance: vec![vec![1.0]] };
/// let found = sample(&density, &proposal, &PosteriorOptions::default())?;
/// assert!(found.converged && (found.parameters[0].mean - 3.0).abs() < 0.4);
/// # Ok::<(), fallrate_fit::FitError>(())
/// ```
///
/// # Errors
/// [`PosteriorFault`] for impossible options or a proposal without shape; [`FitError::Cancelled`].
pub fn sample(
    density: &Density<'_>,
    proposal: &Proposal,
    options: &PosteriorOptions<'_>,
) -> Result<Posterior, FitError> {
    check(options)?;
    let d = proposal.centre.len();
    let rows = &proposal.covariance;
    if rows.len() != d || rows.iter().any(|r| r.len() != d) || d == 0 {
        return Err(PosteriorFault::NoShape { dimensions: d }.into());
    }
    let mut shape = Shape::new(&proposal.centre, &DMatrix::from_fn(d, d, |i, j| rows[i][j]))?;
    let mut chains = begin(density, &shape, &proposal.centre, (options.chains, options.seed))?;
    let mut last: Option<Vec<f64>> = None;
    for round in 0..WARM_UP.1 {
        run_round(&|c| step(density, &shape, c), &mut chains)?;
        tell(WARMING, options)?;
        let Some((next, deviations)) = learned(&chains, d) else { continue };
        let still =
            |before: &Vec<f64>| before.iter().zip(&deviations).all(|(a, b)| (a / b).ln().abs() < SETTLED);
        let settled = last.as_ref().is_some_and(still);
        shape = next;
        last = Some(deviations);
        if settled && round + 1 >= WARM_UP.0 {
            break;
        }
    }
    let evaluations: usize = chains.iter().map(|c| c.points.len()).sum();
    chains.iter_mut().for_each(|c| {
        c.points.clear();
        c.tried = [0; 2];
        c.taken = [0; 2];
    });
    draw(&|c| step(density, &shape, c), chains, options, evaluations)
}

/// Samples the posterior of residuals with normal errors, `exp(-|rows|^2/2)` within bounds and flat beside, where every
/// evaluation is dear: with an emulator of the residuals, by delayed acceptance. `rows` are the residuals over their errors,
/// those of what is known before among them.
///
/// # Errors
/// As [`sample`]; [`FitError::NoDecomposition`] where the runs do not tell the emulator.
pub fn sample_residuals(
    rows: &Model<'_>,
    bounds: &[(f64, f64)],
    proposal: &Proposal,
    options: &PosteriorOptions<'_>,
) -> Result<Posterior, FitError> {
    check(options)?;
    let d = proposal.centre.len();
    let c = &proposal.covariance;
    if c.len() != d || c.iter().any(|r| r.len() != d) || d == 0 || bounds.len() != d {
        return Err(PosteriorFault::NoShape { dimensions: d }.into());
    }
    let covariance = DMatrix::from_fn(d, d, |i, j| c[i][j]);
    let ways = (options.chains, options.seed);
    // Building tells nobody: the model's own runs do.
    let emulator = Emulator::build(rows, bounds, &proposal.centre, &covariance, ways, &|| Ok(()))?;
    tell(WARMING, options)?;
    let truth = |at: &DVector<f64>| -> Result<f64, FitError> {
        if !inside(bounds, at) {
            return Ok(f64::NEG_INFINITY);
        }
        evaluate(&|p| Ok(-0.5 * rows(p)?.iter().map(|r| r * r).sum::<f64>()), at)
    };
    let begin = |(k, at): (usize, &DVector<f64>)| -> Result<Chain, FitError> {
        let draws = Draws::new(ways.1, k as u64);
        let (at, log_density) = (at.clone(), truth(at)?);
        Ok(Chain { at, log_density, draws, points: Vec::new(), tried: [0; 2], taken: [0; 2] })
    };
    let chains: Vec<Chain> = emulator.starts.par_iter().enumerate().map(begin).collect::<Result<_, _>>()?;
    let step = |chain: &mut Chain| {
        let next = emulator.walk(&chain.at, WALK, &mut chain.draws);
        let value = truth(&next)?;
        // What the emulator said of the two ends is taken back.
        let correction = emulator.log_density(&chain.at) - emulator.log_density(&next);
        take(chain, next, value, correction, 0);
        Ok(())
    };
    draw(&step, chains, options, emulator.runs)
}

/// Nothing to tell yet.
const WARMING: PosteriorProgress =
    PosteriorProgress { warming_up: true, draws: 0, effective_sample_size: 0.0, r_hat: f64::INFINITY };

fn tell(progress: PosteriorProgress, options: &PosteriorOptions<'_>) -> Result<(), FitError> {
    match options.observer {
        Some(o) if !o(progress) => Err(FitError::Cancelled),
        _ => Ok(()),
    }
}

/// Rounds until the draws suffice.
fn draw(
    step: &Step<'_>,
    mut chains: Vec<Chain>,
    options: &PosteriorOptions<'_>,
    mut evaluations: usize,
) -> Result<Posterior, FitError> {
    let d = chains.first().map_or(0, |c| c.at.len());
    loop {
        run_round(step, &mut chains)?;
        evaluations += chains.len() * ROUND;
        let draws = chains.first().map_or(0, |c| c.points.len());
        // Looked at in steps that grow, so that looking costs little.
        let look = draws >= LEAST_DRAWS && (draws / ROUND).is_multiple_of((draws / 1000).max(1));
        let done = draws >= options.most_draws;
        if !look && !done {
            continue;
        }
        let parameters: Vec<DrawnParameter> = (0..d).into_par_iter().map(|k| drawn(&chains, k)).collect();
        let size = parameters.iter().map(|p| p.effective_sample_size).fold(f64::INFINITY, f64::min);
        let r_hat = parameters.iter().map(|p| p.r_hat).fold(0.0, f64::max);
        tell(PosteriorProgress { warming_up: false, draws, effective_sample_size: size, r_hat }, options)?;
        let converged = size >= options.effective_sample_size && r_hat < options.r_hat;
        if converged || done {
            return Ok(gathered(chains, parameters, converged, evaluations));
        }
    }
}

fn check(options: &PosteriorOptions<'_>) -> Result<(), PosteriorFault> {
    #[allow(clippy::cast_precision_loss)]
    let rows = [
        ("chains", options.chains as f64, 2.0, 16.0, "2 to 16"),
        ("effective sample size", options.effective_sample_size, 50.0, 1e5, "50 to 1e5"),
        ("R-hat", options.r_hat, 1.001, 1.2, "1.001 to 1.2"),
        ("draws of a chain", options.most_draws as f64, 200.0, 1e6, "200 to 1e6"),
    ];
    for (what, value, low, high, allowed) in rows {
        if !(value >= low && value <= high) {
            return Err(PosteriorFault::BadOption { what, value, allowed });
        }
    }
    Ok(())
}

/// Density with errors as 0, but for a cancel.
fn evaluate(density: &Density<'_>, at: &DVector<f64>) -> Result<f64, FitError> {
    match density(at.as_slice()) {
        Err(FitError::Cancelled) => Err(FitError::Cancelled),
        Ok(v) if !v.is_nan() => Ok(v),
        _ => Ok(f64::NEG_INFINITY),
    }
}

/// Chains begin apart, where the density is above 0.
fn begin(
    density: &Density<'_>,
    shape: &Shape,
    centre: &[f64],
    (count, seed): (usize, u64),
) -> Result<Vec<Chain>, FitError> {
    /// Tries for a beginning of a chain.
    const TRIES: usize = 40;
    let middle = DVector::from_column_slice(centre);
    let at_centre = evaluate(density, &middle)?;
    if at_centre == f64::NEG_INFINITY {
        return Err(PosteriorFault::NoDensityAtCentre.into());
    }
    let one = |k: usize| -> Result<Chain, FitError> {
        let mut draws = Draws::new(seed, k as u64);
        let (mut at, mut log_density) = (middle.clone(), at_centre);
        for _ in 0..TRIES {
            let next = shape.about(&mut draws);
            let value = evaluate(density, &next)?;
            if value > f64::NEG_INFINITY {
                (at, log_density) = (next, value);
                break;
            }
        }
        Ok(Chain { at, log_density, draws, points: Vec::new(), tried: [0; 2], taken: [0; 2] })
    };
    (0..count).into_par_iter().map(one).collect()
}

/// One step of a chain.
type Step<'a> = dyn Fn(&mut Chain) -> Result<(), FitError> + Sync + 'a;

fn run_round(step: &Step<'_>, chains: &mut [Chain]) -> Result<(), FitError> {
    chains.par_iter_mut().try_for_each(|chain| (0..ROUND).try_for_each(|_| step(chain)))
}

fn step(density: &Density<'_>, shape: &Shape, chain: &mut Chain) -> Result<(), FitError> {
    let kind = if chain.draws.below(2) == 0 { Kind::About } else { Kind::Local };
    let (next, correction) = match kind {
        Kind::About => {
            let next = shape.about(&mut chain.draws);
            let correction = shape.log_about(&chain.at) - shape.log_about(&next);
            (next, correction)
        }
        Kind::Local => (shape.local(&chain.at, &mut chain.draws), 0.0),
    };
    let value = evaluate(density, &next)?;
    take(chain, next, value, correction, usize::from(kind == Kind::Local));
    Ok(())
}

/// Takes a step or stays, and keeps the point.
fn take(chain: &mut Chain, next: DVector<f64>, value: f64, correction: f64, kind: usize) {
    chain.tried[kind] += 1;
    // Drawn in any case, so that the stream does not depend on the outcome.
    let lot = chain.draws.even().ln();
    if lot < value - chain.log_density + correction {
        chain.at = next;
        chain.log_density = value;
        chain.taken[kind] += 1;
    }
    chain.points.push(chain.at.clone());
}

/// Shape of the later half of all chains' points, with its standard deviations; none where they do not span the space.
fn learned(chains: &[Chain], d: usize) -> Option<(Shape, Vec<f64>)> {
    let late: Vec<&DVector<f64>> = chains.iter().flat_map(|c| &c.points[c.points.len() / 2..]).collect();
    #[allow(clippy::cast_precision_loss)]
    let n = late.len() as f64;
    if n < 10.0 * (d as f64 + 1.0) {
        return None;
    }
    let centre: DVector<f64> = late.iter().fold(DVector::zeros(d), |s, p| s + *p) / n;
    let mut covariance = DMatrix::zeros(d, d);
    for p in &late {
        let away = *p - &centre;
        covariance += &away * away.transpose();
    }
    covariance /= n - 1.0;
    // A little of the diagonal keeps a shape of few points from being flat.
    for i in 0..d {
        covariance[(i, i)] *= 1.0 + 1e-6;
    }
    let deviations: Vec<f64> = (0..d).map(|i| covariance[(i, i)].sqrt()).collect();
    if deviations.iter().any(|s| !(*s > 0.0)) {
        return None;
    }
    Some((Shape::new(centre.as_slice(), &covariance).ok()?, deviations))
}

fn drawn(chains: &[Chain], k: usize) -> DrawnParameter {
    let own: Vec<Vec<f64>> = chains.iter().map(|c| c.points.iter().map(|p| p[k]).collect()).collect();
    let mut sorted: Vec<f64> = own.iter().flatten().copied().collect();
    sorted.sort_by(f64::total_cmp);
    #[allow(clippy::cast_precision_loss)]
    let n = sorted.len() as f64;
    let mean = sorted.iter().sum::<f64>() / n;
    let variance = sorted.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    DrawnParameter {
        mean,
        deviation: variance.sqrt(),
        r_hat: rank_r_hat(&own),
        effective_sample_size: effective_sample_size(&own).min(tail_sample_size(&own)),
        sorted,
    }
}

fn gathered(
    chains: Vec<Chain>,
    parameters: Vec<DrawnParameter>,
    converged: bool,
    evaluations: usize,
) -> Posterior {
    let share = |k: usize| {
        let (taken, tried) = chains.iter().fold((0, 0), |(a, b), c| (a + c.taken[k], b + c.tried[k]));
        #[allow(clippy::cast_precision_loss)]
        let share = taken as f64 / tried.max(1) as f64;
        share
    };
    Posterior {
        taken: (share(0), share(1)),
        chains: chains
            .into_iter()
            .map(|c| c.points.into_iter().map(|p| p.as_slice().to_vec()).collect())
            .collect(),
        parameters,
        converged,
        evaluations,
    }
}
