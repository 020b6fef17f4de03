//! The two reference batches against an independent implementation, their convergence, and the solver's work.

use fallrate_simulate::{
    AlongPosition, Batch, Options, Run, StageInput,
    reference_case::{diffusion_limited_batch, diffusion_limited_stages, standard_batch, standard_stages},
    run,
};

use crate::support::{Check, Table};

fn compute(batch: &Batch, stages: &[StageInput], relative_tolerance: f64) -> Run {
    let o =
        Options { relative_tolerance, sample_every_s: None, enforce_balances: false, ..Options::default() };
    run(batch, stages, &o, &mut |_| true).unwrap()
}

/// One stage-end file of the independent implementation against the engine on the same grid.
fn hold_against(name: &str, source: &'static str, text: &str, run: &Run) {
    let body: String = text.lines().filter(|l| !l.starts_with('#')).collect::<Vec<_>>().join("\n");
    let table = Table::parse(&body);
    let check = |what: &str, unit, allowed| {
        Check::new(format!("{name}, {what} at stage ends"), source, (unit, allowed), "COMPUTED")
    };
    let mut time = check("elapsed time", "relative", 0.01);
    let mut moisture = check("mean, slowest and fastest moisture", "kg/kg", 0.01);
    let mut temperature = check("air and core temperatures", "K", 0.3);
    let mut humidity = check("relative humidity", "fraction", 0.005);
    let mut energy = check("heater and fan energy", "relative", 0.01);
    let mut vented = check("water vented", "kg", 0.05);
    assert_eq!(table.len(), run.stage_ends.len());
    for (row, end) in run.stage_ends.iter().enumerate() {
        let s = &end.sample;
        let of = |column: &str| table.number(row, column);
        assert_eq!(table.text(row, "stage"), end.name);
        time.relative(s.elapsed_s, of("elapsed_s"), &end.name);
        moisture.absolute(s.moisture_mean_dry_basis, of("moisture_mean"), &end.name);
        moisture.absolute(s.moisture_slowest_dry_basis, of("moisture_slowest"), &end.name);
        moisture.absolute(s.moisture_fastest_dry_basis, of("moisture_fastest"), &end.name);
        temperature.absolute(s.chamber_temperature_c, of("plenum_temperature_c"), &end.name);
        temperature.absolute(s.core_warmest_c, of("core_warmest_c"), &end.name);
        temperature.absolute(s.core_coldest_c, of("core_coldest_c"), &end.name);
        humidity.absolute(s.relative_humidity, of("plenum_relative_humidity"), &end.name);
        energy.relative(s.heater_j + s.fan_j, of("heater_and_fan_energy_j"), &end.name);
        vented.absolute(s.vented_kg, of("water_vented_kg"), &end.name);
    }
    for (line, count) in
        [(time, 4), (moisture, 12), (temperature, 12), (humidity, 4), (energy, 4), (vented, 4)]
    {
        line.done(count);
    }
}

#[test]
fn val_standard_batch_against_an_independent_implementation() {
    const FINE: &str = include_str!("../../../../reference/standard_batch/stage_ends_fine.csv");
    const SCIPY: &str = include_str!("../../../../reference/standard_batch/stage_ends_scipy.csv");
    let stages = standard_stages();
    let mut batch = standard_batch();
    hold_against(
        "standard batch, default grid",
        "reference/scripts/standard_batch.py, 49 nodes, SUNDIALS CVODE, rtol 1e-8",
        FINE,
        &compute(&batch, &stages, 1e-5),
    );
    hold_against(
        "standard batch, default grid",
        "reference/scripts/standard_batch.py, 13 nodes, SciPy BDF, rtol 1e-5",
        SCIPY,
        &compute(&batch, &stages, 1e-5),
    );
    batch.load.nodes = 49;
    hold_against(
        "standard batch, 49 nodes, rtol 1e-8",
        "reference/scripts/standard_batch.py, 49 nodes, SUNDIALS CVODE, rtol 1e-8",
        FINE,
        &compute(&batch, &stages, 1e-8),
    );
}

#[test]
fn val_diffusion_limited_batch_against_an_independent_implementation() {
    const FINE: &str =
        include_str!("../../../../reference/standard_batch/stage_ends_diffusion_limited_fine.csv");
    const SCIPY: &str =
        include_str!("../../../../reference/standard_batch/stage_ends_diffusion_limited_scipy.csv");
    let stages = diffusion_limited_stages();
    let mut batch = diffusion_limited_batch();
    hold_against(
        "diffusion-limited batch, default grid",
        "reference/scripts/standard_batch.py, 49 nodes, SUNDIALS CVODE, rtol 1e-8",
        FINE,
        &compute(&batch, &stages, 1e-5),
    );
    hold_against(
        "diffusion-limited batch, default grid",
        "reference/scripts/standard_batch.py, 13 nodes, SciPy BDF, rtol 1e-5",
        SCIPY,
        &compute(&batch, &stages, 1e-5),
    );
    batch.load.nodes = 49;
    hold_against(
        "diffusion-limited batch, 49 nodes, rtol 1e-8",
        "reference/scripts/standard_batch.py, 49 nodes, SUNDIALS CVODE, rtol 1e-8",
        FINE,
        &compute(&batch, &stages, 1e-8),
    );
}

