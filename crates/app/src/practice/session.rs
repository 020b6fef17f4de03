//! A rehearsal under way: the cabinet, what was ordered, and what its record keeps so that it can be taken up again.

use std::sync::Arc;

use fallrate_rehearse::{Act, VirtualCabinet};
use fallrate_series::Instant;
use fallrate_store::{Records, StoreError};
use serde_json::{Value, json};

use super::asked::{RehearsalAsked, virtual_cabinet};
use crate::AppError;
use crate::batches::{self, PlantSettings, RecordRealm, Stamp, Start};
use crate::plan_case::Planned;
use crate::practice::FaultChoice;

/// How the notes of a rehearsal's record begin.
const BEGUN: &str = "rehearsal begun: ";
const ORDER: &str = "rehearsal order at ";

/// A rehearsal under way or over.
#[derive(Clone, Debug)]
pub struct Rehearsing {
    /// What was asked.
    pub asked: RehearsalAsked,
    /// The plan it follows.
    pub planned: Arc<Planned>,
    pub(super) cabinet: VirtualCabinet,
}

/// What the record of a rehearsal tells.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptRehearsal {
    /// Id.
    pub id: String,
    /// The plan file.
    pub plan_toml: String,
    /// What was asked.
    pub asked: RehearsalAsked,
    /// Orders: s from the start, act.
    pub orders: Vec<(f64, Act)>,
    /// Product and cabinet, as people call them.
    pub subject: (String, String),
    /// When it was begun.
    pub begun_at: Instant,
    /// Whether it is over.
    pub ended: bool,
}

impl Rehearsing {
    /// A cabinet loaded as the plan says, set as the plan's first stage says, the plan's timer dialled.
    ///
    /// # Errors
    /// [`AppError::Rehearse`].
    pub fn begin(planned: &Arc<Planned>, asked: RehearsalAsked) -> Result<Self, AppError> {
        let mut cabinet = virtual_cabinet(planned, &asked)?;
        cabinet.start_as_planned()?;
        Ok(Self { asked, planned: Arc::clone(planned), cabinet })
    }

    /// The same rehearsal again, as far as its record tells: the same acts give the same readings.
    ///
    /// # Errors
    /// As [`Self::begin`], [`Self::order`].
    pub fn restore(planned: &Arc<Planned>, kept: &KeptRehearsal) -> Result<Self, AppError> {
        let mut own = Self::begin(planned, kept.asked.clone())?;
        for (at_s, act) in &kept.orders {
            own.go_to(*at_s)?;
            own.order(act)?;
        }
        Ok(own)
    }

    /// s from the start.
    #[must_use]
    pub fn now_s(&self) -> f64 {
        self.cabinet.now_s()
    }
    /// The time on the practice clock.
    #[must_use]
    pub fn now(&self) -> Instant {
        self.asked.start.plus_seconds(self.now_s())
    }
    /// Whether the batch is out.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.cabinet.panel().unloaded_s.is_some()
    }
    /// Runs on to a time, s from the start; at the unloading it stops.
    ///
    /// # Errors
    /// [`AppError::Rehearse`].
    pub fn go_to(&mut self, to_s: f64) -> Result<(), AppError> {
        let to_s = to_s.clamp(self.now_s(), fallrate_rehearse::LONGEST_S);
        self.cabinet.advance(to_s, &mut |_| true)?;
        Ok(())
    }
    /// Orders an act; hands back when the hand will be there, s from the start. Unloading runs on to that moment.
    ///
    /// # Errors
    /// [`AppError::Rehearse`] where the act is not possible.
    pub fn order(&mut self, act: &Act) -> Result<f64, AppError> {
        let at_s = self.cabinet.act(act.clone())?;
        if *act == Act::Unload {
            self.go_to(at_s)?;
        }
        Ok(at_s)
    }
    /// The files that a logger and a hand would leave of the run so far.
    ///
    /// # Errors
    /// [`AppError::Ingest`]; not with readings of a virtual cabinet.
    pub fn files(&self) -> Result<Vec<super::PracticeFile>, AppError> {
        super::asked::files_so_far(&self.planned, &self.asked, &self.cabinet)
    }
    /// The time from the start at which the plan's next act is due by its forecast, s; none after the last.
    #[must_use]
    pub fn next_act_s(&self) -> Option<f64> {
        let now = self.now_s();
        let acts = self.planned.plan.acts.iter().map(|a| a.at_s);
        acts.filter(|at| *at > now + 30.0).min_by(f64::total_cmp)
    }
}

