//! Which entries stand, and what they say after corrections.

use crate::{Body, Entry};

/// What corrections and withdrawals leave. Indices are those of the slice the entries came in.
pub(crate) struct Resolved {
    /// Whether the entry stands (is not withdrawn by an entry that stands).
    pub(crate) stands: Vec<bool>,
    /// The entry that a correction corrects in the end; itself for any other.
    pub(crate) root: Vec<usize>,
    /// For a root: the entry whose words count (itself or its last correction that stands).
    pub(crate) words_from: Vec<usize>,
}

/// Index of an entry by its number.
pub(crate) fn index_of(entries: &[Entry], n: u64) -> Option<usize> {
    let guess = usize::try_from(n.checked_sub(1)?).ok()?;
    match entries.get(guess) {
        Some(e) if e.n == n => Some(guess),
        // Only in a damaged record, where lines are missing.
        _ => entries.iter().position(|e| e.n == n),
    }
}

/// The entry that this one corrects or withdraws, if it stands before it.
pub(crate) fn target(entries: &[Entry], at: usize) -> Option<usize> {
    let n = match &entries.get(at)?.body {
        Body::Corrected(c) => c.entry,
        Body::Withdrawn(w) => w.entry,
        _ => return None,
    };
    index_of(entries, n).filter(|t| *t < at)
}

/// What an entry is about in the end: itself, or what its corrections and withdrawals lead to.
pub(crate) fn final_target(entries: &[Entry], at: usize) -> usize {
    let mut at = at;
    while let Some(t) = target(entries, at) {
        at = t;
    }
    at
}

pub(crate) fn resolve(entries: &[Entry]) -> Resolved {
    let mut stands = vec![true; entries.len()];
    // From the last to the first: whether a withdrawal stands is known before its target is looked at.
    for at in (0..entries.len()).rev() {
        if stands[at]
            && matches!(entries[at].body, Body::Withdrawn(_))
            && let Some(t) = target(entries, at)
        {
            stands[t] = false;
        }
    }
    let mut root: Vec<usize> = (0..entries.len()).collect();
    let mut words_from = root.clone();
    for at in 0..entries.len() {
        if matches!(entries[at].body, Body::Corrected(_))
            && let Some(t) = target(entries, at)
        {
            root[at] = root[t];
            if stands[at] {
                words_from[root[t]] = at;
            }
        }
    }
    Resolved { stands, root, words_from }
}

/// What an entry says itself; for a correction, what it puts in place.
pub(crate) fn words(body: &Body) -> &Body {
    match body {
        Body::Corrected(c) => &c.new,
        other => other,
    }
}
