//! The instrument behind a channel.

use serde::{Deserialize, Serialize};

use crate::{CalendarDate, Instant};

/// The instrument behind a channel, as far as it is known.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize)]
pub struct Instrument {
    /// The plant's name or number for it.
    pub id: String,
    /// What it is ("type K probe, 1.5 mm").
    pub description: String,
    /// Tolerance either way, in the base unit of the channel as a difference (K, fraction, kg); `None` where unknown.
    pub tolerance: Option<f64>,
    /// Lowest and highest value it can read, in the base unit; `None` where unknown.
    pub range: Option<(f64, f64)>,
    /// Day of the last calibration or check.
    pub calibrated_on: Option<CalendarDate>,
    /// Last day on which that calibration holds.
    pub calibration_due: Option<CalendarDate>,
    /// Certificate, reference thermometer or check record.
    pub calibration_record: String,
}

/// Whether a calibration covers an instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CalibrationState {
    /// Calibrated before, not yet due.
    InDate,
    /// The last day was before the instant.
    Overdue {
        /// Last day on which it held.
        due: CalendarDate,
    },
    /// The calibration is later than the instant.
    NotYetCalibrated {
        /// Day of the calibration.
        calibrated_on: CalendarDate,
    },
    /// One of the two days is not known.
    Unknown,
}

impl Instrument {
    /// Whether the calibration covers an instant, compared by UTC days.
    #[must_use]
    pub fn calibration_at(&self, at: Instant) -> CalibrationState {
        let (Some(on), Some(due)) = (self.calibrated_on, self.calibration_due) else {
            return CalibrationState::Unknown;
        };
        let day = at.utc_date();
        if day < on {
            CalibrationState::NotYetCalibrated { calibrated_on: on }
        } else if day > due {
            CalibrationState::Overdue { due }
        } else {
            CalibrationState::InDate
        }
    }
}
