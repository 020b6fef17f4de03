//! Net isosteric heat of sorption as a function of moisture.

use crate::error::FoodsError;
use crate::isotherm::Isotherm;

/// Moistures of the table taken from an isotherm, kg/kg dry basis.
const TABLE_NODES: usize = 65;

/// Net isosteric heat s(X): the heat beyond evaporation that a kg of water takes to leave the food, J/kg.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum NetHeat {
    /// None: the isotherm does not move with temperature.
    #[default]
    None,
    /// `s = s0 exp(-X/X_s)`.
    Exponential {
        /// s0, J/kg.
        at_zero_j_per_kg: f64,
        /// X_s, kg/kg dry basis.
        decay_kg_per_kg: f64,
    },
    /// Taken from an isotherm with temperature dependence by Clausius-Clapeyron.
    Table(HeatTable),
}

/// s(X) on even steps of moisture, cubic Hermite between them with limited slopes, constant below the first node and
/// falling exponentially above the last.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatTable {
    first_x: f64,
    step: f64,
    value: Vec<f64>,
    slope: Vec<f64>,
    integral: Vec<f64>,
}

impl HeatTable {
    /// Tabulates the net isosteric heat of an isotherm between two moistures at a temperature; negative values are
    /// taken as 0.
    ///
    /// # Errors
    /// As [`Isotherm::activity`].
    pub fn from_isotherm(
        isotherm: &Isotherm,
        (low, high): (f64, f64),
        temperature_c: f64,
    ) -> Result<Self, FoodsError> {
        crate::error::between(
            "lowest moisture",
            low,
            "kg/kg db",
            (0.0, high),
            "above 0 and below the highest",
        )?;
        #[allow(clippy::cast_precision_loss)]
        let step = (high - low) / (TABLE_NODES - 1) as f64;
        let mut value = Vec::with_capacity(TABLE_NODES);
        let mut x = low;
        for _ in 0..TABLE_NODES {
            value.push(isotherm.net_isosteric_heat_j_per_kg(x, temperature_c)?.max(0.0));
            x += step;
        }
        let slope = limited_slopes(&value, step);
        let mut integral = vec![value.first().copied().unwrap_or(0.0) * low];
        for (v, s) in value.windows(2).zip(slope.windows(2)) {
            let last = integral.last().copied().unwrap_or(0.0);
            integral.push(last + step * (v[0] + v[1]) / 2.0 + step * step * (s[0] - s[1]) / 12.0);
        }
        Ok(Self { first_x: low, step, value, slope, integral })
    }

    /// Value, slope and integral from 0 at a moisture.
    fn at(&self, x: f64) -> (f64, f64, f64) {
        let last = self.value.len() - 1;
        let first_value = self.value[0];
        if x <= self.first_x {
            return (first_value, 0.0, first_value * x);
        }
        let position = (x - self.first_x) / self.step;
        #[allow(clippy::cast_precision_loss)]
        if position >= last as f64 {
            return self.beyond(x - self.first_x - self.step * last as f64);
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let i = position as usize;
        #[allow(clippy::cast_precision_loss)]
        let t = position - i as f64;
        let (v0, v1) = (self.value[i], self.value[i + 1]);
        let (m0, m1) = (self.slope[i] * self.step, self.slope[i + 1] * self.step);
        let (a, b) = (2.0 * (v0 - v1) + m0 + m1, 3.0 * (v1 - v0) - 2.0 * m0 - m1);
        (
            v0 + t * (m0 + t * (b + t * a)),
            (m0 + t * (2.0 * b + t * 3.0 * a)) / self.step,
            self.integral[i] + self.step * t * (v0 + t * (m0 / 2.0 + t * (b / 3.0 + t * a / 4.0))),
        )
    }

    /// Above the last node: exponential with the last slope (or the width of the table where that is flat).
    fn beyond(&self, d: f64) -> (f64, f64, f64) {
        let last = self.value.len() - 1;
        let (v, s) = (self.value[last], self.slope[last]);
        let rate = if v > 0.0 && s < 0.0 { -s / v } else { 1.0 / (self.step * 8.0) };
        let e = (-rate * d).exp();
        (v * e, -rate * v * e, self.integral[last] + v * (1.0 - e) / rate)
    }
}

/// Slopes at the nodes, harmonic means of the neighbours (Fritsch & Butland), so that the curve has no new extremes.
fn limited_slopes(value: &[f64], step: f64) -> Vec<f64> {
    let secant: Vec<f64> = value.windows(2).map(|w| (w[1] - w[0]) / step).collect();
    let mut slope = vec![secant.first().copied().unwrap_or(0.0)];
    for s in secant.windows(2) {
        slope.push(if s[0] * s[1] > 0.0 { 2.0 * s[0] * s[1] / (s[0] + s[1]) } else { 0.0 });
    }
    slope.push(secant.last().copied().unwrap_or(0.0));
    slope
}

impl NetHeat {
    /// Heat (J/kg water) and its derivative by dry-basis moisture.
    #[must_use]
    pub fn heat_j_per_kg(&self, moisture_dry_basis: f64) -> (f64, f64) {
        match self {
            Self::None => (0.0, 0.0),
            Self::Exponential { at_zero_j_per_kg, decay_kg_per_kg } => {
                let s = at_zero_j_per_kg * (-moisture_dry_basis / decay_kg_per_kg).exp();
                (s, -s / decay_kg_per_kg)
            }
            Self::Table(table) => {
                let (v, d, _) = table.at(moisture_dry_basis);
                (v, d)
            }
        }
    }
    /// Integral of the heat over moisture from 0, J/kg dry solids.
    #[must_use]
    pub fn integral_j_per_kg_solids(&self, moisture_dry_basis: f64) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Exponential { at_zero_j_per_kg, decay_kg_per_kg } => {
                -at_zero_j_per_kg * decay_kg_per_kg * (-moisture_dry_basis / decay_kg_per_kg).exp_m1()
            }
            Self::Table(table) => table.at(moisture_dry_basis).2,
        }
    }
}
