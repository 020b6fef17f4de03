//! A batch under way: the forecast as followed, what if, interruptions, and what else happens to a run.

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Duration;

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use fallrate_app::batches::{
    self, Disposition, FourParts, Instant, ReadingKind, Records, Run, Setting, Stamp, StoppedKind,
    StoreError, instant_from_iso,
};
use fallrate_app::underway::{
    self, Otherwise, StopJudged, WayFigures, asked_words, doubted, moved_words, stop_reasons,
};
use fallrate_app::{Asked, Units};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::batches::{Entered, found};
use crate::batch::Sight;
use crate::fault::Problem;
use crate::keep::stamp;
use crate::look::Visit;
use crate::state::Site;

/// Longest wait for a forecast that knows everything entered.
const WAIT: Duration = Duration::from_secs(30);

fn refuse(detail: impl Into<String>) -> Problem {
    Problem::new(StatusCode::UNPROCESSABLE_ENTITY, detail.into())
}

async fn sight(v: &Visit, site: &Site, id: &str) -> Result<Sight, Problem> {
    let key = id.to_owned();
    let run = found(id, site.desk().read(move |r| batches::run(r, &key)).await?)?;
    Ok(Sight::of(v, site, run, WAIT).await?)
}

/// An end: early, expected and late, each ISO 8601 in UTC; left out where it is not reached.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct EndJson {
    /// One in ten batches ends earlier.
    early: Option<String>,
    /// Half do.
    expected: Option<String>,
    /// Nine in ten do.
    late: Option<String>,
}

fn iso(at: Option<Instant>) -> Option<String> {
    at.map(|i| i.iso_utc())
}

/// A reading that did not count.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct DoubtJson {
    /// Number of its entry.
    entry: u64,
    /// What may be wrong with it.
    text: String,
    /// What it would be were that right, in degC, fraction or kg.
    proposed: Option<f64>,
}

/// The word for the floor.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct FloorJson {
    /// "go_on", "wait", "hold" or "call".
    word: &'static str,
    /// Why.
    why: String,
}

/// A batch as followed. A forecast: it proves nothing about the batch.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct ForecastJson {
    /// The word for the floor.
    floor: FloorJson,
    /// When it was worked out; left out where the batch is not followed (not begun, ended, or no result yet).
    at: Option<String>,
    /// It knows less than the record does.
    behind: bool,
    /// Why there is no newer one.
    failed: Option<String>,
    /// Power off at which the target is met at unloading.
    end: Option<EndJson>,
    /// Share of the draws that do not meet it.
    unreached: Option<f64>,
    /// How the end moved, and why, in one sentence.
    moved: Option<String>,
    /// What to dial were the timer dialled anew now, s.
    dial_s: Option<f64>,
    /// When the running countdown goes off.
    dialled_off: Option<String>,
    /// Share of the draws that are then still too wet.
    dialled_too_wet: Option<f64>,
    /// Readings that did not count.
    doubts: Vec<DoubtJson>,
}

