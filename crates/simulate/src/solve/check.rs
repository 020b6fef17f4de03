//! The structured matrix and its solution against plain dense ones on small systems.

use crate::physics::setting::Setting;
use crate::physics::system::{System, SystemJacobian};
use crate::solve::chain::ChainSolver;
use crate::{Batch, FaceFactors, Geometry, reference_case};

/// A small batch with two groups, two positions and four nodes, unequal faces, and everything switched on.
fn small() -> Batch {
    let mut b = reference_case::standard_batch();
    b.load.groups.truncate(2);
    b.load.positions = 2;
    b.load.nodes = 4;
    b.exchange.underside = FaceFactors { heat: 0.7, mass: 0.3 };
    b.material.sorption_heat_inside = true;
    b.material.diffusivity = crate::Diffusivity::Arrhenius {
        at_60c_m2_per_s: 3.0e-10,
        activation_energy_j_per_mol: 30_000.0,
        moisture_term: crate::MoistureTerm::Reciprocal { b_kg_per_kg: 0.1, x_ref_kg_per_kg: 1.0 },
    };
    b.chamber.shell_condensation = true;
    b.chamber.racks_heat_capacity_j_per_k = 9000.0;
    b.chamber.racks_exchange_w_per_k = 90.0;
    b
}

fn system(batch: &Batch) -> (System, Vec<f64>) {
    let stage = reference_case::powered("", 0.2, crate::EndCondition::Elapsed { seconds: 1.0 });
    let system = System::new(batch, Setting::new(batch, &stage, &[]));
    let at = system.chamber_at();
    let mut y = vec![0.0; system.len()];
    // Moistures on both sides of the isotherm's cut, temperatures without symmetry.
    for (i, node) in y[..at].chunks_exact_mut(2).enumerate() {
        let i = i as f64;
        node[0] = 0.25 + 0.11 * ((1.7 * i).sin() + 1.0);
        node[1] = 41.0 + 6.0 * (0.9 * i + 0.3).cos();
    }
    y[at..at + 8].copy_from_slice(&[63.0, 0.031, 52.0, 47.0, 2100.0, 0.3, 61.0, 0.004]);
    (system, y)
}

fn dense_by_differences(system: &mut System, y: &[f64], n: usize) -> Vec<Vec<f64>> {
    let (mut up, mut down) = (vec![0.0; y.len()], vec![0.0; y.len()]);
    let mut j = vec![vec![0.0; n]; n];
    for col in 0..n {
        let step = 1e-6 * y[col].abs().max(1e-2);
        let mut moved = y.to_vec();
        moved[col] += step;
        system.rates(&moved, &mut up, None);
        moved[col] = y[col] - step;
        system.rates(&moved, &mut down, None);
        for row in 0..n {
            j[row][col] = (up[row] - down[row]) / (2.0 * step);
        }
    }
    j
}

