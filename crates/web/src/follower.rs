//! Batches followed beside the requests: the newest question of each batch wins, one that is overtaken is given up.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use fallrate_app::batches::{Instant, Run};
use fallrate_app::underway::{Followed, Question, follow};
use fallrate_app::{AppError, Library, Planned, Reader};
use tokio::sync::{Semaphore, broadcast, watch};

use crate::keep::now;

/// Batches followed at once; each spreads its draws over all cores.
const AT_ONCE: usize = 2;
/// The same question is asked again after this time: what is overdue moves the end, s.
const AGAIN_S: f64 = 300.0;
/// Batches that are remembered.
const KEPT: usize = 64;

/// Follows batches.
#[derive(Debug)]
pub(crate) struct Follower {
    library: Arc<Library>,
    changed: broadcast::Sender<()>,
    gate: Arc<Semaphore>,
    slots: Arc<Mutex<BTreeMap<String, Slot>>>,
}

/// What is known and being worked out of one batch.
#[derive(Debug, Default)]
struct Slot {
    latest: Option<Arc<Followed>>,
    failed: Option<(Question, String)>,
    work: Option<Work>,
}

#[derive(Debug)]
struct Work {
    question: Question,
    stop: Arc<AtomicBool>,
    over: watch::Receiver<bool>,
}

/// What a page can show of a batch.
#[derive(Clone, Debug, Default)]
pub(crate) struct Seen {
    /// The batch as followed last.
    pub followed: Option<Arc<Followed>>,
    /// It knows less than the record does; the newer is being worked out.
    pub behind: bool,
    /// Why there is no newer one, where the model has no result.
    pub failed: Option<String>,
}

impl Follower {
    pub(crate) fn new(library: Arc<Library>, changed: broadcast::Sender<()>) -> Self {
        Self { library, changed, gate: Arc::new(Semaphore::new(AT_ONCE)), slots: Arc::default() }
    }

    fn slots(&self) -> MutexGuard<'_, BTreeMap<String, Slot>> {
        self.slots.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The batch as followed, asked anew where something was entered since; waits so long for the answer at the most.
    pub(crate) async fn seen(&self, run: &Run, planned: &Arc<Planned>, r: &Reader, wait: Duration) -> Seen {
        let Some(question) = Question::of(run, planned, &self.library, r) else {
            return Seen::default();
        };
        let over = self.ask(&run.id, &question, planned);
        if let Some(mut over) = over {
            let _ = tokio::time::timeout(wait, over.wait_for(|done| *done)).await;
        }
        let mut slots = self.slots();
        let slot = slots.entry(run.id.clone()).or_default();
        let failed = slot.failed.as_ref().filter(|(q, _)| *q == question).map(|(_, why)| why.clone());
        let behind = failed.is_none() && slot.latest.as_ref().is_none_or(|f| f.question != question);
        Seen { followed: slot.latest.clone(), behind, failed }
    }

    /// Begins to answer a question that is not answered yet; hands back when the answer to a new one is there.
    fn ask(&self, id: &str, question: &Question, planned: &Arc<Planned>) -> Option<watch::Receiver<bool>> {
        let mut slots = self.slots();
        if slots.len() >= KEPT && !slots.contains_key(id) {
            let idle = slots.iter().find(|(_, s)| s.work.is_none()).map(|(k, _)| k.clone());
            idle.map(|k| slots.remove(&k));
        }
        let slot = slots.entry(id.to_owned()).or_default();
        let same = slot.latest.as_ref().filter(|f| f.question == *question);
        if same.is_some_and(|f| now().seconds_since(f.at) < AGAIN_S)
            || slot.failed.as_ref().is_some_and(|(q, _)| q == question)
        {
            return None;
        }
        let known = same.is_some();
        if let Some(work) = slot.work.as_ref().filter(|w| w.question == *question) {
            return (!known).then(|| work.over.clone());
        }
        if let Some(work) = slot.work.take() {
            work.stop.store(true, Ordering::Relaxed);
        }
        let (tell, over) = watch::channel(false);
        let stop = Arc::new(AtomicBool::new(false));
        slot.work = Some(Work { question: question.clone(), stop: Arc::clone(&stop), over: over.clone() });
        let earlier = slot.latest.clone();
        drop(slots);
        let job = Job {
            id: id.to_owned(),
            question: question.clone(),
            planned: Arc::clone(planned),
            earlier,
            stop,
        };
        self.start(job, tell);
        (!known).then_some(over)
    }

    fn start(&self, job: Job, tell: watch::Sender<bool>) {
        let (gate, slots, changed) = (Arc::clone(&self.gate), Arc::clone(&self.slots), self.changed.clone());
        tokio::spawn(async move {
            // The gate is never closed.
            let Ok(permit) = gate.acquire_owned().await else { return };
            let done = tokio::task::spawn_blocking(move || {
                let _permit = permit;
                let at = now();
                let go_on = |_: f64| !job.stop.load(Ordering::Relaxed);
                let answer = follow(&job.planned, job.question.clone(), at, job.earlier.as_deref(), &go_on);
                settle(&slots, job, answer);
            });
            let _ = done.await;
            let _ = tell.send(true);
            // Nobody may be listening.
            let _ = changed.send(());
        });
    }
}

struct Job {
    id: String,
    question: Question,
    planned: Arc<Planned>,
    earlier: Option<Arc<Followed>>,
    stop: Arc<AtomicBool>,
}

/// Keeps an answer, unless it was overtaken.
fn settle(slots: &Mutex<BTreeMap<String, Slot>>, job: Job, answer: Result<Followed, AppError>) {
    let mut slots = slots.lock().unwrap_or_else(PoisonError::into_inner);
    let Some(slot) = slots.get_mut(&job.id) else { return };
    let ours = slot.work.as_ref().is_some_and(|w| Arc::ptr_eq(&w.stop, &job.stop));
    if !ours {
        return;
    }
    slot.work = None;
    match answer {
        Ok(f) => {
            slot.latest = Some(Arc::new(f));
            slot.failed = None;
        }
        Err(AppError::Cancelled) => {}
        Err(e) => slot.failed = Some((job.question, e.to_string())),
    }
}

/// Seconds between an instant and now, never negative.
pub(crate) fn age_s(at: Instant) -> f64 {
    now().seconds_since(at).max(0.0)
}
