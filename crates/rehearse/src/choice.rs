//! Faults by name, with times and severity drawn from a seed.

use fallrate_equipment::Cabinet;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::{Fault, FaultKind};

/// A fault that can be asked for by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FaultChoice {
    /// Something in the way of the vent.
    BlockedVent,
    /// The fan turns slowly.
    WeakFan,
    /// A heating element has failed.
    FailedElement,
    /// The door stands open.
    DoorOpen,
    /// A core probe (where there is none, the dry bulb) drifts.
    DriftingProbe,
    /// No mains for a while.
    PowerCut,
    /// The sock of the wet bulb runs dry.
    DrySock,
    /// A core probe has slipped out.
    ProbeOut,
}

/// Stream of the seed that times and severities are drawn from; each choice has its own from here.
const CHOICES: u64 = 2000;
/// Stream of a surprise.
const SURPRISE: u64 = 2100;
/// Places of the usual sensors: dry bulb, wet bulb, first core probe.
const DRY_BULB: usize = 1;
const FIRST_CORE: usize = 3;

impl FaultChoice {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::BlockedVent,
        Self::WeakFan,
        Self::FailedElement,
        Self::DoorOpen,
        Self::DriftingProbe,
        Self::PowerCut,
        Self::DrySock,
        Self::ProbeOut,
    ];

    /// Its name in interfaces.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::BlockedVent => "blocked-vent",
            Self::WeakFan => "weak-fan",
            Self::FailedElement => "failed-element",
            Self::DoorOpen => "open-door",
            Self::DriftingProbe => "drifting-probe",
            Self::PowerCut => "power-cut",
            Self::DrySock => "dry-sock",
            Self::ProbeOut => "probe-out",
        }
    }
    /// From its name.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.word() == word)
    }
    /// The choice behind a fault.
    #[must_use]
    pub const fn of(kind: FaultKind) -> Self {
        match kind {
            FaultKind::BlockedVent { .. } => Self::BlockedVent,
            FaultKind::WeakFan { .. } => Self::WeakFan,
            FaultKind::FailedElement { .. } => Self::FailedElement,
            FaultKind::DoorOpen => Self::DoorOpen,
            FaultKind::PowerCut => Self::PowerCut,
            FaultKind::Drift { .. } => Self::DriftingProbe,
            FaultKind::DrySock => Self::DrySock,
            FaultKind::ProbeOut { .. } => Self::ProbeOut,
        }
    }
    /// Whether this cabinet can have it with its usual sensors.
    #[must_use]
    pub const fn fits(self, cabinet: &Cabinet) -> bool {
        match self {
            Self::DrySock => cabinet.ports.wet_bulb,
            Self::ProbeOut => cabinet.ports.core_probes > 0,
            _ => true,
        }
    }

    /// The fault with its time and severity (own judgement), drawn from a seed, for a run of about this length.
    #[must_use]
    pub fn fault(self, seed: u64, cabinet: &Cabinet, length_s: f64) -> Fault {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(CHOICES + self as u64);
        let mut between = |low: f64, high: f64| low + (high - low) * random.random::<f64>();
        // Probes matter while the product heats; the rest may come at any time.
        let (early, late) =
            if matches!(self, Self::ProbeOut | Self::DrySock) { (0.05, 0.25) } else { (0.1, 0.6) };
        let from_s = (between(early, late) * length_s / 60.0).round() * 60.0;
        let core = cabinet.ports.core_probes > 0;
        let kind = match self {
            Self::BlockedVent => FaultKind::BlockedVent { left: between(0.05, 0.3) },
            Self::WeakFan => FaultKind::WeakFan { left: between(0.4, 0.65) },
            Self::FailedElement => FaultKind::FailedElement { left: between(0.35, 0.67) },
            Self::DoorOpen => FaultKind::DoorOpen,
            Self::DriftingProbe => FaultKind::Drift {
                sensor: if core { FIRST_CORE } else { DRY_BULB },
                per_hour: between(1.0, 2.5),
            },
            Self::PowerCut => FaultKind::PowerCut,
            Self::DrySock => FaultKind::DrySock,
            Self::ProbeOut => FaultKind::ProbeOut { sensor: FIRST_CORE },
        };
        let minutes = between(15.0, 50.0).round();
        let until_s = (self == Self::PowerCut).then_some(from_s + minutes * 60.0);
        Fault { kind, from_s, until_s }
    }

    /// One or two faults that this seed chooses among those that fit the cabinet.
    #[must_use]
    pub fn surprise(seed: u64, cabinet: &Cabinet) -> Vec<Self> {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(SURPRISE);
        let mut left: Vec<Self> = Self::ALL.into_iter().filter(|f| f.fits(cabinet)).collect();
        let count = if random.random::<f64>() < 0.6 { 1 } else { 2 };
        let mut chosen = Vec::new();
        while chosen.len() < count && !left.is_empty() {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
            let at = ((random.random::<f64>() * left.len() as f64) as usize).min(left.len() - 1);
            chosen.push(left.remove(at));
        }
        chosen.sort();
        chosen
    }
}
