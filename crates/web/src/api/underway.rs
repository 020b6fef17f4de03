//! A batch under way: the forecast as followed, what if, interruptions judged.

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Duration;

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, State};
use fallrate_app::batches::{self, Instant, Run, instant_from_iso};
use fallrate_app::underway::{
    self, Otherwise, StopJudged, WayFigures, asked_words, doubted, moved_words, stop_reasons,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::batches::found;
use super::sender::refuse;
use crate::batch::Sight;
use crate::fault::Problem;
use crate::look::Visit;
use crate::state::Site;

/// Longest wait for a forecast that knows everything entered.
const WAIT: Duration = Duration::from_secs(30);

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
