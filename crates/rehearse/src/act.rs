//! What a trainee can do.

use fallrate_schedule::{FanSetting, VentSetting};

use crate::sensor::Along;

/// One act.
#[derive(Clone, Debug, PartialEq)]
pub enum Act {
    /// Set point, degC; none: heater off.
    SetPoint(Option<f64>),
    /// Vent to a mark or an opening.
    Vent(VentSetting),
    /// Fan step.
    Fan(FanSetting),
    /// Door.
    Door {
        /// Open or shut.
        open: bool,
    },
    /// Dial the countdown and start it; the power goes off when it has run down.
    DialTimer {
        /// s, in steps of the dial.
        dial_s: f64,
    },
    /// Main switch; switching off clears the countdown, switching on runs without one.
    Power {
        /// On or off.
        on: bool,
    },
    /// Water into the chamber, over an hour.
    AddWater {
        /// kg
        kilograms: f64,
    },
    /// Wet the sock of the wet bulb.
    WetSock,
    /// Put a core probe back into its piece.
    ReseatProbe {
        /// Index of the sensor.
        sensor: usize,
    },
    /// The trays of two groups change places.
    SwapGroups {
        /// Index of a group among those that are loaded.
        a: usize,
        /// Index of the other.
        b: usize,
    },
    /// Every tray is turned end for end.
    TurnTrays,
    /// Every piece is turned over.
    TurnPieces,
    /// Trays are taken out for good.
    TakeOut {
        /// Numbers of the trays.
        trays: Vec<u32>,
    },
    /// A tray is put on the scale and back.
    Weigh {
        /// Number of the tray.
        tray: u32,
    },
    /// A probe is put into a piece by hand and read.
    ReadCore {
        /// Number of the tray.
        tray: u32,
        /// Where on it.
        along: Along,
    },
    /// Everything is taken out: the end.
    Unload,
}

impl Act {
    /// How long the hands are busy, s, and whether the door is open meanwhile. Common practice, no source.
    #[must_use]
    pub const fn busy(&self) -> (f64, bool) {
        match self {
            Self::Weigh { .. } | Self::ReadCore { .. } | Self::ReseatProbe { .. } => (45.0, true),
            Self::WetSock => (30.0, true),
            Self::SwapGroups { .. } | Self::TurnTrays => (240.0, true),
            Self::TurnPieces => (600.0, true),
            Self::TakeOut { .. } | Self::AddWater { .. } => (60.0, true),
            Self::SetPoint(_)
            | Self::Vent(_)
            | Self::Fan(_)
            | Self::Door { .. }
            | Self::DialTimer { .. }
            | Self::Power { .. }
            | Self::Unload => (10.0, false),
        }
    }
    /// Name, for messages.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::SetPoint(_) => "set point",
            Self::Vent(_) => "vent",
            Self::Fan(_) => "fan",
            Self::Door { .. } => "door",
            Self::DialTimer { .. } => "timer",
            Self::Power { .. } => "power switch",
            Self::AddWater { .. } => "water",
            Self::WetSock => "wetting of the sock",
            Self::ReseatProbe { .. } => "seat of a probe",
            Self::SwapGroups { .. } => "swap of groups",
            Self::TurnTrays => "turn of the trays",
            Self::TurnPieces => "turn of the pieces",
            Self::TakeOut { .. } => "trays out",
            Self::Weigh { .. } => "weighing",
            Self::ReadCore { .. } => "core reading",
            Self::Unload => "unloading",
        }
    }
}

/// An act with its times, s from the start.
#[derive(Clone, Debug, PartialEq)]
pub struct DoneAct {
    /// When it was ordered.
    pub ordered_s: f64,
    /// When the hand was there.
    pub at_s: f64,
    /// What.
    pub act: Act,
}
