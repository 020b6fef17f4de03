//! Forms fitted to the same pairs, and ranked.

use fallrate_foods::IsothermRange;
use rayon::prelude::*;

use crate::isotherm::pairs::{different_activities, span};
use crate::isotherm::{
    IsothermFault, IsothermFit, IsothermForm, IsothermWarning, SorptionErrors, SorptionPair, check_pairs,
};
use crate::stats::{Criteria, information_criteria, rank_key, student_quantile};
use crate::{Estimate, FitError, FitOptions, Hint, fit, spread_starts};

/// Starts of every fit.
const STARTS: usize = 12;
/// Least spread of temperatures for a form that depends on them, K.
const LEAST_TEMPERATURES_K: f64 = 5.0;
/// Two parameters correlated beyond this are one to the data.
const ONE: f64 = 0.999;
/// Chance, over all pairs, of calling one an outlier that is none.
const OUTLIER: f64 = 0.01;
/// Step of the water activity at which the slope of the isotherm is taken.
const SLOPE_STEP: f64 = 1e-3;

/// A form that could not be fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct UnfittedIsotherm {
    /// Form.
    pub form: IsothermForm,
    /// Why.
    pub reason: FitError,
}

/// The forms ranked by AICc; by BIC where the pairs are too few for the AICc of one of them.
#[derive(Clone, Debug, PartialEq)]
pub struct IsothermStudy {
    /// Best first.
    pub ranked: Vec<IsothermFit>,
    /// Forms that could not be fitted, with the reason.
    pub unfitted: Vec<UnfittedIsotherm>,
}

impl IsothermStudy {
    /// The fit of a form.
    #[must_use]
    pub fn of(&self, form: IsothermForm) -> Option<&IsothermFit> {
        self.ranked.iter().find(|f| f.form == form)
    }
}

/// Fits forms of the isotherm to pairs by least squares on the moisture from several starts, and ranks them.
///
/// Without `errors` every pair weighs the same. With them a pair weighs by its own standard deviation, that of its water
/// activity carried over by the slope of the best form of a first, unweighted round (the same for every form, so that the
/// criteria compare).
///
/// ```
/// use fallrate_fit::isotherm::{IsothermForm, SorptionPair, fit_isotherms};
/// // A lean meat's class isotherm, read with a little error.
/// let pairs = [(0.11, 0.045), (0.33, 0.081), (0.53, 0.115), (0.75, 0.195), (0.84, 0.260)].map(
///     |(water_activity, moisture_dry_basis)| SorptionPair { water_activity, moisture_dry_basis, temperature_c: 25.0 });
/// let study = fit_isotherms(&pairs, &[IsothermForm::Gab, IsothermForm::Oswin], None)?;
/// let at = study.ranked[0].moisture_at(0.60, 25.0).unwrap();
/// assert!((at.value - 0.134).abs() < 0.004 && at.standard_error.unwrap() < 0.005);
/// # Ok::<(), fallrate_fit::FitError>(())
/// ```
///
/// # Errors
/// [`IsothermFault`] where the pairs are no use at all. A form that cannot be fitted stands in
/// [`IsothermStudy::unfitted`] with its reason.
pub fn fit_isotherms(
    pairs: &[SorptionPair],
    forms: &[IsothermForm],
    errors: Option<&SorptionErrors>,
) -> Result<IsothermStudy, FitError> {
    check_pairs(pairs)?;
    let even = vec![1.0; pairs.len()];
    let first = study(pairs, forms, &even);
    let (Some(errors), Some(best)) = (errors, first.ranked.first()) else { return Ok(first) };
    errors.check()?;
    let deviations: Vec<f64> = pairs.iter().map(|p| errors.of(p, slope(best, p))).collect();
    Ok(study(pairs, forms, &deviations))
}

