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
    let mut times = Vec::new();
    let mut result = None;
    for _ in 0..20 {
        let clock = std::time::Instant::now();
        result = Some(run(&batch, &stages, &options, &mut |_| true));
        times.push(clock.elapsed().as_secs_f64());
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
            println!("{:?}\n{:?}\nmedian of 20: {:.3} ms", r.balance, r.counts, median(&mut times) * 1e3);
        }
        Some(Err(e)) => println!("{e}"),
        None => {}
    }
    cost(&stages, &options);
}

fn median(times: &mut [f64]) -> f64 {
    times.sort_by(f64::total_cmp);
    times.get(times.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Time of a run against nodes and positions: it should be linear in both.
fn cost(stages: &[fallrate_simulate::StageInput], options: &Options) {
    println!("\npositions  nodes  states  steps  median of 5, ms  us per state and right-hand side");
    for (positions, nodes) in [(5, 13), (10, 13), (20, 13), (40, 13), (5, 25), (5, 49), (5, 97)] {
        let mut batch = reference_case::standard_batch();
        batch.load.positions = positions;
        batch.load.nodes = nodes;
        let mut times = Vec::new();
        let mut counts = fallrate_simulate::Counts::default();
        for _ in 0..5 {
            let clock = std::time::Instant::now();
            if let Ok(r) = run(&batch, stages, options, &mut |_| true) {
                counts = r.counts;
            }
            times.push(clock.elapsed().as_secs_f64());
        }
        let states = 3 * positions * nodes * 2 + 8;
        let t = median(&mut times);
        #[allow(clippy::cast_precision_loss)]
        let per = 1e6 * t / (states * counts.rates) as f64;
        println!("{positions:9}  {nodes:5}  {states:6}  {:5}  {:15.2}  {per:.4}", counts.steps, t * 1e3);
    }
}
