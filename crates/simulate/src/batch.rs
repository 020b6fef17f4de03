//! The whole physical description of a batch as plain numbers. Nothing here is looked up and nothing is defaulted
//! silently: whoever builds a [`Batch`] has made every choice.

use std::sync::Arc;

pub use fallrate_foods::{Diffusivity, MoistureTerm};

use crate::{Action, EndCondition, SimulateError, Sorption};

/// The shape of a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Geometry {
    /// A slice or strip, drying through its two faces.
    Slab,
    /// A stick or pod, drying through its mantle.
    Cylinder,
    /// A whole small fruit.
    Sphere,
}

impl Geometry {
    /// 1, 2 or 3.
    #[must_use]
    pub const fn dimensions(self) -> f64 {
        match self {
            Self::Slab => 1.0,
            Self::Cylinder => 2.0,
            Self::Sphere => 3.0,
        }
    }
}

/// The food: its size, state at the start and properties.
#[derive(Clone, Debug)]
pub struct Material {
    /// Shape.
    pub geometry: Geometry,
    /// Thickness of a slab, diameter of a cylinder or sphere, at the start, m.
    pub size_m: f64,
    /// Moisture at the start, kg/kg dry basis.
    pub moisture_initial_dry_basis: f64,
    /// Temperature at the start, degC.
    pub temperature_initial_c: f64,
    /// Density of the dry solids, kg/m3.
    pub solids_density_kg_per_m3: f64,
    /// Density of the water held, kg/m3.
    pub water_density_kg_per_m3: f64,
    /// b: share of the lost water's volume by which the piece shrinks, 0 to 1.
    pub shrinkage_share: f64,
    /// s: face area follows (v/v0)^s, 0 (thickness only) to 2/3 (isotropic). Slabs only.
    pub lateral_shrinkage_exponent: f64,
    /// Specific heat of the dry solids, J/(kg K).
    pub specific_heat_solids_j_per_kg_k: f64,
    /// Specific heat of the water held, J/(kg K).
    pub specific_heat_water_j_per_kg_k: f64,
    /// Conductivity of the solids, W/(m K); the piece conducts in parallel by volume.
    pub conductivity_solids_w_per_m_k: f64,
    /// Conductivity of the water held, W/(m K).
    pub conductivity_water_w_per_m_k: f64,
    /// Moisture diffusivity.
    pub diffusivity: Diffusivity,
    /// Isotherm and heat of sorption.
    pub sorption: Arc<dyn Sorption>,
    /// Carry the heat of sorption inside the piece as a function of state (true), or charge it at the face only.
    pub sorption_heat_inside: bool,
    /// Count the middle node as the core (true) or the coldest node (false).
    pub core_is_middle_node: bool,
}

impl Material {
    /// Specific volume v(X), m3 per kg solids.
    #[must_use]
    pub fn specific_volume_m3_per_kg(&self, x: f64) -> f64 {
        let held =
            self.moisture_initial_dry_basis - self.shrinkage_share * (self.moisture_initial_dry_basis - x);
        1.0 / self.solids_density_kg_per_m3 + held / self.water_density_kg_per_m3
    }
    /// Dry solids behind one square metre of initial outer face (both faces of a slab counted once), kg/m2.
    #[must_use]
    pub fn solids_kg_per_m2(&self) -> f64 {
        let depth = match self.geometry {
            Geometry::Slab => self.size_m,
            Geometry::Cylinder => self.size_m / 4.0,
            Geometry::Sphere => self.size_m / 6.0,
        };
        depth / self.specific_volume_m3_per_kg(self.moisture_initial_dry_basis)
    }
}

/// Exchange factors of a face relative to the free face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaceFactors {
    /// Share of the heat transfer coefficient, 0 to 1.
    pub heat: f64,
    /// Share of the mass transfer coefficient, 0 to 1.
    pub mass: f64,
}

