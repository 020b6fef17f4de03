//! Two fully specified loads, for benchmarks and for comparing independent implementations. All figures are invented.
//!
//! The standard batch is limited by its heater; the second case by diffusion. Their specification, with every choice
//! that moves the answer, stands in `reference/standard_batch/`.

use std::sync::Arc;

use fallrate_schedule::{EndCondition, Piece};

use crate::{
    AirConstants, AlongPosition, Batch, Chamber, Controller, ControllerKind, Diffusivity, EndPieces,
    Exchange, FaceFactors, FanSetting, GabSorption, Geometry, HeaterDelay, Load, Material, MoistureTerm,
    Room, StageInput, TrayGroup, VentSetting,
};

const SET_POINT_C: f64 = 71.0;
const DIFFUSION_LIMITED_SET_POINT_C: f64 = 55.0;
const FAN_W: f64 = 370.0;
const SIXTH_OPEN: f64 = 1.0 / 6.0;

/// The standard batch: 36 kg of strips in a 20-tray cabinet.
#[must_use]
pub fn standard_batch() -> Batch {
    let group = |share: f64| TrayGroup {
        loaded_trays: 20.0 / 3.0,
        air_share: share,
        heat_transfer_share: 1.0,
        shell_view: 0.0,
    };
    Batch {
        material: material(),
        load: Load {
            groups: vec![group(0.85), group(1.0), group(1.15)],
            positions: 5,
            nodes: 13,
            fresh_kg_per_tray: 4.0 * 0.75 * 0.60,
            ends: EndPieces::ALIKE,
        },
        exchange: Exchange {
            heat_transfer_w_per_m2_k: 28.0,
            lewis_factor: 0.9113,
            top: FaceFactors { heat: 1.0, mass: 1.0 },
            underside: FaceFactors { heat: 0.5, mass: 0.5 },
            along_position: AlongPosition::Entering,
            emissivity: 0.0,
        },
        chamber: chamber(),
        room: Room { temperature_c: 20.0, relative_humidity: 0.50, pressure_pa: 101_325.0 },
        air: AirConstants {
            cp_dry_air_j_per_kg_k: 1006.0,
            cp_vapour_j_per_kg_k: 1860.0,
            latent_heat_at_0c_j_per_kg: 2.501e6,
            latent_heat_slope_j_per_kg_k: 2361.0,
        },
        chamber_start_c: None,
        interruptions: Vec::new(),
    }
}

fn material() -> Material {
    Material {
        geometry: Geometry::Slab,
        size_m: 0.006,
        moisture_initial_dry_basis: 2.7,
        temperature_initial_c: 4.0,
        solids_density_kg_per_m3: 1350.0,
        water_density_kg_per_m3: 1000.0,
        shrinkage_share: 1.0,
        lateral_shrinkage_exponent: 0.0,
        specific_heat_solids_j_per_kg_k: 1600.0,
        specific_heat_water_j_per_kg_k: 4186.0,
        conductivity_solids_w_per_m_k: 0.20,
        conductivity_water_w_per_m_k: 0.62,
        diffusivity: Diffusivity::Arrhenius {
            at_60c_m2_per_s: 3.0e-10,
            activation_energy_j_per_mol: 30_000.0,
            moisture_term: MoistureTerm::None,
        },
        sorption: Arc::new(GabSorption {
            monolayer_kg_per_kg: 0.065,
            c: 8.0,
            k: 0.94,
            net_heat_at_zero_j_per_kg: 4.0e5,
        }),
        sorption_heat_inside: false,
        core_is_middle_node: true,
    }
}

fn chamber() -> Chamber {
    Chamber {
        volume_m3: 1.6,
        air_flow_m3_per_s: 1.08,
        fan_off_flow_share: 0.02,
        fan_off_exchange_share: 0.15,
        heater_w: 6000.0,
        heater_delay: HeaterDelay::Lag { seconds: 45.0 },
        shell_heat_capacity_j_per_k: 60_000.0,
        shell_exchange_w_per_k: 180.0,
        shell_fan_off_share: 0.2,
        shell_loss_w_per_k: 22.0,
        racks_heat_capacity_j_per_k: 0.0,
        racks_exchange_w_per_k: 0.0,
        shell_condensation: false,
        leakage_kg_per_s: 0.004,
        leakage_fan_off_share: 0.5,
        vent_fan_off_share: 0.0,
        vent_full_kg_per_s: 0.18,
        door_kg_per_s: 0.0,
        controller: Controller {
            kind: ControllerKind::ProportionalIntegral { kp_per_k: 0.08, ti_s: 240.0 },
            sensor_lag_s: 0.0,
            displayed_offset_k: 0.0,
        },
        air_held: false,
    }
}

/// The stages of the standard batch: warm-up, soak, drying, a power cut of 20 minutes, drying on, and the coast.
#[must_use]
pub fn standard_stages() -> Vec<StageInput> {
    vec![
        powered("warm-up", 0.0, EndCondition::CoreRise { kelvin: 20.0 }),
        powered("soak", 0.0, EndCondition::Elapsed { seconds: 3600.0 }),
        powered("dry", SIXTH_OPEN, EndCondition::Elapsed { seconds: 7200.0 }),
        unpowered("power cut", SIXTH_OPEN, 1200.0),
        powered("dry on", SIXTH_OPEN, EndCondition::Moisture { piece: Piece::Mean, dry_basis: 0.45 }),
        unpowered("coast", SIXTH_OPEN, 10_800.0),
    ]
}

/// The second case, limited by diffusion: a quarter of the load on solid trays, a lower set point, a humid room.
#[must_use]
pub fn diffusion_limited_batch() -> Batch {
    let mut batch = standard_batch();
    batch.load.fresh_kg_per_tray = 1.0 * 0.75 * 0.60;
    batch.exchange.underside = FaceFactors { heat: 0.5, mass: 0.0 };
    batch.room.relative_humidity = 0.80;
    batch
}

/// The stages of the second case: warm-up, soak, drying straight to 0.12 kg/kg, and eight hours' stand.
#[must_use]
pub fn diffusion_limited_stages() -> Vec<StageInput> {
    let at = |stage: StageInput| StageInput { set_point_c: Some(DIFFUSION_LIMITED_SET_POINT_C), ..stage };
    vec![
        at(powered("warm-up", 0.0, EndCondition::CoreRise { kelvin: 20.0 })),
        at(powered("soak", 0.0, EndCondition::Elapsed { seconds: 3600.0 })),
        at(powered("dry", SIXTH_OPEN, EndCondition::Moisture { piece: Piece::Mean, dry_basis: 0.12 })),
        unpowered("stand", SIXTH_OPEN, 28_800.0),
    ]
}

/// A stage with heater and fan on.
#[must_use]
pub fn powered(name: &str, opening: f64, end: EndCondition) -> StageInput {
    StageInput {
        name: name.to_owned(),
        set_point_c: Some(SET_POINT_C),
        vent: VentSetting::Opening(opening),
        fan: Some(FanSetting { flow_share: 1.0, exchange_share: 1.0, power_w: FAN_W }),
        door_open: false,
        added_water: None,
        ends: vec![end],
        at_most_s: None,
        actions: Vec::new(),
        room: None,
    }
}

/// A stage with heater and fan off.
#[must_use]
pub fn unpowered(name: &str, opening: f64, seconds: f64) -> StageInput {
    StageInput { set_point_c: None, fan: None, ..powered(name, opening, EndCondition::Elapsed { seconds }) }
}
