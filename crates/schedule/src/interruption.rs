//! Things that happen to a run from outside its stages.

use crate::VentSetting;

/// Kind of interruption.
#[derive(Clone, Debug, PartialEq)]
pub enum InterruptionKind {
    /// Heater and fan without power, the vent as left.
    PowerOff,
    /// Door open; its switch stops heater and fan.
    DoorOpen,
    /// The fan stands still; the heater's interlock cuts it out.
    FanLost,
    /// The vent stands elsewhere than the stage says.
    VentMoved(VentSetting),
    /// Trays of a group are out of the cabinet and come back.
    TraysPulled {
        /// Name of the group.
        group: String,
        /// How many.
        trays: u32,
    },
}

impl InterruptionKind {
    /// Short name, for messages.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::PowerOff => "power off",
            Self::DoorOpen => "door open",
            Self::FanLost => "fan lost",
            Self::VentMoved(_) => "vent moved",
            Self::TraysPulled { .. } => "trays pulled",
        }
    }
}

/// Something that happens at a time of the run, whatever the stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Interruption {
    /// Kind.
    pub kind: InterruptionKind,
    /// Since the start of the run, s.
    pub start_s: f64,
    /// How long it lasts, s.
    pub duration_s: f64,
}
