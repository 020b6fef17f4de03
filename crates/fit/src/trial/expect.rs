//! What the drying model expects of a trial's readings.

use fallrate_foods::Product;

use crate::FitError;
use crate::trial::fit::STEP;
use crate::trial::food::FoodValues;
use crate::trial::model::Models;
use crate::trial::{ReviewedTrial, Trial, TrialFault, TrialGrid, Unknown};

/// Expected readings of a trial.
#[derive(Clone, Debug, PartialEq)]
pub struct ExpectedReadings {
    /// Net weight over fresh weight at the weighings of every tray.
    pub weight_ratios: Vec<Vec<f64>>,
    /// Core temperatures at the readings of every probe, degC.
    pub core_temperatures_c: Vec<Vec<f64>>,
}

/// What the model expects at the times of a trial's weighings and core readings (whose values do not count), with some
/// unknowns at given values and the others as the product file and the trial state them. A forecast, for planning and
/// teaching.
///
/// # Errors
/// [`TrialFault::TooFewWeighings`] without any weighing after 0 s, [`FitError::Simulation`] where the model has no result.
pub fn expected_readings(
    product: &Product,
    trial: &Trial,
    values: &[(Unknown, f64)],
    grid: TrialGrid,
) -> Result<ExpectedReadings, FitError> {
    let weighings = trial.trays.iter().flat_map(|t| &t.weighings).map(|w| w.elapsed_s);
    let cores = trial.cores.iter().flat_map(|c| &c.readings).map(|r| r.elapsed_s);
    let used_to_s = weighings.chain(cores).fold(0.0, f64::max);
    if !(used_to_s > 0.0) {
        let (trial, trays) = (trial.name.clone(), trial.trays.len());
        return Err(TrialFault::TooFewWeighings { trial, found: 0, trays, needed: 1 }.into());
    }
    let fixed = FoodValues::of(product);
    let reviewed = ReviewedTrial { trial: trial.clone(), used_to_s, findings: Vec::new() };
    let (unknowns, values): (Vec<Unknown>, Vec<f64>) = values.iter().copied().unzip();
    let differences = crate::Differences::Central { step: STEP };
    let models =
        Models::new(product, vec![reviewed], unknowns, fixed, grid, differences, (&|| true, &|| true));
    let found = models.predicted(0, &values)?;
    Ok(ExpectedReadings { weight_ratios: found.trays.clone(), core_temperatures_c: found.cores.clone() })
}
