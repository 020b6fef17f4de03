//! Prints the stage ends of the two reference batches beside the independent implementation, as Markdown.
//! `cargo run -p fallrate-simulate --example stage_ends`
use fallrate_simulate::{Batch, Options, Sample, StageInput, reference_case, run};

type Column = (&'static str, fn(&Sample) -> f64, usize);

/// Columns of the independent tables, in their order.
const COLUMNS: [Column; 10] = [
    ("elapsed, s", |s| s.elapsed_s, 1),
    ("chamber, degC", |s| s.chamber_temperature_c, 3),
    ("RH, fraction", |s| s.relative_humidity, 4),
    ("core warmest, degC", |s| s.core_warmest_c, 3),
    ("core coldest, degC", |s| s.core_coldest_c, 3),
    ("X mean, kg/kg db", |s| s.moisture_mean_dry_basis, 5),
    ("X slowest", |s| s.moisture_slowest_dry_basis, 5),
    ("X fastest", |s| s.moisture_fastest_dry_basis, 5),
    ("heater and fan, MJ", |s| (s.heater_j + s.fan_j) / 1e6, 4),
    ("vented, kg", |s| s.vented_kg, 4),
];

fn table(title: &str, batch: &Batch, stages: &[StageInput], independent: &str) {
    println!("## {title}\n");
    let options = Options { sample_every_s: None, enforce_balances: false, ..Options::default() };
    let result = match run(batch, stages, &options, &mut |_| true) {
        Ok(r) => r,
        Err(e) => {
            println!("{e}");
            return;
        }
    };
    let head: Vec<&str> = COLUMNS.iter().map(|c| c.0).collect();
    println!("| stage | by | {} |\n|{} --- |", head.join(" | "), " --- |".repeat(COLUMNS.len() + 1));
    let rows: Vec<Vec<&str>> = independent.lines().skip(2).map(|l| l.split(',').collect()).collect();
    for (end, row) in result.stage_ends.iter().zip(&rows) {
        let ours: Vec<String> =
            COLUMNS.iter().map(|(_, f, d)| format!("{:.*}", *d, f(&end.sample))).collect();
        println!("| {} | Fallrate | {} |", end.name, ours.join(" | "));
        let theirs: Vec<String> = COLUMNS
            .iter()
            .zip(row.iter().skip(1))
            .map(|((name, _, d), v)| {
                let value: f64 = v.parse().unwrap_or(f64::NAN);
                format!("{:.*}", *d, if name.ends_with("MJ") { value / 1e6 } else { value })
            })
            .collect();
        println!("| | independent, fine grid | {} |", theirs.join(" | "));
    }
    let c = &result.counts;
    println!(
        "\nSteps {}, rejected {}, right-hand sides {}, Jacobians {}, factorisations {}.\n",
        c.steps, c.rejected, c.rates, c.slopes, c.factors
    );
}

fn main() {
    println!(
        "3 tray groups x 5 positions x 13 nodes, relative tolerance 1e-5, as `reference/standard_batch/` specifies. The \
         independent implementation is `reference/scripts/standard_batch.py` with 49 evenly spaced nodes at 1e-8.\n"
    );
    table(
        "Standard batch, limited by its heater",
        &reference_case::standard_batch(),
        &reference_case::standard_stages(),
        include_str!("../../../reference/standard_batch/stage_ends_fine.csv"),
    );
    table(
        "Second case, limited by diffusion",
        &reference_case::diffusion_limited_batch(),
        &reference_case::diffusion_limited_stages(),
        include_str!("../../../reference/standard_batch/stage_ends_diffusion_limited_fine.csv"),
    );
}
