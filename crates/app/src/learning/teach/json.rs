//! What was learned, as JSON.

use serde_json::json;

use super::{Learned, decide::reversible};
use crate::learning::sheet::json as text;

/// What was learned, as JSON.
#[must_use]
pub fn learned_json(l: &Learned) -> String {
    let batches: Vec<_> = l
        .batches
        .iter()
        .map(|b| {
            let said: Vec<_> = b.estimates.iter().map(|(k, e)| json!({"key": k, "estimate": e})).collect();
            json!({"id": b.id, "lot": b.lot, "product": b.product, "cabinet": b.cabinet, "day": b.day,
                "weighings": b.weighings, "estimates": said, "forecast": b.forecast, "why_not": b.why_not})
        })
        .collect();
    let lessons: Vec<_> = l
        .lessons
        .iter()
        .enumerate()
        .map(|(n, x)| {
            json!({"number": n + 1, "key": x.key, "belief": x.belief, "now": x.now,
                "proposal": x.proposal, "is_new": x.is_new})
        })
        .collect();
    let coverage: Vec<_> = l
        .coverage
        .iter()
        .map(|c| {
            json!({"product": c.product, "cabinet": c.cabinet, "quantity": c.quantity, "level": c.level,
                "share": c.share.share, "interval_95": [c.share.low, c.share.high],
                "below": c.missed.0, "above": c.missed.1, "verdict": c.verdict, "width_factor": c.width_factor})
        })
        .collect();
    text(&json!({"batches": batches, "lessons": lessons, "coverage": coverage,
        "ledger": l.ledger, "can_be_taken_back": reversible(&l.ledger)}))
}
