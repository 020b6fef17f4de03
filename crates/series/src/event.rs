//! What happened during a run, recorded or entered.

use serde::{Deserialize, Serialize};

use crate::{Instant, ProofProvenance};

/// Something that happened during a run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Event {
    /// When it happened or began.
    pub at: Instant,
    /// When it ended; `None` for a moment or where the end is not known.
    pub until: Option<Instant>,
    /// What it was.
    pub kind: EventKind,
    /// Recorded by an instrument or written by a person.
    pub provenance: ProofProvenance,
    /// Who wrote it, where a person did.
    pub by: String,
    /// Their words.
    pub note: String,
    /// Index of the source in [`crate::Log::sources`] whose clock gave the times; `None` for times on the clock that a
    /// person states for the batch.
    #[serde(default)]
    pub source: Option<usize>,
}

/// The kinds of event the program reads.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EventKind {
    /// The product met heat: the cooking time begins.
    ProductMetHeat,
    /// The drying stage began.
    DryingBegan,
    /// A step without humidity for surface drying or colour.
    DrySurfaceStep,
    /// Steam or water injection went on (with `until`: was on for that long).
    SteamOn,
    /// Steam or water injection went off.
    SteamOff,
    /// The vent was shut (with `until`: was shut for that long).
    VentShut,
    /// The vent was opened.
    VentOpened,
    /// The door was open.
    DoorOpen,
    /// No electric power.
    PowerCut,
    /// The fan stood still.
    FanStopped,
    /// The heater failed.
    HeaterFailed,
    /// A tray was out of the cabinet.
    TrayOut,
    /// The wet-bulb sock was wetted or changed.
    SockWetted,
    /// Anything else, in the person's words.
    Other(String),
}
