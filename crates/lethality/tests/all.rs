//! Tests of the judge. Names say what truth is held; `proves: ID` names a requirement of docs/requirements.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "all/support.rs"]
mod support;

#[path = "all/authority.rs"]
mod authority;
#[path = "all/boundary.rs"]
mod boundary;
#[path = "all/cases.rs"]
mod cases;
#[path = "all/clocks.rs"]
mod clocks;
#[path = "all/gates.rs"]
mod gates;
#[path = "all/growth.rs"]
mod growth;
#[path = "all/integral.rs"]
mod integral;
#[path = "all/lot.rs"]
mod lot;
#[path = "all/options.rs"]
mod options;
#[path = "all/properties.rs"]
mod properties;
#[path = "all/refused.rs"]
mod refused;
#[path = "all/requirements.rs"]
mod requirements;
#[path = "all/rest.rs"]
mod rest;
#[path = "all/studies.rs"]
mod studies;
#[path = "all/tables.rs"]
mod tables;
#[path = "all/worked.rs"]
mod worked;
