//! The local web app: pages for the tablet beside the dryer and the office, and the same as an interface for programs.
//!
//! Pages work without script for reading and entry; one small script of our own redraws results as inputs change.
//! Nothing is loaded from elsewhere.

mod air;
mod api;
mod assets;
mod batch;
mod cabinet_tests;
mod demo;
mod error;
mod fault;
mod follower;
mod guard;
mod instruments;
mod keep;
mod learn;
mod library;
mod live;
mod look;
mod operate;
mod own;
mod page_parts;
mod people;
mod plan;
mod planner;
mod proof;
mod rehearse;
mod server;
mod setup;
mod shell;
mod start;
mod state;
mod tls;

pub use error::WebError;
pub use people::new_secret;
pub use server::{Announced, Options, router, serve};
pub use state::Site;
pub use tls::TlsPem;
