//! What an update and a what-if cost: wall clock and CPU time for sets of readings, at several times of a batch.
//! `cargo run --release -p fallrate-follow --example cost`
#![allow(clippy::unwrap_used, clippy::panic)]
use std::time::Instant as Clock;

use fallrate_follow::{
    Along, Case, Course, Deed, Done, Effort, Measured, Place, Reading, Unconfirmed, WhatIf, readings_of_log,
    update, what_if,
};
use fallrate_plan::request::PlanRequest;
use fallrate_plan::{Effort as PlanEffort, plan};
use fallrate_rehearse::{Act, Scenario, VirtualCabinet};
use fallrate_series::Instant;

fn read(path: &str) -> String {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    std::fs::read_to_string(format!("{root}/{path}")).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// CPU time of this process so far, s (Linux; in steps of 10 ms).
fn cpu_s() -> f64 {
    let stat = read_stat();
    let fields: Vec<&str> = stat.rsplit(')').next().unwrap().split_whitespace().collect();
    (fields[11].parse::<f64>().unwrap() + fields[12].parse::<f64>().unwrap()) / 100.0
}

fn read_stat() -> String {
    std::fs::read_to_string("/proc/self/stat").unwrap()
}

fn main() {
    println!(
        "| plan | now, share of the plan's end | readings | updates of the mode | effective of 64 draws | update, CPU s | wall s | what if, CPU s | wall s |"
    );
    println!("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |");
    for (file, product, cabinet) in [
        ("examples/apple_rings_overnight.toml", "apple", "north"),
        ("examples/beef_strips.toml", "beef_eye_of_round", "north"),
        ("examples/kale_crisps.toml", "kale", "north"),
    ] {
        let product =
            fallrate_foods::Product::parse("p", &read(&format!("data/products/{product}.toml"))).unwrap();
        let cabinet =
            fallrate_equipment::Cabinet::parse("c", &read(&format!("data/cabinets/{cabinet}.toml"))).unwrap();
        let request = PlanRequest::parse("cost.toml", &read(file)).unwrap();
        let plan = plan(&request, &product, &cabinet, PlanEffort { draws: 32 }, &|_| true).unwrap();
        let case = Case { assembled: &plan.assembled, product: &product, cabinet: &cabinet };
        for share in [0.1, 0.5, 0.9] {
            let now_s = (share * plan.timer.nominal_s / 60.0).round() * 60.0;
            let scenario = Scenario::new(5, Instant::from_unix_seconds(1_709_275_200.0), "UTC");
            let start = scenario.start;
            let mut v = VirtualCabinet::new(&plan, &cabinet, scenario).unwrap();
            v.start_as_planned().unwrap();
            let mut done = vec![Done { at_s: 0.0, deed: Deed::Stage(0) }];
            let ends = plan.run.stage_ends.iter().map(|e| e.sample.elapsed_s);
            for (next, end_s) in plan.assembled.stages.iter().enumerate().skip(1).zip(ends) {
                if end_s < now_s {
                    v.advance(end_s, &mut |_| true).unwrap();
                    let (k, stage) = next;
                    let at = [
                        Act::Vent(stage.vent.clone()),
                        Act::Fan(stage.fan.clone()),
                        Act::SetPoint(stage.set_point_c),
                    ]
                    .map(|a| v.act(a).unwrap());
                    done.push(Done { at_s: at[0], deed: Deed::Stage(k) });
                }
            }
            v.advance(now_s.max(v.now_s()), &mut |_| true).unwrap();
            for tray in [3, 8, 18] {
                v.act(Act::Weigh { tray }).unwrap();
            }
            v.advance(v.now_s() + 400.0, &mut |_| true).unwrap();
            let place = |p: &str| {
                let tray = p.strip_prefix("tray ")?.strip_suffix(" leaving")?.parse().ok()?;
                Some(Place::Tray { tray, along: Along::Leaving })
            };
            let all = readings_of_log(&v.log().unwrap(), start, plan.assembled.tare_kg, 1, &place);
            let weights: Vec<Reading> =
                all.iter().filter(|r| matches!(r.measured, Measured::TrayGross { .. })).copied().collect();
            let course = Course { done, unconfirmed: Unconfirmed::NotDone, ..Course::by_plan(v.now_s()) };
            for readings in [&weights, &all] {
                let (cpu, clock) = (cpu_s(), Clock::now());
                let u = update(case, &course, readings, Effort::default(), None, &|_| true).unwrap();
                let (update_cpu, update_s) = (cpu_s() - cpu, clock.elapsed().as_secs_f64());
                let (cpu, clock) = (cpu_s(), Clock::now());
                let change = WhatIf::SetPoint(Some(55.0));
                let _ = what_if(case, &course, &u, &change, &|_| true).unwrap();
                println!(
                    "| {file} | {share} | {} | {} | {:.0} | {update_cpu:.2} | {update_s:.2} | {:.2} | {:.2} |",
                    readings.len(),
                    u.quality.updates,
                    u.quality.effective,
                    cpu_s() - cpu,
                    clock.elapsed().as_secs_f64(),
                );
            }
        }
    }
}
