//! A piece with variable diffusivity, shrinking volume and face, heat and moisture coupled, against an independent
//! solution in SciPy (reference/scripts/piece_drying.py).

use std::sync::Arc;

use fallrate_simulate::{
    AirConstants, Batch, Diffusivity, FaceFactors, GabSorption, Geometry, MoistureTerm, StageInput, start,
};

use crate::support::{Check, Table, blow, go, options, tunnel};

const VALUES: &str = include_str!("../../../../reference/drying/piece_drying_check.csv");
const SOURCE: &str = "reference/scripts/piece_drying.py, SciPy BDF, extrapolated from 160 and 320 cells";

fn arrhenius(
    at_60c_m2_per_s: f64,
    activation_energy_j_per_mol: f64,
    moisture_term: MoistureTerm,
) -> Diffusivity {
    Diffusivity::Arrhenius { at_60c_m2_per_s, activation_energy_j_per_mol, moisture_term }
}

fn reciprocal(b_kg_per_kg: f64) -> MoistureTerm {
    MoistureTerm::Reciprocal { b_kg_per_kg, x_ref_kg_per_kg: 1.0 }
}

/// Far from its rounded corner the exponential term is exp(a (X - 1)).
fn exponential(a_per_kg_per_kg: f64) -> MoistureTerm {
    MoistureTerm::Exponential { a_per_kg_per_kg, x_ref_kg_per_kg: 1.0, x_max_kg_per_kg: 10.0 }
}

struct Piece {
    geometry: Geometry,
    size_m: f64,
    moisture: f64,
    shrinkage: f64,
    lateral: f64,
    underside: f64,
    diffusivity: Diffusivity,
}

fn piece(case: &str) -> Piece {
    match case {
        "slab" => Piece {
            geometry: Geometry::Slab,
            size_m: 0.008,
            moisture: 3.0,
            shrinkage: 1.0,
            lateral: 2.0 / 3.0,
            underside: 0.4,
            diffusivity: arrhenius(4e-10, 25e3, reciprocal(0.3)),
        },
        "slab_rigid_one_sided" => Piece {
            geometry: Geometry::Slab,
            size_m: 0.005,
            moisture: 2.0,
            shrinkage: 0.0,
            lateral: 0.0,
            underside: 0.0,
            diffusivity: arrhenius(6e-10, 0.0, exponential(0.5)),
        },
        "cylinder" => Piece {
            geometry: Geometry::Cylinder,
            size_m: 0.010,
            moisture: 4.0,
            shrinkage: 1.0,
            lateral: 0.0,
            underside: 0.6,
            diffusivity: arrhenius(5e-10, 30e3, exponential(0.3)),
        },
        "sphere" => Piece {
            geometry: Geometry::Sphere,
            size_m: 0.015,
            moisture: 5.0,
            shrinkage: 0.8,
            lateral: 0.0,
            underside: 1.0,
            diffusivity: arrhenius(1e-9, 20e3, reciprocal(0.1)),
        },
        _ => panic!("{case}"),
    }
}

fn batch(case: &str, nodes: usize) -> Batch {
    let p = piece(case);
    let mut b = tunnel(p.geometry, p.size_m, nodes);
    b.material.moisture_initial_dry_basis = p.moisture;
    b.material.temperature_initial_c = 5.0;
    b.material.solids_density_kg_per_m3 = 1350.0;
    b.material.shrinkage_share = p.shrinkage;
    b.material.lateral_shrinkage_exponent = p.lateral;
    b.material.specific_heat_solids_j_per_kg_k = 1600.0;
    b.material.specific_heat_water_j_per_kg_k = 4186.0;
    b.material.conductivity_solids_w_per_m_k = 0.20;
    b.material.conductivity_water_w_per_m_k = 0.62;
    b.material.diffusivity = p.diffusivity;
    b.material.sorption = Arc::new(GabSorption {
        monolayer_kg_per_kg: 0.065,
        c: 8.0,
        k: 0.94,
        net_heat_at_zero_j_per_kg: 4.0e5,
    });
    b.material.sorption_heat_inside = true;
    b.air = AirConstants::consistent(4186.0);
    b.exchange.heat_transfer_w_per_m2_k = 30.0;
    b.exchange.lewis_factor = 0.9113;
    b.exchange.underside = FaceFactors { heat: p.underside, mass: p.underside };
    b
}

/// Worst differences: mean moisture over the initial one, middle moisture likewise, temperatures in K, face activity.
fn differences(case: &str, nodes: usize) -> [f64; 4] {
    let table = Table::parse(VALUES);
    let rows: Vec<usize> = (0..table.len()).filter(|&r| table.text(r, "case") == case).collect();
    assert_eq!(rows.len(), 6);
    let b = batch(case, nodes);
    let mut before = 0.0;
    let stages: Vec<StageInput> = rows
        .iter()
        .map(|&r| {
            let seconds = 3600.0 * (table.number(r, "elapsed_h") - before);
            before = table.number(r, "elapsed_h");
            blow(seconds)
        })
        .collect();
    let begin = start(&b).unwrap().with_chamber_air(60.0, 0.012);
    let run = go(&b, &begin, &stages, &options(1e-7));
    let x0 = b.material.moisture_initial_dry_basis;
    let mut worst = [0.0_f64; 4];
    for (&r, end) in rows.iter().zip(&run.stage_ends) {
        let p = &end.sample.pieces[0];
        let found = [
            (0, p.moisture_dry_basis / x0, table.number(r, "moisture_mean_dry_basis") / x0),
            (1, p.middle_moisture_dry_basis / x0, table.number(r, "moisture_middle_dry_basis") / x0),
            (2, p.core_c, table.number(r, "middle_c")),
            (2, p.surface_c, table.number(r, "surface_c")),
            (3, p.surface_aw, table.number(r, "surface_aw")),
        ];
        for (i, a, e) in found {
            worst[i] = worst[i].max((a - e).abs());
        }
    }
    worst
}

#[test]
fn val_shrinking_pieces_against_an_independent_solution() {
    let mut mean = Check::new(
        "drying piece with variable D and volume, mean moisture, 97 nodes",
        SOURCE,
        ("of the initial", 5e-4),
        "COMPUTED",
    );
    let mut middle = Check::new(
        "drying piece with variable D and volume, middle moisture, 97 nodes",
        SOURCE,
        ("of the initial", 2e-3),
        "COMPUTED",
    );
    let mut heat = Check::new(
        "drying piece with variable D and volume, middle and face temperature, 97 nodes",
        SOURCE,
        ("K", 0.05),
        "COMPUTED",
    );
    let mut coarse = Check::new(
        "drying piece with variable D and volume, mean moisture, 13 nodes",
        SOURCE,
        ("of the initial", 0.01),
        "COMPUTED",
    );
    let mut warm = Check::new(
        "drying piece with variable D and volume, temperatures, 13 nodes",
        SOURCE,
        ("K", 0.5),
        "COMPUTED",
    );
    for case in ["slab", "slab_rigid_one_sided", "cylinder", "sphere"] {
        let (a, b, fine) = (differences(case, 13), differences(case, 25), differences(case, 97));
        println!("{case}: 13 nodes {a:?}\n    25 nodes {b:?}\n    97 nodes {fine:?}");
        mean.error(fine[0], case);
        middle.error(fine[1], case);
        heat.error(fine[2], case);
        coarse.error(a[0], case);
        warm.error(a[2], case);
        assert!(fine[0] < 0.2 * a[0], "the error falls with the grid: {a:?} {fine:?}");
    }
    for line in [mean, middle, heat, coarse, warm] {
        line.done(4);
    }
}
