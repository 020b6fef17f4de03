//! The hidden figures: what this cabinet and this load really are.

use fallrate_equipment::Cabinet;
use fallrate_plan::spread::Input;
use fallrate_plan::sweep::regridded;
use fallrate_plan::{Assembled, Setup};
use fallrate_simulate::{Action, Batch, Sample, TrayGroup};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use crate::scenario::TraySpread;
use crate::sensor::{Along, normal};
use crate::{GRID, Scenario};

/// What was hidden, for the debrief and for tests of estimates.
#[derive(Clone, Debug)]
pub struct Truth {
    /// Each uncertain input of the plan, in standard deviations from the plan's figure.
    pub inputs: Vec<(Input, f64)>,
    /// Each tray.
    pub trays: Vec<TrayTruth>,
    /// The batch: every tray a group of its own.
    pub(crate) batch: Batch,
    /// Trays of each of the model's groups, in their order.
    slots: Vec<Slot>,
}

/// What is true of one tray.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrayTruth {
    /// Its number, from 1, counted through the groups.
    pub number: u32,
    /// Index of its group among those that are loaded.
    pub group: usize,
    /// Its fresh weight relative to the mean tray's.
    pub load: f64,
    /// Its air relative to its group's mean.
    pub air: f64,
}

/// A group of the model: one tray, or a few where the cabinet has more trays than the model takes groups.
#[derive(Clone, Copy, Debug)]
struct Slot {
    group: usize,
    first: usize,
    trays: usize,
}

/// Groups that the model takes at the most.
const MOST_SLOTS: usize = 50;
/// Hidden figures lie within this many standard deviations, as the plan's draws do.
const FARTHEST: f64 = 2.5;
/// Streams of the seed.
const INPUTS: u64 = 1000;
const TRAYS: u64 = 2;
const TRAYS_AIR: u64 = 4;

impl Truth {
    pub(crate) fn draw(assembled: &Assembled, cabinet: &Cabinet, scenario: &Scenario) -> Self {
        let setup = &assembled.setup;
        let mut batch = regridded(&setup.batch, &GRID);
        let inputs = draw_inputs(setup, scenario, &mut batch);
        let groups = std::mem::take(&mut batch.load.groups);
        let trays = draw_trays(&groups, scenario);
        let slots = slots(&groups);
        let exponent = cabinet.heat_transfer.exponent.value;
        batch.load.groups = slots.iter().map(|s| slot_group(&groups[s.group], s, &trays, exponent)).collect();
        batch.interruptions = Vec::new();
        Self { inputs, trays, batch, slots }
    }

    /// The cabinet's and the load's true figures: name with unit, value.
    #[must_use]
    pub fn figures(&self) -> Vec<(&'static str, f64)> {
        let b = &self.batch;
        vec![
            ("thickness_m", b.material.size_m),
            ("moisture_initial_dry_basis", b.material.moisture_initial_dry_basis),
            (
                "diffusivity_fresh_at_60_degc_m2_per_s",
                b.material.diffusivity.at(b.material.moisture_initial_dry_basis, 333.15).d_m2_per_s,
            ),
            ("lateral_shrinkage_exponent", b.material.lateral_shrinkage_exponent),
            ("heat_transfer_w_per_m2_k", b.exchange.heat_transfer_w_per_m2_k),
            ("heater_w", b.chamber.heater_w),
            ("shell_loss_w_per_k", b.chamber.shell_loss_w_per_k),
            ("shell_heat_capacity_j_per_k", b.chamber.shell_heat_capacity_j_per_k),
            ("racks_heat_capacity_j_per_k", b.chamber.racks_heat_capacity_j_per_k),
            ("leakage_kg_per_s", b.chamber.leakage_kg_per_s),
            ("vent_full_kg_per_s", b.chamber.vent_full_kg_per_s),
            ("room_temperature_c", b.room.temperature_c),
            ("room_relative_humidity", b.room.relative_humidity),
        ]
    }

    /// The room: degC, relative humidity as a fraction.
    #[must_use]
    pub fn room(&self) -> (f64, f64) {
        (self.batch.room.temperature_c, self.batch.room.relative_humidity)
    }

    /// The model's group that a tray stands in; none for a tray that is not loaded.
    pub(crate) fn slot(&self, tray: u32) -> Option<usize> {
        let index = (tray as usize).checked_sub(1).filter(|i| *i < self.trays.len())?;
        self.slots.iter().position(|s| (s.first..s.first + s.trays).contains(&index))
    }

    /// Actions of a plan, which names groups, as the model of single trays takes them.
    pub(crate) fn actions(&self, actions: &[Action]) -> Vec<Action> {
        let of = |group: usize| -> Vec<usize> {
            (0..self.slots.len()).filter(|&i| self.slots[i].group == group).collect()
        };
        let one = |action: &Action| match *action {
            Action::SwapGroups { a, b } => {
                of(a).into_iter().zip(of(b)).map(|(a, b)| Action::SwapGroups { a, b }).collect()
            }
            Action::PullTrays { group, trays } => {
                let share = trays / of(group).iter().map(|&i| self.slots[i].trays as f64).sum::<f64>();
                of(group)
                    .into_iter()
                    .map(|i| Action::PullTrays { group: i, trays: share * self.slots[i].trays as f64 })
                    .collect()
            }
            other => vec![other],
        };
        actions.iter().flat_map(one).collect()
    }

    /// Trays of a slot.
    #[allow(clippy::cast_precision_loss)]
    pub(crate) fn trays_of(&self, slot: usize) -> f64 {
        self.slots[slot].trays as f64
    }

