//! Integration tests of plans.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

#[path = "all/request.rs"]
mod request;
