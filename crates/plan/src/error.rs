//! Why there is no plan.

use fallrate_simulate::SimulateError;

/// Errors of a plan. Order of the message: what, value, what is allowed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// The run cannot be computed.
    #[error(transparent)]
    Simulate(#[from] SimulateError),
    /// The target is drier than this air can make the product.
    #[error(
        "target moisture {asked_dry_basis:.3} kg/kg dry basis: not reached; this plan's air leaves the {piece} at {reached_dry_basis:.3} kg/kg \
         ({reached_wet_basis_pct:.1} % wb) after {after_h:.0} h; allowed: a target above that, a hotter or drier last stage"
    )]
    OutOfReach {
        /// Asked, kg/kg.
        asked_dry_basis: f64,
        /// Reached, kg/kg.
        reached_dry_basis: f64,
        /// Reached, % wet basis.
        reached_wet_basis_pct: f64,
        /// "mean piece" or "wettest piece".
        piece: &'static str,
        /// h
        after_h: f64,
    },
    /// The target is wetter than the load at the start.
    #[error(
        "target moisture {asked_dry_basis:.3} kg/kg dry basis: the load starts at {initial_dry_basis:.3} kg/kg; allowed: below that"
    )]
    AlreadyThere {
        /// Asked, kg/kg.
        asked_dry_basis: f64,
        /// At the start, kg/kg.
        initial_dry_basis: f64,
    },
    /// A water activity that no moisture of this product has.
    #[error(
        "target water activity {aw}: no moisture of this product has it; allowed: above 0, below {greatest:.2}"
    )]
    NoSuchActivity {
        /// Asked.
        aw: f64,
        /// Greatest.
        greatest: f64,
    },
    /// A name the cabinet or product does not know.
    #[error("{what} '{name}': not known; allowed: {allowed}")]
    Unknown {
        /// What is named.
        what: &'static str,
        /// Name.
        name: String,
        /// Names that exist.
        allowed: String,
    },
    /// A figure that contradicts the cabinet or product.
    #[error("{what}: {value}; allowed: {allowed}")]
    Contradiction {
        /// What.
        what: String,
        /// Value.
        value: String,
        /// Allowed.
        allowed: String,
    },
    /// The caller cancelled.
    #[error("cancelled")]
    Cancelled,
}
