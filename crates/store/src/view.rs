//! What a record says after corrections and withdrawals.

use fallrate_lethality::{ActionEntry, Answer, BatchFacts, Case, CorrectiveAction, working_days_after};
use fallrate_series::{CalendarDate, Instant};

use crate::{
    ActionPart, ActionTaken, Change, Claimed, Digest, Disposition, FileKept, Identity, Interrupted, Judged,
    Noted, Printed, ReadingsEntered, SignatureMeaning, Signed, SuspectAnswered, TestOf, Tested, UnknownBody,
    day_in_zone,
};

/// Something a record says, with the entry it stands in.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept<T> {
    /// Number of the entry.
    pub entry: u64,
    /// When the entry was made.
    pub at: Instant,
    /// Time zone of the plant at that entry.
    pub zone: String,
    /// Who made it.
    pub by: String,
    /// Why, where a reason was given.
    pub reason: String,
    /// Whether it was made later than what it tells of.
    pub late: bool,
    /// The correction whose words these are, where it was corrected.
    pub corrected_by: Option<u64>,
    /// What it says now.
    pub value: T,
}

/// The claim, and when it was fixed.
#[derive(Clone, Debug, PartialEq)]
pub struct ClaimView {
    /// The claim that stands.
    pub kept: Kept<Claimed>,
    /// When the choice was last touched: the latest time of any entry that made, corrected or withdrew a claim.
    pub claimed_at: Instant,
    /// Whether that was after the product met heat; `None` where it is not stated when that was.
    pub after_heat: Option<bool>,
}

/// A deviation and its corrective action.
#[derive(Clone, Debug, PartialEq)]
pub struct DeviationView {
    /// Name of the limit that was missed, or [`crate::CRITERION`].
    pub name: String,
    /// Verdicts that found it.
    pub found_by: Vec<u64>,
    /// Whether the latest verdict finds it.
    pub in_latest_verdict: bool,
    /// The four parts as far as they are filled in; the latest entry of each part counts.
    pub action: CorrectiveAction,
    /// The entries of the parts, in order.
    pub entries: Vec<Kept<ActionTaken>>,
    /// Product held, kg.
    pub quantity_held_kg: Option<f64>,
    /// What happened to it.
    pub disposition: Option<Disposition>,
}

impl DeviationView {
    /// The first of the four parts that is missing.
    #[must_use]
    pub fn missing_part(&self) -> Option<ActionPart> {
        let filled = |e: &Option<ActionEntry>| e.as_ref().is_some_and(|e| !e.text.trim().is_empty());
        let parts = [
            (ActionPart::Cause, filled(&self.action.cause)),
            (ActionPart::Control, filled(&self.action.control)),
            (ActionPart::Prevention, filled(&self.action.prevention)),
            (ActionPart::Disposition, filled(&self.action.disposition)),
        ];
        parts.into_iter().find(|(_, filled)| !filled).map(|(part, _)| part)
    }
}

/// A signature, and what became of what it covers.
#[derive(Clone, Debug, PartialEq)]
pub struct SignatureView {
    /// The signature.
    pub kept: Kept<Signed>,
    /// It covers the entries up to this number.
    pub covers: u64,
    /// Corrections and withdrawals, made after it, of entries it covers.
    pub corrected_after: Vec<u64>,
    /// Other entries after it that say something about the batch.
    pub added_after: Vec<u64>,
}

impl SignatureView {
    /// Whether nothing but signatures and printing came after it.
    #[must_use]
    pub const fn nothing_after(&self) -> bool {
        self.corrected_after.is_empty() && self.added_after.is_empty()
    }
}

/// What happened to an entry later.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Amendment {
    /// Corrected.
    Corrected,
    /// Withdrawn.
    Withdrawn,
    /// A withdrawal or correction of it was itself withdrawn.
    Restored,
}

/// A line of the history: what was changed, by whom, why, from what to what.
#[derive(Clone, Debug, PartialEq)]
pub struct HistoryLine {
    /// The entry that was changed.
    pub entry: u64,
    /// The entry that changed it.
    pub by_entry: u64,
    /// When.
    pub at: Instant,
    /// Who.
    pub by: String,
    /// Why.
    pub reason: String,
    /// How.
    pub how: Amendment,
    /// Whether the entry that changed it is itself withdrawn.
    pub undone: bool,
    /// What differs.
    pub changes: Vec<Change>,
}

/// What differs between two statements of facts that followed each other.
#[derive(Clone, Debug, PartialEq)]
pub struct FactsChange {
    /// The entry that stated the facts anew.
    pub entry: u64,
    /// When.
    pub at: Instant,
    /// Who.
    pub by: String,
    /// What differs from the statement before.
    pub changes: Vec<Change>,
}

