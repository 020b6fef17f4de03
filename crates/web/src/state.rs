//! What all requests share.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use fallrate_app::batches::{Keep, RecordRealm};
use fallrate_app::practice::Rooms;
use fallrate_app::upkeep::Upkeep;
use fallrate_app::{AppError, Language, Library, Reader, Units};

use crate::demo::{Demo, SharedDemo};
use crate::follower::Follower;
use crate::keep::Desk;
use crate::operate::Keeper;
use crate::people::Door;
use crate::planner::Planner;
use crate::rehearse::Stage;

/// What all requests share: the library, the readers, the planner.
#[derive(Clone, Debug)]
pub struct Site(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    library: Arc<Library>,
    /// English and Spanish, each with SI and US units.
    readers: [Arc<Reader>; 4],
    planner: Arc<Planner>,
    desk: Desk,
    follower: Follower,
    door: Door,
    stage: Arc<Stage>,
    demo: SharedDemo,
    realm: RecordRealm,
    keeper: Keeper,
    encrypted: AtomicBool,
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
        let realm = RecordRealm::Proof;
        let desk = Desk::new(keep);
        Ok(Self(Arc::new(Inner {
            follower: Follower::new(Arc::clone(&library), desk.teller()),
            planner: Arc::new(Planner::new(Arc::clone(&library))),
            desk,
            library,
            readers: [
                reader(Language::English, Units::Si),
                reader(Language::English, Units::Us),
                reader(Language::Spanish, Units::Si),
                reader(Language::Spanish, Units::Us),
            ],
            door,
            stage: Arc::default(),
            demo: SharedDemo::default(),
            realm,
            keeper: Keeper::default(),
            encrypted: AtomicBool::new(false),
        })))
    }

    /// Says where practice keeps its records; without it there is none. Once said it stays.
    #[must_use]
    pub fn with_rooms(self, rooms: Box<dyn Rooms>) -> Self {
        self.0.stage.furnish(rooms);
        self
    }

    /// The same site over another place of records: the demo workshop.
    pub(crate) fn beside(&self, keep: Box<dyn Keep>) -> Self {
        let own = &self.0;
        let door = match &own.door {
            Door::ThisMachine => Door::ThisMachine,
            Door::Network { first_token } => Door::Network { first_token: first_token.clone() },
        };
        let desk = Desk::new(keep);
        Self(Arc::new(Inner {
            follower: Follower::new(Arc::clone(&own.library), desk.teller()),
            library: Arc::clone(&own.library),
            readers: own.readers.clone(),
            planner: Arc::clone(&own.planner),
            desk,
            door,
            stage: Arc::clone(&own.stage),
            demo: Arc::clone(&own.demo),
            realm: RecordRealm::Demo,
            keeper: Keeper::default(),
            encrypted: AtomicBool::new(self.is_encrypted()),
        }))
    }

    /// The world whose records these pages show.
    pub(crate) fn realm(&self) -> RecordRealm {
        self.0.realm
    }
    pub(crate) fn demo(&self) -> &Demo {
        &self.0.demo
    }
    pub(crate) fn stage(&self) -> &Stage {
        &self.0.stage
    }

    /// Gives the site somebody who makes copies and looks at the room left.
    #[must_use]
    pub fn looked_after(self, upkeep: Arc<dyn Upkeep>) -> Self {
        self.0.keeper.set(upkeep);
        self
    }

    /// Says that every connection to it is encrypted.
    pub(crate) fn encrypt(&self) {
        self.0.encrypted.store(true, Ordering::Relaxed);
    }
    pub(crate) fn is_encrypted(&self) -> bool {
        self.0.encrypted.load(Ordering::Relaxed)
    }
    pub(crate) fn keeper(&self) -> &Keeper {
        &self.0.keeper
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
