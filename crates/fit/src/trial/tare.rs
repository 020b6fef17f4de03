//! Trays whose weights a constant offset explains far better than none: a wrong tare, or one that was not taken off.

use nalgebra::DMatrix;

use crate::linear::{gram, inverse};
use crate::stats::f_beyond;
use crate::trial::fit::{LEAST_INFORMATION, LEAST_OF_TRAY, Setting, told};
use crate::trial::objective::{Objective, TrayIndex};
use crate::{Estimate, FitError};

/// A tare error is called one where chance makes as large a gain once in so many fits.
const CHANCE: f64 = 1e-3;
/// And where it is larger than this many errors of a weighing.
const SIZE: f64 = 3.0;
/// Rounds.
const ROUNDS: usize = 8;

/// An offset with its error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct FittedTare {
    pub tray: TrayIndex,
    pub offset_kg: f64,
    pub error_kg: f64,
}

/// Frees the tare of the tray that gains most by it, as long as the gain is beyond chance, then holds those again that turn
/// out to be nothing: a wrong tare throws suspicion on its neighbours. The search begins anew each time.
pub(crate) fn fit_tares(
    setting: &mut Setting<'_>,
    found: &mut Estimate,
    starts: &[Vec<f64>],
) -> Result<(), FitError> {
    for _ in 0..ROUNDS {
        let Some(tray) = worst_tare(setting, &found.values())? else { break };
        setting.objective.tares.push(tray);
        setting.objective.tares.sort_unstable();
        *found = setting.descend(starts.to_vec())?;
    }
    for _ in 0..setting.objective.tares.len() {
        let degrees = degrees(setting, &setting.slopes(&found.values())?);
        let real = |t: &FittedTare| {
            beyond(setting, (t.offset_kg / t.error_kg).powi(2), degrees)
                && large(setting, t.tray, t.offset_kg)
        };
        let doubtful = fitted_tares(setting, &found.values())?.into_iter().filter(|t| !real(t));
        let ratio = |t: &FittedTare| (t.offset_kg / t.error_kg).abs();
        let Some(least) = doubtful.min_by(|a, b| ratio(a).total_cmp(&ratio(b))) else { break };
        setting.objective.tares.retain(|t| *t != least.tray);
        *found = setting.descend(starts.to_vec())?;
    }
    Ok(())
}

/// Whether a gain of the sum of squares, over its variance, is beyond chance for one of all trays.
fn beyond(setting: &Setting<'_>, gain: f64, degrees: f64) -> bool {
    #[allow(clippy::cast_precision_loss)]
    let trays = setting.tray_count() as f64;
    f_beyond(gain, 1.0, degrees.max(1.0)) * trays < CHANCE
}

fn large(setting: &Setting<'_>, tray: TrayIndex, offset_kg: f64) -> bool {
    offset_kg.abs() > SIZE * setting.models.trials[tray.0].reviewed.trial.scale_error_kg
}

#[allow(clippy::cast_precision_loss)]
fn degrees(setting: &Setting<'_>, columns: &[Vec<f64>]) -> f64 {
    let used = setting.tray_count() + setting.objective.tares.len() + told(setting, columns);
    setting.data_count() as f64 - used as f64 - 1.0
}

