//! Two plans side by side: which of their inputs moves the end most, and what differs in the air.

use fallrate_equipment::Cabinet;
use fallrate_foods::Product;
use fallrate_schedule::{EndCondition, Stage, VentSetting};
use fallrate_simulate::Sample;

use crate::assemble::assemble;
use crate::error::PlanError;
use crate::plan::{Plan, time_to_target};
use crate::request::{PlanRequest, StagesRequest};

/// A group of inputs that is put from one plan into the other as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum InputGroup {
    /// Product and raw material.
    Product,
    /// Size of the pieces.
    Size,
    /// Load: amount, trays, liner, temperature.
    Load,
    /// Cabinet.
    Cabinet,
    /// Room air and altitude.
    Room,
    /// Stages and interruptions.
    Stages,
    /// Start: clock, temperature of the cabinet.
    Start,
    /// Target.
    Target,
}

impl InputGroup {
    /// All groups, in the order they are looked at.
    pub const ALL: [Self; 8] = [
        Self::Product,
        Self::Size,
        Self::Load,
        Self::Cabinet,
        Self::Room,
        Self::Stages,
        Self::Start,
        Self::Target,
    ];
}

/// One side of a comparison.
#[derive(Clone, Copy, Debug)]
pub struct Side<'a> {
    /// What was asked.
    pub request: &'a PlanRequest,
    /// Product.
    pub product: &'a Product,
    /// Cabinet.
    pub cabinet: &'a Cabinet,
    /// The plan made of it.
    pub plan: &'a Plan,
}

/// A group that differs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cause {
    /// Group.
    pub group: InputGroup,
    /// By how much the end of the first plan moves when this group alone is taken from the second, s; none where the
    /// two do not go together (a vent mark of the other cabinet) or the target is then never reached.
    pub end_moves_s: Option<f64>,
}

/// What the air did on the way to the target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mechanism {
    /// Powered time to the target, s.
    pub end_s: f64,
    /// Mean wet bulb of the first hour, degC.
    pub wet_bulb_first_hour_c: f64,
    /// Mean chamber temperature up to the target, degC.
    pub chamber_mean_c: f64,
    /// Mean relative humidity of the first hour, fraction.
    pub rh_first_hour: f64,
    /// Share of the time up to the target with the heater at its limit.
    pub heater_full_share: f64,
    /// When the coldest core is up by 20 degF, s; none where it never is.
    pub core_up_s: Option<f64>,
    /// Coldest core after the first hour, degC.
    pub core_after_hour_c: f64,
    /// Energy up to the target, kWh.
    pub kwh: f64,
}

/// Two plans compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// Of the first and the second.
    pub mechanisms: [Mechanism; 2],
    /// Groups that differ, the one that moves the end most first.
    pub causes: Vec<Cause>,
}

/// Compares two plans.
///
/// # Errors
/// [`PlanError::Cancelled`].
pub fn compare(a: &Side<'_>, b: &Side<'_>, progress: &dyn Fn() -> bool) -> Result<Comparison, PlanError> {
    let first = a.plan.timer.emptied_at_once_s;
    let mut causes = Vec::new();
    for group in InputGroup::ALL {
        if !differs(a, b, group) {
            continue;
        }
        let end_moves_s = match substituted(a, b, group, progress) {
            Ok(end) => Some(end - first),
            Err(PlanError::Cancelled) => return Err(PlanError::Cancelled),
            Err(_) => None,
        };
        causes.push(Cause { group, end_moves_s });
    }
    let size = |c: &Cause| c.end_moves_s.map_or(-1.0, f64::abs);
    causes.sort_by(|x, y| size(y).total_cmp(&size(x)));
    Ok(Comparison { mechanisms: [mechanism(a.plan), mechanism(b.plan)], causes })
}

fn thickness_m(s: &Side<'_>) -> f64 {
    s.plan.assembled.setup.batch.material.size_m
}

fn differs(a: &Side<'_>, b: &Side<'_>, group: InputGroup) -> bool {
    let (p, q) = (a.request, b.request);
    match group {
        InputGroup::Product => a.product != b.product || p.raw != q.raw,
        InputGroup::Size => thickness_m(a) != thickness_m(b),
        InputGroup::Load => p.load != q.load,
        InputGroup::Cabinet => a.cabinet != b.cabinet,
        InputGroup::Room => p.room != q.room,
        InputGroup::Stages => {
            a.plan.assembled.stages != b.plan.assembled.stages || p.interruptions != q.interruptions
        }
        InputGroup::Start => p.start != q.start,
        InputGroup::Target => p.target != q.target,
    }
}

