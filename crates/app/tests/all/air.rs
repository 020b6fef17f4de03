//! Moist air at hand.

use fallrate_app::quantities::{Altitude, RelativeHumidity, Temperature, Volume};
use fallrate_app::{AirQuestion, air_page};

use super::support::reader;

fn value(page: &fallrate_app::Page, label: &str) -> f64 {
    let mut all = page.figures.iter().flat_map(|g| &g.figures);
    all.find(|f| f.label.starts_with(label)).unwrap().value.parse().unwrap()
}

#[test]
fn table_state_of_moist_air() {
    // Any psychrometric chart at sea level (ASHRAE chart no. 3, from memory): 60 degC and 20 % RH have a wet bulb of
    // about 35 degC and hold about 25 g/kg.
    let q = AirQuestion {
        dry_bulb: Some(Temperature::from_celsius(60.0)),
        relative_humidity: Some(RelativeHumidity::from_percent(20.0)),
        ..AirQuestion::default()
    };
    let page = air_page(&q, &reader()).unwrap();
    assert!((value(&page, "Wet bulb") - 35.0).abs() < 0.5);
    assert!((value(&page, "Humidity ratio") - 25.5).abs() < 0.5);
}

#[test]
fn identity_wet_bulb_and_humidity_are_inverse_and_water_fills_the_gap() {
    let (dry, altitude) = (Temperature::from_celsius(71.0), Altitude::from_metres(1600.0));
    let q = AirQuestion {
        dry_bulb: Some(dry),
        wet_bulb: Some(Temperature::from_celsius(54.0)),
        altitude: Some(altitude),
        want_wet_bulb: Some(Temperature::from_celsius(60.0)),
        volume: Some(Volume::from_cubic_metres(1.6)),
        ..AirQuestion::default()
    };
    let page = air_page(&q, &reader()).unwrap();
    let needed = value(&page, "RH that");
    let back = AirQuestion {
        wet_bulb: None,
        relative_humidity: Some(RelativeHumidity::from_percent(needed)),
        want_wet_bulb: None,
        volume: None,
        ..q
    };
    let wetter = air_page(&back, &reader()).unwrap();
    assert!((value(&wetter, "Wet bulb") - 60.0).abs() < 0.05);
    // The same from the humidity ratios: dry air in the volume times their difference.
    let dry_air = 1.6 / value(&page, "Volume per dry air");
    let water = dry_air * (value(&wetter, "Humidity ratio") - value(&page, "Humidity ratio")) / 1000.0;
    assert!((value(&page, "Water to add") - water).abs() < 0.001, "{water}");
}

#[test]
fn identity_bad_questions_say_what_is_allowed() {
    let t = Some(Temperature::from_celsius(50.0));
    let one = AirQuestion { dry_bulb: t, ..AirQuestion::default() };
    assert!(air_page(&one, &reader()).unwrap_err().to_string().contains("exactly two"));
    let above = AirQuestion { wet_bulb: Some(Temperature::from_celsius(51.0)), ..one };
    assert!(air_page(&above, &reader()).unwrap_err().to_string().contains("allowed: up to 50.00 degC"));
}
