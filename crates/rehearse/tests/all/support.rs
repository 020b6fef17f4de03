//! Plans to rehearse.

use fallrate_equipment::Cabinet;
use fallrate_foods::Product;
use fallrate_plan::request::PlanRequest;
use fallrate_plan::{Effort, Plan, plan};
use fallrate_rehearse::{Scenario, VirtualCabinet};
use fallrate_series::{Instant, Log, Rehearsal, Role};

pub const APPLE: &str = r#"
product = "apple"
cabinet = "north"
[load]
per_area = "4 kg/m2"
temperature = "15 degC"
[room]
temperature = "20 degC"
relative_humidity = "50 %"
[target]
moisture = "20 % wb"
[timer]
unload = "at end"
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

pub fn text(path: &str) -> String {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    std::fs::read_to_string(format!("{root}/{path}")).unwrap_or_else(|e| panic!("{path}: {e}"))
}

pub fn cabinet(key: &str) -> Cabinet {
    Cabinet::parse(key, &text(&format!("data/cabinets/{key}.toml"))).unwrap_or_else(|p| panic!("{p}"))
}

pub fn planned(plan_text: &str, product: &str, cabinet_key: &str) -> (Plan, Cabinet) {
    let product = Product::parse(product, &text(&format!("data/products/{product}.toml"))).unwrap();
    let cabinet = cabinet(cabinet_key);
    let request = PlanRequest::parse("test.toml", plan_text).unwrap_or_else(|p| panic!("{p}"));
    let plan = plan(&request, &product, &cabinet, Effort { draws: 0 }, &|_| true).unwrap();
    (plan, cabinet)
}

pub fn apple() -> (Plan, Cabinet) {
    planned(APPLE, "apple", "north")
}

pub fn beef() -> (Plan, Cabinet) {
    planned(&text("examples/beef_strips.toml"), "beef_eye_of_round", "north")
}

/// A scenario with quick, even hands.
pub fn scenario(seed: u64) -> Scenario {
    let mut s = Scenario::new(seed, Instant::from_unix_seconds(1_709_275_200.0), "UTC");
    s.hand_lag_s = (0.0, 0.0);
    s
}

/// Nothing hidden.
pub fn as_known(seed: u64) -> Scenario {
    let mut s = scenario(seed);
    s.width = 0.0;
    s.trays.load = 0.0;
    s.trays.air = 0.0;
    s
}

pub fn go(v: &mut VirtualCabinet, to_s: f64) {
    v.advance(to_s, &mut |_| true).unwrap();
}

/// Readings of a role as (s from the start, value).
pub fn readings(log: &Log<Rehearsal>, start: Instant, role: impl Fn(&Role) -> bool) -> Vec<(f64, f64)> {
    let of = log.channels.iter().filter(|c| role(&c.role));
    of.flat_map(|c| c.readings().iter().map(|r| (r.at.seconds_since(start), r.value))).collect()
}
