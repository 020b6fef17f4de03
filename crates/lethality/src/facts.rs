//! What a person must state about a batch before it can be judged.

use fallrate_series::{Instant, Span};
use fallrate_units::{Duration, Pressure};
use serde::{Deserialize, Serialize};

use crate::{LogTarget, OptionId, Species};

/// The guidance a batch is judged by. One is claimed before the run; others are information.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ClaimedDocument {
    /// The cooking guideline of 2021.
    CookingGuideline2021,
    /// The jerky guideline of 2014.
    JerkyGuideline2014,
}

/// Which rows serve as the endpoint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Endpoint {
    /// The time-temperature tables.
    Tables,
    /// The printed poultry endpoint: 160 degF uncured, 155 degF cured and smoked.
    PoultryEndpoint,
}

/// What is claimed for a batch, fixed before it is judged.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Claim {
    /// The document.
    pub document: Option<ClaimedDocument>,
    /// The humidity options, in the order claimed.
    pub options: Vec<OptionId>,
    /// Log target of the table claimed.
    pub target: LogTarget,
    /// Rows or printed poultry endpoint.
    pub endpoint: Endpoint,
    /// When the claim was written down.
    pub claimed_at: Option<Instant>,
}

/// What kind of dryer it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CabinetKind {
    /// A commercial cabinet or oven.
    Commercial,
    /// A home-style dehydrator: outside the guidance.
    HomeStyle,
}

/// In which order the product was cooked and dried.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ProcessOrder {
    /// The kill step comes before drying.
    KillBeforeDrying,
    /// A dried product is heated again.
    HeatedAfterDrying {
        /// Whether the surface was wetted again or water was added.
        surface_wetted: Option<bool>,
    },
    /// Drying alone, without a cook.
    DryingAlone,
    /// A dried product cooked several times.
    CookedSeveralTimes,
}

/// How steam was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SteamSource {
    /// Live steam into the cabinet.
    Injection,
    /// Water sprayed on hot elements.
    WaterOnHotElements,
    /// A pan of water: not continuous steam.
    PanOfWater,
}

/// The four papers the sealed option needs, each by its name or number in the plant.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SealedPapers {
    /// Temperature record.
    pub temperature: Option<String>,
    /// Record of the minutes the damper was shut.
    pub damper_shut: Option<String>,
    /// Evidence that humidity was held.
    pub humidity_held: Option<String>,
    /// Upkeep of dampers and seals.
    pub seal_upkeep: Option<String>,
}

/// Evidence for an option that needs no humidity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct NoHumidityEvidence {
    /// The option it is for.
    pub option: OptionId,
    /// The record, by its name or number.
    pub record: String,
    /// Whether the record shows it for the whole cook.
    pub throughout: Option<bool>,
    /// Direct heat only: whether the heat is moving hot air.
    pub moving_hot_air: Option<bool>,
    /// Sealed bag only: whether water was added to a dried product.
    pub water_added: Option<bool>,
    /// Large piece only: mass of the smallest piece, kg.
    pub smallest_piece_kg: Option<f64>,
}

/// How the lot is packed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Pack {
    /// Air in the pack.
    Air,
    /// Vacuum or modified atmosphere in an oxygen-proof pack.
    OxygenProofVacuum,
}

/// What is known of the lot after drying.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LotFacts {
    /// Highest water activity found.
    pub water_activity: Option<f64>,
    /// Tolerance of the water-activity meter; `None` where unknown.
    pub water_activity_tolerance: Option<f64>,
    /// The pack.
    pub pack: Option<Pack>,
}

/// The clock that the stated times were read from: when the product met heat, when drying began and the like.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StatedClock {
    /// The clock of a file of the record.
    OfFile {
        /// Name of the file.
        file_name: String,
    },
    /// A clock of its own, as one on the wall.
    Own {
        /// How far it may be from the true time, s either way.
        uncertainty_s: f64,
    },
}

/// What a person states about a batch. `None` is "not stated", which cannot be judged where it matters.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BatchFacts {
    /// The animal.
    pub species: Option<Species>,
    /// Fat, per cent.
    pub fat_percent: Option<f64>,
    /// Cured, where poultry endpoints are claimed.
    pub cured: Option<bool>,
    /// Smoked, where poultry endpoints are claimed.
    pub smoked: Option<bool>,
    /// On which clock the times below stand. Needed where readings come from a file.
    pub stated_clock: Option<StatedClock>,
    /// When the product met heat.
    pub product_met_heat: Option<Instant>,
    /// When the drying stage began.
    pub drying_began: Option<Instant>,
    /// From when on the product was dry enough not to count as wet any more, by the plant's evidence.
    pub product_dry: Option<Instant>,
    /// End of the time judged; the last reading of any channel where not stated.
    pub record_ends: Option<Instant>,
    /// Minutes between 50 and 130 degF in an earlier cook that failed.
    pub earlier_minutes_in_band: f64,
    /// Steps without humidity for surface drying and colour.
    pub dry_surface_steps: Vec<Span>,
    /// Support for a dry step over 30 min, by its name.
    pub dry_step_support: Option<String>,
    /// The dryer.
    pub cabinet: Option<CabinetKind>,
    /// Order of kill and drying.
    pub order: ProcessOrder,
    /// How it is known that the positions are the coldest.
    pub cold_spot_evidence: Option<String>,
    /// Positions that must each meet the criterion.
    pub required_positions: Vec<String>,
    /// Longest interval between two readings that the plan allows.
    pub monitoring_interval: Duration,
    /// Air pressure at the plant.
    pub air_pressure: Option<Pressure>,
    /// How steam was made.
    pub steam_source: Option<SteamSource>,
    /// Whether the cabinet has an opening that cannot be shut.
    pub opening_that_cannot_shut: Option<bool>,
    /// Who vouches that the door stayed shut, where no record of the door exists.
    pub door_kept_shut: Option<String>,
    /// Papers of the sealed option.
    pub sealed_papers: SealedPapers,
    /// Evidence for options without humidity.
    pub no_humidity: Vec<NoHumidityEvidence>,
    /// The lot after drying.
    pub lot: LotFacts,
    /// The plan's limit for warm wet product after the kill, by its name.
    pub plan_limit_after_kill: Option<String>,
    /// That limit where it is so many minutes in 50 to 130 degF in total: then it is judged here. `None`: it is judged
    /// apart, as one of the plan's limits of that name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after_kill_at_most_min: Option<f64>,
}

impl BatchFacts {
    /// Nothing stated but the monitoring interval.
    #[must_use]
    pub fn new(monitoring_interval: Duration) -> Self {
        Self {
            species: None,
            fat_percent: None,
            cured: None,
            smoked: None,
            stated_clock: None,
            product_met_heat: None,
            drying_began: None,
            product_dry: None,
            record_ends: None,
            earlier_minutes_in_band: 0.0,
            dry_surface_steps: Vec::new(),
            dry_step_support: None,
            cabinet: None,
            order: ProcessOrder::KillBeforeDrying,
            cold_spot_evidence: None,
            required_positions: Vec::new(),
            monitoring_interval,
            air_pressure: None,
            steam_source: None,
            opening_that_cannot_shut: None,
            door_kept_shut: None,
            sealed_papers: SealedPapers::default(),
            no_humidity: Vec::new(),
            lot: LotFacts::default(),
            plan_limit_after_kill: None,
            after_kill_at_most_min: None,
        }
    }
}

/// Everything a judgement needs beside the log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Case {
    /// What is claimed.
    pub claim: Claim,
    /// What is stated.
    pub facts: BatchFacts,
}
