//! Prints the joint fit of the measured apple curves as Markdown:
//! `cargo run -p fallrate-fit --example apple_report`.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs, dead_code)]

#[path = "../tests/all/apple_case.rs"]
mod apple_case;

use apple_case::{
    LEVELS, PRESSURE_PA, RunData, TEST_GRID, computed, fit_within, joint_fit, parameters as unknowns,
    product, repeated, runs, six_mm, spread, time_error,
};
use fallrate_air::{humidity_ratio_from_relative_humidity, wet_bulb_c};
use fallrate_fit::{Estimate, Hint, Parameter, jackknife_standard_errors};
use fallrate_foods::Product;

/// Published ranges of the parameters, in their order: low, high, where from.
const PUBLISHED: [Option<(f64, f64, &str)>; 6] = [
    Some((
        2.27e-10,
        1.28e-9,
        "Sacilik & Elicin 2006, Doymaz 2010, Campinas 36(1) 2016, all from 40 to 75 degC; 1.7e-9 to 4.4e-9 with air speed folded in (Velic 2004)",
    )),
    Some((14.47, 22.62, "Doymaz 2010, Kaya 2007, second hand")),
    Some((
        20.0,
        28.0,
        "early rates of these runs with both faces open; 21.4 to 44.3 in an apple tray dryer (Velic 2004, second hand)",
    )),
    Some((0.5, 0.8, "plate, laminar and turbulent; textbooks, from memory")),
    None,
    Some((0.75, 1.4, "the product file's range of the class isotherm, from memory")),
];

/// The unknowns with every one that has a published range held inside it.
fn published_parameters() -> Vec<Parameter> {
    let mut list = unknowns();
    for (p, range) in list.iter_mut().zip(PUBLISHED) {
        if let Some((low, high, _)) = range {
            p.bounds = Some((low, high));
            p.start = 0.5 * (low + high);
        }
    }
    list
}

fn short(run: &RunData) -> &str {
    run.id.trim_start_matches("apple_royen2020_")
}

/// Errors of a run's times, % at each level.
fn errors(product: &Product, run: &RunData, values: &[f64]) -> Vec<String> {
    let curve = computed(product, run, values, TEST_GRID).unwrap();
    let text = |level: f64| match time_error(run, &curve, level) {
        Ok(e) => format!("{:+.1} %", 100.0 * e),
        Err(_) => "not reached".to_owned(),
    };
    LEVELS.iter().map(|(level, _)| text(*level)).collect()
}

fn main() {
    let product = product();
    let all = runs();
    let six = six_mm(&all);
    let found = joint_fit(&product, &six, TEST_GRID, 4).unwrap();
    let without: Vec<(&RunData, Estimate)> = six
        .iter()
        .map(|run| {
            let rest: Vec<_> = six.iter().copied().filter(|r| r.id != run.id).collect();
            (*run, joint_fit(&product, &rest, TEST_GRID, 1).unwrap())
        })
        .collect();
    println!(
        "Data: Royen and others 2020, Processes 8(12), 1562, CC BY 4.0, figures read by a third party.\n"
    );
    println!(
        "One joint fit of the seven 6 mm runs by the full model, both faces open, 82 kPa (second hand), the middle of the stated humidity. Weights: 0.03 kg/kg + 3 % of the moisture.\n"
    );
    parameters(&found, &without);
    hints(&found);
    times(&product, &all, &six, &found);
    left_out(&product, &without);
    published_only(&product, &six);
    humidity(&product, &all);
}

