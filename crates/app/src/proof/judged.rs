//! Everything a record says about a batch, judged.

use fallrate_lethality::{
    AW_LIMIT_AIR, AW_LIMIT_NO_OXYGEN, Answer, AuthorityVerdict, Case, DegreeHours, ExposureFinding,
    InterruptionFinding, Judgement, LimitClass, LotAnswer, LotClaims, LotCriterion, LotExtra, LotInputs,
    Missing, MoistureLimit, Pack, PlanGrowthResult, PlanLimitResult, PracticeFinding, RecordedAction,
    RehearsalResult, ScheduleVerdict, StatedClock, TrayEndPoint, VerdictMeasured, WaterActivityResult,
    assess_interruption, chance_of_missing, degree_hours_of_record, evaluate_practice, exposure, judge,
    judge_by_authority, judge_by_schedule, judge_end_point, judge_plan_growth, judge_plan_limit,
    judge_water_activity, lot_answer, moisture_limits, rehearse, rehearse_by_authority, rehearse_by_schedule,
    rehearse_interruption, rehearse_lot, rehearse_plan_growth, rehearse_plan_limit, rehearse_practice,
};
use fallrate_series::{
    Answer as SuspicionAnswer, Event, EventKind, Instant, Log, Proof, ProofProvenance, Realm, Rehearsal, Span,
};

use fallrate_units::MoistureWetBasis;

use super::batch_file::{Batch, MoistureResult};
use super::guidance::standard_name;
use crate::AppError;

/// The published criterion's outcome: a verdict where readings are measured or entered, practice where they are
/// invented.
#[derive(Clone, Debug)]
pub enum Verdict {
    /// On a measured record.
    Measured(VerdictMeasured),
    /// On invented readings.
    Practice(RehearsalResult),
}

impl Verdict {
    /// What it says.
    #[must_use]
    pub const fn judgement(&self) -> &Judgement {
        match self {
            Self::Measured(v) => v.judgement(),
            Self::Practice(r) => r.judgement(),
        }
    }
}

/// The results of water-activity tests against the limit of the pack.
#[derive(Clone, Debug, PartialEq)]
pub struct WaterActivityFinding {
    /// Over all results; the worst decides.
    pub answer: Answer,
    /// Highest result.
    pub highest: Option<f64>,
    /// Limit of the pack.
    pub limit: f64,
    /// Whether the pack keeps oxygen out.
    pub no_oxygen: bool,
    /// How many samples.
    pub samples: u32,
    /// Chance that so many samples all missed a lot with one wet piece in twenty; `None` without samples.
    pub chance_of_missing: Option<f64>,
}

/// Share of wet pieces that the chance of missing them is told for (tool rule: one in twenty).
pub const WET_SHARE: f64 = 0.05;

/// A record, judged.
#[derive(Clone, Debug)]
pub struct Judged {
    /// What was judged by: the batch's, with what the hand-entered events add.
    pub case: Case,
    /// The readings, with suspect ones answered.
    pub log: Log<Proof>,
    /// The published criterion.
    pub verdict: Verdict,
    /// The plan's own limits.
    pub limits: Vec<PlanLimitResult>,
    /// The plan's growth limits.
    pub growth: Vec<PlanGrowthResult>,
    /// What is claimed of the lot beside the kill step.
    pub lot_claims: LotClaims,
    /// Practices that guidance does not accept.
    pub practices: Vec<PracticeFinding>,
    /// By an authority's criterion.
    pub authority: Option<AuthorityVerdict>,
    /// By an adopted study.
    pub schedule: Option<ScheduleVerdict>,
    /// What interruptions mean.
    pub interruptions: Vec<InterruptionFinding>,
    /// Growth exposure. Information.
    pub exposure: Vec<ExposureFinding>,
    /// Degree-hours by position. Information.
    pub degree_hours: Vec<(String, DegreeHours)>,
    /// Weighed trays against the plan's moisture.
    pub end_points: Vec<TrayEndPoint>,
    /// Class of that moisture.
    pub end_point_class: LimitClass,
    /// Moisture tests against the standard claimed; `None` where none is claimed.
    pub standard: Option<StandardFinding>,
    /// Water activity against the limit of the pack; `None` where no pack is stated.
    pub water_activity: Option<WaterActivityFinding>,
    /// Channels whose suspect readings were answered without any being there.
    pub idle_answers: Vec<String>,
}

