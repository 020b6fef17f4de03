//! Batches under way: plans that are kept, batches started from them, acts done, readings by hand, and what all that looks
//! like beside the plan.
//!
//! Everything is an entry of a record (see `fallrate_store`); nothing here is kept anywhere else. An act that was done is a
//! note of the record in the form of [`done_note`], so that the record tells it to any reader.

mod board;
mod enter;
mod happened;
mod people;
mod plans;
mod run;

pub(crate) use board::measured_series;
pub use board::{ActLine, Board, board};
pub(crate) use enter::free_id;
pub use enter::{
    ReadingKind, Start, act_done, by_now, end_run, enter_reading, note, save_plant, start_batch, withdraw,
};
pub use happened::{
    FourParts, Setting, Stopped, StoppedKind, action_taken, change_setting, correct_reading, enter_stop,
    stop_over,
};
pub use people::{Remembered, remember};
pub(crate) use plans::slug;
pub use plans::{SavedPlan, plan, plans, save_plan};
pub use run::{DoneAct, HandReading, Remark, Run, SettingChanged, plant, run, runs};

pub use fallrate_lethality::Retention;
pub use fallrate_store::{
    AccessOutcome, Account, AccountChange, AccountRole, Accounts, AnswerSought, BatchQuery, BatchRow, Digest,
    Disposition, Heartbeat, PlantSettings, PlantUnits, RecordRealm, Records, RecordsError, Session,
    StoreError, StreamName, instant_from_iso,
};

pub use fallrate_series::{Instant, Role};

/// A place that keeps records and accounts.
pub trait Keep: Records + Accounts {
    /// It as a place of records.
    fn records(&mut self) -> &mut dyn Records;
    /// It as a place of accounts.
    fn people(&mut self) -> &mut dyn Accounts;
}

impl<T: Records + Accounts> Keep for T {
    fn records(&mut self) -> &mut dyn Records {
        self
    }
    fn people(&mut self) -> &mut dyn Accounts {
        self
    }
}

/// A name to sign in with, from the name as it is printed: letters and digits with hyphens between.
#[must_use]
pub fn account_name(full_name: &str) -> String {
    plans::slug(full_name)
}

/// Who enters something, and when.
#[derive(Clone, Debug, PartialEq)]
pub struct Stamp {
    /// Now.
    pub at: Instant,
    /// Time zone of the plant.
    pub zone: String,
    /// Who.
    pub by: String,
    /// Id that the sender gave the entry: sent twice, it is entered once.
    pub client_id: Option<String>,
}

/// The note that says that an act of the plan was done. `number` counts from 1.
#[must_use]
pub fn done_note(number: usize, text: &str) -> String {
    format!("plan act {number} done: {text}")
}

/// Number of the act, from 1, where a note is of the form of [`done_note`].
#[must_use]
pub fn act_of_note(note: &str) -> Option<usize> {
    note.strip_prefix("plan act ")?.split_once(" done: ")?.0.parse().ok().filter(|n| *n > 0)
}

/// A person's note in words that are never taken for one that the program writes.
#[must_use]
pub fn plain_note(text: &str) -> String {
    let text = text.trim();
    let ours = act_of_note(text).is_some()
        || text.starts_with(ENDED.trim_end())
        || text.starts_with(happened::SET.trim_end());
    if ours { format!("– {text}") } else { text.to_owned() }
}

/// How a note that ends a run begins.
pub(crate) const ENDED: &str = "run ended: ";
