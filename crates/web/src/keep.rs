//! The records, beside the requests: one at a time, off the threads that answer.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::{SystemTime, UNIX_EPOCH};

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use fallrate_app::AppError;
use fallrate_app::batches::{
    Accounts, Instant, Keep, PlantSettings, Records, RecordsError, Stamp, StoreError, plant,
};
use maud::html;
use tokio::sync::broadcast;

use crate::fault::said;
use crate::look::Visit;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// The records and who is told when they change.
#[derive(Clone)]
pub(crate) struct Desk {
    keep: Arc<Mutex<Box<dyn Keep>>>,
    changed: broadcast::Sender<()>,
}

impl std::fmt::Debug for Desk {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Desk").finish_non_exhaustive()
    }
}

/// Now.
pub(crate) fn now() -> Instant {
    let ns = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_nanos());
    Instant::from_unix_nanoseconds(i64::try_from(ns).unwrap_or(i64::MAX))
}

impl Desk {
    pub(crate) fn new(keep: Box<dyn Keep>) -> Self {
        Self { keep: Arc::new(Mutex::new(keep)), changed: broadcast::channel(16).0 }
    }

    /// Tells open pages that there is something new.
    pub(crate) fn teller(&self) -> broadcast::Sender<()> {
        self.changed.clone()
    }

    /// Told after every change.
    pub(crate) fn changes(&self) -> broadcast::Receiver<()> {
        self.changed.subscribe()
    }

    /// Tells open pages that something changed.
    pub(crate) fn tell(&self) {
        // Nobody may be listening.
        let _ = self.changed.send(());
    }

    async fn with<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut dyn Keep) -> Result<T, StoreError> + Send + 'static,
    ) -> Result<T, StoreError> {
        let keep = Arc::clone(&self.keep);
        let job = tokio::task::spawn_blocking(move || {
            let mut keep = keep.lock().unwrap_or_else(PoisonError::into_inner);
            work(&mut **keep)
        });
        job.await.unwrap_or_else(|_| {
            Err(RecordsError::Unavailable { what: "work", detail: "given up".to_owned() }.into())
        })
    }

    /// Looks into the records.
    pub(crate) async fn read<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut dyn Records) -> Result<T, StoreError> + Send + 'static,
    ) -> Result<T, StoreError> {
        self.with(move |k| work(k.records())).await
    }

    /// Adds to the records; what comes back without an error is on the disk.
    pub(crate) async fn write<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut dyn Records) -> Result<T, StoreError> + Send + 'static,
    ) -> Result<T, StoreError> {
        let done = self.with(move |k| work(k.records())).await?;
        self.tell();
        Ok(done)
    }

    /// As [`Desk::read`], for work that can be refused for more than the records' reasons.
    pub(crate) async fn read_app<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut dyn Records) -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        self.with(move |k| Ok(work(k.records()))).await?
    }

    /// As [`Desk::write`], for work that can be refused for more than the records' reasons.
    pub(crate) async fn write_app<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut dyn Records) -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        let done = self.read_app(work).await?;
        // Nobody may be listening.
        let _ = self.changed.send(());
        Ok(done)
    }

    /// Looks into accounts and sessions, or changes them.
    pub(crate) async fn people<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut dyn Accounts) -> Result<T, StoreError> + Send + 'static,
    ) -> Result<T, StoreError> {
        self.with(move |k| work(k.people())).await
    }

    /// The settings of the plant; `None` before the first of them.
    pub(crate) async fn plant(&self) -> Result<Option<PlantSettings>, StoreError> {
        self.read(|r| plant(r)).await
    }
}

/// Name under which the one user of this machine makes entries.
pub(crate) const PERSON: &str = "person";

/// Who enters something now. `id` makes an entry that is sent twice stand once.
pub(crate) fn stamp(plant: &PlantSettings, v: &Visit, id: &str) -> Stamp {
    let alone = || plant.more.get(PERSON).cloned().unwrap_or_else(|| plant.establishment.clone());
    let by = v.person.as_ref().map_or_else(alone, |p| p.full_name.clone());
    let usable = (8..=80).contains(&id.len()) && id.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
    Stamp { at: now(), zone: plant.zone.clone(), by, client_id: usable.then(|| id.to_owned()) }
}

/// Who does something with accounts; also before there is a plant.
pub(crate) async fn people_stamp(site: &Site, v: &Visit) -> Result<Stamp, StoreError> {
    let zone = site.desk().plant().await?.map_or_else(|| "UTC".to_owned(), |p| p.zone);
    let by = v.person.as_ref().map_or_else(|| "at sign-in".to_owned(), |p| p.full_name.clone());
    Ok(Stamp { at: now(), zone, by, client_id: None })
}

/// What went wrong with the records, as a page.
pub(crate) fn fault(v: &Visit, e: &StoreError) -> Response {
    let (status, what, then) = match e {
        StoreError::Records(RecordsError::Locked { .. }) => {
            (StatusCode::SERVICE_UNAVAILABLE, "web-keep-busy", "web-keep-busy-next")
        }
        StoreError::Records(RecordsError::Full { .. }) => {
            (StatusCode::INSUFFICIENT_STORAGE, "web-keep-full", "web-keep-full-next")
        }
        StoreError::Records(RecordsError::IdReused { .. } | RecordsError::Moved { .. }) => {
            (StatusCode::CONFLICT, "web-keep-twice", "web-keep-twice-next")
        }
        StoreError::Rule { .. } => (StatusCode::UNPROCESSABLE_ENTITY, "web-keep-rule", "web-keep-rule-next"),
        _ => (StatusCode::INTERNAL_SERVER_ERROR, "web-keep-other", "web-keep-other-next"),
    };
    let body = html! {
        p.kicker { (status.as_u16()) }
        h1 { (v.text(what)) }
        p.subline { (v.text(then)) }
        p.note lang="en" { (e.to_string()) }
        p { a.button href="/" { (v.text("web-fault-home")) } }
    };
    let page = Shell { title: v.text(what), tab: Tab::None }.around(v, &body);
    said((status, page).into_response())
}