/// The tray whose weights a constant offset explains best, where that is beyond chance.
fn worst_tare(setting: &Setting<'_>, values: &[f64]) -> Result<Option<TrayIndex>, FitError> {
    let rows = setting.rows(values)?;
    let columns = setting.slopes(values)?;
    let Some(covariance) = inverse(&gram(&columns), LEAST_INFORMATION) else { return Ok(None) };
    let sum: f64 = rows.iter().map(|r| r * r).sum();
    let degrees = degrees(setting, &columns);
    if degrees < 1.0 {
        return Ok(None);
    }
    let mut best: Option<(TrayIndex, f64)> = None;
    for (tray, column) in tare_columns(setting, values)? {
        let trial = &setting.models.trials[tray.0].reviewed.trial;
        if setting.objective.tares.contains(&tray) || trial.trays[tray.1].weighings.len() < LEAST_OF_TRAY {
            continue;
        }
        let dot = |a: &[f64]| a.iter().zip(&column).map(|(x, y)| x * y).sum::<f64>();
        let by: Vec<f64> = columns.iter().map(|c| dot(c)).collect();
        let by = DMatrix::from_column_slice(by.len(), 1, &by);
        let left = dot(&column) - (by.transpose() * &covariance * &by)[(0, 0)];
        if !(left > 1e-9 * dot(&column)) {
            continue;
        }
        let gain = dot(&rows).powi(2) / left;
        let offset_kg = dot(&rows) / left * trial.scale_error_kg;
        let variance = ((sum - gain) / degrees).max(1.0);
        let found = beyond(setting, gain / variance, degrees) && large(setting, tray, offset_kg);
        if found && best.as_ref().is_none_or(|b| gain > b.1) {
            best = Some((tray, gain));
        }
    }
    Ok(best.map(|b| b.0))
}

/// What an offset of 1 error of a weighing on one tray would add to the rows, with the load projected out.
fn tare_columns(setting: &Setting<'_>, values: &[f64]) -> Result<Vec<(TrayIndex, Vec<f64>)>, FitError> {
    let length = setting.rows(values)?.len();
    let mut list = Vec::new();
    let mut from = 0;
    for (index, model) in setting.models.trials.iter().enumerate() {
        let predicted = setting.models.predicted(index, values)?;
        for (k, ratios) in predicted.trays.iter().enumerate() {
            let mut column = vec![0.0; length];
            let (sum, squares) = ratios.iter().fold((0.0, 0.0), |(s, q), r| (s + r, q + r * r));
            for (c, r) in column[from..].iter_mut().zip(ratios) {
                *c = (1.0 - r * sum / squares) / setting.objective.noise;
            }
            from += ratios.len();
            list.push(((index, k), column));
        }
        from += model.reviewed.trial.cores.iter().map(|c| c.readings.len()).sum::<usize>();
    }
    Ok(list)
}

/// The offsets that are fitted, with their errors beside all unknowns and each other.
pub(crate) fn fitted_tares(setting: &Setting<'_>, values: &[f64]) -> Result<Vec<FittedTare>, FitError> {
    let tares = &setting.objective.tares;
    let mut models = setting.models.alike();
    let mut offsets = Vec::new();
    for &(index, k) in tares {
        let offset_kg = setting.objective.loads(&setting.models, index, values)?[k].offset_kg;
        // Slopes with the loads alone projected out need weights without the offset.
        models.trials[index].reviewed.trial.trays[k].tare_kg += offset_kg;
        offsets.push(offset_kg);
    }
    if tares.is_empty() {
        return Ok(Vec::new());
    }
    let plain = Setting {
        models,
        beliefs: setting.beliefs.clone(),
        parameters: setting.parameters.clone(),
        objective: Objective { tares: Vec::new(), ..setting.objective.clone() },
    };
    let mut columns = plain.slopes(values)?;
    let unknowns = columns.len();
    let own = tare_columns(&plain, values)?;
    columns.extend(tares.iter().filter_map(|t| own.iter().find(|(k, _)| k == t).map(|(_, c)| c.clone())));
    let covariance = inverse(&gram(&columns), LEAST_INFORMATION);
    let fitted = |(n, (&tray, offset_kg)): (usize, (&TrayIndex, f64))| {
        let error = covariance.as_ref().map_or(f64::INFINITY, |c| c[(unknowns + n, unknowns + n)].sqrt());
        let error_kg = error * setting.models.trials[tray.0].reviewed.trial.scale_error_kg;
        FittedTare { tray, offset_kg, error_kg }
    };
    Ok(tares.iter().zip(offsets).enumerate().map(fitted).collect())
}
