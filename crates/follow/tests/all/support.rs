//! Plans, and batches on the virtual cabinet to follow.

use std::sync::OnceLock;

use fallrate_equipment::Cabinet;
use fallrate_follow::{
    Along, Case, Course, Deed, Done, Earlier, Effort, Measured, Place, Reading, Unconfirmed, Update, update,
};
use fallrate_foods::Product;
use fallrate_plan::request::PlanRequest;
use fallrate_plan::{Effort as PlanEffort, Plan, plan};
use fallrate_rehearse::{Act, Scenario, VirtualCabinet};
use fallrate_series::{Instant, Role};

pub const APPLE: &str = r#"
product = "apple"
cabinet = "north"
[piece]
thickness = "7 mm"
thickness_sd = "0.6 mm"
[load]
total = "35 kg"
liner = "coarse_mesh"
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
at_most = "60 h"
"#;

pub struct Bench {
    pub plan: Plan,
    pub product: Product,
    pub cabinet: Cabinet,
}

impl Bench {
    pub fn case(&self) -> Case<'_> {
        Case { assembled: &self.plan.assembled, product: &self.product, cabinet: &self.cabinet }
    }
    pub fn earlier(&self) -> Earlier {
        Earlier::of_plan(&self.plan.timer).expect("a plan with draws")
    }
    pub fn expected_s(&self) -> f64 {
        self.earlier().power_off_s.middle
    }
    pub fn tare_kg(&self) -> f64 {
        self.plan.assembled.tare_kg
    }
    pub fn update(&self, course: &Course, readings: &[Reading]) -> Update {
        update(self.case(), course, readings, Effort::default(), Some(&self.earlier()), &|_| true).unwrap()
    }
}

pub fn text(path: &str) -> String {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    std::fs::read_to_string(format!("{root}/{path}")).unwrap_or_else(|e| panic!("{path}: {e}"))
}

pub fn bench(plan_text: &str, product: &str, cabinet: &str) -> Bench {
    let product = Product::parse(product, &text(&format!("data/products/{product}.toml"))).unwrap();
    let cabinet = Cabinet::parse(cabinet, &text(&format!("data/cabinets/{cabinet}.toml"))).unwrap();
    let request = PlanRequest::parse("test.toml", plan_text).unwrap_or_else(|p| panic!("{p}"));
    let plan = plan(&request, &product, &cabinet, PlanEffort { draws: 64 }, &|_| true).unwrap();
    Bench { plan, product, cabinet }
}

pub fn apple() -> &'static Bench {
    static APPLE_BENCH: OnceLock<Bench> = OnceLock::new();
    APPLE_BENCH.get_or_init(|| bench(APPLE, "apple", "north"))
}

pub fn beef() -> &'static Bench {
    static BEEF_BENCH: OnceLock<Bench> = OnceLock::new();
    BEEF_BENCH.get_or_init(|| bench(&text("examples/beef_strips.toml"), "beef_eye_of_round", "north"))
}

/// A batch of the apple plan on a virtual cabinet, weighed at a quarter and at half of the plan's expected end.
pub struct Followed {
    pub course: Course,
    pub readings: Vec<Reading>,
    /// When the target is really met, s.
    pub end_s: f64,
}

/// The middle trays of the three groups.
pub const TRAYS: [u32; 3] = [4, 11, 17];

pub fn batch(seed: u64) -> Followed {
    let b = apple();
    let mut scenario = Scenario::new(seed, Instant::from_unix_seconds(1_709_275_200.0), "UTC");
    scenario.hand_lag_s = (0.0, 0.0);
    let start = scenario.start;
    let mut v = VirtualCabinet::new(&b.plan, &b.cabinet, scenario).unwrap();
    let go = |v: &mut VirtualCabinet, to: f64| {
        v.advance(to, &mut |_| true).unwrap();
    };
    let first = &b.plan.assembled.stages[0];
    for act in [Act::Vent(first.vent.clone()), Act::SetPoint(first.set_point_c), Act::Power { on: true }] {
        v.act(act).unwrap();
    }
    let begin_c = b.plan.assembled.setup.batch.material.temperature_initial_c;
    while v.true_states().last().is_none_or(|s| s.core_coldest_c < begin_c + 20.0 / 1.8) {
        let to = v.now_s() + 60.0;
        go(&mut v, to);
    }
    let vent_s = v.act(Act::Vent(b.plan.assembled.stages[1].vent.clone())).unwrap();
    for share in [0.25, 0.5] {
        go(&mut v, (share * b.expected_s() / 60.0).round() * 60.0);
        TRAYS.iter().for_each(|t| {
            v.act(Act::Weigh { tray: *t }).unwrap();
        });
    }
    let now_s = v.now_s() + 240.0;
    go(&mut v, now_s);
    let log = v.log().unwrap();
    let place = |position: &str| {
        let tray = position.strip_prefix("tray ")?.strip_suffix(" leaving")?.parse().ok()?;
        Some(Place::Tray { tray, along: Along::Leaving })
    };
    let readings = fallrate_follow::readings_of_log(&log, start, b.tare_kg(), 1, &place);
    let target = b.plan.assembled.setup.target.moisture_dry_basis;
    while v.true_states().last().unwrap().mean_dry_basis > target {
        let to = v.now_s() + 600.0;
        go(&mut v, to);
    }
    let met = v.true_states().windows(2).find(|w| w[1].mean_dry_basis <= target).unwrap();
    let (a, z) = (met[0].mean_dry_basis, met[1].mean_dry_basis);
    let end_s = met[0].elapsed_s + 60.0 * (a - target) / (a - z);
    let done = vec![Done { at_s: 0.0, deed: Deed::Stage(0) }, Done { at_s: vent_s, deed: Deed::Stage(1) }];
    let course = Course { now_s, done, interrupted: Vec::new(), unconfirmed: Unconfirmed::NotDone };
    assert!(log.with_role(&Role::TrayWeight { tray: 4 }).count() == 1);
    Followed { course, readings, end_s }
}

/// Only the weights of the trays at or after a time.
pub fn weights(f: &Followed, from_s: f64) -> Vec<Reading> {
    let weight = |r: &&Reading| matches!(r.measured, Measured::TrayGross { .. }) && r.at_s >= from_s;
    f.readings.iter().filter(weight).copied().collect()
}
