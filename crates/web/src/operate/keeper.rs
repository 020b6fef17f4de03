//! What runs beside the requests: the sign of life, the daily backup, a look at the room left.

use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::{Duration, Instant as Moment};

use fallrate_app::batches::{Instant, PlantSettings, RecordsError, Stamp, StoreError};
use fallrate_app::upkeep::{
    BACKUPS_KEPT, BEAT_S, Beat, CopyDone, CopyKind, Downtime, DueBy, Room, Upkeep, backup_due_by,
    backup_folder, beat, downtimes, remember_copy, stopped_on_purpose,
};

use crate::keep::now;
use crate::state::Site;

/// Under which name the program itself makes entries.
const PROGRAM: &str = "Fallrate";
/// How long what was seen of folders and disks is believed.
const BELIEVED: Duration = Duration::from_secs(60);
/// After a backup that failed, the next attempt.
const AGAIN: Duration = Duration::from_secs(900);
/// How far back times without the program are asked about, s.
const ASKED_BACK_S: f64 = 14.0 * 86_400.0;

/// What is known of copies and room.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Copies {
    /// Folder of the backups, where one was set.
    pub folder: Option<String>,
    /// The backups there: when, bytes; the latest last.
    pub made: Vec<(Instant, u64)>,
    /// Why the folder or the latest backup is no good.
    pub fault: Option<String>,
    /// Room where the records are.
    pub room: Option<Room>,
    /// Room where the backups are.
    pub backup_room: Option<Room>,
}

impl Copies {
    pub(crate) fn latest(&self) -> Option<Instant> {
        self.made.last().map(|m| m.0)
    }
    /// Whether both places seem to be on one volume.
    pub(crate) fn on_one_disk(&self) -> bool {
        self.room.is_some() && self.room == self.backup_room
    }
}

#[derive(Debug, Default)]
struct Seen {
    off: Option<Vec<Downtime>>,
    clock_back_s: Option<f64>,
    copies: Option<(Moment, Copies)>,
    failed: Option<(Moment, String)>,
}

/// Looks after the records of a site.
#[derive(Debug, Default)]
pub(crate) struct Keeper {
    upkeep: OnceLock<Arc<dyn Upkeep>>,
    seen: Mutex<Seen>,
}

impl Keeper {
    pub(crate) fn set(&self, upkeep: Arc<dyn Upkeep>) {
        // A second one would look after other records: the first stays.
        let _ = self.upkeep.set(upkeep);
    }
    pub(crate) fn upkeep(&self) -> Option<Arc<dyn Upkeep>> {
        self.upkeep.get().cloned()
    }
    fn seen(&self) -> MutexGuard<'_, Seen> {
        self.seen.lock().unwrap_or_else(PoisonError::into_inner)
    }
    pub(crate) fn clock_back_s(&self) -> Option<f64> {
        self.seen().clock_back_s
    }
    /// What was believed may have changed.
    pub(crate) fn forget(&self) {
        self.seen().copies = None;
    }
}

fn given_up() -> StoreError {
    RecordsError::Unavailable { what: "work", detail: "given up".to_owned() }.into()
}

fn nobody() -> StoreError {
    RecordsError::Unavailable { what: "look after the records", detail: "nothing does that here".to_owned() }
        .into()
}

/// Work with files, off the threads that answer.
async fn beside<T: Send + 'static>(
    site: &Site,
    work: impl FnOnce(&dyn Upkeep) -> Result<T, StoreError> + Send + 'static,
) -> Result<T, StoreError> {
    let upkeep = site.keeper().upkeep().ok_or_else(nobody)?;
    tokio::task::spawn_blocking(move || work(&*upkeep)).await.unwrap_or_else(|_| Err(given_up()))
}

/// The times the program was off lately.
pub(crate) async fn off_times(site: &Site) -> Result<Vec<Downtime>, StoreError> {
    if let Some(known) = site.keeper().seen().off.clone() {
        return Ok(known);
    }
    let found = site.desk().read(|r| downtimes(r, now().plus_seconds(-ASKED_BACK_S))).await?;
    site.keeper().seen().off = Some(found.clone());
    Ok(found)
}

/// What is known of copies and room; not older than a minute.
pub(crate) async fn copies(site: &Site, plant: Option<&PlantSettings>) -> Option<Copies> {
    let folder = plant.and_then(backup_folder).map(str::to_owned);
    if let Some((at, known)) = site.keeper().seen().copies.clone()
        && at.elapsed() < BELIEVED
        && known.folder == folder
    {
        return Some(known);
    }
    let mut seen = beside(site, move |u| Ok(look(u, folder))).await.ok()?;
    let mut state = site.keeper().seen();
    if let Some((_, why)) = &state.failed {
        seen.fault.get_or_insert_with(|| why.clone());
    }
    state.copies = Some((Moment::now(), seen.clone()));
    Some(seen)
}

