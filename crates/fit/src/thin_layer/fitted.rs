//! A fitted equation: estimates, warnings, predictions with their standard error and with where they leave the fit.

use fallrate_foods::ThinLayer;

use crate::stats::{Criteria, ResidualTests};
use crate::thin_layer::{Conditions, FittedRange, Outside, ThinLayerEquation, ThinLayerFault};
use crate::{Estimate, FitError};

/// Times are searched up to this many times the longest measured one.
const SEARCH: f64 = 5.0;
/// A curve that rises by this much of the moisture ratio has turned.
const TURN: f64 = 1e-6;
/// Relative step of the slopes of a prediction.
const STEP: f64 = 1e-5;

/// One estimate: of one curve, or of all for a joint equation.
#[derive(Clone, Debug, PartialEq)]
pub struct CurveFit {
    /// Names of the curves it stands for.
    pub curves: Vec<String>,
    /// Parameters with standard errors, correlations and hints.
    pub estimate: Estimate,
    /// Tests of the residuals, one per curve.
    pub tests: Vec<ResidualTests>,
    /// What it was fitted on.
    pub range: FittedRange,
    pub(crate) equation: ThinLayerEquation,
}

/// What to be wary of in a fit.
#[derive(Clone, Debug, PartialEq)]
pub enum ThinLayerWarning {
    /// Residuals of a curve keep one sign for longer than chance allows: the equation has another shape than the data, and
    /// its standard errors are too small.
    AnotherShape {
        /// Curve.
        curve: String,
    },
    /// Some parameter is told by nothing but the others (at its bound, or moving with them): the curve is as fitted, its
    /// parameters mean nothing.
    NotUnique {
        /// Curves.
        curves: Vec<String>,
    },
    /// The equation stops falling within five times the longest time measured.
    Rises {
        /// Curves.
        curves: Vec<String>,
        /// s
        from_s: f64,
    },
    /// The equation falls below 0 within five times the longest time measured.
    BelowZero {
        /// Curves.
        curves: Vec<String>,
        /// s
        from_s: f64,
    },
    /// The same curve as another equation in other parameters: their ranks are one.
    SameCurveAs {
        /// The other.
        equation: ThinLayerEquation,
    },
}

/// An equation fitted to all curves.
#[derive(Clone, Debug, PartialEq)]
pub struct ThinLayerFit {
    /// Equation.
    pub equation: ThinLayerEquation,
    /// One per curve, in their order; a single one for a joint equation.
    pub fits: Vec<CurveFit>,
    /// Readings of all curves.
    pub readings: usize,
    /// Parameters of all curves.
    pub parameters: usize,
    /// Over all curves, of the moisture ratio.
    pub sum_of_squares: f64,
    /// Root of the mean square of the residuals, moisture ratio.
    pub root_mean_square: f64,
    /// AICc and BIC over all curves, one variance for all.
    pub criteria: Criteria,
    /// AICc above that of the best equation; none where there is no AICc.
    pub aicc_above_best: Option<f64>,
    /// BIC above that of the best equation by BIC.
    pub bic_above_best: f64,
    /// Warnings.
    pub warnings: Vec<ThinLayerWarning>,
}

/// A moisture ratio computed from a fit.
#[derive(Clone, Debug, PartialEq)]
pub struct ThinLayerPrediction {
    /// Moisture ratio.
    pub moisture_ratio: f64,
    /// From the parameters' covariance; none where the fit has none.
    pub standard_error: Option<f64>,
    /// Where the question leaves what was fitted; empty inside.
    pub outside: Vec<Outside>,
}

/// A time computed from a fit.
#[derive(Clone, Debug, PartialEq)]
pub struct ThinLayerTime {
    /// s
    pub elapsed_s: f64,
    /// s, from the parameters' covariance; none where the fit has none.
    pub standard_error_s: Option<f64>,
    /// Where the question leaves what was fitted; empty inside.
    pub outside: Vec<Outside>,
}

