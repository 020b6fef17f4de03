//! Moving a recipe to another cabinet, altitude or season: the plan there that comes nearest to the course of the air here.

use fallrate_equipment::Cabinet;
use fallrate_plan::request::{LoadAmount, Named, StagesRequest};
use fallrate_schedule::{FanSetting, Stage, VentSetting};
use fallrate_simulate::Sample;

use crate::compare::{Compared, compare};
use crate::edit::Change;
use crate::error::AppError;
use crate::library::Library;
use crate::plan_case::{PlanCase, Planned, Progress};
use crate::ports::Files;

/// Points of a stage at which two courses are held against each other.
const POINTS: u32 = 24;
/// A vent setting must come this much nearer in wet bulb before the one that is there is changed, K.
const WORTH_K: f64 = 0.3;

/// What is moved where.
#[derive(Clone, Debug, Default)]
pub struct MoveAsked {
    /// Cabinet to go to: a key or the path of a file; none stays.
    pub cabinet: Option<String>,
    /// Changes for the new place, as `room.altitude=1600 m`.
    pub changes: Vec<Change>,
    /// Draws behind dial and band.
    pub draws: usize,
}

/// A setting that was changed, and why.
#[derive(Clone, Debug, PartialEq)]
pub enum Adjusted {
    /// Fewer trays fit; the load of a tray stays.
    Trays {
        /// In the plan.
        from: u32,
        /// That fit.
        to: u32,
    },
    /// The fan step whose air speed over the trays is nearest.
    Fan {
        /// Stage.
        stage: String,
        /// Step, air speed there, m/s.
        to: (String, f64),
        /// Air speed before, m/s.
        from_m_per_s: f64,
    },
    /// The vent setting that comes nearest in wet bulb.
    Vent {
        /// Stage.
        stage: String,
        /// As the plan writes it.
        from: String,
        /// Mark of the new cabinet.
        to: String,
        /// Mean distance of the wet bulbs before and after, K; none where the old setting does not exist there.
        off_k: (Option<f64>, f64),
    },
    /// A set point that the controller does not take.
    SetPoint {
        /// Stage.
        stage: String,
        /// degC
        from_c: f64,
        /// degC
        to_c: f64,
    },
    /// A liner that is not there; the nearest in what it lets through.
    Liner {
        /// Was.
        from: String,
        /// Is.
        to: String,
    },
    /// Trays of named groups, or swaps of them, which the new cabinet does not have.
    Groups,
}

/// A stage on both sides.
#[derive(Clone, Debug, PartialEq)]
pub struct StageCourse {
    /// Name.
    pub name: String,
    /// Length, s.
    pub lasts_s: (f64, f64),
    /// Mean wet bulb, degC.
    pub wet_bulb_c: (f64, f64),
    /// Mean relative humidity, fraction.
    pub relative_humidity: (f64, f64),
    /// Coldest core at its end, degC.
    pub core_c: (f64, f64),
    /// Share of the time with the heater at its limit.
    pub heater_full: (f64, f64),
    /// Whether its condition was reached before its longest time was up.
    pub reached: (bool, bool),
}

/// A moved recipe.
#[derive(Debug)]
pub struct MoveRun {
    /// The plan here and there, and why they differ.
    pub compared: Compared,
    /// Text of the plan file for there; none for a plan whose stages are proposed, which has none to change.
    pub text: Option<String>,
    /// Settings that were changed.
    pub adjusted: Vec<Adjusted>,
    /// Stages side by side.
    pub stages: Vec<StageCourse>,
}

/// Moves a plan.
///
/// # Errors
/// [`AppError`] where the plan, the cabinet or a change is wrong, or where there is no plan on either side.
pub fn move_plan(
    library: &Library,
    files: &dyn Files,
    path: &str,
    asked: &MoveAsked,
    tell: &(dyn Fn(Progress) -> bool + Sync),
) -> Result<MoveRun, AppError> {
    let here = PlanCase::read(library, files, path, &[])?;
    let there = PlanCase::read(library, files, path, &asked.changes)?;
    moved(library, files, (here, there), asked, tell)
}

