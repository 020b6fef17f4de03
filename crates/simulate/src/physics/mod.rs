//! The equations: a piece, the air along the trays, the chamber around them.

pub(crate) mod chamber;
pub(crate) mod grid;
pub(crate) mod piece;
pub(crate) mod setting;
pub(crate) mod surface;
pub(crate) mod system;