/// Exchange between air and pieces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exchange {
    /// Heat transfer coefficient at full fan, W/(m2 K).
    pub heat_transfer_w_per_m2_k: f64,
    /// h_m = h / (rho c_p x this); Le^(2/3).
    pub lewis_factor: f64,
    /// Upper face.
    pub top: FaceFactors,
    /// Face on the tray.
    pub underside: FaceFactors,
    /// How the air along one position is treated.
    pub along_position: AlongPosition,
    /// Emissivity product of piece and shell for the radiation of trays that see the shell; 0 leaves it out.
    pub emissivity: f64,
}

/// How the air along one position of the path is treated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AlongPosition {
    /// Every piece sees the air that enters its position.
    Entering,
    /// Every piece sees the mean along its position (exponential approach to the surface), and two pieces without
    /// weight are carried at the very ends of the path: the first and the last in the air.
    Mean,
}

/// A group of trays that share an air stream.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrayGroup {
    /// Loaded trays in the group; may be a fraction in a model of thirds.
    pub loaded_trays: f64,
    /// Share of the whole air flow that goes through this group.
    pub air_share: f64,
    /// Factor on the heat transfer coefficient (local air speed).
    pub heat_transfer_share: f64,
    /// Share of the pieces' upper faces that see the shell, 0 to 1.
    pub shell_view: f64,
}

/// The load on the trays.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// Groups of trays.
    pub groups: Vec<TrayGroup>,
    /// Positions along the air, equal shares of the load.
    pub positions: usize,
    /// Nodes through a piece.
    pub nodes: usize,
    /// Fresh product on one tray, kg.
    pub fresh_kg_per_tray: f64,
    /// Sizes of the pieces without weight at the ends of the path, relative to the load's.
    pub ends: EndPieces,
}

/// Sizes, relative to the load's, of the two pieces without weight that are followed at the very ends of every group's air
/// (with [`AlongPosition::Mean`]): what comes first and last of a load whose pieces differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EndPieces {
    /// At the air-entering end: a thin piece.
    pub entering: f64,
    /// At the air-leaving end: a thick piece.
    pub leaving: f64,
}

impl EndPieces {
    /// As the load.
    pub const ALIKE: Self = Self { entering: 1.0, leaving: 1.0 };
}

/// The heater and what delays its heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HeaterDelay {
    /// First-order lag of the power, s; the stored heat goes on decaying after switch-off.
    Lag {
        /// s
        seconds: f64,
    },
    /// An element of its own temperature.
    Element {
        /// J/K
        heat_capacity_j_per_k: f64,
        /// To the air with the fan on, W/K.
        conductance_w_per_k: f64,
        /// Share of that with the fan off.
        fan_off_share: f64,
        /// To the shell, W/K.
        to_shell_w_per_k: f64,
    },
}

/// The cabinet without its load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chamber {
    /// Free air volume, m3.
    pub volume_m3: f64,
    /// Air flow through the trays at full fan, at the chamber's state, m3/s.
    pub air_flow_m3_per_s: f64,
    /// Share of that flow that still circulates with the fan off.
    pub fan_off_flow_share: f64,
    /// Share of the heat transfer coefficient left with the fan off.
    pub fan_off_exchange_share: f64,
    /// Heater power at full demand, W.
    pub heater_w: f64,
    /// What delays it.
    pub heater_delay: HeaterDelay,
    /// Heat capacity of the shell, J/K.
    pub shell_heat_capacity_j_per_k: f64,
    /// Chamber air to shell with the fan on, W/K.
    pub shell_exchange_w_per_k: f64,
    /// Share of that with the fan off.
    pub shell_fan_off_share: f64,
    /// Shell to room, W/K.
    pub shell_loss_w_per_k: f64,
    /// Heat capacity of trays and racks, J/K; 0 leaves them out.
    pub racks_heat_capacity_j_per_k: f64,
    /// Chamber air to trays and racks with the fan on, W/K.
    pub racks_exchange_w_per_k: f64,
    /// Let vapour condense on a shell colder than the dew point.
    pub shell_condensation: bool,
    /// Leakage as dry air with the vent shut and the fan on, kg/s.
    pub leakage_kg_per_s: f64,
    /// Share of the leakage left with the fan off.
    pub leakage_fan_off_share: f64,
    /// Share of the vent's flow left with the fan off.
    pub vent_fan_off_share: f64,
    /// Vent fully open at full fan, dry air, kg/s.
    pub vent_full_kg_per_s: f64,
    /// Air exchanged with the room through the open door, dry air, kg/s.
    pub door_kg_per_s: f64,
    /// Control.
    pub controller: Controller,
    /// Hold the chamber's air at its start state whatever happens: a laboratory tunnel, not a cabinet.
    pub air_held: bool,
}

