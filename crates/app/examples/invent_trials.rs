//! Makes the invented readings in `examples/trials` with the virtual cabinet: the drying model with figures that the product
//! file does not say, on a finer grid than a fit's, with the errors of a kitchen scale and lots that are not quite what was
//! stated of them. `cargo run -p fallrate-app --example invent_trials` from the root of the repository.
#![allow(clippy::unwrap_used, missing_docs)]

use std::fmt::Write as _;
use std::path::Path;

use fallrate_app::learning::{TrialCase, TrialFile};
use fallrate_app::ports::{FileFault, Files};
use fallrate_app::{Library, PlanCase};
use fallrate_fit::stats::Draws;
use fallrate_fit::trial::{TrayRecord, Trial, TrialGrid, Unknown, Weighing, expected_readings};
use fallrate_units::{Diffusivity, Length, MoistureWetBasis, MolarEnergy};

const FOLDER: &str = "examples/trials";
const GRID: TrialGrid = TrialGrid { nodes: 25, relative_tolerance: 1e-6 };
const TRUTH: [(Unknown, f64); 6] = [
    (Unknown::Diffusivity, 6.2e-10),
    (Unknown::ActivationEnergy, 26_000.0),
    (Unknown::DiffusivityMoisture, 1.1),
    (Unknown::Exchange, 0.92),
    (Unknown::WaterHeld, 1.08),
    (Unknown::SidewaysShrinkage, 0.25),
];

struct Disk;

impl Files for Disk {
    fn read(&self, path: &Path, _: usize) -> Result<Vec<u8>, FileFault> {
        std::fs::read(path).map_err(|e| FileFault {
            path: path.display().to_string(),
            what: "cannot be read",
            reason: e.to_string(),
        })
    }
}

fn main() {
    let library = Library::embedded().unwrap();
    let path = format!("{FOLDER}/apple.toml");
    let file = TrialFile::read_before(&library, &Disk, &path).unwrap();
    let made = [("apple_57", "north_57"), ("apple_47", "north_47"), ("apple_57_thick", "north_57_thick")];
    std::fs::write(format!("{FOLDER}/apple_curves.csv"), curves(&file.product.product)).unwrap();
    for (n, (case, (stem, plan))) in file.cases.iter().zip(made).enumerate() {
        let mut draws = Draws::new(20_260_310, n as u64);
        let real = real_lot(&case.trial, &mut draws);
        let weights = weighings(&file, case, &real, &mut draws);
        std::fs::write(format!("{FOLDER}/{stem}_weighings.txt"), weights).unwrap();
        let air = air(&library, (case, &real), plan, &mut draws);
        std::fs::write(format!("{FOLDER}/{stem}_air.csv"), air).unwrap();
    }
}

/// Drying curves of thin layers in held air, as a laboratory would print them.
fn curves(product: &fallrate_foods::Product) -> String {
    let mut text = String::from(
        "# Invented: made with the virtual cabinet, thin layers of 6 mm in held air.\n\
         curve;time (h);moisture (kg/kg db);air (degC);rh (%)\n",
    );
    for (n, (name, air)) in [("60 degC", (60.0, 0.12)), ("50 degC", (50.0, 0.18))].iter().enumerate() {
        let mut draws = Draws::new(20_260_401, n as u64);
        let mut trial = Trial::in_tunnel(name, product, *air, 28.0);
        let hours: Vec<f64> = (0..=12).map(|i| 0.5 * f64::from(i)).collect();
        let weighing = |h: &f64| Weighing { elapsed_s: 3600.0 * h, gross_kg: 1.0 };
        trial.trays.push(TrayRecord {
            name: "1".to_owned(),
            group: 0,
            positions: None,
            tare_kg: 0.0,
            weighings: hours.iter().map(weighing).collect(),
        });
        let ratios = expected_readings(product, &trial, &TRUTH, GRID).unwrap().weight_ratios;
        let wet = trial.preparation.raw_moisture_wet_basis;
        for (h, ratio) in hours.iter().zip(&ratios[0]) {
            let x = ratio / (1.0 - wet) - 1.0 + 0.02 * draws.normal();
            writeln!(text, "{name};{h:.1};{:.3};{};{}", x.max(0.01), air.0, 100.0 * air.1).unwrap();
        }
    }
    text
}

/// Every hour, as a person would; tray 3 a few minutes before tray 16.
fn times(trial: &Trial) -> Vec<f64> {
    let hours = if trial.size_m > 0.008 { 16 } else { 10 };
    let step = if hours > 10 { 2 } else { 1 };
    (0..=hours / step).map(|i| f64::from(i * step) * 3600.0).collect()
}

