//! Heat and mass transfer between air and trays, plates, cylinders and spheres.
//!
//! All correlations are from memory of the standard textbooks (Incropera; Geankoplis; Treybal; Perry) and say their
//! range; they carry +-20 to 30 % on a real tray, which is why a commissioned cabinet measures its own.

use crate::error::{FoodsError, between};
use fallrate_units::DRY_AIR_GAS_CONSTANT_J_PER_KG_K;

/// Transport properties of dry air at low speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirTransport {
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity_pa_s: f64,
    /// Conductivity, W/(m K).
    pub conductivity_w_per_m_k: f64,
    /// Specific heat, J/(kg K).
    pub specific_heat_j_per_kg_k: f64,
    /// Diffusivity of water vapour, m2/s.
    pub vapour_diffusivity_m2_per_s: f64,
}

impl AirTransport {
    /// Dry air at a temperature (K) and pressure (Pa).
    ///
    /// Ideal-gas density; Sutherland's viscosity (1.716e-5 Pa s at 273.15 K, S = 110.4 K) and conductivity
    /// (0.0241 W/(m K), S = 194 K), from memory; specific heat 1007 J/(kg K); vapour diffusivity
    /// `1.87e-10 T^2.072/(p/101325)` m2/s, Marrero & Mason form, from memory, 280 to 450 K.
    ///
    /// # Errors
    /// [`FoodsError::OutOfRange`] outside 250 to 450 K or 50 to 110 kPa.
    pub fn dry_air(temperature_k: f64, pressure_pa: f64) -> Result<Self, FoodsError> {
        let t = between("air temperature", temperature_k, "K", (250.0, 450.0), "250 to 450 K")?;
        between("pressure", pressure_pa, "Pa", (5.0e4, 1.1e5), "50,000 to 110,000 Pa")?;
        let sutherland = |s: f64| (t / 273.15).powf(1.5) * (273.15 + s) / (t + s);
        Ok(Self {
            density_kg_per_m3: pressure_pa / (DRY_AIR_GAS_CONSTANT_J_PER_KG_K * t),
            viscosity_pa_s: 1.716e-5 * sutherland(110.4),
            conductivity_w_per_m_k: 0.0241 * sutherland(194.0),
            specific_heat_j_per_kg_k: 1007.0,
            vapour_diffusivity_m2_per_s: 1.87e-10 * t.powf(2.072) / (pressure_pa / 101_325.0),
        })
    }
    /// Reynolds number `rho u L/mu`.
    #[must_use]
    pub fn reynolds(&self, speed_m_per_s: f64, length_m: f64) -> f64 {
        self.density_kg_per_m3 * speed_m_per_s * length_m / self.viscosity_pa_s
    }
    /// Prandtl number `c_p mu/k`.
    #[must_use]
    pub fn prandtl(&self) -> f64 {
        self.specific_heat_j_per_kg_k * self.viscosity_pa_s / self.conductivity_w_per_m_k
    }
    /// Schmidt number `mu/(rho D)`.
    #[must_use]
    pub fn schmidt(&self) -> f64 {
        self.viscosity_pa_s / (self.density_kg_per_m3 * self.vapour_diffusivity_m2_per_s)
    }
    /// Lewis number alpha/D = Sc/Pr.
    #[must_use]
    pub fn lewis(&self) -> f64 {
        self.schmidt() / self.prandtl()
    }
}

/// Nusselt number of a flat plate in laminar flow, mean over its length: `0.664 Re^0.5 Pr^(1/3)`, Re < 5e5, Pr >= 0.6.
/// The Sherwood number is the same with Sc for Pr.
#[must_use]
pub fn plate_laminar_mean(reynolds: f64, prandtl: f64) -> f64 {
    0.664 * reynolds.sqrt() * prandtl.cbrt()
}

/// Local Nusselt number of a laminar plate at the distance in the Reynolds number: `0.332 Re_x^0.5 Pr^(1/3)`.
#[must_use]
pub fn plate_laminar_local(reynolds_x: f64, prandtl: f64) -> f64 {
    0.332 * reynolds_x.sqrt() * prandtl.cbrt()
}

