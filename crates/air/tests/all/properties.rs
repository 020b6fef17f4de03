//! Properties over random states.

use fallrate_air::*;
use proptest::prelude::*;

/// Dry bulb, share of the greatest humidity, pressure.
fn state() -> impl Strategy<Value = (f64, f64, f64)> {
    (-40.0..150.0_f64, 0.001..0.999_f64, 50_000.0..105_000.0_f64).prop_map(|(t, share, p)| {
        let rh = share * greatest_relative_humidity(t, p);
        (t, humidity_ratio_from_relative_humidity(t, rh, p), p)
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn identity_saturation_inverse(t in -100.0..200.0_f64) {
        prop_assert!((saturation_temperature_c(saturation_pressure_pa(t)) - t).abs() < 1e-8);
    }

    #[test]
    fn identity_saturation_rises(t in -99.9..199.0_f64, dt in 1e-4..1.0_f64) {
        prop_assert!(saturation_pressure_pa(t + dt) > saturation_pressure_pa(t));
    }

    #[test]
    fn identity_vapour_pressure_inverse((_t, w, p) in state()) {
        let back = humidity_ratio_from_vapour_pressure(vapour_pressure_from_humidity_ratio(w, p), p);
        prop_assert!((back / w - 1.0).abs() < 1e-9 * (1.0 + w));
    }

    #[test]
    fn identity_wet_bulb_inverse((t, w, p) in state()) {
        let twb = wet_bulb_c(t, w, p);
        let back = humidity_ratio_from_wet_bulb(t, twb, p);
        // w_s grows without bound towards boiling: the error of w is that of t* times its slope.
        let ws = humidity_ratio_from_relative_humidity(twb, 1.0, p);
        prop_assert!((back - w).abs() < 1e-9 * (1.0 + ws) * (1.0 + ws), "{twb}: {back} against {w}");
    }

    #[test]
    fn identity_wet_bulb_lies_between_dew_point_and_dry_bulb((t, w, p) in state()) {
        let twb = wet_bulb_c(t, w, p);
        let dew = dew_point_c(vapour_pressure_from_humidity_ratio(w, p));
        prop_assert!(twb <= t);
        prop_assert!(dew.is_nan() || twb >= dew - 1e-9, "dew {dew}, wet bulb {twb}, dry bulb {t}");
    }

    #[test]
    fn identity_wet_bulb_rises_with_humidity_and_temperature((t, w, p) in state(), step in 1e-3..0.2_f64) {
        let drier = w * (1.0 - step);
        prop_assert!(wet_bulb_c(t, drier, p) <= wet_bulb_c(t, w, p) + 1e-9);
        prop_assert!(wet_bulb_c(t + 10.0 * step, w, p) >= wet_bulb_c(t, w, p) - 1e-9);
    }

    #[test]
    fn identity_altitude_lowers_the_wet_bulb(t in 20.0..90.0_f64, w in 0.001..0.05_f64, p in 60_000.0..100_000.0_f64) {
        prop_assume!(humidity_ratio_from_relative_humidity(t, 1.0, 101_325.0) > 1.3 * w);
        prop_assert!(wet_bulb_c(t, w, p) <= wet_bulb_c(t, w, 101_325.0));
    }

    #[test]
    fn identity_enthalpy_inverse((t, w, _p) in state()) {
        prop_assert!((temperature_from_enthalpy_c(enthalpy_j_per_kg_dry_air(t, w), w) - t).abs() < 1e-7);
    }
}
