//! Entering: the plant, a batch, acts done, readings, notes, undo.

use fallrate_series::{Instant, Role};
use fallrate_store::{
    Appended, Body, Draft, FileKept, FileUse, Identity, Noted, PlantBody, PlantSettings, ReadingsEntered,
    RecordRealm, Records, StoreError, StreamName, Withdrawn, append_to,
};

use super::{ENDED, Stamp, done_note};
use crate::proof::LocalClock;

/// A batch to be started.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// The world.
    pub realm: RecordRealm,
    /// Lot; empty takes the id.
    pub lot: String,
    /// Product as people call it.
    pub product: String,
    /// Its key in the library.
    pub product_code: String,
    /// Cabinet as people call it.
    pub cabinet: String,
    /// Prepared raw product put in, kg.
    pub quantity_kg: f64,
    /// Title of the plan.
    pub plan_title: String,
    /// The plan file.
    pub plan_toml: String,
}

/// What is read by hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReadingKind {
    /// Temperature inside a piece; where the probe is.
    Core(String),
    /// Dry bulb.
    Air,
    /// Wet bulb.
    WetBulb,
    /// Relative humidity.
    Humidity,
    /// Gross weight of a tray, from 1.
    Tray(u16),
}

impl ReadingKind {
    /// What was read, by its role in a record; none for what is not read by hand.
    #[must_use]
    pub fn of(role: &Role) -> Option<Self> {
        Some(match role {
            Role::CoreProbe { position, .. } => Self::Core(position.clone()),
            Role::AirDryBulb => Self::Air,
            Role::AirWetBulb => Self::WetBulb,
            Role::RelativeHumidity => Self::Humidity,
            Role::TrayWeight { tray } => Self::Tray(*tray),
            _ => return None,
        })
    }

    /// The words of the hand-entry form.
    fn form(&self) -> String {
        match self {
            // A hyphen stands for a space; what the form would take for a comment or another word is left out.
            Self::Core(position) => {
                let clean: String = position.chars().filter(|c| c.is_alphanumeric() || *c == ' ').collect();
                let words = clean.split_whitespace().collect::<Vec<_>>().join("-");
                if words.is_empty() { "core 1".to_owned() } else { format!("core {words}") }
            }
            Self::Air => "air".to_owned(),
            Self::WetBulb => "wet-bulb".to_owned(),
            Self::Humidity => "rh".to_owned(),
            Self::Tray(n) => format!("tray {n}"),
        }
    }
}

pub(super) fn draft<B>(stamp: &Stamp, body: B) -> Draft<B> {
    Draft { at: stamp.at, zone: stamp.zone.clone(), by: stamp.by.clone(), reason: String::new(), body }
}

pub(super) fn add(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    body: Body,
) -> Result<Appended, StoreError> {
    append_to(records, &StreamName::batch(id)?, stamp.client_id.as_deref(), None, draft(stamp, body))
}

/// An instant that is no later than now; `None` where it is now.
#[must_use]
pub fn by_now(happened: Option<Instant>, now: Instant) -> Option<Instant> {
    happened.filter(|h| h.unix_nanoseconds() < now.unix_nanoseconds())
}

/// Keeps the settings of the plant.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn save_plant(
    records: &mut dyn Records,
    stamp: &Stamp,
    settings: PlantSettings,
) -> Result<(), StoreError> {
    let body = PlantBody::Set(Box::new(settings));
    append_to(records, &StreamName::plant(), stamp.client_id.as_deref(), None, draft(stamp, body))?;
    Ok(())
}

/// Opens the record of a batch and keeps its plan; hands back the batch's id.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn start_batch(
    records: &mut dyn Records,
    stamp: &Stamp,
    plant: &PlantSettings,
    start: &Start,
) -> Result<String, StoreError> {
    let sha256 = records.put_file(start.plan_toml.as_bytes())?;
    let plan = FileKept {
        name: "plan.toml".to_owned(),
        sha256,
        bytes: start.plan_toml.len() as u64,
        used_as: FileUse::Support,
        mapping: None,
        offset_s: 0.0,
        offset_uncertainty_s: None,
        offset_evidence: None,
    };
    // The second entry has an id of its own: a start that was cut off between the two is made whole when it is sent again.
    let kept_as = Stamp { client_id: stamp.client_id.as_ref().map(|c| format!("{c}-plan")), ..stamp.clone() };
    if let Some(id) = started_before(records, stamp)? {
        add(records, &id, &kept_as, Body::FileKept(Box::new(plan)))?;
        return Ok(id);
    }
    let id = free_id(records, stamp)?;
    let identity = Identity {
        realm: start.realm,
        establishment: plant.establishment.clone(),
        place: plant.place.clone(),
        establishment_number: plant.establishment_number.clone(),
        product: start.product.clone(),
        product_code: start.product_code.clone(),
        lot: if start.lot.trim().is_empty() { id.clone() } else { start.lot.trim().to_owned() },
        raw_lots: Vec::new(),
        quantity_kg: start.quantity_kg,
        cabinet: start.cabinet.clone(),
        plan_name: plant.plan_name.clone(),
        plan_version: plant.plan_version.clone(),
        control_point: String::new(),
        drying_plan: Some((start.plan_title.clone(), sha256)),
        retention: plant.retention,
        program_version: crate::VERSION.to_owned(),
    };
    add(records, &id, stamp, Body::Opened(Box::new(identity)))?;
    add(records, &id, &kept_as, Body::FileKept(Box::new(plan)))?;
    Ok(id)
}

