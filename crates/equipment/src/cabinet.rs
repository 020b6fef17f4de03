//! The data of a cabinet.

use fallrate_datafile::Cited;
use fallrate_units::{
    AirFlow, AirSpeed, Area, DryAirFlow, Duration, Fraction, HeatCapacity, HeatConductance, HeatTransfer,
    Length, Mass, MassPerArea, Power, Temperature, TemperatureDifference, Volume,
};

/// A text in English and Spanish.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bilingual {
    /// English.
    pub en: String,
    /// Spanish.
    pub es: String,
}

/// A cabinet (tray) dryer without its load.
#[derive(Clone, Debug, PartialEq)]
pub struct Cabinet {
    /// Short key: lower-case letters, digits and underscores.
    pub key: String,
    /// Name.
    pub name: Bilingual,
    /// What it is, in a sentence or two.
    pub description: Bilingual,
    /// True for a cabinet made up for demonstration.
    pub invented: bool,
    /// Trays.
    pub trays: Trays,
    /// Groups of trays that share an air stream.
    pub groups: Vec<TrayGroup>,
    /// Air path.
    pub air: AirPath,
    /// Fan steps from the weakest to the strongest.
    pub fan_steps: Vec<FanStep>,
    /// Heater.
    pub heater: Heater,
    /// Mains supply.
    pub mains: Mains,
    /// Shell.
    pub shell: Shell,
    /// Trays and racks as a thermal mass.
    pub racks: Racks,
    /// Leakage with the vent shut.
    pub leakage: Leakage,
    /// Vent.
    pub vent: Vent,
    /// Door.
    pub door: Door,
    /// Controller.
    pub controller: Controller,
    /// Countdown timer.
    pub timer: Timer,
    /// Heat transfer between air and pieces.
    pub heat_transfer: HeatTransferReference,
    /// What can lie on a tray under the pieces.
    pub liners: Vec<Liner>,
    /// Ports for probes.
    pub ports: Ports,
    /// Vent and door close on gaskets, so that a cook in sealed humid air can be tried.
    pub sealed_capable: bool,
}

/// The trays.
#[derive(Clone, Debug, PartialEq)]
pub struct Trays {
    /// Number of trays.
    pub count: u32,
    /// Length along the air.
    pub length: Cited<Length>,
    /// Width across the air.
    pub width: Cited<Length>,
    /// Weight of an empty tray.
    pub tare: Cited<Mass>,
    /// Free height between two trays.
    pub gap: Cited<Length>,
}

/// A group of trays that share an air stream.
#[derive(Clone, Debug, PartialEq)]
pub struct TrayGroup {
    /// Name ("upper").
    pub name: String,
    /// Trays in it.
    pub trays: u32,
    /// Air speed over each of its trays relative to the mean of all trays.
    pub air_share: Cited<f64>,
    /// Share of the upper faces that see the shell rather than a neighbour, 0 to 1.
    pub shell_view: Cited<f64>,
}

/// The air path.
#[derive(Clone, Debug, PartialEq)]
pub struct AirPath {
    /// Free air volume of the chamber.
    pub plenum_volume: Cited<Volume>,
    /// Flow cross-section between all trays together.
    pub cross_section: Cited<Area>,
    /// Share of the full flow that still circulates by itself with the fan off.
    pub fan_off_air_share: Cited<Fraction>,
    /// Share of the heat transfer coefficient left with the fan off.
    pub fan_off_exchange_share: Cited<Fraction>,
}

/// One fan step.
#[derive(Clone, Debug, PartialEq)]
pub struct FanStep {
    /// The cabinet's name for it ("mid").
    pub name: String,
    /// Air flow through all trays, at the chamber's state.
    pub air_flow: Cited<AirFlow>,
    /// Electric power, all of which ends as heat in the air.
    pub power: Cited<Power>,
}

/// The heater.
#[derive(Clone, Debug, PartialEq)]
pub struct Heater {
    /// Nameplate power at the rated voltage.
    pub rated: Cited<Power>,
    /// Power measured at the actual voltage; the one that counts.
    pub measured: Cited<Power>,
    /// Heat capacity of the element.
    pub element_heat_capacity: Cited<HeatCapacity>,
    /// Element to air, fan at its strongest step.
    pub element_conductance: Cited<HeatConductance>,
    /// Share of that with the fan off.
    pub fan_off_share: Cited<Fraction>,
    /// Element to shell (radiation and mounts).
    pub to_shell: Cited<HeatConductance>,
}

/// The mains supply; heater power goes with the square of the voltage.
#[derive(Clone, Debug, PartialEq)]
pub struct Mains {
    /// Voltage of the nameplate, V.
    pub rated_v: Cited<f64>,
    /// Voltage at the socket under load, V.
    pub actual_v: Cited<f64>,
}

