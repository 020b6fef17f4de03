//! Integration tests of plans.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

#[path = "all/behaviour.rs"]
mod behaviour;
#[path = "all/request.rs"]
mod request;
#[path = "all/support.rs"]
mod support;
#[path = "all/worked.rs"]
mod worked;
