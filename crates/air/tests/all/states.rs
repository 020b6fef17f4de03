//! States from any two quantities, the questions asked of them, and the impossible ones.

use fallrate_air::*;
use fallrate_units::{Altitude, HumidityRatio, Mass, Pressure, RelativeHumidity, Temperature, Volume};
use proptest::prelude::*;

fn c(t: f64) -> Temperature {
    Temperature::from_celsius(t)
}
fn rh(percent: f64) -> RelativeHumidity {
    RelativeHumidity::from_percent(percent)
}
fn w(kg_per_kg: f64) -> HumidityRatio {
    HumidityRatio::from_kg_per_kg(kg_per_kg)
}
const SEA: Pressure = Pressure::from_pascals(101_325.0);
const HIGH: Pressure = Pressure::from_pascals(70_108.4);

fn same(a: &State, b: Result<State, AirError>) {
    let b = b.unwrap();
    let (ta, tb) = (a.temperature().celsius(), b.temperature().celsius());
    let (wa, wb) = (a.humidity_ratio().kg_per_kg(), b.humidity_ratio().kg_per_kg());
    assert!((ta - tb).abs() < 1e-5, "dry bulb {ta} against {tb}");
    assert!((wa - wb).abs() < 1e-7 * (1.0 + wa) * (1.0 + wa), "humidity ratio {wa} against {wb}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn identity_every_pair_leads_back(t in 5.0..140.0_f64, share in 0.02..0.98_f64, p in 60_000.0..105_000.0_f64) {
        let p = Pressure::from_pascals(p);
        let humidity = rh(share * greatest_relative_humidity(t, p.pascals()) * 100.0);
        let a = State::from_temperature_and_relative_humidity(c(t), humidity, p).unwrap();
        let (wet, dew, h) = (a.wet_bulb(), a.dew_point().unwrap(), a.enthalpy_j_per_kg_dry_air());
        same(&a, State::from_temperature_and_humidity_ratio(c(t), a.humidity_ratio(), p));
        same(&a, State::from_temperature_and_wet_bulb(c(t), wet, p));
        same(&a, State::from_temperature_and_dew_point(c(t), dew, p));
        same(&a, State::from_temperature_and_enthalpy(c(t), h, p));
        same(&a, State::from_humidity_ratio_and_enthalpy(a.humidity_ratio(), h, p));
        same(&a, State::from_wet_bulb_and_relative_humidity(wet, a.relative_humidity(), p));
        same(&a, State::from_wet_bulb_and_humidity_ratio(wet, a.humidity_ratio(), p));
        same(&a, State::from_wet_bulb_and_dew_point(wet, dew, p));
        same(&a, State::from_dew_point_and_relative_humidity(dew, a.relative_humidity(), p));
        same(&a, State::from_humidity_ratio_and_relative_humidity(a.humidity_ratio(), a.relative_humidity(), p));
    }
}

#[test]
fn limit_ninety_percent_is_not_a_wet_bulb_of_sixty() {
    // At 71.1 degC: 90 % RH is a wet bulb of 68.8 degC; 60 degC wet bulb is 59 % RH (ASHRAE formulas, beforehand).
    let wet = wet_bulb_for_relative_humidity(c(71.1), rh(90.0), SEA).unwrap();
    assert!((wet.celsius() - 68.8).abs() < 0.1);
    let back = relative_humidity_for_wet_bulb(c(71.1), wet, SEA).unwrap();
    assert!((back.percent() - 90.0).abs() < 1e-6);
}

#[test]
fn identity_water_to_add() {
    let room = State::from_temperature_and_relative_humidity(c(20.0), rh(50.0), SEA).unwrap();
    let hot = room.at_temperature(c(71.1)).unwrap();
    let air = hot.dry_air_mass_in(Volume::from_cubic_metres(1.0));
    let water = water_to_add(&hot, HumidityTarget::WetBulb(c(60.0)), air).unwrap();
    let steamed = hot.humidity_ratio().kg_per_kg() + water.kilograms() / air.kilograms();
    let reached = State::from_temperature_and_humidity_ratio(c(71.1), w(steamed), SEA).unwrap();
    assert!((reached.wet_bulb().celsius() - 60.0).abs() < 1e-6);
    let none = water_to_add(&hot, HumidityTarget::RelativeHumidity(hot.relative_humidity()), air).unwrap();
    assert!(none.kilograms().abs() < 1e-12);
    let less = water_to_add(&reached, HumidityTarget::RelativeHumidity(rh(10.0)), air).unwrap();
    assert!(less.kilograms() < 0.0);
    assert!(water_to_add(&hot, HumidityTarget::WetBulb(c(80.0)), air).is_err());
    assert!(water_to_add(&hot, HumidityTarget::WetBulb(c(60.0)), Mass::from_kilograms(-1.0)).is_err());
}

#[test]
fn limit_dry_air_has_no_dew_point() {
    let dry = State::from_temperature_and_humidity_ratio(c(60.0), w(0.0), SEA).unwrap();
    assert_eq!(dry.dew_point(), None);
    assert_eq!(dry.relative_humidity().percent(), 0.0);
    assert!(dry.wet_bulb().celsius() < 25.0);
    assert!((dry.wet_bulb_depression().kelvin() - 60.0 + dry.wet_bulb().celsius()).abs() < 1e-12);
}

