//! Rehearsals at hand: each with its pace, run on as long as somebody looks, taken up again from its record.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::Instant as Moment;

use fallrate_app::AppError;
use fallrate_app::practice::{Debrief, KeptRehearsal, Rehearsing, Rooms, kept_rehearsal};

use crate::keep::Desk;
use crate::plan::DRAWS;
use crate::state::Site;

/// Paces that can be chosen, times real time; 0 is a pause.
pub(crate) const PACES: [u32; 5] = [0, 1, 10, 60, 600];
/// A rehearsal at which nobody looked for longer goes on by this much of real time at the most, s: it waits for its trainee.
const LONGEST_LOOK_S: f64 = 5.0;
/// Rehearsals held in memory; the others are taken up from their records.
const HELD: usize = 16;

/// A rehearsal with its pace.
#[derive(Debug)]
pub(crate) struct Paced {
    pub run: Rehearsing,
    pub pace: u32,
    /// The look back, once it was made.
    pub debrief: Option<Arc<Debrief>>,
    looked: Moment,
}

impl Paced {
    fn new(run: Rehearsing) -> Self {
        Self { run, pace: 0, debrief: None, looked: Moment::now() }
    }
    /// Runs on by the time since somebody last looked.
    pub fn catch_up(&mut self) -> Result<(), AppError> {
        let passed = self.looked.elapsed().as_secs_f64().min(LONGEST_LOOK_S);
        self.looked = Moment::now();
        let to = self.run.now_s() + passed * f64::from(self.pace);
        if self.pace > 0 && !self.run.is_over() { self.run.go_to(to) } else { Ok(()) }
    }
    pub fn set_pace(&mut self, pace: u32) {
        self.pace = pace;
        self.looked = Moment::now();
    }
}

/// A rehearsal shared by whoever looks at it.
pub(crate) type Shared = Arc<Mutex<Paced>>;

pub(crate) fn lock(shared: &Shared) -> MutexGuard<'_, Paced> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Where rehearsals happen.
#[derive(Default)]
pub(crate) struct Stage {
    rooms: OnceLock<Box<dyn Rooms>>,
    desk: OnceLock<Desk>,
    held: Mutex<BTreeMap<String, Shared>>,
}

impl std::fmt::Debug for Stage {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Stage").finish_non_exhaustive()
    }
}

/// Why there is no such rehearsal.
#[derive(Debug)]
pub(crate) enum NoStage {
    /// The program was started without a place for them, or it cannot be opened.
    NoRoom(String),
    /// None of this id.
    Unknown,
    /// Something else.
    App(AppError),
}

impl Stage {
    pub fn furnish(&self, rooms: Box<dyn Rooms>) {
        // Said twice, the first stays.
        let _ = self.rooms.set(rooms);
    }
    pub fn rooms(&self) -> Option<&dyn Rooms> {
        self.rooms.get().map(Box::as_ref)
    }

    /// The desk over the records of rehearsals, opened at its first use.
    pub fn desk(&self) -> Result<&Desk, NoStage> {
        if let Some(desk) = self.desk.get() {
            return Ok(desk);
        }
        let rooms = self.rooms().ok_or_else(|| NoStage::NoRoom(String::new()))?;
        let keep = rooms.rehearsals().map_err(NoStage::NoRoom)?;
        Ok(self.desk.get_or_init(|| Desk::new(keep)))
    }

    fn held(&self) -> MutexGuard<'_, BTreeMap<String, Shared>> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Lets go of a rehearsal whose record is not what memory holds; the next look takes it up from the record.
    pub fn forget(&self, id: &str) {
        self.held().remove(id);
    }

    pub fn hold(&self, id: &str, run: Rehearsing) -> Shared {
        let mut held = self.held();
        if held.len() >= HELD
            && let Some(oldest) = held.keys().next().cloned()
        {
            held.remove(&oldest);
        }
        let shared = Arc::new(Mutex::new(Paced::new(run)));
        Arc::clone(held.entry(id.to_owned()).or_insert(shared))
    }
}

/// What the record of a rehearsal tells.
pub(crate) async fn kept(site: &Site, id: &str) -> Result<KeptRehearsal, NoStage> {
    let key = id.to_owned();
    let found = site.stage().desk()?.read(move |r| kept_rehearsal(r, &key)).await;
    found.map_err(|e| NoStage::App(e.into()))?.ok_or(NoStage::Unknown)
}

/// A rehearsal by its id: held, or taken up from its record.
pub(crate) async fn find(site: &Site, id: &str) -> Result<Shared, NoStage> {
    if let Some(found) = site.stage().held().get(id).map(Arc::clone) {
        return Ok(found);
    }
    let kept = kept(site, id).await?;
    let planned = site.planner().plan(&kept.plan_toml, DRAWS).await.map_err(NoStage::App)?;
    let run = site.planner().run(move |_| Rehearsing::restore(&planned, &kept)).await;
    Ok(site.stage().hold(id, run.map_err(NoStage::App)?))
}
