//! The two reference batches against an independent implementation, their convergence, and the solver's work.

use fallrate_simulate::{
    Batch, Options, Run, StageInput,
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