/// Both reference batches with their stages.
fn both() -> [(&'static str, Batch, Vec<StageInput>); 2] {
    [
        ("standard batch", standard_batch(), standard_stages()),
        ("diffusion-limited batch", diffusion_limited_batch(), diffusion_limited_stages()),
    ]
}

/// Largest relative difference of stage-end times, and largest difference of core temperatures, K.
fn difference(a: &Run, b: &Run) -> (f64, f64) {
    let mut worst = (0.0_f64, 0.0_f64);
    for (x, y) in a.stage_ends.iter().zip(&b.stage_ends) {
        let (x, y) = (&x.sample, &y.sample);
        worst.0 = worst.0.max((x.elapsed_s / y.elapsed_s - 1.0).abs());
        worst.1 = worst.1.max((x.core_coldest_c - y.core_coldest_c).abs());
        worst.1 = worst.1.max((x.core_warmest_c - y.core_warmest_c).abs());
    }
    worst
}

#[test]
fn limit_halving_the_grid_at_the_default_changes_little() {
    let mut time = Check::new(
        "13 nodes against 25, stage-end times of both reference batches",
        "its own finer grid",
        ("relative", 0.005),
        "COMPUTED",
    );
    let mut core = Check::new(
        "13 nodes against 25, core temperatures at stage ends of both reference batches",
        "its own finer grid",
        ("K", 0.1),
        "COMPUTED",
    );
    for (name, batch, stages) in both() {
        let mut finer = batch.clone();
        finer.load.nodes = 25;
        let d = difference(&compute(&batch, &stages, 1e-5), &compute(&finer, &stages, 1e-5));
        time.error(d.0, name);
        core.error(d.1, name);
    }
    time.done(2);
    core.done(2);
}

#[test]
fn limit_tightening_the_tolerance_at_the_default_changes_little() {
    for (name, batch, stages) in both() {
        let d = difference(&compute(&batch, &stages, 1e-5), &compute(&batch, &stages, 1e-8));
        println!("{name}: {d:?}");
        assert!(d.0 < 2e-4 && d.1 < 0.01, "{name}: {d:?}");
    }
}

#[test]
fn limit_doubling_the_positions_changes_the_extremes_little() {
    let mut line = Check::new(
        "5 positions against 10, slowest and fastest moisture at stage ends, air averaged along the position",
        "its own finer grid",
        ("kg/kg", 0.01),
        "COMPUTED",
    );
    for (name, batch, stages) in both() {
        let of = |positions: usize| {
            let mut b = batch.clone();
            b.load.positions = positions;
            b.exchange.along_position = AlongPosition::Mean;
            compute(&b, &stages, 1e-5)
        };
        for (x, y) in of(5).stage_ends.iter().zip(&of(10).stage_ends) {
            let (x, y) = (&x.sample, &y.sample);
            line.absolute(x.moisture_slowest_dry_basis, y.moisture_slowest_dry_basis, name);
            line.absolute(x.moisture_fastest_dry_basis, y.moisture_fastest_dry_basis, name);
        }
    }
    line.done(20);
}

#[test]
fn regress_work_of_the_reference_batches() {
    let mut text = String::new();
    for (name, batch, stages) in both() {
        let c = compute(&batch, &stages, 1e-5).counts;
        text += &format!(
            "{name}: {} steps, {} rejected, {} not converged, {} rates, {} slopes, {} factors, {} solves\n",
            c.steps, c.rejected, c.not_converged, c.rates, c.slopes, c.factors, c.solves
        );
    }
    insta::assert_snapshot!("work_of_the_reference_batches", text);
}

#[test]
fn regress_stage_ends_of_the_reference_batches() {
    let mut text = String::new();
    for (name, batch, stages) in both() {
        for e in &compute(&batch, &stages, 1e-5).stage_ends {
            let s = &e.sample;
            text += &format!(
                "{name}, {}: {:.1} s, {:.2} degC, RH {:.3}, core {:.2} to {:.2} degC, X {:.3}, {:.3} to {:.3}\n",
                e.name,
                s.elapsed_s,
                s.chamber_temperature_c,
                s.relative_humidity,
                s.core_coldest_c,
                s.core_warmest_c,
                s.moisture_mean_dry_basis,
                s.moisture_slowest_dry_basis,
                s.moisture_fastest_dry_basis
            );
        }
    }
    insta::assert_snapshot!("stage_ends_of_the_reference_batches", text);
}
