//! Interruptions judged on the spot, by what was recorded alone: no forecast goes into this.

use fallrate_foods::KillStep;
use fallrate_lethality::{
    Advised, Answer, BatchFacts, COME_UP_LIMIT_MIN, Case, Citation, Claim, Endpoint, InterruptionFinding,
    LogTarget, StatedClock, assess_interruption, citation, rehearse_interruption,
};
use fallrate_series::{EventKind, Instant, Log, Proof, Role, Span};
use fallrate_store::{Body, RecordRealm, Records, StoreError, StreamName, chain_of};
use fallrate_units::Duration;

use super::floor::FloorWord;
use crate::batches::{Run, Stopped, StoppedKind};
use crate::proof::{Gathered, gather, record};

/// Readings by hand further apart than this leave the time between them unrecorded, where the plant states no interval of
/// its own (tool rule).
const BETWEEN_READINGS_MIN: f64 = 15.0;
/// How far a clock on a wall may be from the true time, s (tool rule).
const WALL_CLOCK_S: f64 = 60.0;

/// An interruption, judged by the record.
#[derive(Clone, Debug, PartialEq)]
pub struct StopJudged {
    /// The interruption.
    pub stopped: Stopped,
    /// Whether the product needs a kill step; none where the plan cannot be read.
    pub kill_step: Option<KillStep>,
    /// What the record says of it; none where it cannot be read.
    pub finding: Option<InterruptionFinding>,
    /// Whether claim and facts are stated: without them nothing can be met.
    pub stated: bool,
    /// Core readings just before and just after it began, degC.
    pub core_before: Option<(Instant, f64)>,
    /// The first core reading after its end, degC.
    pub core_after: Option<(Instant, f64)>,
    /// For the floor.
    pub word: FloorWord,
}

/// The rules the judgement rests on.
#[must_use]
pub fn stop_sources() -> Vec<Citation> {
    ["RULE-C14", "RULE-C15"].iter().filter_map(|id| citation(id).ok()).collect()
}

/// Every interruption of a run, judged by its record up to now.
///
/// # Errors
/// What the place of the records says.
pub fn judge_stops(
    records: &mut dyn Records,
    run: &Run,
    kill_step: Option<KillStep>,
    now: Instant,
) -> Result<Vec<StopJudged>, StoreError> {
    if run.stopped.is_empty() {
        return Ok(Vec::new());
    }
    let Some(chain) = chain_of::<Body>(records, &StreamName::batch(&run.id)?)? else { return Ok(Vec::new()) };
    let view = chain.view();
    let mut files = Vec::new();
    for k in &view.files {
        files.extend(records.file(k.value.sha256)?.map(|b| (k.value.name.clone(), b)));
    }
    let kept = record::Record { chain, files };
    let log = record::readings_of(&kept).and_then(|files| gather(&files, &run.zone, ""));
    // A record that is open to two readings cannot be judged; it is no fault of the page.
    let log = log.ok().and_then(|g| match g {
        Gathered::Ready(log) => Some(*log),
        Gathered::Open(_) => None,
    });
    let stated = view.case();
    let judged = run.stopped.iter().map(|s| {
        let case = stated.clone().or_else(|| Some(bare_case(run, log.as_ref()?)));
        let finding = log.as_ref().zip(case).and_then(|(log, case)| finding(run.realm, log, &case, s, now));
        let cores = |f: &dyn Fn(f64) -> bool| {
            run.readings
                .iter()
                .filter(|r| matches!(r.role, Role::CoreProbe { .. }))
                .filter(|r| f(r.at.seconds_since(s.from)))
                .map(|r| (r.at, r.value))
                .collect::<Vec<_>>()
        };
        let after = s.until.map(|u| u.seconds_since(s.from)).unwrap_or(f64::INFINITY);
        StopJudged {
            word: word_of(s, kill_step, finding.as_ref()),
            stopped: s.clone(),
            kill_step,
            finding,
            stated: stated.is_some(),
            core_before: cores(&|t| t <= 0.0).last().copied(),
            core_after: cores(&|t| t >= after).first().copied(),
        }
    });
    Ok(judged.collect())
}

fn event(kind: StoppedKind) -> EventKind {
    match kind {
        StoppedKind::Power => EventKind::PowerCut,
        StoppedKind::Door => EventKind::DoorOpen,
        StoppedKind::Fan => EventKind::FanStopped,
        StoppedKind::Trays => EventKind::TrayOut,
    }
}

/// What the record says of one; readings of a rehearsal or a demonstration stay practice.
fn finding(
    realm: RecordRealm,
    log: &Log<Proof>,
    case: &Case,
    s: &Stopped,
    now: Instant,
) -> Option<InterruptionFinding> {
    let span = Span::new(s.from, s.until.unwrap_or(now).max(s.from)).ok()?;
    let kind = event(s.kind);
    if realm == RecordRealm::Proof {
        return assess_interruption(log, case, &kind, span).ok();
    }
    rehearse_interruption(&log.clone().into_demo(), case, &kind, span).ok().map(|p| p.finding().clone())
}

/// Nothing is claimed or stated: the growth band is looked at in the places that were read, the kill step cannot be judged.
fn bare_case(run: &Run, log: &Log<Proof>) -> Case {
    let mut facts = BatchFacts::new(Duration::from_seconds(BETWEEN_READINGS_MIN * 60.0));
    facts.product_met_heat = run.started_at();
    facts.stated_clock = Some(StatedClock::Own { uncertainty_s: WALL_CLOCK_S });
    for c in &log.channels {
        if let Role::CoreProbe { position, .. } = &c.role
            && !facts.required_positions.contains(position)
        {
            facts.required_positions.push(position.clone());
        }
    }
    if facts.required_positions.is_empty() {
        // No place was read: all of the time is unrecorded.
        facts.required_positions.push("core".to_owned());
    }
    let claim = Claim {
        document: None,
        options: Vec::new(),
        target: LogTarget::SixPointFive,
        endpoint: Endpoint::Tables,
        claimed_at: None,
    };
    Case { claim, facts }
}

/// The word for the floor. In doubt it is to hold.
fn word_of(s: &Stopped, kill_step: Option<KillStep>, finding: Option<&InterruptionFinding>) -> FloorWord {
    let passed = finding.is_some_and(|f| f.come_up == Answer::NotMet);
    if kill_step == Some(KillStep::None) {
        return if s.until.is_none() { FloorWord::Wait } else { FloorWord::GoOn };
    }
    match (finding.map(|f| f.advised), s.until) {
        _ if passed => FloorWord::Call,
        (Some(Advised::Continue), Some(_)) => FloorWord::GoOn,
        (_, None) => FloorWord::Wait,
        _ => FloorWord::Hold,
    }
}

/// Minutes in the growth band that a limit allows.
pub const GROWTH_LIMIT_MIN: f64 = COME_UP_LIMIT_MIN;