/// Mean Nusselt number of a plate whose flow is turbulent from the edge: `0.037 Re^0.8 Pr^(1/3)`, 5e5 < Re < 1e8; also
/// used below where a lip or the pieces trip the flow.
#[must_use]
pub fn plate_turbulent_mean(reynolds: f64, prandtl: f64) -> f64 {
    0.037 * reynolds.powf(0.8) * prandtl.cbrt()
}

/// Mean Nusselt number of a plate with laminar and turbulent parts: `(0.037 Re^0.8 - 871) Pr^(1/3)`, 5e5 < Re < 1e8.
#[must_use]
pub fn plate_mixed_mean(reynolds: f64, prandtl: f64) -> f64 {
    (0.037 * reynolds.powf(0.8) - 871.0) * prandtl.cbrt()
}

/// Heat transfer coefficient (W/(m2 K)) of wet trays with air along them: `0.0204 G^0.8`, G in kg/(m2 h).
///
/// # Errors
/// [`FoodsError::OutOfRange`] outside 2450 to 29,300 kg/(m2 h) (0.61 to 7.6 m/s).
pub fn tray_parallel_w_per_m2_k(mass_velocity_kg_per_m2_h: f64) -> Result<f64, FoodsError> {
    let g = mass_velocity_kg_per_m2_h;
    between("mass velocity", g, "kg/(m2 h)", (2449.9, 29_300.1), "2450 to 29,300 kg/(m2 h)")?;
    Ok(0.0204 * g.powf(0.8))
}

/// Heat transfer coefficient (W/(m2 K)) of wet trays with air at right angles to them: `1.17 G^0.37`, G in kg/(m2 h).
///
/// # Errors
/// [`FoodsError::OutOfRange`] outside 3900 to 19,500 kg/(m2 h) (0.9 to 4.6 m/s).
pub fn tray_perpendicular_w_per_m2_k(mass_velocity_kg_per_m2_h: f64) -> Result<f64, FoodsError> {
    let g = mass_velocity_kg_per_m2_h;
    between("mass velocity", g, "kg/(m2 h)", (3899.9, 19_500.1), "3900 to 19,500 kg/(m2 h)")?;
    Ok(1.17 * g.powf(0.37))
}

/// Nusselt number of a sphere: `2 + 0.6 Re^0.5 Pr^(1/3)` (Re of the diameter, 0 to 200, used to about 1e4).
#[must_use]
pub fn sphere(reynolds: f64, prandtl: f64) -> f64 {
    2.0 + 0.6 * reynolds.sqrt() * prandtl.cbrt()
}

/// Nusselt number of a cylinder across the flow, Churchill & Bernstein, Re Pr > 0.2.
#[must_use]
pub fn cylinder_cross_flow(reynolds: f64, prandtl: f64) -> f64 {
    let base = 0.62 * reynolds.sqrt() * prandtl.cbrt() / (1.0 + (0.4 / prandtl).powf(2.0 / 3.0)).powf(0.25);
    0.3 + base * (1.0 + (reynolds / 282_000.0).powf(0.625)).powf(0.8)
}

/// Chilton-Colburn factor of a tray of pieces crossed by the air: `1.17 Re_p^-0.415`.
///
/// # Errors
/// [`FoodsError::OutOfRange`] outside 10 < Re_p < 2500.
pub fn packed_bed_j_factor(particle_reynolds: f64) -> Result<f64, FoodsError> {
    let re = between("particle Reynolds number", particle_reynolds, "-", (10.0, 2500.0), "10 to 2500")?;
    Ok(1.17 * re.powf(-0.415))
}

/// Ratio of heat to mass transfer coefficient, `h/k_m = rho c_p Le^(2/3)` (Chilton-Colburn), J/(m3 K).
#[must_use]
pub fn heat_over_mass_j_per_m3_k(air: &AirTransport) -> f64 {
    air.density_kg_per_m3 * air.specific_heat_j_per_kg_k * air.lewis().powf(2.0 / 3.0)
}