    /// Slots of the model.
    pub(crate) fn slot_count(&self) -> usize {
        self.slots.len()
    }

    /// Core of a piece, degC; NaN for a tray that is not loaded.
    pub(crate) fn core_c(&self, s: &Sample, tray: u32, along: Along) -> f64 {
        let Some(slot) = self.slot(tray) else { return f64::NAN };
        let own: Vec<f64> = s.pieces.iter().filter(|p| p.group == slot).map(|p| p.core_c).collect();
        let at = match along {
            Along::Entering => 0,
            Along::Middle => own.len() / 2,
            Along::Leaving => own.len().saturating_sub(1),
        };
        own.get(at).copied().unwrap_or(f64::NAN)
    }

    /// Mean moisture of a slot, kg/kg dry basis.
    pub(crate) fn slot_moisture(&self, s: &Sample, slot: usize) -> f64 {
        let own = s.pieces.iter().filter(|p| p.group == slot);
        let (sum, share) = own.fold((0.0, 0.0), |(sum, share), p| {
            (sum + p.load_share * p.moisture_dry_basis, share + p.load_share)
        });
        sum / share
    }

    /// Water activity of the product at a moisture, equalised at 25 degC.
    pub(crate) fn activity(&self, moisture_dry_basis: f64) -> f64 {
        self.batch.material.sorption.activity(moisture_dry_basis, 298.15).aw
    }

    /// The tray of the piece that warms last at a state: the coldest core.
    pub(crate) fn slowest_tray(&self) -> u32 {
        let air = |s: &Slot| {
            let g = &self.batch.load.groups[self.slot_of(s)];
            g.air_share / g.loaded_trays
        };
        let slot = self.slots.iter().min_by(|a, b| air(a).total_cmp(&air(b)));
        slot.map_or(1, |s| u32::try_from(s.first).unwrap_or(0) + 1)
    }

    fn slot_of(&self, slot: &Slot) -> usize {
        self.slots.iter().position(|s| s.first == slot.first).unwrap_or(0)
    }
}

/// Each input has a stream of its own: the figure that one seed hides in it does not depend on what else is uncertain, so
/// that a cabinet of one seed is the same cabinet for every product and in every test of it.
fn draw_inputs(setup: &Setup, scenario: &Scenario, batch: &mut Batch) -> Vec<(Input, f64)> {
    let mut list = Vec::with_capacity(setup.spreads.len());
    for spread in &setup.spreads {
        let seed = if of_cabinet(spread.input) { scenario.cabinet_seed() } else { scenario.seed };
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(INPUTS + spread.input as u64);
        let z = (scenario.width * normal(&mut random)).clamp(-FARTHEST, FARTHEST);
        spread.apply(batch, z);
        list.push((spread.input, z));
    }
    list
}

/// What belongs to the cabinet and stays from batch to batch.
const fn of_cabinet(input: Input) -> bool {
    matches!(
        input,
        Input::Exchange
            | Input::AirShare
            | Input::Leakage
            | Input::VentFlow
            | Input::HeaterPower
            | Input::ShellLoss
    )
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn count(group: &TrayGroup) -> usize {
    group.loaded_trays.round().max(1.0) as usize
}

/// Each tray's load and air; the loads average 1 over all, the air 1 over each group.
#[allow(clippy::cast_precision_loss)]
fn draw_trays(groups: &[TrayGroup], scenario: &Scenario) -> Vec<TrayTruth> {
    let TraySpread { load, air } = scenario.trays;
    let stream = |seed, stream| {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(stream);
        random
    };
    let mut hand = stream(scenario.seed, TRAYS);
    let mut channel = stream(scenario.cabinet_seed(), TRAYS_AIR);
    let mut list: Vec<TrayTruth> = Vec::new();
    for (group, g) in groups.iter().enumerate() {
        let from = list.len();
        for _ in 0..count(g) {
            let (l, a) = ((load * normal(&mut hand)).exp(), (air * normal(&mut channel)).exp());
            let number = u32::try_from(list.len() + 1).unwrap_or(u32::MAX);
            list.push(TrayTruth { number, group, load: l, air: a });
        }
        let mean = list[from..].iter().map(|t| t.air).sum::<f64>() / (list.len() - from) as f64;
        list[from..].iter_mut().for_each(|t| t.air /= mean);
    }
    let mean = list.iter().map(|t| t.load).sum::<f64>() / list.len().max(1) as f64;
    list.iter_mut().for_each(|t| t.load /= mean);
    list
}

/// Every tray a slot, or a few together where there are too many trays.
fn slots(groups: &[TrayGroup]) -> Vec<Slot> {
    let all: usize = groups.iter().map(count).sum();
    let each = all.div_ceil(MOST_SLOTS.saturating_sub(groups.len()).max(1)).max(1);
    let mut list = Vec::new();
    let mut first = 0;
    for (group, g) in groups.iter().enumerate() {
        let end = first + count(g);
        while first < end {
            let trays = each.min(end - first);
            list.push(Slot { group, first, trays });
            first += trays;
        }
    }
    list
}

#[allow(clippy::cast_precision_loss)]
fn slot_group(group: &TrayGroup, slot: &Slot, trays: &[TrayTruth], exponent: f64) -> TrayGroup {
    let own = &trays[slot.first..slot.first + slot.trays];
    let air = own.iter().map(|t| t.air).sum::<f64>() / own.len() as f64;
    let share = slot.trays as f64 / count(group) as f64;
    TrayGroup {
        loaded_trays: group.loaded_trays * share,
        air_share: group.air_share * share * air,
        heat_transfer_share: group.heat_transfer_share * air.powf(exponent),
        shell_view: group.shell_view,
    }
}
