//! Where the batch stands now.

use fallrate_simulate::Sample;

use crate::course::Case;
use crate::ensemble::{Ensemble, Member};
use crate::estimate::Question;
use crate::forecast::range;
use crate::predict::{drawn, group_of};
use crate::update::Now;

pub(crate) fn now(q: &Question<'_, '_>, ensemble: &Ensemble) -> Now {
    let of = |f: &dyn Fn(&Sample) -> f64| {
        let values: Vec<(f64, f64)> =
            ensemble.members.iter().filter_map(|m| Some((m.weight, f(m.standing.samples.last()?)))).collect();
        range(&values)
    };
    let case = &q.track.case;
    let groups = case.assembled.setup.batch.load.groups.len();
    let nets = (0..groups).map(|g| {
        let values: Vec<(f64, f64)> =
            ensemble.members.iter().map(|m| (m.weight, net_kg(case, m, g))).collect();
        range(&values)
    });
    let mut stages: Vec<(usize, f64)> = vec![];
    for m in &ensemble.members {
        match stages.iter_mut().find(|s| s.0 == m.standing.stage) {
            Some(s) => s.1 += m.weight,
            None => stages.push((m.standing.stage, m.weight)),
        }
    }
    Now {
        mean_dry_basis: of(&|s| s.moisture_mean_dry_basis),
        wettest_dry_basis: of(&|s| s.moisture_slowest_dry_basis),
        driest_dry_basis: of(&|s| s.moisture_fastest_dry_basis),
        core_coldest_c: of(&|s| s.core_coldest_c),
        chamber_c: of(&|s| s.chamber_temperature_c),
        wet_bulb_c: of(&|s| s.wet_bulb_c),
        tray_net_kg: nets.collect(),
        stage: stages.iter().max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |s| s.0),
    }
}

/// Product on a mean tray of a group now, kg.
fn net_kg(case: &Case<'_>, member: &Member, group: usize) -> f64 {
    let Some(s) = member.standing.samples.last() else { return f64::NAN };
    let batch = drawn(case, &member.z);
    let solids = batch.load.fresh_kg_per_tray / (1.0 + batch.material.moisture_initial_dry_basis);
    let own = s.pieces.iter().filter(|p| p.group == group);
    let (x, w) =
        own.fold((0.0, 0.0), |(x, w), p| (x + p.load_share * p.moisture_dry_basis, w + p.load_share));
    solids * (1.0 + x / w)
}

/// Index, among the loaded groups, of the group that a tray's place belongs to; 0 for a tray that is not loaded.
#[must_use]
pub fn group_of_tray(case: &Case<'_>, tray: u32) -> usize {
    group_of(case, tray)
}
