//! Pressure from altitude.

use crate::AirError;
use fallrate_units::{Altitude, Pressure, STANDARD_PRESSURE_PA};

/// Lowest altitude accepted, m.
pub const LEAST_ALTITUDE_M: f64 = -500.0;
/// Highest altitude accepted, m (the formula itself reaches 11,000 m).
pub const GREATEST_ALTITUDE_M: f64 = 6000.0;

/// Total pressure in Pa at an altitude in m, standard atmosphere: `101325 (1 - 2.25577e-5 z)^5.2559`.
///
/// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 3 (from memory). Range -500 to 11,000 m; evaluated as it stands outside.
/// Weather moves the true pressure by some 3 %.
///
/// ```
/// assert!((fallrate_air::pressure_from_altitude_pa(1524.0) - 84_307.0).abs() < 5.0);
/// ```
#[inline]
#[must_use]
pub fn pressure_from_altitude_pa(altitude_m: f64) -> f64 {
    STANDARD_PRESSURE_PA * (1.0 - 2.255_77e-5 * altitude_m).powf(5.2559)
}

/// Altitude in m at which the standard atmosphere has a pressure: the inverse of [`pressure_from_altitude_pa`].
#[inline]
#[must_use]
pub fn altitude_from_pressure_m(p_pa: f64) -> f64 {
    (1.0 - (p_pa / STANDARD_PRESSURE_PA).powf(1.0 / 5.2559)) / 2.255_77e-5
}

/// Total pressure at an altitude from -500 to 6,000 m, see [`pressure_from_altitude_pa`].
///
/// # Errors
/// [`AirError::OutOfRange`] outside.
pub fn pressure_from_altitude(altitude: Altitude) -> Result<Pressure, AirError> {
    let m = AirError::within("altitude", altitude.metres(), "m", LEAST_ALTITUDE_M, GREATEST_ALTITUDE_M)?;
    Ok(Pressure::from_pascals(pressure_from_altitude_pa(m)))
}
