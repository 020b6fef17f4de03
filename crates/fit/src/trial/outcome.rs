//! What a fit of trials came to.

use nalgebra::DMatrix;

use crate::linear::{gram, inverse};
use crate::stats::{ResidualTests, residual_tests, student_quantile};
use crate::trial::early::early_end;
use crate::trial::fit::{Noise, Setting};
use crate::trial::identify::{Untold, untold};
use crate::trial::profile::{Profile, profiles};
use crate::trial::relax::{Held, relax};
use crate::trial::tare::{FittedTare, fitted_tares};
use crate::trial::{Belief, TrayKey, TrialFinding, Unknown};
use crate::{Estimate, FitError, Scale, StartReport};

/// A scaled eigenvalue of the information below this is none.
const LEAST_INFORMATION: f64 = 1e-9;
/// A trial's own value this many stated deviations off its statement is a contradiction.
const CONTRADICTS: f64 = 3.0;
/// Scatter is named from this factor on the stated error.
const MORE_SCATTER: f64 = 1.5;

/// One fitted unknown.
#[derive(Clone, Debug, PartialEq)]
pub struct FittedUnknown {
    /// Unknown.
    pub unknown: Unknown,
    /// Best value, in its own unit.
    pub value: f64,
    /// Standard error in its own unit; none at a bound or where neither data nor beliefs tell it.
    pub standard_error: Option<f64>,
    /// Standard error in the fitted coordinate (of the logarithm where the belief says so).
    pub coordinate_error: Option<f64>,
    /// It sits at its bound.
    pub at_bound: bool,
    /// What was believed.
    pub belief: Belief,
}

/// One reading beside the fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FittedReading {
    /// s
    pub elapsed_s: f64,
    /// Net weight (kg, the stated tare taken off) or core temperature (degC).
    pub measured: f64,
    /// The same by the model.
    pub fitted: f64,
    /// Model less measured, over the error of a reading.
    pub residual: f64,
}

/// A tray or a core probe beside the fit.
#[derive(Clone, Debug, PartialEq)]
pub struct FittedRecord {
    /// Trial and tray or probe.
    pub key: TrayKey,
    /// Fresh load of a tray as fitted, kg; none for a probe.
    pub load_kg: Option<f64>,
    /// Offset of its weights as fitted, kg; 0 where the tare was right.
    pub tare_offset_kg: f64,
    /// Readings.
    pub readings: Vec<FittedReading>,
    /// Tests of its residuals.
    pub tests: ResidualTests,
}

/// Where the drying of a trial begins to fall off: the moisture at which its rate has come down to 90 % of its greatest.
#[derive(Clone, Debug, PartialEq)]
pub struct CriticalMoisture {
    /// Trial.
    pub trial: String,
    /// Mean moisture of the first tray, kg/kg dry basis.
    pub moisture_dry_basis: f64,
    /// Standard error, kg/kg; none where some unknown has none.
    pub standard_error: Option<f64>,
    /// s
    pub elapsed_s: f64,
}

/// The fit of trials.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialFit {
    /// Unknowns of the product, then raw moisture and size of every trial.
    pub unknowns: Vec<FittedUnknown>,
    /// Correlations in the fitted coordinates; none in rows without a standard error.
    pub correlation: Vec<Vec<Option<f64>>>,
    /// Information of the data alone (without any belief) in the fitted coordinates, row by row: the inverse of a covariance.
    pub information: Vec<Vec<f64>>,
    /// Trays and probes, trial by trial.
    pub records: Vec<FittedRecord>,
    /// Where the drying of every trial begins to fall off, where it was reached.
    pub critical: Vec<CriticalMoisture>,
    /// What was noticed about the data and the fit.
    pub findings: Vec<TrialFinding>,
    /// What the data do not tell, and what would.
    pub untold: Vec<Untold>,
    /// Intervals of the unknowns that the linear picture misleads about.
    pub profiles: Vec<Profile>,
    /// Sum of squares of the data rows, over their errors as used.
    pub sum_of_squares: f64,
    /// Factor on the stated errors of the readings.
    pub noise_factor: f64,
    /// Degrees of freedom of the scatter.
    pub degrees_of_freedom: usize,
    /// Each start of the search.
    pub starts: Vec<StartReport>,
    /// Trays whose tare was fitted.
    pub(crate) tares: Vec<crate::trial::objective::TrayIndex>,
}

impl TrialFit {
    /// An unknown's fit.
    #[must_use]
    pub fn of(&self, unknown: Unknown) -> Option<&FittedUnknown> {
        self.unknowns.iter().find(|u| u.unknown == unknown)
    }