/// The batch that was opened with this id, where the same start is sent again.
fn started_before(records: &mut dyn Records, stamp: &Stamp) -> Result<Option<String>, StoreError> {
    let Some(client_id) = &stamp.client_id else { return Ok(None) };
    let place = records.place_of(client_id)?.filter(|p| p.n == 1);
    Ok(place.and_then(|p| p.stream.batch_id().map(str::to_owned)))
}

/// The day and the next number of that day: "20260313-02".
pub(crate) fn free_id(records: &mut dyn Records, stamp: &Stamp) -> Result<String, StoreError> {
    let day =
        LocalClock::named(&stamp.zone).map_or_else(|| stamp.at.utc_date().to_string(), |c| c.day(stamp.at));
    let day = day.replace('-', "");
    let taken = records.heads("batch")?;
    let number = |n: u32| format!("{day}-{n:02}");
    let free = (1..).map(number).find(|id| taken.iter().all(|h| h.stream.batch_id() != Some(id)));
    Ok(free.unwrap_or(day))
}

/// Notes that an act of the plan was done. `number` counts from 1.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn act_done(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    (number, text): (usize, &str),
    happened: Option<Instant>,
) -> Result<u64, StoreError> {
    note(records, id, stamp, &done_note(number, text), happened)
}

/// Notes that the run ended, and why.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn end_run(records: &mut dyn Records, id: &str, stamp: &Stamp, why: &str) -> Result<u64, StoreError> {
    note(records, id, stamp, &format!("{ENDED}{}", why.trim()), None)
}

/// A note; hands back the entry's number.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn note(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    text: &str,
    happened: Option<Instant>,
) -> Result<u64, StoreError> {
    let body = Body::Noted(Noted { text: text.trim().to_owned(), happened: by_now(happened, stamp.at) });
    Ok(add(records, id, stamp, body)?.entry.n)
}

/// A reading with its unit ("161F", "42 %", "1.240 kg"); hands back the entry's number.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn enter_reading(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    (kind, value): (&ReadingKind, &str),
    happened: Option<Instant>,
) -> Result<u64, StoreError> {
    let at = happened.unwrap_or(stamp.at);
    let text = hand_form(stamp, at, kind, value);
    let body = Body::ReadingsEntered(ReadingsEntered { text, happened: by_now(happened, stamp.at) });
    Ok(add(records, id, stamp, body)?.entry.n)
}

pub(super) fn hand_form(stamp: &Stamp, at: Instant, kind: &ReadingKind, value: &str) -> String {
    let full = LocalClock::named(&stamp.zone).map(|c| c.full(at)).unwrap_or_default();
    // "2026-03-13 08:05:30 -07:00": the offset makes the repeated hour plain.
    let mut parts = full.split(' ');
    let (day, clock, offset) =
        (parts.next().unwrap_or(""), parts.next().unwrap_or(""), parts.next().unwrap_or(""));
    let clock = clock.get(..5).unwrap_or(clock);
    let by: String = stamp.by.chars().filter(|c| *c != '#' && !c.is_control()).collect();
    format!(
        "hand entry 1\ndate {day}\nzone {}\nby {by}\n{clock}{offset} {} {}\n",
        stamp.zone,
        kind.form(),
        value.replace(['#', '\n'], " ")
    )
}

/// Takes an entry back; it stays in the record with the reason.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn withdraw(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    entry: u64,
    reason: &str,
) -> Result<(), StoreError> {
    let draft = Draft { reason: reason.to_owned(), ..draft(stamp, Body::Withdrawn(Withdrawn { entry })) };
    append_to(records, &StreamName::batch(id)?, stamp.client_id.as_deref(), None, draft)?;
    Ok(())
}
