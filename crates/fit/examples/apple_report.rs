//! Prints the joint fit of the measured apple curves as Markdown:
//! `cargo run -p fallrate-fit --example apple_report`.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

#[path = "../tests/all/apple_case.rs"]
mod apple_case;

use apple_case::{LEVELS, TEST_GRID, computed, joint_fit, product, runs, six_mm, time_error};

fn main() {
    let product = product();
    let all = runs();
    let six = six_mm(&all);
    let found = joint_fit(&product, &six, TEST_GRID, 4).unwrap();
    println!(
        "## Apple slices, measured (Royen and others 2020, CC BY 4.0, read from figures by a third party)\n"
    );
    println!("One joint fit of the seven 6 mm runs by the full model, both faces open, 82 kPa.\n");
    println!("| parameter | unit | estimate | standard error | published |\n| --- | --- | --- | --- | --- |");
    let published = [
        "2.3e-10 to 1.28e-9 (four studies, abstracts), up to 4.4e-9 with air speed folded in",
        "14.5 to 22.6 (three studies)",
        "20 to 28 from the early rates with both faces open; 21 to 44 (Velic 2004, second hand)",
        "0.5 laminar, 0.8 turbulent (textbooks, from memory)",
        "none; 1.4 would be the fresh-size convention with the product file's sideways exponent",
        "1.0 to 1.5 (monolayers of Fuji apple against the class value)",
    ];
    for (p, range) in found.parameters.iter().zip(published) {
        println!(
            "| {} | {} | {:.3e} | {} | {} |",
            p.name,
            p.unit,
            p.value,
            p.standard_error.map_or("none".to_owned(), |e| format!("{e:.1e}")),
            range
        );
    }
    println!(
        "\nReadings {}, weighted residual standard deviation {:.2}. Hints: {:?}\n",
        found.residuals.len(),
        found.residual_standard_deviation(),
        found.hints
    );
    let values = found.values();
    println!(
        "| run | to 3.0 kg/kg, s | error | to 1.0 | error | to 0.5 | error |\n| --- | --- | --- | --- | --- | --- | --- |"
    );
    for run in &all {
        let curve = computed(&product, run, &values, TEST_GRID).unwrap();
        print!(
            "| {}{} ",
            run.id.trim_start_matches("apple_royen2020_"),
            if run.thickness_m < 0.005 { " (predicted, known to be odd)" } else { "" }
        );
        for (level, _) in LEVELS {
            print!(
                "| {:.0} | {:+.1} % ",
                run.curve.elapsed_at(level).unwrap(),
                100.0 * time_error(run, &curve, level).unwrap_or(f64::NAN)
            );
        }
        println!("|");
    }
    println!("\n### Left out and predicted (published, not gated)\n");
    println!(
        "| left out | to 3.0 | to 1.0 | to 0.5 | D60, m2/s | Ea, kJ/mol | h, W/(m2 K) | volume exponent |\n| --- | --- | --- | --- | --- | --- | --- | --- |"
    );
    for run in &six {
        let rest: Vec<_> = six.iter().copied().filter(|r| r.id != run.id).collect();
        match joint_fit(&product, &rest, TEST_GRID, 1) {
            Ok(without) => {
                let v = without.values();
                let curve = computed(&product, run, &v, TEST_GRID).unwrap();
                print!("| {} ", run.id.trim_start_matches("apple_royen2020_"));
                for (level, _) in LEVELS {
                    print!("| {:+.1} % ", 100.0 * time_error(run, &curve, level).unwrap_or(f64::NAN));
                }
                println!("| {:.2e} | {:.1} | {:.1} | {:.2} |", v[0], v[1], v[2], v[4]);
            }
            Err(e) => println!("| {} | {e} | | | | | | |", run.id),
        }
    }
    println!(
        "\nOne run per condition cannot tell the activation energy (one run at 40 degC) nor the exponent of the air speed (one at 0.6 m/s): without it they stay at their start or run to a bound."
    );
}