/// How the name of a tray's moisture begins among the parts of the lot's answer.
pub(crate) const TRAY: &str = "tray ";

/// Moisture tests against a product standard. Identity and quality, not safety.
#[derive(Clone, Debug, PartialEq)]
pub struct StandardFinding {
    /// The limit.
    pub limit: MoistureLimit,
    /// Highest result, per cent wet basis.
    pub highest_percent: Option<f64>,
    /// Over all results; the worst decides.
    pub answer: Answer,
}

/// By what the lot is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JudgedBy {
    /// The published criterion claimed.
    Guidance,
    /// A process authority's criterion.
    Authority,
    /// A study adopted as a schedule.
    Schedule,
}

impl Judged {
    /// By what the lot is judged: an authority's criterion or an adopted schedule where one is claimed.
    #[must_use]
    pub const fn by(&self) -> JudgedBy {
        match (&self.authority, &self.schedule) {
            (Some(_), _) => JudgedBy::Authority,
            (None, Some(_)) => JudgedBy::Schedule,
            (None, None) => JudgedBy::Guidance,
        }
    }
    /// The criterion's answer. The plan's own limits are an answer of their own.
    #[must_use]
    pub fn criterion(&self) -> Answer {
        match (&self.authority, &self.schedule) {
            (Some(a), _) => a.answer,
            (None, Some(s)) => s.answer,
            (None, None) => self.verdict.judgement().answer,
        }
    }
    /// What must be supplied for the criterion.
    #[must_use]
    pub fn missing(&self) -> &[Missing] {
        match (&self.authority, &self.schedule) {
            (Some(a), _) => &a.missing,
            (None, Some(s)) => &s.missing,
            (None, None) => &self.verdict.judgement().missing,
        }
    }
    /// Whether everything missing can still come.
    #[must_use]
    pub fn waiting(&self) -> bool {
        let missing = self.missing();
        self.criterion() == Answer::CannotBeJudged
            && match self.by() {
                JudgedBy::Guidance => self.verdict.judgement().waiting,
                _ => !missing.is_empty() && missing.iter().all(Missing::may_still_come),
            }
    }
    /// What the lot's answer is made of: criterion, critical limits of the plan, warm wet product after the kill, water
    /// activity and pack where claimed. `actions` are corrective actions as recorded.
    #[must_use]
    pub fn lot_answer(&self, actions: &[RecordedAction]) -> LotAnswer {
        let inputs = LotInputs {
            criterion: match (&self.authority, &self.schedule) {
                (Some(a), _) => LotCriterion::Authority(a),
                (None, Some(s)) => LotCriterion::Schedule(s),
                (None, None) => LotCriterion::Published,
            },
            limits: &self.limits,
            growth: &self.growth,
            lot: self.case.facts.lot,
            claims: self.lot_claims,
            extras: &self.extras(),
            actions,
        };
        match &self.verdict {
            Verdict::Measured(v) => lot_answer(v, &inputs),
            Verdict::Practice(r) => rehearse_lot(r, &inputs).finding().clone(),
        }
    }
    /// Moisture by weight, a limit for each tray weighed, and by the standard claimed.
    fn extras(&self) -> Vec<LotExtra> {
        let class = self.end_point_class;
        let tray = |t: &TrayEndPoint| LotExtra { name: format!("{TRAY}{}", t.tray), class, answer: t.answer };
        let mut out: Vec<LotExtra> = self.end_points.iter().map(tray).collect();
        out.extend(self.standard.as_ref().map(|s| LotExtra {
            name: format!("{}: {}", standard_name(&s.limit.product, &s.limit.form_or_type), s.limit.standard),
            class: LimitClass::Label,
            answer: s.answer,
        }));
        out
    }
    /// Everything that must hold before the lot can go on its way.
    #[must_use]
    pub fn lot(&self) -> Answer {
        self.lot_answer(&[]).answer
    }
}

