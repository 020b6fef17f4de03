//! What the solver asks of a sorption isotherm.

pub use fallrate_foods::Activity;

/// The equilibrium of a food with humid air: water activity from moisture (dry basis) and temperature, and the net
/// isosteric heat that belongs to it. The two must be consistent (Clausius-Clapeyron), or energy does not close.
pub trait Sorption: Send + Sync + std::fmt::Debug {
    /// Water activity at a moisture (kg/kg dry basis, 0 or more) and a temperature in K.
    fn activity(&self, x_kg_per_kg: f64, t_k: f64) -> Activity;
    /// Net isosteric heat of sorption in J per kg water, and its derivative by moisture.
    fn net_heat_j_per_kg(&self, x_kg_per_kg: f64) -> (f64, f64);
    /// Integral of the net isosteric heat from 0 to a moisture, J per kg solids.
    fn net_heat_integral_j_per_kg(&self, x_kg_per_kg: f64) -> f64 {
        // Gauss-Legendre over panels that halve towards zero, where the heat changes fastest.
        let mut sum = 0.0;
        let (mut high, nodes) = (
            x_kg_per_kg.max(0.0),
            [(-0.774_596_669_241_483_4, 5.0 / 9.0), (0.0, 8.0 / 9.0), (0.774_596_669_241_483_4, 5.0 / 9.0)],
        );
        for panel in 0..24 {
            let low = if panel == 23 { 0.0 } else { high * 0.7 };
            let (mid, half) = (0.5 * (high + low), 0.5 * (high - low));
            sum +=
                nodes.iter().map(|(z, w)| w * half * self.net_heat_j_per_kg(mid + half * z).0).sum::<f64>();
            high = low;
        }
        sum
    }
}

impl Sorption for fallrate_foods::Sorption {
    fn activity(&self, x: f64, t_k: f64) -> Activity {
        fallrate_foods::Sorption::activity(self, x, t_k)
    }
    fn net_heat_j_per_kg(&self, x: f64) -> (f64, f64) {
        fallrate_foods::Sorption::net_heat_j_per_kg(self, x)
    }
    fn net_heat_integral_j_per_kg(&self, x: f64) -> f64 {
        self.net_heat_integral_j_per_kg_solids(x)
    }
}

/// GAB isotherm without temperature dependence, with a net heat that falls exponentially with moisture.
///
/// X = Xm C K a / ((1 - K a)(1 - K a + C K a)), inverted for a by the root of its quadratic and cut off at 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GabSorption {
    /// Monolayer moisture Xm, kg/kg dry basis.
    pub monolayer_kg_per_kg: f64,
    /// C.
    pub c: f64,
    /// K.
    pub k: f64,
    /// Net heat at zero moisture, J/kg water; falls as exp(-X/Xm).
    pub net_heat_at_zero_j_per_kg: f64,
}

impl Sorption for GabSorption {
    fn activity(&self, x: f64, _t_k: f64) -> Activity {
        // X (1 - u)(1 + (C-1) u) = Xm C u with u = K a:  (1-C) X u^2 + (X (C-2) - Xm C) u + X = 0.
        let x = x.max(0.0);
        let (xm, c) = (self.monolayer_kg_per_kg, self.c);
        let (qa, qb) = ((1.0 - c) * x, x * (c - 2.0) - xm * c);
        let root = (qb * qb - 4.0 * qa * x).max(0.0).sqrt();
        let u = 2.0 * x / (root - qb);
        let aw = u / self.k;
        if aw >= 1.0 {
            return Activity { aw: 1.0, d_dx: 0.0, d_dt_k: 0.0 };
        }
        let du_dx = -((1.0 - c) * u * u + (c - 2.0) * u + 1.0) / (2.0 * qa * u + qb);
        Activity { aw, d_dx: du_dx / self.k, d_dt_k: 0.0 }
    }

    fn net_heat_j_per_kg(&self, x: f64) -> (f64, f64) {
        let value = self.net_heat_at_zero_j_per_kg * (-x.max(0.0) / self.monolayer_kg_per_kg).exp();
        (value, -value / self.monolayer_kg_per_kg)
    }
}

/// A straight-line isotherm a_w = X / X_sat, for comparisons with analytic solutions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinearSorption {
    /// Moisture at a_w = 1, kg/kg dry basis.
    pub saturation_kg_per_kg: f64,
}

impl Sorption for LinearSorption {
    fn activity(&self, x: f64, _t_k: f64) -> Activity {
        Activity { aw: x / self.saturation_kg_per_kg, d_dx: 1.0 / self.saturation_kg_per_kg, d_dt_k: 0.0 }
    }
    fn net_heat_j_per_kg(&self, _x: f64) -> (f64, f64) {
        (0.0, 0.0)
    }
}
