//! From a plan file, a product and a cabinet to numbers.

use std::sync::Arc;

use fallrate_air::pressure_from_altitude_pa;
use fallrate_equipment::{Cabinet, ControllerKind as CabinetControl};
use fallrate_foods::{Component, Prepared, Product, Shape};
use fallrate_schedule as schedule;
use fallrate_simulate as sim;
use fallrate_units::STANDARD_PRESSURE_PA;

use crate::error::PlanError;
use crate::request::{PlanRequest, Spread as Asked, StagesRequest, Target as AskedTarget, Unload};
use crate::setup::{Dial, Setup, StandLimit, Target, Unloading};
use crate::spread::{Input, Spread};
use crate::sweep::FINE;

/// Le^(2/3) of water vapour in air with Le = 0.87 (common value of drying texts, from memory).
const LEWIS_FACTOR: f64 = 0.9113;
/// Emissivity product of a moist food and a metal wall that has been in use (from memory, 0.5 to 0.8).
const EMISSIVITY: f64 = 0.6;
/// Specific heat of the water held, J/(kg K); with the latent heat's slope it fixes that of the vapour.
const WATER_HEAT: f64 = 4186.0;
/// Temperature at which the food's heat properties are taken, degC.
const PROPERTY_C: f64 = 50.0;

/// Where the numbers of a plan came from, for printing.
#[derive(Clone, Debug)]
pub struct Assembled {
    /// Numbers.
    pub setup: Setup,
    /// Food as loaded.
    pub prepared: Prepared,
    /// Loaded trays.
    pub loaded_trays: u32,
    /// Loaded trays of each group.
    pub trays_by_group: Vec<u32>,
    /// Tray with liner, kg.
    pub tare_kg: f64,
    /// Key of the liner.
    pub liner: String,
    /// Stages in the user's words, proposed or given.
    pub stages: Vec<schedule::Stage>,
}

/// Resolves a request. Stages to be proposed are left empty here and filled by the proposal.
///
/// # Errors
/// [`PlanError`] names what contradicts the product or the cabinet.
pub fn assemble(request: &PlanRequest, product: &Product, cabinet: &Cabinet) -> Result<Assembled, PlanError> {
    let prepared = prepare(request, product)?;
    let trays_by_group = spread_trays(request, cabinet)?;
    let loaded_trays: u32 = trays_by_group.iter().sum();
    let per_tray = request.load.per_tray_kg(loaded_trays, cabinet.tray_area_m2());
    let liner = match &request.load.liner {
        Some(key) => cabinet.liner(key).map_err(|_| PlanError::Unknown {
            what: "liner",
            name: key.clone(),
            allowed: cabinet.liners.iter().map(|l| l.key.clone()).collect::<Vec<_>>().join(", "),
        })?,
        None => cabinet.liners.iter().find(|l| l.key == "bare").or(cabinet.liners.first()).ok_or(
            PlanError::Unknown {
                what: "liner",
                name: "bare".to_owned(),
                allowed: "none in this cabinet file".to_owned(),
            },
        )?,
    };
    let material = material(request, product, &prepared)?;
    let pressure_pa = pressure_from_altitude_pa(request.room.altitude.metres());
    let room = sim::Room {
        temperature_c: request.room.temperature.celsius(),
        relative_humidity: request.room.relative_humidity.fraction(),
        pressure_pa,
    };
    let stages = match &request.stages {
        StagesRequest::Given(stages) => stages.clone(),
        StagesRequest::Propose { .. } => Vec::new(),
    };
    let target = target(request, product, &material, loaded_trays, per_tray)?;
    let mut batch = sim::Batch {
        load: load(cabinet, &trays_by_group, per_tray),
        exchange: exchange(cabinet, liner, pressure_pa),
        chamber: chamber(cabinet, &trays_by_group),
        room,
        air: sim::AirConstants::consistent(WATER_HEAT),
        chamber_start_c: request.start.chamber.map(fallrate_units::Temperature::celsius),
        interruptions: interruptions(request, cabinet, &trays_by_group)?,
        material,
    };
    let cv = thickness_spread(request, product, batch.material.size_m).0;
    batch.load.ends =
        sim::EndPieces { entering: (-END_PIECE_SD * cv).exp(), leaving: (END_PIECE_SD * cv).exp() };
    batch.check()?;
    let spreads = spreads(request, product, cabinet, &batch);
    let least_opening = effective_opening(cabinet, cabinet.least_vent_opening())?;
    let numbers =
        stages.iter().map(|s| stage_input(s, cabinet, &trays_by_group)).collect::<Result<Vec<_>, _>>()?;
    let setup = Setup {
        unloading: match request.timer.unload {
            Unload::AtEnd => Unloading::AtOnce,
            Unload::NextStaffed => Unloading::NextStaffed,
            Unload::At(at) => {
                Unloading::At { elapsed_s: (at.seconds() - request.start.at.seconds()).rem_euclid(86_400.0) }
            }
        },
        stand_room: request.room.night.map(|n| {
            let room = sim::Room {
                temperature_c: n.temperature.celsius(),
                relative_humidity: n.relative_humidity.fraction(),
                pressure_pa,
            };
            (room, n.hours)
        }),
        stand_vent_opening: numbers.last().map_or(least_opening, |s| opening_of(&s.vent, least_opening)),
        dial: Dial {
            step_s: cabinet.timer.step.value.seconds(),
            maximum_s: cabinet.timer.maximum.value.seconds(),
            from_s: 0.0,
        },
        start: request.start.at,
        staffed: request.staff.clone(),
        money: request.money.clone(),
        stand_limit: product.growth.as_ref().map(|g| StandLimit {
            water_activity: g.aw_limit.value.fraction(),
            growth_from_c: g.temperature_low.celsius(),
            growth_to_c: g.temperature_high.celsius(),
        }),
        stages: numbers,
        relay_shifts_k: Vec::new(),
        target,
        spreads,
        batch,
    };
    let tare_kg =
        cabinet.trays.tare.value.kilograms() + liner.weight.value.kg_per_m2() * cabinet.tray_area_m2();
    Ok(Assembled { setup, prepared, loaded_trays, trays_by_group, tare_kg, liner: liner.key.clone(), stages })
}

