//! What can be read off the state at an instant.

use fallrate_air::wet_bulb_c;

use crate::physics::chamber::{self, relative_humidity, sensed};
use crate::physics::system::System;

/// One piece at an instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PieceSample {
    /// Tray group.
    pub group: usize,
    /// 0 at the air-entering end.
    pub position: usize,
    /// Share of the load it stands for; 0 at the very ends of the path.
    pub load_share: f64,
    /// Mean moisture, kg/kg dry basis.
    pub moisture_dry_basis: f64,
    /// Coldest node, degC.
    pub core_c: f64,
    /// Mean over the solids, degC.
    pub mean_temperature_c: f64,
    /// Moisture of the middle node, kg/kg dry basis.
    pub middle_moisture_dry_basis: f64,
    /// Upper (or only) face, degC.
    pub surface_c: f64,
    /// Water activity of the upper face at its temperature: 1 while wet.
    pub surface_aw: f64,
}

/// The whole run at an instant. A forecast, always.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample {
    /// s from the start of the run.
    pub elapsed_s: f64,
    /// Index of the stage.
    pub stage: usize,
    /// Chamber air that enters the trays, degC.
    pub chamber_temperature_c: f64,
    /// What the controller shows, degC.
    pub displayed_temperature_c: f64,
    /// kg/kg
    pub humidity_ratio_kg_per_kg: f64,
    /// Fraction.
    pub relative_humidity: f64,
    /// Thermodynamic wet bulb of the chamber air, degC.
    pub wet_bulb_c: f64,
    /// Share of full heater power asked for.
    pub heater_demand: f64,
    /// Shell, degC.
    pub shell_temperature_c: f64,
    /// Water on the shell, kg.
    pub condensate_kg: f64,
    /// Load-weighted mean moisture, kg/kg dry basis.
    pub moisture_mean_dry_basis: f64,
    /// Wettest piece.
    pub moisture_slowest_dry_basis: f64,
    /// Driest piece.
    pub moisture_fastest_dry_basis: f64,
    /// Coldest core, degC.
    pub core_coldest_c: f64,
    /// Warmest core, degC.
    pub core_warmest_c: f64,
    /// Water activity of the equalised mean piece at 25 degC.
    pub water_activity_mean: f64,
    /// The same of the wettest piece.
    pub water_activity_slowest: f64,
    /// Product on the trays, kg.
    pub load_weight_kg: f64,
    /// Heater energy since the start, J.
    pub heater_j: f64,
    /// Fan energy since the start, J.
    pub fan_j: f64,
    /// Water carried out by exchanged air, net of what came in, kg.
    pub vented_kg: f64,
    /// Water given by the product to the air, kg.
    pub evaporated_kg: f64,
    /// Each piece.
    pub pieces: Vec<PieceSample>,
}

/// 25 degC, at which a laboratory reads water activity, K.
pub(crate) const LABORATORY_K: f64 = 298.15;

/// Extremes and mean of the load at a state.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LoadState {
    pub mean: f64,
    pub slowest: f64,
    pub fastest: f64,
    pub coldest: f64,
    pub warmest: f64,
}

pub(crate) fn load_state(system: &System, y: &[f64]) -> LoadState {
    let mut s = LoadState {
        mean: 0.0,
        slowest: f64::NEG_INFINITY,
        fastest: f64::INFINITY,
        coldest: f64::INFINITY,
        warmest: f64::NEG_INFINITY,
    };
    let mut area = 0.0;
    for (i, place) in system.places.iter().enumerate() {
        let piece = system.piece(y, i);
        let x = system.food.mean_moisture(piece);
        let core = system.food.core(piece);
        s.mean += place.area * x;
        area += place.area;
        s.slowest = s.slowest.max(x);
        s.fastest = s.fastest.min(x);
        s.coldest = s.coldest.min(core);
        s.warmest = s.warmest.max(core);
    }
    s.mean /= area;
    s
}

/// Load weight, kg.
pub(crate) fn load_weight(system: &System, mean: f64) -> f64 {
    let area: f64 = system.places.iter().map(|p| p.area).sum();
    area * system.food.grid.solids * (1.0 + mean)
}

pub(crate) fn sample(system: &System, elapsed_s: f64, stage: usize, y: &[f64]) -> Sample {
    let b = &y[system.chamber_at()..];
    let load = load_state(system, y);
    let sorption = &system.food.material.sorption;
    let whole: f64 = system.places.iter().map(|p| p.area).sum();
    let per_group = system.places.len() / system.batch.load.groups.len();
    let top = 2 * (system.food.grid.nodes - 1);
    let pieces = system
        .places
        .iter()
        .enumerate()
        .map(|(i, place)| {
            let piece = system.piece(y, i);
            PieceSample {
                group: place.group,
                position: i % per_group,
                load_share: place.area / whole,
                moisture_dry_basis: system.food.mean_moisture(piece),
                core_c: system.food.core(piece),
                mean_temperature_c: system.food.mean_temperature(piece),
                middle_moisture_dry_basis: piece[2 * system.food.grid.middle()],
                surface_c: piece[top + 1],
                surface_aw: sorption.activity(piece[top], piece[top + 1] + 273.15).aw,
            }
        })
        .collect();
    Sample {
        elapsed_s,
        stage,
        chamber_temperature_c: b[chamber::T],
        displayed_temperature_c: sensed(&system.batch, b),
        humidity_ratio_kg_per_kg: b[chamber::W],
        relative_humidity: relative_humidity(&system.batch, b),
        wet_bulb_c: wet_bulb_c(b[chamber::T], b[chamber::W], system.batch.room.pressure_pa),
        heater_demand: chamber::demand(&system.batch, &system.setting, b).1,
        shell_temperature_c: b[chamber::SHELL],
        condensate_kg: b[chamber::CONDENSATE],
        moisture_mean_dry_basis: load.mean,
        moisture_slowest_dry_basis: load.slowest,
        moisture_fastest_dry_basis: load.fastest,
        core_coldest_c: load.coldest,
        core_warmest_c: load.warmest,
        water_activity_mean: sorption.activity(load.mean, LABORATORY_K).aw,
        water_activity_slowest: sorption.activity(load.slowest, LABORATORY_K).aw,
        load_weight_kg: load_weight(system, load.mean),
        heater_j: b[chamber::HEATER_J],
        fan_j: b[chamber::FAN_J],
        vented_kg: b[chamber::VENTED_KG],
        evaporated_kg: b[chamber::EVAPORATED_KG],
        pieces,
    }
}
