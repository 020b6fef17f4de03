//! Learning from measurements: isotherms, drying curves and product trials, and what ordinary batches teach.
//!
//! Every use case ends in a [`crate::Document`] for people and in JSON for programs. A product file is written only where it
//! is asked for, as a new file under a new key: nothing in the library is altered.

mod fault;
mod fault_words;
mod isotherm;
mod isotherm_page;
mod move_file;
mod move_json;
mod move_page;
mod move_plan;
mod product_file;
mod sheet;
mod table;
mod teach;
mod thin;
mod thin_page;
mod trial;

/// A moment of a forecast run.
pub use fallrate_simulate::Sample as RunSample;
pub use fault::LearningFault;
pub use isotherm::{IsothermAsked, IsothermRun, isotherm, isotherm_json, isotherm_product};
pub use isotherm_page::isotherm_document;
pub use move_json::move_json;
pub use move_page::move_document;
pub use move_plan::{Adjusted, MoveAsked, MoveRun, StageCourse, move_plan, move_text};
pub use product_file::ProductText;
pub use sheet::Day;
pub use teach::{
    BatchNote, Decision, Kept, Learned, Lesson, decide, kept, learned, learned_cabinet, learned_document,
    learned_json, learned_of, learned_product,
};
pub use thin::{ThinAsked, ThinRun, thin_json, thin_layer};
pub use thin_page::thin_document;
pub use trial::{
    FitProgress, PlanAsked, TrialCase, TrialFile, TrialPlan, TrialRun, fit_trial_file, plan_trial,
    trial_document, trial_json, trial_plan_document, trial_plan_json, trial_product,
};
