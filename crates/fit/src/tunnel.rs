//! A laboratory tunnel: one thin layer of pieces in air that stays as it is, computed with the full drying model.

use fallrate_simulate::{
    AirConstants, AlongPosition, Batch, Chamber, Controller, ControllerKind, EndCondition, Exchange,
    FaceFactors, FanSetting, HeaterDelay, Load, Material, Options, Room, StageInput, TrayGroup, VentSetting,
    run_from, start,
};

use crate::curve::{DryingCurve, Reading};
use crate::error::FitError;

/// Air flow that one light tray cannot change, m3/s.
const HUGE_FLOW_M3_PER_S: f64 = 1e9;
/// Points of a computed curve.
const POINTS: f64 = 200.0;

/// The air of a tunnel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TunnelAir {
    /// degC
    pub temperature_c: f64,
    /// Fraction.
    pub relative_humidity: f64,
    /// Pa
    pub pressure_pa: f64,
    /// Heat transfer coefficient at each open face, W/(m2 K).
    pub heat_transfer_w_per_m2_k: f64,
    /// h_m = h / (rho c_p x this).
    pub lewis_factor: f64,
}

/// A tunnel with pieces in it.
#[derive(Clone, Debug)]
pub struct Tunnel {
    /// Air.
    pub air: TunnelAir,
    /// Food, with its size and its state at the start.
    pub material: Material,
    /// Nodes through a piece.
    pub nodes: usize,
    /// Relative tolerance of the solution.
    pub relative_tolerance: f64,
    /// Both faces open, or the upper one only.
    pub both_faces: bool,
}

impl Tunnel {
    pub(crate) fn batch(&self) -> Batch {
        let open = FaceFactors { heat: 1.0, mass: 1.0 };
        let shut = FaceFactors { heat: 0.0, mass: 0.0 };
        Batch {
            material: self.material.clone(),
            load: Load {
                groups: vec![TrayGroup {
                    loaded_trays: 1.0,
                    air_share: 1.0,
                    heat_transfer_share: 1.0,
                    shell_view: 0.0,
                }],
                positions: 1,
                nodes: self.nodes,
                fresh_kg_per_tray: 1e-3,
                ends: fallrate_simulate::EndPieces::ALIKE,
            },
            exchange: Exchange {
                heat_transfer_w_per_m2_k: self.air.heat_transfer_w_per_m2_k,
                lewis_factor: self.air.lewis_factor,
                top: open,
                underside: if self.both_faces { open } else { shut },
                along_position: AlongPosition::Entering,
                emissivity: 0.0,
            },
            chamber: chamber(),
            // The room only fills the chamber at the start; its air is then set to the tunnel's.
            room: Room { temperature_c: 20.0, relative_humidity: 0.5, pressure_pa: self.air.pressure_pa },
            air: AirConstants::consistent(self.material.specific_heat_water_j_per_kg_k),
            chamber_start_c: None,
            interruptions: Vec::new(),
        }
    }

    /// Mean moisture from the start until it falls to `stop_dry_basis` or `longest_s` is over.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] for impossible air or duration, [`FitError::Simulation`] where the model has no result.
    pub fn dry(&self, name: &str, longest_s: f64, stop_dry_basis: f64) -> Result<DryingCurve, FitError> {
        let out_of_range = |what: &str, value: f64, unit: &str, low: f64, high: f64| {
            Err(FitError::OutOfRange { what: what.to_owned(), value, unit: unit.to_owned(), low, high })
        };
        let rh = self.air.relative_humidity;
        if !(rh > 0.0 && rh < 1.0) {
            return out_of_range("relative humidity", rh, "-", 0.0, 1.0);
        }
        if !(0.0..=120.0).contains(&self.air.temperature_c) {
            return out_of_range("air temperature", self.air.temperature_c, "degC", 0.0, 120.0);
        }
        if !(longest_s > 0.0 && longest_s < 1e8) {
            return out_of_range("longest duration", longest_s, "s", 0.0, 1e8);
        }
        let failed = |source| FitError::Simulation { curve: name.to_owned(), source };
        let batch = self.batch();
        let ratio = fallrate_air::humidity_ratio_from_relative_humidity(
            self.air.temperature_c,
            rh,
            self.air.pressure_pa,
        );
        let begin = start(&batch).map_err(failed)?.with_chamber_air(self.air.temperature_c, ratio);
        let options = Options {
            relative_tolerance: self.relative_tolerance,
            sample_every_s: Some(longest_s / POINTS),
            ..Options::default()
        };
        let run = run_from(&batch, &begin, &[stage(longest_s, stop_dry_basis)], &options, &mut |_| true)
            .map_err(failed)?;
        let mut readings: Vec<Reading> = Vec::with_capacity(run.samples.len());
        for s in &run.samples {
            if readings.last().is_none_or(|r| s.elapsed_s > r.elapsed_s + 1e-6) {
                let (elapsed_s, moisture_dry_basis) = (s.elapsed_s, s.moisture_mean_dry_basis);
                readings.push(Reading { elapsed_s, moisture_dry_basis });
            }
        }
        DryingCurve::new(name, readings)
    }
}

fn stage(longest_s: f64, stop_dry_basis: f64) -> StageInput {
    StageInput {
        name: "drying".to_owned(),
        set_point_c: None,
        vent: VentSetting::Opening(0.0),
        fan: Some(FanSetting { flow_share: 1.0, exchange_share: 1.0, power_w: 0.0 }),
        door_open: false,
        added_water: None,
        ends: vec![EndCondition::Moisture {
            piece: fallrate_simulate::Piece::Mean,
            dry_basis: stop_dry_basis,
        }],
        at_most_s: Some(longest_s),
        actions: Vec::new(),
        room: None,
    }
}

/// A chamber that does nothing: its air is held.
fn chamber() -> Chamber {
    Chamber {
        volume_m3: 1.0,
        air_flow_m3_per_s: HUGE_FLOW_M3_PER_S,
        fan_off_flow_share: 1.0,
        fan_off_exchange_share: 1.0,
        heater_w: 0.0,
        heater_delay: HeaterDelay::Lag { seconds: 30.0 },
        shell_heat_capacity_j_per_k: 1000.0,
        shell_exchange_w_per_k: 0.0,
        shell_fan_off_share: 1.0,
        shell_loss_w_per_k: 0.0,
        racks_heat_capacity_j_per_k: 0.0,
        racks_exchange_w_per_k: 0.0,
        shell_condensation: false,
        leakage_kg_per_s: 0.0,
        leakage_fan_off_share: 1.0,
        vent_fan_off_share: 1.0,
        vent_full_kg_per_s: 0.0,
        door_kg_per_s: 0.0,
        controller: Controller {
            kind: ControllerKind::ProportionalIntegral { kp_per_k: 0.1, ti_s: 200.0 },
            sensor_lag_s: 0.0,
            displayed_offset_k: 0.0,
        },
        air_held: true,
    }
}
