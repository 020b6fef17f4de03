//! Further trials and measurements, and what they would add.

use nalgebra::DMatrix;
use rayon::prelude::*;

use crate::FitError;
use crate::linear::{gram, inverse};
use crate::trial::fit::Setting;
use crate::trial::objective::Objective;
use crate::trial::unknown::trial_beliefs;
use crate::trial::{Apparatus, ReviewedTrial, Trial, TrialAir, Unknown, Weighing};

/// A scaled eigenvalue of the information below this is none.
const LEAST_INFORMATION: f64 = 1e-9;
/// Weighings of a tray in a further trial.
const WEIGHINGS: u32 = 9;
/// A further trial ends where its first tray has dried to this share of the water of the reference's last weighing, or after
/// this many times its length.
const LONGEST: f64 = 4.0;
/// Errors of single measurements, in the fitted coordinates: raw moisture by oven (wet basis), mean size of 20 pieces by
/// caliper (share), exchange by wet cloths, water held by three moisture and water-activity pairs (shares; own judgement).
const OVEN: f64 = 0.004;
const CALIPER: f64 = 0.015;
const WET_CLOTH: f64 = 0.07;
const PAIRS: f64 = 0.05;

/// Something more to do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Further {
    /// The same trial once more, as long as the first.
    Repeat,
    /// A trial with pieces of another size: factor on that of the first.
    OtherSize {
        /// Factor.
        factor: f64,
    },
    /// A trial in warmer or colder air of the same humidity ratio, K.
    OtherTemperature {
        /// Difference, K.
        kelvin: f64,
    },
    /// A trial in other air speed: factor on the exchange, of known size.
    OtherExchange {
        /// Factor.
        factor: f64,
    },
    /// Dry a sample of a trial's raw lot in an oven.
    OvenTest {
        /// Trial, from 0.
        trial: usize,
    },
    /// Measure the size of a trial's pieces.
    MeasureSize {
        /// Trial, from 0.
        trial: usize,
    },
    /// Wet cloths on the trays: exchange without any product.
    WetCloth,
    /// Moisture and water activity of a few dried samples.
    WaterActivityPairs,
}

/// What is asked about when nothing else is.
pub const FURTHER: [Further; 8] = [
    Further::Repeat,
    Further::OtherSize { factor: 0.6 },
    Further::OtherSize { factor: 1.6 },
    Further::OtherTemperature { kelvin: -12.0 },
    Further::OtherTemperature { kelvin: 12.0 },
    Further::OtherExchange { factor: 2.0 },
    Further::WetCloth,
    Further::WaterActivityPairs,
];

/// Information about the unknowns of the product, those of the trials marginalised out. `whole` is that of the data with what
/// is stated of the trials; `product` how many unknowns of the product come first.
pub(crate) fn marginal(whole: &DMatrix<f64>, product: usize) -> Option<DMatrix<f64>> {
    let n = whole.nrows();
    let own = whole.view((0, 0), (product, product)).into_owned();
    if n == product {
        return Some(own);
    }
    let nuisance = whole.view((product, product), (n - product, n - product)).into_owned();
    let cross = whole.view((0, product), (product, n - product)).into_owned();
    let inner = inverse(&nuisance, LEAST_INFORMATION)?;
    Some(own - &cross * inner * cross.transpose())
}

/// The first trial with a change; none for what is no trial, or where the air cannot be changed.
pub(crate) fn changed(trial: &Trial, further: Further) -> Option<Trial> {
    let mut other = trial.clone();
    other.name = format!("{} (further)", trial.name);
    match further {
        Further::Repeat => {}
        Further::OtherSize { factor } => other.size_m *= factor,
        Further::OtherTemperature { kelvin } => warm(&mut other, kelvin)?,
        Further::OtherExchange { factor } => match &mut other.apparatus {
            Apparatus::Tunnel { heat_transfer_w_per_m2_k, .. } => *heat_transfer_w_per_m2_k *= factor,
            Apparatus::Cabinet { batch, .. } => batch.exchange.heat_transfer_w_per_m2_k *= factor,
        },
        _ => return None,
    }
    Some(other)
}

/// Other temperature at the same humidity ratio, or other set points.
fn warm(trial: &mut Trial, kelvin: f64) -> Option<()> {
    let shift = |t: &mut f64, rh: &mut f64| {
        let saturation = fallrate_air::saturation_pressure_pa;
        *rh = (*rh * saturation(*t) / saturation(*t + kelvin)).clamp(1e-3, 0.95);
        *t += kelvin;
    };
    match &mut trial.air {
        TrialAir::Held { temperature_c, relative_humidity } => shift(temperature_c, relative_humidity),
        TrialAir::Recorded(record) => {
            record.iter_mut().for_each(|r| shift(&mut r.temperature_c, &mut r.relative_humidity));
        }
        TrialAir::Computed => match &mut trial.apparatus {
            Apparatus::Tunnel { .. } => return None,
            Apparatus::Cabinet { stages, .. } => {
                stages.iter_mut().for_each(|s| s.set_point_c = s.set_point_c.map(|t| t + kelvin));
            }
        },
    }
    Some(())
}