/// The batch as followed from everything entered.
#[utoipa::path(get, path = "/batches/{id}/forecast", operation_id = "forecast",
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "The forecast: no evidence", body = ForecastJson),
        (status = 404, description = "No such batch", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn forecast(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
) -> Result<Json<ForecastJson>, Problem> {
    let s = sight(&v, &site, &id).await?;
    let f = s.seen.followed.as_deref();
    let end = f.map(underway::Followed::end);
    let at = |s: f64| iso(f.and_then(|f| f.instant(s)));
    let dialled = f.and_then(underway::Followed::as_dialled);
    let doubts = f.map_or_else(Vec::new, |f| doubted(f, &s.run, &v.reader));
    Ok(Json(ForecastJson {
        floor: FloorJson { word: s.floor.word.name(), why: s.floor.why.clone() },
        at: iso(f.map(|f| f.at)),
        behind: s.seen.behind,
        failed: s.seen.failed.clone(),
        end: end.map(|e| EndJson {
            early: at(e.power_off_s.low),
            expected: at(e.power_off_s.middle),
            late: at(e.power_off_s.high),
        }),
        unreached: end.map(|e| e.unreached),
        moved: f.and_then(|f| moved_words(f, &s.run, &v.reader)),
        dial_s: f.map(underway::Followed::dial_s).filter(|s| s.is_finite()),
        dialled_off: dialled.and_then(|d| at(d.power_off_s)),
        dialled_too_wet: dialled.map(|d| d.too_wet),
        doubts: doubts
            .into_iter()
            .map(|d| DoubtJson { entry: d.entry, text: d.text, proposed: d.proposed })
            .collect(),
    }))
}

/// Something to be done otherwise from now on.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(tag = "what", rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum WhatIfQuestion {
    /// The vent to another mark.
    Vent {
        /// The cabinet's name for the mark.
        #[schema(max_length = 60)]
        mark: String,
    },
    /// Another set point.
    SetPoint {
        /// degC
        celsius: f64,
    },
    /// The power off now.
    StopNow {},
    /// The plan's next stage now.
    NextStageNow {},
    /// The power off from one time to another, past or to come; ISO 8601 in UTC.
    PowerOff {
        /// From.
        from: String,
        /// To.
        until: String,
    },
}

/// One way.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct WayJson {
    /// Power off at which the target is met at unloading.
    end: EndJson,
    /// Electric energy from the start, kWh; left out where it is not known.
    energy_kwh: Option<f64>,
    /// Mean moisture at unloading, kg/kg dry basis.
    mean_dry_basis: Option<f64>,
    /// Share of the draws that are then still too wet.
    too_wet: f64,
}

/// Both ways. A forecast: it proves nothing about the batch.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct WhatIfJson {
    /// In one sentence.
    text: String,
    /// As it runs.
    as_it_is: WayJson,
    /// Otherwise.
    otherwise: WayJson,
}

fn way(w: &WayFigures) -> WayJson {
    let [early, expected, late] = w.power_off.map(iso);
    let finite = |x: f64| x.is_finite().then_some(x);
    WayJson {
        end: EndJson { early, expected, late },
        energy_kwh: finite(w.energy_kwh),
        mean_dry_basis: finite(w.mean_dry_basis[1]),
        too_wet: w.too_wet,
    }
}

/// What would come of doing otherwise. Nothing is entered.
#[utoipa::path(post, path = "/batches/{id}/what-if", operation_id = "what_if", request_body = WhatIfQuestion,
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "Both ways: a forecast, no evidence", body = WhatIfJson),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such batch", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "The cabinet does not have what is asked for, or the batch is not under way", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "Given up", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn what_if(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<WhatIfQuestion>, JsonRejection>,
) -> Result<Json<WhatIfJson>, Problem> {
    let otherwise = match super::plans::body(sent)? {
        WhatIfQuestion::Vent { mark } => Otherwise::Vent(mark),
        WhatIfQuestion::SetPoint { celsius } => Otherwise::SetPoint(celsius),
        WhatIfQuestion::StopNow {} => Otherwise::StopNow,
        WhatIfQuestion::NextStageNow {} => Otherwise::NextStageNow,
        WhatIfQuestion::PowerOff { from, until } => {
            Otherwise::PowerOff { from: instant_from_iso(&from)?, until: instant_from_iso(&until)? }
        }
    };
    let s = sight(&v, &site, &id).await?;
    let (Some(f), Ok(planned)) = (s.seen.followed.clone(), &s.planned) else {
        return Err(refuse("batch: not under way, or not followed yet; allowed: one that has begun"));
    };
    let (planned, known) = (Arc::clone(planned), Arc::clone(&f));
    let compared = site
        .planner()
        .run(move |stop| underway::ask(&planned, &known, otherwise, &|_| !stop.load(Ordering::Relaxed)))
        .await?;
    let [was, is] = compared.figures(&f);
    let text = asked_words(&compared, &f, &s.run, &v.reader);
    Ok(Json(WhatIfJson { text, as_it_is: way(&was), otherwise: way(&is) }))
}