fn contradiction(what: &str, value: String, allowed: &str) -> PlanError {
    PlanError::Contradiction { what: what.to_owned(), value, allowed: allowed.to_owned() }
}

fn foods(what: &str, e: &fallrate_foods::FoodsError) -> PlanError {
    contradiction(what, e.to_string(), "a product file whose figures hold together")
}

fn prepare(request: &PlanRequest, product: &Product) -> Result<Prepared, PlanError> {
    let mut p = product.usual_preparation();
    if let Some(salt) = request.raw.salt {
        p.salt_kg_per_kg_raw = salt.fraction();
    }
    if let Some(sugar) = request.raw.sugar {
        p.sugar_kg_per_kg_raw = sugar.fraction();
    }
    if let Some(solids) = request.raw.solids {
        // The solids are those of the prepared food as loaded: the raw moisture that leads to them.
        let total = 1.0 + p.salt_kg_per_kg_raw + p.sugar_kg_per_kg_raw + p.water_kg_per_kg_raw;
        p.raw_moisture_wet_basis = (1.0 - solids.fraction()) * total - p.water_kg_per_kg_raw;
    }
    product.prepare(&p).map_err(|e| foods("raw material", &e))
}

/// Loaded trays per group: as listed, else in proportion with the remainder to the largest fractions.
fn spread_trays(request: &PlanRequest, cabinet: &Cabinet) -> Result<Vec<u32>, PlanError> {
    let count = cabinet.trays.count;
    let wanted = request.load.trays.unwrap_or(count);
    if wanted == 0 || wanted > count {
        return Err(contradiction(
            "loaded trays",
            wanted.to_string(),
            &format!("1 to the cabinet's {count}"),
        ));
    }
    if !request.load.trays_by_group.is_empty() {
        let mut trays = vec![0; cabinet.groups.len()];
        for (name, n) in &request.load.trays_by_group {
            let g = group_index(cabinet, name)?;
            if *n > cabinet.groups[g].trays {
                return Err(contradiction(
                    &format!("trays of group '{name}'"),
                    n.to_string(),
                    &format!("0 to {}", cabinet.groups[g].trays),
                ));
            }
            trays[g] = *n;
        }
        return Ok(trays);
    }
    let exact: Vec<f64> =
        cabinet.groups.iter().map(|g| f64::from(g.trays) * f64::from(wanted) / f64::from(count)).collect();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let mut trays: Vec<u32> = exact.iter().map(|e| (e + 1e-9).floor() as u32).collect();
    while trays.iter().sum::<u32>() < wanted {
        let behind = |g: usize| exact[g] - f64::from(trays[g]);
        let next = (0..trays.len())
            .filter(|&g| trays[g] < cabinet.groups[g].trays)
            .max_by(|&a, &b| behind(a).total_cmp(&behind(b)));
        match next {
            Some(g) => trays[g] += 1,
            None => break,
        }
    }
    Ok(trays)
}

