//! Integration tests of the virtual cabinet.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

#[path = "all/cabinet_tests.rs"]
mod cabinet_tests;
#[path = "all/debrief.rs"]
mod debrief;
#[path = "all/faults.rs"]
mod faults;
#[path = "all/readings.rs"]
mod readings;
#[path = "all/run.rs"]
mod run;
#[path = "all/support.rs"]
mod support;
