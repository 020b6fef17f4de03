//! Why nothing is learned.

/// Faults of learning. Order of the message: what, value, what is allowed, where.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LearnFault {
    /// No batch.
    #[error("closed batches: 0; allowed: at least 1")]
    NoBatch,
    /// A number that cannot be.
    #[error("{what}: {value}; allowed: {allowed}, '{of}'")]
    BadNumber {
        /// Quantity.
        what: &'static str,
        /// Value.
        value: f64,
        /// Allowed.
        allowed: &'static str,
        /// Batch or quantity.
        of: String,
    },
    /// The same batch (and position) twice.
    #[error("batch '{batch}': twice; allowed: once for each position")]
    Twice {
        /// Batch.
        batch: String,
    },
    /// The estimation did not come to an end.
    #[error("hierarchy of '{of}': no maximum found; allowed: finite estimates and errors")]
    NoMaximum {
        /// Quantity.
        of: String,
    },
    /// A proposal made on another value than the present one.
    #[error(
        "proposal for '{of}': made when the library said {made_on}, now it says {now}; allowed: a fresh proposal"
    )]
    Stale {
        /// Quantity.
        of: String,
        /// Then.
        made_on: f64,
        /// Now.
        now: f64,
    },
    /// A quantity the ledger does not have.
    #[error("quantity '{of}': not in the ledger; allowed: one that was begun")]
    Unknown {
        /// Quantity.
        of: String,
    },
    /// A quantity begun twice.
    #[error("quantity '{of}': already begun; allowed: one beginning")]
    AlreadyBegun {
        /// Quantity.
        of: String,
    },
    /// An entry that cannot be taken back.
    #[error("entry {entry}: {why}; allowed: the last approved change of a quantity that still stands")]
    NotReversible {
        /// Number of the entry.
        entry: usize,
        /// Why.
        why: &'static str,
    },
    /// Nobody named who decides.
    #[error("name of who decides: empty; allowed: a name, entry for '{of}'")]
    Nobody {
        /// Quantity.
        of: String,
    },
}
