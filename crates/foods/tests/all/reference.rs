//! Reading the reference tables, and the line each outside check prints.

use std::collections::BTreeMap;

pub type Row = BTreeMap<String, String>;

pub fn rows(name: &str) -> Vec<Row> {
    let path = format!("{}/../../reference/foods/{name}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    reader.deserialize().map(|r| r.expect("a row")).collect()
}

pub fn number(row: &Row, key: &str) -> f64 {
    row[key].parse().unwrap_or_else(|_| panic!("{key} in {row:?}"))
}

pub fn maybe(row: &Row, key: &str) -> Option<f64> {
    row[key].parse().ok()
}

pub struct Example(toml::Table);

impl Example {
    pub fn find(id: &str) -> Self {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/foods/worked_examples.toml");
        let text = std::fs::read_to_string(path).expect("worked examples");
        let table: toml::Table = text.parse().expect("TOML");
        let found = table["example"].as_array().expect("list").iter().find(|e| e["id"].as_str() == Some(id));
        Self(found.unwrap_or_else(|| panic!("no example {id}")).as_table().expect("table").clone())
    }
    pub fn input(&self, key: &str) -> f64 {
        as_number(self.0["input"].get(key))
    }
    pub fn expected(&self, key: &str) -> f64 {
        as_number(self.0["expected"].get(key))
    }
}

fn as_number(value: Option<&toml::Value>) -> f64 {
    match value {
        Some(toml::Value::Float(f)) => *f,
        Some(toml::Value::Integer(i)) => *i as f64,
        other => panic!("not a number: {other:?}"),
    }
}

/// One outside check: the worst error found against what is allowed.
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
        area: &'static str,
        check: &'static str,
        source: &'static str,
        (unit, allowed): (&'static str, f64),
        basis: &'static str,
    ) -> Self {
        Self { area, check, source, unit, allowed, basis, count: 0, worst: 0.0, at: String::new() }
    }
    /// Absolute error.
    pub fn absolute(&mut self, found: f64, expected: f64, at: impl std::fmt::Display) {
        self.error((found - expected).abs(), at);
    }
    /// Error relative to the expected value.
    pub fn relative(&mut self, found: f64, expected: f64, at: impl std::fmt::Display) {
        self.error(((found - expected) / expected).abs(), at);
    }
    fn error(&mut self, error: f64, at: impl std::fmt::Display) {
        self.count += 1;
        if error > self.worst || error.is_nan() {
            self.worst = error;
            self.at = at.to_string();
        }
    }
    /// Prints the line and fails where the worst error exceeds what is allowed.
    pub fn done(self, least_count: usize) {
        println!(
            "VALIDATION|{}|{}|{}|{}|{:.3e}|{}|{:e}|{}",
            self.area, self.check, self.source, self.count, self.worst, self.unit, self.allowed, self.basis
        );
        assert!(self.count >= least_count, "{}: only {} values compared", self.check, self.count);
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

/// Central difference of a function.
pub fn slope(f: impl Fn(f64) -> f64, x: f64, h: f64) -> f64 {
    (f(x + h) - f(x - h)) / (2.0 * h)
}
