//! A fitted isotherm and what is read off it.

use fallrate_foods::{Isotherm, IsothermRange, RangeFlags};

use crate::Estimate;
use crate::isotherm::IsothermForm;
use crate::stats::{Criteria, student_quantile};

/// Relative step of the slopes of a reading-off.
const STEP: f64 = 1e-5;

/// What to be wary of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum IsothermWarning {
    /// Some parameter is told by nothing but the others, or sits at its bound: moistures within the range hold, the
    /// parameters mean nothing.
    NotUnique,
    /// A pair lies further from the isotherm than chance allows (1 % over all pairs): misread, another lot, another
    /// temperature. It was not left out.
    Outlier {
        /// Counted from 1.
        pair: usize,
        /// Distance, in standard deviations of a pair left out.
        deviations: f64,
    },
}

/// A fitted form.
#[derive(Clone, Debug, PartialEq)]
pub struct IsothermFit {
    /// Form.
    pub form: IsothermForm,
    /// T0: mean temperature of the pairs, degC.
    pub reference_temperature_c: f64,
    /// Parameters at T0 with standard errors, correlations, hints.
    pub estimate: Estimate,
    /// Standard deviation of each pair that was assumed, kg/kg dry basis; 1 where none was.
    pub deviations: Vec<f64>,
    /// AICc and BIC.
    pub criteria: Criteria,
    /// AICc above that of the best form; none where there is no AICc.
    pub aicc_above_best: Option<f64>,
    /// Temperatures (1 K wider) and water activities of the pairs.
    pub range: IsothermRange,
    /// Warnings.
    pub warnings: Vec<IsothermWarning>,
}

/// A moisture or a water activity read off a fitted isotherm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IsothermPoint {
    /// Moisture (kg/kg dry basis) or water activity, whichever was asked for.
    pub value: f64,
    /// Standard error by the delta method, from the parameters' covariance; none where the fit has none.
    pub standard_error: Option<f64>,
    /// Degrees of freedom of that error, for Student's t.
    pub degrees_of_freedom: usize,
    /// Where the question lies outside the pairs.
    pub outside: RangeFlags,
}

impl IsothermPoint {
    /// Interval with a confidence between 0 and 1, by Student's t; none without a standard error.
    #[must_use]
    pub fn interval(&self, confidence: f64) -> Option<(f64, f64)> {
        #[allow(clippy::cast_precision_loss)]
        let t = student_quantile(0.5 + 0.5 * confidence, self.degrees_of_freedom as f64);
        let half = t * self.standard_error?;
        half.is_finite().then_some((self.value - half, self.value + half))
    }
}

impl IsothermFit {
    /// The published form with its parameters, for a product file; none for Peleg's.
    #[must_use]
    pub fn isotherm(&self) -> Option<Isotherm> {
        self.form.isotherm(&self.estimate.values(), self.reference_temperature_c)
    }

    /// Moisture (kg/kg dry basis) in equilibrium with a water activity (above 0 and below 1) at a temperature, degC, with
    /// its standard error. None where the form has no moisture there.
    #[must_use]
    pub fn moisture_at(&self, water_activity: f64, temperature_c: f64) -> Option<IsothermPoint> {
        let t0 = self.reference_temperature_c;
        self.read_off(water_activity, temperature_c, |p| {
            self.form.moisture(p, t0, water_activity, temperature_c)
        })
    }

    /// Water activity of a moisture (kg/kg dry basis, above 0) at a temperature, degC, with its standard error. None where
    /// the form has none below 1.
    #[must_use]
    pub fn water_activity_at(&self, moisture_dry_basis: f64, temperature_c: f64) -> Option<IsothermPoint> {
        let t0 = self.reference_temperature_c;
        let values = self.estimate.values();
        let aw = self.form.water_activity(&values, t0, moisture_dry_basis, temperature_c)?;
        self.read_off(aw, temperature_c, |p| {
            self.form.water_activity(p, t0, moisture_dry_basis, temperature_c)
        })
    }

    fn read_off(
        &self,
        water_activity: f64,
        temperature_c: f64,
        f: impl Fn(&[f64]) -> Option<f64>,
    ) -> Option<IsothermPoint> {
        let value = f(&self.estimate.values())?;
        Some(IsothermPoint {
            value,
            standard_error: self.estimate.delta_error(STEP, f),
            degrees_of_freedom: self.estimate.degrees_of_freedom,
            outside: self.range.flags(water_activity, temperature_c),
        })
    }
}