fn parameters(found: &Estimate, without: &[(&RunData, Estimate)]) {
    let each: Vec<Vec<f64>> = without.iter().map(|(_, e)| e.values()).collect();
    let jackknife = jackknife_standard_errors(&each);
    println!(
        "| parameter | unit | estimate | standard error, readings as independent | standard error, leaving out runs | published | |\n| --- | --- | --- | --- | --- | --- | --- |"
    );
    for ((p, range), j) in found.parameters.iter().zip(PUBLISHED).zip(jackknife) {
        let (range, verdict) = match range {
            Some((low, high, source)) => {
                let inside = p.value >= low && p.value <= high;
                (format!("{low:.4e} to {high:.4e}: {source}"), if inside { "inside" } else { "**conflict**" })
            }
            None => (
                "none; 1.4 would be the fresh-size convention with the product file's sideways exponent"
                    .to_owned(),
                "",
            ),
        };
        let own = p.standard_error.map_or("none".to_owned(), |e| format!("{e:.1e}"));
        println!("| {} | {} | {:.3e} | {own} | {j:.1e} | {range} | {verdict} |", p.name, p.unit, p.value);
    }
    println!(
        "\nReadings {}, weighted residual standard deviation {:.2}. Readings along a curve are not independent, so the first standard error is too small.\n",
        found.residuals.len(),
        found.residual_standard_deviation()
    );
}

fn hints(found: &Estimate) {
    for hint in &found.hints {
        match hint {
            Hint::AtBound { name } => println!("- {name} sits at its bound."),
            Hint::Correlated { names: (a, b), correlation } => {
                println!("- {a} and {b} move together (correlation {correlation:.3}).");
            }
            Hint::Loose { name, relative_standard_error } => {
                println!("- {name} is known to {:.0} % only.", 100.0 * relative_standard_error);
            }
            Hint::Flat { ratio } => {
                println!("- a combination of parameters has no effect (singular values {ratio:.1e}).")
            }
            Hint::NotConverged { starts } => {
                println!("- {starts} of {} starts did not converge.", found.starts.len())
            }
            Hint::OtherMinima { starts, sum_of_squares } => println!(
                "- {starts} of {} starts end at a worse minimum (sum of squares {sum_of_squares:.0} against {:.0}).",
                found.starts.len(),
                found.sum_of_squares
            ),
        }
    }
}

fn times(product: &Product, all: &[RunData], six: &[&RunData], found: &Estimate) {
    println!(
        "\n### Times\n\n| run | to 3.0 kg/kg, s | error | to 1.0, s | error | to 0.5, s | error |\n| --- | --- | --- | --- | --- | --- | --- |"
    );
    for run in all {
        let odd = if run.thickness_m < 0.005 { " (predicted; known to be odd)" } else { "" };
        print!("| {}{odd} ", short(run));
        for ((level, _), error) in LEVELS.iter().zip(errors(product, run, &found.values())) {
            print!("| {:.0} | {error} ", run.curve.elapsed_at(*level).unwrap());
        }
        println!("|");
    }
    let spreads: Vec<String> =
        LEVELS.iter().map(|(level, _)| format!("{:.1} %", 100.0 * spread(&repeated(six), *level))).collect();
    println!(
        "\nAllowed: 10, 10 and 15 %. The yardstick: the four runs at one condition (50 degC, 1.1 m/s, 40-45 %) differ by {} from each other.\n",
        spreads.join(", ")
    );
    thin_run(all, six);
}

fn thin_run(all: &[RunData], six: &[&RunData]) {
    let Some(thin) = all.iter().find(|r| r.thickness_m < 0.005) else { return };
    let alike = repeated(six);
    #[allow(clippy::cast_precision_loss)]
    let mean = alike.iter().map(|r| r.curve.elapsed_at(1.0).unwrap()).sum::<f64>() / alike.len() as f64;
    let ratio = thin.thickness_m / 0.006;
    println!(
        "The 4 mm run takes {:.2} of the time of the 6 mm runs to 1.0 kg/kg. With surface resistance alone the ratio would be {ratio:.2}, with diffusion alone {:.2}; nothing between them gives more at equal exchange, so either the run was not made as described or its exchange was lower. It is not fitted.",
        thin.curve.elapsed_at(1.0).unwrap() / mean,
        ratio * ratio
    );
}

