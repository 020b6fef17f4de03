//! Stages, their ends, interruptions and actions as plain validated data. No physics and no clock here.
//!
//! Vent marks, fan steps and tray groups are named as the cabinet names them; whoever has the cabinet resolves the names.
//! [`Schedule::new`] refuses what contradicts itself and names every fault.
//!
//! ```
//! use fallrate_schedule::{EndCondition, FanSetting, Schedule, Stage, VentSetting};
//! let warm_up = Stage {
//!     set_point_c: Some(71.0),
//!     ends: vec![EndCondition::CoreRise { kelvin: 20.0 }],
//!     at_most_s: Some(7200.0),
//!     ..Stage::new("warm-up", VentSetting::Mark("shut".to_owned()), FanSetting::Step("full".to_owned()))
//! };
//! assert!(Schedule::new(vec![warm_up.clone()], vec![]).is_ok());
//! let faults = Schedule::new(vec![warm_up.clone(), warm_up], vec![]).expect_err("the name twice");
//! assert_eq!(faults[0].to_string(), "stage 2 'warm-up': named like stage 1; allowed: a name of its own");
//! ```

mod end;
mod error;
mod interruption;
mod rules;
mod stage;

pub use end::{EndCondition, Piece};
pub use error::ScheduleError;
pub use interruption::{Interruption, InterruptionKind};
pub use stage::{Action, FanSetting, Stage, VentSetting};

/// Longest stage, interruption and whole schedule, s (7 d).
pub const LONGEST_S: f64 = 7.0 * 86_400.0;
/// Set points a stage may ask for, degC; the cabinet's own range is narrower.
pub const SET_POINT_RANGE_C: std::ops::RangeInclusive<f64> = 15.0..=95.0;
/// Most stages of a schedule.
pub const MOST_STAGES: usize = 60;

/// A validated list of stages with the interruptions expected or met.
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule {
    stages: Vec<Stage>,
    interruptions: Vec<Interruption>,
}

impl Schedule {
    /// Checks stages and interruptions. Interruptions are put in the order of their start.
    ///
    /// # Errors
    /// Every fault found, stages first, in order.
    pub fn new(stages: Vec<Stage>, mut interruptions: Vec<Interruption>) -> Result<Self, Vec<ScheduleError>> {
        let faults = rules::faults(&stages, &interruptions);
        if !faults.is_empty() {
            return Err(faults);
        }
        interruptions.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
        Ok(Self { stages, interruptions })
    }
    /// The stages in order; at least one.
    #[must_use]
    pub fn stages(&self) -> &[Stage] {
        &self.stages
    }
    /// The interruptions by their start.
    #[must_use]
    pub fn interruptions(&self) -> &[Interruption] {
        &self.interruptions
    }
}
