//! One stage of a schedule.

use crate::EndCondition;

/// What the vent does during a stage.
#[derive(Clone, Debug, PartialEq)]
pub enum VentSetting {
    /// On one of the cabinet's marks.
    Mark(String),
    /// At an opening, share of fully open.
    Opening(f64),
    /// Moved by hand or by a drive so that the chamber's relative humidity stays near a target, fraction.
    HoldRh(f64),
}

/// What the fan does during a stage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FanSetting {
    /// On one of the cabinet's steps.
    Step(String),
    /// On the cabinet's strongest step, whatever its name.
    Strongest,
    /// Standing still.
    Off,
}

/// Done by hand as a stage begins.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Action {
    /// The trays of two groups change places.
    SwapGroups {
        /// Name of a group.
        a: String,
        /// Name of the other.
        b: String,
    },
    /// Every tray is turned end for end.
    TurnTrays,
    /// Every piece is turned over.
    TurnPieces,
    /// Trays of a group are taken out for good.
    PullTrays {
        /// Name of the group.
        group: String,
        /// How many.
        trays: u32,
    },
}

/// A stage: settings held until the first of its ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// Name, unique in the schedule.
    pub name: String,
    /// Set point, degC; `None` leaves the heater off.
    pub set_point_c: Option<f64>,
    /// Vent.
    pub vent: VentSetting,
    /// Fan.
    pub fan: FanSetting,
    /// Water put into the chamber on purpose, evenly over the stage, kg.
    pub water_added_kg: f64,
    /// The stage ends when the first of these is reached.
    pub ends: Vec<EndCondition>,
    /// It ends after this time in any case, s.
    pub at_most_s: Option<f64>,
    /// Done as it begins.
    pub actions: Vec<Action>,
}

impl Stage {
    /// A stage with the heater off, no water, no end and no action; fill in the rest.
    #[must_use]
    pub fn new(name: &str, vent: VentSetting, fan: FanSetting) -> Self {
        Self {
            name: name.to_owned(),
            set_point_c: None,
            vent,
            fan,
            water_added_kg: 0.0,
            ends: Vec::new(),
            at_most_s: None,
            actions: Vec::new(),
        }
    }
    /// The latest time after which the stage has ended for certain, s; `None` where only a measured end ends it.
    #[must_use]
    pub fn longest_s(&self) -> Option<f64> {
        let elapsed = self.ends.iter().filter_map(|e| match e {
            EndCondition::Elapsed { seconds } => Some(*seconds),
            _ => None,
        });
        elapsed.chain(self.at_most_s).reduce(f64::min)
    }
}