fn look(upkeep: &dyn Upkeep, folder: Option<String>) -> Copies {
    let mut seen = Copies { room: upkeep.room(None).ok(), ..Copies::default() };
    if let Some(folder) = folder {
        let path = PathBuf::from(&folder);
        match upkeep.backups(&path) {
            Ok(list) => seen.made = list.into_iter().map(|b| (b.at, b.bytes)).collect(),
            Err(e) => seen.fault = Some(e.to_string()),
        }
        seen.backup_room = upkeep.room(Some(&path)).ok();
        seen.folder = Some(folder);
    }
    seen
}

/// Makes a backup in the folder that is set and remembers it.
pub(crate) async fn back_up(site: &Site, stamp: &Stamp, folder: &str) -> Result<CopyDone, StoreError> {
    let (path, at) = (PathBuf::from(folder), stamp.at);
    let made = beside(site, move |u| Ok(u.back_up(&path, at, BACKUPS_KEPT)?)).await;
    {
        let mut state = site.keeper().seen();
        state.failed = made.as_ref().err().map(|e| (Moment::now(), e.to_string()));
        state.copies = None;
    }
    let done = made?;
    remember(site, stamp, CopyKind::BackedUp, &done).await?;
    Ok(done)
}

async fn remember(site: &Site, stamp: &Stamp, what: CopyKind, done: &CopyDone) -> Result<(), StoreError> {
    let (stamp, done) = (Stamp { client_id: None, ..stamp.clone() }, done.clone());
    site.desk().write(move |r| remember_copy(r, &stamp, what, &done)).await
}

/// Writes everything as open files into a new folder.
pub(crate) async fn export(site: &Site, stamp: &Stamp, folder: &str) -> Result<CopyDone, StoreError> {
    let path = PathBuf::from(folder);
    let done = beside(site, move |u| u.export(&path)).await?;
    remember(site, stamp, CopyKind::Exported, &done).await?;
    Ok(done)
}

/// Reads an export in.
pub(crate) async fn import(site: &Site, stamp: &Stamp, folder: &str) -> Result<CopyDone, StoreError> {
    let path = PathBuf::from(folder);
    let done = beside(site, move |u| u.import(&path)).await?;
    remember(site, stamp, CopyKind::Imported, &done).await?;
    Ok(done)
}

async fn own_stamp(site: &Site) -> Result<Stamp, StoreError> {
    let zone = site.desk().plant().await?.map_or_else(|| "UTC".to_owned(), |p| p.zone);
    Ok(Stamp { at: now(), zone, by: PROGRAM.to_owned(), client_id: None })
}

/// A sign of life, and what it found.
async fn pulse(site: &Site, awake_s: f64) -> Result<(), StoreError> {
    let stamp = own_stamp(site).await?;
    match site.desk().read(move |r| beat(r, &stamp, awake_s)).await? {
        Beat::Steady => {}
        Beat::Off(off) => {
            if let Some(known) = &mut site.keeper().seen().off {
                known.push(off);
            }
            site.desk().tell();
        }
        Beat::ClockBack { by_s } => site.keeper().seen().clock_back_s = Some(by_s),
    }
    Ok(())
}

async fn daily_backup(site: &Site) -> Result<(), StoreError> {
    let Some(plant) = site.desk().plant().await? else { return Ok(()) };
    let Some(folder) = backup_folder(&plant).map(str::to_owned) else { return Ok(()) };
    let waits = site.keeper().seen().failed.as_ref().is_some_and(|(at, _)| at.elapsed() < AGAIN);
    let latest = copies(site, Some(&plant)).await.and_then(|c| c.latest());
    if waits || backup_due_by(latest, now()) == DueBy::NotYet {
        return Ok(());
    }
    back_up(site, &own_stamp(site).await?, &folder).await.map(|_| ())
}

/// The first sign of life: before anybody is told the address, so that the first page asks already. A failure is no
/// reason not to begin: entries say the same.
pub(crate) async fn begin(site: &Site) -> Moment {
    let started = Moment::now();
    let _ = pulse(site, 0.0).await;
    started
}

/// Runs until it is told to stop: signs of life, backups.
pub(crate) async fn life(site: Site, begun: Moment, stop: impl Future<Output = ()>) {
    let work = async {
        let mut last = begun;
        loop {
            // What fails here fails for entries too, and is said there; the next attempt is in a moment.
            let _ = daily_backup(&site).await;
            tokio::time::sleep(Duration::from_secs_f64(BEAT_S)).await;
            if pulse(&site, last.elapsed().as_secs_f64()).await.is_ok() {
                last = Moment::now();
            }
        }
    };
    tokio::select! {
        () = work => {}
        () = stop => {}
    }
    let _ = site.desk().read(|r| stopped_on_purpose(r, now())).await;
}