fn gauss(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Vec<f64> {
    let n = b.len();
    for k in 0..n {
        let best = (k..n).max_by(|&p, &q| a[p][k].abs().total_cmp(&a[q][k].abs())).unwrap();
        a.swap(k, best);
        b.swap(k, best);
        for row in k + 1..n {
            let f = a[row][k] / a[k][k];
            for col in k..n {
                a[row][col] -= f * a[k][col];
            }
            b[row] -= f * b[k];
        }
    }
    for k in (0..n).rev() {
        let sum: f64 = (k + 1..n).map(|c| a[k][c] * b[c]).sum();
        b[k] = (b[k] - sum) / a[k][k];
    }
    b
}

/// The matrix that the structured solver stands for: J = (I - inverse of (I - cJ) inverted) / c, by columns.
fn dense_by_structure(system: &System, jacobian: &SystemJacobian, n: usize, c: f64) -> Vec<Vec<f64>> {
    let mut chain = ChainSolver::new(system.food.grid.nodes, system.places.len());
    assert!(chain.factor(jacobian, &system.places, c));
    let mut inverse = vec![vec![0.0; n]; n];
    for col in 0..n {
        let mut r = vec![0.0; system.len()];
        r[col] = 1.0;
        chain.solve(jacobian, &system.places, &mut r);
        for row in 0..n {
            inverse[row][col] = r[row];
        }
    }
    let mut j = vec![vec![0.0; n]; n];
    for col in 0..n {
        let mut unit = vec![0.0; n];
        unit[col] = 1.0;
        let m = gauss(inverse.clone(), unit);
        for row in 0..n {
            j[row][col] = (f64::from(u8::from(row == col)) - m[row]) / c;
        }
    }
    j
}

/// Largest difference of two matrices over the size of their rows, by blocks: pieces' columns, chamber's columns.
fn worst(a: &[Vec<f64>], b: &[Vec<f64>], at: usize) -> (f64, f64) {
    let mut out = (0.0_f64, 0.0_f64);
    for (ra, rb) in a.iter().zip(b) {
        let size = ra.iter().chain(rb).fold(1e-12_f64, |m, v| m.max(v.abs()));
        for (col, (x, y)) in ra.iter().zip(rb).enumerate() {
            let e = (x - y).abs() / size;
            if col < at { out.0 = out.0.max(e) } else { out.1 = out.1.max(e) }
        }
    }
    out
}

fn compare(batch: &Batch) -> (f64, f64) {
    let (mut system, y) = system(batch);
    let at = system.chamber_at();
    let n = at + 8;
    let mut jacobian = system.empty_jacobian();
    let mut dy = vec![0.0; y.len()];
    system.rates(&y, &mut dy, Some(&mut jacobian));
    let structured = dense_by_structure(&system, &jacobian, n, 0.8);
    let plain = dense_by_differences(&mut system, &y, n);
    worst(&structured, &plain, at)
}

#[test]
fn identity_structured_matrix_equals_the_dense_one() {
    let (pieces, chamber) = compare(&small());
    println!("pieces {pieces:e} chamber {chamber:e}");
    assert!(pieces < 1e-5, "{pieces:e}");
    // The air flow's own change with the chamber's state is left out of the matrix.
    assert!(chamber < 0.02, "{chamber:e}");
}

#[test]
fn identity_structured_matrix_is_exact_for_round_pieces_that_keep_their_size() {
    for geometry in [Geometry::Cylinder, Geometry::Sphere] {
        let mut b = small();
        b.material.geometry = geometry;
        b.material.shrinkage_share = 0.0;
        let (pieces, chamber) = compare(&b);
        println!("{geometry:?}: pieces {pieces:e} chamber {chamber:e}");
        assert!(pieces < 1e-5 && chamber < 0.12, "{geometry:?}: {pieces:e} {chamber:e}");
    }
}

#[test]
fn identity_structured_matrix_is_near_with_air_averaged_along_the_position() {
    let mut b = small();
    b.exchange.along_position = crate::AlongPosition::Mean;
    let (pieces, chamber) = compare(&b);
    println!("pieces {pieces:e} chamber {chamber:e}");
    assert!(pieces < 1e-5 && chamber < 0.02, "{pieces:e} {chamber:e}");
}

#[test]
fn identity_structured_solution_solves_the_dense_system() {
    let batch = small();
    let (mut system, y) = system(&batch);
    let n = system.chamber_at() + 8;
    let mut jacobian = system.empty_jacobian();
    let mut dy = vec![0.0; y.len()];
    system.rates(&y, &mut dy, Some(&mut jacobian));
    let dense = dense_by_differences(&mut system, &y, n);
    let mut chain = ChainSolver::new(system.food.grid.nodes, system.places.len());
    for c in [1e-3, 0.1, 10.0, 300.0] {
        assert!(chain.factor(&jacobian, &system.places, c));
        let mut r = vec![0.0; system.len()];
        for (i, v) in r[..n].iter_mut().enumerate() {
            *v = (0.37 * i as f64).sin();
        }
        let matrix: Vec<Vec<f64>> = (0..n)
            .map(|row| (0..n).map(|col| f64::from(u8::from(row == col)) - c * dense[row][col]).collect())
            .collect();
        let expected = gauss(matrix, r[..n].to_vec());
        chain.solve(&jacobian, &system.places, &mut r);
        let size = expected.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        let error = r[..n].iter().zip(&expected).fold(0.0_f64, |m, (a, b)| m.max((a - b).abs())) / size;
        println!("c {c}: {error:e}");
        assert!(error < 0.02, "c {c}: {error:e}");
    }
}