/// Judges a batch by what is claimed and stated and by its readings.
///
/// # Errors
/// [`AppError::Lethality`] where something stated is out of its range, [`AppError::TwoTimes`] where statement and
/// readings name different times for one thing, [`AppError::NoSuchChannel`] for an answer about a channel that is not
/// there.
pub fn judge_batch(batch: &Batch, mut log: Log<Proof>) -> Result<Judged, AppError> {
    let mut case = Case { claim: batch.claim.clone(), facts: batch.facts.clone() };
    add_deviations(&mut log, batch);
    facts_from_events(&mut case, &log, batch)?;
    let idle_answers = answer_suspicions(&mut log, batch)?;
    let stated_pack = LotClaims { shelf_stable: case.facts.lot.pack.is_some(), ..LotClaims::default() };
    let found = if batch.identity.invented {
        practised(batch, &log.clone().into_demo(), &case)?
    } else {
        measured(batch, &log, &case)?
    };
    Ok(Judged {
        water_activity: water_activity(batch, &case)?,
        end_points: batch.end_point.map(|c| judge_end_point(&log, &c)).transpose()?.unwrap_or_default(),
        end_point_class: batch.end_point.map_or(LimitClass::Quality, |c| c.class),
        standard: standard(batch)?,
        case,
        log,
        verdict: found.verdict,
        limits: found.limits,
        growth: found.growth,
        lot_claims: batch.lot_claims.unwrap_or(stated_pack),
        practices: found.practices,
        authority: found.authority,
        schedule: found.schedule,
        interruptions: found.interruptions,
        exposure: found.exposure,
        degree_hours: found.degree_hours,
        idle_answers,
    })
}

/// What the judge found, of a measured record or as practice.
struct Found {
    verdict: Verdict,
    limits: Vec<PlanLimitResult>,
    growth: Vec<PlanGrowthResult>,
    practices: Vec<PracticeFinding>,
    authority: Option<AuthorityVerdict>,
    schedule: Option<ScheduleVerdict>,
    interruptions: Vec<InterruptionFinding>,
    exposure: Vec<ExposureFinding>,
    degree_hours: Vec<(String, DegreeHours)>,
}

fn measured(batch: &Batch, log: &Log<Proof>, case: &Case) -> Result<Found, AppError> {
    let mut interruptions = Vec::new();
    for (kind, span) in interrupted(log)? {
        interruptions.push(assess_interruption(log, case, &kind, span)?);
    }
    Ok(Found {
        verdict: Verdict::Measured(judge(log, case)?),
        limits: batch.limits.iter().map(|l| judge_plan_limit(log, case, l)).collect::<Result<_, _>>()?,
        growth: batch
            .growth_limits
            .iter()
            .map(|l| judge_plan_growth(log, case, l))
            .collect::<Result<_, _>>()?,
        practices: batch.practices.iter().map(|p| evaluate_practice(log, case, *p)).collect(),
        authority: batch.authority.as_ref().map(|a| judge_by_authority(log, case, a)).transpose()?,
        schedule: batch.schedule.as_ref().map(|s| judge_by_schedule(log, case, s)).transpose()?,
        interruptions,
        exposure: exposure(log, case)?,
        degree_hours: degree_hours(log, case)?,
    })
}

/// The same on invented readings. What comes out is shown only on documents that carry the mark of practice.
fn practised(batch: &Batch, log: &Log<Rehearsal>, case: &Case) -> Result<Found, AppError> {
    let mut interruptions = Vec::new();
    for (kind, span) in interrupted(log)? {
        interruptions.push(rehearse_interruption(log, case, &kind, span)?.finding().clone());
    }
    let limits = batch.limits.iter().map(|l| rehearse_plan_limit(log, case, l).map(|p| p.finding().clone()));
    let growth =
        batch.growth_limits.iter().map(|l| rehearse_plan_growth(log, case, l).map(|p| p.finding().clone()));
    let authority = batch.authority.as_ref().map(|a| rehearse_by_authority(log, case, a)).transpose()?;
    let schedule = batch.schedule.as_ref().map(|s| rehearse_by_schedule(log, case, s)).transpose()?;
    Ok(Found {
        verdict: Verdict::Practice(rehearse(log, case)?),
        limits: limits.collect::<Result<_, _>>()?,
        growth: growth.collect::<Result<_, _>>()?,
        practices: batch
            .practices
            .iter()
            .map(|p| rehearse_practice(log, case, *p).finding().clone())
            .collect(),
        authority: authority.map(|a| a.finding().clone()),
        schedule: schedule.map(|s| s.finding().clone()),
        interruptions,
        exposure: exposure(log, case)?,
        degree_hours: degree_hours(log, case)?,
    })
}

