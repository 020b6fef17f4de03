//! Plans, computed beside the requests: a few at a time, stopped when nobody waits any more, kept for a while.

use std::collections::VecDeque;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use fallrate_app::{AppError, Compared, Library, PlanCase, Planned, compare};
use tokio::sync::Semaphore;

/// Plans kept.
const KEPT: usize = 24;
/// Plans computed at once; each spreads its draws over all cores.
const AT_ONCE: usize = 2;

/// Computes plans.
#[derive(Debug)]
pub struct Planner {
    library: Arc<Library>,
    gate: Arc<Semaphore>,
    kept: Mutex<VecDeque<(Key, Arc<Planned>)>>,
}

/// Text of the plan file and number of draws.
type Key = (String, usize);

/// Sets the flag when the request is given up.
struct Waiting(Arc<AtomicBool>);

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

impl Planner {
    pub(crate) fn new(library: Arc<Library>) -> Self {
        Self { library, gate: Arc::new(Semaphore::new(AT_ONCE)), kept: Mutex::default() }
    }

    /// A plan that was computed lately.
    pub(crate) fn known(&self, text: &str, draws: usize) -> Option<Arc<Planned>> {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let at = kept.iter().position(|((t, d), _)| *d == draws && t == text)?;
        let found = kept.remove(at)?;
        let planned = Arc::clone(&found.1);
        kept.push_back(found);
        Some(planned)
    }

    fn keep(&self, key: Key, planned: &Arc<Planned>) {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() >= KEPT {
            kept.pop_front();
        }
        kept.push_back((key, Arc::clone(planned)));
    }

    /// The plan of a text; dropping the future stops the work.
    pub(crate) async fn plan(&self, text: &str, draws: usize) -> Result<Arc<Planned>, AppError> {
        if let Some(known) = self.known(text, draws) {
            return Ok(known);
        }
        let (library, own) = (Arc::clone(&self.library), text.to_owned());
        let planned = self
            .run(move |stop| {
                PlanCase::of_library(&library, "plan", &own)?.plan(draws, &|_| !stop.load(Ordering::Relaxed))
            })
            .await?;
        let planned = Arc::new(planned);
        self.keep((text.to_owned(), draws), &planned);
        Ok(planned)
    }

    /// Two plans side by side.
    pub(crate) async fn compare(
        &self,
        first: &str,
        second: &str,
        draws: usize,
    ) -> Result<Compared, AppError> {
        let library = Arc::clone(&self.library);
        let texts = [("A", first.to_owned()), ("B", second.to_owned())];
        self.run(move |stop| {
            let cases = texts.iter().map(|(name, text)| PlanCase::of_library(&library, name, text));
            compare(cases.collect::<Result<_, _>>()?, draws, &|_| !stop.load(Ordering::Relaxed))
        })
        .await
    }

    /// Work that takes a while, behind the same gate.
    pub(crate) async fn run<T: Send + 'static>(
        &self,
        work: impl FnOnce(&AtomicBool) -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        let stop = Arc::new(AtomicBool::new(false));
        let _waiting = Waiting(Arc::clone(&stop));
        // The gate is never closed; a failure of either is a request given up.
        let permit = Arc::clone(&self.gate).acquire_owned().await.map_err(|_| AppError::Cancelled)?;
        let job = tokio::task::spawn_blocking(move || {
            let _permit = permit;
            work(&stop)
        });
        job.await.map_err(|_| AppError::Cancelled)?
    }
}