fn group_index(cabinet: &Cabinet, name: &str) -> Result<usize, PlanError> {
    cabinet.groups.iter().position(|g| g.name == name).ok_or_else(|| PlanError::Unknown {
        what: "tray group",
        name: name.to_owned(),
        allowed: cabinet.groups.iter().map(|g| g.name.clone()).collect::<Vec<_>>().join(", "),
    })
}

/// Index of a group among those that are loaded, which are all that the model knows.
fn loaded_group_index(cabinet: &Cabinet, trays_by_group: &[u32], name: &str) -> Result<usize, PlanError> {
    let g = group_index(cabinet, name)?;
    if trays_by_group.get(g).is_none_or(|trays| *trays == 0) {
        let loaded = cabinet.groups.iter().zip(trays_by_group).filter(|(_, trays)| **trays > 0);
        let names: Vec<_> = loaded.map(|(group, _)| group.name.clone()).collect();
        return Err(contradiction(
            &format!("tray group '{name}'"),
            "no tray loaded".to_owned(),
            &names.join(", "),
        ));
    }
    Ok(trays_by_group.iter().take(g).filter(|trays| **trays > 0).count())
}

fn material(
    request: &PlanRequest,
    product: &Product,
    prepared: &Prepared,
) -> Result<sim::Material, PlanError> {
    let volume = product.volume_law(prepared);
    let sorption = product.sorption_model(prepared.solutes).map_err(|e| foods("sorption", &e))?;
    let geometry = match product.geometry.shape {
        Shape::Slab => sim::Geometry::Slab,
        Shape::Cylinder => sim::Geometry::Cylinder,
        Shape::Sphere => sim::Geometry::Sphere,
    };
    let default_c = if product.raw_meat { 4.0 } else { request.room.temperature.celsius() };
    Ok(sim::Material {
        geometry,
        size_m: request.piece.thickness.unwrap_or(product.geometry.size.value).metres(),
        moisture_initial_dry_basis: prepared.x0_kg_per_kg,
        temperature_initial_c: request
            .load
            .temperature
            .map_or(default_c, fallrate_units::Temperature::celsius),
        solids_density_kg_per_m3: volume.solids_density_kg_per_m3,
        water_density_kg_per_m3: volume.water_density_kg_per_m3,
        shrinkage_share: volume.shrinkage_share,
        lateral_shrinkage_exponent: if geometry == sim::Geometry::Slab {
            volume.lateral_exponent
        } else {
            0.0
        },
        specific_heat_solids_j_per_kg_k: prepared.composition.solids_specific_heat_j_per_kg_k(PROPERTY_C),
        specific_heat_water_j_per_kg_k: WATER_HEAT,
        conductivity_solids_w_per_m_k: prepared.composition.solids_conductivity_w_per_m_k(PROPERTY_C),
        conductivity_water_w_per_m_k: Component::Water.conductivity_w_per_m_k(PROPERTY_C),
        diffusivity: product.diffusivity_law_of(prepared),
        sorption: Arc::new(sorption),
        sorption_heat_inside: true,
        core_is_middle_node: false,
    })
}

