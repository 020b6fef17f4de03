//! Targets of moisture, water activity and weight must fall from stage to stage.

use crate::{Action, EndCondition, Piece, ScheduleError, Stage};

/// Faults of stage `i` against the stages before it.
pub(super) fn faults(stages: &[Stage], i: usize, out: &mut Vec<ScheduleError>) {
    let Some(stage) = stages.get(i) else { return };
    for end in &stage.ends {
        let Some((what, value)) = target(end) else { continue };
        for (earlier, before) in stages.iter().enumerate().take(i) {
            let weighed_anew = stages.iter().take(i + 1).skip(earlier + 1).any(pulls);
            let met =
                before.ends.iter().find_map(|e| met_by(e, end)).filter(|_| !(what == WEIGHT && weighed_anew));
            if let Some(before) = met {
                let (name, earlier) = (stage.name.clone(), earlier + 1);
                out.push(ScheduleError::TargetNotFalling {
                    stage: i + 1,
                    name,
                    what,
                    value,
                    earlier,
                    before,
                });
                break;
            }
        }
    }
}

const WEIGHT: &str = "load weight (kg)";

fn target(end: &EndCondition) -> Option<(&'static str, f64)> {
    match *end {
        EndCondition::Moisture { dry_basis, .. } => Some(("moisture (kg/kg dry basis)", dry_basis)),
        EndCondition::WaterActivity { aw, .. } => Some(("water activity", aw)),
        EndCondition::LoadWeight { kilograms } => Some((WEIGHT, kilograms)),
        _ => None,
    }
}

fn pulls(stage: &Stage) -> bool {
    stage.actions.iter().any(|a| matches!(a, Action::PullTrays { .. }))
}

/// The earlier figure, where reaching it means that the later target is met already.
fn met_by(earlier: &EndCondition, later: &EndCondition) -> Option<f64> {
    use EndCondition::{LoadWeight, Moisture, WaterActivity};
    let (before, after, says) = match (*earlier, *later) {
        (Moisture { piece: p, dry_basis: a }, Moisture { piece: q, dry_basis: b }) => (a, b, covers(p, q)),
        (WaterActivity { piece: p, aw: a }, WaterActivity { piece: q, aw: b }) => (a, b, covers(p, q)),
        (LoadWeight { kilograms: a }, LoadWeight { kilograms: b }) => (a, b, true),
        _ => return None,
    };
    (says && before <= after).then_some(before)
}

/// Whether piece `q` is at least as dry as piece `p`: the slowest covers all, the mean covers the fastest.
fn covers(p: Piece, q: Piece) -> bool {
    p == q || p == Piece::Slowest || (p == Piece::Mean && q == Piece::Fastest)
}