/// Moves a plan that is held as text and names things of the library; no file is read.
///
/// # Errors
/// As [`move_plan`].
pub fn move_text(
    library: &Library,
    (name, text): (&str, &str),
    asked: &MoveAsked,
    tell: &(dyn Fn(Progress) -> bool + Sync),
) -> Result<MoveRun, AppError> {
    let here = PlanCase::of_library(library, name, text)?;
    let mut changed = text.to_owned();
    for change in &asked.changes {
        changed = change.apply(&changed)?;
    }
    let there = PlanCase::of_library(library, name, &changed)?;
    moved(library, &crate::ports::MemoryFiles::default(), (here, there), asked, tell)
}

fn moved(
    library: &Library,
    files: &dyn Files,
    (here, mut there): (PlanCase, PlanCase),
    asked: &MoveAsked,
    tell: &(dyn Fn(Progress) -> bool + Sync),
) -> Result<MoveRun, AppError> {
    let reference = here.clone().plan(0, tell)?;
    if let Some(name) = &asked.cabinet {
        there.cabinet = library.cabinet(files, name)?;
        there.request.cabinet = Named::Key(there.cabinet.key.clone());
    }
    // Stages that were proposed here are written out, so that the same recipe runs there.
    there.request.stages = StagesRequest::Given(reference.plan.assembled.stages.clone());
    let mut adjusted = fit_in(&mut there, &here);
    vents(&mut there, &here.cabinet, &reference, &mut adjusted, tell)?;
    let text = super::move_file::plan_text(&there, asked, &here, &adjusted);
    let name = there.cabinet.key.clone();
    let there = PlanCase { name, ..there };
    let compared = compare(vec![here, there], asked.draws, tell)?;
    let stages = match &compared.ways[..] {
        [a, b] => courses(&a.planned, &b.planned),
        _ => Vec::new(),
    };
    Ok(MoveRun { compared, text, adjusted, stages })
}

/// Everything that the new cabinet does not have is put right.
fn fit_in(there: &mut PlanCase, here: &PlanCase) -> Vec<Adjusted> {
    let (old, new) = (&here.cabinet, &there.cabinet);
    let mut list = Vec::new();
    let wanted = there.request.load.trays.unwrap_or(old.trays.count);
    let fits = new.trays.count;
    let per_tray = there.request.load.per_tray_kg(wanted, old.tray_area_m2());
    if wanted > fits {
        list.push(Adjusted::Trays { from: wanted, to: fits });
    }
    let trays = wanted.min(fits);
    there.request.load.trays = Some(trays);
    if old.key != new.key {
        // The same load per area of tray: what counts for the pieces.
        let mass = per_tray / old.tray_area_m2() * new.tray_area_m2() * f64::from(trays);
        there.request.load.amount = LoadAmount::Total(fallrate_units::Mass::from_kilograms(mass));
        let named = std::mem::take(&mut there.request.load.trays_by_group);
        let swaps = actions_removed(&mut there.request.stages);
        if !named.is_empty() || swaps {
            list.push(Adjusted::Groups);
        }
    }
    if let Some(liner) = there.request.load.liner.clone().filter(|l| new.liner(l).is_err()) {
        let to = nearest_liner(old, new, &liner);
        there.request.load.liner = to.clone();
        list.extend(to.map(|to| Adjusted::Liner { from: liner, to }));
    }
    if let StagesRequest::Given(stages) = &mut there.request.stages {
        for stage in stages {
            set_point(stage, new, &mut list);
            fan(stage, old, new, &mut list);
        }
    }
    list
}

fn actions_removed(stages: &mut StagesRequest) -> bool {
    let StagesRequest::Given(stages) = stages else { return false };
    let any = stages.iter().any(|s| !s.actions.is_empty());
    stages.iter_mut().for_each(|s| s.actions.clear());
    any
}

fn nearest_liner(old: &Cabinet, new: &Cabinet, key: &str) -> Option<String> {
    let mass = old.liner(key).ok()?.underside_mass.value;
    let off = |l: &&fallrate_equipment::Liner| (l.underside_mass.value - mass).abs();
    new.liners.iter().min_by(|a, b| off(a).total_cmp(&off(b))).map(|l| l.key.clone())
}