/// Rise of the moisture with the water activity at a pair.
fn slope(fit: &IsothermFit, pair: &SorptionPair) -> f64 {
    let at = |aw: f64| {
        let values = fit.estimate.values();
        fit.form.moisture(&values, fit.reference_temperature_c, aw, pair.temperature_c)
    };
    let (low, high) = (pair.water_activity - SLOPE_STEP, (pair.water_activity + SLOPE_STEP).min(1.0));
    match (at(low.max(1e-6)), at(high)) {
        (Some(a), Some(b)) => (b - a) / (high - low.max(1e-6)),
        _ => 0.0,
    }
}

fn study(pairs: &[SorptionPair], forms: &[IsothermForm], deviations: &[f64]) -> IsothermStudy {
    let found: Vec<Result<IsothermFit, FitError>> =
        forms.par_iter().map(|f| fit_form(*f, pairs, deviations)).collect();
    let mut study = IsothermStudy { ranked: Vec::new(), unfitted: Vec::new() };
    for (&form, found) in forms.iter().zip(found) {
        match found {
            Ok(fit) => study.ranked.push(fit),
            Err(reason) => study.unfitted.push(UnfittedIsotherm { form, reason }),
        }
    }
    let all: Vec<Criteria> = study.ranked.iter().map(|f| f.criteria).collect();
    study.ranked.sort_by(|a, b| rank_key(&a.criteria, &all).total_cmp(&rank_key(&b.criteria, &all)));
    let best = study.ranked.iter().filter_map(|f| f.criteria.aicc).fold(f64::INFINITY, f64::min);
    for f in &mut study.ranked {
        f.aicc_above_best = f.criteria.aicc.map(|a| a - best);
    }
    study
}

fn mean_temperature(pairs: &[SorptionPair]) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let n = pairs.len() as f64;
    pairs.iter().map(|p| p.temperature_c).sum::<f64>() / n
}

fn fit_form(form: IsothermForm, pairs: &[SorptionPair], deviations: &[f64]) -> Result<IsothermFit, FitError> {
    let (coldest, warmest) = span(pairs, |p| p.temperature_c);
    if form.depends_on_temperature() && warmest - coldest < LEAST_TEMPERATURES_K {
        let needed = LEAST_TEMPERATURES_K;
        return Err(IsothermFault::OneTemperature { least: coldest, greatest: warmest, needed }.into());
    }
    let (found, needed) = (different_activities(pairs), form.shape_parameters());
    if found < needed {
        return Err(IsothermFault::TooFewActivities { found, needed }.into());
    }
    let reference = mean_temperature(pairs);
    let parameters = form.parameters(middle_moisture(pairs), reference - coldest);
    let options =
        FitOptions { starts: spread_starts(&narrowed(&parameters), STARTS), ..FitOptions::closed_form() };
    let moistures: Vec<f64> = pairs.iter().map(|p| p.moisture_dry_basis).collect();
    let model = |p: &[f64]| residuals(form, p, reference, pairs, &moistures, deviations);
    let mut estimate = fit(&parameters, &model, &options)?;
    if form == IsothermForm::Peleg {
        flatter_first(&mut estimate);
    }
    let (least, greatest) = span(pairs, |p| p.water_activity);
    let criteria = information_criteria(estimate.sum_of_squares, pairs.len(), parameters.len());
    let mut fitted = IsothermFit {
        form,
        reference_temperature_c: reference,
        deviations: deviations.to_vec(),
        criteria,
        aicc_above_best: None,
        range: IsothermRange {
            temperature_min_c: Some(coldest - 1.0),
            temperature_max_c: Some(warmest + 1.0),
            aw_min: Some(least),
            aw_max: Some(greatest),
        },
        warnings: Vec::new(),
        estimate,
    };
    fitted.warnings = warnings(&fitted, pairs);
    Ok(fitted)
}

