//! A record of a batch that was not started from a plan here.

use fallrate_store::{
    Body, Chain, Identity, RecordRealm, Records, RecordsError, StoreError, StreamName, entries_after,
};

use super::change::of_record;
use crate::AppError;
use crate::batches::{PlantSettings, Stamp, free_id};
use crate::proof::batch_file::Batch;
use crate::proof::record::{Record, open_record};

/// A record that was opened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenedFrom {
    /// Id of the batch.
    pub id: String,
}

/// The least that opens a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// Whose.
    pub plant: PlantSettings,
    /// Product.
    pub product: String,
    /// Lot.
    pub lot: String,
    /// Lots of raw material, with commas between.
    pub raw_lots: String,
    /// Raw mass loaded, kg.
    pub quantity_kg: f64,
    /// Cabinet.
    pub cabinet: String,
}

/// Opens a record; what is claimed and stated comes later.
///
/// # Errors
/// A rule that is broken (no lot, no quantity); what the place of the records says.
pub fn open_plain(
    records: &mut dyn Records,
    stamp: &Stamp,
    opening: &Opening,
) -> Result<OpenedFrom, AppError> {
    let plant = &opening.plant;
    let parts = opening.raw_lots.split(',').map(str::trim).filter(|p| !p.is_empty());
    let identity = Identity {
        realm: records.realm(),
        establishment: plant.establishment.clone(),
        place: plant.place.clone(),
        establishment_number: plant.establishment_number.clone(),
        product: opening.product.trim().to_owned(),
        product_code: String::new(),
        lot: opening.lot.trim().to_owned(),
        raw_lots: parts.map(str::to_owned).collect(),
        quantity_kg: opening.quantity_kg,
        cabinet: opening.cabinet.trim().to_owned(),
        plan_name: plant.plan_name.clone(),
        plan_version: plant.plan_version.clone(),
        control_point: String::new(),
        drying_plan: None,
        retention: plant.retention,
        program_version: crate::VERSION.to_owned(),
    };
    let chain = Chain::open(of_record(stamp, "").draft(Body::Opened(Box::new(identity))))?;
    keep(records, stamp, &Record { chain, files: Vec::new() })
}

/// Opens a record from a batch file, which is kept as well. Invented batches and real ones each need a place of their
/// own.
///
/// # Errors
/// [`AppError::Problems`] with every problem of the file; what the place of the records says.
pub fn open_from_text(
    records: &mut dyn Records,
    stamp: &Stamp,
    name: &str,
    toml: &[u8],
) -> Result<OpenedFrom, AppError> {
    let batch = Batch::parse(name, toml)?;
    let (invented, allowed) = (batch.identity.invented, records.realm());
    if invented == (allowed == RecordRealm::Proof) {
        let found = if invented { RecordRealm::Demo } else { RecordRealm::Proof };
        return Err(StoreError::from(RecordsError::AnotherRealm { found, allowed }).into());
    }
    let mut own = of_record(stamp, "");
    batch.clock.name().clone_into(&mut own.zone);
    keep(records, stamp, &open_record(&batch, name, toml, &own)?)
}

fn keep(records: &mut dyn Records, stamp: &Stamp, record: &Record) -> Result<OpenedFrom, AppError> {
    let sent = stamp.client_id.as_deref().map(|id| records.place_of(id)).transpose();
    if let Some(place) = sent.map_err(StoreError::from)?.flatten() {
        // Sent again: the record it opened.
        return Ok(OpenedFrom { id: place.stream.batch_id().unwrap_or_default().to_owned() });
    }
    let id = free_id(records, stamp)?;
    let stream = StreamName::batch(&id).map_err(StoreError::from)?;
    for (_, bytes) in &record.files {
        records.put_file(bytes).map_err(StoreError::from)?;
    }
    let client = |n: u64| stamp.client_id.clone().filter(|_| n == 1);
    records.append(&entries_after(&stream, &record.chain, 0, &client)).map_err(StoreError::from)?;
    Ok(OpenedFrom { id })
}