fn set_point(stage: &mut Stage, new: &Cabinet, list: &mut Vec<Adjusted>) {
    let c = &new.controller;
    let (low, high) = (c.set_point_least.value.celsius(), c.set_point_greatest.value.celsius());
    let Some(from_c) = stage.set_point_c.filter(|t| !(low..=high).contains(t)) else { return };
    let to_c = from_c.clamp(low, high);
    stage.set_point_c = Some(to_c);
    list.push(Adjusted::SetPoint { stage: stage.name.clone(), from_c, to_c });
}

fn fan(stage: &mut Stage, old: &Cabinet, new: &Cabinet, list: &mut Vec<Adjusted>) {
    let step = match &stage.fan {
        FanSetting::Off => return,
        FanSetting::Strongest => old.full_fan(),
        FanSetting::Step(name) => old.fan_step(name).ok(),
    };
    let Some(before) = step.map(|s| old.air_speed_m_per_s(s)) else { return };
    let off = |s: &&fallrate_equipment::FanStep| (new.air_speed_m_per_s(s) - before).abs();
    let Some(found) = new.fan_steps.iter().min_by(|a, b| off(a).total_cmp(&off(b))) else { return };
    let same = old.key == new.key;
    if same {
        return;
    }
    stage.fan = FanSetting::Step(found.name.clone());
    let to = (found.name.clone(), new.air_speed_m_per_s(found));
    list.push(Adjusted::Fan { stage: stage.name.clone(), to, from_m_per_s: before });
}

/// Stage by stage, the vent mark whose wet bulb runs nearest to that of the plan here. A humidity that is held stays held.
fn vents(
    there: &mut PlanCase,
    old: &Cabinet,
    reference: &Planned,
    list: &mut Vec<Adjusted>,
    tell: &(dyn Fn(Progress) -> bool + Sync),
) -> Result<(), AppError> {
    let StagesRequest::Given(stages) = there.request.stages.clone() else { return Ok(()) };
    let wanted: Vec<Vec<f64>> = (0..stages.len()).map(|i| wet_bulbs(reference, i)).collect();
    // Settings that do not exist there begin at the mark with the nearest fresh air.
    let mut chosen = stages.clone();
    for stage in &mut chosen {
        if !exists(&stage.vent, &there.cabinet) {
            stage.vent = nearest_mark(&stage.vent, old, &there.cabinet);
        }
    }
    for (i, stage) in stages.iter().enumerate() {
        if matches!(stage.vent, VentSetting::HoldRh(_)) || wanted[i].is_empty() {
            continue;
        }
        let mut best: Option<(VentSetting, f64)> = None;
        let mut kept = None;
        let mut candidates = vec![chosen[i].vent.clone()];
        candidates.extend(there.cabinet.vent.marks.iter().map(|m| VentSetting::Mark(m.name.clone())));
        candidates.dedup();
        for (n, vent) in candidates.into_iter().enumerate() {
            let mut tried = chosen.clone();
            tried[i].vent = vent.clone();
            let request = fallrate_plan::request::PlanRequest {
                stages: StagesRequest::Given(tried),
                ..there.request.clone()
            };
            let case = PlanCase { request, ..there.clone() };
            let found = match case.plan(0, tell) {
                Ok(planned) => distance(&wanted[i], &wet_bulbs(&planned, i)),
                Err(AppError::Cancelled) => return Err(AppError::Cancelled),
                Err(_) => None,
            };
            let Some(off) = found else { continue };
            if n == 0 && exists(&stage.vent, &there.cabinet) {
                kept = Some(off);
            }
            if best.as_ref().is_none_or(|b| off < b.1) {
                best = Some((vent, off));
            }
        }
        let Some((vent, off)) = best else { continue };
        if kept.is_some_and(|k| off > k - WORTH_K) || vent == stage.vent {
            continue;
        }
        let shown = |v: &VentSetting| match v {
            VentSetting::Mark(name) => name.clone(),
            VentSetting::Opening(share) | VentSetting::HoldRh(share) => format!("{:.0} %", 100.0 * share),
        };
        let (from, to) = (shown(&stage.vent), shown(&vent));
        list.push(Adjusted::Vent { stage: stage.name.clone(), from, to, off_k: (kept, off) });
        chosen[i].vent = vent;
    }
    there.request.stages = StagesRequest::Given(chosen);
    Ok(())
}

