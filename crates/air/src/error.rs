//! Why a state of air cannot be.

/// An impossible or unsupported state of moist air. Order of each message: what, value, what is allowed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum AirError {
    /// A quantity outside its range, or not a number.
    #[error("{quantity}: {value} {unit} is out of range; allowed: {least} to {greatest} {unit}")]
    OutOfRange {
        /// Quantity.
        quantity: &'static str,
        /// Value found.
        value: f64,
        /// Unit of the three figures.
        unit: &'static str,
        /// Least allowed.
        least: f64,
        /// Greatest allowed.
        greatest: f64,
    },
    /// Wet bulb above the dry bulb.
    #[error("wet bulb: {wet_bulb_c:.2} degC is above the dry bulb; allowed: up to {dry_bulb_c:.2} degC")]
    WetBulbAboveDryBulb {
        /// Wet bulb, degC.
        wet_bulb_c: f64,
        /// Dry bulb, degC.
        dry_bulb_c: f64,
    },
    /// A wet bulb that even bone-dry air does not reach at this dry bulb.
    #[error(
        "wet bulb: {wet_bulb_c:.2} degC is below that of bone-dry air at {dry_bulb_c:.2} degC; allowed: {least_c:.2} degC or more"
    )]
    WetBulbTooLow {
        /// Wet bulb, degC.
        wet_bulb_c: f64,
        /// Dry bulb, degC.
        dry_bulb_c: f64,
        /// Wet bulb of bone-dry air at this dry bulb, degC.
        least_c: f64,
    },
    /// Dew point above the dry bulb.
    #[error("dew point: {dew_point_c:.2} degC is above the dry bulb; allowed: up to {dry_bulb_c:.2} degC")]
    DewPointAboveDryBulb {
        /// Dew point, degC.
        dew_point_c: f64,
        /// Dry bulb, degC.
        dry_bulb_c: f64,
    },
    /// Dew point above the wet bulb.
    #[error("dew point: {dew_point_c:.2} degC is above the wet bulb; allowed: up to {wet_bulb_c:.2} degC")]
    DewPointAboveWetBulb {
        /// Dew point, degC.
        dew_point_c: f64,
        /// Wet bulb, degC.
        wet_bulb_c: f64,
    },
    /// A wet bulb or dew point at which the saturation pressure reaches the total pressure: no room is left for air.
    #[error(
        "{quantity}: {value_c:.2} degC is at or above boiling at {pressure_kpa:.2} kPa; allowed: below {boiling_c:.2} degC"
    )]
    AtBoiling {
        /// "wet bulb" or "dew point".
        quantity: &'static str,
        /// Value, degC.
        value_c: f64,
        /// Total pressure, kPa.
        pressure_kpa: f64,
        /// Boiling point, degC.
        boiling_c: f64,
    },
    /// A relative humidity that cannot exist since the saturation pressure exceeds the total pressure.
    #[error(
        "relative humidity: {percent:.1} % cannot exist at {dry_bulb_c:.2} degC and {pressure_kpa:.2} kPa, above boiling; allowed: below {greatest_percent:.1} %"
    )]
    RelativeHumidityUnreachable {
        /// Relative humidity, %.
        percent: f64,
        /// Dry bulb, degC.
        dry_bulb_c: f64,
        /// Total pressure, kPa.
        pressure_kpa: f64,
        /// Greatest that can exist, %.
        greatest_percent: f64,
    },
    /// More vapour than saturated air holds at this dry bulb.
    #[error(
        "humidity ratio: {humidity_ratio_g_per_kg:.3} g/kg is more than saturated air holds at {dry_bulb_c:.2} degC; allowed: up to {greatest_g_per_kg:.3} g/kg"
    )]
    Supersaturated {
        /// Humidity ratio, g/kg.
        humidity_ratio_g_per_kg: f64,
        /// Dry bulb, degC.
        dry_bulb_c: f64,
        /// Humidity ratio of saturated air, g/kg.
        greatest_g_per_kg: f64,
    },
    /// An enthalpy below that of dry air at this temperature.
    #[error(
        "enthalpy: {enthalpy_j_per_kg:.0} J/kg dry air is below that of dry air at {dry_bulb_c:.2} degC; allowed: {least_j_per_kg:.0} J/kg or more"
    )]
    EnthalpyTooLow {
        /// Enthalpy, J per kg dry air.
        enthalpy_j_per_kg: f64,
        /// Dry bulb, degC.
        dry_bulb_c: f64,
        /// Enthalpy of dry air, J/kg.
        least_j_per_kg: f64,
    },
}

impl AirError {
    /// The value itself where it lies from `least` to `greatest`.
    pub(crate) fn within(
        quantity: &'static str,
        value: f64,
        unit: &'static str,
        least: f64,
        greatest: f64,
    ) -> Result<f64, Self> {
        if value >= least && value <= greatest {
            Ok(value)
        } else {
            Err(Self::OutOfRange { quantity, value, unit, least, greatest })
        }
    }
}
