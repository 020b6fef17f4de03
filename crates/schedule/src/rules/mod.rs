//! The rules a schedule must keep. Only what is certain without physics is refused here.

mod interruptions;
mod one_stage;
mod targets;

use crate::{Interruption, LONGEST_S, MOST_STAGES, ScheduleError, Stage};

/// Every fault, stages first.
pub(crate) fn faults(stages: &[Stage], interruptions: &[Interruption]) -> Vec<ScheduleError> {
    let mut out = Vec::new();
    if stages.is_empty() {
        out.push(ScheduleError::NoStage);
    }
    if stages.len() > MOST_STAGES {
        out.push(ScheduleError::TooManyStages { count: stages.len() });
        return out;
    }
    let mut warmest: Option<f64> = None;
    for (i, stage) in stages.iter().enumerate() {
        let number = i + 1;
        names(stages, i, &mut out);
        warmest = [warmest, stage.set_point_c].into_iter().flatten().reduce(f64::max);
        one_stage::faults(number, stage, warmest, &mut out);
        targets::faults(stages, i, &mut out);
    }
    let total: f64 = stages.iter().filter_map(Stage::longest_s).filter(|s| s.is_finite()).sum();
    if total > LONGEST_S && stages.iter().filter_map(Stage::longest_s).all(|s| s <= LONGEST_S) {
        out.push(ScheduleError::TooLong { hours: total / 3600.0 });
    }
    interruptions::faults(interruptions, &mut out);
    out
}

fn names(stages: &[Stage], i: usize, out: &mut Vec<ScheduleError>) {
    let Some(stage) = stages.get(i) else { return };
    let name = stage.name.trim();
    if name.is_empty() {
        out.push(ScheduleError::NoName { stage: i + 1 });
        return;
    }
    let same = |s: &Stage| s.name.trim().to_lowercase() == name.to_lowercase();
    if let Some(other) = stages.iter().take(i).position(same) {
        out.push(ScheduleError::DuplicateName { stage: i + 1, name: name.to_owned(), other: other + 1 });
    }
}