fn exists(vent: &VentSetting, cabinet: &Cabinet) -> bool {
    match vent {
        VentSetting::Mark(name) => cabinet.vent_mark(name).is_ok(),
        _ => true,
    }
}

fn nearest_mark(vent: &VentSetting, old: &Cabinet, new: &Cabinet) -> VentSetting {
    let air = match vent {
        VentSetting::Mark(name) => old.vent_mark(name).map_or(0.0, |m| m.opening.value.fraction()),
        VentSetting::Opening(share) | VentSetting::HoldRh(share) => *share,
    };
    let off = |m: &&fallrate_equipment::VentMark| (m.opening.value.fraction() - air).abs();
    let found = new.vent.marks.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
    found.map_or_else(|| vent.clone(), |m| VentSetting::Mark(m.name.clone()))
}

fn of_stage(planned: &Planned, stage: usize) -> Vec<&Sample> {
    planned.plan.run.samples.iter().filter(|s| s.stage == stage).collect()
}

/// Wet bulbs at even shares of a stage.
fn wet_bulbs(planned: &Planned, stage: usize) -> Vec<f64> {
    let own = of_stage(planned, stage);
    let (Some(first), Some(last)) = (own.first(), own.last()) else { return Vec::new() };
    let span = last.elapsed_s - first.elapsed_s;
    (0..=POINTS)
        .filter_map(|i| {
            let at = first.elapsed_s + span * f64::from(i) / f64::from(POINTS);
            let off = |s: &&&Sample| (s.elapsed_s - at).abs();
            own.iter().min_by(|a, b| off(a).total_cmp(&off(b))).map(|s| s.wet_bulb_c)
        })
        .collect()
}

#[allow(clippy::cast_precision_loss)]
fn distance(a: &[f64], b: &[f64]) -> Option<f64> {
    let sum: f64 = a.iter().zip(b).map(|(x, y)| (x - y).abs()).sum();
    (!a.is_empty() && a.len() == b.len()).then(|| sum / a.len() as f64)
}

#[allow(clippy::cast_precision_loss)]
fn mean(list: &[&Sample], of: impl Fn(&Sample) -> f64) -> f64 {
    list.iter().map(|s| of(s)).sum::<f64>() / list.len().max(1) as f64
}

fn reached(planned: &Planned, stage: usize) -> bool {
    let end = planned.plan.run.stage_ends.get(stage);
    end.is_none_or(|e| e.reason != fallrate_simulate::StopReason::AtMost)
}

/// Stages side by side, those that both runs have.
fn courses(a: &Planned, b: &Planned) -> Vec<StageCourse> {
    let stages = a.plan.assembled.stages.iter().enumerate();
    let one = |(i, stage): (usize, &Stage)| {
        let (x, y) = (of_stage(a, i), of_stage(b, i));
        let (Some(x0), Some(x1), Some(y0), Some(y1)) = (x.first(), x.last(), y.first(), y.last()) else {
            return None;
        };
        let both = |of: &dyn Fn(&Sample) -> f64| (mean(&x, of), mean(&y, of));
        Some(StageCourse {
            name: stage.name.clone(),
            lasts_s: (x1.elapsed_s - x0.elapsed_s, y1.elapsed_s - y0.elapsed_s),
            wet_bulb_c: both(&|s| s.wet_bulb_c),
            relative_humidity: both(&|s| s.relative_humidity),
            core_c: (x1.core_coldest_c, y1.core_coldest_c),
            heater_full: both(&|s| f64::from(u8::from(s.heater_demand > 0.98))),
            reached: (reached(a, i), reached(b, i)),
        })
    };
    stages.filter_map(one).collect()
}
