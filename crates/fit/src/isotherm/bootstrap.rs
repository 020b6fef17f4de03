//! The uncertainty of a moisture without the linear picture: by refitting resampled residuals.

use rayon::prelude::*;

use crate::isotherm::study::{leverages, residuals};
use crate::isotherm::{IsothermFault, IsothermFit, SorptionPair};
use crate::stats::Draws;
use crate::{FitError, FitOptions, fit};

/// Seed of the draws.
const SEED: u64 = 20_260_911;
/// Least share of draws that must lead to an estimate.
const LEAST_SHARE: f64 = 0.9;

/// A moisture at a water activity from refits.
#[derive(Clone, Debug, PartialEq)]
pub struct MoistureBootstrap {
    /// Moistures of the refits, kg/kg dry basis, rising.
    pub moistures: Vec<f64>,
    /// Their standard deviation, kg/kg.
    pub standard_deviation: f64,
}

impl MoistureBootstrap {
    /// The moisture below which a share (between 0 and 1) of the refits lies.
    #[must_use]
    pub fn quantile(&self, share: f64) -> f64 {
        let last = self.moistures.len().saturating_sub(1);
        #[allow(clippy::cast_precision_loss)]
        let at = share.clamp(0.0, 1.0) * last as f64;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let (low, part) = (at.floor() as usize, at.fract());
        let high = (low + 1).min(last);
        self.moistures[low] * (1.0 - part) + self.moistures[high] * part
    }
}

impl IsothermFit {
    /// Refits `draws` sets of pairs (100 to 100,000) whose residuals are drawn anew from those of the fit, each widened for its share in its own
    /// fitted value, and reads the moisture at a water activity and temperature off every refit. `pairs` are those of the fit.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] for another number of draws, [`FitError::WrongLength`] for other pairs, and
    /// [`IsothermFault::BootstrapFailed`] where fewer than 90 % of the draws led to an estimate.
    pub fn bootstrap_moisture(
        &self,
        pairs: &[SorptionPair],
        water_activity: f64,
        temperature_c: f64,
        draws: usize,
    ) -> Result<MoistureBootstrap, FitError> {
        if !(100..=100_000).contains(&draws) {
            #[allow(clippy::cast_precision_loss)]
            let value = draws as f64;
            let (what, unit) = ("draws of the bootstrap".to_owned(), "-".to_owned());
            return Err(FitError::OutOfRange { what, value, unit, low: 100.0, high: 1e5 });
        }
        if pairs.len() != self.deviations.len() {
            let (found, expected) = (pairs.len(), self.deviations.len());
            return Err(FitError::WrongLength { what: "pairs of the fit", found, expected });
        }
        let failed = |found| IsothermFault::BootstrapFailed { found, asked: draws };
        let widened = self.widened(pairs).ok_or_else(|| failed(0))?;
        let one = |i: usize| self.refit(pairs, &widened, i as u64, water_activity, temperature_c);
        let mut moistures: Vec<f64> = (0..draws).into_par_iter().filter_map(one).collect();
        #[allow(clippy::cast_precision_loss)]
        let (found, asked) = (moistures.len() as f64, draws as f64);
        if found < LEAST_SHARE * asked {
            return Err(failed(moistures.len()).into());
        }
        let mean = moistures.iter().sum::<f64>() / found;
        let variance = moistures.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (found - 1.0);
        moistures.sort_by(f64::total_cmp);
        Ok(MoistureBootstrap { moistures, standard_deviation: variance.sqrt() })
    }

    /// Residuals widened to the size of errors, with mean 0.
    fn widened(&self, pairs: &[SorptionPair]) -> Option<Vec<f64>> {
        let shares = leverages(self, pairs)?;
        let wide: Vec<f64> =
            self.estimate.residuals.iter().zip(shares).map(|(r, h)| r / (1.0 - h).sqrt()).collect();
        #[allow(clippy::cast_precision_loss)]
        let mean = wide.iter().sum::<f64>() / wide.len() as f64;
        Some(wide.into_iter().map(|r| r - mean).collect())
    }

    fn refit(
        &self,
        pairs: &[SorptionPair],
        widened: &[f64],
        stream: u64,
        water_activity: f64,
        temperature_c: f64,
    ) -> Option<f64> {
        let t0 = self.reference_temperature_c;
        let values = self.estimate.values();
        let mut draws = Draws::new(SEED, stream);
        let fitted = pairs.iter().zip(&self.estimate.residuals).zip(&self.deviations);
        let moistures: Vec<f64> = fitted
            .map(|((p, r), d)| p.moisture_dry_basis + d * (r - widened[draws.below(widened.len())]))
            .collect();
        let model = |p: &[f64]| residuals(self.form, p, t0, pairs, &moistures, &self.deviations);
        let coldest_k = t0 - (self.range.temperature_min_c? + 1.0);
        let mut parameters = self.form.parameters(1.0, coldest_k);
        // Bounds as wide as a refit may need, about the estimate.
        for (parameter, &value) in parameters.iter_mut().zip(&values) {
            parameter.start = value;
            parameter.bounds = match parameter.scale {
                crate::Scale::Logarithm => Some((value / 1e3, value * 1e3)),
                crate::Scale::Linear => None,
            };
        }
        let options = FitOptions { tolerance: 1e-9, ..FitOptions::closed_form() };
        let found = fit(&parameters, &model, &options).ok()?;
        self.form.moisture(&found.values(), t0, water_activity, temperature_c)
    }
}
