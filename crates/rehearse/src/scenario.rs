//! What is rehearsed: the seed of the hidden figures, the instruments, the faults, the pace of the trainee's hands.

use fallrate_series::Instant;

use crate::RehearseError;
use crate::sensor::{Scale, Sensor};

/// A rehearsal before it begins. The same scenario and the same acts give the same bytes.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// Seed of everything drawn.
    pub seed: u64,
    /// Seed of what belongs to the cabinet (heater, losses, leak, vent, air); none: the seed of everything. Two rehearsals
    /// with one of these are two loads in one cabinet.
    pub cabinet_seed: Option<u64>,
    /// Hidden figures are drawn this many times as wide as the plan's spreads: 1 as the plan takes them, 0 exactly the
    /// plan's figures.
    pub width: f64,
    /// How much single trays differ from their group.
    pub trays: TraySpread,
    /// Instant of the start, for the log.
    pub start: Instant,
    /// Name of the time zone, for the log.
    pub zone: String,
    /// Who practises, for the log's events.
    pub trainee: String,
    /// Sensors that write by themselves.
    pub sensors: Vec<Sensor>,
    /// The scale that trays are put on.
    pub scale: Scale,
    /// The probe that is put into a piece by hand.
    pub hand_probe: Sensor,
    /// Between the order and the hand on the cabinet, s, at least and at most; drawn for each act.
    pub hand_lag_s: (f64, f64),
    /// Faults.
    pub faults: Vec<Fault>,
    /// What the countdown does while the mains are off.
    pub timer_in_a_cut: TimerInACut,
}

/// How much single trays differ from what is known of their group, as standard deviations of the natural logarithm. Own
/// judgement: a hand that fills trays by eye, and the air of one gap between trays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TraySpread {
    /// Fresh weight of a tray; the load as a whole keeps its weight.
    pub load: f64,
    /// Air over a tray; the group as a whole keeps its air.
    pub air: f64,
}

impl Default for TraySpread {
    fn default() -> Self {
        Self { load: 0.025, air: 0.05 }
    }
}

/// What the countdown does while the mains are off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TimerInACut {
    /// It waits and goes on.
    Waits,
    /// It has forgotten; somebody must dial again.
    Forgets,
}

/// A fault with its time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fault {
    /// What.
    pub kind: FaultKind,
    /// From, s from the start.
    pub from_s: f64,
    /// To, s from the start; none: to the end, or until the trainee sees to it.
    pub until_s: Option<f64>,
}

/// What can be wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FaultKind {
    /// Something in the way of the vent: this share of its flow is left.
    BlockedVent {
        /// 0 to 1.
        left: f64,
    },
    /// The fan turns slowly: this share of the air is left.
    WeakFan {
        /// Above 0 to 1.
        left: f64,
    },
    /// An element has failed: this share of the heat is left.
    FailedElement {
        /// 0 to 1.
        left: f64,
    },
    /// The door stands open until somebody shuts it.
    DoorOpen,
    /// No mains. Needs an end.
    PowerCut,
    /// A sensor drifts, in its base unit an hour.
    Drift {
        /// Index of the sensor.
        sensor: usize,
        /// K/h, or fraction/h.
        per_hour: f64,
    },
    /// The sock of the wet bulb runs dry until somebody wets it.
    DrySock,
    /// A core probe has slipped out of its piece until somebody puts it back.
    ProbeOut {
        /// Index of the sensor.
        sensor: usize,
    },
}

/// Longest rehearsal, s (7 d).
pub const LONGEST_S: f64 = 7.0 * 86_400.0;

impl Scenario {
    /// The usual instruments of a cabinet with so many ports, no faults, quick hands.
    #[must_use]
    pub fn new(seed: u64, start: Instant, zone: &str) -> Self {
        Self {
            seed,
            cabinet_seed: None,
            width: 1.0,
            trays: TraySpread::default(),
            start,
            zone: zone.to_owned(),
            trainee: String::new(),
            sensors: Vec::new(),
            scale: Scale::default(),
            hand_probe: Sensor::hand_probe(),
            hand_lag_s: (10.0, 60.0),
            faults: Vec::new(),
            timer_in_a_cut: TimerInACut::Waits,
        }
    }

    pub(crate) fn cabinet_seed(&self) -> u64 {
        self.cabinet_seed.unwrap_or(self.seed)
    }

    pub(crate) fn check(&self) -> Result<(), RehearseError> {
        RehearseError::within("width of the hidden figures", self.width, 0.0, 3.0)?;
        RehearseError::within("spread of the trays' loads", self.trays.load, 0.0, 0.3)?;
        RehearseError::within("spread of the trays' air", self.trays.air, 0.0, 0.5)?;
        let (least, most) = self.hand_lag_s;
        RehearseError::within("least lag of the hand, s", least, 0.0, 3600.0)?;
        RehearseError::within("greatest lag of the hand, s", most, least, 3600.0)?;
        for sensor in self.sensors.iter().chain([&self.hand_probe]) {
            sensor.check()?;
        }
        self.faults.iter().try_for_each(|f| self.check_fault(f))
    }

    fn check_fault(&self, fault: &Fault) -> Result<(), RehearseError> {
        RehearseError::within("begin of a fault, s", fault.from_s, 0.0, LONGEST_S)?;
        if let Some(until) = fault.until_s {
            RehearseError::within("end of a fault, s", until, fault.from_s, LONGEST_S)?;
        }
        let known = |sensor: usize| {
            if sensor < self.sensors.len() {
                Ok(())
            } else {
                Err(RehearseError::NoSuchSensor { index: sensor, sensors: self.sensors.len() })
            }
        };
        match fault.kind {
            FaultKind::BlockedVent { left } | FaultKind::FailedElement { left } => {
                RehearseError::within("share that a fault leaves", left, 0.0, 1.0)
            }
            FaultKind::WeakFan { left } => {
                RehearseError::within("share that a fault leaves", left, 0.05, 1.0)
            }
            FaultKind::PowerCut => RehearseError::within(
                "length of a power cut, s",
                fault.until_s.unwrap_or(f64::INFINITY) - fault.from_s,
                1.0,
                86_400.0,
            ),
            FaultKind::Drift { sensor, per_hour } => {
                RehearseError::within("drift in an hour", per_hour, -50.0, 50.0)?;
                known(sensor)
            }
            FaultKind::ProbeOut { sensor } => known(sensor),
            FaultKind::DoorOpen | FaultKind::DrySock => Ok(()),
        }
    }
}
