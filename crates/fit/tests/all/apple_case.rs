//! The joint fit of the measured apple curves, shared by the tests and the report.

use std::sync::Arc;

use fallrate_fit::{DryingCurve, Estimate, FitError, FitOptions, Parameter, Reading, Tunnel, TunnelAir, fit};
use fallrate_foods::{Component, Product};
use fallrate_simulate::{Diffusivity, Geometry, Material, MoistureTerm};

/// Second hand: a literature ledger says 82 kPa for the place of the experiments.
pub const PRESSURE_PA: f64 = 82_000.0;
/// Air speed at which the fitted coefficient holds, m/s.
pub const REFERENCE_SPEED: f64 = 1.1;

/// One measured run.
#[derive(Clone, Debug)]
pub struct RunData {
    pub id: String,
    pub temperature_c: f64,
    pub speed: f64,
    pub thickness_m: f64,
    pub rh: f64,
    pub curve: DryingCurve,
}

/// How finely the model is computed.
#[derive(Clone, Copy)]
pub struct Grid {
    pub nodes: usize,
    pub relative_tolerance: f64,
}
pub const TEST_GRID: Grid = Grid { nodes: 15, relative_tolerance: 1e-5 };

pub fn runs() -> Vec<RunData> {
    let points = include_str!("../../../../reference/drying/experiments/apple_royen2020.csv");
    let runs = include_str!("../../../../reference/drying/experiments/apple_royen2020_runs.csv");
    let mut readings: Vec<(String, Reading)> = Vec::new();
    for row in csv::Reader::from_reader(points.as_bytes()).records() {
        let row = row.unwrap();
        let reading =
            Reading { elapsed_s: row[1].parse().unwrap(), moisture_dry_basis: row[2].parse().unwrap() };
        readings.push((row[0].to_owned(), reading));
    }
    let mut list = Vec::new();
    for row in csv::Reader::from_reader(runs.as_bytes()).records() {
        let row = row.unwrap();
        let id = row[0].to_owned();
        let own = readings.iter().filter(|(r, _)| *r == id).map(|(_, p)| *p).collect();
        list.push(RunData {
            temperature_c: row[2].parse().unwrap(),
            speed: row[3].parse().unwrap(),
            thickness_m: row[4].parse::<f64>().unwrap() / 1000.0,
            // The thickness sweep's humidity is inferred to be 40-45 % (reference README); the middle of a range is taken.
            rh: if row[5].starts_with("35") { 0.365 } else { 0.425 },
            curve: DryingCurve::new(&id, own).unwrap(),
            id,
        });
    }
    list
}

pub fn product() -> Product {
    let text = include_str!("../../../../data/products/apple.toml");
    Product::parse("apple.toml", text).unwrap()
}

/// The unknowns, all apple slices alike: diffusivity and its temperature dependence, exchange and its air-speed exponent,
/// how diffusivity falls with the volume, and the water held at a water activity.
pub fn parameters() -> Vec<Parameter> {
    vec![
        Parameter::positive("D60", "m2/s", 8e-10, (5e-11, 2e-8)),
        Parameter::positive("Ea", "kJ/mol", 25.0, (2.0, 300.0)),
        Parameter::positive("h at 1.1 m/s", "W/(m2 K)", 25.0, (5.0, 100.0)),
        Parameter::bounded("speed exponent", "-", 0.6, (0.2, 1.2)),
        Parameter::bounded("volume exponent of D", "-", 1.2, (-4.0, 6.0)),
        Parameter::positive("moisture factor", "-", 1.2, (0.5, 3.0)),
    ]
}

pub fn material(product: &Product, run: &RunData, p: &[f64]) -> Material {
    let x0 = run.curve.readings()[0].moisture_dry_basis;
    let mut preparation = product.usual_preparation();
    preparation.raw_moisture_wet_basis = x0 / (1.0 + x0);
    let prepared = product.prepare(&preparation).unwrap();
    let volume = product.volume_law(&prepared);
    let dry = volume.specific_volume(0.0).0 / volume.specific_volume(x0).0;
    let sorption = product.sorption_model(prepared.solutes).unwrap().with_moisture_factor(p[5]).unwrap();
    Material {
        geometry: Geometry::Slab,
        size_m: run.thickness_m,
        moisture_initial_dry_basis: prepared.x0_kg_per_kg,
        temperature_initial_c: 20.0,
        solids_density_kg_per_m3: volume.solids_density_kg_per_m3,
        water_density_kg_per_m3: volume.water_density_kg_per_m3,
        shrinkage_share: volume.shrinkage_share,
        lateral_shrinkage_exponent: volume.lateral_exponent,
        specific_heat_solids_j_per_kg_k: prepared.composition.solids_specific_heat_j_per_kg_k(45.0),
        specific_heat_water_j_per_kg_k: 4186.0,
        conductivity_solids_w_per_m_k: prepared.composition.solids_conductivity_w_per_m_k(45.0),
        conductivity_water_w_per_m_k: Component::Water.conductivity_w_per_m_k(45.0),
        diffusivity: Diffusivity::Arrhenius {
            at_60c_m2_per_s: p[0],
            activation_energy_j_per_mol: 1000.0 * p[1],
            moisture_term: MoistureTerm::FreshSize {
                dry_volume_ratio: dry,
                x0_kg_per_kg: x0,
                exponent: p[4],
            },
        },
        sorption: Arc::new(sorption),
        sorption_heat_inside: true,
        core_is_middle_node: false,
    }
}

