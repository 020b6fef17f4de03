//! Who may do what: accounts, sessions, sign-in. On this machine alone no sign-in is asked for.

mod admit;
mod confirm;
mod first;
mod manage;
mod secret;
mod sign_in;

use axum::Router;
use axum::routing::{get, post};
use fallrate_app::batches::AccountRole;

pub(crate) use admit::admit;
pub(crate) use confirm::{Confirmed, confirm};
pub use secret::new_secret;

use crate::state::Site;

/// Longest session, s: a shift.
const SHIFT_S: f64 = 12.0 * 3600.0;
/// Refusals after which an account waits.
const REFUSALS: u64 = 5;
/// First wait, s; doubled with every further refusal.
const FIRST_WAIT_S: f64 = 30.0;
/// Longest wait, s.
const LONGEST_WAIT_S: f64 = 3600.0;
/// Shortest password, letters.
const SHORTEST_PASSWORD: usize = 10;

/// Who asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Person {
    /// Name to sign in with.
    pub account: String,
    /// Name as it is printed.
    pub full_name: String,
    pub role: AccountRole,
}

/// How the site is open.
#[derive(Debug)]
pub(crate) enum Door {
    /// To this machine: its one user does everything.
    ThisMachine,
    /// To the network: everybody signs in. The token makes the first account.
    Network { first_token: String },
}

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/sign-in", get(sign_in::page).post(sign_in::sign_in))
        .route("/sign-out", post(sign_in::sign_out))
        .route("/first", get(first::page).post(first::save))
        .route("/people", get(manage::page).post(manage::add))
        .route("/people/{name}", post(manage::change))
}
