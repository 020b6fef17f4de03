//! Water and energy of a run, summed beside the solution.

use crate::physics::chamber as ch;
use crate::physics::surface::enthalpy;
use crate::physics::system::System;
use crate::{HeaterDelay, SimulateError};

/// Largest water residual allowed, of max(water exchanged, 1 % of the water at the start).
pub const WATER_LIMIT: f64 = 1e-5;
/// Largest energy residual allowed, of the energy exchanged.
pub const ENERGY_LIMIT: f64 = 1e-3;

/// Balances of a run.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Balance {
    /// Water in product at the start, kg.
    pub product_water_start_kg: f64,
    /// Water that the product lost, from its own moisture, kg.
    pub product_water_lost_kg: f64,
    /// What is unaccounted for, kg.
    pub water_residual_kg: f64,
    /// The same as a share of max(water exchanged, 1 % of the water at the start).
    pub water_residual_share: f64,
    /// Heat and work supplied, J.
    pub energy_supplied_j: f64,
    /// What is unaccounted for, J.
    pub energy_residual_j: f64,
    /// The same as a share of the energy exchanged.
    pub energy_residual_share: f64,
}

/// Stores of water and energy at an instant.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Stock {
    pub product_water: f64,
    pub other_water: f64,
    pub energy: f64,
}

pub(crate) fn stock(system: &System, y: &[f64]) -> Stock {
    let b = &y[system.chamber_at()..];
    let c = &system.batch.chamber;
    let mut s = Stock::default();
    for (i, place) in system.places.iter().enumerate().filter(|(_, p)| p.area > 0.0) {
        let piece = system.piece(y, i);
        s.product_water += place.area * system.food.grid.solids * system.food.mean_moisture(piece);
        s.energy += place.area * system.food.enthalpy(piece);
    }
    let dry = ch::dry_air_kg(&system.batch, b[ch::T], b[ch::W]);
    s.other_water = dry * b[ch::W] + b[ch::CONDENSATE];
    let water_heat = system.batch.material.specific_heat_water_j_per_kg_k;
    let heater = match c.heater_delay {
        HeaterDelay::Lag { seconds } => seconds * b[ch::HEATER],
        HeaterDelay::Element { heat_capacity_j_per_k, .. } => heat_capacity_j_per_k * b[ch::HEATER],
    };
    s.energy += dry * enthalpy(b[ch::T], b[ch::W], &system.batch.air)
        + (c.shell_heat_capacity_j_per_k + water_heat * b[ch::CONDENSATE]) * b[ch::SHELL]
        + c.racks_heat_capacity_j_per_k * b[ch::RACKS]
        + heater;
    s
}

/// Balance between two instants; `left` is what was carried out with pulled trays (kg water, J).
pub(crate) fn balance(
    system: &System,
    start: &Stock,
    counters_start: &[f64],
    y: &[f64],
    left: (f64, f64),
) -> Balance {
    let end = stock(system, y);
    let b = &y[system.chamber_at()..];
    let count = |i: usize| b[i] - counters_start[i - ch::STATES];
    let lost = start.product_water - end.product_water - left.0;
    let air_held = system.batch.chamber.air_held;
    // In held air there is no chamber to balance: the product against what was counted from it.
    let water_residual = if air_held {
        lost - count(ch::EVAPORATED_KG)
    } else {
        lost + count(ch::ADDED_KG)
            - count(ch::VENTED_KG)
            - count(ch::DISPLACED_KG)
            - (end.other_water - start.other_water)
    };
    let exchanged = lost.abs().max(count(ch::EVAPORATED_KG).abs()).max(0.01 * start.product_water).max(1e-12);
    let supplied = count(ch::HEATER_J) + count(ch::FAN_J) + count(ch::ADDED_J);
    let spent = count(ch::LOST_J) + count(ch::VENTED_J) + count(ch::DISPLACED_J) + count(ch::SORPTION_J);
    let change = end.energy - start.energy + left.1;
    let energy_residual = if air_held { 0.0 } else { supplied - spent - change };
    let latent = 2.4e6 * exchanged;
    let scale = supplied.abs().max(latent).max(1.0);
    Balance {
        product_water_start_kg: start.product_water,
        product_water_lost_kg: lost,
        water_residual_kg: water_residual,
        water_residual_share: water_residual.abs() / exchanged,
        energy_supplied_j: supplied,
        energy_residual_j: energy_residual,
        energy_residual_share: energy_residual.abs() / scale,
    }
}

/// Refuses a run whose balances do not close.
pub(crate) fn enforce(b: &Balance) -> Result<(), SimulateError> {
    if !(b.water_residual_share <= WATER_LIMIT) {
        return Err(SimulateError::WaterBalance { residual: b.water_residual_share, allowed: WATER_LIMIT });
    }
    if !(b.energy_residual_share <= ENERGY_LIMIT) {
        return Err(SimulateError::EnergyBalance {
            residual: b.energy_residual_share,
            allowed: ENERGY_LIMIT,
        });
    }
    Ok(())
}
