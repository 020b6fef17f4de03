//! Humidity ratio, vapour pressure, relative humidity.

use crate::saturation_pressure_pa;
use fallrate_units::{MOLAR_MASS_RATIO_WATER_TO_AIR, WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K, ZERO_CELSIUS_K};

/// Humidity ratio in kg water per kg dry air: `0.621945 p_v / (p - p_v)`.
///
/// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 20 (from memory). `pv_pa` from 0 to below `p_pa`; infinite where they
/// are equal, negative above (no air is left: the caller must keep below).
///
/// ```
/// let w = fallrate_air::humidity_ratio_from_vapour_pressure(2000.0, 101_325.0);
/// assert!((w - 0.012523).abs() < 1e-6);
/// ```
#[inline]
#[must_use]
pub fn humidity_ratio_from_vapour_pressure(pv_pa: f64, p_pa: f64) -> f64 {
    MOLAR_MASS_RATIO_WATER_TO_AIR * pv_pa / (p_pa - pv_pa)
}

/// Vapour pressure in Pa: `p w / (0.621945 + w)`, the inverse of [`humidity_ratio_from_vapour_pressure`].
#[inline]
#[must_use]
pub fn vapour_pressure_from_humidity_ratio(w: f64, p_pa: f64) -> f64 {
    p_pa * w / (MOLAR_MASS_RATIO_WATER_TO_AIR + w)
}

/// Relative humidity as a fraction: vapour pressure over the saturation pressure at the dry bulb.
///
/// Above the boiling point it cannot reach 1; see [`greatest_relative_humidity`].
///
/// ```
/// let rh = fallrate_air::relative_humidity(60.0, 0.02548675, 101_325.0);
/// assert!((rh - 0.20).abs() < 1e-6);
/// ```
#[inline]
#[must_use]
pub fn relative_humidity(t_c: f64, w: f64, p_pa: f64) -> f64 {
    vapour_pressure_from_humidity_ratio(w, p_pa) / saturation_pressure_pa(t_c)
}

/// Humidity ratio in kg/kg from dry bulb, relative humidity (fraction) and pressure.
#[inline]
#[must_use]
pub fn humidity_ratio_from_relative_humidity(t_c: f64, rh: f64, p_pa: f64) -> f64 {
    humidity_ratio_from_vapour_pressure(rh * saturation_pressure_pa(t_c), p_pa)
}

/// Greatest relative humidity (fraction) that can exist at a dry bulb and total pressure: 1, or `p / p_sat` above boiling.
///
/// ```
/// // 250 degF at sea level: 49.2 %.
/// assert!((fallrate_air::greatest_relative_humidity((250.0 - 32.0) / 1.8, 101_325.0) - 0.492).abs() < 5e-4);
/// ```
#[inline]
#[must_use]
pub fn greatest_relative_humidity(t_c: f64, p_pa: f64) -> f64 {
    (p_pa / saturation_pressure_pa(t_c)).min(1.0)
}

/// Vapour density (absolute humidity), kg/m3: `p_v / (R_v T)`.
#[inline]
#[must_use]
pub fn vapour_density_kg_per_m3(t_c: f64, pv_pa: f64) -> f64 {
    pv_pa / (WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K * (t_c + ZERO_CELSIUS_K))
}
