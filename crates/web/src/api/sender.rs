//! Who sends an entry, and how one is refused.

use axum::http::StatusCode;
use fallrate_app::batches::{PlantSettings, Stamp};

use crate::fault::Problem;
use crate::keep::stamp;
use crate::look::Visit;
use crate::state::Site;

/// What was sent can be read and cannot be taken.
pub(super) fn refuse(detail: impl Into<String>) -> Problem {
    Problem::new(StatusCode::UNPROCESSABLE_ENTITY, detail.into())
}

/// The settings of the plant; without them nothing is entered.
pub(super) async fn plant(site: &Site) -> Result<PlantSettings, Problem> {
    site.desk().plant().await?.ok_or_else(|| refuse("plant: its settings are missing"))
}

/// Who enters something, and when; the sender's own id must be one.
pub(super) fn stamped(v: &Visit, plant: &PlantSettings, entry_id: &str) -> Result<Stamp, Problem> {
    let stamp = stamp(plant, v, entry_id);
    if stamp.client_id.is_none() {
        return Err(refuse(format!("entry_id: '{entry_id}'; allowed: 8 to 80 letters, digits, hyphens")));
    }
    Ok(stamp)
}
