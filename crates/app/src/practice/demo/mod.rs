//! The invented demonstration workshop: its own database, built from the moment somebody first opens it.
//!
//! Its batches are run on virtual cabinets and entered by the same calls as real ones. From the same moment it is the same
//! workshop, byte for byte; a build that was broken off goes on where it was.

mod build;
mod lots;
mod proof;

use std::collections::BTreeMap;

use fallrate_lethality::Retention;
use fallrate_series::Instant;
use fallrate_store::{PlantSettings, PlantUnits, Records, StoreError};

pub use build::build_demo;

use crate::batches::{self, Stamp};

/// Keys of the plant's further settings.
const START: &str = "demo_start_ns";
const COMPLETE: &str = "demo_complete";
const PERSON: &str = "person";

/// Batches of the workshop.
pub const DEMO_BATCHES: usize = lots::LOTS.len();

/// How far the workshop is built.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DemoState {
    /// The moment from which it counts.
    pub start: Instant,
    /// Everything is there.
    pub complete: bool,
}

/// How far the workshop is built; `None` before it was begun.
///
/// # Errors
/// What the place of the records says.
pub fn demo_state(records: &mut dyn Records) -> Result<Option<DemoState>, StoreError> {
    let plant = batches::plant(records)?;
    Ok(plant.and_then(|p| {
        let ns: i64 = p.more.get(START)?.parse().ok()?;
        Some(DemoState { start: Instant::from_unix_nanoseconds(ns), complete: p.more.contains_key(COMPLETE) })
    }))
}

fn settings(start: Instant, zone: &str, complete: bool) -> PlantSettings {
    let mut more = BTreeMap::from([
        (PERSON.to_owned(), lots::OWNER.to_owned()),
        (START.to_owned(), start.unix_nanoseconds().to_string()),
    ]);
    if complete {
        more.insert(COMPLETE.to_owned(), "yes".to_owned());
    }
    PlantSettings {
        establishment: "Valley Workshop (invented)".to_owned(),
        place: "a former creamery at 640 m (invented)".to_owned(),
        establishment_number: Some("M 00000 (invented)".to_owned()),
        zone: zone.to_owned(),
        altitude_m: 640.0,
        units: PlantUnits::Us,
        language: "en".to_owned(),
        monitoring_interval_min: 1.0,
        retention: Retention::MeatShelfStable,
        plan_name: "HACCP plan, dried beef (invented)".to_owned(),
        plan_version: "4".to_owned(),
        more,
    }
}

fn begin(records: &mut dyn Records, start: Instant, zone: &str) -> Result<(), StoreError> {
    let stamp = stamp(start, zone, "demo-plant-0001");
    batches::save_plant(records, &stamp, settings(start, zone, false))
}

fn finish(records: &mut dyn Records, start: Instant, zone: &str) -> Result<(), StoreError> {
    let stamp = stamp(start, zone, "demo-plant-0002");
    batches::save_plant(records, &stamp, settings(start, zone, true))
}

fn stamp(at: Instant, zone: &str, id: &str) -> Stamp {
    Stamp { at, zone: zone.to_owned(), by: lots::OWNER.to_owned(), client_id: Some(id.to_owned()) }
}
