//! The thermodynamic wet bulb, both ways.
//!
//! Energy balance of adiabatic saturation, per kg dry air, with water supplied at the wet bulb t*:
//! `h(t, w) + (w_s - w) h_w(t*) = h(t*, w_s)`, `w_s` the humidity ratio of saturated air at t* and `h_w` the enthalpy of
//! liquid water (ice below 0.01 degC). Solved for w it is ASHRAE Fundamentals 2017 ch. 1 eqs 33 and 35 (from memory).

use crate::mixture::{
    DRY_AIR_SPECIFIC_HEAT_J_PER_KG_K as C_AIR, ICE_SPECIFIC_HEAT_J_PER_KG_K as C_ICE,
    LIQUID_WATER_SPECIFIC_HEAT_J_PER_KG_K as C_WATER, VAPOUR_SPECIFIC_HEAT_J_PER_KG_K as C_VAPOUR,
};
use crate::root::bracketed_newton;
use crate::{
    LEAST_TEMPERATURE_C, TRIPLE_POINT_C, enthalpy_of_ice_j_per_kg, enthalpy_of_liquid_water_j_per_kg,
    enthalpy_of_vapour_j_per_kg, humidity_ratio_from_vapour_pressure, saturation_pressure_and_slope,
    saturation_pressure_pa, vapour_pressure_from_humidity_ratio,
};
use fallrate_units::MOLAR_MASS_RATIO_WATER_TO_AIR as EPS;

/// Enthalpy of the wick's water and its specific heat: liquid from the triple point up, ice below.
#[inline]
fn wick(t_c: f64) -> (f64, f64) {
    if t_c < TRIPLE_POINT_C {
        (enthalpy_of_ice_j_per_kg(t_c), C_ICE)
    } else {
        (enthalpy_of_liquid_water_j_per_kg(t_c), C_WATER)
    }
}

/// The balance times `(p - p_s)`, so that it stays finite at boiling, and its slope with t*. Positive below the root.
#[inline]
fn balance(t_c: f64, w: f64, p_pa: f64, twb_c: f64) -> (f64, f64) {
    let (ps, ps_slope) = saturation_pressure_and_slope(twb_c);
    let (h_wick, c_wick) = wick(twb_c);
    let given = C_AIR * (t_c - twb_c) + w * (enthalpy_of_vapour_j_per_kg(t_c) - h_wick);
    let given_slope = -C_AIR - w * c_wick;
    let latent = enthalpy_of_vapour_j_per_kg(twb_c) - h_wick;
    let latent_slope = C_VAPOUR - c_wick;
    let value = given * (p_pa - ps) - EPS * ps * latent;
    let slope = given_slope * (p_pa - ps) - given * ps_slope - EPS * (ps_slope * latent + ps * latent_slope);
    (value, slope)
}

/// Thermodynamic wet bulb in degC from dry bulb (degC), humidity ratio (kg/kg) and pressure (Pa), solved.
///
/// Range: dry bulb -100 to 200 degC, any w from 0 to saturation, also dry bulbs above boiling (the wet bulb stays
/// below boiling). Air holding as much as saturation or more (fog) has its dry bulb as wet bulb; w below 0 counts as 0.
/// NaN where an input is not finite or the pressure is not above 0.
///
/// Ice: where liquid water at 0.01 degC would already be too warm, the wick is ice and the balance is that of ice. In a
/// narrow band both balances have a root (one above, one below 0 degC); the one over liquid water is returned. A wick
/// reading a little below 0 degC therefore converts to an air whose wet bulb comes back a little above 0 degC.
///
/// Accuracy: against an independent ideal-gas library within its own step of 0.001 K (0.009 K over ice); against a
/// real-gas formulation within 0.1 K from 10 to 90 degC at 0 to 3,000 m, given dry bulb and RH, but for one state at the
/// freezing point; within 0.14 K given the humidity ratio, wet bulbs 50 to 94 degC.
///
/// ```
/// // 60 degC and w = 0.02548675 at sea level: an independent ideal-gas library gives 34.920 degC.
/// assert!((fallrate_air::wet_bulb_c(60.0, 0.02548675, 101_325.0) - 34.920).abs() < 0.001);
/// ```
#[must_use]
pub fn wet_bulb_c(t_c: f64, w: f64, p_pa: f64) -> f64 {
    if p_pa <= 0.0 || !(t_c + w + p_pa).is_finite() {
        return f64::NAN;
    }
    let w = w.max(0.0);
    if vapour_pressure_from_humidity_ratio(w, p_pa) >= saturation_pressure_pa(t_c) {
        return t_c;
    }
    let over_liquid = t_c >= TRIPLE_POINT_C && balance(t_c, w, p_pa, TRIPLE_POINT_C).0 >= 0.0;
    let (low, high) = if over_liquid {
        (TRIPLE_POINT_C, t_c)
    } else {
        // Just below the triple point, so that the ice branch is the one evaluated at the end of the bracket.
        (LEAST_TEMPERATURE_C.min(t_c), t_c.min(TRIPLE_POINT_C - 1e-9))
    };
    bracketed_newton(low, high, first_guess_c(t_c, w, p_pa), |t| balance(t_c, w, p_pa, t))
}

