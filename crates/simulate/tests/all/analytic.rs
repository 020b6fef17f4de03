//! Heat and moisture through a slab, a cylinder and a sphere with surface resistance, against the analytic series.

use std::sync::Arc;

use fallrate_air::{density_kg_per_m3, humidity_ratio_from_relative_humidity, saturation_pressure_pa};
use fallrate_simulate::{AirConstants, Batch, FaceFactors, Geometry, LinearSorption, Sample, start};
use fallrate_units::WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K as R_VAPOUR;

use crate::support::{Check, Table, blow, constant_diffusivity, go, options, tunnel};

const VALUES: &str = include_str!("../../../../reference/drying/analytic_values.csv");
const SOURCE: &str = "exact series, 60 terms in 40-digit arithmetic (reference/drying/analytic_values.csv)";
const SIZE_M: f64 = 0.1;
const HALF_M: f64 = 0.05;
const FOURIER: [f64; 7] = [0.01, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0];

/// A case made ready: the batch, its start, the time of Fo = 1, and how to read theta (centre, surface, mean).
struct Case {
    batch: Batch,
    air: (f64, f64),
    unit_s: f64,
    read: fn(&Sample) -> [f64; 3],
}

/// A held surface is one with a Biot number of a million or more.
fn heat(geometry: Geometry, biot: f64, nodes: usize) -> Case {
    let mut batch = tunnel(geometry, SIZE_M, nodes);
    batch.exchange.top.mass = 0.0;
    batch.exchange.underside.mass = 0.0;
    let conductivity = if biot.is_finite() { 0.5 } else { 0.01 };
    batch.material.conductivity_solids_w_per_m_k = conductivity;
    batch.material.conductivity_water_w_per_m_k = conductivity;
    let biot = biot.min(5e5);
    batch.exchange.heat_transfer_w_per_m2_k = biot * conductivity / HALF_M;
    // X = 1: 2000 + 4000 J/K on 1/1000 + 1/1000 m3, per kg of solids.
    let diffusivity = conductivity / (6000.0 / 0.002);
    Case {
        batch,
        air: (70.0, 0.01),
        unit_s: HALF_M * HALF_M / diffusivity,
        read: |s| {
            let theta = |t: f64| (t - 70.0) / (20.0 - 70.0);
            [theta(s.pieces[0].core_c), theta(s.pieces[0].surface_c), theta(s.pieces[0].mean_temperature_c)]
        },
    }
}

/// No latent heat and air as warm as the piece: nothing warms or cools. X from 1.0 to 0.2 at a_w = X.
fn moisture(geometry: Geometry, biot: f64, nodes: usize) -> Case {
    const AIR_C: f64 = 60.0;
    let mut batch = tunnel(geometry, SIZE_M, nodes);
    batch.material.temperature_initial_c = AIR_C;
    batch.air = AirConstants {
        latent_heat_at_0c_j_per_kg: 0.0,
        latent_heat_slope_j_per_kg_k: 0.0,
        ..AirConstants::consistent(4000.0)
    };
    batch.material.sorption = Arc::new(LinearSorption { saturation_kg_per_kg: 1.0 });
    let pressure = batch.room.pressure_pa;
    let w = humidity_ratio_from_relative_humidity(AIR_C, 0.2, pressure);
    let h = if biot.is_finite() { 0.5 } else { 1e5 };
    batch.exchange.heat_transfer_w_per_m2_k = h;
    // Flux = K (X - X_eq) with K from the Lewis relation: K L / (D / v) is the Biot number in metres.
    let cp = batch.air.cp_dry_air_j_per_kg_k + w * batch.air.cp_vapour_j_per_kg_k;
    let dry_density = density_kg_per_m3(AIR_C, w, pressure) / (1.0 + w);
    let transfer = h / (dry_density * cp) * saturation_pressure_pa(AIR_C) / (R_VAPOUR * (AIR_C + 273.15));
    let diffusivity = if biot.is_finite() { transfer * HALF_M * 0.002 / biot } else { 1e-9 };
    batch.material.diffusivity = constant_diffusivity(diffusivity);
    Case {
        batch,
        air: (AIR_C, w),
        unit_s: HALF_M * HALF_M / diffusivity,
        read: |s| {
            let p = &s.pieces[0];
            let theta = |x: f64| (x - 0.2) / (1.0 - 0.2);
            [theta(p.middle_moisture_dry_basis), theta(p.surface_aw), theta(p.moisture_dry_basis)]
        },
    }
}

fn geometry(name: &str) -> Geometry {
    match name {
        "slab" => Geometry::Slab,
        "cylinder" => Geometry::Cylinder,
        "sphere" => Geometry::Sphere,
        _ => panic!("{name}"),
    }
}