fn target(
    request: &PlanRequest,
    product: &Product,
    material: &sim::Material,
    loaded_trays: u32,
    per_tray_kg: f64,
) -> Result<Target, PlanError> {
    let start = material.moisture_initial_dry_basis;
    let solids = per_tray_kg * f64::from(loaded_trays) / (1.0 + start);
    let (x, water_activity) = match request.target.target {
        AskedTarget::Moisture(m) => (m.dry_basis().kg_per_kg(), None),
        AskedTarget::WaterActivity(aw) => {
            let sorption = product
                .sorption_model(prepare(request, product)?.solutes)
                .map_err(|e| foods("sorption", &e))?;
            let greatest = sorption.activity(start, 298.15).aw;
            let x = sorption.moisture_at(aw, 298.15).ok_or(PlanError::NoSuchActivity { aw, greatest })?;
            (x, Some(aw))
        }
        AskedTarget::LoadWeight(m) => (m.kilograms() / solids - 1.0, None),
        AskedTarget::TrayWeight(m) => (m.kilograms() * f64::from(loaded_trays) / solids - 1.0, None),
    };
    if x <= 0.0 {
        return Err(contradiction(
            "target weight",
            "below the weight of the dry solids".to_owned(),
            &format!("above {solids:.3} kg for the whole load"),
        ));
    }
    if x >= start {
        return Err(PlanError::AlreadyThere { asked_dry_basis: x, initial_dry_basis: start });
    }
    Ok(Target { piece: request.target.piece, moisture_dry_basis: x, water_activity })
}

fn load(cabinet: &Cabinet, trays_by_group: &[u32], per_tray: f64) -> sim::Load {
    let n = cabinet.heat_transfer.exponent.value;
    let groups =
        cabinet.groups.iter().zip(trays_by_group).filter(|(_, t)| **t > 0).map(|(g, t)| sim::TrayGroup {
            loaded_trays: f64::from(*t),
            air_share: f64::from(*t) * g.air_share.value,
            heat_transfer_share: g.air_share.value.powf(n),
            shell_view: g.shell_view.value,
        });
    sim::Load {
        groups: groups.collect(),
        positions: FINE.positions,
        nodes: FINE.nodes,
        fresh_kg_per_tray: per_tray,
        ends: sim::EndPieces::ALIKE,
    }
}

/// Share of the cabinet's air that passes loaded trays; the rest goes by unchanged.
fn loaded_air(cabinet: &Cabinet, trays_by_group: &[u32]) -> f64 {
    let all: f64 = cabinet.groups.iter().map(|g| f64::from(g.trays) * g.air_share.value).sum();
    let loaded: f64 =
        cabinet.groups.iter().zip(trays_by_group).map(|(g, t)| f64::from(*t) * g.air_share.value).sum();
    loaded / all
}

fn exchange(cabinet: &Cabinet, liner: &fallrate_equipment::Liner, pressure_pa: f64) -> sim::Exchange {
    let speed = cabinet.full_fan().map_or(1.0, |f| cabinet.air_speed_m_per_s(f));
    // The coefficient goes with the mass velocity: thinner air takes less.
    let thin = (pressure_pa / STANDARD_PRESSURE_PA).powf(cabinet.heat_transfer.exponent.value);
    sim::Exchange {
        heat_transfer_w_per_m2_k: cabinet.heat_transfer_w_per_m2_k(speed) * thin,
        lewis_factor: LEWIS_FACTOR,
        top: sim::FaceFactors { heat: 1.0, mass: 1.0 },
        underside: sim::FaceFactors { heat: liner.underside_heat.value, mass: liner.underside_mass.value },
        along_position: sim::AlongPosition::Mean,
        emissivity: EMISSIVITY,
    }
}

