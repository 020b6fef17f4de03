//! A laboratory tunnel to put one piece into, a small CSV reader, and the line that a check prints.

use std::sync::Arc;

use fallrate_simulate::{
    AirConstants, AlongPosition, Batch, Chamber, Controller, ControllerKind, Diffusivity, EndCondition,
    EndPieces, Exchange, FaceFactors, FanSetting, Geometry, HeaterDelay, LinearSorption, Load, Material,
    MoistureTerm, Options, Room, Run, Snapshot, StageInput, TrayGroup, VentSetting, run_from,
};

/// Collects errors of one outside check.
pub struct Check {
    check: String,
    source: &'static str,
    unit: &'static str,
    allowed: f64,
    basis: &'static str,
    count: usize,
    pub worst: f64,
    at: String,
}

impl Check {
    pub fn new(
        check: impl Into<String>,
        source: &'static str,
        (unit, allowed): (&'static str, f64),
        basis: &'static str,
    ) -> Self {
        Self { check: check.into(), source, unit, allowed, basis, count: 0, worst: 0.0, at: String::new() }
    }
    pub fn absolute(&mut self, found: f64, expected: f64, at: impl std::fmt::Display) {
        self.error((found - expected).abs(), at);
    }
    pub fn relative(&mut self, found: f64, expected: f64, at: impl std::fmt::Display) {
        self.error(((found - expected) / expected).abs(), at);
    }
    pub fn error(&mut self, error: f64, at: impl std::fmt::Display) {
        self.count += 1;
        if error > self.worst || error.is_nan() {
            self.worst = error;
            self.at = at.to_string();
        }
    }
    /// Prints the line and fails where the worst error exceeds what is allowed.
    pub fn done(self, least_count: usize) {
        println!(
            "VALIDATION|simulate|{}|{}|{}|{:.3e}|{}|{:e}|{}",
            self.check, self.source, self.count, self.worst, self.unit, self.allowed, self.basis
        );
        assert!(self.count >= least_count, "{}: only {} values compared", self.check, self.count);
        assert!(
            self.worst <= self.allowed,
            "{}: worst {} {} at {} (allowed {})",
            self.check,
            self.worst,
            self.unit,
            self.at,
            self.allowed
        );
    }
}

/// Rows of a CSV without quoted commas in the columns asked for, as maps from column to text.
pub struct Table {
    header: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Table {
    pub fn parse(text: &str) -> Self {
        let split = |line: &str| {
            let (mut cells, mut cell, mut quoted) = (Vec::new(), String::new(), false);
            for ch in line.chars() {
                match ch {
                    '"' => quoted = !quoted,
                    ',' if !quoted => cells.push(std::mem::take(&mut cell)),
                    _ => cell.push(ch),
                }
            }
            cells.push(cell);
            cells
        };
        let mut lines = text.lines();
        Self { header: split(lines.next().unwrap()), rows: lines.map(split).collect() }
    }
    pub fn len(&self) -> usize {
        self.rows.len()
    }
    pub fn text(&self, row: usize, column: &str) -> &str {
        let at = self.header.iter().position(|h| h == column).unwrap_or_else(|| panic!("no column {column}"));
        &self.rows[row][at]
    }
    pub fn number(&self, row: usize, column: &str) -> f64 {
        let text = self.text(row, column);
        text.parse().unwrap_or_else(|_| panic!("row {row}, {column}: '{text}'"))
    }
}

/// One light tray of constant-property food in a tunnel whose air stays as it is.
pub fn tunnel(geometry: Geometry, size_m: f64, nodes: usize) -> Batch {
    Batch {
        material: Material {
            geometry,
            size_m,
            moisture_initial_dry_basis: 1.0,
            temperature_initial_c: 20.0,
            solids_density_kg_per_m3: 1000.0,
            water_density_kg_per_m3: 1000.0,
            shrinkage_share: 0.0,
            lateral_shrinkage_exponent: 0.0,
            specific_heat_solids_j_per_kg_k: 2000.0,
            specific_heat_water_j_per_kg_k: 4000.0,
            conductivity_solids_w_per_m_k: 0.5,
            conductivity_water_w_per_m_k: 0.5,
            diffusivity: constant_diffusivity(0.0),
            sorption: Arc::new(LinearSorption { saturation_kg_per_kg: 1.0 }),
            sorption_heat_inside: false,
            core_is_middle_node: true,
        },
        load: Load {
            groups: vec![TrayGroup {
                loaded_trays: 1.0,
                air_share: 1.0,
                heat_transfer_share: 1.0,
                shell_view: 0.0,
            }],
            positions: 1,
            nodes,
            fresh_kg_per_tray: 1e-3,
            ends: EndPieces::ALIKE,
        },
        exchange: Exchange {
            heat_transfer_w_per_m2_k: 10.0,
            lewis_factor: 1.0,
            top: FaceFactors { heat: 1.0, mass: 1.0 },
            underside: FaceFactors { heat: 1.0, mass: 1.0 },
            along_position: AlongPosition::Entering,
            emissivity: 0.0,
        },
        chamber: Chamber {
            volume_m3: 1.0,
            air_flow_m3_per_s: 1e9,
            fan_off_flow_share: 0.02,
            fan_off_exchange_share: 0.15,
            heater_w: 0.0,
            heater_delay: HeaterDelay::Lag { seconds: 30.0 },
            shell_heat_capacity_j_per_k: 1000.0,
            shell_exchange_w_per_k: 0.0,
            shell_fan_off_share: 0.2,
            shell_loss_w_per_k: 0.0,
            racks_heat_capacity_j_per_k: 0.0,
            racks_exchange_w_per_k: 0.0,
            shell_condensation: false,
            leakage_kg_per_s: 0.0,
            leakage_fan_off_share: 0.5,
            vent_fan_off_share: 0.0,
            vent_full_kg_per_s: 0.0,
            door_kg_per_s: 0.0,
            controller: Controller {
                kind: ControllerKind::ProportionalIntegral { kp_per_k: 0.1, ti_s: 200.0 },
                sensor_lag_s: 0.0,
                displayed_offset_k: 0.0,
            },
            air_held: true,
        },
        room: Room { temperature_c: 20.0, relative_humidity: 0.5, pressure_pa: 101_325.0 },
        air: AirConstants::consistent(4000.0),
        chamber_start_c: None,
        interruptions: Vec::new(),
    }
}

pub fn constant_diffusivity(m2_per_s: f64) -> Diffusivity {
    Diffusivity::Arrhenius {
        at_60c_m2_per_s: m2_per_s,
        activation_energy_j_per_mol: 0.0,
        moisture_term: MoistureTerm::None,
    }
}

/// A stage with the fan on, the heater off and the vent shut, for a duration.
pub fn blow(seconds: f64) -> StageInput {
    StageInput {
        name: format!("{seconds} s"),
        set_point_c: None,
        vent: VentSetting::Opening(0.0),
        fan: Some(FanSetting { flow_share: 1.0, exchange_share: 1.0, power_w: 0.0 }),
        door_open: false,
        added_water: None,
        ends: vec![EndCondition::Elapsed { seconds }],
        at_most_s: None,
        actions: Vec::new(),
        room: None,
    }
}

pub fn options(relative_tolerance: f64) -> Options {
    Options { relative_tolerance, sample_every_s: None, ..Options::default() }
}

pub fn go(batch: &Batch, start: &Snapshot, stages: &[StageInput], options: &Options) -> Run {
    run_from(batch, start, stages, options, &mut |_| true).unwrap()
}
