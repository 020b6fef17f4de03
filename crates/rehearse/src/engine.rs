//! The model behind the cabinet's door: settings, their timed changes, and the state carried from block to block.
//!
//! A block runs from one change of the settings to the next, ten minutes at the most. What the trainee does is not known
//! when a block is computed, so an act inside it takes the state from the block's own solution at its instant: the same
//! acts give the same bytes however often somebody looks.

use std::sync::Arc;

use fallrate_equipment::Cabinet;
use fallrate_plan::{interruption_kind, stage_input};
use fallrate_schedule as schedule;
use fallrate_simulate::{
    Action, Batch, Interruption, InterruptionKind, Options, Sample, SimulateError, Snapshot, StageInput,
    run_from, start,
};

use crate::scenario::{Fault, FaultKind, TimerInACut};
use crate::truth::Truth;
use crate::{Act, GRID_S, RehearseError, Scenario};

/// Longest block, s.
const BLOCK_S: f64 = 600.0;
/// Water put in is given off over this time, s (as a plan takes it).
const WATER_S: f64 = 3600.0;
/// What a tray that was taken out leaves in the model, which keeps at least something in each of its groups.
const LEFT_IN: f64 = 1e-3;

/// What never changes during a rehearsal.
#[derive(Clone, Debug)]
pub(crate) struct World {
    pub truth: Truth,
    pub cabinet: Cabinet,
    pub trays_by_group: Vec<u32>,
    pub batch: Batch,
    pub cuts: Vec<(f64, f64)>,
    pub timer_in_a_cut: TimerInACut,
    pub relative_tolerance: f64,
}

impl World {
    pub fn new(
        truth: Truth,
        cabinet: &Cabinet,
        trays_by_group: &[u32],
        scenario: &Scenario,
    ) -> Result<Self, RehearseError> {
        let mut batch = truth.batch.clone();
        batch.interruptions = interruptions(&scenario.faults, cabinet, trays_by_group)?;
        let cut = |f: &Fault| match (f.kind, f.until_s) {
            (FaultKind::PowerCut, Some(until)) => Some((f.from_s, until)),
            _ => None,
        };
        let mut cuts: Vec<(f64, f64)> = scenario.faults.iter().filter_map(cut).collect();
        cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
        Ok(Self {
            truth,
            cabinet: cabinet.clone(),
            trays_by_group: trays_by_group.to_vec(),
            batch,
            cuts,
            timer_in_a_cut: scenario.timer_in_a_cut,
            relative_tolerance: crate::GRID.relative_tolerance,
        })
    }

    /// When a countdown dialled at an instant has run down, s.
    fn timer_ends_s(&self, from_s: f64, dial_s: f64) -> f64 {
        let mut end = from_s + dial_s;
        for (cut, back) in self.cuts.iter().filter(|c| c.1 > from_s) {
            if *cut >= end {
                break;
            }
            match self.timer_in_a_cut {
                TimerInACut::Forgets => return cut.max(from_s),
                TimerInACut::Waits => end += back - cut.max(from_s),
            }
        }
        end
    }

    /// The mains are on.
    pub fn mains(&self, at_s: f64) -> bool {
        !self.cuts.iter().any(|(from, to)| (*from..*to).contains(&at_s))
    }
}

/// Faults that the model follows by itself.
fn interruptions(
    faults: &[Fault],
    cabinet: &Cabinet,
    trays_by_group: &[u32],
) -> Result<Vec<Interruption>, RehearseError> {
    let exponent = cabinet.heat_transfer.exponent.value;
    let mut list = Vec::new();
    for f in faults {
        let kind = match f.kind {
            FaultKind::BlockedVent { left } => InterruptionKind::VentBlocked(left),
            FaultKind::WeakFan { left } => {
                InterruptionKind::FanWeak { flow_share: left, exchange_share: left.powf(exponent) }
            }
            FaultKind::FailedElement { left } => InterruptionKind::HeaterWeak(left),
            FaultKind::PowerCut => {
                interruption_kind(&schedule::InterruptionKind::PowerOff, cabinet, trays_by_group)?
            }
            _ => continue,
        };
        let until = f.until_s.unwrap_or(2.0 * crate::LONGEST_S);
        list.push(Interruption { kind, start_s: f.from_s, duration_s: until - f.from_s });
    }
    Ok(list)
}

/// The knobs and switches as they stand.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Knobs {
    pub set_point_c: Option<f64>,
    pub vent: schedule::VentSetting,
    pub fan: schedule::FanSetting,
    pub door_open: bool,
    pub switched_on: bool,
    /// End of the countdown; none: not in use.
    pub timer_ends_s: Option<f64>,
    /// The hand shuts the door again at this time.
    pub door_shuts_s: Option<f64>,
    pub water: Option<(f64, f64)>,
}

