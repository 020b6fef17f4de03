//! Measured curves of the moisture ratio with the conditions they were measured under.

use fallrate_air::saturation_pressure_pa;

use crate::thin_layer::ThinLayerFault;
use crate::{DryingCurve, FitError};

/// Moisture ratios outside this are not ratios: moistures, per cents or weights (a little room for noise about 0 and 1).
const RATIO_RANGE: (f64, f64) = (-0.2, 1.5);
/// A curve that falls by less than this tells nothing of how it dries.
const LEAST_FALL: f64 = 0.05;

/// Air and piece of a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// Air, degC, 0 to 150.
    pub temperature_c: f64,
    /// Air, fraction between 0 and 1, where known.
    pub relative_humidity: Option<f64>,
    /// Air, m/s, where known.
    pub air_speed_m_per_s: Option<f64>,
    /// Thickness of a slab, diameter of a round piece, fresh, m, where known.
    pub size_m: Option<f64>,
}

impl Conditions {
    /// Vapour pressure at saturation less that of the air, kPa; none without a humidity.
    #[must_use]
    pub fn vapour_pressure_deficit_kpa(&self) -> Option<f64> {
        Some(saturation_pressure_pa(self.temperature_c) * (1.0 - self.relative_humidity?) / 1000.0)
    }

    fn check(&self) -> Result<(), FitError> {
        let ranges = [
            ("air temperature", Some(self.temperature_c), "degC", 0.0, 150.0),
            ("relative humidity", self.relative_humidity, "fraction", 0.0, 1.0),
            ("air speed", self.air_speed_m_per_s, "m/s", 0.0, 50.0),
            ("size of the pieces", self.size_m, "m", 1e-5, 0.3),
        ];
        for (what, value, unit, low, high) in ranges {
            if let Some(value) = value.filter(|v| !(*v >= low && *v <= high)) {
                return Err(FitError::OutOfRange {
                    what: what.to_owned(),
                    value,
                    unit: unit.to_owned(),
                    low,
                    high,
                });
            }
        }
        Ok(())
    }
}

/// One reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatioPoint {
    /// s from the start, 0 or more.
    pub elapsed_s: f64,
    /// `(X - Xe)/(X0 - Xe)`.
    pub moisture_ratio: f64,
}

/// A measured curve.
#[derive(Clone, Debug, PartialEq)]
pub struct RatioCurve {
    name: String,
    conditions: Conditions,
    points: Vec<RatioPoint>,
}

impl RatioCurve {
    /// A curve of at least three readings with rising times, that falls.
    ///
    /// # Errors
    /// [`FitError::TooFewReadings`], [`FitError::TimesDoNotRise`], [`FitError::OutOfRange`] for impossible conditions, and
    /// [`ThinLayerFault`] for what is no moisture ratio or does not fall.
    pub fn new(name: &str, conditions: Conditions, points: Vec<RatioPoint>) -> Result<Self, FitError> {
        conditions.check()?;
        let (Some(first), Some(last)) = (points.first(), points.last()) else {
            return Err(FitError::TooFewReadings { readings: 0, parameters: 2 });
        };
        if points.len() < 3 {
            return Err(FitError::TooFewReadings { readings: points.len(), parameters: 2 });
        }
        let late = points.windows(2).find(|w| !(w[1].elapsed_s > w[0].elapsed_s)).map(|w| w[1].elapsed_s);
        if let Some(elapsed_s) = late.or_else(|| (!(first.elapsed_s >= 0.0)).then_some(first.elapsed_s)) {
            return Err(FitError::TimesDoNotRise { curve: name.to_owned(), elapsed_s });
        }
        let (low, high) = RATIO_RANGE;
        if let Some(p) = points.iter().find(|p| !(p.moisture_ratio >= low && p.moisture_ratio <= high)) {
            return Err(ThinLayerFault::NotARatio {
                curve: name.to_owned(),
                elapsed_s: p.elapsed_s,
                moisture_ratio: p.moisture_ratio,
                low,
                high,
            }
            .into());
        }
        if !(first.moisture_ratio - last.moisture_ratio >= LEAST_FALL) {
            return Err(ThinLayerFault::DoesNotFall {
                curve: name.to_owned(),
                first: first.moisture_ratio,
                last: last.moisture_ratio,
                least: LEAST_FALL,
            }
            .into());
        }
        Ok(Self { name: name.to_owned(), conditions, points })
    }

    /// The ratios of a drying curve, from its initial and its equilibrium moisture, kg/kg dry basis.
    ///
    /// # Errors
    /// As [`RatioCurve::new`], and [`ThinLayerFault::NoSpan`] where the equilibrium is not below the initial moisture.
    pub fn from_moisture(
        curve: &DryingCurve,
        conditions: Conditions,
        initial_dry_basis: f64,
        equilibrium_dry_basis: f64,
    ) -> Result<Self, FitError> {
        let span = initial_dry_basis - equilibrium_dry_basis;
        if !(span > 0.0 && equilibrium_dry_basis >= 0.0) {
            return Err(ThinLayerFault::NoSpan {
                curve: curve.name().to_owned(),
                initial_dry_basis,
                equilibrium_dry_basis,
            }
            .into());
        }
        let point = |r: &crate::Reading| RatioPoint {
            elapsed_s: r.elapsed_s,
            moisture_ratio: (r.moisture_dry_basis - equilibrium_dry_basis) / span,
        };
        Self::new(curve.name(), conditions, curve.readings().iter().map(point).collect())
    }

    /// Name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }
    /// Conditions.
    #[must_use]
    pub const fn conditions(&self) -> &Conditions {
        &self.conditions
    }
    /// Readings.
    #[must_use]
    pub fn points(&self) -> &[RatioPoint] {
        &self.points
    }
    /// Time of the last reading, h.
    pub(crate) fn longest_h(&self) -> f64 {
        self.points.last().map_or(0.0, |p| p.elapsed_s / 3600.0)
    }
}