/// The controller.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Controller {
    /// Kind and settings.
    pub kind: ControllerKind,
    /// Lag of its sensor, s; 0 reads the chamber directly.
    pub sensor_lag_s: f64,
    /// What the display reads above the chamber's true temperature, K.
    pub displayed_offset_k: f64,
}

/// Kind of control.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ControllerKind {
    /// u = Kp e + I, clipped to 0..1; dI/dt = Kp e/Ti + (clip(u) - u)/(Ti/4): anti-windup continuous in the state.
    ProportionalIntegral {
        /// 1/K
        kp_per_k: f64,
        /// s
        ti_s: f64,
    },
    /// Full power below set point minus half the band, none above set point plus half the band.
    OnOff {
        /// K
        hysteresis_k: f64,
    },
}

/// The room around the cabinet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// degC
    pub temperature_c: f64,
    /// Fraction.
    pub relative_humidity: f64,
    /// Pa
    pub pressure_pa: f64,
}

/// What the vent is told to do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum VentSetting {
    /// Opening as a share of fully open.
    Opening(f64),
    /// Opens in proportion as the chamber's RH exceeds the target: fully open at target + band.
    HoldRh {
        /// Fraction.
        target: f64,
        /// Fraction.
        band: f64,
    },
}

/// The fan, when it runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FanSetting {
    /// Share of the full air flow.
    pub flow_share: f64,
    /// Share of the full heat transfer coefficient.
    pub exchange_share: f64,
    /// Power, all of it heat, W.
    pub power_w: f64,
}

/// Water put into the chamber on purpose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AddedWater {
    /// kg/s
    pub kg_per_s: f64,
    /// Enthalpy it brings, J/kg above liquid water at 0 degC (about 84e3 as water at 20 degC, 2.676e6 as steam).
    pub enthalpy_j_per_kg: f64,
}

/// One stage with every setting in numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct StageInput {
    /// Name.
    pub name: String,
    /// Set point, degC; none switches the heater off.
    pub set_point_c: Option<f64>,
    /// Vent.
    pub vent: VentSetting,
    /// Fan; none switches it off.
    pub fan: Option<FanSetting>,
    /// Door open (heater and fan are stopped by the door switch).
    pub door_open: bool,
    /// Water added.
    pub added_water: Option<AddedWater>,
    /// The stage ends when the first of these is reached.
    pub ends: Vec<EndCondition>,
    /// It ends after this time in any case, s.
    pub at_most_s: Option<f64>,
    /// Done before it starts.
    pub actions: Vec<Action>,
    /// Room during this stage, where it differs (night).
    pub room: Option<Room>,
}

/// Something that happens at a time of the run, whatever the stage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interruption {
    /// Kind.
    pub kind: InterruptionKind,
    /// s from the start of the run.
    pub start_s: f64,
    /// s
    pub duration_s: f64,
}

