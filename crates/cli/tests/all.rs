//! The program as its user meets it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "all/bad_input.rs"]
mod bad_input;
#[path = "all/files.rs"]
mod files;
#[path = "all/kills.rs"]
mod kills;
#[path = "all/proof.rs"]
mod proof;
#[path = "all/rehearse.rs"]
mod rehearse;
#[path = "all/server.rs"]
mod server;
#[path = "all/show.rs"]
mod show;
#[path = "all/support.rs"]
mod support;