fn chamber(cabinet: &Cabinet, trays_by_group: &[u32]) -> sim::Chamber {
    let c = cabinet;
    sim::Chamber {
        volume_m3: c.air.plenum_volume.value.cubic_metres(),
        air_flow_m3_per_s: c.full_air_flow_m3_per_s() * loaded_air(cabinet, trays_by_group),
        fan_off_flow_share: c.air.fan_off_air_share.value.fraction(),
        fan_off_exchange_share: c.air.fan_off_exchange_share.value.fraction(),
        heater_w: c.heater_power_w(c.mains.actual_v.value),
        heater_delay: sim::HeaterDelay::Element {
            heat_capacity_j_per_k: c.heater.element_heat_capacity.value.j_per_k(),
            conductance_w_per_k: c.heater.element_conductance.value.w_per_k(),
            fan_off_share: c.heater.fan_off_share.value.fraction(),
            to_shell_w_per_k: c.heater.to_shell.value.w_per_k(),
        },
        shell_heat_capacity_j_per_k: c.shell.heat_capacity.value.j_per_k(),
        shell_exchange_w_per_k: c.shell.exchange.value.w_per_k(),
        shell_fan_off_share: c.shell.fan_off_share.value.fraction(),
        shell_loss_w_per_k: c.shell.loss.value.w_per_k(),
        racks_heat_capacity_j_per_k: c.racks.heat_capacity.value.j_per_k(),
        racks_exchange_w_per_k: c.racks.exchange.value.w_per_k(),
        shell_condensation: true,
        leakage_kg_per_s: c.leakage.dry_air.value.kg_per_s(),
        leakage_fan_off_share: c.leakage.fan_off_share.value.fraction(),
        vent_fan_off_share: c.vent.fan_off_share.value.fraction(),
        vent_full_kg_per_s: c.vent.marks.last().map_or(0.0, |m| m.dry_air.value.kg_per_s()),
        door_kg_per_s: c.door.open_dry_air.value.kg_per_s(),
        controller: sim::Controller {
            kind: match &c.controller.kind {
                CabinetControl::Pi { kp_per_k, ti } => sim::ControllerKind::ProportionalIntegral {
                    kp_per_k: kp_per_k.value,
                    ti_s: ti.value.seconds(),
                },
                CabinetControl::OnOff { hysteresis } => {
                    sim::ControllerKind::OnOff { hysteresis_k: hysteresis.value.kelvin() }
                }
            },
            sensor_lag_s: c.controller.sensor_lag.value.seconds(),
            displayed_offset_k: c.controller.displayed_offset.value.kelvin(),
        },
        air_held: false,
    }
}

fn opening_of(vent: &sim::VentSetting, otherwise: f64) -> f64 {
    match vent {
        sim::VentSetting::Opening(share) => *share,
        sim::VentSetting::HoldRh { .. } => otherwise,
    }
}

/// The model's opening (share of the full flow) of an opening on the cabinet's scale.
fn effective_opening(cabinet: &Cabinet, opening: f64) -> Result<f64, PlanError> {
    let full = cabinet.vent.marks.last().map_or(0.0, |m| m.dry_air.value.kg_per_s());
    let flow = cabinet
        .vent_dry_air_kg_per_s(opening)
        .map_err(|e| contradiction("vent opening", format!("{:.0} %", opening * 100.0), &e.to_string()))?;
    Ok(if full > 0.0 { flow / full } else { 0.0 })
}

fn vent(setting: &schedule::VentSetting, cabinet: &Cabinet) -> Result<sim::VentSetting, PlanError> {
    Ok(match setting {
        schedule::VentSetting::Mark(name) => {
            let mark = cabinet.vent_mark(name).map_err(|_| PlanError::Unknown {
                what: "vent mark",
                name: name.clone(),
                allowed: cabinet.vent.marks.iter().map(|m| m.name.clone()).collect::<Vec<_>>().join(", "),
            })?;
            sim::VentSetting::Opening(effective_opening(cabinet, mark.opening.value.fraction())?)
        }
        schedule::VentSetting::Opening(share) => {
            sim::VentSetting::Opening(effective_opening(cabinet, *share)?)
        }
        schedule::VentSetting::HoldRh(target) => sim::VentSetting::HoldRh { target: *target, band: 0.05 },
    })
}