/// Residuals over the deviations; an error where the form has no moisture at a pair.
pub(super) fn residuals(
    form: IsothermForm,
    p: &[f64],
    reference_c: f64,
    pairs: &[SorptionPair],
    moistures: &[f64],
    deviations: &[f64],
) -> Result<Vec<f64>, FitError> {
    let rows = pairs.iter().zip(moistures).zip(deviations).enumerate();
    rows.map(|(index, ((pair, x), d))| {
        let model = form.moisture(p, reference_c, pair.water_activity, pair.temperature_c);
        model.map(|m| (m - x) / d).ok_or(FitError::NotFinite { index, value: f64::NAN })
    })
    .collect()
}

/// Moisture of the pair whose water activity lies nearest 0.5.
fn middle_moisture(pairs: &[SorptionPair]) -> f64 {
    let off = |p: &SorptionPair| (p.water_activity - 0.5).abs();
    pairs.iter().min_by(|a, b| off(a).total_cmp(&off(b))).map_or(0.1, |p| p.moisture_dry_basis)
}

/// Narrower bounds that the starts are spread over.
fn narrowed(parameters: &[crate::Parameter]) -> Vec<crate::Parameter> {
    let narrow = |p: &crate::Parameter| {
        let (low, high) = p.bounds.unwrap_or((p.start, p.start));
        let bounds = if p.scale == crate::Scale::Logarithm {
            ((p.start / 4.0).max(low), (p.start * 4.0).min(high))
        } else {
            let room = 0.1 * (high - low);
            ((p.start - room).max(low), (p.start + room).min(high))
        };
        crate::Parameter { bounds: Some(bounds), ..p.clone() }
    };
    parameters.iter().map(narrow).collect()
}

/// The two powers of Peleg's form can change places: the smaller is put first.
fn flatter_first(estimate: &mut Estimate) {
    if estimate.parameters[1].value <= estimate.parameters[3].value {
        return;
    }
    estimate.reorder(&[2, 3, 0, 1]);
}

fn warnings(fitted: &IsothermFit, pairs: &[SorptionPair]) -> Vec<IsothermWarning> {
    let mut list = Vec::new();
    let untold = |h: &Hint| match h {
        Hint::AtBound { .. } | Hint::Flat { .. } => true,
        Hint::Correlated { correlation, .. } => correlation.abs() > ONE,
        _ => false,
    };
    if fitted.estimate.hints.iter().any(untold) {
        list.push(IsothermWarning::NotUnique);
    }
    // Residuals of pairs left out, by the share of each pair in the fit.
    let e = &fitted.estimate;
    let Some(shares) = leverages(fitted, pairs) else { return list };
    #[allow(clippy::cast_precision_loss)]
    let (n, degrees) = (pairs.len() as f64, e.degrees_of_freedom as f64);
    if degrees < 2.0 {
        return list;
    }
    let limit = student_quantile(1.0 - 0.5 * OUTLIER / n, degrees - 1.0);
    for (i, (r, h)) in e.residuals.iter().zip(&shares).enumerate() {
        let without = (e.sum_of_squares - r * r / (1.0 - h)) / (degrees - 1.0);
        let deviations = r.abs() / (without.max(0.0) * (1.0 - h)).sqrt();
        if deviations > limit {
            list.push(IsothermWarning::Outlier { pair: i + 1, deviations });
        }
    }
    list
}

/// Share of each pair in its own fitted value: the diagonal of `J (J'J)^-1 J'`. None without a covariance.
pub(super) fn leverages(fitted: &IsothermFit, pairs: &[SorptionPair]) -> Option<Vec<f64>> {
    let e = &fitted.estimate;
    let variance = e.residual_standard_deviation().powi(2);
    let t0 = fitted.reference_temperature_c;
    pairs
        .iter()
        .zip(&fitted.deviations)
        .map(|(pair, d)| {
            let at = |p: &[f64]| fitted.form.moisture(p, t0, pair.water_activity, pair.temperature_c);
            let error = e.delta_error(1e-5, at)? / d;
            Some((error * error / variance).min(1.0 - 1e-9))
        })
        .collect()
}