/// The model's curve for a run.
pub fn computed(product: &Product, run: &RunData, p: &[f64], grid: Grid) -> Result<DryingCurve, FitError> {
    let tunnel = Tunnel {
        air: TunnelAir {
            temperature_c: run.temperature_c,
            relative_humidity: run.rh,
            pressure_pa: PRESSURE_PA,
            heat_transfer_w_per_m2_k: p[2] * (run.speed / REFERENCE_SPEED).powf(p[3]),
            lewis_factor: 0.9113,
        },
        material: material(product, run, p),
        nodes: grid.nodes,
        relative_tolerance: grid.relative_tolerance,
        // Early rates point to both faces (reference README).
        both_faces: true,
    };
    tunnel.dry(&run.id, 1.6 * run.curve.duration_s(), 1e-3)
}

/// Model less measured moisture of every reading, each over a share of the moisture and a floor, so that the wet and the dry
/// end of a curve weigh alike.
pub fn residuals(product: &Product, runs: &[&RunData], p: &[f64], grid: Grid) -> Result<Vec<f64>, FitError> {
    let mut all = Vec::new();
    for run in runs {
        let curve = computed(product, run, p, grid)?;
        for r in run.curve.readings().iter().skip(1) {
            let x = r.moisture_dry_basis;
            all.push((curve.moisture_at(r.elapsed_s) - x) / (0.03 + 0.03 * x));
        }
    }
    Ok(all)
}

pub fn joint_fit(
    product: &Product,
    runs: &[&RunData],
    grid: Grid,
    starts: usize,
) -> Result<Estimate, FitError> {
    fit_within(product, runs, grid, &parameters(), starts)
}

/// The same with other starts or bounds of the unknowns.
pub fn fit_within(
    product: &Product,
    runs: &[&RunData],
    grid: Grid,
    parameters: &[Parameter],
    starts: usize,
) -> Result<Estimate, FitError> {
    let options = FitOptions {
        starts: fallrate_fit::spread_starts(parameters, starts),
        tolerance: 1e-6,
        patience: 20,
        ..FitOptions::default()
    };
    fit(parameters, &|p| residuals(product, runs, p, grid), &options)
}

/// Levels at which times are compared, with the share allowed.
pub const LEVELS: [(f64, f64); 3] = [(3.0, 0.10), (1.0, 0.10), (0.5, 0.15)];

/// Time of the model over that measured, less 1, at a level.
pub fn time_error(run: &RunData, curve: &DryingCurve, level: f64) -> Result<f64, FitError> {
    Ok(curve.elapsed_at(level)? / run.curve.elapsed_at(level)? - 1.0)
}

/// The seven runs of 6 mm.
pub fn six_mm(all: &[RunData]) -> Vec<&RunData> {
    all.iter().filter(|r| (r.thickness_m - 0.006).abs() < 1e-9).collect()
}

/// The runs at the one condition that was measured four times (50 degC, 1.1 m/s, 6 mm, 40-45 %).
pub fn repeated<'a>(six: &[&'a RunData]) -> Vec<&'a RunData> {
    let alike = |r: &&&RunData| r.temperature_c == 50.0 && r.speed == REFERENCE_SPEED && r.rh > 0.4;
    six.iter().filter(alike).copied().collect()
}

/// Largest less smallest time to a level over their mean.
pub fn spread(runs: &[&RunData], level: f64) -> f64 {
    let times: Vec<f64> = runs.iter().map(|r| r.curve.elapsed_at(level).unwrap()).collect();
    let (low, high) = times.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), &t| (l.min(t), h.max(t)));
    #[allow(clippy::cast_precision_loss)]
    let mean = times.iter().sum::<f64>() / times.len() as f64;
    (high - low) / mean
}
