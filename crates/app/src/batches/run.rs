//! A batch under way, as its record tells it.

use fallrate_ingest::{Options, read_hand};
use fallrate_lethality::Answer;
use fallrate_series::{Instant, Role};
use fallrate_store::{
    ActionPart, BatchQuery, Body, Chain, PlantBody, PlantSettings, RecordRealm, Records, StoreError,
    StreamName, chain_of,
};

use super::happened::{Setting, Stopped, stopped_of};
use super::{ENDED, act_of_note};

/// An act that was done.
#[derive(Clone, Debug, PartialEq)]
pub struct DoneAct {
    /// Number in the plan's list, from 1.
    pub number: usize,
    /// When it was done.
    pub at: Instant,
    /// By whom it was entered.
    pub by: String,
    /// Number of the entry, for an undo.
    pub entry: u64,
}

/// A reading by hand. The value is in the base unit of its role (degC, fraction, kg).
#[derive(Clone, Debug, PartialEq)]
pub struct HandReading {
    /// What was read.
    pub role: Role,
    /// When.
    pub at: Instant,
    /// Value.
    pub value: f64,
    /// By whom it was entered.
    pub by: String,
    /// Number of the entry, for an undo.
    pub entry: u64,
}

/// A note.
#[derive(Clone, Debug, PartialEq)]
pub struct Remark {
    /// When it happened.
    pub at: Instant,
    /// Words.
    pub text: String,
    /// By whom it was entered.
    pub by: String,
    /// Number of the entry, for an undo.
    pub entry: u64,
}

/// Something that was set otherwise than the plan says.
#[derive(Clone, Debug, PartialEq)]
pub struct SettingChanged {
    /// What.
    pub setting: Setting,
    /// When.
    pub at: Instant,
    /// By whom it was entered.
    pub by: String,
    /// Number of the entry, for an undo.
    pub entry: u64,
}

/// A batch under way or ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// The world its record belongs to.
    pub realm: RecordRealm,
    /// Id of the batch.
    pub id: String,
    /// Lot.
    pub lot: String,
    /// Product, as entered.
    pub product: String,
    /// Cabinet, as entered.
    pub cabinet: String,
    /// Time zone of the plant.
    pub zone: String,
    /// The plan file it was started from.
    pub plan_toml: String,
    /// When the record was opened.
    pub opened_at: Instant,
    /// Acts done, by their number.
    pub done: Vec<DoneAct>,
    /// Readings, by time.
    pub readings: Vec<HandReading>,
    /// What was set otherwise, by time.
    pub settings: Vec<SettingChanged>,
    /// Interruptions, by time.
    pub stopped: Vec<Stopped>,
    /// The lot's answer by the latest verdict.
    pub verdict: Option<Answer>,
    /// Deviations with the parts of their corrective action that are still missing.
    pub deviations: Vec<(String, Option<ActionPart>)>,
    /// Notes, by time.
    pub remarks: Vec<Remark>,
    /// When and why the run ended.
    pub ended: Option<Remark>,
    /// Number of the last entry.
    pub last_n: u64,
}

impl Run {
    /// When the run began: when its first act was done.
    #[must_use]
    pub fn started_at(&self) -> Option<Instant> {
        self.done.iter().find(|d| d.number == 1).map(|d| d.at)
    }
}

/// The settings of the plant; `None` before anybody entered them.
///
/// # Errors
/// What the place of the records says.
pub fn plant(records: &mut dyn Records) -> Result<Option<PlantSettings>, StoreError> {
    Ok(chain_of::<PlantBody>(records, &StreamName::plant())?.and_then(|c| c.current().cloned()))
}