/// Opens the record of a rehearsal in the database of rehearsals; hands back its id.
///
/// # Errors
/// What the place of the records says.
pub fn begin_record(
    records: &mut dyn Records,
    stamp: &Stamp,
    plant: &PlantSettings,
    rehearsing: &Rehearsing,
    plan_toml: &str,
    (product, cabinet): (&str, &str),
) -> Result<String, StoreError> {
    let planned = &rehearsing.planned;
    let start = Start {
        realm: RecordRealm::Rehearsal,
        lot: format!("SIM-{}", rehearsing.asked.seed),
        product: product.to_owned(),
        product_code: planned.case.product.key.clone(),
        cabinet: cabinet.to_owned(),
        quantity_kg: planned.plan.assembled.setup.batch.fresh_kg(),
        plan_title: planned.case.request.title.clone().unwrap_or_default(),
        plan_toml: plan_toml.to_owned(),
    };
    let id = batches::start_batch(records, stamp, plant, &start)?;
    let own = Stamp { client_id: None, ..stamp.clone() };
    batches::note(records, &id, &own, &format!("{BEGUN}{}", asked_json(&rehearsing.asked)), None)?;
    Ok(id)
}

/// Keeps an order.
///
/// # Errors
/// What the place of the records says.
pub fn keep_order(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    (at_s, act): (f64, &Act),
) -> Result<u64, StoreError> {
    batches::note(records, id, stamp, &format!("{ORDER}{at_s} s: {act}"), None)
}

/// What the record of a rehearsal tells; `None` where there is none of this id.
///
/// # Errors
/// What the place of the records says.
pub fn kept_rehearsal(records: &mut dyn Records, id: &str) -> Result<Option<KeptRehearsal>, StoreError> {
    let Some(run) = batches::run(records, id)? else { return Ok(None) };
    let begun = run.remarks.iter().find_map(|n| n.text.strip_prefix(BEGUN));
    let Some(asked) = begun.and_then(asked_of) else { return Ok(None) };
    let mut orders: Vec<(u64, f64, Act)> = Vec::new();
    for n in &run.remarks {
        let told = n.text.strip_prefix(ORDER).and_then(|t| t.split_once(" s: "));
        if let Some((at, line)) = told
            && let (Ok(at_s), Ok(act)) = (at.parse::<f64>(), line.parse::<Act>())
        {
            orders.push((n.entry, at_s, act));
        }
    }
    orders.sort_by_key(|o| o.0);
    let ended = run.ended.is_some() || orders.iter().any(|o| o.2 == Act::Unload);
    Ok(Some(KeptRehearsal {
        id: run.id,
        plan_toml: run.plan_toml,
        asked,
        orders: orders.into_iter().map(|(_, at, act)| (at, act)).collect(),
        subject: (run.product, run.cabinet),
        begun_at: run.opened_at,
        ended,
    }))
}

/// The rehearsals that were begun, the latest first, at most so many.
///
/// # Errors
/// What the place of the records says.
pub fn kept_rehearsals(records: &mut dyn Records, most: usize) -> Result<Vec<KeptRehearsal>, StoreError> {
    let mut ids: Vec<String> =
        records.heads("batch")?.iter().filter_map(|h| h.stream.batch_id().map(str::to_owned)).collect();
    ids.sort();
    let mut list = Vec::new();
    for id in ids.iter().rev().take(most) {
        list.extend(kept_rehearsal(records, id)?);
    }
    Ok(list)
}

fn asked_json(a: &RehearsalAsked) -> String {
    json!({
        "seed": a.seed,
        "cabinet_seed": a.cabinet_seed,
        "faults": a.faults.iter().map(|f| f.word()).collect::<Vec<_>>(),
        "surprise": a.surprise,
        "start_ns": a.start.unix_nanoseconds(),
        "zone": a.zone,
        "trainee": a.trainee,
    })
    .to_string()
}

fn asked_of(text: &str) -> Option<RehearsalAsked> {
    let v: Value = serde_json::from_str(text).ok()?;
    let words = v.get("faults")?.as_array()?.iter();
    Some(RehearsalAsked {
        seed: v.get("seed")?.as_u64()?,
        cabinet_seed: v.get("cabinet_seed").and_then(Value::as_u64),
        faults: words.filter_map(|w| FaultChoice::from_word(w.as_str()?)).collect(),
        surprise: v.get("surprise")?.as_bool()?,
        start: Instant::from_unix_nanoseconds(v.get("start_ns")?.as_i64()?),
        zone: v.get("zone")?.as_str()?.to_owned(),
        trainee: v.get("trainee")?.as_str()?.to_owned(),
    })
}
