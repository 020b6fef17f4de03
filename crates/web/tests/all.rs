//! Tests of the web app without a network: requests go straight into its router.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "all/api.rs"]
mod api;
#[path = "all/batches.rs"]
mod batches;
#[path = "all/cabinet_tests.rs"]
mod cabinet_tests;
#[path = "all/guard.rs"]
mod guard;
#[path = "all/learn.rs"]
mod learn;
#[path = "all/operate.rs"]
mod operate;
#[path = "all/pages.rs"]
mod pages;
#[path = "all/people.rs"]
mod people;
#[path = "all/plan.rs"]
mod plan;
#[path = "all/proof.rs"]
mod proof;
#[path = "all/rehearse.rs"]
mod rehearse;
#[path = "all/support.rs"]
mod support;
#[path = "all/underway.rs"]
mod underway;
