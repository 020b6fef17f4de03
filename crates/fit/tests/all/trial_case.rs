//! Invented trials with a known truth, shared by tests and reports: the drying model on a finer grid than the fit's, with the
//! noise of a kitchen scale and lots that are not quite what was stated of them.

use fallrate_fit::stats::Draws;
use fallrate_fit::trial::{TrayRecord, Trial, TrialGrid, Unknown, Weighing, expected_readings};
use fallrate_foods::Product;

/// Finer than a fit computes.
pub const TRUTH_GRID: TrialGrid = TrialGrid { nodes: 31, relative_tolerance: 1e-7 };

pub fn apple() -> Product {
    Product::parse("apple.toml", include_str!("../../../../data/products/apple.toml")).unwrap()
}

/// The truth of the product.
pub const TRUTH: [(Unknown, f64); 6] = [
    (Unknown::Diffusivity, 7.0e-10),
    (Unknown::ActivationEnergy, 28_000.0),
    (Unknown::DiffusivityMoisture, 1.0),
    (Unknown::Exchange, 0.85),
    (Unknown::WaterHeld, 1.1),
    (Unknown::SidewaysShrinkage, 0.25),
];

pub fn truth(unknown: Unknown) -> f64 {
    TRUTH.iter().find(|t| t.0 == unknown).unwrap().1
}

/// How a trial is made.
#[derive(Clone, Copy, Debug)]
pub struct Plan {
    pub temperature_c: f64,
    pub relative_humidity: f64,
    pub size_m: f64,
    pub trays: usize,
    pub weighings: u32,
    pub hours: f64,
}

pub const PLANS: [Plan; 3] = [
    Plan { temperature_c: 60.0, relative_humidity: 0.15, size_m: 0.006, trays: 2, weighings: 9, hours: 7.0 },
    Plan { temperature_c: 48.0, relative_humidity: 0.20, size_m: 0.006, trays: 2, weighings: 9, hours: 9.0 },
    Plan { temperature_c: 60.0, relative_humidity: 0.15, size_m: 0.010, trays: 2, weighings: 9, hours: 14.0 },
];

/// A trial without errors of its lot or of its scale.
pub fn exact(product: &Product, name: &str, plan: &Plan) -> Trial {
    let air = (plan.temperature_c, plan.relative_humidity);
    let mut trial = Trial::in_tunnel(name, product, air, 25.0);
    trial.size_m = plan.size_m;
    trial.moisture_error_wet_basis = 0.005;
    trial.size_error = 0.02;
    let weighing = |i: u32| Weighing {
        elapsed_s: 3600.0 * plan.hours * f64::from(i) / f64::from(plan.weighings - 1),
        gross_kg: 1.0,
    };
    for k in 0..plan.trays {
        trial.trays.push(TrayRecord {
            name: format!("{}", k + 1),
            group: 0,
            positions: None,
            tare_kg: 1.2,
            weighings: (0..plan.weighings).map(weighing).collect(),
        });
    }
    let expected = expected_readings(product, &trial, &TRUTH, TRUTH_GRID).unwrap();
    fill(&mut trial, &expected.weight_ratios);
    trial
}

/// Loads of 1.5 kg and a little more from tray to tray.
fn fill(trial: &mut Trial, ratios: &[Vec<f64>]) {
    for (k, (tray, ratios)) in trial.trays.iter_mut().zip(ratios).enumerate() {
        let load = 1.5 + 0.07 * k as f64;
        for (w, r) in tray.weighings.iter_mut().zip(ratios) {
            w.gross_kg = tray.tare_kg + load * r;
        }
    }
}

/// A trial whose lot is not quite what was stated, weighed on a scale with an error of 2 g.
pub fn noisy(product: &Product, name: &str, plan: &Plan, seed: u64, stream: u64) -> Trial {
    let mut draws = Draws::new(seed, stream);
    let stated = exact_shell(product, name, plan);
    let mut real = stated.clone();
    real.preparation.raw_moisture_wet_basis += real.moisture_error_wet_basis * draws.normal();
    real.size_m *= (real.size_error * draws.normal()).exp();
    let expected = expected_readings(product, &real, &TRUTH, TRUTH_GRID).unwrap();
    let mut trial = stated;
    fill(&mut trial, &expected.weight_ratios);
    for w in trial.trays.iter_mut().flat_map(|t| &mut t.weighings) {
        w.gross_kg += trial.scale_error_kg * draws.normal();
    }
    trial
}

/// The trial as stated, without its weights.
fn exact_shell(product: &Product, name: &str, plan: &Plan) -> Trial {
    exact(product, name, plan)
}

/// The three trials of [`PLANS`] with noise.
pub fn three(product: &Product, seed: u64) -> Vec<Trial> {
    let names = ["warm", "cool", "thick"];
    PLANS.iter().zip(names).enumerate().map(|(i, (p, n))| noisy(product, n, p, seed, i as u64)).collect()
}
