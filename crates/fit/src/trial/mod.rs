//! Product trials: tray weights, core temperatures and the air they were measured in, held against the full drying model.
//!
//! [`fit_trials`] looks for what is wrong with the data, fits the unknowns, and says how well they are told: standard errors,
//! correlations, tests of the residuals, profiles where the linear picture misleads, and which combinations of unknowns the
//! data cannot tell apart, with the further trial or measurement that would tell them best.
//!
//! A weight enters as it was read: the load of every tray is fitted with the rest (it enters linearly and is projected out),
//! so that an error of the first weighing spoils nothing.

mod check;
mod drive;
mod early;
mod expect;
mod fault;
mod finding;
mod fit;
mod food;
mod further;
mod identify;
mod model;
mod objective;
mod outcome;
mod plan;
mod posterior;
mod profile;
mod record;
mod relax;
mod tare;
mod unknown;

pub use check::{ReviewedTrial, review_trial};
pub use drive::TrialGrid;
pub use expect::{ExpectedReadings, expected_readings};
pub use fault::TrialFault;
pub use finding::{TrayKey, TrialFinding};
pub use fit::{TrialFitOptions, TrialObserver, TrialProgress, TrialStep, fit_trials};
pub use further::{FURTHER, Further};
pub use identify::{Remedy, Untold};
pub use outcome::{CriticalMoisture, FittedReading, FittedRecord, FittedUnknown, TrialFit};
pub use plan::{
    ExpectedError, FurtherGain, PlannedWeighing, WeighingChoice, WeighingPlan, plan_weighings, rank_further,
};
pub use posterior::{TrialPosterior, sample_trials};
pub use profile::{Profile, ProfilePoint};
pub use record::{AirReading, Apparatus, CoreReading, CoreRecord, TrayRecord, Trial, TrialAir, Weighing};
pub use unknown::{Belief, Unknown, product_beliefs};