    /// Interval of an unknown with a confidence between 0 and 1, in its own unit: from its profile where there is one, else
    /// by Student's t in the fitted coordinate, cut at the unknown's bounds. An end that the data leave open is the bound. None
    /// without a standard error.
    #[must_use]
    pub fn interval(&self, unknown: Unknown, confidence: f64) -> Option<(f64, f64)> {
        let fitted = self.of(unknown)?;
        if let Some(profile) = self.profiles.iter().find(|p| p.unknown == unknown) {
            return Some(profile.interval(confidence, self.degrees_of_freedom));
        }
        #[allow(clippy::cast_precision_loss)]
        let t = student_quantile(0.5 + 0.5 * confidence, self.degrees_of_freedom as f64);
        let half = t * fitted.coordinate_error?;
        let centre = fitted.belief.coordinate(fitted.value);
        let (low, high) = fitted.belief.bounds;
        let back = |c: f64| super::fit::value(&fitted.belief, c).clamp(low, high);
        half.is_finite().then(|| (back(centre - half), back(centre + half)))
    }
}

/// Covariance in the fitted coordinates of the unknowns that are inside their bounds.
pub(crate) struct Spread {
    /// Which of the unknowns.
    pub inside: Vec<usize>,
    pub covariance: Option<DMatrix<f64>>,
}

pub(crate) fn spread(setting: &Setting<'_>, values: &[f64], columns: &[Vec<f64>]) -> Spread {
    let inside: Vec<usize> = (0..values.len())
        .filter(|&i| !setting.parameters[i].at_bound(setting.beliefs[i].coordinate(values[i])))
        .collect();
    let own: Vec<Vec<f64>> = inside.iter().map(|&i| columns[i].clone()).collect();
    Spread { covariance: inverse(&gram(&own), LEAST_INFORMATION), inside }
}

pub(crate) fn outcome(
    setting: &Setting<'_>,
    found: &Estimate,
    noise: Noise,
    with_profiles: bool,
) -> Result<TrialFit, FitError> {
    let mut values = found.values();
    let columns = setting.slopes(&values)?;
    polish(setting, &mut values, &columns)?;
    let spread = spread(setting, &values, &columns);
    let data = setting.data_count();
    let own: Vec<Vec<f64>> = columns.iter().map(|c| c[..data].to_vec()).collect();
    let information = gram(&own);
    let rows = setting.rows(&values)?;
    let mut fit = TrialFit {
        unknowns: fitted(setting, &values, &spread),
        correlation: correlation(values.len(), &spread),
        information: (0..values.len())
            .map(|i| (0..values.len()).map(|j| information[(i, j)]).collect())
            .collect(),
        records: records(setting, &values)?,
        critical: critical(setting, &values, &spread)?,
        findings: setting.models.trials.iter().flat_map(|t| t.reviewed.findings.clone()).collect(),
        untold: Vec::new(),
        profiles: Vec::new(),
        sum_of_squares: rows[..data].iter().map(|r| r * r).sum(),
        noise_factor: noise.factor,
        degrees_of_freedom: noise.degrees,
        starts: found.starts.clone(),
        tares: setting.objective.tares.clone(),
    };
    findings(setting, &values, noise, &mut fit)?;
    fit.untold = untold(setting, &values, &information)?;
    if with_profiles {
        fit.profiles = profiles(setting, &values, &columns, &spread)?;
    }
    Ok(fit)
}

/// Last steps with the slopes at the end of the search, which stopped where the sum of squares hardly changed any more.
fn polish(setting: &Setting<'_>, values: &mut Vec<f64>, columns: &[Vec<f64>]) -> Result<(), FitError> {
    let nothing = usize::MAX;
    let (better, _) = relax(setting, values.clone(), &Held { index: nothing, columns, renew: 0 })?;
    *values = better;
    Ok(())
}

fn fitted(setting: &Setting<'_>, values: &[f64], spread: &Spread) -> Vec<FittedUnknown> {
    let one = |(i, belief): (usize, &Belief)| {
        let place = spread.inside.iter().position(|&k| k == i);
        let variance = place.and_then(|p| spread.covariance.as_ref().map(|c| c[(p, p)]));
        let coordinate_error = variance.map(f64::sqrt).filter(|e| e.is_finite());
        let scale = if belief.scale == Scale::Logarithm { values[i] } else { 1.0 };
        FittedUnknown {
            unknown: belief.unknown,
            value: values[i],
            standard_error: coordinate_error.map(|e| e * scale),
            coordinate_error,
            at_bound: place.is_none(),
            belief: belief.clone(),
        }
    };
    setting.beliefs.iter().enumerate().map(one).collect()
}

fn correlation(count: usize, spread: &Spread) -> Vec<Vec<Option<f64>>> {
    let mut table = vec![vec![None; count]; count];
    let Some(c) = &spread.covariance else { return table };
    for (a, &i) in spread.inside.iter().enumerate() {
        for (b, &j) in spread.inside.iter().enumerate() {
            let both = (c[(a, a)] * c[(b, b)]).sqrt();
            table[i][j] = Some(if i == j { 1.0 } else { c[(a, b)] / both });
        }
    }
    table
}

