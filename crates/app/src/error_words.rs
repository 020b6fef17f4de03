//! Errors in the reader's language, for people who fill in a form rather than write a file.

use fallrate_datafile::{Problem, ProblemKind};
use fallrate_plan::PlanError;

use crate::error::AppError;
use crate::words::{Reader, fixed, say};

/// What is wrong with one key of a plan: the key as a path, and a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyFault {
    /// "load.total", "stage.vent"; empty where it concerns the plan as a whole.
    pub key: String,
    /// What is wrong and what is allowed.
    pub text: String,
}

impl AppError {
    /// What is wrong, one sentence for each thing, in the reader's language.
    #[must_use]
    pub fn faults(&self, r: &Reader) -> Vec<KeyFault> {
        let whole = |text: String| vec![KeyFault { key: String::new(), text }];
        match self {
            Self::Problems(problems) => problems.list().iter().map(|p| problem(p, r)).collect(),
            Self::Plan(no_plan) => whole(plan_error(&no_plan.error, r)),
            Self::Cancelled => whole(r.text("fault-cancelled")),
            other => whole(say!(r, "fault-other", text = other.to_string())),
        }
    }
}

fn problem(p: &Problem, r: &Reader) -> KeyFault {
    let key = match p.kind {
        ProblemKind::Missing => "fault-missing",
        ProblemKind::OutOfRange => "fault-range",
        ProblemKind::UnknownName | ProblemKind::UnknownKey => "fault-unknown",
        _ => "fault-value",
    };
    let text = say!(r, key, value = p.value.as_str(), allowed = p.allowed.as_str());
    KeyFault { key: p.what.clone(), text }
}

fn plan_error(e: &PlanError, r: &Reader) -> String {
    match e {
        PlanError::OutOfReach { asked_dry_basis, reached_dry_basis, after_h, .. } => say!(
            r,
            "fault-out-of-reach",
            asked = r.moisture(*asked_dry_basis),
            reached = r.moisture(*reached_dry_basis),
            hours = fixed(*after_h, 0)
        ),
        PlanError::AlreadyThere { asked_dry_basis, initial_dry_basis } => say!(
            r,
            "fault-already-there",
            asked = r.moisture(*asked_dry_basis),
            initial = r.moisture(*initial_dry_basis)
        ),
        PlanError::NoSuchActivity { aw, greatest } => {
            say!(r, "fault-no-activity", aw = r.activity(*aw), greatest = r.activity(*greatest))
        }
        PlanError::Unknown { name, allowed, .. } => {
            say!(r, "fault-unknown", value = name.as_str(), allowed = allowed.as_str())
        }
        PlanError::Contradiction { value, allowed, .. } => {
            say!(r, "fault-value", value = value.as_str(), allowed = allowed.as_str())
        }
        PlanError::Simulate(e) => say!(r, "fault-other", text = e.to_string()),
        PlanError::Cancelled => r.text("fault-cancelled"),
    }
}
