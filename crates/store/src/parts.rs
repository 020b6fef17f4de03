//! The parts of a batch record's entries.

use fallrate_lethality::{
    AdoptedSchedule, AuthorityCriterion, Claim, CommonPractice, EndPointClaim, LotClaims, PlanGrowthLimit,
    PlanLimit, Retention, StudyQuery,
};
use fallrate_series::{CalendarDate, ClockEvidence, EventKind, Instant, Span, SuspectReason};
use serde::{Deserialize, Serialize};

use crate::time::{iso, iso_option, iso_span};
use crate::{Digest, RecordRealm};

/// Whose batch of what.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Identity {
    /// The world the record belongs to; it can never be corrected.
    pub realm: RecordRealm,
    /// Name of the establishment.
    pub establishment: String,
    /// Where it is.
    pub place: String,
    /// Number of the establishment, where it has one.
    #[serde(default)]
    pub establishment_number: Option<String>,
    /// Product.
    pub product: String,
    /// Code of the product; empty where the plant uses none.
    pub product_code: String,
    /// Lot.
    pub lot: String,
    /// Lots of the raw materials.
    pub raw_lots: Vec<String>,
    /// Raw product put into the cabinet, kg.
    pub quantity_kg: f64,
    /// Cabinet.
    pub cabinet: String,
    /// Name of the HACCP or food-safety plan; empty where there is none.
    pub plan_name: String,
    /// Its version or date.
    pub plan_version: String,
    /// Critical control point and limit as the plan writes them; empty where there is none.
    #[serde(default)]
    pub control_point: String,
    /// The drying plan the run was started from: its name and the SHA-256 of its file.
    #[serde(default)]
    pub drying_plan: Option<(String, Digest)>,
    /// How long the record is kept.
    pub retention: Retention,
    /// Version of the program that opened the record.
    pub program_version: String,
}

/// What is claimed for a batch, fixed before it is judged.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Claimed {
    /// Document, options, target and endpoint. Its `claimed_at` stays empty here: the entry's time is that time.
    pub claim: Claim,
    /// The plan's own limits.
    pub limits: Vec<PlanLimit>,
    /// Growth limits that the plan claims.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub growth_limits: Vec<PlanGrowthLimit>,
    /// What is claimed of the lot beside the kill step; `None` where nothing is said: then a pack that is stated claims
    /// shelf stability.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<LotClaims>,
    /// What the plan asks of the end of drying.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub end_point: Option<EndPointClaim>,
    /// Moisture standard claimed, by product and form as its table names them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moisture_standard: Option<(String, String)>,
    /// The product as published trials are looked up by it. Information only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trials_like: Option<StudyQuery>,
    /// A process authority's criterion.
    pub authority: Option<AuthorityCriterion>,
    /// A study adopted as a schedule.
    pub schedule: Option<AdoptedSchedule>,
    /// Common practices to look at; they never enter a verdict.
    pub practices: Vec<CommonPractice>,
    /// Why nothing is claimed ("fruit, no kill step"); empty where something is.
    pub no_criterion: Option<String>,
}

/// What a kept file is used as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FileUse {
    /// Readings of a logger.
    Readings,
    /// Readings by hand, in the hand-entry form.
    HandEntry,
    /// A batch file with claim and facts.
    BatchFile,
    /// Support: a certificate, a letter, a study.
    Support,
    /// A photo.
    Photo,
}

impl FileUse {
    /// Whether a verdict rests on it.
    #[must_use]
    pub const fn is_evidence(self) -> bool {
        matches!(self, Self::Readings | Self::HandEntry | Self::BatchFile)
    }
}

/// A file that was kept with its original bytes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FileKept {
    /// Name without a folder; no two files of a record have the same.
    pub name: String,
    /// SHA-256 of the original bytes.
    pub sha256: Digest,
    /// How many bytes.
    pub bytes: u64,
    /// What it is used as.
    pub used_as: FileUse,
    /// The mapping its columns were read by, as TOML text.
    pub mapping: Option<String>,
    /// Seconds added to the file's clock.
    pub offset_s: f64,
    /// How well that is known, s either way; `None` where nobody said.
    #[serde(default)]
    pub offset_uncertainty_s: Option<f64>,
    /// How that is known; `None` where the file has no clock.
    pub offset_evidence: Option<ClockEvidence>,
}

/// Readings by hand.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingsEntered {
    /// The hand-entry form, as typed.
    pub text: String,
    /// When the last of them was read; `None` where it was read as it was entered.
    #[serde(default, with = "iso_option")]
    pub happened: Option<Instant>,
}

/// A note.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Noted {
    /// The person's words.
    pub text: String,
    /// When it happened; `None` where it was as it was entered.
    #[serde(default, with = "iso_option")]
    pub happened: Option<Instant>,
}

