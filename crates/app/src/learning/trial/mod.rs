//! Product trials: what to weigh when, the fit of the full model, and what goes into the product file.

mod file;
mod findings;
mod fit;
mod fit_page;
mod log;
mod names;
mod pictures;
mod place;
mod plan;
mod plan_page;
mod product;
mod untold;

pub(in crate::learning) use place::put_into;

pub use file::{TrialCase, TrialFile};
pub use fit::{FitProgress, TrialRun, fit_trial_file, trial_json};
pub use fit_page::trial_document;
pub use plan::{PlanAsked, TrialPlan, plan_trial, trial_plan_json};
pub use plan_page::trial_plan_document;
pub use product::trial_product;
