//! A verdict inside a record.

use fallrate_lethality::{Answer, RehearsalResult, VerdictMeasured};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

use crate::{Digest, RecordRealm, StoreError};

/// Name of the deviation that a verdict other than met opens on its own.
pub const CRITERION: &str = "criterion";

/// What kind of readings were judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum JudgedFrom {
    /// Measured or entered: a verdict.
    Measured,
    /// Simulated or invented: practice only.
    Practised,
}

impl JudgedFrom {
    /// What a record of a realm may hold.
    #[must_use]
    pub const fn of_realm(realm: RecordRealm) -> Self {
        match realm {
            RecordRealm::Proof => Self::Measured,
            RecordRealm::Rehearsal | RecordRealm::Demo => Self::Practised,
        }
    }
}

/// JSON kept to the letter.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(transparent)]
pub struct JsonText(Box<RawValue>);

impl JsonText {
    /// From anything that can be written as JSON.
    ///
    /// # Errors
    /// [`StoreError::Unwritable`].
    pub fn of<T: Serialize + ?Sized>(value: &T) -> Result<Self, StoreError> {
        serde_json::value::to_raw_value(value)
            .map(Self)
            .map_err(|e| StoreError::Unwritable { kind: "json".to_owned(), detail: e.to_string() })
    }
    /// From JSON text; `null` where it is none.
    pub(crate) fn from_text(text: &str) -> Self {
        Self(RawValue::from_string(text.to_owned()).unwrap_or_else(|_| RawValue::NULL.to_owned()))
    }
    /// The text.
    #[must_use]
    pub fn text(&self) -> &str {
        self.0.get()
    }
}

impl PartialEq for JsonText {
    fn eq(&self, other: &Self) -> bool {
        self.text() == other.text()
    }
}

/// What a judgement said, and with what it was made. Built from a verdict: [`Judged::measured`] takes only a
/// `VerdictMeasured`, which only exists for a log of proof.
///
/// ```compile_fail,E0308
/// use fallrate_lethality::RehearsalResult;
/// use fallrate_store::{Judged, JudgedWith};
/// fn cheat(r: &RehearsalResult, with: JudgedWith) { let _ = Judged::measured(r, with); } // not a verdict
/// ```
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Judged {
    from: JudgedFrom,
    answer: Answer,
    waiting: bool,
    deviations: Vec<String>,
    verdict: JsonText,
    details: Option<JsonText>,
    program_version: String,
    criteria_sha256: Digest,
    data_sha256: Digest,
}

/// What a judgement is kept with.
#[derive(Clone, Debug, PartialEq)]
pub struct JudgedWith {
    /// The lot's answer where it is more than the published criterion's (plan limits, an authority's criterion). It
    /// can only be worse than or equal to the verdict's own, unless the claim is another one: see `other_claim`.
    pub lot_answer: Answer,
    /// The claim judged is an authority's criterion, an adopted schedule or the plan's limits alone, not the
    /// published criterion: the verdict's own answer is then information.
    pub other_claim: bool,
    /// Everything that the lot's answer lacks can still come.
    pub waiting: bool,
    /// Names of the critical limits that were missed; each opens a corrective action.
    pub deviations: Vec<String>,
    /// Results beside the verdict (plan limits, authority, schedule, practices), as JSON.
    pub details: Option<JsonText>,
    /// Version of the program.
    pub program_version: String,
    /// SHA-256 of the criteria compiled in.
    pub criteria_sha256: Digest,
    /// SHA-256 of what was judged.
    pub data_sha256: Digest,
}

impl Judged {
    /// A verdict on measured readings.
    ///
    /// # Errors
    /// [`StoreError::Unwritable`] where the verdict cannot be written.
    pub fn measured(verdict: &VerdictMeasured, with: JudgedWith) -> Result<Self, StoreError> {
        let j = verdict.judgement();
        Self::new(JudgedFrom::Measured, j.answer, JsonText::of(verdict)?, with)
    }
    /// What practice on simulated or invented readings gave.
    ///
    /// # Errors
    /// As [`Judged::measured`].
    pub fn practised(result: &RehearsalResult, with: JudgedWith) -> Result<Self, StoreError> {
        let j = result.judgement();
        Self::new(JudgedFrom::Practised, j.answer, JsonText::of(result)?, with)
    }
    fn new(
        from: JudgedFrom,
        answer: Answer,
        verdict: JsonText,
        with: JudgedWith,
    ) -> Result<Self, StoreError> {
        let answer = if with.other_claim { with.lot_answer } else { answer.and(with.lot_answer) };
        Ok(Self {
            from,
            answer,
            waiting: with.waiting && answer == Answer::CannotBeJudged,
            deviations: with.deviations,
            verdict,
            details: with.details,
            program_version: with.program_version,
            criteria_sha256: with.criteria_sha256,
            data_sha256: with.data_sha256,
        })
    }
    /// What kind of readings were judged.
    #[must_use]
    pub const fn from(&self) -> JudgedFrom {
        self.from
    }
    /// The lot's answer.
    #[must_use]
    pub const fn answer(&self) -> Answer {
        self.answer
    }
    /// Whether everything missing can still come.
    #[must_use]
    pub const fn waiting(&self) -> bool {
        self.waiting
    }
    /// Names of the critical limits that were missed.
    #[must_use]
    pub fn deviations(&self) -> &[String] {
        &self.deviations
    }
    /// The verdict, as JSON.
    #[must_use]
    pub const fn verdict(&self) -> &JsonText {
        &self.verdict
    }
    /// Results beside it, as JSON.
    #[must_use]
    pub const fn details(&self) -> Option<&JsonText> {
        self.details.as_ref()
    }
    /// Version of the program that judged.
    #[must_use]
    pub fn program_version(&self) -> &str {
        &self.program_version
    }
    /// SHA-256 of the criteria compiled in.
    #[must_use]
    pub const fn criteria_sha256(&self) -> Digest {
        self.criteria_sha256
    }
    /// SHA-256 of what was judged.
    #[must_use]
    pub const fn data_sha256(&self) -> Digest {
        self.data_sha256
    }
}
