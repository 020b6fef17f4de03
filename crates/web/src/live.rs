//! Tells open pages that something was entered.

use std::convert::Infallible;
use std::time::Duration;

use axum::extract::State;
use axum::response::Sse;
use axum::response::sse::{Event, KeepAlive};
use futures_util::Stream;
use futures_util::stream::unfold;
use tokio::sync::broadcast::error::RecvError;

use crate::state::Site;

/// Sends "changed" after every entry.
pub(crate) async fn stream(State(site): State<Site>) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let stream = unfold(site.desk().changes(), |mut changes| async move {
        match changes.recv().await {
            Ok(()) | Err(RecvError::Lagged(_)) => Some((Ok(Event::default().data("changed")), changes)),
            Err(RecvError::Closed) => None,
        }
    });
    Sse::new(stream).keep_alive(KeepAlive::new().interval(Duration::from_secs(15)))
}
