//! Which trays to weigh when, and which further trial to make.

use fallrate_foods::Product;

use crate::design::{DesignProblem, choose, expected_errors};
use crate::trial::fit::{Setting, quiet_setting};
use crate::trial::further::{Further, all_added, marginal};
use crate::trial::{ReviewedTrial, Trial, TrialFault, TrialFit, TrialFitOptions, Unknown, Weighing};
use crate::{FitError, linear};

/// The load of a tray is known to this before it is weighed (logarithm).
const LOAD_DEVIATION: f64 = 0.3;
/// Candidate times, at most.
const MOST_TIMES: usize = 400;

/// What may be weighed.
#[derive(Clone, Debug, PartialEq)]
pub struct WeighingChoice {
    /// Weighings after the start that can be made, all trays together, 1 to 200.
    pub count: usize,
    /// Last of them, s.
    pub until_s: f64,
    /// Times that come into question are this far apart, s; also the least time between two weighings of a tray.
    pub every_s: f64,
    /// Load of a tray, kg.
    pub load_kg: f64,
}

/// A weighing to make.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedWeighing {
    /// Tray.
    pub tray: String,
    /// s from the start.
    pub elapsed_s: f64,
    /// What it adds to the logarithm of the information about the product, beyond those more worth.
    pub gain: f64,
    /// Weight of the product expected then, kg.
    pub expected_kg: f64,
}

/// An unknown's error before and after, in its fitted coordinate (of the logarithm for factors).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExpectedError {
    /// Unknown.
    pub unknown: Unknown,
    /// As believed (or as told by what was measured so far).
    pub before: f64,
    /// Afterwards.
    pub after: f64,
}

/// What to weigh when.
#[derive(Clone, Debug, PartialEq)]
pub struct WeighingPlan {
    /// In the order of time.
    pub weighings: Vec<PlannedWeighing>,
    /// What they would tell.
    pub errors: Vec<ExpectedError>,
    /// What as many weighings at even distances would tell.
    pub evenly: Vec<ExpectedError>,
}

/// Plans the weighings of a trial for the most information about some unknowns of the product. Every tray is weighed fresh at
/// 0 s in any case; weighings that the trial lists already are kept.
///
/// # Errors
/// [`FitError::OutOfRange`] for an impossible choice, [`TrialFault`] for an impossible trial or no tray,
/// [`FitError::Simulation`] where the drying model has no result.
pub fn plan_weighings(
    product: &Product,
    trial: &Trial,
    options: &TrialFitOptions<'_>,
    choice: &WeighingChoice,
) -> Result<WeighingPlan, FitError> {
    let times = times(choice)?;
    if trial.trays.is_empty() {
        let (trial, needed) = (trial.name.clone(), 1);
        return Err(TrialFault::TooFewWeighings { trial, found: 0, trays: 0, needed }.into());
    }
    let mut planned = trial.clone();
    let mut fixed = Vec::new();
    let mut candidates: Vec<(usize, f64)> = Vec::new();
    for (k, tray) in planned.trays.iter_mut().enumerate() {
        let given: Vec<f64> = tray.weighings.iter().map(|w| w.elapsed_s).collect();
        let mut all: Vec<f64> = times.clone();
        all.extend(&given);
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| (*a - *b).abs() < 1.0);
        for &t in &all {
            if t == 0.0 || given.iter().any(|g| (g - t).abs() < 1.0) {
                fixed.push(candidates.len());
            }
            candidates.push((k, t));
        }
        tray.weighings = all.iter().map(|&elapsed_s| Weighing { elapsed_s, gross_kg: 1.0 }).collect();
    }
    planned.cores.clear();
    let reviewed = ReviewedTrial { trial: planned, used_to_s: choice.until_s, findings: Vec::new() };
    let setting = quiet_setting(product, vec![reviewed], options);
    let (problem, ratios) = problem(&setting, trial, choice, &candidates, fixed)?;
    let apart = |i: usize, taken: &[usize]| {
        let near = |j: &usize| {
            candidates[*j].0 == candidates[i].0
                && (candidates[*j].1 - candidates[i].1).abs() < 0.999 * choice.every_s
        };
        !taken.iter().any(near)
    };
    let design = choose(&problem, choice.count.min(candidates.len()), apart)?;
    let mut weighings: Vec<PlannedWeighing> = design
        .chosen
        .iter()
        .map(|&(i, gain)| PlannedWeighing {
            tray: trial.trays[candidates[i].0].name.clone(),
            elapsed_s: candidates[i].1,
            gain,
            expected_kg: choice.load_kg * ratios[i],
        })
        .collect();
    weighings.sort_by(|a, b| a.elapsed_s.total_cmp(&b.elapsed_s).then_with(|| a.tray.cmp(&b.tray)));
    let even = evenly(&candidates, trial.trays.len(), choice);
    let report = |after: &[f64]| {
        let rows = setting.beliefs[..problem.interest].iter().zip(&problem.deviations).zip(after);
        rows.map(|((b, &before), &after)| ExpectedError { unknown: b.unknown, before, after }).collect()
    };
    Ok(WeighingPlan {
        weighings,
        errors: report(&design.after),
        evenly: report(&expected_errors(&problem, &even)?),
    })
}

