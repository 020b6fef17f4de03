//! Copies of everything, room on the disk, and until when records are kept.

use fallrate_series::{CalendarDate, Instant};
use fallrate_store::{
    AuditBody, BatchQuery, BatchRow, Copied, CopyDone, CopyKind, Draft, PlantSettings, Records, Room,
    StoreError, StreamName, append_to, day_in_zone,
};

use crate::batches::Stamp;

/// Name of the plant's setting for the folder of backups.
pub const BACKUP_FOLDER: &str = "backup_folder";
/// Backups that are kept in the folder; a further one takes the place of the oldest.
pub const BACKUPS_KEPT: usize = 60;
/// From one backup to the next, s: a day.
const BACKUP_EVERY_S: f64 = 86_400.0;
/// After so long without a backup a person must act, s.
const BACKUP_LATE_S: f64 = 2.0 * 86_400.0;
/// Less room than this is told early: some hundred days of records with their files.
const LOW_BYTES: u64 = 2_000_000_000;
/// Less room than this needs a person today.
const URGENT_BYTES: u64 = 250_000_000;

/// How a backup stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DueBy {
    /// The latest is younger than a day.
    NotYet,
    /// The next one may be made.
    Now,
    /// There should have been one a day ago: something keeps it from being made.
    Late,
}

/// How the backup stands whose latest was made then.
#[must_use]
pub fn backup_due_by(latest: Option<Instant>, now: Instant) -> DueBy {
    match latest.map(|l| now.seconds_since(l)) {
        None => DueBy::Now,
        // A name with a time to come says nothing: the clock was another then.
        Some(age_s) if age_s < -60.0 => DueBy::Now,
        Some(age_s) if age_s < BACKUP_EVERY_S => DueBy::NotYet,
        Some(age_s) if age_s < BACKUP_LATE_S => DueBy::Now,
        Some(_) => DueBy::Late,
    }
}

/// The folder of backups, where one was set.
#[must_use]
pub fn backup_folder(plant: &PlantSettings) -> Option<&str> {
    plant.more.get(BACKUP_FOLDER).map(|f| f.trim()).filter(|f| !f.is_empty())
}

/// How the room of a volume stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum RoomState {
    /// Enough.
    Enough,
    /// Little; there is time.
    Low,
    /// Entries may soon be refused.
    Urgent,
}

/// How the room of a volume stands.
#[must_use]
pub const fn room_state(room: Room) -> RoomState {
    if room.free_bytes < URGENT_BYTES {
        RoomState::Urgent
    } else if room.free_bytes < LOW_BYTES {
        RoomState::Low
    } else {
        RoomState::Enough
    }
}

/// Remembers a copy in the stream that nobody can alter.
///
/// # Errors
/// What the place of the records says.
pub fn remember_copy(
    records: &mut dyn Records,
    stamp: &Stamp,
    what: CopyKind,
    done: &CopyDone,
) -> Result<(), StoreError> {
    let place = done.path.display().to_string();
    let body = AuditBody::Copied(Copied { what, place, heads_sha256: done.heads_sha256 });
    let draft =
        Draft { at: stamp.at, zone: stamp.zone.clone(), by: stamp.by.clone(), reason: String::new(), body };
    append_to(records, &StreamName::audit(), None, None, draft)?;
    Ok(())
}

/// Records whose time of keeping is over on the day of an instant, the latest opened first; at most `limit`. Nothing is
/// taken away by itself.
///
/// # Errors
/// What the place of the records says.
pub fn due_records(
    records: &mut dyn Records,
    now: Instant,
    zone: &str,
    limit: u64,
) -> Result<Vec<BatchRow>, StoreError> {
    let today: CalendarDate = day_in_zone(now, zone);
    let query = BatchQuery { kept_before: Some(today), limit, ..BatchQuery::default() };
    Ok(records.batches(&query)?)
}
