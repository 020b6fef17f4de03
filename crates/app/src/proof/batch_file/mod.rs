//! The batch file: what a person claims and states about one batch, as short TOML.

mod claim;
mod end_point;
mod facts;
mod identity;
mod lot;
mod own;
pub(crate) mod when;

use fallrate_datafile::{Document, Problems};
use fallrate_lethality::{
    AdoptedSchedule, AuthorityCriterion, BatchFacts, Claim, CommonPractice, EndPointClaim, LotClaims,
    PlanGrowthLimit, PlanLimit, StudyQuery,
};
use fallrate_series::CalendarDate;
use fallrate_units::Duration;

pub use end_point::MoistureResult;
pub(crate) use facts::SPECIES;
pub use identity::BatchIdentity;
pub(crate) use lot::DEVIATIONS;
pub use lot::{Deviation, LabResult, SuspectAnswer, deviation_kind, deviation_words};

use super::clock::LocalClock;

/// What a person claims and states about one batch.
#[derive(Clone, Debug)]
pub struct Batch {
    /// Name of the file.
    pub file_name: String,
    /// Who, what, which lot.
    pub identity: BatchIdentity,
    /// The clock of the place.
    pub clock: LocalClock,
    /// Day of the batch.
    pub date: CalendarDate,
    /// What is claimed.
    pub claim: Claim,
    /// The plan's own limits.
    pub limits: Vec<PlanLimit>,
    /// Growth limits that the plan claims.
    pub growth_limits: Vec<PlanGrowthLimit>,
    /// What is claimed of the lot beside the kill step; `None` where nothing is said.
    pub lot_claims: Option<LotClaims>,
    /// What the plan asks of the end of drying.
    pub end_point: Option<EndPointClaim>,
    /// Moisture standard claimed, by product and form as its table names them.
    pub moisture_standard: Option<(String, String)>,
    /// Common practices to look at, beside the verdict.
    pub practices: Vec<CommonPractice>,
    /// A process authority's criterion.
    pub authority: Option<AuthorityCriterion>,
    /// A study adopted as a schedule.
    pub schedule: Option<AdoptedSchedule>,
    /// Why nothing is claimed ("fruit, no kill step").
    pub no_criterion: Option<String>,
    /// What is stated.
    pub facts: BatchFacts,
    /// The product as published trials are looked up by it. Information only, never a part of a verdict.
    pub trials_like: StudyQuery,
    /// Power cuts, open doors and the like, entered by a person.
    pub deviations: Vec<Deviation>,
    /// Results of laboratory or bench meters.
    pub tests: Vec<LabResult>,
    /// Results of moisture tests, per cent wet basis.
    pub moisture_tests: Vec<MoistureResult>,
    /// What a named person said about suspect readings.
    pub answers: Vec<SuspectAnswer>,
}

/// Longest time between two readings where the plan states none (tool rule: as short as hand readings ever come).
const MONITORING_INTERVAL_S: f64 = 60.0;

impl Batch {
    /// Reads a batch file; names every problem with its place.
    ///
    /// # Errors
    /// [`Problems`].
    pub fn parse(file_name: &str, bytes: &[u8]) -> Result<Self, Problems> {
        let doc = Document::from_bytes(file_name, bytes)?;
        let built = build(file_name, &doc);
        doc.finish_with(built)
    }
}

fn build(file_name: &str, doc: &Document) -> Option<Batch> {
    let root = doc.root();
    let batch = root.required_section("batch")?;
    let date = when::required_date(&batch, "date");
    let clock = when::required_zone(&batch, "zone");
    let identity = identity::read(&root, &batch);
    // Clock times can be read only once day and zone are known; without them the rest would only repeat the problem.
    let (date, clock) = (date?, clock?);
    let when = when::When { clock: &clock, day: date };
    let claim = claim::claim(&root, &when);
    let limits = claim::limits(&root, &when);
    let growth_limits = claim::growth_limits(&root);
    let practices = claim::practices(&root);
    let authority = own::authority(&root, &when);
    let schedule = own::schedule(&root, &when);
    if authority.is_some() && schedule.is_some() {
        root.report_here("authority and schedule", "one of the two: a lot is judged by one criterion");
    }
    let interval = root
        .section("monitoring")
        .and_then(|s| s.quantity("interval", Duration::from_seconds(0.1)..=Duration::from_hours(24.0)))
        .unwrap_or(Duration::from_seconds(MONITORING_INTERVAL_S));
    let mut facts = facts::read(&root, &when, interval);
    let tests = lot::tests(&root, &when);
    facts.lot = lot::facts(&root, &tests);
    Some(Batch {
        file_name: file_name.to_owned(),
        identity: identity?,
        date,
        claim: claim?,
        limits,
        growth_limits,
        lot_claims: lot::claims(&root),
        trials_like: facts::trials_like(&root),
        end_point: end_point::claim(&root),
        moisture_standard: end_point::standard(&root),
        moisture_tests: end_point::tests(&root, &when),
        practices,
        authority,
        schedule,
        no_criterion: root.section("claim").and_then(|s| s.text("none_because")),
        facts,
        deviations: lot::deviations(&root, &when),
        tests,
        answers: lot::answers(&root, &when),
        clock,
    })
}