/// Something interrupted the run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Interrupted {
    /// What it was.
    pub kind: EventKind,
    /// When it began.
    #[serde(with = "iso")]
    pub from: Instant,
    /// When it ended; `None` where it is not over or not known.
    #[serde(default, with = "iso_option")]
    pub until: Option<Instant>,
    /// The person's words.
    pub note: String,
}

/// What a named person says about suspect readings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SuspectAnswered {
    /// Channel.
    pub channel: String,
    /// Which stretch.
    #[serde(with = "iso_span")]
    pub span: Span,
    /// What was suspect.
    pub about: SuspectReason,
    /// Whether the readings count.
    pub counts: bool,
    /// Why.
    pub reason: String,
}

/// What a sample was tested for.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TestOf {
    /// Water activity, no unit.
    WaterActivity,
    /// Moisture, per cent of the wet mass.
    MoistureWetBasisPercent,
    /// Protein, per cent of the wet mass.
    ProteinPercent,
    /// Fat, per cent of the wet mass.
    FatPercent,
    /// Salt, per cent of the wet mass.
    SaltPercent,
    /// pH, no unit.
    Ph,
    /// Nitrite in the finished product, parts per million.
    NitritePpm,
    /// Anything else, with its unit in the words.
    Other(String),
}

impl TestOf {
    /// Lowest and highest value that can be.
    #[must_use]
    pub const fn range(&self) -> (f64, f64) {
        match self {
            Self::WaterActivity => (0.0, 1.0),
            Self::Ph => (0.0, 14.0),
            Self::MoistureWetBasisPercent | Self::ProteinPercent | Self::FatPercent | Self::SaltPercent => {
                (0.0, 100.0)
            }
            Self::NitritePpm => (0.0, 1e6),
            Self::Other(_) => (f64::MIN, f64::MAX),
        }
    }
}

/// A result of a test.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tested {
    /// What for.
    pub what: TestOf,
    /// Result, in the unit of [`TestOf`].
    pub value: f64,
    /// Tolerance either way in the same unit; `None` where unknown.
    pub tolerance: Option<f64>,
    /// Which sample: how many pieces, from where.
    pub sample: String,
    /// Instrument or laboratory.
    pub instrument: String,
    /// Day of the instrument's last calibration.
    pub calibrated_on: Option<CalendarDate>,
    /// When the test was made; `None` where it was as it was entered.
    #[serde(default, with = "iso_option")]
    pub happened: Option<Instant>,
}

/// The four parts of a corrective action (RECORD-H04).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ActionPart {
    /// The cause, found and removed.
    Cause,
    /// The control point, back under control.
    Control,
    /// Measures against recurrence.
    Prevention,
    /// What happened to the product.
    Disposition,
}

/// What happened to product that was held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Disposition {
    /// Found safe by the reasons in the text; it may ship.
    Release,
    /// Processed again; judged anew.
    Rework,
    /// Used for something else that its state allows.
    Divert,
    /// Destroyed.
    Destroy,
}

/// One part of a corrective action.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ActionTaken {
    /// Name of the deviation: the limit missed, or [`crate::CRITERION`].
    pub deviation: String,
    /// Which part.
    pub part: ActionPart,
    /// What was found or done.
    pub text: String,
    /// Product held, kg; needed with the disposition.
    pub quantity_held_kg: Option<f64>,
    /// What happened to the product; needed with the disposition, and only there.
    pub disposition: Option<Disposition>,
    /// When; `None` where it was as it was entered.
    #[serde(default, with = "iso_option")]
    pub happened: Option<Instant>,
}

/// What a signature means (21 CFR 11.50 asks that it be said).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SignatureMeaning {
    /// I made the readings.
    Monitored,
    /// I checked instruments, monitoring or corrective actions.
    Verified,
    /// I reviewed the record of this lot before shipping.
    Reviewed,
    /// The lot may ship.
    Released,
    /// I approve what stands here (a claim, a plan, a correction).
    Approved,
}

/// A signature over everything before it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Signed {
    /// Name as it is printed; the person who made the entry.
    pub name: String,
    /// What it means.
    pub meaning: SignatureMeaning,
    /// Hash of the entry before: what was seen when signing.
    pub head: Digest,
    /// Training the person relies on (course, certificate, date), for reviews (RECORD-H17).
    pub training: Option<String>,
    /// Why the person who reviews made entries as well (a solo owner).
    pub same_person_reason: Option<String>,
}

/// Form of a printed record.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PrintForm {
    /// PDF.
    Pdf,
    /// HTML.
    Html,
}

/// The record was printed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Printed {
    /// Language, as its two letters.
    pub language: String,
    /// Form.
    pub form: PrintForm,
    /// SHA-256 of the bytes printed.
    pub sha256: Digest,
}
