//! Tests of the use cases.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "all/air.rs"]
mod air;
#[path = "all/cabinet_tests.rs"]
mod cabinet_tests;
#[path = "all/catalogue.rs"]
mod catalogue;
#[path = "all/compare.rs"]
mod compare;
#[path = "all/demo.rs"]
mod demo;
#[path = "all/desk.rs"]
mod desk;
#[path = "all/learning.rs"]
mod learning;
#[path = "all/library.rs"]
mod library;
#[path = "all/machine.rs"]
mod machine;
#[path = "all/page.rs"]
mod page;
#[path = "all/practice.rs"]
mod practice;
#[path = "all/proof.rs"]
mod proof;
#[path = "all/support.rs"]
mod support;
#[path = "all/underway.rs"]
mod underway;
