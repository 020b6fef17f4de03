//! What a judgement says.

use fallrate_series::{Instant, Log, Proof, Rehearsal};
use serde::Serialize;

use crate::after_kill::AfterKill;
use crate::reason::{Missing, StripEntry};
use crate::{Answer, Citation, DocumentReading, LethalityError, OptionId, RowDwell};

/// One part of an option, all of which must hold together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Item {
    /// A document and an option are claimed and belong together.
    Claimed,
    /// The dryer is one the guidance covers.
    Cabinet,
    /// The order of kill and drying is one the guidance and the option cover.
    Scope,
    /// Animal, clock and start of the cook are known.
    Identity,
    /// The positions are known to be the coldest.
    ColdSpot,
    /// The instruments may be relied on.
    Instruments,
    /// Some row of the table is satisfied.
    Row,
    /// The dwell ended before the drying stage began.
    DwellBeforeDrying,
    /// Total time in the come-up band.
    ComeUp,
    /// Total cook.
    TotalCook,
    /// Humid minutes.
    HumidTime,
    /// Step without humidity.
    DryStep,
    /// How the humidity was made, or the evidence of an option without humidity.
    Evidence,
    /// Every opening can be shut.
    Openings,
    /// The wet-bulb sign was seen.
    WetBulbSign,
    /// How far the clocks may be shifted against each other; shown: the widest, in minutes.
    Clocks,
    /// Water activity and pack, where a 5-log table is claimed.
    LotShelfStable,
    /// The table may be used for this animal.
    TableForSpecies,
}

/// Unit of a part's figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PartUnit {
    /// Minutes.
    Minutes,
    /// Seconds.
    Seconds,
    /// Water activity.
    WaterActivity,
    /// No figure.
    None,
}

/// How one part of an option came out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Part {
    /// Which part.
    pub item: Item,
    /// How it came out, on its own, at the end instant printed.
    pub answer: Answer,
    /// What was shown.
    pub shown: Option<f64>,
    /// What is unknown.
    pub unknown: Option<f64>,
    /// What is asked.
    pub required: Option<f64>,
    /// Unit of the three.
    pub unit: PartUnit,
    /// What to supply.
    pub missing: Vec<Missing>,
    /// Ids of the requirements it rests on.
    pub requirements: Vec<&'static str>,
}

impl Part {
    pub(crate) const fn plain(item: Item, answer: Answer, requirements: Vec<&'static str>) -> Self {
        Self {
            item,
            answer,
            shown: None,
            unknown: None,
            required: None,
            unit: PartUnit::None,
            missing: Vec::new(),
            requirements,
        }
    }
    pub(crate) fn missing(mut self, missing: Vec<Missing>) -> Self {
        self.missing = missing;
        self
    }
    pub(crate) const fn figures(mut self, shown: f64, unknown: f64, required: f64, unit: PartUnit) -> Self {
        self.shown = Some(shown);
        self.unknown = Some(unknown);
        self.required = Some(required);
        self.unit = unit;
        self
    }
}

/// An option by one reading of a document that contradicts itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReadingResult {
    /// The reading.
    pub reading: DocumentReading,
    /// Humid share of the total cook it asks at the end instant, fraction.
    pub share: f64,
    /// The end instant its figures are printed for.
    pub end: Instant,
    /// Total cook to that instant, min.
    pub total_cook_min: f64,
    /// Humid minutes shown.
    pub shown_min: f64,
    /// Unknown minutes.
    pub unknown_min: f64,
    /// Humid minutes asked.
    pub required_min: f64,
    /// The option by this reading alone. The option itself is met where both are.
    pub answer: Answer,
}

/// How one option came out at one position.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OptionResult {
    /// The option.
    pub option: OptionId,
    /// Whether it was claimed; others are information.
    pub claimed: bool,
    /// How it came out.
    pub answer: Answer,
    /// The end instant at which all parts hold together, or the one the figures are printed for.
    pub end: Option<Instant>,
    /// Its parts.
    pub parts: Vec<Part>,
    /// Where the document contradicts itself: each reading with its own answer. Else empty.
    pub readings: Vec<ReadingResult>,
    /// The row that decides or comes nearest.
    pub row: Option<RowDwell>,
    /// Minutes of humid evidence, with reasons.
    pub humid_strip: Vec<StripEntry>,
    /// The earliest instant at which the kill may have been complete, s on the probes' clock.
    #[serde(skip)]
    pub(crate) earliest_s: Option<f64>,
}

/// How one position came out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PositionResult {
    /// Its name.
    pub position: String,
    /// Over the options claimed.
    pub answer: Answer,
    /// The options claimed, in the order claimed.
    pub options: Vec<OptionResult>,
    /// Every row's dwell.
    pub rows: Vec<RowDwell>,
    /// Minutes of temperature, with reasons.
    pub strip: Vec<StripEntry>,
    /// Tolerance that was subtracted, K.
    pub tolerance_k: Option<f64>,
    /// By how much all readings could have been colder, after the tolerance, and some row would still be satisfied;
    /// negative: how much hotter they would have had to be. K, rounded down to 0.01.
    pub temperature_margin_k: Option<f64>,
    /// Not met, but by less than the instrument can tell: without the tolerance some row would be satisfied.
    pub within_tolerance: bool,
    /// Minutes of which nothing is known.
    pub unknown_min: f64,
    /// How far the probes' clock may be from that of the stated times, s; taken off at each edge. `None` where nothing
    /// was judged.
    pub clock_uncertainty_s: Option<f64>,
    /// Warm wet product after the kill; `None` where the kill step was not met.
    pub after_kill: Option<AfterKill>,
    /// Channels the record was taken from.
    pub channels: Vec<String>,
}