fn degree_hours<R: Realm>(log: &Log<R>, case: &Case) -> Result<Vec<(String, DegreeHours)>, AppError> {
    let mut out = Vec::new();
    for name in &case.facts.required_positions {
        out.extend(degree_hours_of_record(log, case, name)?.map(|d| (name.clone(), d)));
    }
    Ok(out)
}

fn standard(batch: &Batch) -> Result<Option<StandardFinding>, AppError> {
    let Some((product, form)) = &batch.moisture_standard else { return Ok(None) };
    let limits = moisture_limits()?;
    let Some(limit) = limits.iter().find(|l| l.product == *product && l.form_or_type == *form) else {
        return Ok(None);
    };
    let one =
        |t: &MoistureResult| limit.judge(MoistureWetBasis::from_percent(t.percent_wet_basis), t.tolerance);
    Ok(Some(StandardFinding {
        answer: Answer::all(batch.moisture_tests.iter().map(one)).unwrap_or(Answer::CannotBeJudged),
        highest_percent: batch.moisture_tests.iter().map(|t| t.percent_wet_basis).reduce(f64::max),
        limit: limit.clone(),
    }))
}

fn water_activity(batch: &Batch, case: &Case) -> Result<Option<WaterActivityFinding>, AppError> {
    let Some(pack) = case.facts.lot.pack else { return Ok(None) };
    let limit = match pack {
        Pack::Air => AW_LIMIT_AIR,
        Pack::OxygenProofVacuum => AW_LIMIT_NO_OXYGEN,
    };
    let results: Vec<WaterActivityResult> = batch
        .tests
        .iter()
        .map(|t| WaterActivityResult { water_activity: t.water_activity, tolerance: t.tolerance })
        .collect();
    let samples = u32::try_from(results.len()).unwrap_or(u32::MAX);
    Ok(Some(WaterActivityFinding {
        answer: judge_water_activity(&results, limit),
        highest: results.iter().map(|r| r.water_activity).reduce(f64::max),
        limit,
        no_oxygen: pack == Pack::OxygenProofVacuum,
        samples,
        chance_of_missing: (samples > 0).then(|| chance_of_missing(WET_SHARE, samples)).transpose()?,
    }))
}

/// Interruptions that a person entered count as events of the record.
fn add_deviations(log: &mut Log<Proof>, batch: &Batch) {
    for d in &batch.deviations {
        let at = (d.span.from(), (!d.open).then(|| d.span.to()));
        if log.events.iter().any(|e| e.kind == d.kind && (e.at, e.until) == at) {
            continue;
        }
        log.events.push(Event {
            at: at.0,
            until: at.1,
            kind: d.kind.clone(),
            provenance: ProofProvenance::Entered,
            by: d.by.clone(),
            note: d.note.clone(),
            source: None,
        });
    }
    log.events.sort_by_key(|e| e.at);
}

/// Times that the hand entry holds and the batch file does not.
fn facts_from_events(case: &mut Case, log: &Log<Proof>, batch: &Batch) -> Result<(), AppError> {
    let f = &mut case.facts;
    if f.product_met_heat.is_none() && f.stated_clock.is_none() {
        f.stated_clock = clock_of_event(log, &EventKind::ProductMetHeat);
    }
    f.product_met_heat =
        one_time(f.product_met_heat, log, &EventKind::ProductMetHeat, "process.met_heat", batch)?;
    f.drying_began = one_time(f.drying_began, log, &EventKind::DryingBegan, "process.drying_began", batch)?;
    for e in log.events.iter().filter(|e| e.kind == EventKind::DrySurfaceStep) {
        let step = e.until.and_then(|to| Span::new(e.at, to).ok());
        f.dry_surface_steps.extend(step.filter(|s| !batch.facts.dry_surface_steps.contains(s)));
    }
    Ok(())
}