/// What a record says after corrections and withdrawals. A pure function of its entries.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordView {
    /// Whose batch of what; `None` only where entry 1 cannot be read.
    pub identity: Option<Kept<Identity>>,
    /// What is claimed.
    pub claim: Option<ClaimView>,
    /// What is stated.
    pub facts: Option<Kept<BatchFacts>>,
    /// How the statements changed.
    pub facts_changes: Vec<FactsChange>,
    /// Files.
    pub files: Vec<Kept<FileKept>>,
    /// Readings by hand.
    pub readings: Vec<Kept<ReadingsEntered>>,
    /// Notes.
    pub notes: Vec<Kept<Noted>>,
    /// Interruptions.
    pub interruptions: Vec<Kept<Interrupted>>,
    /// Answers to suspect readings.
    pub suspect_answers: Vec<Kept<SuspectAnswered>>,
    /// Tests.
    pub tests: Vec<Kept<Tested>>,
    /// Deviations with their corrective actions, by name.
    pub deviations: Vec<DeviationView>,
    /// Verdicts in order; the last one counts.
    pub verdicts: Vec<Kept<Judged>>,
    /// Signatures in order, without withdrawn ones (those are in the history).
    pub signatures: Vec<SignatureView>,
    /// Times it was printed.
    pub printed: Vec<Kept<Printed>>,
    /// Entries this version cannot read.
    pub unknown: Vec<Kept<UnknownBody>>,
    /// Corrections and withdrawals.
    pub history: Vec<HistoryLine>,
    /// Entries that a verdict rests on, and those that changed such an entry, in order.
    pub(crate) evidence_entries: Vec<u64>,
    /// Hash of the last entry.
    pub head: Digest,
    /// Number of the last entry.
    pub last_n: u64,
    /// Time of the last entry that says something about the batch.
    pub last_content_at: Option<Instant>,
}

impl RecordView {
    /// The verdict that counts: the latest.
    #[must_use]
    pub fn verdict(&self) -> Option<&Kept<Judged>> {
        self.verdicts.last()
    }

    /// The lot's answer by the latest verdict.
    #[must_use]
    pub fn answer(&self) -> Option<Answer> {
        self.verdict().map(|v| v.value.answer())
    }

    /// The first entry after the latest verdict that it may no longer fit.
    #[must_use]
    pub fn verdict_outdated_by(&self) -> Option<u64> {
        let verdict = self.verdict()?.entry;
        self.evidence_entries.iter().copied().find(|n| *n > verdict)
    }

    /// What the judge takes: the claim with the time it was fixed, and the facts with the highest water activity
    /// among what is stated and what was tested. `None` before both are entered.
    #[must_use]
    pub fn case(&self) -> Option<Case> {
        let claim = self.claim.as_ref()?;
        let mut case =
            Case { claim: claim.kept.value.claim.clone(), facts: self.facts.as_ref()?.value.clone() };
        case.claim.claimed_at = Some(claim.claimed_at);
        let stated = case.facts.lot.water_activity.map(|v| (v, case.facts.lot.water_activity_tolerance));
        let tested = self
            .tests
            .iter()
            .filter(|t| t.value.what == TestOf::WaterActivity)
            .map(|t| (t.value.value, t.value.tolerance));
        let results: Vec<(f64, Option<f64>)> = stated.into_iter().chain(tested).collect();
        // One result without a tolerance leaves the tolerance of the lot unknown.
        let tolerance = results.iter().map(|(_, t)| *t).collect::<Option<Vec<f64>>>();
        case.facts.lot.water_activity = results.iter().map(|(v, _)| *v).reduce(f64::max);
        case.facts.lot.water_activity_tolerance = tolerance.and_then(|t| t.into_iter().reduce(f64::max));
        Some(case)
    }

    /// Last day of keeping the record: counted from its last entry that says something about the batch.
    #[must_use]
    pub fn keep_until(&self) -> Option<CalendarDate> {
        let identity = self.identity.as_ref()?;
        let made = day_in_zone(self.last_content_at?, &identity.zone);
        Some(identity.value.retention.keep_until(made))
    }

    /// Day by which the record should be reviewed: 7 working days after the last reading, test or interruption
    /// entered (RECORD-P08).
    #[must_use]
    pub fn review_due(&self) -> Option<CalendarDate> {
        let files = self.files.iter().filter(|f| f.value.used_as.is_evidence()).map(|f| (f.at, &f.zone));
        let readings = self.readings.iter().map(|k| (k.at, &k.zone));
        let tests = self.tests.iter().map(|k| (k.at, &k.zone));
        let cuts = self.interruptions.iter().map(|k| (k.at, &k.zone));
        let (at, zone) = files.chain(readings).chain(tests).chain(cuts).max_by_key(|(at, _)| *at)?;
        Some(working_days_after(day_in_zone(at, zone), 7))
    }

    /// The latest signature of a meaning.
    #[must_use]
    pub fn signature(&self, meaning: SignatureMeaning) -> Option<&SignatureView> {
        self.signatures.iter().rev().find(|s| s.kept.value.meaning == meaning)
    }
}
