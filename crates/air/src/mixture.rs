//! The ideal-gas mixture: enthalpies, latent heat, volume, density.

use fallrate_units::{DRY_AIR_GAS_CONSTANT_J_PER_KG_K, MOLAR_MASS_RATIO_WATER_TO_AIR, ZERO_CELSIUS_K};

// ASHRAE Fundamentals 2017 ch. 1 eqs 30, 33 and 35 (from memory).
/// Specific heat of dry air, J/(kg K).
pub const DRY_AIR_SPECIFIC_HEAT_J_PER_KG_K: f64 = 1006.0;
/// Specific heat of liquid water, J/(kg K).
pub const LIQUID_WATER_SPECIFIC_HEAT_J_PER_KG_K: f64 = 4186.0;
/// Slope of the latent heat with temperature, J/(kg K).
pub const LATENT_HEAT_SLOPE_J_PER_KG_K: f64 = -2326.0;
/// Specific heat of water vapour, J/(kg K): that of liquid water plus the slope of the latent heat.
pub const VAPOUR_SPECIFIC_HEAT_J_PER_KG_K: f64 =
    LIQUID_WATER_SPECIFIC_HEAT_J_PER_KG_K + LATENT_HEAT_SLOPE_J_PER_KG_K;
/// Latent heat of evaporation at 0 degC, J/kg.
pub const LATENT_HEAT_AT_ZERO_C_J_PER_KG: f64 = 2_501_000.0;
/// Specific heat of ice, J/(kg K).
pub const ICE_SPECIFIC_HEAT_J_PER_KG_K: f64 = 2100.0;
/// Heat of fusion at 0 degC, J/kg.
pub const FUSION_HEAT_AT_ZERO_C_J_PER_KG: f64 = 333_400.0;

/// Latent heat of evaporation of liquid water into air, J/kg: `2501000 - 2326 t`.
///
/// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 33, where it stands implied (from memory). Range 0 to 100 degC, linear
/// outside. It is the difference of vapour at low pressure (ideal gas) and liquid, so it lies above the latent heat
/// of pure saturated water (IAPWS-95) by 0.16 % at 60 degC, 0.30 % at 80 degC and 0.53 % at 100 degC: the vapour there is no ideal gas.
///
/// ```
/// assert_eq!(fallrate_air::latent_heat_j_per_kg(60.0), 2_361_440.0);
/// ```
#[inline]
#[must_use]
pub fn latent_heat_j_per_kg(t_c: f64) -> f64 {
    LATENT_HEAT_AT_ZERO_C_J_PER_KG + LATENT_HEAT_SLOPE_J_PER_KG_K * t_c
}

/// Enthalpy of water vapour in air, J per kg vapour: `2501000 + 1860 t` above liquid water at 0 degC.
#[inline]
#[must_use]
pub fn enthalpy_of_vapour_j_per_kg(t_c: f64) -> f64 {
    LATENT_HEAT_AT_ZERO_C_J_PER_KG + VAPOUR_SPECIFIC_HEAT_J_PER_KG_K * t_c
}

/// Enthalpy of liquid water, J/kg: `4186 t`.
#[inline]
#[must_use]
pub fn enthalpy_of_liquid_water_j_per_kg(t_c: f64) -> f64 {
    LIQUID_WATER_SPECIFIC_HEAT_J_PER_KG_K * t_c
}

/// Enthalpy of ice, J/kg: `-333400 + 2100 t`.
#[inline]
#[must_use]
pub fn enthalpy_of_ice_j_per_kg(t_c: f64) -> f64 {
    ICE_SPECIFIC_HEAT_J_PER_KG_K * t_c - FUSION_HEAT_AT_ZERO_C_J_PER_KG
}

/// Enthalpy of moist air, J per kg dry air: `1006 t + w (2501000 + 1860 t)`.
///
/// w is the humidity ratio in kg/kg. Source: ASHRAE Fundamentals 2017 ch. 1 eq. 30 (from memory). Accuracy: within
/// 0.9 % of a real-gas formulation from 10 to 90 degC.
///
/// ```
/// let h = fallrate_air::enthalpy_j_per_kg_dry_air(60.0, 0.025);
/// assert!((h - 125_675.0).abs() < 1e-6);
/// ```
#[inline]
#[must_use]
pub fn enthalpy_j_per_kg_dry_air(t_c: f64, w: f64) -> f64 {
    DRY_AIR_SPECIFIC_HEAT_J_PER_KG_K * t_c + w * enthalpy_of_vapour_j_per_kg(t_c)
}

/// Temperature in degC of moist air with an enthalpy (J per kg dry air) and a humidity ratio.
#[inline]
#[must_use]
pub fn temperature_from_enthalpy_c(h_j_per_kg_dry_air: f64, w: f64) -> f64 {
    (h_j_per_kg_dry_air - w * LATENT_HEAT_AT_ZERO_C_J_PER_KG) / specific_heat_j_per_kg_dry_air_k(w)
}

/// Specific heat of moist air at constant humidity ratio, J per kg dry air and K: `1006 + 1860 w`.
#[inline]
#[must_use]
pub fn specific_heat_j_per_kg_dry_air_k(w: f64) -> f64 {
    DRY_AIR_SPECIFIC_HEAT_J_PER_KG_K + w * VAPOUR_SPECIFIC_HEAT_J_PER_KG_K
}

/// Specific volume, m3 per kg dry air: `R_da T (1 + w / 0.621945) / p`.
///
/// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 26 (from memory).
///
/// ```
/// let v = fallrate_air::specific_volume_m3_per_kg_dry_air(60.0, 0.02548675, 101_325.0);
/// assert!((v - 0.98245).abs() < 1e-5);
/// ```
#[inline]
#[must_use]
pub fn specific_volume_m3_per_kg_dry_air(t_c: f64, w: f64, p_pa: f64) -> f64 {
    DRY_AIR_GAS_CONSTANT_J_PER_KG_K * (t_c + ZERO_CELSIUS_K) * (1.0 + w / MOLAR_MASS_RATIO_WATER_TO_AIR)
        / p_pa
}

/// Density of moist air, kg of mixture per m3: `(1 + w) / v`.
///
/// ```
/// assert!((fallrate_air::density_kg_per_m3(20.0, 0.0, 101_325.0) - 1.2041).abs() < 1e-4);
/// ```
#[inline]
#[must_use]
pub fn density_kg_per_m3(t_c: f64, w: f64, p_pa: f64) -> f64 {
    (1.0 + w) / specific_volume_m3_per_kg_dry_air(t_c, w, p_pa)
}