/// The shell.
#[derive(Clone, Debug, PartialEq)]
pub struct Shell {
    /// Heat capacity.
    pub heat_capacity: Cited<HeatCapacity>,
    /// Chamber air to shell, fan at its strongest step.
    pub exchange: Cited<HeatConductance>,
    /// Share of that with the fan off.
    pub fan_off_share: Cited<Fraction>,
    /// Shell to room.
    pub loss: Cited<HeatConductance>,
    /// Inner area.
    pub inner_area: Cited<Area>,
}

/// Trays and racks as a thermal mass, without food.
#[derive(Clone, Debug, PartialEq)]
pub struct Racks {
    /// Heat capacity.
    pub heat_capacity: Cited<HeatCapacity>,
    /// Chamber air to trays and racks, fan at its strongest step.
    pub exchange: Cited<HeatConductance>,
}

/// Air exchanged with the room with vent and door shut.
#[derive(Clone, Debug, PartialEq)]
pub struct Leakage {
    /// Dry air, fan at its strongest step.
    pub dry_air: Cited<DryAirFlow>,
    /// Share of that with the fan off.
    pub fan_off_share: Cited<Fraction>,
}

/// The vent.
#[derive(Clone, Debug, PartialEq)]
pub struct Vent {
    /// Marks from the least to the widest opening.
    pub marks: Vec<VentMark>,
    /// Share of the vent's flow left with the fan off.
    pub fan_off_share: Cited<Fraction>,
    /// Whether it can be shut.
    pub closes: bool,
    /// Whether it shuts on a gasket.
    pub gasketed: bool,
}

/// One mark of the vent.
#[derive(Clone, Debug, PartialEq)]
pub struct VentMark {
    /// The cabinet's name for it ("quarter").
    pub name: String,
    /// Opening as a share of fully open.
    pub opening: Cited<Fraction>,
    /// Fresh dry air through it, fan at its strongest step.
    pub dry_air: Cited<DryAirFlow>,
}

/// The door.
#[derive(Clone, Debug, PartialEq)]
pub struct Door {
    /// Dry air exchanged with the room through the open door.
    pub open_dry_air: Cited<DryAirFlow>,
    /// Whether it shuts on a gasket.
    pub gasketed: bool,
}

/// The controller.
#[derive(Clone, Debug, PartialEq)]
pub struct Controller {
    /// Kind of control.
    pub kind: ControllerKind,
    /// Lag of its sensor.
    pub sensor_lag: Cited<Duration>,
    /// Lowest set point.
    pub set_point_least: Cited<Temperature>,
    /// Highest set point.
    pub set_point_greatest: Cited<Temperature>,
    /// What the display reads above the true temperature of the chamber.
    pub displayed_offset: Cited<TemperatureDifference>,
}

/// Kind of control.
#[derive(Clone, Debug, PartialEq)]
pub enum ControllerKind {
    /// Proportional-integral.
    Pi {
        /// Share of full power per kelvin below the set point, 1/K.
        kp_per_k: Cited<f64>,
        /// Integral time.
        ti: Cited<Duration>,
    },
    /// On/off.
    OnOff {
        /// Difference between switching on and off.
        hysteresis: Cited<TemperatureDifference>,
    },
}

/// The countdown timer.
#[derive(Clone, Debug, PartialEq)]
pub struct Timer {
    /// Smallest step that can be dialled.
    pub step: Cited<Duration>,
    /// Longest time that can be dialled.
    pub maximum: Cited<Duration>,
}

/// h = h_ref (v / v_ref)^n.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatTransferReference {
    /// Coefficient at the reference speed, on the free face of a piece.
    pub coefficient: Cited<HeatTransfer>,
    /// Reference air speed.
    pub air_speed: Cited<AirSpeed>,
    /// Exponent of the air speed.
    pub exponent: Cited<f64>,
}

/// What lies on a tray under the pieces.
#[derive(Clone, Debug, PartialEq)]
pub struct Liner {
    /// Short key.
    pub key: String,
    /// Name.
    pub name: Bilingual,
    /// Heat exchange of the underside relative to the free face, 0 to 1.
    pub underside_heat: Cited<f64>,
    /// Vapour exchange of the underside relative to the free face, 0 to 1; 0 for a solid sheet.
    pub underside_mass: Cited<f64>,
    /// Weight per tray area, beside the tray's tare.
    pub weight: Cited<MassPerArea>,
    /// Open share of its area.
    pub open_area: Cited<Fraction>,
}

/// Ports for probes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ports {
    /// For a wet-bulb sensor.
    pub wet_bulb: bool,
    /// For core probes.
    pub core_probes: u32,
}
