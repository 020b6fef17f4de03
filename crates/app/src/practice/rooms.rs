//! Where practice keeps its records: never beside real ones.

use crate::batches::Keep;

/// Opens the databases of practice; each is a place of its own.
pub trait Rooms: Send + Sync {
    /// The database of rehearsals.
    ///
    /// # Errors
    /// Why it cannot be opened, in words.
    fn rehearsals(&self) -> Result<Box<dyn Keep>, String>;
    /// The database of the demonstration workshop.
    ///
    /// # Errors
    /// As [`Self::rehearsals`].
    fn demo(&self) -> Result<Box<dyn Keep>, String>;
}
