//! A drying curve: mean moisture against elapsed time.

use crate::FitError;

/// One point of a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// s from the start.
    pub elapsed_s: f64,
    /// Mean moisture, kg/kg dry basis.
    pub moisture_dry_basis: f64,
}

/// A curve with rising times.
#[derive(Clone, Debug, PartialEq)]
pub struct DryingCurve {
    name: String,
    readings: Vec<Reading>,
}

impl DryingCurve {
    /// A curve of at least two readings.
    ///
    /// # Errors
    /// [`FitError::TooFewReadings`] or [`FitError::TimesDoNotRise`].
    pub fn new(name: &str, readings: Vec<Reading>) -> Result<Self, FitError> {
        if readings.len() < 2 {
            return Err(FitError::TooFewReadings { readings: readings.len(), parameters: 1 });
        }
        if let Some(w) = readings.windows(2).find(|w| !(w[1].elapsed_s > w[0].elapsed_s)) {
            return Err(FitError::TimesDoNotRise { curve: name.to_owned(), elapsed_s: w[1].elapsed_s });
        }
        Ok(Self { name: name.to_owned(), readings })
    }
    /// Name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }
    /// Readings.
    #[must_use]
    pub fn readings(&self) -> &[Reading] {
        &self.readings
    }
    /// Time of the last reading, s.
    #[must_use]
    pub fn duration_s(&self) -> f64 {
        self.readings.last().map_or(0.0, |r| r.elapsed_s)
    }

    /// Moisture (kg/kg dry basis) at an elapsed time, by the cubic through the four nearest readings; the end value
    /// outside the curve.
    #[must_use]
    pub fn moisture_at(&self, elapsed_s: f64) -> f64 {
        let r = &self.readings;
        let after = r.partition_point(|p| p.elapsed_s <= elapsed_s);
        if after == 0 {
            return r[0].moisture_dry_basis;
        }
        if after == r.len() {
            return r[after - 1].moisture_dry_basis;
        }
        let width = r.len().min(4);
        let from = after.saturating_sub(2).min(r.len() - width);
        let near = &r[from..from + width];
        let weight = |i: usize| {
            let others = near.iter().enumerate().filter(|(j, _)| *j != i);
            others
                .map(|(_, p)| (elapsed_s - p.elapsed_s) / (near[i].elapsed_s - p.elapsed_s))
                .product::<f64>()
        };
        (0..width).map(|i| weight(i) * near[i].moisture_dry_basis).sum()
    }

    /// The first elapsed time (s) at which the moisture has fallen to a level, linear between two readings.
    ///
    /// # Errors
    /// [`FitError::NotReached`] where the curve starts below the level or ends above it.
    pub fn elapsed_at(&self, level: f64) -> Result<f64, FitError> {
        let x = |r: &Reading| r.moisture_dry_basis;
        let crossing = self.readings.windows(2).find(|w| x(&w[0]) >= level && x(&w[1]) < level);
        let Some([a, b]) = crossing else {
            let fold = |start: f64, f: fn(f64, f64) -> f64| self.readings.iter().map(x).fold(start, f);
            return Err(FitError::NotReached {
                curve: self.name.clone(),
                level,
                lowest: fold(f64::INFINITY, f64::min),
                highest: fold(f64::NEG_INFINITY, f64::max),
            });
        };
        let share = (x(a) - level) / (x(a) - x(b));
        Ok(a.elapsed_s + share * (b.elapsed_s - a.elapsed_s))
    }
}
