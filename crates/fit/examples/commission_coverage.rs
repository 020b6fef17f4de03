//! Prints bias and coverage of replicate commissionings, and how drift is told, as Markdown:
//! `cargo run -p fallrate-fit --example commission_coverage`. A soak: some minutes.
#![allow(clippy::unwrap_used, missing_docs, dead_code)]

#[path = "../tests/all/commission_case.rs"]
mod commission_case;

use commission_case::{Truth, north};
use fallrate_fit::commission::{Cause, Commissioned, KnownFigures, Quantity, Told, commission, drift};
use fallrate_fit::stats::share_interval;
use rayon::prelude::*;

/// Misses in standard errors; what changed, what was named first, with what probability.
type Replicate = (Vec<Option<f64>>, Vec<(Cause, Cause, f64)>);

const REPLICATES: u64 = 200;
const LEVELS: [(f64, f64); 2] = [(0.80, 1.2816), (0.95, 1.96)];

fn figures(t: &Truth, seed: u64) -> Commissioned {
    let tests = [
        t.heat_cool(0, 900.0, 4800.0, true, seed),
        t.hold(0, 55.0, 5400.0, 3600.0, seed + 1),
        t.pan(0, 50.0, 0.25, 1.5, seed + 2),
        t.pan(2, 50.0, 1.2, 1.0, seed + 3),
        t.decay(1, 50.0, 500.0, 900.0, seed + 4),
    ];
    commission(&north(), &KnownFigures::default(), &tests).unwrap()
}

fn main() {
    let wanted = [
        Quantity::HeaterPower,
        Quantity::HeatCapacity,
        Quantity::ShellLoss,
        Quantity::Leakage,
        Quantity::Vent(1),
        Quantity::Vent(2),
        Quantity::DisplayOffset,
    ];
    let all: Vec<Replicate> =
        (0..REPLICATES).into_par_iter().map(|stream| replicate(stream, &wanted)).collect();
    println!(
        "{REPLICATES} virtual cabinets, drawn about the draft; each tested by heat-up and cool-down with a meter, a"
    );
    println!("hold, two weighed pans and one decay, read by instruments that lag, err, scatter and round.\n");
    println!("| figure | told | mean miss, standard errors | 80 % interval holds | 95 % interval holds |");
    println!("| --- | --- | --- | --- | --- |");
    for (i, q) in wanted.iter().enumerate() {
        let z: Vec<f64> = all.iter().filter_map(|a| a.0[i]).collect();
        let mean = z.iter().sum::<f64>() / z.len().max(1) as f64;
        let cell = |limit: f64| {
            let held = z.iter().filter(|z| z.abs() < limit).count();
            share_interval(held, z.len(), 0.99).map_or_else(
                |_| "-".to_owned(),
                |s| format!("{:.1} % ({:.1} to {:.1})", 100.0 * s.share, 100.0 * s.low, 100.0 * s.high),
            )
        };
        println!("| {q:?} | {} | {mean:+.2} | {} | {} |", z.len(), cell(LEVELS[0].1), cell(LEVELS[1].1));
    }
    println!("\nIntervals behind the shares: exact binomial, 99 %.\n");
    println!("Drift, by the heat-up and cool-down repeated (vent shut):\n");
    println!("| what changed | named first | probability given to it above 0.8 |");
    println!("| --- | --- | --- |");
    for cause in [Cause::Nothing, Cause::Heater, Cause::DoorSeal, Cause::Fan, Cause::Walls] {
        let of: Vec<&(Cause, Cause, f64)> = all.iter().flat_map(|a| &a.1).filter(|d| d.0 == cause).collect();
        let named = of.iter().filter(|d| d.1 == cause).count();
        let sure = of.iter().filter(|d| d.1 == cause && d.2 > 0.8).count();
        println!("| {cause:?} | {named} of {} | {sure} |", of.len());
    }
}

fn replicate(stream: u64, wanted: &[Quantity]) -> Replicate {
    let t = Truth::drawn(&north(), 4242, stream);
    let found = figures(&t, 1000 + 10 * stream);
    let truth = |q: Quantity| match q {
        Quantity::HeaterPower => t.chamber.heater_w,
        Quantity::HeatCapacity => t.heat_capacity(),
        Quantity::ShellLoss => t.shell_loss(),
        Quantity::Leakage => t.chamber.leakage_kg_per_s,
        Quantity::Vent(i) => t.vents[i],
        _ => t.chamber.controller.displayed_offset_k,
    };
    let miss = |&q: &Quantity| match found.outcome(q).unwrap().told {
        Told::Yes { value, standard_error } => Some((value - truth(q)) / standard_error),
        _ => None,
    };
    let z = wanted.iter().map(miss).collect();
    let cause =
        [Cause::Nothing, Cause::Heater, Cause::DoorSeal, Cause::Fan, Cause::Walls][(stream % 5) as usize];
    let mut later = t.clone();
    match cause {
        Cause::Heater => later.chamber.heater_w *= 0.85,
        Cause::DoorSeal => later.chamber.leakage_kg_per_s *= 2.5,
        Cause::Fan => later.fan_left = (0.7, 0.7_f64.powf(0.6)),
        Cause::Walls => later.chamber.shell_loss_w_per_k *= 1.25,
        _ => {}
    }
    later.room.temperature_c += 2.0;
    let d = drift(&found, &later.heat_cool(0, 900.0, 4800.0, true, 5000 + stream)).unwrap();
    (z, vec![(cause, d.weighed[0].cause, d.weighed[0].probability)])
}