/// A stretch that was computed.
#[derive(Clone, Debug)]
pub(crate) struct Block {
    pub to_s: f64,
    pub samples: Vec<Sample>,
    end: Snapshot,
}

/// State and settings at an instant.
#[derive(Clone, Debug)]
pub(crate) struct Engine {
    pub world: Arc<World>,
    pub knobs: Knobs,
    at: Snapshot,
    /// Done as the next block begins.
    actions: Vec<Action>,
    /// Trays that are out for good, by the model's groups.
    pub out: Vec<bool>,
    /// Moisture with which those trays went out, kg/kg dry basis.
    left_at: Vec<Option<f64>>,
    /// Fresh weight of the tray in each place relative to the mean tray's; it goes with a tray that is swapped.
    pub loads: Vec<f64>,
    /// Door faults, s, that have not come yet.
    doors: Vec<f64>,
}

impl Engine {
    pub fn new(world: World, knobs: Knobs, faults: &[Fault]) -> Result<Self, RehearseError> {
        let at = start(&world.batch)?;
        let mut doors: Vec<f64> =
            faults.iter().filter(|f| f.kind == FaultKind::DoorOpen).map(|f| f.from_s).collect();
        doors.sort_by(f64::total_cmp);
        let out = vec![false; world.truth.slot_count()];
        let loads = world.truth.trays.iter().map(|t| t.load).collect();
        let left_at = vec![None; out.len()];
        let world = Arc::new(world);
        let mut engine = Self { world, knobs, at, actions: Vec::new(), out, left_at, loads, doors };
        engine.turn();
        Ok(engine)
    }

    /// s from the start.
    pub fn at_s(&self) -> f64 {
        self.at.elapsed_s
    }

    /// Switch, countdown and mains let heater and fan run.
    pub fn powered(&self, at_s: f64) -> bool {
        self.knobs.switched_on
            && self.world.mains(at_s)
            && self.knobs.timer_ends_s.is_none_or(|end| at_s < end)
    }

    /// Where the present block ends for certain.
    fn block_end(&self) -> f64 {
        let t = self.at_s();
        let mut end = t + BLOCK_S;
        let times = [self.knobs.timer_ends_s, self.knobs.door_shuts_s, self.knobs.water.map(|w| w.1)];
        for s in times.into_iter().flatten().chain(self.doors.iter().copied()).filter(|s| *s > t) {
            end = end.min(s);
        }
        end
    }

    fn stage(&self) -> Result<StageInput, RehearseError> {
        let k = &self.knobs;
        let on = k.switched_on && k.timer_ends_s.is_none_or(|end| self.at_s() < end);
        let fan = if on { k.fan.clone() } else { schedule::FanSetting::Off };
        let mut stage = schedule::Stage::new("rehearsal", k.vent.clone(), fan);
        stage.set_point_c = k.set_point_c.filter(|_| on && stage.fan != schedule::FanSetting::Off);
        stage.at_most_s = Some(WATER_S);
        stage.water_added_kg = k.water.map_or(0.0, |w| w.0);
        let mut input = stage_input(&stage, &self.world.cabinet, &self.world.trays_by_group)?;
        input.at_most_s = None;
        input.door_open = k.door_open;
        input.actions.clone_from(&self.actions);
        Ok(input)
    }

    /// Computes the stretch up to the next change of the settings; and the state at an instant inside it, if asked for.
    pub fn block(
        &self,
        cut_s: Option<f64>,
        progress: &mut dyn FnMut(f64) -> bool,
    ) -> Result<(Block, Option<Snapshot>), RehearseError> {
        let (from, to) = (self.at_s(), self.block_end());
        let options = Options {
            relative_tolerance: self.world.relative_tolerance,
            sample_every_s: None,
            samples_at_s: grid(from, to),
            snapshots_at_s: cut_s.into_iter().collect(),
            timer_ends_s: Some(to),
            ..Options::default()
        };
        let run = run_from(&self.world.batch, &self.at, &[self.stage()?], &options, progress);
        let mut run = run.map_err(|e| match e {
            SimulateError::Cancelled { .. } => RehearseError::Cancelled,
            other => other.into(),
        })?;
        // The end of the stretch is sampled by itself; the grid has its own.
        run.samples.pop();
        Ok((Block { to_s: to, samples: run.samples, end: run.end }, run.snapshots.into_iter().next()))
    }

    /// Goes on to the end of a block that was computed.
    pub fn finish(&mut self, block: Block) {
        self.at = block.end;
        self.actions.clear();
        self.turn();
    }

    /// Stands at an instant inside the block.
    pub fn stand_at(&mut self, state: Snapshot) {
        self.at = state;
        self.actions.clear();
    }

