//! Relative humidity over saturated salt solutions, for checking sensors.

use crate::error::{FoodsError, between};
use fallrate_units::ZERO_CELSIUS_K;

/// The coefficients of one salt: `RH% = A exp(B/T)`, T in K, with the range of temperature they hold for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SaturatedSalt {
    /// Formula of the salt's solid phase.
    pub salt: &'static str,
    /// A, per cent.
    pub a_percent: f64,
    /// B, K.
    pub b_k: f64,
    /// Lowest temperature, degC.
    pub temperature_min_c: f64,
    /// Highest temperature, degC.
    pub temperature_max_c: f64,
}

const fn salt(salt: &'static str, a_percent: f64, b_k: f64, min: f64, max: f64) -> SaturatedSalt {
    SaturatedSalt { salt, a_percent, b_k, temperature_min_c: min, temperature_max_c: max }
}

/// The salts sold for checking humidity sensors. Source: CRC Handbook of Chemistry and Physics, Constant Humidity
/// Solutions (A. Wexler), READ; about +-2 % RH.
pub const SATURATED_SALTS: &[SaturatedSalt] = &[
    salt("LiCl.H2O", 14.53, -75.0, 20.0, 65.0),
    salt("MgCl2.6H2O", 29.26, 34.0, 5.0, 45.0),
    salt("Mg(NO3)2.6H2O", 25.28, 220.0, 5.0, 35.0),
    salt("NaBr.2H2O", 20.49, 308.0, 0.0, 35.0),
    salt("NaCl", 69.2, 25.0, 10.0, 40.0),
    salt("KCl", 49.38, 159.0, 5.0, 25.0),
    salt("KNO3", 43.22, 225.0, 0.0, 50.0),
    salt("K2SO4", 86.75, 34.0, 10.0, 50.0),
];

impl SaturatedSalt {
    /// Relative humidity (fraction) over the saturated solution: `A exp(B/T) / 100`.
    ///
    /// ```
    /// use fallrate_foods::SATURATED_SALTS;
    /// let nacl = SATURATED_SALTS.iter().find(|s| s.salt == "NaCl").unwrap();
    /// assert!((nacl.relative_humidity(25.0).unwrap() - 0.7525).abs() < 1e-4);
    /// ```
    ///
    /// # Errors
    /// [`FoodsError::OutOfRange`] outside the temperature range of the salt.
    pub fn relative_humidity(&self, temperature_c: f64) -> Result<f64, FoodsError> {
        between(
            "temperature",
            temperature_c,
            "degC",
            (self.temperature_min_c - 1e-9, self.temperature_max_c + 1e-9),
            "the temperature range of this salt's coefficients",
        )?;
        Ok(self.a_percent * (self.b_k / (temperature_c + ZERO_CELSIUS_K)).exp() / 100.0)
    }
}
