//! The reference tables, read once more for each check.

use std::collections::BTreeMap;

pub const CHECK: &str = include_str!("../../../../reference/drying/psychrometrics_check.csv");
pub const HOT: &str = include_str!("../../../../reference/drying/psychrometrics_hot_check.csv");
pub const SATURATION: &str =
    include_str!("../../../../reference/drying/psychrometrics_published_saturation.csv");
pub const WORKED: &str = include_str!("../../../../reference/drying/psychrometrics_worked_examples.csv");
pub const PLANNING: &str = include_str!("../../../../reference/drying/psychrometrics_planning_examples.csv");
pub const FLOORS: &str = include_str!("../../../../reference/drying/psychrometrics_ambient_floors.csv");
pub const LATENT_HEAT: &str = include_str!("../../../../reference/foods/latent_heat_water.csv");
pub const BULBS: &str = include_str!("../../../../reference/safety/relative_humidity_from_bulbs.csv");
pub const HUMIDITY: &str = include_str!("../../../../reference/safety/humidity_worked_examples.csv");

pub struct Row(BTreeMap<String, String>);

impl Row {
    pub fn text(&self, column: &str) -> &str {
        self.0.get(column).unwrap_or_else(|| panic!("no column {column}"))
    }
    pub fn number(&self, column: &str) -> f64 {
        self.text(column).parse().unwrap_or_else(|_| panic!("{column}: '{}'", self.text(column)))
    }
    /// `None` where the cell is blank.
    pub fn cell(&self, column: &str) -> Option<f64> {
        (!self.text(column).is_empty()).then(|| self.number(column))
    }
    /// One unit of the last digit printed in a cell.
    pub fn last_digit(&self, column: &str) -> f64 {
        let decimals = self.text(column).split_once('.').map_or(0, |(_, d)| d.len());
        10_f64.powi(-i32::try_from(decimals).unwrap())
    }
}

pub fn rows(text: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let row = |r: csv::StringRecord| {
        Row(header.iter().zip(r.iter()).map(|(h, v)| (h.to_owned(), v.to_owned())).collect())
    };
    reader.records().map(|r| row(r.unwrap())).collect()
}
