//! Integration tests of following a batch.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

#[path = "all/course.rs"]
mod course;
#[path = "all/estimate.rs"]
mod estimate;
#[path = "all/robust.rs"]
mod robust;
#[path = "all/support.rs"]
mod support;
#[path = "all/what_if.rs"]
mod what_if;