/// Powered time to the target of the first plan with one group from the second, s.
fn substituted(
    a: &Side<'_>,
    b: &Side<'_>,
    group: InputGroup,
    progress: &dyn Fn() -> bool,
) -> Result<f64, PlanError> {
    let mut request = a.request.clone();
    request.stages = StagesRequest::Given(a.plan.assembled.stages.clone());
    request.piece.thickness = Some(fallrate_units::Length::from_metres(thickness_m(a)));
    let (mut product, mut cabinet) = (a.product, a.cabinet);
    match group {
        InputGroup::Product => {
            product = b.product;
            request.raw = b.request.raw.clone();
        }
        InputGroup::Size => {
            request.piece.thickness = Some(fallrate_units::Length::from_metres(thickness_m(b)));
        }
        InputGroup::Load => request.load = b.request.load.clone(),
        InputGroup::Cabinet => cabinet = b.cabinet,
        InputGroup::Room => request.room = b.request.room,
        InputGroup::Stages => {
            request.stages = StagesRequest::Given(b.plan.assembled.stages.clone());
            request.interruptions = b.request.interruptions.clone();
        }
        InputGroup::Start => request.start = b.request.start.clone(),
        InputGroup::Target => request.target = b.request.target,
    }
    let assembled = assemble(&request, product, cabinet)?;
    time_to_target(&assembled.setup, &mut |_| progress())
}

/// What the air did on the way to the target, from the plan's nominal sweep.
#[must_use]
pub fn mechanism(plan: &Plan) -> Mechanism {
    let samples = &plan.sweep.samples;
    let end_s = plan.timer.emptied_at_once_s;
    let start_core = samples.first().map_or(f64::NAN, |s| s.core_coldest_c);
    let up = samples.iter().find(|s| s.core_coldest_c >= start_core + 20.0 / 1.8);
    let after_hour = samples.iter().rev().find(|s| s.elapsed_s <= 3600.0);
    Mechanism {
        end_s,
        wet_bulb_first_hour_c: mean(samples, 3600.0, |s| s.wet_bulb_c),
        chamber_mean_c: mean(samples, end_s, |s| s.chamber_temperature_c),
        rh_first_hour: mean(samples, 3600.0, |s| s.relative_humidity),
        heater_full_share: mean(samples, end_s, |s| f64::from(u8::from(s.heater_demand > 0.995))),
        core_up_s: up.map(|s| s.elapsed_s),
        core_after_hour_c: after_hour.map_or(f64::NAN, |s| s.core_coldest_c),
        kwh: plan.sweep.energy_j.at(end_s) / 3.6e6,
    }
}

/// Mean over time up to an instant.
fn mean(samples: &[Sample], until_s: f64, f: impl Fn(&Sample) -> f64) -> f64 {
    let (mut sum, mut time) = (0.0, 0.0);
    for w in samples.windows(2) {
        let dt = (w[1].elapsed_s.min(until_s) - w[0].elapsed_s).max(0.0);
        sum += dt * 0.5 * (f(&w[0]) + f(&w[1]));
        time += dt;
    }
    sum / time
}

/// A way of starting: the mark on which the vent stands at the start.
#[derive(Clone, Debug, PartialEq)]
pub struct StartWay {
    /// Vent mark.
    pub mark: String,
    /// Opening, share of fully open.
    pub opening: f64,
    /// The request with it.
    pub request: PlanRequest,
}

/// How long a start lasts where the whole run has one vent setting, s.
const START_S: f64 = 3600.0;
/// A start whose end would never come with this vent is left after this time, s.
const LONGEST_START_S: f64 = 3.0 * 3600.0;

/// The same load started with the vent at its least, at its next, and at its widest mark. The start is every stage before
/// the vent is first moved; a run with one vent setting is given a start of one hour. Empty for a vent of one mark.
#[must_use]
pub fn start_ways(request: &PlanRequest, plan: &Plan, cabinet: &Cabinet) -> Vec<StartWay> {
    let marks = &cabinet.vent.marks;
    let mut chosen: Vec<usize> = vec![0, 1, marks.len().saturating_sub(1)];
    chosen.dedup();
    if marks.len() < 2 {
        return Vec::new();
    }
    chosen
        .into_iter()
        .filter_map(|i| marks.get(i))
        .map(|m| {
            let mut request = request.clone();
            request.stages = StagesRequest::Given(started(&plan.assembled.stages, &m.name));
            StartWay { mark: m.name.clone(), opening: m.opening.value.fraction(), request }
        })
        .collect()
}

fn started(stages: &[Stage], mark: &str) -> Vec<Stage> {
    let Some(first) = stages.first() else { return Vec::new() };
    let same = stages.iter().take_while(|s| s.vent == first.vent).count();
    let mut list = stages.to_vec();
    let count = if same < stages.len() {
        same
    } else {
        list.insert(
            0,
            Stage {
                name: "start".to_owned(),
                ends: vec![EndCondition::Elapsed { seconds: START_S }],
                at_most_s: None,
                ..first.clone()
            },
        );
        1
    };
    for stage in list.iter_mut().take(count) {
        stage.vent = VentSetting::Mark(mark.to_owned());
        stage.at_most_s.get_or_insert(LONGEST_START_S);
    }
    list
}
