//! What stands in the streams beside the batch records. They are chains of the same form.

mod any;
mod audit;
mod instrument;
mod library;
mod plant;

pub use any::AnyBody;
pub use audit::*;
pub use instrument::*;
pub use library::*;
pub use plant::*;

/// The parts of [`crate::EntryBody`] that are the same for every enum with a variant `Unknown`.
macro_rules! unknown_variant {
    () => {
        fn unknown(found: crate::UnknownBody) -> Self {
            Self::Unknown(found)
        }
        fn as_unknown(&self) -> Option<&crate::UnknownBody> {
            match self {
                Self::Unknown(u) => Some(u),
                _ => None,
            }
        }
        // Their rules read the entry and its number only.
        fn stands_alone() -> bool {
            true
        }
    };
}
pub(crate) use unknown_variant;
