//! Prints the stage ends of the standard batch, with its balances, counts and the time of one run.
//! `cargo run --release -p fallrate-simulate --example standard_batch [rtol] [nodes]`
use fallrate_simulate::{Options, reference_case, run};

fn main() {
    let mut args = std::env::args().skip(1);
    let rtol = args.next().and_then(|a| a.parse().ok()).unwrap_or(1e-5);
    let nodes = args.next().and_then(|a| a.parse().ok()).unwrap_or(13);
    let mut batch = reference_case::standard_batch();
    batch.load.nodes = nodes;
    let options = Options {
        relative_tolerance: rtol,
        sample_every_s: None,
        enforce_balances: false,
        ..Options::default()
    };
    let stages = reference_case::standard_stages();
    let mut best = f64::INFINITY;
    let mut result = None;
    for _ in 0..20 {
        let clock = std::time::Instant::now();
        result = Some(run(&batch, &stages, &options, &mut |_| true));
        best = best.min(clock.elapsed().as_secs_f64());
    }
    match result {
        Some(Ok(r)) => {
            for e in &r.stage_ends {
                let s = &e.sample;
                println!(
                    "{:10} {:10.2} s  T {:7.3}  RH {:.4}  core {:7.3} {:7.3}  X {:.5} {:.5} {:.5}  E {:.5e} J  vented {:.5} kg",
                    e.name,
                    s.elapsed_s,
                    s.chamber_temperature_c,
                    s.relative_humidity,
                    s.core_warmest_c,
                    s.core_coldest_c,
                    s.moisture_mean_dry_basis,
                    s.moisture_slowest_dry_basis,
                    s.moisture_fastest_dry_basis,
                    s.heater_j + s.fan_j,
                    s.vented_kg
                );
            }
            println!("{:?}\n{:?}\nbest of 20: {:.3} ms", r.balance, r.counts, best * 1e3);
        }
        Some(Err(e)) => println!("{e}"),
        None => {}
    }
}
