//! Questions about humidity at a given dry bulb.

use crate::{AirError, State};
use fallrate_units::{Mass, Pressure, RelativeHumidity, Temperature};

/// Relative humidity at which air of a dry bulb has a wet bulb.
///
/// ```
/// use fallrate_air::relative_humidity_for_wet_bulb;
/// use fallrate_units::{Pressure, Temperature};
/// let rh = relative_humidity_for_wet_bulb(
///     Temperature::from_celsius(71.1), Temperature::from_celsius(60.0), Pressure::from_pascals(101_325.0))?;
/// assert!((rh.percent() - 59.0).abs() < 0.5);
/// # Ok::<(), fallrate_air::AirError>(())
/// ```
///
/// # Errors
/// As [`State::from_temperature_and_wet_bulb`].
pub fn relative_humidity_for_wet_bulb(
    dry_bulb: Temperature,
    wet_bulb: Temperature,
    p: Pressure,
) -> Result<RelativeHumidity, AirError> {
    Ok(State::from_temperature_and_wet_bulb(dry_bulb, wet_bulb, p)?.relative_humidity())
}

/// Wet bulb of air of a dry bulb and relative humidity, the inverse of [`relative_humidity_for_wet_bulb`].
///
/// # Errors
/// As [`State::from_temperature_and_relative_humidity`].
pub fn wet_bulb_for_relative_humidity(
    dry_bulb: Temperature,
    rh: RelativeHumidity,
    p: Pressure,
) -> Result<Temperature, AirError> {
    Ok(State::from_temperature_and_relative_humidity(dry_bulb, rh, p)?.wet_bulb())
}

/// Greatest mass of dry air taken by [`water_to_add`], kg.
pub const GREATEST_DRY_AIR_MASS_KG: f64 = 1e6;

/// A humidity to reach at the dry bulb there is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HumidityTarget {
    /// This relative humidity.
    RelativeHumidity(RelativeHumidity),
    /// This wet bulb.
    WetBulb(Temperature),
}

/// Water to evaporate into a mass of dry air to reach a humidity at the same dry bulb; negative where it is to leave.
///
/// `m = m_dry_air (w_target - w)`. The heater is taken to hold the dry bulb, the pressure stays and no air leaves: in a
/// vented cabinet the vapour also pushes air out, and leaks take more.
///
/// ```
/// use fallrate_air::{HumidityTarget, State, water_to_add};
/// use fallrate_units::{HumidityRatio, Mass, Pressure, RelativeHumidity, Temperature};
/// let p = Pressure::from_pascals(101_325.0);
/// let from = State::from_temperature_and_humidity_ratio(
///     Temperature::from_celsius(60.0), HumidityRatio::from_kg_per_kg(0.01), p)?;
/// let target = HumidityTarget::RelativeHumidity(RelativeHumidity::from_percent(20.0));
/// let water = water_to_add(&from, target, Mass::from_kilograms(2.0))?;
/// assert!((water.kilograms() - 2.0 * (0.025487 - 0.01)).abs() < 1e-6);
/// # Ok::<(), fallrate_air::AirError>(())
/// ```
///
/// # Errors
/// As the two constructors the target stands for; [`AirError::OutOfRange`] for a negative mass of air.
pub fn water_to_add(from: &State, target: HumidityTarget, dry_air_mass: Mass) -> Result<Mass, AirError> {
    let air_kg =
        AirError::within("dry-air mass", dry_air_mass.kilograms(), "kg", 0.0, GREATEST_DRY_AIR_MASS_KG)?;
    let (t, p) = (from.temperature(), from.pressure());
    let reached = match target {
        HumidityTarget::RelativeHumidity(rh) => State::from_temperature_and_relative_humidity(t, rh, p)?,
        HumidityTarget::WetBulb(twb) => State::from_temperature_and_wet_bulb(t, twb, p)?,
    };
    let gain = reached.humidity_ratio().kg_per_kg() - from.humidity_ratio().kg_per_kg();
    Ok(Mass::from_kilograms(air_kg * gain))
}
