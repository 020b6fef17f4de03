use fallrate_datafile::ProblemKind;
use fallrate_equipment::{Cabinet, ControllerKind, EquipmentError};
use proptest::prelude::*;

use crate::{FILES, north};

#[test]
fn every_file_reads_and_is_consistent() {
    for (key, text) in FILES {
        let c = Cabinet::parse(key, text).unwrap_or_else(|p| panic!("{p}"));
        assert_eq!(c.key, key);
        assert!(c.invented && c.description.en.contains("nvented") && c.description.es.contains("nventado"));
        assert_eq!(c.inconsistencies(), []);
        assert_eq!(c.liners.len(), 5);
        assert_eq!(c.liner("solid_sheet").expect("there").underside_mass.value, 0.0);
    }
}

#[test]
fn figures_that_the_demonstration_states() {
    let c = north();
    assert_eq!(c.trays.count, 20);
    assert!((c.tray_area_m2() - 0.36).abs() < 1e-12);
    assert_eq!(c.heater.rated.value.kilowatts(), 6.0);
    assert!(c.sealed_capable && c.vent.closes && c.ports.wet_bulb && c.ports.core_probes == 2);
    let bench = Cabinet::parse("b", FILES[0].1).expect("good");
    assert!((bench.tray_area_m2() - 0.12).abs() < 1e-12);
    assert_eq!((bench.heater.rated.value.watts(), bench.heater.measured.value.watts()), (1200.0, 950.0));
    assert!(!bench.sealed_capable && !bench.vent.closes);
    assert!(matches!(bench.controller.kind, ControllerKind::OnOff { .. }));
    let cart = Cabinet::parse("c", FILES[2].1).expect("good");
    assert!((cart.total_tray_area_m2() - 18.0).abs() < 1e-9);
}

#[test]
fn names_are_found_or_near_ones_offered() {
    let c = north();
    assert_eq!(c.vent_mark("quarter").expect("there").opening.value.fraction(), 0.25);
    let Err(EquipmentError::UnknownVentMark { near, known, .. }) = c.vent_mark("quater") else { panic!() };
    assert_eq!((near.as_deref(), known.len()), (Some("quarter"), 5));
    assert!(c.fan_step("Ful").is_err() && c.fan_step("full").is_ok());
    assert_eq!(c.liner("bear").unwrap_err().to_string().lines().count(), 1);
}

#[test]
fn vent_flow_is_linear_between_marks() {
    let c = north();
    for mark in &c.vent.marks {
        let flow = c.vent_dry_air_kg_per_s(mark.opening.value.fraction()).expect("a mark");
        assert!((flow - mark.dry_air.value.kg_per_s()).abs() < 1e-15);
    }
    assert!((c.vent_dry_air_kg_per_s(0.75).expect("inside") - 0.135).abs() < 1e-12);
    for bad in [-0.1, 1.1, f64::NAN] {
        assert!(c.vent_dry_air_kg_per_s(bad).is_err());
    }
    let bench = Cabinet::parse("b", FILES[0].1).expect("good");
    assert!(bench.vent_dry_air_kg_per_s(0.5).is_err());
    assert_eq!(bench.vent_dry_air_kg_per_s(1.0), Ok(0.0035));
}

#[test]
fn identity_heat_transfer_follows_its_power_law_and_power_the_voltage_squared() {
    let c = north();
    assert!((c.heat_transfer_w_per_m2_k(2.0) - 28.0).abs() < 1e-12);
    let ratio = c.heat_transfer_w_per_m2_k(1.0) / c.heat_transfer_w_per_m2_k(2.0);
    assert!((ratio - 0.5f64.powf(0.6)).abs() < 1e-12);
    assert_eq!(c.heat_transfer_w_per_m2_k(0.0), 0.0);
    assert!((c.heater_power_w(114.0) / c.heater_power_w(228.0) - 0.25).abs() < 1e-12);
}

#[test]
fn all_faults_of_a_file_are_named_together() {
    let text = FILES[1].1.replace("trays = 7", "trays = \"seven\"").replace("gap =", "gapp =");
    let p = Cabinet::parse("n.toml", &text).expect_err("faults");
    let kinds: Vec<_> = p.list().iter().map(|p| p.kind).collect();
    use ProblemKind::{Missing, UnknownKey, WrongType};
    assert_eq!(kinds, [Missing, UnknownKey, WrongType, WrongType]);
    assert_eq!(p.list()[1].near.as_deref(), Some("gap"));
    assert!(Cabinet::parse("e", "").expect_err("empty").list().len() > 15);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn mutated_files_never_panic(which in 0..3usize, edits in prop::collection::vec((0..20_000usize, any::<char>()), 1..4)) {
        let mut chars: Vec<char> = FILES[which].1.chars().collect();
        for (at, c) in edits {
            let n = chars.len();
            chars[at % n] = c;
        }
        let _ = Cabinet::parse("m", &chars.into_iter().collect::<String>());
    }

    #[test]
    fn mutated_figures_never_panic(which in 0..3usize, at in 0..2000usize, figure in "-?[0-9]{1,3}(\\.[0-9]{1,3})?(e-?[0-9]{1,3})?") {
        let text = FILES[which].1;
        let places: Vec<usize> = text.match_indices("value = ").map(|(i, _)| i + 8).collect();
        let start = places[at % places.len()];
        let start = start + usize::from(text[start..].starts_with('"'));
        let end = start + text[start..].find([' ', ',', '"']).unwrap_or(0);
        let _ = Cabinet::parse("m", &format!("{}{figure}{}", &text[..start], &text[end..]));
    }
}