/// An interruption, judged by what was recorded alone.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct StopJson {
    /// Number of its entry.
    entry: u64,
    /// "power_cut", "door_open", "fan_stopped" or "tray_out".
    kind: &'static str,
    /// From, ISO 8601 in UTC.
    from: String,
    /// To; left out while it lasts.
    until: Option<String>,
    /// "go_on", "wait", "hold" or "call".
    word: &'static str,
    /// Minutes of it shown in the growth range, at the worst place.
    band_shown_min: Option<f64>,
    /// The same with all unrecorded time counted as inside.
    band_at_most_min: Option<f64>,
    /// Why, point by point.
    reasons: Vec<String>,
}

fn stop_json(v: &Visit, run: &Run, j: &StopJudged) -> StopJson {
    StopJson {
        entry: j.stopped.entry,
        kind: j.stopped.kind.word(),
        from: j.stopped.from.iso_utc(),
        until: iso(j.stopped.until),
        word: j.word.name(),
        band_shown_min: j.finding.as_ref().map(|f| f.band_shown_min),
        band_at_most_min: j.finding.as_ref().map(|f| f.band_at_most_min),
        reasons: stop_reasons(j, run, &v.reader),
    }
}

/// The interruptions of a batch, judged by what was recorded alone.
#[utoipa::path(get, path = "/batches/{id}/interruptions", operation_id = "interruptions",
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "Interruptions", body = Vec<StopJson>),
        (status = 404, description = "No such batch", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn interruptions(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
) -> Result<Json<Vec<StopJson>>, Problem> {
    let s = sight(&v, &site, &id).await?;
    Ok(Json(s.stops.iter().map(|j| stop_json(&v, &s.run, j)).collect()))
}

/// What happened to a run. Times are ISO 8601 in UTC; left out: now.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum Happened {
    /// An act of the plan was done.
    ActDone {
        /// Its number in the plan's list, from 1.
        #[schema(minimum = 1, maximum = 200)]
        number: usize,
        /// Its words.
        #[schema(max_length = 2000)]
        text: String,
        /// When.
        at: Option<String>,
    },
    /// The vent was set otherwise.
    Vent {
        /// The cabinet's name for the mark.
        #[schema(max_length = 60)]
        mark: String,
        /// When.
        at: Option<String>,
    },
    /// The set point was changed.
    SetPoint {
        /// degC
        celsius: f64,
        /// When.
        at: Option<String>,
    },
    /// The countdown was dialled anew.
    Timer {
        /// s
        seconds: f64,
        /// When.
        at: Option<String>,
    },
    /// Something interrupted the run.
    Interruption {
        /// "power_cut", "door_open", "fan_stopped" or "tray_out".
        what: String,
        /// From.
        from: String,
        /// To; left out while it lasts.
        until: Option<String>,
        /// Trays that were out.
        #[serde(default)]
        #[schema(max_items = 100)]
        trays: Vec<u32>,
        /// A few words.
        #[serde(default)]
        #[schema(max_length = 500)]
        note: String,
    },
    /// An interruption that was entered as lasting is over.
    InterruptionOver {
        /// Its entry.
        entry: u64,
        /// When it ended.
        until: Option<String>,
    },
    /// A reading is corrected.
    Correction {
        /// Its entry.
        entry: u64,
        /// What it should have said, with its unit.
        #[schema(max_length = 60)]
        value: String,
        /// Why.
        #[schema(min_length = 1, max_length = 500)]
        reason: String,
    },
    /// An entry is taken back.
    Withdrawal {
        /// The entry.
        entry: u64,
        /// Why.
        #[schema(min_length = 1, max_length = 500)]
        reason: String,
    },
    /// Parts of a corrective action.
    Action {
        /// What it is about.
        #[schema(max_length = 200)]
        deviation: String,
        /// The cause, found and removed.
        #[serde(default)]
        #[schema(max_length = 2000)]
        cause: String,
        /// The process, back under control.
        #[serde(default)]
        #[schema(max_length = 2000)]
        control: String,
        /// Measures against recurrence.
        #[serde(default)]
        #[schema(max_length = 2000)]
        prevention: String,
        /// What happened to the product.
        #[serde(default)]
        #[schema(max_length = 2000)]
        disposition: String,
        /// "release", "rework", "divert" or "destroy"; with `disposition`.
        decided: Option<String>,
        /// Product held, kg; with `disposition`.
        held_kg: Option<f64>,
    },
    /// The run ended.
    End {
        /// Why, in a few words.
        #[serde(default)]
        #[schema(max_length = 200)]
        why: String,
    },
}

