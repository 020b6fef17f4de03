//! Residuals of all trials: weights over their error with the loads of the trays projected out, core temperatures, and what
//! was known before.

use rayon::prelude::*;

use crate::FitError;
use crate::trial::Belief;
use crate::trial::model::Models;

/// A tray by trial and place in it.
pub(crate) type TrayIndex = (usize, usize);

/// What the rows are made of.
#[derive(Clone, Debug)]
pub(crate) struct Objective {
    /// Belief and coordinate deviation of every fitted unknown; none where the data alone decide.
    pub priors: Vec<Option<(f64, f64)>>,
    /// Trays whose tare is fitted.
    pub tares: Vec<TrayIndex>,
    /// Factor on the errors of the data.
    pub noise: f64,
}

/// Load of a tray and offset of its tare that fit best, kg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct TrayLoad {
    pub load_kg: f64,
    pub offset_kg: f64,
}

impl Objective {
    /// Residuals at values: weighings tray by tray, cores, then beliefs.
    pub fn rows(
        &self,
        models: &Models<'_>,
        beliefs: &[Belief],
        values: &[f64],
    ) -> Result<Vec<f64>, FitError> {
        let mut rows = self.data_rows(models, values)?;
        rows.extend(self.prior_rows(beliefs, values));
        Ok(rows)
    }

    pub fn prior_rows(&self, beliefs: &[Belief], values: &[f64]) -> Vec<f64> {
        let known = self.priors.iter().enumerate().filter_map(|(i, prior)| prior.map(|p| (i, p)));
        known
            .map(|(i, (centre, deviation))| (beliefs[i].coordinate(values[i]) - centre) / deviation)
            .collect()
    }

    pub fn data_rows(&self, models: &Models<'_>, values: &[f64]) -> Result<Vec<f64>, FitError> {
        let one = |index: usize| self.trial_rows(models, index, values);
        let all: Vec<Vec<f64>> =
            (0..models.trials.len()).into_par_iter().map(one).collect::<Result<_, _>>()?;
        Ok(all.into_iter().flatten().collect())
    }

    fn trial_rows(&self, models: &Models<'_>, index: usize, values: &[f64]) -> Result<Vec<f64>, FitError> {
        let predicted = models.predicted(index, values)?;
        let trial = &models.trials[index].reviewed.trial;
        let mut rows = Vec::new();
        for (k, (tray, ratios)) in trial.trays.iter().zip(&predicted.trays).enumerate() {
            let net = net_weights(tray);
            let found = best_load(ratios, &net, self.tares.contains(&(index, k)));
            let error = trial.scale_error_kg * self.noise;
            let row = |(r, w): (&f64, &f64)| (found.load_kg * r + found.offset_kg - w) / error;
            rows.extend(ratios.iter().zip(&net).map(row));
        }
        for (core, model) in trial.cores.iter().zip(&predicted.cores) {
            let error = trial.core_error_k * self.noise;
            rows.extend(model.iter().zip(&core.readings).map(|(m, r)| (m - r.temperature_c) / error));
        }
        Ok(rows)
    }

    /// Loads of a trial's trays at values.
    pub fn loads(
        &self,
        models: &Models<'_>,
        index: usize,
        values: &[f64],
    ) -> Result<Vec<TrayLoad>, FitError> {
        let predicted = models.predicted(index, values)?;
        let trial = &models.trials[index].reviewed.trial;
        let trays = trial.trays.iter().zip(&predicted.trays).enumerate();
        Ok(trays
            .map(|(k, (tray, ratios))| {
                best_load(ratios, &net_weights(tray), self.tares.contains(&(index, k)))
            })
            .collect())
    }
}

pub(crate) fn net_weights(tray: &crate::trial::TrayRecord) -> Vec<f64> {
    tray.weighings.iter().map(|w| w.gross_kg - tray.tare_kg).collect()
}

/// Least squares of `net = load x ratio (+ offset)`, all weighings alike.
fn best_load(ratios: &[f64], net: &[f64], with_offset: bool) -> TrayLoad {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let (rr, rn) = (dot(ratios, ratios), dot(ratios, net));
    if !with_offset {
        return TrayLoad { load_kg: rn / rr, offset_kg: 0.0 };
    }
    #[allow(clippy::cast_precision_loss)]
    let n = ratios.len() as f64;
    let (r, y) = (ratios.iter().sum::<f64>(), net.iter().sum::<f64>());
    let determinant = rr * n - r * r;
    TrayLoad { load_kg: (rn * n - r * y) / determinant, offset_kg: (rr * y - r * rn) / determinant }
}