/// The lot as it is, off what is stated of it by chance.
fn real_lot(stated: &Trial, draws: &mut Draws) -> Trial {
    let mut real = stated.clone();
    real.preparation.raw_moisture_wet_basis += real.moisture_error_wet_basis * draws.normal();
    real.size_m *= (real.size_error * draws.normal()).exp();
    real
}

fn weighings(file: &TrialFile, case: &TrialCase, real: &Trial, draws: &mut Draws) -> String {
    let mut trial = case.trial.clone();
    let all = times(&trial);
    for (k, tray) in trial.trays.iter_mut().enumerate() {
        let late = 180.0 * k as f64;
        let weighing = |t: &f64| Weighing { elapsed_s: if *t > 0.0 { t + late } else { 0.0 }, gross_kg: 1.0 };
        tray.weighings = all.iter().map(weighing).collect();
    }
    let lot = Trial { trays: trial.trays.clone(), ..real.clone() };
    let expected = expected_readings(&file.product.product, &lot, &TRUTH, GRID).unwrap();
    let mut lines: Vec<(f64, String)> = Vec::new();
    for (k, (tray, ratios)) in trial.trays.iter().zip(&expected.weight_ratios).enumerate() {
        let load = case.load_kg.unwrap() * (0.99 + 0.02 * k as f64);
        for (w, ratio) in tray.weighings.iter().zip(ratios) {
            let kg = tray.tare_kg + load * ratio + trial.scale_error_kg * draws.normal();
            lines.push((w.elapsed_s, format!("tray {} {:.3} kg", tray.name, kg)));
        }
    }
    lines.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut text = String::from("hand entry 1\n# Invented: made with the virtual cabinet.\n");
    write!(text, "date {}\nzone Europe/Madrid\nby Day operator\nclock within 60 s\n", case.date).unwrap();
    for (s, line) in lines {
        writeln!(text, "{} {line}", clock(case, s)).unwrap();
    }
    text
}

fn clock(case: &TrialCase, elapsed_s: f64) -> String {
    let minutes = (case.start.seconds() + elapsed_s) / 60.0;
    format!("{:02}:{:02}", (minutes / 60.0).floor() as u32 % 24, minutes.round() as u32 % 60)
}

/// The air that the cabinet makes with such product, every ten minutes.
fn air(library: &Library, (case, real): (&TrialCase, &Trial), plan: &str, draws: &mut Draws) -> String {
    let mut plan = PlanCase::read(library, &Disk, &format!("{FOLDER}/{plan}.toml"), &[]).unwrap();
    let mut product = plan.product.clone();
    product.diffusivity.at_60c.value = Diffusivity::from_m2_per_s(TRUTH[0].1);
    product.diffusivity.activation_energy.value = MolarEnergy::from_j_per_mol(TRUTH[1].1);
    product.sorption.moisture_factor.value = TRUTH[4].1;
    product.volume.lateral_exponent.value = TRUTH[5].1;
    let mut exponent = product.volume.lateral_exponent.clone();
    (exponent.value, exponent.low, exponent.high) = (TRUTH[2].1, TRUTH[2].1, TRUTH[2].1);
    product.diffusivity.moisture_parameter = Some(exponent);
    product.initial_moisture.value =
        MoistureWetBasis::from_kg_per_kg(real.preparation.raw_moisture_wet_basis);
    plan.request.piece.thickness = Some(Length::from_metres(real.size_m));
    let mut setup = fallrate_plan::assemble(&plan.request, &product, &plan.cabinet).unwrap().setup;
    setup.batch.exchange.heat_transfer_w_per_m2_k *= TRUTH[3].1;
    let last = times(&case.trial).last().copied().unwrap() + 600.0;
    let options = fallrate_simulate::Options {
        samples_at_s: (0..).map(|i| f64::from(i) * 600.0).take_while(|t| *t <= last).collect(),
        sample_every_s: None,
        ..fallrate_simulate::Options::default()
    };
    let run = fallrate_simulate::run(&setup.batch, &setup.stages, &options, &mut |_| true).unwrap();
    let mut text = String::from("Date,Time,Air temperature (°C),Relative humidity (%)\n");
    for s in run.samples.iter().filter(|s| s.elapsed_s <= last && (s.elapsed_s / 600.0).fract() < 1e-6) {
        let t = s.chamber_temperature_c + 0.2 * draws.normal();
        let rh = (100.0 * s.relative_humidity + 0.5 * draws.normal()).clamp(1.0, 99.0);
        writeln!(text, "{},{}:00,{t:.1},{rh:.1}", case.date, clock(case, s.elapsed_s)).unwrap();
    }
    text
}