/// A starting point: one Newton step of the balance from the dry bulb, or from 60 degC where the dry bulb is above.
#[inline]
fn first_guess_c(t_c: f64, w: f64, p_pa: f64) -> f64 {
    let near = t_c.min(60.0);
    let (value, slope) = balance(t_c, w, p_pa, near);
    near - (value / slope).clamp(-60.0, 60.0)
}

/// Humidity ratio in kg/kg from dry bulb, wet bulb (degC) and pressure (Pa); negative where the wet bulb is too low.
///
/// `w = (w_s L(t*) - c_a (t - t*)) / (h_v(t) - h_w(t*))` with `L(t*) = h_v(t*) - h_w(t*)`: over liquid water from
/// 0.01 degC up, over ice below. Source: ASHRAE Fundamentals 2017 ch. 1 eqs 33 and 35 (from memory); for ice the heat of
/// fusion is 333.4 kJ/kg so that energy closes, where eq. 35 rounds 2834 to 2830. Wet bulb below boiling.
///
/// ```
/// // 170 degF dry bulb, 130 degF wet bulb at sea level.
/// let w = fallrate_air::humidity_ratio_from_wet_bulb(76.6667, 54.4444, 101_325.0);
/// assert!((fallrate_air::relative_humidity(76.6667, w, 101_325.0) - 0.339).abs() < 5e-4);
/// ```
#[inline]
#[must_use]
pub fn humidity_ratio_from_wet_bulb(t_c: f64, twb_c: f64, p_pa: f64) -> f64 {
    let (h_wick, _) = wick(twb_c);
    let saturated = humidity_ratio_from_vapour_pressure(saturation_pressure_pa(twb_c), p_pa);
    let latent = enthalpy_of_vapour_j_per_kg(twb_c) - h_wick;
    (saturated * latent - C_AIR * (t_c - twb_c)) / (enthalpy_of_vapour_j_per_kg(t_c) - h_wick)
}

/// Dry bulb in degC at which air of humidity ratio `w` has a wet bulb: the balance solved for t, in closed form.
#[inline]
#[must_use]
pub fn temperature_from_wet_bulb_and_humidity_ratio_c(twb_c: f64, w: f64, p_pa: f64) -> f64 {
    let (h_wick, _) = wick(twb_c);
    let saturated = humidity_ratio_from_vapour_pressure(saturation_pressure_pa(twb_c), p_pa);
    let latent = enthalpy_of_vapour_j_per_kg(twb_c) - h_wick;
    twb_c + (saturated - w) * latent / (C_AIR + w * C_VAPOUR)
}

/// Dry bulb in degC at which air of relative humidity `rh` (fraction) has a wet bulb, searched up to `highest_c`.
/// `None` where that air would be hotter.
pub(crate) fn temperature_from_wet_bulb_and_relative_humidity_c(
    twb_c: f64,
    rh: f64,
    p_pa: f64,
    highest_c: f64,
) -> Option<f64> {
    let excess = |t: f64| {
        let w = humidity_ratio_from_wet_bulb(t, twb_c, p_pa);
        let (ps, ps_slope) = saturation_pressure_and_slope(t);
        let w_slope = -(C_AIR + w * C_VAPOUR) / (enthalpy_of_vapour_j_per_kg(t) - wick(twb_c).0);
        let pv_slope = p_pa * EPS / ((EPS + w) * (EPS + w)) * w_slope;
        (vapour_pressure_from_humidity_ratio(w, p_pa) - rh * ps, pv_slope - rh * ps_slope)
    };
    if rh >= 1.0 {
        return Some(twb_c);
    }
    (excess(highest_c).0 <= 0.0).then(|| bracketed_newton(twb_c, highest_c, twb_c, excess))
}
