//! Every curve of a plan as one tidy CSV: a row for each instant, a column for each quantity, the unit in its heading.

use fallrate_simulate::Sample;

use crate::chart::{band_at, wet_basis_percent};
use crate::error::AppError;
use crate::library::Library;
use crate::page::view::{View, end_core, group_mean};
use crate::plan_case::Planned;
use crate::words::{Reader, Units};

/// The curves as CSV (UTF-8, comma, point), in the reader's units.
///
/// # Errors
/// [`AppError::Csv`].
pub fn curves_csv(planned: &Planned, library: &Library, reader: &Reader) -> Result<Vec<u8>, AppError> {
    let v = View::new(planned, library, reader);
    let mut out = csv::Writer::from_writer(Vec::new());
    let fault = |e: &dyn std::fmt::Display| AppError::Csv { reason: e.to_string() };
    out.write_record(header(&v)).map_err(|e| fault(&e))?;
    for sample in &planned.plan.run.samples {
        out.write_record(row(&v, sample)).map_err(|e| fault(&e))?;
    }
    out.into_inner().map_err(|e| fault(&e))
}

fn header(v: &View<'_>) -> Vec<String> {
    let (t, m) = match v.r.units {
        Units::Si => ("degC", "kg"),
        Units::Us => ("degF", "lb"),
    };
    let mut names: Vec<String> =
        ["elapsed_h", "clock_hh_mm", "stage", "power_on"].map(str::to_owned).to_vec();
    names.extend(["air", "displayed", "wet_bulb", "shell"].map(|n| format!("{n}_temperature_{t}")));
    names
        .extend(["relative_humidity_pct", "humidity_ratio_g_per_kg", "heater_demand_pct"].map(str::to_owned));
    names.extend(["core_coldest", "core_warmest"].map(|n| format!("{n}_{t}")));
    for piece in ["mean", "wettest", "driest"] {
        names.push(format!("moisture_{piece}_pct_wet_basis"));
        names.push(format!("moisture_{piece}_kg_per_kg_dry_basis"));
    }
    names.extend(["moisture_mean_p10_pct_wet_basis", "moisture_mean_p90_pct_wet_basis"].map(str::to_owned));
    names.extend(["water_activity_mean", "water_activity_wettest"].map(str::to_owned));
    names.extend(["load_weight", "evaporated", "condensate"].map(|n| format!("{n}_{m}")));
    names.extend(["heater_energy_kwh", "fan_energy_kwh"].map(str::to_owned));
    for group in &v.groups {
        names.push(format!("{group}_moisture_mean_pct_wet_basis"));
        names.push(format!("{group}_core_first_in_air_{t}"));
        names.push(format!("{group}_core_last_in_air_{t}"));
    }
    names
}

fn row(v: &View<'_>, s: &Sample) -> Vec<String> {
    let t = |c: f64| format!("{:.2}", v.r.temperature_number(c));
    let m = |kg: f64| format!("{:.4}", v.r.mass_number(kg));
    let stage = v.plan.run.stage_ends.get(s.stage).map_or("", |e| e.name.as_str());
    let powered = s.elapsed_s <= v.plan.timer.dial_s + 0.5 && stage != "stand";
    let mut cells = vec![
        format!("{:.4}", s.elapsed_s / 3600.0),
        v.setup.clock(s.elapsed_s).hm(),
        stage.to_owned(),
        u8::from(powered).to_string(),
    ];
    cells.extend(
        [s.chamber_temperature_c, s.displayed_temperature_c, s.wet_bulb_c, s.shell_temperature_c].map(t),
    );
    cells.push(format!("{:.2}", 100.0 * s.relative_humidity));
    cells.push(format!("{:.2}", 1000.0 * s.humidity_ratio_kg_per_kg));
    cells.push(format!("{:.1}", 100.0 * s.heater_demand));
    cells.extend([s.core_coldest_c, s.core_warmest_c].map(t));
    for x in [s.moisture_mean_dry_basis, s.moisture_slowest_dry_basis, s.moisture_fastest_dry_basis] {
        cells.push(format!("{:.2}", wet_basis_percent(x)));
        cells.push(format!("{x:.4}"));
    }
    let band = v.plan.band.as_ref().filter(|_| powered).and_then(|b| band_at(b, s.elapsed_s));
    let pct = |x: f64| format!("{:.2}", wet_basis_percent(x));
    cells.push(band.map_or_else(String::new, |b| pct(b.0)));
    cells.push(band.map_or_else(String::new, |b| pct(b.1)));
    cells.extend([s.water_activity_mean, s.water_activity_slowest].map(|a| format!("{a:.3}")));
    cells.extend([s.load_weight_kg, s.evaporated_kg, s.condensate_kg].map(m));
    cells.extend([s.heater_j, s.fan_j].map(|j| format!("{:.3}", j / 3.6e6)));
    for g in 0..v.groups.len() {
        cells.push(pct(group_mean(s, g)));
        cells.push(t(end_core(s, g, false)));
        cells.push(t(end_core(s, g, true)));
    }
    cells
}