/// Worst errors of centre, surface and mean, over all Biot and Fourier numbers of a geometry, and how many values.
fn worst(case: fn(Geometry, f64, usize) -> Case, shape: &str, nodes: usize) -> ([f64; 3], usize) {
    let table = Table::parse(VALUES);
    let mut errors = [0.0_f64; 3];
    let mut count = 0;
    for biot in ["0.1", "1.0", "10.0", "inf"] {
        let c = case(geometry(shape), biot.parse().unwrap(), nodes);
        let mut before = 0.0;
        let stages: Vec<_> = FOURIER
            .iter()
            .map(|fo| {
                let stage = blow((fo - before) * c.unit_s);
                before = *fo;
                stage
            })
            .collect();
        let begin = start(&c.batch).unwrap().with_chamber_air(c.air.0, c.air.1);
        let mut o = options(1e-7);
        o.longest_stage_s = 1e12;
        let run = go(&c.batch, &begin, &stages, &o);
        for (fo, end) in FOURIER.iter().zip(&run.stage_ends) {
            let row = (0..table.len())
                .find(|&r| {
                    table.text(r, "geometry") == shape
                        && table.text(r, "biot") == biot
                        && (table.number(r, "fourier") - fo).abs() < 1e-12
                })
                .unwrap();
            let found = (c.read)(&end.sample);
            for (i, column) in ["theta_centre", "theta_surface", "theta_mean"].iter().enumerate() {
                count += 1;
                errors[i] = errors[i].max((found[i] - table.number(row, column)).abs());
            }
        }
    }
    (errors, count)
}

fn check(what: &str, case: fn(Geometry, f64, usize) -> Case) {
    for shape in ["slab", "cylinder", "sphere"] {
        let grids = [25, 49, 97];
        let found: Vec<_> = grids.iter().map(|&n| worst(case, shape, n)).collect();
        println!("{what} {shape}: {found:?}");
        let largest = |e: &[f64; 3]| e.iter().fold(0.0_f64, |m, v| m.max(*v));
        let e: Vec<f64> = found.iter().map(|f| largest(&f.0)).collect();
        let mut line = Check::new(
            format!("{what} through a {shape}, 97 nodes, all Bi and Fo"),
            SOURCE,
            ("of the initial difference", 5e-4),
            "COMPUTED",
        );
        for _ in 0..found[2].1 {
            line.error(e[2], "97 nodes");
        }
        line.done(84);
        // Second order: halving the spacing quarters the error.
        let order = (e[1] / e[2]).log2();
        let mut line = Check::new(
            format!("order of the scheme, {what} through a {shape}, 49 to 97 nodes"),
            SOURCE,
            ("from 2", 0.3),
            "COMPUTED",
        );
        line.absolute(order, 2.0, shape);
        line.done(1);
    }
}

#[test]
fn table_heat_transients_of_slab_cylinder_and_sphere() {
    check("heat", heat);
}

#[test]
fn table_moisture_transients_of_slab_cylinder_and_sphere() {
    check("moisture", moisture);
}

#[test]
fn identity_one_sided_slab_of_half_the_thickness_is_half_a_slab() {
    // Face on a tray that lets nothing through: the same as the middle plane of a slab twice as thick.
    let whole = moisture(Geometry::Slab, 1.0, 97);
    let mut half = moisture(Geometry::Slab, 1.0, 49);
    half.batch.material.size_m = HALF_M;
    half.batch.exchange.underside = FaceFactors { heat: 0.0, mass: 0.0 };
    let mean = |c: &Case| {
        let begin = start(&c.batch).unwrap().with_chamber_air(c.air.0, c.air.1);
        let stages = [blow(0.5 * whole.unit_s)];
        let mut o = options(1e-8);
        o.longest_stage_s = 1e12;
        go(&c.batch, &begin, &stages, &o).stage_ends[0].sample.pieces[0].moisture_dry_basis
    };
    let (a, b) = (mean(&whole), mean(&half));
    assert!((a - b).abs() < 2e-5, "{a} {b}");
}

#[test]
fn table_transients_on_the_default_grid() {
    for (what, case) in [("heat", heat as fn(Geometry, f64, usize) -> Case), ("moisture", moisture)] {
        let mut line = Check::new(
            format!("{what} through slab, cylinder and sphere, 13 nodes, all Bi and Fo"),
            SOURCE,
            ("of the initial difference", 0.01),
            "COMPUTED",
        );
        for shape in ["slab", "cylinder", "sphere"] {
            let (errors, count) = worst(case, shape, 13);
            for _ in 0..count / 3 {
                for e in errors {
                    line.error(e, shape);
                }
            }
        }
        line.done(252);
    }
}
