//! What can go wrong when a cabinet is asked for something.

/// A name the cabinet does not have, or a figure it cannot give.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum EquipmentError {
    /// No such vent mark.
    #[error("vent mark: '{name}'; allowed: {}; cabinet {cabinet}", .known.join(", "))]
    UnknownVentMark {
        /// Name asked for.
        name: String,
        /// Names there are.
        known: Vec<String>,
        /// The nearest of them.
        near: Option<String>,
        /// Cabinet's key.
        cabinet: String,
    },
    /// No such fan step.
    #[error("fan step: '{name}'; allowed: {}; cabinet {cabinet}", .known.join(", "))]
    UnknownFanStep {
        /// Name asked for.
        name: String,
        /// Names there are.
        known: Vec<String>,
        /// The nearest of them.
        near: Option<String>,
        /// Cabinet's key.
        cabinet: String,
    },
    /// No such liner.
    #[error("liner: '{name}'; allowed: {}; cabinet {cabinet}", .known.join(", "))]
    UnknownLiner {
        /// Name asked for.
        name: String,
        /// Names there are.
        known: Vec<String>,
        /// The nearest of them.
        near: Option<String>,
        /// Cabinet's key.
        cabinet: String,
    },
    /// A vent opening the vent cannot take.
    #[error("vent opening: {opening}; allowed: {least} to 1; cabinet {cabinet}")]
    VentOpening {
        /// Opening asked for, share of fully open.
        opening: f64,
        /// Least opening.
        least: f64,
        /// Cabinet's key.
        cabinet: String,
    },
}