fn left_out(product: &Product, without: &[(&RunData, Estimate)]) {
    println!(
        "\n### Left out and predicted (published, not gated)\n\n| left out | to 3.0 | to 1.0 | to 0.5 | D60, m2/s | Ea, kJ/mol | h, W/(m2 K) | speed exponent | volume exponent | moisture factor |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |"
    );
    for (run, estimate) in without {
        let v = estimate.values();
        println!(
            "| {} | {} | {:.2e} | {:.1} | {:.1} | {:.2} | {:.2} | {:.2} |",
            short(run),
            errors(product, run, &v).join(" | "),
            v[0],
            v[1],
            v[2],
            v[3],
            v[4],
            v[5]
        );
    }
    println!(
        "\nOne run alone tells the activation energy (40 degC) and one the exponent of the air speed (0.6 m/s): without it that parameter is told by nothing but the shape of the other curves."
    );
}

fn published_only(product: &Product, six: &[&RunData]) {
    let held = fit_within(product, six, TEST_GRID, &published_parameters(), 3).unwrap();
    println!(
        "\n### Every parameter held inside its published range (published, not gated)\n\n| run | to 3.0 | to 1.0 | to 0.5 |\n| --- | --- | --- | --- |"
    );
    for run in six {
        println!("| {} | {} |", short(run), errors(product, run, &held.values()).join(" | "));
    }
    let list: Vec<String> =
        held.parameters.iter().map(|p| format!("{} {:.3e} {}", p.name, p.value, p.unit)).collect();
    println!("\nParameters: {}. Sum of squares {:.0}.", list.join(", "), held.sum_of_squares);
}

fn humidity(product: &Product, all: &[RunData]) {
    println!("\n### What the 40 degC run's humidity would change\n");
    let find = |end: &str| all.iter().find(|r| r.id.ends_with(end)).unwrap();
    let (cool, warm) = (find("t40_v110_6mm"), find("t50_v110_6mm_a"));
    let depression = |run: &RunData, rh: f64| {
        let w = humidity_ratio_from_relative_humidity(run.temperature_c, rh, PRESSURE_PA);
        run.temperature_c - wet_bulb_c(run.temperature_c, w, PRESSURE_PA)
    };
    println!(
        "The conflict about the activation energy rests on one run: it takes {:.2} times as long to 3.0 kg/kg as at 50 degC, while the wet-bulb depressions at 42.5 % ({:.1} and {:.1} K) stand as 1 to {:.2}. Were its air more humid than stated:\n",
        cool.curve.elapsed_at(3.0).unwrap() / warm.curve.elapsed_at(3.0).unwrap(),
        depression(cool, cool.rh),
        depression(warm, warm.rh),
        depression(warm, warm.rh) / depression(cool, cool.rh)
    );
    println!(
        "| humidity at 40 degC | sum of squares | Ea, kJ/mol | D60, m2/s | h, W/(m2 K) |\n| --- | --- | --- | --- | --- |"
    );
    for rh in [0.40, 0.425, 0.45, 0.50, 0.55, 0.60] {
        let mut moved = all.to_vec();
        moved.iter_mut().filter(|r| r.temperature_c == 40.0).for_each(|r| r.rh = rh);
        let found = joint_fit(product, &six_mm(&moved), TEST_GRID, 2).unwrap();
        let v = found.values();
        println!(
            "| {:.1} % | {:.0} | {:.1} | {:.2e} | {:.1} |",
            100.0 * rh,
            found.sum_of_squares,
            v[1],
            v[0],
            v[2]
        );
    }
    let saturation = fallrate_air::saturation_pressure_pa;
    println!(
        "\nRoom air that has 42.5 % at 50 degC has {:.0} % at 40 degC. The fit above uses the stated humidity.",
        42.5 * saturation(warm.temperature_c) / saturation(cool.temperature_c)
    );
}