/// A stage in numbers, for a cabinet with so many trays loaded in each of its groups.
///
/// # Errors
/// [`PlanError`] where it names what the cabinet does not have or asks beyond its range.
pub fn stage_input(
    stage: &schedule::Stage,
    cabinet: &Cabinet,
    trays_by_group: &[u32],
) -> Result<sim::StageInput, PlanError> {
    let n = cabinet.heat_transfer.exponent.value;
    let full = cabinet.full_air_flow_m3_per_s();
    let setting = |step: &fallrate_equipment::FanStep| {
        let share = step.air_flow.value.m3_per_s() / full;
        sim::FanSetting {
            flow_share: share,
            exchange_share: share.powf(n),
            power_w: step.power.value.watts(),
        }
    };
    let fan = match &stage.fan {
        schedule::FanSetting::Off => None,
        schedule::FanSetting::Strongest => cabinet.full_fan().map(setting),
        schedule::FanSetting::Step(name) => {
            Some(setting(cabinet.fan_step(name).map_err(|_| PlanError::Unknown {
                what: "fan step",
                name: name.clone(),
                allowed: cabinet.fan_steps.iter().map(|f| f.name.clone()).collect::<Vec<_>>().join(", "),
            })?))
        }
    };
    let (least, greatest) = (
        cabinet.controller.set_point_least.value.celsius(),
        cabinet.controller.set_point_greatest.value.celsius(),
    );
    if let Some(c) = stage.set_point_c.filter(|c| !(least..=greatest).contains(c)) {
        return Err(contradiction(
            &format!("set point of stage '{}'", stage.name),
            format!("{c:.1} degC"),
            &format!("{least:.0} to {greatest:.0} degC in this cabinet"),
        ));
    }
    let longest = stage.ends.iter().find_map(|e| match e {
        schedule::EndCondition::Elapsed { seconds } => Some(*seconds),
        _ => None,
    });
    let water = (stage.water_added_kg > 0.0).then(|| {
        let over = longest.or(stage.at_most_s).unwrap_or(3600.0);
        sim::AddedWater { kg_per_s: stage.water_added_kg / over, enthalpy_j_per_kg: WATER_HEAT * 20.0 }
    });
    Ok(sim::StageInput {
        name: stage.name.clone(),
        set_point_c: stage.set_point_c,
        vent: vent(&stage.vent, cabinet)?,
        fan,
        door_open: false,
        added_water: water,
        ends: stage.ends.clone(),
        at_most_s: stage.at_most_s,
        actions: stage
            .actions
            .iter()
            .map(|a| action(a, cabinet, trays_by_group))
            .collect::<Result<_, _>>()?,
        room: None,
    })
}

fn action(
    action: &schedule::Action,
    cabinet: &Cabinet,
    trays_by_group: &[u32],
) -> Result<sim::Action, PlanError> {
    let index = |name: &str| loaded_group_index(cabinet, trays_by_group, name);
    Ok(match action {
        schedule::Action::SwapGroups { a, b } => sim::Action::SwapGroups { a: index(a)?, b: index(b)? },
        schedule::Action::TurnTrays => sim::Action::TurnTrays,
        schedule::Action::TurnPieces => sim::Action::TurnPieces,
        schedule::Action::PullTrays { group, trays } => {
            sim::Action::PullTrays { group: index(group)?, trays: f64::from(*trays) }
        }
    })
}

fn interruptions(
    request: &PlanRequest,
    cabinet: &Cabinet,
    trays_by_group: &[u32],
) -> Result<Vec<sim::Interruption>, PlanError> {
    request
        .interruptions
        .iter()
        .map(|i| {
            let kind = interruption_kind(&i.kind, cabinet, trays_by_group)?;
            Ok(sim::Interruption { kind, start_s: i.start_s, duration_s: i.duration_s })
        })
        .collect()
}

/// A kind of interruption in numbers, for a cabinet with so many trays loaded in each of its groups.
///
/// # Errors
/// [`PlanError`] where it names what the cabinet does not have.
pub fn interruption_kind(
    kind: &schedule::InterruptionKind,
    cabinet: &Cabinet,
    trays_by_group: &[u32],
) -> Result<sim::InterruptionKind, PlanError> {
    Ok(match kind {
        schedule::InterruptionKind::PowerOff => sim::InterruptionKind::PowerOff,
        schedule::InterruptionKind::DoorOpen => sim::InterruptionKind::DoorOpen,
        schedule::InterruptionKind::FanLost => sim::InterruptionKind::FanLost,
        schedule::InterruptionKind::VentMoved(v) => {
            let moved = vent(v, cabinet)?;
            sim::InterruptionKind::VentMoved(opening_of(&moved, 0.0))
        }
        schedule::InterruptionKind::TraysPulled { group, trays } => sim::InterruptionKind::TraysOut {
            group: loaded_group_index(cabinet, trays_by_group, group)?,
            trays: f64::from(*trays),
        },
    })
}

/// Half the range between low and high in standard deviations: low and high are taken as the 5th and 95th percentiles.
const RANGE_IN_SD: f64 = 2.0 * 1.645;

