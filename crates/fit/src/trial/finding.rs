//! What was noticed about trials that are used nevertheless, and how they are used.

use crate::trial::Unknown;

/// A tray of a trial.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct TrayKey {
    /// Trial.
    pub trial: String,
    /// Tray.
    pub tray: String,
}

/// Something to know about a trial.
#[derive(Clone, Debug, PartialEq)]
pub enum TrialFinding {
    /// One weighing stands above its neighbours although the product only loses water. It is left out.
    WeighingLeftOut {
        /// Tray.
        tray: TrayKey,
        /// s
        elapsed_s: f64,
        /// kg
        gross_kg: f64,
        /// How far it stands out, kg.
        out_by_kg: f64,
    },
    /// A constant offset of a tray's weights explains them far better than none: a wrong tare, or a tare not taken off. The
    /// offset was fitted with the rest.
    TareError {
        /// Tray.
        tray: TrayKey,
        /// What the stated tare lacks, kg: true tare less stated one.
        offset_kg: f64,
        /// Standard error, kg.
        standard_error_kg: f64,
    },
    /// The trial ended while much of its water was still there: what happens later is not told by it.
    StoppedEarly {
        /// Trial.
        trial: String,
        /// Share of the removable water (down to the moisture the air would leave) still there at the last weighing, 0 to 1.
        water_left: f64,
    },
    /// The temperature of the air record fell suddenly while the weights went on falling: the probe was out of the air stream.
    /// Nothing after that is used.
    AirProbeOut {
        /// Trial.
        trial: String,
        /// s
        from_s: f64,
        /// Mean of the readings before, degC.
        before_c: f64,
        /// And after, degC.
        after_c: f64,
    },
    /// The core temperature jumped to that of the air: the probe was out of the product. Its readings from there on are left
    /// out.
    CoreProbeOut {
        /// Trial.
        trial: String,
        /// Probe.
        probe: String,
        /// s
        from_s: f64,
    },
    /// The air record ends before the last weighing; weighings after it are left out.
    AirEndsEarly {
        /// Trial.
        trial: String,
        /// s
        at_s: f64,
    },
    /// The air record has a gap, over which it was taken as straight.
    AirGap {
        /// Trial.
        trial: String,
        /// s
        from_s: f64,
        /// s
        to_s: f64,
    },
    /// The fit wants another value of a trial's lot than was stated, by more than chance allows: wrong unit, another lot, a
    /// mistake in the statement, or a model that does not hold.
    AgainstStatement {
        /// Raw moisture or size of a trial.
        unknown: Unknown,
        /// Stated.
        stated: f64,
        /// Fitted.
        fitted: f64,
        /// Distance over the stated standard deviation.
        deviations: f64,
    },
    /// Residuals keep one sign for longer than chance allows: the model bends otherwise than the data. Standard errors are
    /// widened for it.
    ModelShape {
        /// Correlation of a residual with the one before, over all trays.
        correlation: f64,
        /// Factor on the standard errors.
        widened: f64,
    },
    /// Weights scatter more than the stated error of a weighing; the standard errors count the scatter.
    MoreScatter {
        /// Scatter over the stated error.
        factor: f64,
    },
}
