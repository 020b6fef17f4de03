//! Integration tests of the data-file reader.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

#[path = "all/fuzz.rs"]
mod fuzz;
#[path = "all/reading.rs"]
mod reading;