/// Whether the wet-bulb sign of the advice was seen. Advice never decides.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WetBulbSign {
    /// Seen for so many minutes.
    Seen {
        /// Minutes.
        minutes: f64,
    },
    /// Not seen for long enough, even with unknown minutes granted.
    NotSeen {
        /// Minutes.
        minutes: f64,
    },
    /// Not measured, or unknown minutes decide.
    NotMeasured,
}

/// A caution to print with the verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Caution {
    /// A verdict is about the record and the document claimed; the plant's process authority decides.
    ProcessAuthorityDecides,
    /// Fat unknown: judged by the strictest column.
    FatUnknown,
    /// Above 12 % fat: judged by the 12 % column.
    FatAboveTable,
    /// The poultry tables ask 13.7 to 26.9 s at 160 degF; the printed endpoint asks none.
    PoultryEndpointBelowTables,
    /// The start of the drying stage is not recorded.
    DryingStartNotRecorded,
    /// It is not recorded when the claim was fixed, or that was after the product met heat.
    ClaimNotFixedBefore,
    /// The jerky guideline's text and flow chart differ for this cook.
    DocumentContradictsItself,
    /// The lowest rows are the weakest: not confirmed at 130 degF by a later study.
    LowestRowsWeakest,
    /// No wet bulb: a probe out of the meat could not be looked for.
    ProbeInAirNotCheckable,
    /// Some readings may come from a probe in hot air and were not counted.
    ReadingsPerhapsNotInProduct,
    /// A 5-log table is meant for shelf-stable product.
    FiveLogNeedsShelfStable,
    /// Beef: pathogenic E. coli needs 5 log as well.
    StecTarget,
}

/// Everything a judgement says. The same for a measured record and a rehearsal; the wrapping type says which.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judgement {
    /// Over all required positions.
    pub answer: Answer,
    /// Whether everything missing can still come ("waiting for"), as against minutes that are gone.
    pub waiting: bool,
    /// The positions, in the order required.
    pub positions: Vec<PositionResult>,
    /// Index of the coldest position: the least margin.
    pub coldest: Option<usize>,
    /// Parts that do not depend on a position.
    pub gate: Vec<Part>,
    /// Options that were not claimed, worst position each. Information only.
    pub information: Vec<(OptionId, Answer)>,
    /// Advice.
    pub wet_bulb_sign: WetBulbSign,
    /// Warm wet product after the kill, the worst position. An answer of its own, beside that of the kill step.
    pub after_kill: Option<AfterKill>,
    /// What to supply, each once.
    pub missing: Vec<Missing>,
    /// Cautions.
    pub cautions: Vec<Caution>,
    /// Every limit used, with its document.
    pub limits: Vec<Citation>,
}

/// The verdict on a measured record. It can only be made by [`judge`] from a `Log<Proof>`; there is no conversion from
/// or to [`RehearsalResult`] or [`crate::VerdictForecast`].
///
/// ```compile_fail,E0277
/// use fallrate_lethality::{RehearsalResult, VerdictMeasured};
/// fn cheat(r: RehearsalResult) -> VerdictMeasured { r.into() } // no conversion exists
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename = "verdict_measured")]
pub struct VerdictMeasured {
    #[serde(flatten)]
    judgement: Judgement,
}

impl VerdictMeasured {
    /// What it says.
    #[must_use]
    pub const fn judgement(&self) -> &Judgement {
        &self.judgement
    }
    /// The answer.
    #[must_use]
    pub const fn answer(&self) -> Answer {
        self.judgement.answer
    }
}

/// The outcome of judging simulated or demonstration readings: practice only, never a verdict.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename = "rehearsal")]
pub struct RehearsalResult {
    #[serde(flatten)]
    judgement: Judgement,
}

impl RehearsalResult {
    /// What a measured record like this would have said.
    #[must_use]
    pub const fn judgement(&self) -> &Judgement {
        &self.judgement
    }
}

/// Judges a measured record against the claim.
///
/// # Errors
/// [`LethalityError`] where a stated fact is outside its range.
pub fn judge(log: &Log<Proof>, case: &crate::Case) -> Result<VerdictMeasured, LethalityError> {
    Ok(VerdictMeasured { judgement: crate::judge::run(log, case)? })
}

/// Practises the judgement on simulated or demonstration readings.
///
/// # Errors
/// As [`judge`].
pub fn rehearse(log: &Log<Rehearsal>, case: &crate::Case) -> Result<RehearsalResult, LethalityError> {
    Ok(RehearsalResult { judgement: crate::judge::run(log, case)? })
}
