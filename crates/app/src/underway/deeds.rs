//! What the acts of a plan, as rows of its list, do to the run.

use fallrate_follow::Deed;
use fallrate_plan::acts::Deed as PlanDeed;

use crate::page::view::View;

/// What a row of the act list stands for.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct RowDeeds {
    /// When the plan has it, s from the start.
    pub at_s: f64,
    /// What the model is told when it is done.
    pub deeds: Vec<Deed>,
    /// The power goes off.
    pub power_off: bool,
    /// The trays come out.
    pub unload: bool,
}

/// The rows of [`crate::page::timed_acts`], in the same order, with what they do.
pub(crate) fn deeds_of_rows(v: &View<'_>) -> Vec<RowDeeds> {
    crate::page::act_rows(v)
        .into_iter()
        .map(|(at_s, acts)| {
            let mut row = RowDeeds { at_s, ..RowDeeds::default() };
            let deeds = acts.iter().flat_map(|a| &v.plan.acts[*a].deeds);
            for deed in deeds {
                match deed {
                    PlanDeed::PowerOff => row.power_off = true,
                    PlanDeed::Unload => row.unload = true,
                    PlanDeed::StartTimer { dial_s } if v.dialled_once() => {
                        row.deeds.push(Deed::Dialled { dial_s: *dial_s });
                    }
                    _ => {}
                }
            }
            row.deeds.extend(stages(v, at_s, &acts).map(Deed::Stage));
            row
        })
        .collect()
}

/// Stages that begin with a row: the first with the first row, the others where the stage before ends.
fn stages<'a>(v: &'a View<'_>, at_s: f64, acts: &[usize]) -> impl Iterator<Item = usize> + 'a {
    let first = acts.contains(&0);
    let count = v.setup.stages.len();
    let begins = v.plan.run.stage_ends.iter().map(|e| e.sample.elapsed_s).enumerate();
    let later = begins.filter(move |(_, s)| (s - at_s).abs() < 60.0).map(|(k, _)| k + 1);
    first.then_some(0).into_iter().chain(later.filter(move |k| *k < count))
}
