//! Entries that were made while the server was away: whose they are, when they were, and that they stand once.

use axum::extract::State;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use fallrate_app::batches::{self, Instant, Stamp, StoreError, StreamName};
use maud::{Markup, html};
use serde::Deserialize;

use crate::keep::now;
use crate::look::Visit;
use crate::state::Site;

/// How far the two measurements of a tablet's clock may lie apart before that is noted, s.
const CLOCK_MOVED_S: f64 = 60.0;

/// What a delivered entry says of itself. The times are those of the device, ms.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Queued {
    queued: String,
    queued_by: String,
    // Texts: a form that is flattened into another knows no numbers.
    entered_ms: String,
    sent_ms: String,
    skew_ms: String,
}

/// When an entry was made by the clock of the server.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Made {
    pub at: Instant,
    /// By how much the clock of the device moved between entry and delivery, s, where that is much.
    pub clock_moved_s: Option<f64>,
}

/// Milliseconds as seconds; nothing that is not finite, and nothing beyond the year 9999.
fn seconds(ms: &str) -> Option<f64> {
    ms.trim().parse::<f64>().ok().map(|ms| ms / 1000.0).filter(|s| s.abs() < 2.5e11)
}

impl Queued {
    pub(crate) fn is_queued(&self) -> bool {
        !self.queued.is_empty()
    }
    /// Whether the person who made it is the one who delivers it.
    pub(crate) fn is_of(&self, v: &Visit) -> bool {
        self.queued_by == v.person.as_ref().map_or("", |p| p.account.as_str())
    }
    /// When it was made. The clock of the device is held against this one twice: last before the entry, where that is
    /// known, and now; the first is nearer to the entry.
    pub(crate) fn made(&self, now: Instant) -> Option<Made> {
        let entered = seconds(&self.entered_ms)?;
        let at_delivery = now.seconds_since(Instant::from_unix_seconds(seconds(&self.sent_ms)?));
        let at_entry = seconds(&self.skew_ms);
        let at = Instant::from_unix_seconds(entered).plus_seconds(at_entry.unwrap_or(at_delivery));
        let moved = at_entry.map(|e| e - at_delivery).filter(|m| m.abs() > CLOCK_MOVED_S);
        Some(Made { at, clock_moved_s: moved })
    }
}

/// Whether an entry with this id stands in the record of this batch.
pub(crate) async fn stands(site: &Site, batch: &str, entry_id: &str) -> Result<bool, StoreError> {
    let (stream, id) = (StreamName::batch(batch)?, entry_id.to_owned());
    let place = site.desk().read(move |r| Ok(r.place_of(&id)?)).await?;
    Ok(place.is_some_and(|p| p.stream == stream))
}

/// Notes beside a delivered entry that the clock of the device was set meanwhile.
pub(crate) async fn note_clock(
    site: &Site,
    batch: &str,
    stamp: &Stamp,
    moved_s: f64,
) -> Result<(), StoreError> {
    let client_id = stamp.client_id.as_ref().map(|c| format!("{c}-clock"));
    let (stamp, id) = (Stamp { client_id, ..stamp.clone() }, batch.to_owned());
    let words = format!(
        "device clock moved by {moved_s:.0} s between an entry made without the server and its delivery"
    );
    site.desk().write(move |r| batches::note(r, &id, &stamp, &words, None)).await.map(|_| ())
}

/// The clock of the server, ms.
pub(super) async fn clock() -> Response {
    let text = (now().unix_nanoseconds() / 1_000_000).to_string();
    ([(CONTENT_TYPE, "text/plain; charset=utf-8")], text).into_response()
}

/// The part of the script that must lie at the root of the site.
pub(super) async fn worker(State(_): State<Site>) -> Response {
    let kind = [(CONTENT_TYPE, "text/javascript; charset=utf-8")];
    (kind, include_str!("../../assets/sw.js")).into_response()
}

/// Where the script says what waits in this device.
pub(crate) fn queue(v: &Visit) -> Markup {
    html! {
        aside #queue hidden aria-label=(v.text("ops-queue-title"))
            data-person=(v.person.as_ref().map_or("", |p| p.account.as_str()))
            data-made=(now().unix_nanoseconds() / 1_000_000)
            data-away=(v.with("ops-queue-away", &[("time", "{n}")]))
            data-waiting=(v.with("ops-queue-waiting", &[("number", "{n}")]))
            data-other=(v.text("ops-queue-other")) data-full=(v.text("ops-queue-full"))
            data-discard=(v.text("ops-queue-discard")) {
            b role="status" {}
            ol {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn queued(entered_s: i64, sent_s: i64, skew_s: Option<i64>) -> Queued {
        Queued {
            entered_ms: (entered_s * 1000).to_string(),
            sent_ms: (sent_s * 1000).to_string(),
            skew_ms: skew_s.map_or_else(String::new, |s| (s * 1000).to_string()),
            ..Queued::default()
        }
    }
    fn at(s: f64) -> Instant {
        Instant::from_unix_seconds(s)
    }

    #[test]
    fn identity_a_wrong_clock_of_a_tablet_does_not_matter() {
        // The tablet is 3000 s behind; the entry was made 600 s before it was delivered at 10,000.
        for skew in [None, Some(3000)] {
            let made = queued(6400, 7000, skew).made(at(10_000.0)).expect("a time");
            assert_eq!((made.at, made.clock_moved_s), (at(9400.0), None));
        }
    }

    #[test]
    fn identity_a_clock_that_was_set_meanwhile_is_told() {
        // Behind by 3000 s at the entry (made at 9400), then set right before the delivery.
        let made = queued(6400, 10_000, Some(3000)).made(at(10_000.0)).expect("a time");
        assert_eq!((made.at, made.clock_moved_s), (at(9400.0), Some(3000.0)));
    }
}
