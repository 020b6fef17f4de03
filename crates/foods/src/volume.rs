//! Specific volume, sideways shrinkage and conductivity of a drying piece, as functions of moisture.

use crate::composition::{Component, Composition};

/// Conductivity of still air in the pores at 50 degC (from memory), W/(m K).
const AIR_CONDUCTIVITY_W_PER_M_K: f64 = 0.028;

/// Volume of a piece per kg of dry solids: `v(X) = 1/rho_s + (X_0 - b (X_0 - X))/rho_w`.
///
/// Where the fresh tissue holds air (apple, mushroom, leaves), rho_s is the density of the solids together with that air,
/// so that the fresh density comes out right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VolumeLaw {
    /// Density of the dry solids with the air the fresh tissue holds, kg/m3.
    pub solids_density_kg_per_m3: f64,
    /// Density of water, kg/m3.
    pub water_density_kg_per_m3: f64,
    /// b: share of the lost water's volume by which the piece shrinks, 0 to 1.
    pub shrinkage_share: f64,
    /// X_0: moisture when fresh, kg/kg dry basis.
    pub x0_kg_per_kg: f64,
    /// s: exponent of the sideways shrinkage, 0 (thickness only) to 2/3 (the same in all directions).
    pub lateral_exponent: f64,
}

impl VolumeLaw {
    /// Volume (m3 per kg dry solids) and its derivative by moisture.
    ///
    /// ```
    /// use fallrate_foods::VolumeLaw;
    /// // Beef round from 2.629 to 0.50 kg/kg without pores: 0.3765 of its volume (solids 1263 kg/m3).
    /// let law = VolumeLaw { solids_density_kg_per_m3: 1263.0, water_density_kg_per_m3: 991.3,
    ///     shrinkage_share: 1.0, x0_kg_per_kg: 2.629, lateral_exponent: 0.0 };
    /// assert!((law.specific_volume(0.50).0 / law.specific_volume(2.629).0 - 0.3765).abs() < 2e-4);
    /// ```
    #[must_use]
    pub fn specific_volume(&self, moisture_dry_basis: f64) -> (f64, f64) {
        let b = self.shrinkage_share;
        let v = 1.0 / self.solids_density_kg_per_m3
            + (self.x0_kg_per_kg - b * (self.x0_kg_per_kg - moisture_dry_basis))
                / self.water_density_kg_per_m3;
        (v, b / self.water_density_kg_per_m3)
    }
    /// Face area over fresh face area, `(v/v_0)^s`, at the piece's mean moisture, and its derivative by it.
    #[must_use]
    pub fn area_ratio(&self, mean_moisture_dry_basis: f64) -> (f64, f64) {
        if self.lateral_exponent == 0.0 {
            return (1.0, 0.0);
        }
        let (v, v_x) = self.specific_volume(mean_moisture_dry_basis);
        let (v0, _) = self.specific_volume(self.x0_kg_per_kg);
        let ratio = (v / v0).powf(self.lateral_exponent);
        (ratio, self.lateral_exponent * ratio * v_x / v)
    }
    /// Share of the volume that is air taken in while drying: `(1 - b)(X_0 - X)/(rho_w v)`, 0 in the fresh piece.
    #[must_use]
    pub fn porosity(&self, moisture_dry_basis: f64) -> f64 {
        let lost = (self.x0_kg_per_kg - moisture_dry_basis).max(0.0);
        (1.0 - self.shrinkage_share) * lost
            / (self.water_density_kg_per_m3 * self.specific_volume(moisture_dry_basis).0)
    }
    /// Fresh density, kg/m3: `(1 + X_0)/v(X_0)`.
    #[must_use]
    pub fn fresh_density_kg_per_m3(&self) -> f64 {
        (1.0 + self.x0_kg_per_kg) / self.specific_volume(self.x0_kg_per_kg).0
    }
}

/// Conductivity of a piece from the volumes of solids, water and air side by side, fast enough for a solver:
/// `k = (k_s(t)/rho_s + k_w(t) X/rho_w + k_air v_air)/v(X)`.
///
/// Source: Choi-Okos components, parallel; the series value is some 20 to 30 % lower, and real food lies between.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConductivityLaw {
    volume: VolumeLaw,
    true_solids_m3_per_kg: f64,
    solids_w_per_m_k: f64,
    solids_slope_w_per_m_k2: f64,
    water_w_per_m_k: f64,
    water_slope_w_per_m_k2: f64,
}

impl ConductivityLaw {
    /// Linearises the components' conductivities between 20 and 80 degC (within 1 % of the polynomials there).
    #[must_use]
    pub fn new(composition: &Composition, volume: VolumeLaw) -> Self {
        let (s20, s80) = (
            composition.solids_conductivity_w_per_m_k(20.0),
            composition.solids_conductivity_w_per_m_k(80.0),
        );
        let water = Component::Water;
        let (w20, w80) = (water.conductivity_w_per_m_k(20.0), water.conductivity_w_per_m_k(80.0));
        let line = |a: f64, b: f64| (a - 20.0 * (b - a) / 60.0, (b - a) / 60.0);
        let (solids, solids_slope) = line(s20, s80);
        let (wet, wet_slope) = line(w20, w80);
        Self {
            volume,
            true_solids_m3_per_kg: 1.0 / composition.solids_density_kg_per_m3(50.0),
            solids_w_per_m_k: solids,
            solids_slope_w_per_m_k2: solids_slope,
            water_w_per_m_k: wet,
            water_slope_w_per_m_k2: wet_slope,
        }
    }
    /// Conductivity in W/(m K) with derivatives by moisture and temperature.
    #[must_use]
    pub fn at(&self, moisture_dry_basis: f64, temperature_c: f64) -> (f64, f64, f64) {
        let (v, v_x) = self.volume.specific_volume(moisture_dry_basis);
        let (v_s, rho_w) = (self.true_solids_m3_per_kg, self.volume.water_density_kg_per_m3);
        let k_s = self.solids_w_per_m_k + self.solids_slope_w_per_m_k2 * temperature_c;
        let k_w = self.water_w_per_m_k + self.water_slope_w_per_m_k2 * temperature_c;
        let x = moisture_dry_basis;
        let air = (v - v_s - x / rho_w).max(0.0);
        let air_x = if air > 0.0 { v_x - 1.0 / rho_w } else { 0.0 };
        let sum = k_s * v_s + k_w * x / rho_w + AIR_CONDUCTIVITY_W_PER_M_K * air;
        let k = sum / v;
        let k_x = (k_w / rho_w + AIR_CONDUCTIVITY_W_PER_M_K * air_x - k * v_x) / v;
        let k_t = (self.solids_slope_w_per_m_k2 * v_s + self.water_slope_w_per_m_k2 * x / rho_w) / v;
        (k, k_x, k_t)
    }
}
