//! What the plan asks of the end of drying, a moisture standard, and moisture tests.

use fallrate_datafile::Section;
use fallrate_lethality::{EndPointClaim, LimitClass, moisture_limits};
use fallrate_series::{CalendarDate, Instant};
use fallrate_units::{Mass, MoistureWetBasis};

use super::super::guidance::standard_name;
use super::when::When;

/// A moisture test of a laboratory or a balance.
#[derive(Clone, Debug, PartialEq)]
pub struct MoistureResult {
    /// Moisture, per cent wet basis.
    pub percent_wet_basis: f64,
    /// Tolerance, points of per cent; `None` where unknown.
    pub tolerance: Option<f64>,
    /// What was sampled.
    pub sample: String,
    /// The balance or the laboratory.
    pub meter: String,
    /// Day of its last calibration.
    pub calibrated_on: Option<CalendarDate>,
    /// When.
    pub at: Option<Instant>,
}

/// A moisture in per cent wet basis; points of per cent are written the same way.
fn percent(s: &Section<'_>, key: &str, most: f64, required: bool) -> Option<f64> {
    let range = MoistureWetBasis::from_percent(0.0)..=MoistureWetBasis::from_percent(most);
    let found = if required { s.required(key, range) } else { s.quantity(key, range) };
    found.map(|m| (m.percent() * 1e9).round() / 1e9)
}

pub(super) fn claim(root: &Section<'_>) -> Option<EndPointClaim> {
    let s = root.section("end_point")?;
    let weighed = ["loaded_moisture", "loaded_moisture_within", "at_most", "weight_within"];
    if !weighed.iter().any(|k| s.has(k)) {
        return None;
    }
    let loaded = percent(&s, "loaded_moisture", 99.9, true);
    let within = percent(&s, "loaded_moisture_within", 50.0, true);
    let at_most = percent(&s, "at_most", 99.9, true);
    let weight = s.quantity("weight_within", Mass::from_kilograms(0.0)..=Mass::from_kilograms(100.0));
    Some(EndPointClaim {
        loaded_percent_wet_basis: loaded?,
        loaded_within_percent: within?,
        at_most_percent_wet_basis: at_most?,
        weight_within_kg: weight.map(Mass::kilograms),
        class: match s.choice("class", &["quality", "label", "critical"]) {
            Some(1) => LimitClass::Label,
            Some(2) => LimitClass::Critical,
            _ => LimitClass::Quality,
        },
    })
}

/// "raisins, Thompson seedless": product and form as the table of standards names them.
pub(super) fn standard(root: &Section<'_>) -> Option<(String, String)> {
    let s = root.section("end_point")?;
    if !s.has("standard") {
        return None;
    }
    let all: Vec<(String, String)> = moisture_limits()
        .unwrap_or_default()
        .iter()
        .map(|l| (l.product.clone(), l.form_or_type.clone()))
        .collect();
    let names: Vec<String> = all.iter().map(|(p, f)| standard_name(p, f)).collect();
    let shown: Vec<&str> = names.iter().map(String::as_str).collect();
    s.choice("standard", &shown).and_then(|i| all.get(i)).cloned()
}

pub(super) fn tests(root: &Section<'_>, when: &When<'_>) -> Vec<MoistureResult> {
    let one = |s: &Section<'_>| {
        let value = percent(s, "value", 99.9, true);
        Some(MoistureResult {
            tolerance: percent(s, "within", 50.0, false),
            sample: s.text("sample").unwrap_or_default(),
            meter: s.text("meter").unwrap_or_default(),
            calibrated_on: super::when::date(s, "calibrated_on"),
            at: when.instant(s, "at"),
            percent_wet_basis: value?,
        })
    };
    root.sections("moisture").iter().filter_map(one).collect()
}