/// Kind of interruption.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum InterruptionKind {
    /// Heater and fan without power, vent as left.
    PowerOff,
    /// Door open, heater and fan stopped by its switch.
    DoorOpen,
    /// Fan stands still, heater cut out by its interlock.
    FanLost,
    /// Vent moved to an opening.
    VentMoved(f64),
    /// Heater gives only a share of its power.
    HeaterWeak(f64),
    /// Something in the way of the vent: only a share of its flow passes at any opening.
    VentBlocked(f64),
    /// The fan moves less air than its step says, at the same power.
    FanWeak {
        /// Share of the step's air flow that is left.
        flow_share: f64,
        /// Share of its heat transfer coefficient that is left.
        exchange_share: f64,
    },
    /// Trays of a group are out of the cabinet and come back as they went.
    TraysOut {
        /// Index of the group.
        group: usize,
        /// How many.
        trays: f64,
    },
}

/// Physical constants that a comparison may want to set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirConstants {
    /// Specific heat of dry air, J/(kg K).
    pub cp_dry_air_j_per_kg_k: f64,
    /// Specific heat of vapour, J/(kg K).
    pub cp_vapour_j_per_kg_k: f64,
    /// Latent heat at 0 degC, J/kg.
    pub latent_heat_at_0c_j_per_kg: f64,
    /// Fall of the latent heat, J/(kg K).
    pub latent_heat_slope_j_per_kg_k: f64,
}

impl AirConstants {
    /// Constants under which energy closes exactly: the vapour's specific heat is that of the water held plus the slope
    /// of the latent heat.
    #[must_use]
    pub fn consistent(specific_heat_water_j_per_kg_k: f64) -> Self {
        Self {
            cp_dry_air_j_per_kg_k: 1006.0,
            cp_vapour_j_per_kg_k: specific_heat_water_j_per_kg_k - 2361.0,
            latent_heat_at_0c_j_per_kg: 2.501e6,
            latent_heat_slope_j_per_kg_k: 2361.0,
        }
    }
}

/// A batch: food, load, exchange, cabinet, room and start.
#[derive(Clone, Debug)]
pub struct Batch {
    /// Food.
    pub material: Material,
    /// Load.
    pub load: Load,
    /// Exchange.
    pub exchange: Exchange,
    /// Cabinet.
    pub chamber: Chamber,
    /// Room.
    pub room: Room,
    /// Constants.
    pub air: AirConstants,
    /// Chamber air, shell and racks at the start, degC; none: as the room.
    pub chamber_start_c: Option<f64>,
    /// Interruptions.
    pub interruptions: Vec<Interruption>,
}

impl Batch {
    /// Dry solids on all trays, kg.
    #[must_use]
    pub fn solids_kg(&self) -> f64 {
        self.fresh_kg() / (1.0 + self.material.moisture_initial_dry_basis)
    }
    /// Fresh product on all trays, kg.
    #[must_use]
    pub fn fresh_kg(&self) -> f64 {
        self.load.fresh_kg_per_tray * self.load.groups.iter().map(|g| g.loaded_trays).sum::<f64>()
    }

