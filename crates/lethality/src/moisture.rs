//! Moisture limits by product standard. Quality and identity, not safety.

use fallrate_units::MoistureWetBasis;
use serde::{Deserialize, Serialize};

use crate::data::{MOISTURE_LIMITS, PRODUCE_ADVICE, table_once};
use crate::{Answer, Basis};

/// Highest moisture of a product under a standard.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MoistureLimit {
    /// Product.
    pub product: String,
    /// Form or type.
    pub form_or_type: String,
    /// Highest moisture, per cent wet basis; `None` where the standard's figure could not be read.
    #[serde(rename = "max_moisture_pct_wb")]
    pub most_wet_basis_percent: Option<f64>,
    /// Condition.
    pub condition: String,
    /// Standard.
    pub standard: String,
    /// Issuer.
    pub issuer: String,
    /// Where it was read.
    pub source: String,
    /// How it is known.
    pub basis: Basis,
}

table_once!(
    /// The limits of all standards.
    ///
    /// # Errors
    /// [`crate::LethalityError::Criteria`] where the compiled-in table is damaged.
    pub fn moisture_limits -> MoistureLimit = "moisture_limits.csv", MOISTURE_LIMITS
);

impl MoistureLimit {
    /// Whether a measured moisture, plus its tolerance, keeps the limit. Cannot be judged where the figure is missing
    /// or the tolerance is unknown.
    #[must_use]
    pub fn judge(&self, measured: MoistureWetBasis, tolerance_percent: Option<f64>) -> Answer {
        match (self.most_wet_basis_percent, tolerance_percent) {
            (Some(most), Some(tol)) if measured.percent() + tol <= most + 1e-9 => Answer::Met,
            (Some(_), Some(_)) => Answer::NotMet,
            _ => Answer::CannotBeJudged,
        }
    }
}

/// Extension advice on pasteurising dried produce. Bulletins disagree and none is a validated 5-log step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ProduceAdvice {
    /// Product.
    pub product: String,
    /// Method.
    pub method: String,
    /// Temperature, degF.
    #[serde(rename = "temperature_F")]
    pub temperature_f: f64,
    /// Minutes.
    pub minutes: f64,
    /// Where it was read.
    pub source: String,
    /// How it is known.
    pub basis: Basis,
}

table_once!(
    /// All advice on pasteurising dried produce.
    ///
    /// # Errors
    /// [`crate::LethalityError::Criteria`] where the compiled-in table is damaged.
    pub fn produce_advice -> ProduceAdvice = "produce_advice.csv", PRODUCE_ADVICE
);
