//! The chamber air, shell, racks, heater, controller and condensate, and the counters beside them.

use fallrate_air::{humidity_ratio_from_vapour_pressure, saturation_pressure_pa};
use fallrate_units::{
    DRY_AIR_GAS_CONSTANT_J_PER_KG_K as R_AIR, MOLAR_MASS_RATIO_WATER_TO_AIR as EPSILON, ZERO_CELSIUS_K,
};

use crate::physics::setting::Setting;
use crate::physics::surface::{enthalpy, vapour_enthalpy};
use crate::{Batch, ControllerKind, HeaterDelay, VentSetting};

/// States of the chamber in the order of the state vector's tail.
pub(crate) const STATES: usize = 8;
pub(crate) const T: usize = 0;
pub(crate) const W: usize = 1;
pub(crate) const SHELL: usize = 2;
pub(crate) const RACKS: usize = 3;
/// Power on its way (lag) or temperature of the element.
pub(crate) const HEATER: usize = 4;
pub(crate) const INTEGRAL: usize = 5;
pub(crate) const SENSOR: usize = 6;
pub(crate) const CONDENSATE: usize = 7;

/// Counters after the states: integrals that nothing depends on.
pub(crate) const COUNTERS: usize = 11;
/// J drawn by the heater; by the fan.
pub(crate) const HEATER_J: usize = 8;
pub(crate) const FAN_J: usize = 9;
/// kg water carried out by exchanged air; by the air displaced in warming.
pub(crate) const VENTED_KG: usize = 10;
pub(crate) const DISPLACED_KG: usize = 11;
/// kg from product to air; kg added on purpose, and J with it.
pub(crate) const EVAPORATED_KG: usize = 12;
pub(crate) const ADDED_KG: usize = 13;
pub(crate) const ADDED_J: usize = 14;
/// J lost through the shell; with exchanged air; with displaced air.
pub(crate) const LOST_J: usize = 15;
pub(crate) const VENTED_J: usize = 16;
pub(crate) const DISPLACED_J: usize = 17;
/// J of sorption heat charged at the faces outside the state (comparison mode only).
pub(crate) const SORPTION_J: usize = 18;

/// Sums over all pieces.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Totals {
    pub vapour: f64,
    pub enthalpy: f64,
    pub radiation: f64,
    pub sorption: f64,
}

/// Dry air in the chamber, kg.
pub(crate) fn dry_air_kg(batch: &Batch, t_c: f64, w: f64) -> f64 {
    batch.room.pressure_pa * batch.chamber.volume_m3 * dry_density_per_pressure(t_c, w)
}

/// Dry-air density over pressure, kg/(m3 Pa).
pub(crate) fn dry_density_per_pressure(t_c: f64, w: f64) -> f64 {
    EPSILON / (R_AIR * (t_c + ZERO_CELSIUS_K) * (EPSILON + w))
}

/// Heater demand before and after the limits.
pub(crate) fn demand(batch: &Batch, s: &Setting, b: &[f64]) -> (f64, f64) {
    let Some(set_point) = s.set_point_c else { return (0.0, 0.0) };
    match batch.chamber.controller.kind {
        ControllerKind::ProportionalIntegral { kp_per_k, .. } => {
            let raw = kp_per_k * (set_point - sensed(batch, b)) + b[INTEGRAL];
            (raw, raw.clamp(0.0, 1.0))
        }
        ControllerKind::OnOff { .. } => {
            let u = if s.relay_closed { 1.0 } else { 0.0 };
            (u, u)
        }
    }
}

/// What the controller's sensor reads, degC.
pub(crate) fn sensed(batch: &Batch, b: &[f64]) -> f64 {
    let t = if batch.chamber.controller.sensor_lag_s > 0.0 { b[SENSOR] } else { b[T] };
    t + batch.chamber.controller.displayed_offset_k
}

/// Relative humidity of the chamber, fraction.
pub(crate) fn relative_humidity(batch: &Batch, b: &[f64]) -> f64 {
    batch.room.pressure_pa * b[W] / (EPSILON + b[W]) / saturation_pressure_pa(b[T])
}

/// Dry air exchanged with the room, kg/s.
pub(crate) fn exchanged_air(batch: &Batch, s: &Setting, b: &[f64]) -> f64 {
    let opening = match s.vent {
        VentSetting::Opening(share) => share,
        VentSetting::HoldRh { target, band } => {
            ((relative_humidity(batch, b) - target) / band).clamp(0.0, 1.0)
        }
    };
    s.leakage + opening * s.vent_full
}

