//! What to weigh when, for the most information.

use fallrate_fit::trial::{TrialFitOptions, WeighingChoice, WeighingPlan, plan_weighings};
use fallrate_units::{Duration, Mass};
use serde_json::json;

use super::file::TrialFile;
use super::names::unknown_key;
use crate::error::AppError;
use crate::learning::sheet::json;

/// Weighings are planned to this step, s, where none is asked for.
const USUAL_STEP_S: f64 = 1800.0;
/// Weighings after the start, all trays together, where no number is asked for.
const USUAL_COUNT: usize = 8;
/// Load of a tray in a tunnel where none is given, kg.
const USUAL_LOAD_KG: f64 = 1.0;

/// What can be done in a trial.
#[derive(Clone, Copy, Debug, Default)]
pub struct PlanAsked {
    /// Weighings after the start.
    pub count: Option<usize>,
    /// Time of the last.
    pub until: Option<Duration>,
    /// Least time between two weighings of a tray.
    pub every: Option<Duration>,
    /// Fresh load of a tray.
    pub load: Option<Mass>,
}

/// The plans of all trials of a file.
#[derive(Debug)]
pub struct TrialPlan {
    /// File.
    pub file: TrialFile,
    /// A plan for each trial, in order.
    pub plans: Vec<WeighingPlan>,
    /// Fresh load of a tray in each, kg.
    pub loads_kg: Vec<f64>,
}

/// Plans the weighings of every trial of a file, each on its own.
///
/// # Errors
/// [`AppError::Fit`] for an impossible choice or where the model has no result.
pub fn plan_trial(file: TrialFile, asked: &PlanAsked) -> Result<TrialPlan, AppError> {
    let options = TrialFitOptions::of(&file.product.product, &file.unknowns);
    let (mut plans, mut loads_kg) = (Vec::new(), Vec::new());
    for case in &file.cases {
        let load_kg = asked.load.map(Mass::kilograms).or(case.load_kg).unwrap_or(USUAL_LOAD_KG);
        let until_s = asked.until.map_or_else(|| usual_end_s(case), Duration::seconds);
        let choice = WeighingChoice {
            count: asked.count.unwrap_or(USUAL_COUNT),
            until_s,
            every_s: asked.every.map_or_else(|| USUAL_STEP_S.min(until_s / 4.0), Duration::seconds),
            load_kg,
        };
        plans.push(plan_weighings(&file.product.product, &case.trial, &options, &choice)?);
        loads_kg.push(load_kg);
    }
    Ok(TrialPlan { file, plans, loads_kg })
}

/// The end of the plan's stages as far as they say, else 8 h.
fn usual_end_s(case: &super::file::TrialCase) -> f64 {
    const EIGHT_HOURS_S: f64 = 28_800.0;
    let fallrate_fit::trial::Apparatus::Cabinet { stages, .. } = &case.trial.apparatus else {
        return EIGHT_HOURS_S;
    };
    let longest = |s: &fallrate_simulate::StageInput| {
        let ends = s.ends.iter().filter_map(|e| match e {
            fallrate_simulate::EndCondition::Elapsed { seconds } => Some(*seconds),
            _ => None,
        });
        ends.chain(s.at_most_s).reduce(f64::min)
    };
    let whole: Option<f64> = stages.iter().map(longest).sum();
    whole.filter(|s| *s > 0.0 && *s < 4.0 * 86_400.0).unwrap_or(EIGHT_HOURS_S)
}

/// The plan as JSON.
#[must_use]
pub fn trial_plan_json(plan: &TrialPlan) -> String {
    let trials: Vec<_> = plan
        .file
        .cases
        .iter()
        .zip(&plan.plans)
        .zip(&plan.loads_kg)
        .map(|((case, p), load)| {
            let weighings: Vec<_> = p
                .weighings
                .iter()
                .map(|w| {
                    json!({"tray": w.tray, "elapsed_s": w.elapsed_s, "gain": w.gain, "expected_net_kg": w.expected_kg})
                })
                .collect();
            let errors = |list: &[fallrate_fit::trial::ExpectedError]| -> Vec<serde_json::Value> {
                list.iter()
                    .map(|e| json!({"unknown": unknown_key(e.unknown, &plan.file), "before": e.before, "after": e.after}))
                    .collect()
            };
            json!({"trial": case.trial.name, "load_kg": load, "weighings": weighings,
                "errors": errors(&p.errors), "evenly": errors(&p.evenly)})
        })
        .collect();
    json(&json!({"file": plan.file.file_name, "trials": trials}))
}
