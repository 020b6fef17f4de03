//! Checks of moist air: published and independent values, identities, limits, properties.

#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "all/checks.rs"]
mod checks;
#[path = "all/identities.rs"]
mod identities;
#[path = "all/properties.rs"]
mod properties;
#[path = "all/report.rs"]
mod report;
#[path = "all/rules.rs"]
mod rules;
#[path = "all/states.rs"]
mod states;
#[path = "all/tables.rs"]
mod tables;