#[test]
fn limit_impossible_bulbs_are_refused() {
    let e = State::from_temperature_and_wet_bulb(c(60.0), c(61.0), SEA).unwrap_err();
    assert_eq!(e, AirError::WetBulbAboveDryBulb { wet_bulb_c: 61.0, dry_bulb_c: 60.0 });
    assert_eq!(e.to_string(), "wet bulb: 61.00 degC is above the dry bulb; allowed: up to 60.00 degC");
    let e = State::from_temperature_and_wet_bulb(c(82.0), c(20.0), SEA).unwrap_err();
    let AirError::WetBulbTooLow { least_c, .. } = e else { panic!("{e}") };
    assert!(State::from_temperature_and_wet_bulb(c(82.0), c(least_c + 1e-6), SEA).is_ok());
    let e = State::from_temperature_and_dew_point(c(20.0), c(21.0), SEA).unwrap_err();
    assert_eq!(e, AirError::DewPointAboveDryBulb { dew_point_c: 21.0, dry_bulb_c: 20.0 });
    let e = State::from_wet_bulb_and_dew_point(c(20.0), c(21.0), SEA).unwrap_err();
    assert_eq!(e, AirError::DewPointAboveWetBulb { dew_point_c: 21.0, wet_bulb_c: 20.0 });
    let e = State::from_temperature_and_wet_bulb(c(110.0), c(91.0), HIGH).unwrap_err();
    assert!(matches!(e, AirError::AtBoiling { quantity: "wet bulb", .. }), "{e}");
    let e = State::from_temperature_and_humidity_ratio(c(20.0), w(0.02), SEA).unwrap_err();
    assert!(matches!(e, AirError::Supersaturated { .. }), "{e}");
    let e = State::from_temperature_and_enthalpy(c(20.0), 19_000.0, SEA).unwrap_err();
    assert!(matches!(e, AirError::EnthalpyTooLow { .. }), "{e}");
}

#[test]
fn limit_humidity_out_of_reach_is_refused() {
    let e = State::from_temperature_and_relative_humidity(c(60.0), rh(101.0), SEA).unwrap_err();
    assert_eq!(e.to_string(), "relative humidity: 101 % is out of range; allowed: 0 to 100 %");
    // 110 degC (230 degF) at sea level: 70.7 % at most, so 90 % cannot be (ASHRAE formulas, beforehand).
    let e = State::from_temperature_and_relative_humidity(c(110.0), rh(90.0), SEA).unwrap_err();
    let AirError::RelativeHumidityUnreachable { greatest_percent, .. } = e else { panic!("{e}") };
    assert!((greatest_percent - 70.7).abs() < 0.1);
    assert!(State::from_temperature_and_relative_humidity(c(110.0), rh(70.0), SEA).is_ok());
    assert!(State::from_wet_bulb_and_relative_humidity(c(20.0), rh(0.0), SEA).is_err());
    // A wet bulb of 90 degC at 1 % RH would need air above 200 degC.
    let e = State::from_wet_bulb_and_relative_humidity(c(90.0), rh(1.0), SEA).unwrap_err();
    assert!(matches!(e, AirError::OutOfRange { quantity: "relative humidity", .. }), "{e}");
}

#[test]
fn limit_what_is_not_a_number_is_refused() {
    let nan = f64::NAN;
    assert!(State::from_temperature_and_relative_humidity(c(nan), rh(50.0), SEA).is_err());
    assert!(State::from_temperature_and_relative_humidity(c(20.0), rh(nan), SEA).is_err());
    assert!(State::from_temperature_and_humidity_ratio(c(20.0), w(nan), SEA).is_err());
    assert!(State::from_temperature_and_wet_bulb(c(20.0), c(nan), SEA).is_err());
    assert!(State::from_temperature_and_dew_point(c(20.0), c(nan), SEA).is_err());
    assert!(State::from_temperature_and_enthalpy(c(20.0), nan, SEA).is_err());
    assert!(State::from_humidity_ratio_and_enthalpy(w(nan), 50_000.0, SEA).is_err());
    assert!(State::from_dew_point_and_relative_humidity(c(20.0), rh(nan), SEA).is_err());
    assert!(State::from_humidity_ratio_and_relative_humidity(w(nan), rh(50.0), SEA).is_err());
    assert!(State::from_wet_bulb_and_dew_point(c(nan), c(10.0), SEA).is_err());
    assert!(
        State::from_temperature_and_relative_humidity(c(20.0), rh(50.0), Pressure::from_pascals(nan))
            .is_err()
    );
    assert!(pressure_from_altitude(Altitude::from_metres(nan)).is_err());
    assert!(pressure_from_altitude(Altitude::from_metres(9000.0)).is_err());
}

#[test]
fn limit_wet_bulb_of_95_c_and_of_3000_m() {
    // A wet bulb of 95 degC at sea level and of 85 degC at 3,000 m, under dry bulbs below and above boiling.
    for (wet, dry, p) in [(95.0, 96.0, SEA), (95.0, 130.0, SEA), (85.0, 86.0, HIGH), (85.0, 120.0, HIGH)] {
        let a = State::from_temperature_and_wet_bulb(c(dry), c(wet), p).unwrap();
        assert!((a.wet_bulb().celsius() - wet).abs() < 1e-7, "{} for {wet}", a.wet_bulb().celsius());
    }
}