    /// Changes of the settings that are due at the present instant.
    fn turn(&mut self) {
        let t = self.at_s();
        let k = &mut self.knobs;
        if k.door_shuts_s.is_some_and(|s| s <= t) {
            k.door_open = false;
            k.door_shuts_s = None;
        }
        if k.water.is_some_and(|w| w.1 <= t) {
            k.water = None;
        }
        while self.doors.first().is_some_and(|s| *s <= t) {
            self.doors.remove(0);
            k.door_open = true;
            k.door_shuts_s = None;
        }
    }

    /// What an act changes, at the present instant.
    pub fn act(&mut self, act: &Act) {
        let t = self.at_s();
        let (busy_s, door) = act.busy();
        if door && !self.knobs.door_open {
            self.knobs.door_open = true;
            self.knobs.door_shuts_s = Some(t + busy_s);
        }
        let k = &mut self.knobs;
        match act {
            Act::SetPoint(c) => k.set_point_c = *c,
            Act::Vent(v) => k.vent = v.clone(),
            Act::Fan(f) => k.fan = f.clone(),
            Act::Door { open } => {
                k.door_open = *open;
                k.door_shuts_s = None;
            }
            Act::DialTimer { dial_s } => {
                k.timer_ends_s = Some(self.world.timer_ends_s(t, *dial_s));
                k.switched_on = true;
            }
            Act::Power { on } => {
                k.switched_on = *on;
                k.timer_ends_s = None;
            }
            Act::AddWater { kilograms } => k.water = Some((*kilograms, t + WATER_S)),
            Act::SwapGroups { a, b } => {
                self.do_to_load(Action::SwapGroups { a: *a, b: *b });
                self.swap_loads(*a, *b);
            }
            Act::TurnTrays => self.do_to_load(Action::TurnTrays),
            Act::TurnPieces => self.do_to_load(Action::TurnPieces),
            Act::TakeOut { trays } => self.take_out(trays),
            Act::WetSock
            | Act::ReseatProbe { .. }
            | Act::Weigh { .. }
            | Act::ReadCore { .. }
            | Act::Unload => {}
        }
    }

    fn do_to_load(&mut self, action: Action) {
        let actions = self.world.truth.actions(&[action]);
        self.actions.extend(actions);
    }

    fn swap_loads(&mut self, a: usize, b: usize) {
        let places = |group: usize| -> Vec<usize> {
            let trays = self.world.truth.trays.iter().enumerate();
            trays.filter(|(_, t)| t.group == group).map(|(i, _)| i).collect()
        };
        let pairs: Vec<(usize, usize)> = places(a).into_iter().zip(places(b)).collect();
        pairs.into_iter().for_each(|(i, j)| self.loads.swap(i, j));
    }

    /// Mean moisture in each tray's place at a state, kg/kg dry basis; of a tray that is out, as it went out.
    pub fn trays_dry_basis(&mut self, s: &Sample) -> Vec<f64> {
        let truth = &self.world.truth;
        let of = |slot: usize| {
            let now = truth.slot_moisture(s, slot);
            if self.out[slot] { *self.left_at[slot].get_or_insert(now) } else { now }
        };
        let slots: Vec<f64> = (0..truth.slot_count()).map(of).collect();
        let tray = |number: u32| truth.slot(number).and_then(|i| slots.get(i).copied());
        truth.trays.iter().map(|t| tray(t.number).unwrap_or(f64::NAN)).collect()
    }

    /// Product on each tray at these moistures, by its place, kg.
    pub fn trays_kg(&self, trays_dry_basis: &[f64]) -> Vec<f64> {
        let batch = &self.world.truth.batch;
        let solids = batch.load.fresh_kg_per_tray / (1.0 + batch.material.moisture_initial_dry_basis);
        self.loads.iter().zip(trays_dry_basis).map(|(load, x)| load * solids * (1.0 + x)).collect()
    }

    fn take_out(&mut self, trays: &[u32]) {
        let slots: Vec<usize> = trays.iter().filter_map(|t| self.world.truth.slot(*t)).collect();
        for slot in slots.into_iter().filter(|s| !std::mem::replace(&mut self.out[*s], true)) {
            let trays = self.world.truth.trays_of(slot) * (1.0 - LEFT_IN);
            self.actions.push(Action::PullTrays { group: slot, trays });
        }
    }
}

/// Instants of the grid after `from` up to `to`; the start of the run as well.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn grid(from: f64, to: f64) -> Vec<f64> {
    let first = if from == 0.0 { 0 } else { (from / GRID_S).floor() as u64 + 1 };
    (first..).map(|k| k as f64 * GRID_S).take_while(|t| *t <= to).collect()
}
