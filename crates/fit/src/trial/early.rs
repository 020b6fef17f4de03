//! A trial that was ended while much of its water was still there.

use crate::FitError;
use crate::trial::fit::Setting;
use crate::trial::{TrialAir, TrialFinding};

/// A trial ends early where more than this share of the water that the air would take is left.
const EARLY: f64 = 0.25;
/// Air that is not known (computed by a cabinet) is taken as this for the purpose: degC, fraction.
const USUAL_AIR: (f64, f64) = (60.0, 0.15);

/// Notes where the wettest tray still held much water at its last weighing, by the fit: a wrong tare does not count.
pub(crate) fn early_end(
    setting: &Setting<'_>,
    index: usize,
    values: &[f64],
) -> Result<Option<TrialFinding>, FitError> {
    let trial = &setting.models.trials[index].reviewed.trial;
    let product = setting.models.product;
    let (t, rh) = match &trial.air {
        TrialAir::Held { temperature_c, relative_humidity } => (*temperature_c, *relative_humidity),
        TrialAir::Recorded(record) => {
            record.last().map_or(USUAL_AIR, |r| (r.temperature_c, r.relative_humidity))
        }
        TrialAir::Computed => USUAL_AIR,
    };
    let prepared = product.prepare(&trial.preparation).ok();
    let sorption = prepared.and_then(|p| product.sorption_model(p.solutes).ok());
    let predicted = setting.models.predicted(index, values)?;
    let initial = predicted.initial_dry_basis;
    let equilibrium = sorption.and_then(|s| s.moisture_at(rh, t + 273.15)).unwrap_or(0.0).min(0.9 * initial);
    let left = |ratios: &Vec<f64>| {
        let last = (1.0 + initial) * ratios.last()? - 1.0;
        Some((last - equilibrium) / (initial - equilibrium))
    };
    let water_left = predicted.trays.iter().filter_map(left).fold(0.0, f64::max);
    let (trial, water_left) = (trial.name.clone(), water_left.min(1.0));
    Ok((water_left > EARLY).then_some(TrialFinding::StoppedEarly { trial, water_left }))
}