/// A batch that was started from a plan; `None` where there is none with this id.
///
/// # Errors
/// What the place of the records says.
pub fn run(records: &mut dyn Records, id: &str) -> Result<Option<Run>, StoreError> {
    let Ok(stream) = StreamName::batch(id) else { return Ok(None) };
    let Some(chain) = chain_of::<Body>(records, &stream)? else { return Ok(None) };
    let view = chain.view();
    let Some(identity) = view.identity.as_ref() else { return Ok(None) };
    let Some((_, sha256)) = identity.value.drying_plan.as_ref() else { return Ok(None) };
    let Some(bytes) = records.file(*sha256)? else { return Ok(None) };
    let mut run = Run {
        realm: identity.value.realm,
        id: id.to_owned(),
        lot: identity.value.lot.clone(),
        product: identity.value.product.clone(),
        cabinet: identity.value.cabinet.clone(),
        zone: identity.zone.clone(),
        plan_toml: String::from_utf8_lossy(&bytes).into_owned(),
        opened_at: identity.at,
        done: Vec::new(),
        readings: Vec::new(),
        settings: Vec::new(),
        stopped: view.interruptions.iter().filter_map(stopped_of).collect(),
        verdict: view.answer(),
        deviations: view.deviations.iter().map(|d| (d.name.clone(), d.missing_part())).collect(),
        remarks: Vec::new(),
        ended: None,
        last_n: view.last_n,
    };
    run.read_entries(&chain);
    Ok(Some(run))
}

/// Every batch that was started from a plan, is not released, and whose run is not ended, or ended after an instant; by
/// their opening.
///
/// # Errors
/// What the place of the records says.
pub fn runs(records: &mut dyn Records, ended_after: Instant) -> Result<Vec<Run>, StoreError> {
    let mut list = Vec::new();
    // What was released is over: a year of batches is not read for a page of today.
    let open = BatchQuery { open: Some(true), ..BatchQuery::default() };
    for row in records.batches(&open)? {
        let found = run(records, &row.id)?;
        list.extend(found.filter(|r| {
            r.ended.as_ref().is_none_or(|e| e.at.unix_nanoseconds() > ended_after.unix_nanoseconds())
        }));
    }
    list.sort_by_key(|r| r.opened_at.unix_nanoseconds());
    Ok(list)
}

impl Run {
    fn read_entries(&mut self, chain: &Chain) {
        let view = chain.view();
        for n in &view.notes {
            let at = n.value.happened.unwrap_or(n.at);
            let remark = |text: &str| Remark { at, text: text.to_owned(), by: n.by.clone(), entry: n.entry };
            if let Some(number) = act_of_note(&n.value.text) {
                // The latest word on an act counts.
                self.done.retain(|d| d.number != number);
                self.done.push(DoneAct { number, at, by: n.by.clone(), entry: n.entry });
            } else if let Some(why) = n.value.text.strip_prefix(ENDED) {
                self.ended = Some(remark(why));
            } else if let Some(setting) = Setting::of_note(&n.value.text) {
                let changed = SettingChanged { setting, at, by: n.by.clone(), entry: n.entry };
                self.settings.push(changed);
            } else {
                self.remarks.push(remark(&n.value.text));
            }
        }
        for r in &view.readings {
            self.readings.extend(readings_of(&r.value.text, &r.by, r.entry));
        }
        self.done.sort_by_key(|d| d.number);
        self.readings.sort_by_key(|r| r.at.unix_nanoseconds());
        self.settings.sort_by_key(|r| r.at.unix_nanoseconds());
        self.stopped.sort_by_key(|s| s.from.unix_nanoseconds());
        self.remarks.sort_by_key(|r| r.at.unix_nanoseconds());
    }
}

/// The readings of a hand-entry form. One that cannot be read stays in the record and is not drawn.
fn readings_of(text: &str, by: &str, entry: u64) -> Vec<HandReading> {
    let Ok(outcome) = read_hand("entry", text.as_bytes(), &Options::default()) else { return Vec::new() };
    let fallrate_ingest::Outcome::Done(read) = outcome else { return Vec::new() };
    read.log
        .channels
        .iter()
        .flat_map(|c| {
            c.readings().iter().map(|r| HandReading {
                role: c.role.clone(),
                at: r.at,
                value: r.value,
                by: by.to_owned(),
                entry,
            })
        })
        .collect()
}
