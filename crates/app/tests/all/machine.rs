//! What machines read: JSON with its schema, CSV.

use fallrate_app::{Language, Reader, Units, curves_csv, plan_report, plan_schema};

use super::support::{library, planned, reader};

#[test]
fn identity_the_published_schema_is_that_of_the_program() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/schema/plan.schema.json");
    if std::env::var_os("FALLRATE_WRITE_SCHEMA").is_some() {
        std::fs::create_dir_all(std::path::Path::new(path).parent().unwrap()).unwrap();
        std::fs::write(path, plan_schema()).unwrap();
    }
    let published = std::fs::read_to_string(path).expect("docs/schema/plan.schema.json");
    assert_eq!(
        published,
        plan_schema(),
        "rewrite it: FALLRATE_WRITE_SCHEMA=1 cargo test -p fallrate-app schema"
    );
}

#[test]
fn identity_every_plan_is_valid_under_the_schema() {
    let schema: serde_json::Value = serde_json::from_str(&plan_schema()).unwrap();
    let validator = jsonschema::validator_for(&schema).expect("a sound schema");
    for (file, draws) in [("beef.toml", 24), ("apple.toml", 0), ("kale.toml", 24)] {
        let text = plan_report(&planned(file, draws), &library(), &reader());
        let mut plan: serde_json::Value = serde_json::from_str(&text).unwrap();
        let wrong: Vec<String> = validator.iter_errors(&plan).map(|e| e.to_string()).collect();
        assert!(wrong.is_empty(), "{file}: {wrong:?}");
        // The check can fail.
        plan["timer"]["dial_s"] = "soon".into();
        assert!(!validator.is_valid(&plan));
    }
}

#[test]
fn identity_the_json_holds_the_plan() {
    let planned = planned("beef.toml", 24);
    let json: serde_json::Value =
        serde_json::from_str(&plan_report(&planned, &library(), &reader())).unwrap();
    assert_eq!(json["kind"], "forecast");
    assert_eq!(json["timer"]["dial_s"].as_f64().unwrap(), planned.plan.timer.dial_s);
    assert_eq!(json["forecast"].as_array().unwrap().len(), planned.plan.run.samples.len());
    let shares = json["uncertainty"]["shares"].as_array().unwrap();
    let sum: f64 = shares.iter().map(|s| s["share"].as_f64().unwrap()).sum();
    assert!((sum - 1.0).abs() < 1e-4, "{sum}");
}

#[test]
fn identity_the_csv_has_a_row_for_each_instant_and_units_in_every_heading() {
    let planned = planned("beef.toml", 24);
    let rows = |units: Units| {
        let bytes = curves_csv(&planned, &library(), &Reader::new(Language::English, units)).unwrap();
        let mut reader = csv::Reader::from_reader(&bytes[..]);
        let head: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let rows: Vec<Vec<String>> =
            reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect();
        (head, rows)
    };
    let (head, si) = rows(Units::Si);
    let (us_head, us) = rows(Units::Us);
    assert_eq!(si.len(), planned.plan.run.samples.len());
    assert!(si.iter().all(|r| r.len() == head.len()));
    let at =
        |head: &[String], name: &str| head.iter().position(|h| h == name).unwrap_or_else(|| panic!("{name}"));
    let number = |row: &[String], i: usize| row[i].parse::<f64>().unwrap();
    let (c, f) = (at(&head, "wet_bulb_temperature_degC"), at(&us_head, "wet_bulb_temperature_degF"));
    let (kg, lb) = (at(&head, "load_weight_kg"), at(&us_head, "load_weight_lb"));
    for (a, b) in si.iter().zip(&us) {
        assert!((number(a, c) * 1.8 + 32.0 - number(b, f)).abs() < 0.02);
        assert!((number(a, kg) / 0.453_592_37 - number(b, lb)).abs() < 0.001);
    }
    // Water lost by the load is water given to the air.
    let evaporated = at(&head, "evaporated_kg");
    let (first, last) = (&si[0], &si[si.len() - 1]);
    let lost = number(first, kg) - number(last, kg);
    assert!((lost - number(last, evaporated)).abs() < 0.002, "{lost}");
}
