//! Integration tests of plans.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

#[path = "all/band.rs"]
mod band;
#[path = "all/behaviour.rs"]
mod behaviour;
#[path = "all/money.rs"]
mod money;
#[path = "all/request.rs"]
mod request;
#[path = "all/support.rs"]
mod support;
#[path = "all/trays.rs"]
mod trays;
#[path = "all/worked.rs"]
mod worked;
