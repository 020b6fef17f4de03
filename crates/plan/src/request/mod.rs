//! The plan file: what is to be dried, in what, when, to what end, in a short commented TOML text.
//!
//! [`PlanRequest::parse`] names everything wrong with the file at once, with line and column. What the file may leave
//! out, and what is then taken:
//!
//! | left out | taken |
//! | --- | --- |
//! | `piece.thickness` and its spread | the product file's |
//! | `load.trays` | every tray of the cabinet |
//! | `load.liner` | `bare`, if the cabinet has it, else its first |
//! | `load.temperature` | 4 degC for raw meat, else the room's |
//! | `room.altitude` | 0 m |
//! | `room.night_*` | as by day |
//! | `room.night_hours` | 20:00 to 07:00, where a night temperature or humidity is given |
//! | `start.at` | 07:00 |
//! | `start.chamber` | the room's temperature |
//! | `staff.hours` | somebody is always there |
//! | `target.piece` | the wettest for water activity, the mean for moisture and weight |
//! | `raw.*` | the product file's |
//! | `timer.dialled` | `once`: a countdown set before the run that cannot be changed |
//! | `timer.unload` | `next staffed` where staffed hours are given, else `at end` |
//! | `money.*` | not reckoned |
//! | `propose` and `stage` | stages are proposed |
//! | `stage.fan` | the cabinet's strongest step |
//!
//! Product and cabinet are named by their key, or by a path (with a slash, a backslash or ending in `.toml`).

mod load;
mod money;
mod read;
mod stage;
mod target;
mod when;

pub use load::{LoadAmount, LoadRequest, PieceRequest, RawRequest, Spread};
pub use money::{MoneyRequest, Tariff, TariffPeriod};
pub use read::DefaultUsed;
pub use target::{Target, TargetRequest};
pub use when::{Dialled, Night, RoomRequest, StaffedHours, StartRequest, TimerRequest, Unload, Window};

use fallrate_schedule::{Interruption, Stage};

/// How a product or a cabinet is named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Named {
    /// By the key of the library.
    Key(String),
    /// By the path of a file of the user's own.
    Path(String),
}

/// Where the stages come from.
#[derive(Clone, Debug, PartialEq)]
pub enum StagesRequest {
    /// To be proposed.
    Propose {
        /// The proposal may ask for tray groups to be swapped.
        swaps: bool,
    },
    /// Written by the user; valid as a schedule together with the interruptions.
    Given(Vec<Stage>),
}

/// A plan as asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanRequest {
    /// Title, for the page's head.
    pub title: Option<String>,
    /// Product.
    pub product: Named,
    /// Cabinet.
    pub cabinet: Named,
    /// Size of the pieces.
    pub piece: PieceRequest,
    /// What differs from the product file in the raw material.
    pub raw: RawRequest,
    /// Load.
    pub load: LoadRequest,
    /// Room.
    pub room: RoomRequest,
    /// Start.
    pub start: StartRequest,
    /// Staffed hours; `None`: somebody is always there.
    pub staff: Option<StaffedHours>,
    /// Prices.
    pub money: MoneyRequest,
    /// Target.
    pub target: TargetRequest,
    /// Timer and unloading.
    pub timer: TimerRequest,
    /// Stages.
    pub stages: StagesRequest,
    /// Interruptions met or tried out, by their start.
    pub interruptions: Vec<Interruption>,
    /// What the file left out and what was taken for it, in the order of the table above.
    pub defaults_used: Vec<DefaultUsed>,
}
