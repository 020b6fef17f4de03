//! The settings in force during a stretch of the run, resolved from stage, interruption and room.

use fallrate_air::{humidity_ratio_from_vapour_pressure, saturation_pressure_pa};

use crate::physics::surface::enthalpy;
use crate::{AddedWater, Batch, HeaterDelay, InterruptionKind, Room, StageInput, VentSetting};

/// Everything that stays fixed between two switching instants.
#[derive(Clone, Debug)]
pub(crate) struct Setting {
    /// Set point, degC; none: heater off.
    pub set_point_c: Option<f64>,
    /// Heater power at full demand now, W.
    pub heater_w: f64,
    /// On/off control: relay closed.
    pub relay_closed: bool,
    pub vent: VentSetting,
    /// Flow through a fully open vent, dry air, kg/s.
    pub vent_full: f64,
    /// Leakage and open door, dry air, kg/s.
    pub leakage: f64,
    /// Air through the trays, m3/s.
    pub air_flow: f64,
    /// Heat transfer coefficient, W/(m2 K).
    pub heat_transfer: f64,
    pub fan_w: f64,
    pub shell_exchange: f64,
    pub racks_exchange: f64,
    /// Element to air, W/K (element model only).
    pub element_exchange: f64,
    pub water: Option<AddedWater>,
    pub room_t: f64,
    pub room_w: f64,
    pub room_h: f64,
}

impl Setting {
    pub fn new(batch: &Batch, stage: &StageInput, active: &[InterruptionKind]) -> Self {
        let c = &batch.chamber;
        let room: Room = stage.room.unwrap_or(batch.room);
        let stopped = stage.door_open
            || active.iter().any(|i| {
                matches!(
                    i,
                    InterruptionKind::PowerOff | InterruptionKind::DoorOpen | InterruptionKind::FanLost
                )
            });
        let mut fan = if stopped { None } else { stage.fan };
        let door = stage.door_open || active.contains(&InterruptionKind::DoorOpen);
        let on = fan.is_some();
        let share = |fan_off: f64| if on { 1.0 } else { fan_off };
        let mut vent = stage.vent;
        let (mut heater_w, mut vent_full) = (c.heater_w, c.vent_full_kg_per_s);
        for i in active {
            match i {
                InterruptionKind::VentMoved(opening) => vent = VentSetting::Opening(*opening),
                InterruptionKind::HeaterWeak(left) => heater_w *= left,
                InterruptionKind::VentBlocked(left) => vent_full *= left,
                InterruptionKind::FanWeak { flow_share, exchange_share } => {
                    if let Some(f) = &mut fan {
                        f.flow_share *= flow_share;
                        f.exchange_share *= exchange_share;
                    }
                }
                InterruptionKind::PowerOff
                | InterruptionKind::DoorOpen
                | InterruptionKind::FanLost
                | InterruptionKind::TraysOut { .. } => {}
            }
        }
        let exchange_share = fan.map_or(1.0, |f| f.exchange_share);
        let room_w = humidity_ratio_from_vapour_pressure(
            room.relative_humidity * saturation_pressure_pa(room.temperature_c),
            room.pressure_pa,
        );
        Self {
            set_point_c: if stopped { None } else { stage.set_point_c },
            heater_w,
            relay_closed: true,
            vent,
            vent_full: vent_full * fan.map_or(c.vent_fan_off_share, |f| f.flow_share),
            leakage: c.leakage_kg_per_s * share(c.leakage_fan_off_share)
                + if door { c.door_kg_per_s } else { 0.0 },
            air_flow: c.air_flow_m3_per_s * fan.map_or(c.fan_off_flow_share, |f| f.flow_share),
            heat_transfer: batch.exchange.heat_transfer_w_per_m2_k
                * fan.map_or(c.fan_off_exchange_share, |f| f.exchange_share),
            fan_w: fan.map_or(0.0, |f| f.power_w),
            shell_exchange: c.shell_exchange_w_per_k * share(c.shell_fan_off_share) * exchange_share,
            racks_exchange: c.racks_exchange_w_per_k * share(c.shell_fan_off_share) * exchange_share,
            element_exchange: match c.heater_delay {
                HeaterDelay::Element { conductance_w_per_k, fan_off_share, .. } => {
                    conductance_w_per_k * share(fan_off_share) * exchange_share
                }
                HeaterDelay::Lag { .. } => 0.0,
            },
            water: stage.added_water,
            room_t: room.temperature_c,
            room_w,
            room_h: enthalpy(room.temperature_c, room_w, &batch.air),
        }
    }
}