/// Something that happened, with the id that makes it stand once.
#[derive(Clone, Debug, Deserialize, ToSchema)]
pub(super) struct HappenedQuestion {
    /// Id of the sender's own: sent again with the same id it is entered once. 8 to 80 letters, digits, hyphens.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
    /// What.
    #[serde(flatten)]
    happened: Happened,
}

/// Enters what happened to a run. What is answered with 200 is on the disk.
#[utoipa::path(post, path = "/batches/{id}/events", operation_id = "happened", request_body = HappenedQuestion,
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "Entered, or entered before with the same id", body = Entered),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such batch", body = Problem, content_type = "application/problem+json"),
        (status = 409, description = "The id was used for something else", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "An entry that cannot be taken", body = Problem, content_type = "application/problem+json"),
        (status = 503, description = "The records are busy; nothing was written", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn happened(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<HappenedQuestion>, JsonRejection>,
) -> Result<Json<Entered>, Problem> {
    let q = super::plans::body(sent)?;
    let key = id.clone();
    let run = found(&id, site.desk().read(move |r| batches::run(r, &key)).await?)?;
    let plant = site.desk().plant().await?.ok_or_else(|| refuse("plant: its settings are missing"))?;
    let stamp = stamp(&plant, &v, &q.entry_id);
    if stamp.client_id.is_none() {
        return Err(refuse(format!("entry_id: '{}'; allowed: 8 to 80 letters, digits, hyphens", q.entry_id)));
    }
    let job = job(&run, q.happened, stamp.at)?;
    let entry = site.desk().write(move |r| job.enter(r, &id, &stamp)).await?;
    Ok(Json(Entered { entry }))
}

/// An entry, read and ready to be made.
enum Job {
    Act(usize, String, Option<Instant>),
    Setting(Setting, Option<Instant>),
    Stop(StoppedKind, Instant, Option<Instant>, Vec<u32>, String),
    Over(u64, Instant),
    Correction(u64, Instant, ReadingKind, String, String),
    Withdrawal(u64, String),
    Action(FourParts),
    End(String),
}

impl Job {
    fn enter(self, r: &mut dyn Records, id: &str, s: &Stamp) -> Result<u64, StoreError> {
        match self {
            Self::Act(number, text, at) => batches::act_done(r, id, s, (number, &text), at),
            Self::Setting(setting, at) => batches::change_setting(r, id, s, &setting, at),
            Self::Stop(kind, from, until, trays, note) => {
                batches::enter_stop(r, id, s, kind, (from, until), (&trays, &note))
            }
            Self::Over(entry, until) => batches::stop_over(r, id, s, (entry, until), "over").map(|()| entry),
            Self::Correction(entry, at, kind, value, why) => {
                batches::correct_reading(r, id, s, (entry, at), (&kind, &value), &why).map(|()| entry)
            }
            Self::Withdrawal(entry, why) => batches::withdraw(r, id, s, entry, &why).map(|()| entry),
            Self::Action(parts) => batches::action_taken(r, id, s, &parts).map(|n| n as u64),
            Self::End(why) => batches::end_run(r, id, s, &why),
        }
    }
}

/// A time up to now.
fn past(what: &str, at: Option<&str>, now: Instant) -> Result<Option<Instant>, Problem> {
    let at = at.map(instant_from_iso).transpose()?;
    if at.is_some_and(|at| at.seconds_since(now) > 0.0) {
        return Err(refuse(format!("{what}: later than now; allowed: up to now")));
    }
    Ok(at)
}

fn within(what: &str, value: f64, low: f64, high: f64) -> Result<f64, Problem> {
    if value >= low && value <= high {
        return Ok(value);
    }
    Err(refuse(format!("{what}: {value}; allowed: {low} to {high}")))
}

fn job(run: &Run, h: Happened, now: Instant) -> Result<Job, Problem> {
    Ok(match h {
        Happened::ActDone { number, text, at } => {
            if !(1..=200).contains(&number) {
                return Err(refuse(format!("number: {number}; allowed: 1 to 200")));
            }
            Job::Act(number, text, past("at", at.as_deref(), now)?)
        }
        Happened::Vent { mark, at } => Job::Setting(Setting::Vent(mark), past("at", at.as_deref(), now)?),
        Happened::SetPoint { celsius, at } => {
            let c = within("celsius", celsius, 0.0, 150.0)?;
            Job::Setting(Setting::SetPoint(c), past("at", at.as_deref(), now)?)
        }
        Happened::Timer { seconds, at } => {
            let s = within("seconds", seconds, 60.0, 604_800.0)?;
            Job::Setting(Setting::Dialled(s), past("at", at.as_deref(), now)?)
        }
        Happened::Interruption { what, from, until, trays, note } => {
            let allowed = "power_cut, door_open, fan_stopped, tray_out";
            let unknown = || refuse(format!("what: '{what}' is not known; allowed: {allowed}"));
            let kind = StoppedKind::named(&what).ok_or_else(unknown)?;
            let from = past("from", Some(&from), now)?.unwrap_or(now);
            Job::Stop(kind, from, past("until", until.as_deref(), now)?, trays, note)
        }
        Happened::InterruptionOver { entry, until } => {
            Job::Over(entry, past("until", until.as_deref(), now)?.unwrap_or(now))
        }
        Happened::Correction { entry, value, reason } => correction(run, entry, &value, reason)?,
        Happened::Withdrawal { entry, reason } => Job::Withdrawal(entry, reason),
        Happened::Action { deviation, cause, control, prevention, disposition, decided, held_kg } => {
            let decided = decision(decided.as_deref(), held_kg)?;
            Job::Action(FourParts { deviation, cause, control, prevention, disposition, decided })
        }
        Happened::End { why } => Job::End(why),
    })
}

fn correction(run: &Run, entry: u64, value: &str, reason: String) -> Result<Job, Problem> {
    let found = run.readings.iter().find(|r| r.entry == entry);
    let found = found.and_then(|r| Some((r.at, ReadingKind::of(&r.role)?)));
    let (at, kind) = found.ok_or_else(|| refuse(format!("entry: {entry}; allowed: that of a reading")))?;
    let asked = match kind {
        ReadingKind::Tray(_) => Asked::Mass,
        ReadingKind::Humidity => Asked::Humidity,
        _ => Asked::Reading,
    };
    match asked.read(value, Units::Si) {
        Ok(Some(typed)) if typed.read_back.is_none() => {
            Ok(Job::Correction(entry, at, kind, typed.value, reason))
        }
        Ok(_) => Err(refuse(format!("value: '{value}' has no unit; allowed: with its unit"))),
        Err(e) => Err(refuse(format!("value: {e}"))),
    }
}

fn decision(decided: Option<&str>, held_kg: Option<f64>) -> Result<Option<(Disposition, f64)>, Problem> {
    let which = match decided {
        None => return Ok(None),
        Some("release") => Disposition::Release,
        Some("rework") => Disposition::Rework,
        Some("divert") => Disposition::Divert,
        Some("destroy") => Disposition::Destroy,
        Some(other) => {
            let allowed = "release, rework, divert, destroy";
            return Err(refuse(format!("decided: '{other}' is not known; allowed: {allowed}")));
        }
    };
    let held = held_kg.ok_or_else(|| refuse("held_kg: missing; allowed: product held, kg"))?;
    Ok(Some((which, within("held_kg", held, 0.0, 1e6)?)))
}