    /// Checks every number against its range.
    ///
    /// # Errors
    /// [`SimulateError::OutOfRange`] names the first field outside its range.
    pub fn check(&self) -> Result<(), SimulateError> {
        let m = &self.material;
        let c = &self.chamber;
        let positive = f64::MIN_POSITIVE;
        let ranges: &[(&'static str, f64, f64, f64)] = &[
            ("size of a piece, m", m.size_m, 1e-5, 0.2),
            ("initial moisture, kg/kg dry basis", m.moisture_initial_dry_basis, 1e-6, 50.0),
            ("initial temperature, degC", m.temperature_initial_c, -5.0, 110.0),
            ("solids density, kg/m3", m.solids_density_kg_per_m3, 50.0, 3000.0),
            ("water density, kg/m3", m.water_density_kg_per_m3, 900.0, 1100.0),
            ("shrinkage share", m.shrinkage_share, 0.0, 1.0),
            ("lateral shrinkage exponent", m.lateral_shrinkage_exponent, 0.0, 1.0),
            ("specific heat of solids, J/(kg K)", m.specific_heat_solids_j_per_kg_k, 300.0, 4000.0),
            ("specific heat of water, J/(kg K)", m.specific_heat_water_j_per_kg_k, 1000.0, 5000.0),
            ("conductivity of solids, W/(m K)", m.conductivity_solids_w_per_m_k, 0.01, 5.0),
            ("conductivity of water, W/(m K)", m.conductivity_water_w_per_m_k, 0.01, 5.0),
            (
                "diffusivity at 60 degC, m2/s",
                m.diffusivity.at(m.moisture_initial_dry_basis, 333.15).d_m2_per_s,
                0.0,
                1e-6,
            ),
            ("heat transfer coefficient, W/(m2 K)", self.exchange.heat_transfer_w_per_m2_k, positive, 1e5),
            ("Lewis factor", self.exchange.lewis_factor, 0.3, 3.0),
            ("fresh load of a tray, kg", self.load.fresh_kg_per_tray, positive, 100.0),
            ("chamber volume, m3", c.volume_m3, 1e-3, 100.0),
            ("air flow, m3/s", c.air_flow_m3_per_s, 1e-4, 1e9),
            ("heater power, W", c.heater_w, 0.0, 1e6),
            ("shell heat capacity, J/K", c.shell_heat_capacity_j_per_k, 1.0, 1e8),
            ("sensor lag, s", c.controller.sensor_lag_s, 0.0, 1e4),
            ("leakage, kg/s", c.leakage_kg_per_s, 0.0, 10.0),
            ("vent flow, kg/s", c.vent_full_kg_per_s, 0.0, 10.0),
            ("room temperature, degC", self.room.temperature_c, -30.0, 60.0),
            ("room relative humidity", self.room.relative_humidity, 0.0, 1.0),
            ("pressure, Pa", self.room.pressure_pa, 4e4, 1.2e5),
        ];
        for &(what, value, low, high) in ranges {
            if !(value >= low && value <= high) {
                return Err(SimulateError::OutOfRange { what, value, low, high });
            }
        }
        let (what, value, low, high) = match c.heater_delay {
            HeaterDelay::Lag { seconds } => ("heater lag, s", seconds, 0.01, 1e4),
            HeaterDelay::Element { heat_capacity_j_per_k, .. } => {
                ("heat capacity of the heater element, J/K", heat_capacity_j_per_k, 1.0, 1e7)
            }
        };
        let (what_control, control, least, most) = match c.controller.kind {
            ControllerKind::ProportionalIntegral { ti_s, .. } => ("integral time, s", ti_s, 1.0, 1e6),
            ControllerKind::OnOff { hysteresis_k } => ("hysteresis, K", hysteresis_k, 0.05, 50.0),
        };
        for (what, value, low, high) in [(what, value, low, high), (what_control, control, least, most)] {
            if !(value >= low && value <= high) {
                return Err(SimulateError::OutOfRange { what, value, low, high });
            }
        }
        let counts: &[(&'static str, usize, usize, usize)] = &[
            ("tray groups", self.load.groups.len(), 1, 50),
            ("positions along the air", self.load.positions, 1, 200),
            ("nodes through a piece", self.load.nodes, 3, 2001),
        ];
        for &(what, value, low, high) in counts {
            if !(low..=high).contains(&value) {
                #[allow(clippy::cast_precision_loss)]
                return Err(SimulateError::OutOfRange {
                    what,
                    value: value as f64,
                    low: low as f64,
                    high: high as f64,
                });
            }
        }
        for (what, value) in [
            ("size of the thin end piece", self.load.ends.entering),
            ("size of the thick end piece", self.load.ends.leaving),
        ] {
            if !(0.1..=5.0).contains(&value) {
                return Err(SimulateError::OutOfRange { what, value, low: 0.1, high: 5.0 });
            }
        }
        for g in &self.load.groups {
            for (what, value) in
                [("loaded trays of a group", g.loaded_trays), ("air share of a group", g.air_share)]
            {
                if !(value > 0.0 && value < 1e4) {
                    return Err(SimulateError::OutOfRange { what, value, low: 0.0, high: 1e4 });
                }
            }
        }
        Ok(())
    }
}
