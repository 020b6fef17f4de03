//! What all requests share.

use std::sync::Arc;

use fallrate_app::batches::Keep;
use fallrate_app::{AppError, Language, Library, Reader, Units};

use crate::follower::Follower;
use crate::keep::Desk;
use crate::people::Door;
use crate::planner::Planner;

/// What all requests share: the library, the readers, the planner.
#[derive(Clone, Debug)]
pub struct Site(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    library: Arc<Library>,
    /// English and Spanish, each with SI and US units.
    readers: [Arc<Reader>; 4],
    planner: Planner,
    desk: Desk,
    follower: Follower,
    door: Door,
}

impl Site {
    /// A site for this machine alone, over a place that keeps its records.
    ///
    /// # Errors
    /// [`AppError`] where what the program carries cannot be read.
    pub fn new(keep: Box<dyn Keep>) -> Result<Self, AppError> {
        Self::behind(Door::ThisMachine, keep)
    }

    /// A site for the network: everybody signs in. `first_token` makes the first account.
    ///
    /// # Errors
    /// As [`Site::new`].
    pub fn with_accounts(keep: Box<dyn Keep>, first_token: &str) -> Result<Self, AppError> {
        Self::behind(Door::Network { first_token: first_token.to_owned() }, keep)
    }

    fn behind(door: Door, keep: Box<dyn Keep>) -> Result<Self, AppError> {
        let library = Arc::new(Library::embedded()?);
        let reader = |l, u| Arc::new(Reader::new(l, u));
        let desk = Desk::new(keep);
        Ok(Self(Arc::new(Inner {
            follower: Follower::new(Arc::clone(&library), desk.teller()),
            planner: Planner::new(Arc::clone(&library)),
            desk,
            library,
            readers: [
                reader(Language::English, Units::Si),
                reader(Language::English, Units::Us),
                reader(Language::Spanish, Units::Si),
                reader(Language::Spanish, Units::Us),
            ],
            door,
        })))
    }

    pub(crate) fn library(&self) -> &Arc<Library> {
        &self.0.library
    }
    pub(crate) fn planner(&self) -> &Planner {
        &self.0.planner
    }
    pub(crate) fn follower(&self) -> &Follower {
        &self.0.follower
    }
    pub(crate) fn desk(&self) -> &Desk {
        &self.0.desk
    }
    pub(crate) fn door(&self) -> &Door {
        &self.0.door
    }
    pub(crate) fn reader(&self, language: Language, units: Units) -> Arc<Reader> {
        let [en_si, en_us, es_si, es_us] = &self.0.readers;
        Arc::clone(match (language, units) {
            (Language::English, Units::Si) => en_si,
            (Language::English, Units::Us) => en_us,
            (Language::Spanish, Units::Si) => es_si,
            (Language::Spanish, Units::Us) => es_us,
        })
    }
}
