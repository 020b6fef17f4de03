//! True states, kept for the debrief.

use fallrate_simulate::Sample;

use crate::engine::Engine;

/// The true state of the batch at an instant.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// s from the start.
    pub elapsed_s: f64,
    /// Load-weighted mean moisture, kg/kg dry basis.
    pub mean_dry_basis: f64,
    /// Wettest piece, kg/kg dry basis.
    pub wettest_dry_basis: f64,
    /// Driest piece, kg/kg dry basis.
    pub driest_dry_basis: f64,
    /// Coldest core, degC.
    pub core_coldest_c: f64,
    /// Air before the trays, degC.
    pub chamber_c: f64,
    /// Its wet bulb, degC.
    pub wet_bulb_c: f64,
    /// Its relative humidity, fraction.
    pub relative_humidity: f64,
    /// Water activity of the wettest piece, equalised at 25 degC.
    pub water_activity_wettest: f64,
    /// Electric energy since the start, J.
    pub energy_j: f64,
    /// Mean moisture of each tray in the order of its place, kg/kg dry basis; trays that were taken out keep theirs.
    pub trays_dry_basis: Vec<f64>,
    /// Product on each tray, kg.
    pub trays_kg: Vec<f64>,
}

/// The state at a sample; trays that are out do not count among the extremes.
pub(crate) fn state(s: &Sample, engine: &mut Engine) -> State {
    let trays_dry_basis = engine.trays_dry_basis(s);
    let trays_kg = engine.trays_kg(&trays_dry_basis);
    let (truth, out) = (&engine.world.truth, &engine.out);
    let inside = || s.pieces.iter().filter(|p| !out.get(p.group).copied().unwrap_or(false));
    let x = || inside().map(|p| p.moisture_dry_basis);
    let wettest = x().fold(f64::NEG_INFINITY, f64::max);
    State {
        elapsed_s: s.elapsed_s,
        mean_dry_basis: s.moisture_mean_dry_basis,
        wettest_dry_basis: wettest,
        driest_dry_basis: x().fold(f64::INFINITY, f64::min),
        core_coldest_c: inside().map(|p| p.core_c).fold(f64::INFINITY, f64::min),
        chamber_c: s.chamber_temperature_c,
        wet_bulb_c: s.wet_bulb_c,
        relative_humidity: s.relative_humidity,
        water_activity_wettest: truth.activity(wettest),
        energy_j: s.heater_j + s.fan_j,
        trays_dry_basis,
        trays_kg,
    }
}