/// The mean thickness of a load varies by this share of what its pieces do (own judgement: the slicer's setting).
const BATCH_MEAN_SHARE: f64 = 0.5;
/// The thin and the thick piece that are followed lie this many standard deviations off: 5th and 95th percentile.
const END_PIECE_SD: f64 = 1.645;

/// Spread of the thickness over the pieces of a load, as a share of it, with its source and mark.
fn thickness_spread(request: &PlanRequest, product: &Product, thickness_m: f64) -> (f64, String, String) {
    let stated = || ("plan file".to_owned(), "stated".to_owned());
    match request.piece.thickness_spread {
        Asked::StandardDeviation(sd) => (sd.metres() / thickness_m, stated().0, stated().1),
        Asked::Range { low, high } => {
            ((high.metres() / low.metres()).ln() / RANGE_IN_SD, stated().0, stated().1)
        }
        Asked::Unstated => {
            let size = &product.geometry.size_spread;
            (size.value.fraction(), size.source.clone(), size.mark.to_string())
        }
    }
}

fn spreads(request: &PlanRequest, product: &Product, cabinet: &Cabinet, batch: &sim::Batch) -> Vec<Spread> {
    let mut list = Vec::new();
    let mut add = |input: Input, sd: f64, value: f64, source: &str, mark: &str| {
        if sd > 1e-6 {
            list.push(Spread { input, sd, value, source: source.to_owned(), mark: mark.to_owned() });
        }
    };
    let logarithm =
        |low: f64, high: f64| if low > 0.0 && high > low { (high / low).ln() / RANGE_IN_SD } else { 0.0 };
    macro_rules! factor {
        ($input:expr, $cited:expr, $get:ident) => {{
            let c = &$cited;
            add(
                $input,
                logarithm(c.low.$get(), c.high.$get()),
                c.value.$get(),
                &c.source,
                &c.mark.to_string(),
            );
        }};
    }
    let (cv, source, mark) = thickness_spread(request, product, batch.material.size_m);
    add(Input::Thickness, BATCH_MEAN_SHARE * cv, batch.material.size_m, &source, &mark);
    let solids = 1.0 / (1.0 + batch.material.moisture_initial_dry_basis);
    let lots = &product.initial_moisture_spread;
    match request.raw.solids_spread {
        Asked::StandardDeviation(sd) => add(Input::Solids, sd.fraction(), solids, "plan file", "stated"),
        Asked::Range { low, high } => {
            add(
                Input::Solids,
                (high.fraction() - low.fraction()) / RANGE_IN_SD,
                solids,
                "plan file",
                "stated",
            );
        }
        Asked::Unstated => {
            add(Input::Solids, lots.value.kg_per_kg(), solids, &lots.source, &lots.mark.to_string())
        }
    }
    factor!(Input::Diffusivity, product.diffusivity.at_60c, m2_per_s);
    factor!(Input::Exchange, cabinet.heat_transfer.coefficient, w_per_m2_k);
    if batch.material.geometry == sim::Geometry::Slab {
        let s = &product.volume.lateral_exponent;
        add(Input::LateralShrinkage, (s.high - s.low) / RANGE_IN_SD, s.value, &s.source, &s.mark.to_string());
    }
    let isotherm = &product.sorption.moisture_factor;
    add(
        Input::Isotherm,
        logarithm(isotherm.low, isotherm.high),
        1.0,
        &isotherm.source,
        &isotherm.mark.to_string(),
    );
    if cabinet.groups.len() > 1 {
        add(Input::AirShare, 0.3, 1.0, "own judgement", "assumed");
    }
    factor!(Input::Leakage, cabinet.leakage.dry_air, kg_per_s);
    if let Some(mark) = cabinet.vent.marks.last() {
        factor!(Input::VentFlow, mark.dry_air, kg_per_s);
    }
    factor!(Input::HeaterPower, cabinet.heater.measured, watts);
    factor!(Input::ShellLoss, cabinet.shell.loss, w_per_k);
    add(Input::RoomTemperature, 2.0, batch.room.temperature_c, "own judgement", "assumed");
    add(Input::RoomHumidity, 0.08, batch.room.relative_humidity, "own judgement", "assumed");
    list
}
