//! Prints the bones of a plan: `cargo run -p fallrate-plan --example try_plan -- PLAN PRODUCT CABINET [draws]`.
use fallrate_plan::{Effort, plan, request::PlanRequest};
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let read = |p: &str| std::fs::read_to_string(p).unwrap_or_default();
    let request = PlanRequest::parse(&a[1], &read(&a[1])).map_err(|e| println!("{e}"));
    let product = fallrate_foods::Product::parse(&a[2], &read(&a[2])).map_err(|e| println!("{e}"));
    let cabinet = fallrate_equipment::Cabinet::parse(&a[3], &read(&a[3])).map_err(|e| println!("{e}"));
    let (Ok(request), Ok(product), Ok(cabinet)) = (request, product, cabinet) else { return };
    let draws = a.get(4).and_then(|d| d.parse().ok()).unwrap_or(128);
    let clock = std::time::Instant::now();
    match plan(&request, &product, &cabinet, Effort { draws }, &|_| true) {
        Err(e) => println!("{e}"),
        Ok(p) => {
            println!("plan in {:.3} s; counts {:?}", clock.elapsed().as_secs_f64(), p.run.counts);
            for t in &p.tried {
                println!("{t:?}");
            }
            for e in &p.run.stage_ends {
                let s = &e.sample;
                println!(
                    "{:10} {:6.2} h {:?} T {:.1} RH {:.2} WB {:.1} core {:.1}/{:.1} X {:.3} {:.3} {:.3} aw {:.3} heater {:.2} kWh {:.2} cond {:.3}",
                    e.name,
                    s.elapsed_s / 3600.0,
                    e.reason,
                    s.chamber_temperature_c,
                    s.relative_humidity,
                    s.wet_bulb_c,
                    s.core_coldest_c,
                    s.core_warmest_c,
                    s.moisture_mean_dry_basis,
                    s.moisture_slowest_dry_basis,
                    s.moisture_fastest_dry_basis,
                    s.water_activity_slowest,
                    s.heater_demand,
                    (s.heater_j + s.fan_j) / 3.6e6,
                    s.condensate_kg
                );
            }
            println!("{:#?}", p.timer);
            println!("{:#?}\n{:?}\n{:?}\n{:?}", p.feasibility, p.energy, p.yields, p.tray);
            for a in &p.acts {
                println!("{:.2} h {:?}", a.at_s / 3600.0, a);
            }
            println!("{:?}\n{:?}\nKILL {:#?}\nbalance {:?}", p.lift_off, p.core, p.kill, p.run.balance);
            if let Some(v) = p.variance {
                println!("R2 {:.3}", v.r_squared);
                for s in v.shares {
                    println!("{:?}", s);
                }
            }
            if let Some(b) = p.band {
                println!("unreached {}", b.unreached);
            }
        }
    }
}
