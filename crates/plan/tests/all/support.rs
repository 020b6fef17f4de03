//! Products, cabinets and plans of the repository, and the line that an outside check prints.

use std::path::PathBuf;

use fallrate_equipment::Cabinet;
use fallrate_foods::Product;
use fallrate_plan::request::PlanRequest;
use fallrate_plan::{Effort, Plan, PlanError, plan};

pub fn root() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."))
}

pub fn text(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).unwrap_or_else(|e| panic!("{path}: {e}"))
}

pub fn product(key: &str) -> Product {
    let path = format!("data/products/{key}.toml");
    Product::parse(&path, &text(&path)).unwrap_or_else(|p| panic!("{p}"))
}

pub fn cabinet(key: &str) -> Cabinet {
    let path = format!("data/cabinets/{key}.toml");
    Cabinet::parse(&path, &text(&path)).unwrap_or_else(|p| panic!("{p}"))
}

/// Keys of a folder of the library, sorted.
pub fn keys(folder: &str) -> Vec<String> {
    let entries = std::fs::read_dir(root().join(folder)).expect("a folder");
    let names = entries.filter_map(|e| e.ok()?.file_name().into_string().ok());
    let mut keys: Vec<String> = names.filter_map(|n| n.strip_suffix(".toml").map(str::to_owned)).collect();
    keys.sort();
    keys
}

pub fn request(text: &str) -> PlanRequest {
    PlanRequest::parse("test.toml", text).unwrap_or_else(|p| panic!("{p}\n{text}"))
}

/// A plan file from its sections; what a test changes is replaced in it.
pub const APPLE: &str = r#"
product = "apple"
cabinet = "north"
[piece]
thickness = "6 mm"
thickness_sd = "0.4 mm"
[load]
per_area = "4 kg/m2"
temperature = "15 degC"
[room]
temperature = "20 degC"
relative_humidity = "50 %"
altitude = "0 m"
[start]
at = "07:00"
[target]
moisture = "20 % wb"
"#;

/// Two stages for [`APPLE`], so that plans that differ in one thing have the same stages.
pub const TWO_STAGES: &str = r#"
[[stage]]
name = "warm up"
set_point = "60 degC"
vent = "shut"
until = { core_rise = "20 degF" }
at_most = "1 h 30 min"
[[stage]]
name = "dry"
set_point = "60 degC"
vent = "quarter"
until = { target = true }
at_most = "40 h"
"#;

/// A plan of a text without a band, in the cabinet it names.
pub fn nominal(text: &str) -> Result<Plan, PlanError> {
    drawn(text, 0)
}

pub fn drawn(text: &str, draws: usize) -> Result<Plan, PlanError> {
    let r = request(text);
    let key = |n: &fallrate_plan::request::Named| match n {
        fallrate_plan::request::Named::Key(k) => k.clone(),
        fallrate_plan::request::Named::Path(p) => panic!("{p}"),
    };
    plan(&r, &product(&key(&r.product)), &cabinet(&key(&r.cabinet)), Effort { draws }, &|_| true)
}

/// Collects errors of one outside check.
pub struct Check {
    area: &'static str,
    check: &'static str,
    source: &'static str,
    unit: &'static str,
    allowed: f64,
    basis: &'static str,
    count: usize,
    worst: f64,
    at: String,
}

impl Check {
    pub fn new(
        (area, check): (&'static str, &'static str),
        source: &'static str,
        (unit, allowed): (&'static str, f64),
        basis: &'static str,
    ) -> Self {
        Self { area, check, source, unit, allowed, basis, count: 0, worst: 0.0, at: String::new() }
    }
    pub fn absolute(&mut self, found: f64, expected: f64, at: impl std::fmt::Display) {
        self.error((found - expected).abs(), at);
    }
    pub fn relative(&mut self, found: f64, expected: f64, at: impl std::fmt::Display) {
        self.error(((found - expected) / expected).abs(), at);
    }
    pub fn error(&mut self, error: f64, at: impl std::fmt::Display) {
        self.count += 1;
        if error > self.worst || error.is_nan() {
            self.worst = error;
            self.at = at.to_string();
        }
    }
    /// Prints the line and fails where the worst error exceeds what is allowed.
    pub fn done(self, count: usize) {
        println!(
            "VALIDATION|{}|{}|{}|{}|{:.3e}|{}|{:e}|{}",
            self.area, self.check, self.source, self.count, self.worst, self.unit, self.allowed, self.basis
        );
        assert_eq!(self.count, count, "{}: values compared", self.check);
        assert!(
            self.worst <= self.allowed,
            "{}: worst {} {} at {} (allowed {})",
            self.check,
            self.worst,
            self.unit,
            self.at,
            self.allowed
        );
    }
}
