//! The batch as followed: the answer to its question.

use fallrate_follow::{AsDialled, Earlier, Effort, EndForecast, Update, update};
use fallrate_series::Instant;

use super::asked::{Question, case_of};
use super::cause::{Moved, is_dialled, moved};
use crate::AppError;
use crate::plan_case::Planned;

/// A batch as followed. A forecast: nothing of it is evidence.
#[derive(Clone, Debug)]
pub struct Followed {
    /// What was known.
    pub question: Question,
    /// When it was asked.
    pub at: Instant,
    /// How the end moved, and why; none where the plan had no band to compare with.
    pub moved: Option<Moved>,
    pub(crate) update: Update,
}

/// Draws followed to the end.
const DRAWS: usize = 64;

/// Follows a batch: estimates from everything read and done, and forecasts the rest. `earlier` is what was known before;
/// without it the plan is. `progress` is told the share done and cancels by returning false.
///
/// # Errors
/// [`AppError::Follow`], [`AppError::Cancelled`].
pub fn follow(
    planned: &Planned,
    question: Question,
    at: Instant,
    earlier: Option<&Followed>,
    progress: &(dyn Fn(f64) -> bool + Sync),
) -> Result<Followed, AppError> {
    let course = question.course(at);
    let before = match earlier {
        Some(e) => Some(e.update.earlier()),
        None => Earlier::of_plan(&planned.plan.timer),
    };
    let case = case_of(planned);
    let effort = Effort { draws: DRAWS };
    let update = update(case, &course, &question.readings, effort, before.as_ref(), progress)?;
    // Time alone moves no end: what was said of the last entry stands until the next.
    let kept = earlier.filter(|e| e.question == question).and_then(|e| e.moved.clone());
    let overdue = question.is_overdue(planned, course.now_s);
    let moved = kept.or_else(|| Some(moved(&question, &update, earlier, (before?.power_off_s, overdue))));
    Ok(Followed { question, at, moved, update })
}

impl Followed {
    /// When an instant of the run is, by its seconds from the start; none where it is not reached.
    #[must_use]
    pub fn instant(&self, at_s: f64) -> Option<Instant> {
        at_s.is_finite().then(|| self.question.start.plus_seconds(at_s))
    }
    /// The end.
    #[must_use]
    pub fn end(&self) -> EndForecast {
        self.update.end
    }
    /// What the running countdown leads to; none where none was dialled.
    #[must_use]
    pub fn as_dialled(&self) -> Option<AsDialled> {
        self.update.as_dialled.filter(|_| is_dialled(&self.question))
    }
    /// What to dial, were it dialled now, s.
    #[must_use]
    pub fn dial_s(&self) -> f64 {
        self.update.timer.dial_s
    }
}