impl CurveFit {
    fn form(&self, values: &[f64], conditions: &Conditions) -> Result<ThinLayer, FitError> {
        let deficit = conditions.vapour_pressure_deficit_kpa();
        if self.equation.is_joint() && deficit.is_none() {
            return Err(ThinLayerFault::NoHumidity { curve: "asked for".to_owned() }.into());
        }
        let wrong = FitError::WrongLength {
            what: "values of an equation",
            found: values.len(),
            expected: self.equation.parameter_count(),
        };
        self.equation.form(values, deficit.unwrap_or(0.0)).ok_or(wrong)
    }

    /// Moisture ratio at an elapsed time of 0 or more, s, under conditions.
    ///
    /// # Errors
    /// [`ThinLayerFault::NoHumidity`] where the equation on the deficit is asked without a humidity.
    pub fn moisture_ratio(
        &self,
        elapsed_s: f64,
        conditions: &Conditions,
    ) -> Result<ThinLayerPrediction, FitError> {
        let t = elapsed_s / 3600.0;
        let ratio = self.form(&self.estimate.values(), conditions)?.moisture_ratio(t);
        let standard_error =
            self.estimate.delta_error(STEP, |p| Some(self.form(p, conditions).ok()?.moisture_ratio(t)));
        let mut outside = self.range.outside(conditions, self.equation.is_joint());
        outside.extend(self.range.outside_curve(elapsed_s, ratio));
        Ok(ThinLayerPrediction { moisture_ratio: ratio, standard_error, outside })
    }

    /// The time at which the moisture ratio has fallen to a level under conditions.
    ///
    /// # Errors
    /// [`ThinLayerFault::NotReached`] where the equation does not come down to it within five times the longest time
    /// measured; as [`CurveFit::moisture_ratio`].
    pub fn elapsed_to(&self, ratio: f64, conditions: &Conditions) -> Result<ThinLayerTime, FitError> {
        let longest_h = SEARCH * self.range.elapsed_s.1 / 3600.0;
        let time = |form: &ThinLayer| form.time_to(ratio, longest_h);
        let elapsed_h = time(&self.form(&self.estimate.values(), conditions)?).map_err(|_| {
            FitError::from(ThinLayerFault::NotReached { ratio, searched_s: 3600.0 * longest_h })
        })?;
        let error_h = self.estimate.delta_error(STEP, |p| time(&self.form(p, conditions).ok()?).ok());
        let elapsed_s = 3600.0 * elapsed_h;
        let mut outside = self.range.outside(conditions, self.equation.is_joint());
        outside.extend(self.range.outside_curve(elapsed_s, ratio));
        Ok(ThinLayerTime { elapsed_s, standard_error_s: error_h.map(|e| 3600.0 * e), outside })
    }

    /// Effective diffusivity, m2/s, on the fresh size, of a fit of the slab series to a curve whose thickness is known; none
    /// for other equations. Faces at equilibrium from the start: surface resistance and shrinkage are folded into it.
    #[must_use]
    pub fn effective_diffusivity_m2_per_s(&self) -> Option<f64> {
        let (low, high) = self.range.size_m?;
        let rate_per_h = *self.estimate.values().first()?;
        let slab = self.equation == ThinLayerEquation::SlabDiffusion && low == high;
        slab.then(|| rate_per_h / 3600.0 * (0.5 * low).powi(2))
    }

    /// Where the fitted equation stops falling, and where it falls below 0, s.
    pub(crate) fn turns(&self, conditions: &Conditions) -> (Option<f64>, Option<f64>) {
        let Ok(form) = self.form(&self.estimate.values(), conditions) else { return (None, None) };
        let longest_h = SEARCH * self.range.elapsed_s.1 / 3600.0;
        let (mut lowest, mut at, mut rises, mut negative) = (f64::INFINITY, 0.0, None, None);
        for i in 0..=1000_u32 {
            let t = longest_h * f64::from(i) / 1000.0;
            let ratio = form.moisture_ratio(t);
            if ratio < lowest {
                (lowest, at) = (ratio, t);
            }
            if ratio > lowest + TURN && rises.is_none() {
                rises = Some(3600.0 * at);
            }
            if ratio < 0.0 && negative.is_none() {
                negative = Some(3600.0 * t);
            }
        }
        (rises, negative)
    }
}