/// Information about the unknowns of the product that something more would add.
pub(crate) fn added(
    setting: &Setting<'_>,
    values: &[f64],
    product: usize,
    whole: &DMatrix<f64>,
    further: Further,
) -> Result<Option<DMatrix<f64>>, FitError> {
    let single = |unknown: Unknown, error: f64| {
        let at = setting.beliefs.iter().position(|b| b.unknown == unknown)?;
        let mut more = whole.clone();
        more[(at, at)] += 1.0 / (error * error);
        Some(marginal(&more, product)? - marginal(whole, product)?)
    };
    match further {
        Further::OvenTest { trial } => Ok(single(Unknown::InitialMoisture { trial }, OVEN)),
        Further::MeasureSize { trial } => Ok(single(Unknown::Size { trial }, CALIPER)),
        Further::WetCloth => Ok(single(Unknown::Exchange, WET_CLOTH)),
        Further::WaterActivityPairs => Ok(single(Unknown::WaterHeld, PAIRS)),
        _ => {
            let Some(first) = setting.models.trials.first() else { return Ok(None) };
            match changed(&first.reviewed.trial, further) {
                Some(trial) => trial_information(setting, values, product, trial, first.reviewed.used_to_s),
                None => Ok(None),
            }
        }
    }
}

/// Marginal information of a trial to come, weighed evenly down to about the moisture that the first trial ended at.
fn trial_information(
    setting: &Setting<'_>,
    values: &[f64],
    product: usize,
    trial: Trial,
    reference_s: f64,
) -> Result<Option<DMatrix<f64>>, FitError> {
    let longest_s = LONGEST * reference_s;
    let own = further_setting(setting, product, trial, longest_s);
    let here: Vec<f64> =
        values[..product].iter().copied().chain(own.beliefs[product..].iter().map(|b| b.value)).collect();
    let goal = setting.models.curves(0, values)?;
    let end_ratio = |c: &crate::trial::model::TrialCurves| {
        let last = c.trays.first().and_then(|t| t.readings().last()).map_or(0.0, |r| r.moisture_dry_basis);
        (1.0 + last) / (1.0 + c.initial_dry_basis)
    };
    let ratio = end_ratio(&goal);
    let curves = own.models.curves(0, &here)?;
    let level = ratio * (1.0 + curves.initial_dry_basis) - 1.0;
    let duration = curves.trays.first().and_then(|t| t.elapsed_at(level).ok()).unwrap_or(longest_s);
    let mut planned = own.models.trials[0].reviewed.trial.clone();
    for (tray, curve) in planned.trays.iter_mut().zip(&curves.trays) {
        let load = tray.weighings.first().map_or(1.0, |w| w.gross_kg - tray.tare_kg);
        let weighing = |i: u32| {
            let elapsed_s = duration * f64::from(i) / f64::from(WEIGHINGS - 1);
            let ratio = (1.0 + curve.moisture_at(elapsed_s)) / (1.0 + curves.initial_dry_basis);
            Weighing { elapsed_s, gross_kg: tray.tare_kg + load * ratio }
        };
        tray.weighings = (0..WEIGHINGS).map(weighing).collect();
    }
    planned.cores.clear();
    let own = further_setting(setting, product, planned, duration);
    let columns = own.slopes(&here)?;
    Ok(marginal(&gram(&columns), product))
}

/// A setting of one further trial with the product's unknowns and its own.
fn further_setting<'a>(setting: &Setting<'a>, product: usize, trial: Trial, used_to_s: f64) -> Setting<'a> {
    let mut beliefs = setting.beliefs[..product].to_vec();
    beliefs.extend(trial_beliefs(&trial, 0));
    let mut priors = vec![None; product];
    priors.extend(beliefs[product..].iter().map(|b| Some((b.coordinate(b.value), b.deviation))));
    let reviewed = ReviewedTrial { trial, used_to_s, findings: Vec::new() };
    let unknowns = beliefs.iter().map(|b| b.unknown).collect();
    Setting {
        models: setting.models.with_trials(vec![reviewed], unknowns),
        parameters: beliefs.iter().map(crate::trial::Belief::parameter).collect(),
        beliefs,
        objective: Objective { priors, tares: Vec::new(), noise: setting.objective.noise },
    }
}

/// What each of a list would add; none for what does not apply.
pub(crate) fn all_added(
    setting: &Setting<'_>,
    values: &[f64],
    product: usize,
    whole: &DMatrix<f64>,
    list: &[Further],
) -> Result<Vec<Option<DMatrix<f64>>>, FitError> {
    let one = |f: &Further| match added(setting, values, product, whole, *f) {
        // A trial that the model cannot run is no proposal.
        Err(FitError::Simulation { .. } | FitError::Trial(_) | FitError::TimesDoNotRise { .. }) => Ok(None),
        other => other,
    };
    list.par_iter().map(one).collect()
}