/// The clock of the file that an event was written in.
fn clock_of_event(log: &Log<Proof>, kind: &EventKind) -> Option<StatedClock> {
    let event = log.events.iter().find(|e| e.kind == *kind)?;
    let file_name = log.sources.get(event.source?)?.file_name.clone();
    Some(StatedClock::OfFile { file_name })
}

/// Two times for one thing within a minute are one (they are written to the minute); the earlier counts.
const SAME_TIME_S: f64 = 60.0;

fn one_time(
    stated: Option<Instant>,
    log: &Log<Proof>,
    kind: &EventKind,
    key: &'static str,
    batch: &Batch,
) -> Result<Option<Instant>, AppError> {
    let mut all: Vec<Instant> = log.events.iter().filter(|e| e.kind == *kind).map(|e| e.at).collect();
    all.extend(stated);
    all.sort();
    let (Some(first), Some(last)) = (all.first().copied(), all.last().copied()) else { return Ok(None) };
    if last.seconds_since(first) > SAME_TIME_S {
        return Err(AppError::TwoTimes {
            key,
            first: batch.clock.full(first),
            second: batch.clock.full(last),
            file: batch.file_name.clone(),
        });
    }
    Ok(Some(first))
}

fn answer_suspicions(log: &mut Log<Proof>, batch: &Batch) -> Result<Vec<String>, AppError> {
    let mut idle = Vec::new();
    for a in &batch.answers {
        let names: Vec<String> = log.channels.iter().map(|c| c.name.clone()).collect();
        let Some(channel) = log.channels.iter_mut().find(|c| c.name == a.channel) else {
            return Err(AppError::NoSuchChannel {
                name: a.channel.clone(),
                allowed: names.join(", "),
                file: batch.file_name.clone(),
            });
        };
        let changed = channel.answer(SuspicionAnswer {
            span: a.span,
            about: a.about,
            accepted: a.accepted,
            by: a.by.clone(),
            reason: a.reason.clone(),
            answered_at: a.answered_at,
            readings: 0,
        })?;
        if changed == 0 {
            idle.push(a.channel.clone());
        }
    }
    Ok(idle)
}

/// Interruptions among the events. Without an end one lasts to the end of the record.
fn interrupted<R: Realm>(log: &Log<R>) -> Result<Vec<(EventKind, Span)>, AppError> {
    let counts = |k: &EventKind| super::batch_file::DEVIATIONS.iter().any(|(_, d)| d == k);
    let end = log.span().map(Span::to);
    let mut out = Vec::new();
    for e in log.events.iter().filter(|e| counts(&e.kind)) {
        let to = e.until.or(end).unwrap_or(e.at).max(e.at);
        out.push((e.kind.clone(), Span::new(e.at, to)?));
    }
    Ok(out)
}

/// Everything that was found, as JSON.
pub(super) fn json(judged: &Judged) -> Result<String, AppError> {
    let verdict = match &judged.verdict {
        Verdict::Measured(v) => fallrate_store::JsonText::of(v)?,
        Verdict::Practice(r) => fallrate_store::JsonText::of(r)?,
    };
    let aw = judged.water_activity.as_ref().map(|w| {
        serde_json::json!({ "answer": w.answer, "highest": w.highest, "limit": w.limit, "samples": w.samples })
    });
    let lot = judged.lot_answer(&[]);
    let all = serde_json::json!({
        "program_version": crate::VERSION,
        "lot": lot.answer,
        "lot_standing": lot.standing,
        "lot_parts": lot.parts,
        "waiting_for": lot.waiting_for,
        "open_actions": lot.open_actions,
        "criterion": judged.criterion(),
        "plan_limits_answer": lot.plan,
        "verdict": verdict,
        "limits": judged.limits,
        "growth_limits": judged.growth,
        "authority": judged.authority,
        "schedule": judged.schedule,
        "practices": judged.practices,
        "interruptions": judged.interruptions,
        "exposure": judged.exposure,
        "water_activity": aw,
        "end_points": judged.end_points,
        "case": judged.case,
        "diagnostics": judged.log.diagnostics,
    });
    let text = serde_json::to_string_pretty(&all);
    text.map(|t| t + "\n").map_err(|e| AppError::NotAValue { field: "json".to_owned(), why: e.to_string() })
}
