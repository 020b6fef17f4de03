//! What a rehearsal costs: CPU time per simulated hour, polled as an app would at several speeds.
//! `cargo run --release -p fallrate-rehearse --example cost`
#![allow(clippy::unwrap_used)]
use fallrate_plan::request::PlanRequest;
use fallrate_plan::{Effort, Plan, plan};
use fallrate_rehearse::{Act, Scenario, VirtualCabinet};
use fallrate_series::Instant;

fn planned(product: &str, cabinet: &str) -> (Plan, fallrate_equipment::Cabinet) {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    let read = |path: String| std::fs::read_to_string(format!("{root}/{path}")).unwrap();
    let c = fallrate_equipment::Cabinet::parse("c", &read(format!("data/cabinets/{cabinet}.toml"))).unwrap();
    let p = fallrate_foods::Product::parse("p", &read(format!("data/products/{product}.toml"))).unwrap();
    let text = format!(
        "product = \"{product}\"\ncabinet = \"{cabinet}\"\n[load]\nper_area = \"{:.2} kg/m2\"\n[room]\ntemperature = \"20 degC\"\nrelative_humidity = \"45 %\"\n[target]\nmoisture = \"{:.1} % wb\"\n[timer]\nunload = \"at end\"\n",
        p.tray_load.value.kg_per_m2(),
        p.target.moisture.value.percent()
    );
    let request = PlanRequest::parse("cost.toml", &text).unwrap();
    (plan(&request, &p, &c, Effort { draws: 0 }, &|_| true).unwrap(), c)
}

/// CPU time of this process so far, s (Linux; the tick of user and system time is 10 ms).
fn cpu_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap();
    let fields: Vec<&str> = stat.rsplit(')').next().unwrap().split_whitespace().collect();
    (fields[11].parse::<f64>().unwrap() + fields[12].parse::<f64>().unwrap()) / 100.0
}

fn main() {
    println!("| product, cabinet | trays | polled every, s | simulated, h | CPU s | CPU s per simulated h |");
    println!("| --- | ---: | ---: | ---: | ---: | ---: |");
    for (product, key) in
        [("apple", "north"), ("beef_eye_of_round", "north"), ("apple", "bench_unit"), ("apple", "twin_cart")]
    {
        let (plan, cabinet) = planned(product, key);
        for poll_s in [3600.0, 600.0, 60.0, 1.0] {
            let scenario = Scenario::new(1, Instant::from_unix_seconds(1_709_275_200.0), "UTC");
            let mut v = VirtualCabinet::new(&plan, &cabinet, scenario).unwrap();
            v.start_as_planned().unwrap();
            let before = cpu_s();
            let end = plan.timer.dial_s;
            let mut next_act = 1800.0;
            while v.now_s() < end {
                if v.now_s() >= next_act {
                    v.act(Act::Weigh { tray: 1 }).unwrap();
                    next_act += 3600.0;
                }
                v.advance(v.now_s() + poll_s, &mut |_| true).unwrap();
            }
            let cpu = cpu_s() - before;
            let h = v.now_s() / 3600.0;
            println!(
                "| {product}, {key} | {} | {poll_s} | {h:.1} | {cpu:.2} | {:.4} |",
                plan.assembled.loaded_trays,
                cpu / h
            );
        }
    }
}
