//! Everything a plan computes with, resolved to numbers: the batch, its powered stages, the target, the stand after
//! the power is off, the timer and the money.

use fallrate_simulate::{Batch, Piece, Room, StageInput};
use fallrate_units::TimeOfDay;

use crate::request::{MoneyRequest, StaffedHours, Window};
use crate::spread::Spread;

/// A day, s.
pub(crate) const DAY_S: f64 = 86_400.0;

/// The end the batch is dried to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Target {
    /// Which piece must meet it at unloading.
    pub piece: Piece,
    /// Moisture, kg/kg dry basis.
    pub moisture_dry_basis: f64,
    /// Water activity asked for, where the target was given so.
    pub water_activity: Option<f64>,
}

/// When the product leaves the cabinet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unloading {
    /// As the timer ends.
    AtOnce,
    /// When someone is next there; from power-off till then the load stands in the warm cabinet.
    NextStaffed,
    /// At the first such clock time at or after power-off; from power-off till then the load stands in the warm cabinet.
    At {
        /// The first such clock time of the run, s from its start; the others follow a day apart.
        elapsed_s: f64,
    },
}

/// The countdown timer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dial {
    /// Smallest step, s.
    pub step_s: f64,
    /// Longest time, s.
    pub maximum_s: f64,
    /// When it is dialled, s from the start of the run: 0 for a plan, later where a run under way is dialled anew.
    pub from_s: f64,
}

/// A plan's inputs in numbers.
#[derive(Clone, Debug)]
pub struct Setup {
    /// The batch.
    pub batch: Batch,
    /// Powered stages in order; the last has no end of its own: the timer or the target ends it.
    pub stages: Vec<StageInput>,
    /// How far above each stage's set point an on/off heater holds on the mean, K; empty for a steady heater.
    pub relay_shifts_k: Vec<f64>,
    /// Target.
    pub target: Target,
    /// Highest water activity at which the product may stand warm, and the range in which it must not (growth), degC.
    pub stand_limit: Option<StandLimit>,
    /// When it is unloaded.
    pub unloading: Unloading,
    /// Room by night and the hours it holds, for a stand whose middle falls into them.
    pub stand_room: Option<(Room, Window)>,
    /// Vent opening during the stand.
    pub stand_vent_opening: f64,
    /// Timer.
    pub dial: Dial,
    /// Clock time of the start.
    pub start: TimeOfDay,
    /// Staffed hours of a day; none: somebody is always there.
    pub staffed: Option<StaffedHours>,
    /// Prices.
    pub money: MoneyRequest,
    /// Uncertain inputs.
    pub spreads: Vec<Spread>,
}

/// When a stand is refused.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StandLimit {
    /// Highest water activity of the wettest piece at power-off.
    pub water_activity: f64,
    /// Growth range, degC.
    pub growth_from_c: f64,
    /// Growth range, degC.
    pub growth_to_c: f64,
}

impl Setup {
    /// Clock time of an instant of the run.
    #[must_use]
    pub fn clock(&self, elapsed_s: f64) -> TimeOfDay {
        TimeOfDay::from_seconds(self.start.seconds() + elapsed_s)
    }

    /// Whether someone is there at an instant of the run.
    #[must_use]
    pub fn is_staffed(&self, elapsed_s: f64) -> bool {
        self.staffed.as_ref().is_none_or(|s| s.is_staffed(self.clock(elapsed_s)))
    }

    /// The next instant at or after one at which someone is there, s; the same where it is staffed.
    #[must_use]
    pub fn next_staffed(&self, elapsed_s: f64) -> f64 {
        let wait = self.staffed.as_ref().and_then(|s| s.wait_from(self.clock(elapsed_s)));
        elapsed_s + wait.map_or(0.0, |w| w.seconds())
    }

    /// When the load is taken out if the power goes off at an instant of the run, s.
    #[must_use]
    pub fn unloaded_s(&self, power_off_s: f64) -> f64 {
        match self.unloading {
            Unloading::AtOnce => power_off_s,
            Unloading::NextStaffed => self.next_staffed(power_off_s),
            Unloading::At { elapsed_s } => {
                let days = ((power_off_s - elapsed_s) / DAY_S).ceil().max(0.0);
                elapsed_s + days * DAY_S
            }
        }
    }

    /// The stages with the target as the end of the last.
    #[must_use]
    pub fn stages_to_target(&self) -> Vec<StageInput> {
        let mut stages = self.stages.clone();
        if let Some(last) = stages.last_mut() {
            last.ends = vec![fallrate_simulate::EndCondition::Moisture {
                piece: self.target.piece,
                dry_basis: self.target.moisture_dry_basis,
            }];
            last.at_most_s = None;
        }
        stages
    }

    /// The stand of some seconds after power-off at an instant of the run, as a stage. It has the night's room air where its
    /// middle falls into the night.
    #[must_use]
    pub fn stand(&self, power_off_s: f64, seconds: f64) -> StageInput {
        let middle = self.clock(power_off_s + 0.5 * seconds);
        let room = self.stand_room.filter(|(_, hours)| hours.contains(middle)).map(|(room, _)| room);
        StageInput {
            name: "stand".to_owned(),
            set_point_c: None,
            vent: fallrate_simulate::VentSetting::Opening(self.stand_vent_opening),
            fan: None,
            door_open: false,
            added_water: None,
            ends: vec![fallrate_simulate::EndCondition::Elapsed { seconds }],
            at_most_s: None,
            actions: Vec::new(),
            room,
        }
    }
}
