//! The Guggenheim-Anderson-de Boer isotherm, both ways in closed form.

use super::{Activity, GAS_CONSTANT_KJ_PER_MOL_K, MoisturePoint};
use crate::error::FoodsError;
use fallrate_units::ZERO_CELSIUS_K;

/// GAB parameters at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gab {
    /// Monolayer moisture Xm, kg/kg dry basis.
    pub monolayer_kg_per_kg: f64,
    /// Energy constant C of the first layer.
    pub c: f64,
    /// Energy constant K of the layers above.
    pub k: f64,
}

impl Gab {
    /// Moisture (kg/kg dry basis) at a water activity.
    ///
    /// # Errors
    /// [`FoodsError::OutOfRange`] where `K a >= 1`: the form has a pole there.
    pub fn moisture(&self, aw: f64) -> Result<MoisturePoint, FoodsError> {
        let Gab { monolayer_kg_per_kg: xm, c, k } = *self;
        let (d1, d2) = (1.0 - k * aw, 1.0 + (c - 1.0) * k * aw);
        if d1 <= 0.0 || d2 <= 0.0 {
            return Err(FoodsError::OutOfRange {
                what: "water activity",
                value: aw,
                unit: "aw",
                allowed: "below 1/K of this GAB isotherm",
            });
        }
        let slope = xm * c * k / (d1 * d2);
        Ok(MoisturePoint {
            moisture_dry_basis_kg_per_kg: slope * aw,
            d_daw: slope * (1.0 + k * aw / d1 - (c - 1.0) * k * aw / d2),
            d_dt_k: 0.0,
        })
    }

    /// Water activity at a dry-basis moisture: the positive root of
    /// `(C-1) r u^2 + (C - (C-2) r) u - r = 0`, `r = X/Xm`, `u = K a`, which exists for every X and tends to `1/K`.
    /// Moistures slightly below 0 (a solver's trial state) continue smoothly to negative values.
    #[must_use]
    pub fn activity(&self, moisture_dry_basis: f64) -> Activity {
        let r = moisture_dry_basis / self.monolayer_kg_per_kg;
        let c = self.c;
        let b = c - (c - 2.0) * r;
        let root = (b * b + 4.0 * (c - 1.0) * r * r).sqrt();
        let u = if b >= 0.0 { 2.0 * r / (b + root) } else { (root - b) / (2.0 * (c - 1.0) * r) };
        let du_dr = (1.0 - u) * (1.0 + (c - 1.0) * u) / root;
        Activity { aw: u / self.k, d_dx: du_dr / (self.k * self.monolayer_kg_per_kg), d_dt_k: 0.0 }
    }
}

/// Parameters at a temperature and their relative derivatives by temperature, 1/K.
fn at_temperature(p: &[f64; 6], temperature_c: f64) -> (Gab, [f64; 3]) {
    let t_k = temperature_c + ZERO_CELSIUS_K;
    let rt = GAS_CONSTANT_KJ_PER_MOL_K * t_k;
    let value = |p0: f64, e: f64| p0 * (e / rt).exp();
    let rate = |e: f64| -e / (rt * t_k);
    let gab = Gab { monolayer_kg_per_kg: value(p[0], p[1]), c: value(p[2], p[3]), k: value(p[4], p[5]) };
    (gab, [rate(p[1]), rate(p[3]), rate(p[5])])
}

/// Derivative of X by temperature at constant activity, from the logarithmic form.
fn moisture_by_temperature(gab: &Gab, aw: f64, x: f64, rate: [f64; 3]) -> f64 {
    let ka = gab.k * aw;
    let (d1, d2) = (1.0 - ka, 1.0 + (gab.c - 1.0) * ka);
    let by_c = 1.0 - gab.c * ka / d2;
    let by_k = 1.0 + ka / d1 - (gab.c - 1.0) * ka / d2;
    x * (rate[0] + rate[1] * by_c + rate[2] * by_k)
}

pub(super) fn moisture_t(p: &[f64; 6], aw: f64, temperature_c: f64) -> Result<MoisturePoint, FoodsError> {
    let (gab, rate) = at_temperature(p, temperature_c);
    let point = gab.moisture(aw)?;
    let d_dt_k = moisture_by_temperature(&gab, aw, point.moisture_dry_basis_kg_per_kg, rate);
    Ok(MoisturePoint { d_dt_k, ..point })
}

pub(super) fn activity_t(p: &[f64; 6], x: f64, temperature_c: f64) -> Result<Activity, FoodsError> {
    let (gab, rate) = at_temperature(p, temperature_c);
    let a = gab.activity(x);
    Ok(Activity { d_dt_k: -a.d_dx * moisture_by_temperature(&gab, a.aw, x, rate), ..a })
}
