//! The crate's errors.

use crate::Provenance;

/// What can go wrong when series are built.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SeriesError {
    /// A reading that is not a finite number.
    #[error("reading of channel '{channel}': {value} is not a finite number; leave a missing value out")]
    NotFinite {
        /// Channel.
        channel: String,
        /// Value found.
        value: f64,
    },
    /// A span that ends before it begins.
    #[error("span: ends {end_before_start_s} s before it begins; allowed: end at or after the start")]
    SpanReversed {
        /// By how much, s.
        end_before_start_s: f64,
    },
    /// A calendar date that does not exist.
    #[error("date: '{text}' is no calendar date; allowed: yyyy-mm-dd")]
    NoSuchDate {
        /// Text found.
        text: String,
    },
    /// A channel of a provenance that the realm does not hold.
    #[error("provenance: '{found}' is not allowed here; allowed: {allowed}")]
    WrongRealm {
        /// Provenance found.
        found: Provenance,
        /// What the realm holds.
        allowed: &'static str,
    },
    /// A channel that names a source the log does not have.
    #[error("channel '{channel}': source {index} is not in the log, which has {sources}")]
    NoSuchSource {
        /// Channel.
        channel: String,
        /// Index named.
        index: usize,
        /// Sources there are.
        sources: usize,
    },
    /// An answer to a suspect reading that lacks the person or the reason.
    #[error("answer to a suspect reading: {missing} is missing; allowed: a named person and a reason")]
    AnswerIncomplete {
        /// What is missing.
        missing: &'static str,
    },
}
