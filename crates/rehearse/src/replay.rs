//! The same cabinet with the same faults run again: as the plan says, or with other acts.

use fallrate_plan::{Plan, Setup};
use fallrate_simulate::{Action, Interruption, InterruptionKind, Options, Sample, StageInput, run, run_from};

use crate::cabinet::first_engine;
use crate::history::{State, state};
use crate::scenario::FaultKind;
use crate::{Act, DoneAct, RehearseError, VirtualCabinet};

/// A run of the true cabinet.
#[derive(Clone, Debug)]
pub(crate) struct Replay {
    /// One a minute, and the last.
    pub states: Vec<State>,
    /// When the power went off for good, s.
    pub power_off_s: f64,
    /// When it was unloaded, s.
    pub unloaded_s: f64,
    /// Ends of the plan's stages, s; empty for a run by acts.
    pub stage_ends_s: Vec<f64>,
}

/// True states are kept this often, s.
const EVERY_S: f64 = 60.0;
/// Somebody quick shuts an open door within this time, s (own judgement).
const QUICK_S: f64 = 120.0;

/// The plan's stages, each ended by its own condition at once, on the true cabinet with the same faults; doors are shut
/// quickly, and a countdown that forgot is dialled on.
pub(crate) fn as_planned(cabinet: &VirtualCabinet) -> Result<Replay, RehearseError> {
    let world = &cabinet.engine.world;
    let plan = &cabinet.plan;
    let setup = &plan.assembled.setup;
    let mut batch = world.batch.clone();
    batch.interruptions.extend(quick_doors(cabinet));
    let stages: Vec<StageInput> = setup
        .stages
        .iter()
        .map(|s| StageInput { actions: world.truth.actions(&s.actions), ..s.clone() })
        .collect();
    let waits: f64 = world.cuts.iter().map(|(from, to)| to - from).sum();
    let dial_s = plan.timer.dial_s + waits;
    let options = Options {
        relative_tolerance: world.relative_tolerance,
        sample_every_s: Some(EVERY_S),
        timer_ends_s: Some(dial_s),
        ..Options::default()
    };
    let powered = run(&batch, &stages, &options, &mut |_| true)?;
    let mut samples = powered.samples;
    let unloaded_s = setup.unloaded_s(dial_s);
    if unloaded_s - dial_s >= 1.0 {
        let stand = setup.stand(dial_s, unloaded_s - dial_s);
        let options = Options { timer_ends_s: None, ..options };
        samples.extend(run_from(&batch, &powered.end, &[stand], &options, &mut |_| true)?.samples);
    }
    Ok(Replay {
        states: states_by_plan(cabinet, &samples)?,
        power_off_s: dial_s,
        unloaded_s,
        stage_ends_s: powered.stage_ends.iter().map(|e| e.sample.elapsed_s).collect(),
    })
}

/// True states of a run by the plan's stages; its swaps carry the trays' loads along.
fn states_by_plan(cabinet: &VirtualCabinet, samples: &[Sample]) -> Result<Vec<State>, RehearseError> {
    let truth = cabinet.truth().clone();
    let mut engine = first_engine(&cabinet.plan, &cabinet.cabinet, &cabinet.scenario, truth)?;
    let stages = &cabinet.plan.assembled.setup.stages;
    let mut stage = 0;
    let mut states = Vec::with_capacity(samples.len());
    for s in samples {
        while stage < s.stage {
            stage += 1;
            for action in stages.get(stage).map_or(&[][..], |s| s.actions.as_slice()) {
                if let Action::SwapGroups { a, b } = *action {
                    engine.act(&Act::SwapGroups { a, b });
                }
            }
        }
        states.push(state(s, &mut engine));
    }
    Ok(states)
}

fn quick_doors(cabinet: &VirtualCabinet) -> Vec<Interruption> {
    let doors = cabinet.scenario.faults.iter().filter(|f| f.kind == FaultKind::DoorOpen);
    let one = |f: &crate::Fault| Interruption {
        kind: InterruptionKind::DoorOpen,
        start_s: f.from_s,
        duration_s: QUICK_S,
    };
    doors.map(one).collect()
}

/// Other acts on the same cabinet; they must be in order of time and end with the unloading.
pub(crate) fn with_acts(cabinet: &VirtualCabinet, acts: &[DoneAct]) -> Result<Replay, RehearseError> {
    let truth = cabinet.truth().clone();
    let mut engine = first_engine(&cabinet.plan, &cabinet.cabinet, &cabinet.scenario, truth)?;
    let mut states: Vec<State> = Vec::new();
    let mut power_off_s = 0.0;
    let mut waiting = acts.iter().peekable();
    let unloaded_s = loop {
        let now = engine.at_s();
        let mut unloaded = false;
        while let Some(done) = waiting.next_if(|a| a.at_s <= now) {
            engine.act(&done.act);
            unloaded |= done.act == Act::Unload;
        }
        if engine.powered(now) {
            power_off_s = now;
        }
        if unloaded || now >= crate::LONGEST_S {
            break now;
        }
        let next = waiting.peek().map_or(f64::INFINITY, |a| a.at_s);
        let (block, cut) = engine.block(Some(next).filter(|s| s.is_finite()), &mut |_| true)?;
        let to = block.to_s.min(next);
        let kept = block.samples.iter().filter(|s| s.elapsed_s <= to);
        let kept = kept.filter(|s| (s.elapsed_s / EVERY_S).fract() == 0.0);
        states.extend(kept.map(|s| state(s, &mut engine)));
        if engine.powered(now) {
            power_off_s = to;
        }
        match cut {
            Some(state) if next < block.to_s => engine.stand_at(state),
            _ => engine.finish(block),
        }
    };
    Ok(Replay { states, power_off_s, unloaded_s, stage_ends_s: Vec::new() })
}

/// The acts that a plan asks for, at the instants at which its stages end.
pub(crate) fn planned_acts(plan: &Plan, stage_ends_s: &[f64], dial_s: f64) -> Vec<DoneAct> {
    let setup: &Setup = &plan.assembled.setup;
    let mut list = Vec::new();
    for (i, stage) in plan.assembled.stages.iter().enumerate() {
        let at_s = match i.checked_sub(1) {
            None => 0.0,
            Some(before) => match stage_ends_s.get(before) {
                Some(s) if *s < dial_s => *s,
                _ => break,
            },
        };
        let before = i.checked_sub(1).and_then(|b| plan.assembled.stages.get(b));
        let mut add = |act: Act| list.push(DoneAct { ordered_s: at_s, at_s, act });
        if before.is_none_or(|b| b.vent != stage.vent) {
            add(Act::Vent(stage.vent.clone()));
        }
        if before.is_none_or(|b| b.fan != stage.fan) {
            add(Act::Fan(stage.fan.clone()));
        }
        if before.is_none_or(|b| b.set_point_c != stage.set_point_c) {
            add(Act::SetPoint(stage.set_point_c));
        }
        if stage.water_added_kg > 0.0 {
            add(Act::AddWater { kilograms: stage.water_added_kg });
        }
        let actions = setup.stages.get(i).map_or(&[][..], |s| s.actions.as_slice());
        for action in actions {
            add(match *action {
                fallrate_simulate::Action::SwapGroups { a, b } => Act::SwapGroups { a, b },
                fallrate_simulate::Action::TurnTrays => Act::TurnTrays,
                fallrate_simulate::Action::TurnPieces => Act::TurnPieces,
                fallrate_simulate::Action::PullTrays { .. } => continue,
            });
        }
        if i == 0 {
            add(Act::DialTimer { dial_s: plan.timer.dial_s });
        }
    }
    list
}