fn records(setting: &Setting<'_>, values: &[f64]) -> Result<Vec<FittedRecord>, FitError> {
    let mut list = Vec::new();
    for (index, model) in setting.models.trials.iter().enumerate() {
        let trial = &model.reviewed.trial;
        let predicted = setting.models.predicted(index, values)?;
        let loads = setting.objective.loads(&setting.models, index, values)?;
        let record = |name: &str, load_kg, tare_offset_kg, readings: Vec<FittedReading>| {
            let residuals: Vec<f64> = readings.iter().map(|r| r.residual).collect();
            let key = TrayKey { trial: trial.name.clone(), tray: name.to_owned() };
            FittedRecord { key, load_kg, tare_offset_kg, readings, tests: residual_tests(&residuals) }
        };
        for ((tray, ratios), load) in trial.trays.iter().zip(&predicted.trays).zip(&loads) {
            let net = super::objective::net_weights(tray);
            let error = trial.scale_error_kg * setting.objective.noise;
            let rows = tray.weighings.iter().zip(&net).zip(ratios).map(|((w, &measured), r)| {
                let fitted = load.load_kg * r + load.offset_kg;
                FittedReading {
                    elapsed_s: w.elapsed_s,
                    measured,
                    fitted,
                    residual: (fitted - measured) / error,
                }
            });
            list.push(record(&tray.name, Some(load.load_kg), load.offset_kg, rows.collect()));
        }
        for (core, model) in trial.cores.iter().zip(&predicted.cores) {
            let error = trial.core_error_k * setting.objective.noise;
            let rows = core.readings.iter().zip(model).map(|(r, &fitted)| FittedReading {
                elapsed_s: r.elapsed_s,
                measured: r.temperature_c,
                fitted,
                residual: (fitted - r.temperature_c) / error,
            });
            list.push(record(&core.name, None, 0.0, rows.collect()));
        }
    }
    Ok(list)
}

fn critical(
    setting: &Setting<'_>,
    values: &[f64],
    spread: &Spread,
) -> Result<Vec<CriticalMoisture>, FitError> {
    let mut list = Vec::new();
    for (index, model) in setting.models.trials.iter().enumerate() {
        let at = |v: &[f64]| -> Result<Option<crate::trial::model::Critical>, FitError> {
            Ok(setting.models.predicted(index, v)?.critical)
        };
        let Some(here) = at(values)? else { continue };
        let error = match &spread.covariance {
            None => None,
            Some(c) => {
                let slopes = setting
                    .value_slopes(values, &|v| Ok(at(v)?.map_or(f64::NAN, |c| c.moisture_dry_basis)))?;
                let g: Vec<f64> = spread.inside.iter().map(|&i| slopes[i]).collect();
                let g = DMatrix::from_column_slice(g.len(), 1, &g);
                Some((g.transpose() * c * &g)[(0, 0)].sqrt()).filter(|e| e.is_finite())
            }
        };
        list.push(CriticalMoisture {
            trial: model.reviewed.trial.name.clone(),
            moisture_dry_basis: here.moisture_dry_basis,
            standard_error: error,
            elapsed_s: here.elapsed_s,
        });
    }
    Ok(list)
}

fn findings(setting: &Setting<'_>, values: &[f64], noise: Noise, fit: &mut TrialFit) -> Result<(), FitError> {
    fit.findings.extend(tare_errors(setting, values)?);
    for index in 0..setting.models.trials.len() {
        fit.findings.extend(early_end(setting, index, values)?);
    }
    for (belief, &fitted) in setting.beliefs.iter().zip(values) {
        let stated = belief.value;
        let deviations = (belief.coordinate(fitted) - belief.coordinate(stated)).abs() / belief.deviation;
        if belief.unknown.trial().is_some() && deviations > CONTRADICTS {
            let unknown = belief.unknown;
            fit.findings.push(TrialFinding::AgainstStatement { unknown, stated, fitted, deviations });
        }
    }
    if noise.widened > 1.0 {
        fit.findings
            .push(TrialFinding::ModelShape { correlation: noise.correlation, widened: noise.widened });
    }
    if noise.scatter > MORE_SCATTER {
        fit.findings.push(TrialFinding::MoreScatter { factor: noise.scatter });
    }
    Ok(())
}

/// The fitted offsets, named.
fn tare_errors(setting: &Setting<'_>, values: &[f64]) -> Result<Vec<TrialFinding>, FitError> {
    let found = fitted_tares(setting, values)?;
    let name = |t: FittedTare| {
        let trial = &setting.models.trials[t.tray.0].reviewed.trial;
        let tray = TrayKey { trial: trial.name.clone(), tray: trial.trays[t.tray.1].name.clone() };
        let (offset_kg, standard_error_kg) = (t.offset_kg, t.error_kg);
        TrialFinding::TareError { tray, offset_kg, standard_error_kg }
    };
    Ok(found.into_iter().map(name).collect())
}
