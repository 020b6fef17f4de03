//! The fit of a trial file.

use fallrate_fit::trial::{
    FURTHER, FurtherGain, TrialFit, TrialFitOptions, TrialProgress, TrialStep, Unknown, fit_trials,
    rank_further,
};
use serde_json::{Value, json};

use super::file::TrialFile;
use super::names::{finding_json, further_key, unknown_key, untold_json};
use crate::error::AppError;
use crate::learning::LearningFault;
use crate::learning::sheet::json;
use crate::learning::thin::{ThinRun, thin_of_trials};

/// Confidence of intervals: the ranges of data files run from the 5th to the 95th percentile.
pub(super) const CONFIDENCE: f64 = 0.9;

/// How far a fit has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FitProgress {
    /// Looking for the best values, or already at how sure they are.
    pub searching: bool,
    /// Runs of the drying model so far.
    pub runs: usize,
}

/// A fitted trial file.
#[derive(Debug)]
pub struct TrialRun {
    /// The file.
    pub file: TrialFile,
    /// The fit.
    pub fit: TrialFit,
    /// Further trials and measurements, best first.
    pub further: Vec<FurtherGain>,
    /// Thin-layer equations on the same weighings; the reason where there are none.
    pub thin: Result<ThinRun, String>,
}

/// Fits the trials of a file. `tell` is told about the progress; returning false cancels.
///
/// # Errors
/// [`LearningFault::CountedTwice`]; [`AppError::Fit`] where a trial is refused or nothing can be fitted;
/// [`AppError::Cancelled`].
pub fn fit_trial_file(
    file: TrialFile,
    tell: &(dyn Fn(FitProgress) -> bool + Sync),
) -> Result<TrialRun, AppError> {
    counted_once(&file)?;
    let observer =
        |p: TrialProgress| tell(FitProgress { searching: p.step == TrialStep::Searching, runs: p.runs });
    let mut options = TrialFitOptions::of(&file.product.product, &file.unknowns);
    options.count_beliefs = file.count_beliefs;
    options.observer = Some(&observer);
    let trials = file.trials();
    let fit = fit_trials(&file.product.product, &trials, &options)?;
    let further = rank_further(&file.product.product, &trials, &options, &fit, &FURTHER)?;
    let thin = thin_of_trials(&file, &fit).map_err(|e| e.to_string());
    Ok(TrialRun { file, fit, further, thin })
}

/// How a figure's note names a trial.
pub(super) fn mention(name: &str, date: &str) -> String {
    format!("trial '{name}' of {date}")
}

/// A product file that was itself made from a trial must not be joined with it again.
fn counted_once(file: &TrialFile) -> Result<(), AppError> {
    for case in &file.cases {
        let date = case.date.to_string();
        if file.count_beliefs && file.product.text.contains(&mention(&case.trial.name, &date)) {
            let (trial, product) = (case.trial.name.clone(), file.product.product.key.clone());
            return Err(LearningFault::CountedTwice { trial, date, product }.into());
        }
    }
    Ok(())
}

/// The fit as JSON.
#[must_use]
pub fn trial_json(run: &TrialRun) -> String {
    let fit = &run.fit;
    let key = |u: Unknown| unknown_key(u, &run.file);
    let unknowns: Vec<Value> = fit
        .unknowns
        .iter()
        .map(|u| {
            json!({
                "unknown": key(u.unknown), "unit": u.unknown.name_and_unit().1,
                "value": u.value, "standard_error": u.standard_error, "at_bound": u.at_bound,
                "interval_90": fit.interval(u.unknown, CONFIDENCE),
                "before": {"value": u.belief.value, "deviation_in_fitted_coordinate": u.belief.deviation,
                    "logarithm": u.belief.scale == fallrate_fit::Scale::Logarithm},
            })
        })
        .collect();
    let records: Vec<Value> = fit
        .records
        .iter()
        .map(|r| {
            let readings: Vec<Value> =
                r.readings.iter().map(|x| json!([x.elapsed_s, x.measured, x.fitted, x.residual])).collect();
            json!({
                "trial": r.key.trial, "tray_or_probe": r.key.tray, "load_kg": r.load_kg,
                "tare_offset_kg": r.tare_offset_kg,
                "elapsed_s_measured_fitted_residual": readings,
                "runs_probability": r.tests.runs.few_probability,
                "lag_one_correlation": r.tests.lag_one.correlation,
            })
        })
        .collect();
    let profiles: Vec<Value> = fit
        .profiles
        .iter()
        .map(|p| {
            let points: Vec<Value> = p.points.iter().map(|x| json!([x.value, x.worse])).collect();
            json!({"unknown": key(p.unknown), "bend": p.bend, "value_and_worse": points})
        })
        .collect();
    let further: Vec<Value> = run
        .further
        .iter()
        .map(|f| {
            let errors: Vec<Value> = f
                .errors
                .iter()
                .map(|e| json!({"unknown": key(e.unknown), "before": e.before, "after": e.after}))
                .collect();
            json!({"do": further_key(f.further), "gain": f.gain, "errors": errors})
        })
        .collect();
    let critical: Vec<Value> = fit
        .critical
        .iter()
        .map(|c| {
            json!({"trial": c.trial, "moisture_kg_per_kg_dry_basis": c.moisture_dry_basis,
                "standard_error": c.standard_error, "elapsed_s": c.elapsed_s})
        })
        .collect();
    json(&json!({
        "file": run.file.file_name, "title": run.file.title, "invented": run.file.invented,
        "product": run.file.product.product.key, "product_file_counts": run.file.count_beliefs,
        "unknowns": unknowns, "correlation": fit.correlation, "records": records,
        "profiles": profiles, "critical_moisture": critical,
        "findings": fit.findings.iter().map(|f| finding_json(f, &run.file)).collect::<Vec<_>>(),
        "untold": fit.untold.iter().map(|u| untold_json(u, &run.file)).collect::<Vec<_>>(),
        "further": further,
        "noise_factor": fit.noise_factor, "degrees_of_freedom": fit.degrees_of_freedom,
        "thin_layer": run.thin.as_ref().ok().map(crate::learning::thin::thin_value),
    }))
}