fn times(choice: &WeighingChoice) -> Result<Vec<f64>, FitError> {
    let refuse = |what: &str, value: f64, unit: &str, low: f64, high: f64| FitError::OutOfRange {
        what: what.to_owned(),
        value,
        unit: unit.to_owned(),
        low,
        high,
    };
    #[allow(clippy::cast_precision_loss)]
    if !(1..=200).contains(&choice.count) {
        return Err(refuse("weighings", choice.count as f64, "-", 1.0, 200.0));
    }
    if !(choice.until_s > 0.0 && choice.until_s < 1e7) {
        return Err(refuse("time of the last weighing", choice.until_s, "s", 0.0, 1e7));
    }
    if !(choice.load_kg > 0.0 && choice.load_kg < 50.0) {
        return Err(refuse("load of a tray", choice.load_kg, "kg", 0.0, 50.0));
    }
    #[allow(clippy::cast_precision_loss)]
    let least = choice.until_s / MOST_TIMES as f64;
    if !(choice.every_s >= least && choice.every_s <= choice.until_s) {
        return Err(refuse("time between weighings", choice.every_s, "s", least, choice.until_s));
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let steps = (choice.until_s / choice.every_s).floor() as u32;
    Ok((0..=steps).map(|i| f64::from(i) * choice.every_s).collect())
}

/// Slopes of every candidate by the unknowns of the product, those of the trial, and the loads of the trays.
fn problem(
    setting: &Setting<'_>,
    trial: &Trial,
    choice: &WeighingChoice,
    candidates: &[(usize, f64)],
    fixed: Vec<usize>,
) -> Result<(DesignProblem, Vec<f64>), FitError> {
    let values: Vec<f64> = setting.beliefs.iter().map(|b| b.value).collect();
    let flat = |v: &[f64]| -> Result<Vec<f64>, FitError> {
        Ok(setting.models.predicted(0, v)?.trays.iter().flatten().copied().collect())
    };
    let ratios = flat(&values)?;
    let columns = setting.slopes_of(&values, &flat)?;
    let weight = choice.load_kg / trial.scale_error_kg;
    let trays = trial.trays.len();
    let row = |(i, (tray, _)): (usize, &(usize, f64))| {
        let own = columns.iter().map(|c| weight * c[i]);
        let loads = (0..trays).map(|k| if k == *tray { weight * ratios[i] } else { 0.0 });
        own.chain(loads).collect()
    };
    let interest = setting.beliefs.iter().filter(|b| b.unknown.trial().is_none()).count();
    let deviations = setting.beliefs.iter().map(|b| b.deviation);
    let problem = DesignProblem {
        candidates: candidates.iter().enumerate().map(row).collect(),
        deviations: deviations.chain((0..trays).map(|_| LOAD_DEVIATION)).collect(),
        interest,
        fixed,
    };
    Ok((problem, ratios))
}

/// As many weighings at even distances, all trays in turn.
fn evenly(candidates: &[(usize, f64)], trays: usize, choice: &WeighingChoice) -> Vec<usize> {
    let per_tray = choice.count.div_ceil(trays);
    let mut list = Vec::new();
    for n in 0..choice.count {
        let (tray, place) = (n % trays, n / trays + 1);
        #[allow(clippy::cast_precision_loss)]
        let goal = choice.until_s * place as f64 / per_tray as f64;
        let off = |i: usize| (candidates[i].1 - goal).abs();
        let open = |i: &usize| candidates[*i].0 == tray && candidates[*i].1 > 0.0 && !list.contains(i);
        let nearest = (0..candidates.len()).filter(open).min_by(|&a, &b| off(a).total_cmp(&off(b)));
        list.extend(nearest);
    }
    list
}

/// What something more would add to what trials have told.
#[derive(Clone, Debug, PartialEq)]
pub struct FurtherGain {
    /// What to do.
    pub further: Further,
    /// Errors of the product's unknowns before and after.
    pub errors: Vec<ExpectedError>,
    /// What it adds to the logarithm of the determinant of the information.
    pub gain: f64,
}

/// Ranks further trials and measurements by what they would add to fitted trials, best first. What is believed of the product
/// counts before and after, so that nothing is unknown without limit. What does not apply is left out.
///
/// # Errors
/// As [`crate::trial::fit_trials`].
pub fn rank_further(
    product: &Product,
    trials: &[Trial],
    options: &TrialFitOptions<'_>,
    fit: &TrialFit,
    list: &[Further],
) -> Result<Vec<FurtherGain>, FitError> {
    let reviewed =
        trials.iter().map(crate::trial::review_trial).collect::<Result<Vec<ReviewedTrial>, _>>()?;
    let mut setting = quiet_setting(product, reviewed, options);
    setting.objective.noise = fit.noise_factor;
    let n = setting.beliefs.len();
    if fit.unknowns.len() != n {
        let found = fit.unknowns.len();
        return Err(FitError::WrongLength { what: "unknowns of the fit", found, expected: n });
    }
    let values: Vec<f64> = fit.unknowns.iter().map(|u| u.value).collect();
    let own = options.unknowns.len();
    let whole = nalgebra::DMatrix::from_fn(n, n, |i, j| {
        let stated = i == j && i >= own;
        fit.information[i][j] + if stated { setting.beliefs[i].deviation.powi(-2) } else { 0.0 }
    });
    let failed = FitError::NoDecomposition { readings: n, parameters: n };
    let mut base = marginal(&whole, own).ok_or_else(|| failed.clone())?;
    for i in 0..own {
        base[(i, i)] += setting.beliefs[i].deviation.powi(-2);
    }
    let errors = |m: &nalgebra::DMatrix<f64>| {
        let c = linear::inverse(m, 1e-15)?;
        Some((0..own).map(|i| c[(i, i)].sqrt()).collect::<Vec<f64>>())
    };
    let before = errors(&base).ok_or(failed)?;
    let added = all_added(&setting, &values, own, &whole, list)?;
    let mut found: Vec<FurtherGain> = list
        .iter()
        .zip(added)
        .filter_map(|(further, more)| {
            let after_all = &base + more?;
            let after = errors(&after_all)?;
            let rows = setting.beliefs[..own].iter().zip(&before).zip(after);
            Some(FurtherGain {
                further: *further,
                errors: rows
                    .map(|((b, &before), after)| ExpectedError { unknown: b.unknown, before, after })
                    .collect(),
                gain: linear::log_determinant(&after_all) - linear::log_determinant(&base),
            })
        })
        .collect();
    found.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    Ok(found)
}
