//! What must hold by physics, and limits.

use fallrate_air::*;
use fallrate_units::{MOLAR_MASS_RATIO_WATER_TO_AIR, WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K, ZERO_CELSIUS_K};

#[test]
fn identity_slope_is_the_derivative() {
    for i in -99..200 {
        let t = f64::from(i) + 0.5;
        let h = 1e-3;
        let numeric = (saturation_pressure_pa(t + h) - saturation_pressure_pa(t - h)) / (2.0 * h);
        let slope = saturation_pressure_slope_pa_per_k(t);
        assert!((slope / numeric - 1.0).abs() < 1e-6, "{t} degC: {slope} against {numeric}");
    }
}

#[test]
fn identity_clausius_clapeyron() {
    // dp/dT = p L / (R_v T^2) for ideal vapour: within 1 % where the vapour is thin, for liquid and ice.
    for (t, latent) in [(5.0, latent_heat_j_per_kg(5.0)), (40.0, latent_heat_j_per_kg(40.0))] {
        let k = t + ZERO_CELSIUS_K;
        let expected = saturation_pressure_pa(t) * latent / (WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K * k * k);
        assert!((saturation_pressure_slope_pa_per_k(t) / expected - 1.0).abs() < 0.01);
    }
    let (t, k) = (-20.0, 253.15);
    let latent = enthalpy_of_vapour_j_per_kg(t) - enthalpy_of_ice_j_per_kg(t);
    let expected = saturation_pressure_pa(t) * latent / (WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K * k * k);
    assert!((saturation_pressure_slope_pa_per_k(t) / expected - 1.0).abs() < 0.01);
}

#[test]
fn identity_ice_and_liquid_meet_at_the_triple_point() {
    let (ice, liquid) =
        (saturation_pressure_over_ice_pa(TRIPLE_POINT_C), saturation_pressure_over_liquid_pa(TRIPLE_POINT_C));
    assert!((ice / liquid - 1.0).abs() < 1e-6, "{ice} against {liquid}");
    // Triple point of water: 611.657 Pa (IAPWS, from memory).
    assert!((liquid - 611.657).abs() < 0.1);
}

#[test]
fn limit_water_boils_at_100_c() {
    // ITS-90: 99.974 degC at 101,325 Pa (IAPWS-95, from memory).
    assert!((saturation_temperature_c(101_325.0) - 99.974).abs() < 0.02);
}

#[test]
fn identity_vapour_heat_closes_the_latent_heat() {
    for t in [0.0, 37.0, 95.0] {
        let gap =
            enthalpy_of_vapour_j_per_kg(t) - enthalpy_of_liquid_water_j_per_kg(t) - latent_heat_j_per_kg(t);
        assert!(gap.abs() < 1e-6);
    }
}

#[test]
fn identity_wet_bulb_closes_the_energy_balance() {
    // h(t, w) + (w_s - w) h_water(t*) = h(t*, w_s), written out apart from the solver's own form.
    for (t, w, p) in
        [(60.0, 0.025, 101_325.0), (95.0, 2.0, 70_108.0), (150.0, 0.3, 84_556.0), (20.0, 0.0, 101_325.0)]
    {
        let twb = wet_bulb_c(t, w, p);
        let ws = humidity_ratio_from_relative_humidity(twb, 1.0, p);
        let water = if twb < TRIPLE_POINT_C {
            enthalpy_of_ice_j_per_kg(twb)
        } else {
            enthalpy_of_liquid_water_j_per_kg(twb)
        };
        let before = enthalpy_j_per_kg_dry_air(t, w) + (ws - w) * water;
        let gap = before - enthalpy_j_per_kg_dry_air(twb, ws);
        assert!(gap.abs() < 1e-3 + 1e-8 * before.abs(), "{t} degC, {w}: gap {gap} J/kg");
    }
}

#[test]
fn identity_density_is_the_sum_of_the_parts() {
    let (t, w, p) = (60.0, 0.03, 84_556.0);
    let vapour = vapour_density_kg_per_m3(t, vapour_pressure_from_humidity_ratio(w, p));
    let dry = 1.0 / specific_volume_m3_per_kg_dry_air(t, w, p);
    assert!((density_kg_per_m3(t, w, p) - dry - vapour).abs() < 1e-5);
    assert!((vapour / dry - w).abs() < 1e-6);
    assert!((MOLAR_MASS_RATIO_WATER_TO_AIR - 0.621_945).abs() < f64::EPSILON);
}

#[test]
fn limit_saturated_air_has_its_dry_bulb_as_wet_bulb_and_dew_point() {
    for p in [101_325.0, 70_108.4] {
        for t in [-20.0, 0.5, 25.0, 60.0, 85.0] {
            let w = humidity_ratio_from_relative_humidity(t, 1.0, p);
            assert!((wet_bulb_c(t, w, p) - t).abs() < 1e-8);
            assert!((wet_bulb_c(t, w * (1.0 - 1e-9), p) - t).abs() < 1e-6);
            assert!((dew_point_c(vapour_pressure_from_humidity_ratio(w, p)) - t).abs() < 1e-8);
            assert_eq!(wet_bulb_c(t, 1.1 * w, p), t);
        }
    }
}

#[test]
fn limit_out_of_range_is_nan_never_a_number() {
    assert!(dew_point_c(0.0).is_nan() && dew_point_c(-1.0).is_nan() && dew_point_c(f64::NAN).is_nan());
    assert!(saturation_temperature_c(2e6).is_nan());
    assert!(saturation_pressure_pa(-300.0).is_nan());
    assert!(wet_bulb_c(20.0, f64::INFINITY, 1e5).is_nan());
    assert!(wet_bulb_c(20.0, 0.01, 0.0).is_nan() && wet_bulb_c(f64::NAN, 0.01, 1e5).is_nan());
}

#[test]
fn limit_pressure_and_altitude_are_inverse() {
    for z in [-500.0, 0.0, 1600.0, 3000.0, 6000.0] {
        assert!((altitude_from_pressure_m(pressure_from_altitude_pa(z)) - z).abs() < 1e-6);
    }
}
