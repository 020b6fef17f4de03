//! Tests of the record form. Names say what truth is held; `proves: ID` names a requirement of docs/requirements.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "all/support.rs"]
mod support;

#[path = "all/chain.rs"]
mod chain;
#[path = "all/checklist.rs"]
mod checklist;
#[path = "all/corrections.rs"]
mod corrections;
#[path = "all/forms.rs"]
mod forms;
#[path = "all/keeping.rs"]
mod keeping;
#[path = "all/releasing.rs"]
mod releasing;
#[path = "all/rules.rs"]
mod rules;
#[path = "all/streams.rs"]
mod streams;
#[path = "all/tampering.rs"]
mod tampering;
#[path = "all/views.rs"]
mod views;
