//! What happens to a run: acts done, settings, interruptions, corrections, corrective actions, its end.

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, State};
use fallrate_app::batches::{
    self, Disposition, FourParts, Instant, ReadingKind, Records, Run, Setting, Stamp, StoppedKind,
    StoreError, instant_from_iso,
};
use fallrate_app::{Asked, Units};
use serde::Deserialize;
use utoipa::ToSchema;

use super::batches::{Entered, found};
use super::sender::{plant, refuse, stamped};
use crate::fault::Problem;
use crate::look::Visit;
use crate::state::Site;

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
    let stamp = stamped(&v, &plant(&site).await?, &q.entry_id)?;
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