/// Rates of the chamber's states and counters.
pub(crate) fn rates(batch: &Batch, s: &Setting, b: &[f64], totals: &Totals, db: &mut [f64]) {
    let (c, k) = (&batch.chamber, &batch.air);
    let (t, w) = (b[T], b[W]);
    let mass = dry_air_kg(batch, t, w);
    let exchanged = exchanged_air(batch, s, b);
    let (raw, u) = demand(batch, s, b);
    let power = u * s.heater_w;
    let (to_air, heater_rate, element_to_shell) = match c.heater_delay {
        HeaterDelay::Lag { seconds } => (b[HEATER], (power - b[HEATER]) / seconds, 0.0),
        HeaterDelay::Element { heat_capacity_j_per_k, to_shell_w_per_k, .. } => {
            let air = s.element_exchange * (b[HEATER] - t);
            let shell = to_shell_w_per_k * (b[HEATER] - b[SHELL]);
            (air, (power - air - shell) / heat_capacity_j_per_k, shell)
        }
    };
    let condensing = condensation(batch, s, b);
    let condensed_h = condensing * vapour_enthalpy(if condensing > 0.0 { t } else { b[SHELL] }, k);
    let (added, added_h) = s.water.map_or((0.0, 0.0), |a| (a.kg_per_s, a.kg_per_s * a.enthalpy_j_per_kg));
    let to_shell = s.shell_exchange * (t - b[SHELL]);
    let to_racks = if c.racks_heat_capacity_j_per_k > 0.0 { s.racks_exchange * (t - b[RACKS]) } else { 0.0 };
    let h = enthalpy(t, w, k);
    let (mut dw, mut dt) = (0.0, 0.0);
    if !c.air_held {
        dw = (totals.vapour + added - condensing + exchanged * (s.room_w - w)) / mass;
        let dh = (exchanged * (s.room_h - h) + totals.enthalpy + to_air + s.fan_w + added_h
            - condensed_h
            - to_shell
            - to_racks)
            / mass;
        dt = (dh - vapour_enthalpy(t, k) * dw) / (k.cp_dry_air_j_per_kg_k + w * k.cp_vapour_j_per_kg_k);
    }
    db[T] = dt;
    db[W] = dw;
    let lost = c.shell_loss_w_per_k * (b[SHELL] - s.room_t);
    let water_heat = batch.material.specific_heat_water_j_per_kg_k;
    let liquid = condensing * water_heat * b[SHELL];
    db[SHELL] = (to_shell - lost + condensed_h - liquid + element_to_shell - totals.radiation)
        / (c.shell_heat_capacity_j_per_k + water_heat * b[CONDENSATE].max(0.0));
    db[RACKS] =
        if c.racks_heat_capacity_j_per_k > 0.0 { to_racks / c.racks_heat_capacity_j_per_k } else { 0.0 };
    db[HEATER] = heater_rate;
    db[INTEGRAL] = match (c.controller.kind, s.set_point_c) {
        (ControllerKind::ProportionalIntegral { kp_per_k, ti_s }, Some(set_point)) => {
            kp_per_k * (set_point - sensed(batch, b)) / ti_s + (u - raw) / (0.25 * ti_s)
        }
        _ => 0.0,
    };
    db[SENSOR] =
        if c.controller.sensor_lag_s > 0.0 { (t - b[SENSOR]) / c.controller.sensor_lag_s } else { 0.0 };
    db[CONDENSATE] = condensing;
    let displaced = mass * (dt / (t + ZERO_CELSIUS_K) + dw / (EPSILON + w));
    db[HEATER_J] = power;
    db[FAN_J] = s.fan_w;
    db[VENTED_KG] = exchanged * (w - s.room_w);
    db[DISPLACED_KG] = displaced * w;
    db[EVAPORATED_KG] = totals.vapour;
    db[ADDED_KG] = added;
    db[ADDED_J] = added_h;
    db[LOST_J] = lost;
    db[VENTED_J] = exchanged * (h - s.room_h);
    db[DISPLACED_J] = displaced * h;
    db[SORPTION_J] = totals.sorption;
}

/// Vapour condensing on the shell (positive) or drying off it (negative, while there is any), kg/s.
fn condensation(batch: &Batch, s: &Setting, b: &[f64]) -> f64 {
    if !batch.chamber.shell_condensation {
        return 0.0;
    }
    // Mass conductance of the shell by the Lewis relation, dry air kg/s.
    let conductance = s.shell_exchange / (batch.air.cp_dry_air_j_per_kg_k * batch.exchange.lewis_factor);
    let saturated = humidity_ratio_from_vapour_pressure(
        saturation_pressure_pa(b[SHELL]).min(0.9 * batch.room.pressure_pa),
        batch.room.pressure_pa,
    );
    let drive = b[W] - saturated;
    if drive > 0.0 {
        return conductance * drive;
    }
    /// Film below which drying off slows in proportion, kg.
    const THIN_FILM_KG: f64 = 0.01;
    conductance * drive * (b[CONDENSATE] / THIN_FILM_KG).clamp(0.0, 1.0)
}
