//! A state of moist air and what can be read from it.

use crate::{
    AirError, GREATEST_TEMPERATURE_C, LEAST_TEMPERATURE_C, density_kg_per_m3, dew_point_c,
    enthalpy_j_per_kg_dry_air, greatest_relative_humidity, humidity_ratio_from_vapour_pressure,
    relative_humidity, saturation_pressure_pa, specific_volume_m3_per_kg_dry_air, vapour_density_kg_per_m3,
    vapour_pressure_from_humidity_ratio, wet_bulb_c,
};
use fallrate_units::{
    Density, HumidityRatio, Mass, Pressure, RelativeHumidity, Temperature, TemperatureDifference, Volume,
};

/// Lowest total pressure of a [`State`], Pa.
pub const LEAST_PRESSURE_PA: f64 = 40_000.0;
/// Highest total pressure of a [`State`], Pa.
pub const GREATEST_PRESSURE_PA: f64 = 120_000.0;
/// Greatest humidity ratio of a [`State`], kg/kg: nearly pure steam.
pub const GREATEST_HUMIDITY_RATIO_KG_PER_KG: f64 = 100.0;

/// Moist air that can exist: dry bulb -100 to 200 degC, humidity ratio 0 to saturation, pressure 40 to 120 kPa.
///
/// ```
/// use fallrate_air::State;
/// use fallrate_units::{Pressure, RelativeHumidity, Temperature};
/// let air = State::from_temperature_and_relative_humidity(
///     Temperature::from_celsius(60.0), RelativeHumidity::from_percent(20.0), Pressure::from_pascals(101_325.0))?;
/// assert!((air.wet_bulb().celsius() - 34.92).abs() < 0.01);
/// # Ok::<(), fallrate_air::AirError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    t_c: f64,
    w: f64,
    p_pa: f64,
}

impl State {
    /// From dry bulb, humidity ratio and pressure.
    ///
    /// # Errors
    /// [`AirError::OutOfRange`], [`AirError::Supersaturated`].
    pub fn from_temperature_and_humidity_ratio(
        dry_bulb: Temperature,
        w: HumidityRatio,
        p: Pressure,
    ) -> Result<Self, AirError> {
        Self::checked(dry_bulb.celsius(), w.kg_per_kg(), p.pascals())
    }

    /// The one door to a state. Vapour above saturation by rounding (1e-9 of it) is taken as saturation.
    pub(crate) fn checked(t_c: f64, w: f64, p_pa: f64) -> Result<Self, AirError> {
        let (t_c, p_pa) = (dry_bulb_within(t_c)?, pressure_within(p_pa)?);
        let w = AirError::within("humidity ratio", w, "kg/kg", 0.0, GREATEST_HUMIDITY_RATIO_KG_PER_KG)?;
        let saturation = saturation_pressure_pa(t_c);
        if saturation >= p_pa {
            return Ok(Self { t_c, w, p_pa });
        }
        let greatest = humidity_ratio_from_vapour_pressure(saturation, p_pa);
        if w > greatest * (1.0 + 1e-9) {
            return Err(AirError::Supersaturated {
                humidity_ratio_g_per_kg: w * 1000.0,
                dry_bulb_c: t_c,
                greatest_g_per_kg: greatest * 1000.0,
            });
        }
        Ok(Self { t_c, w: w.min(greatest), p_pa })
    }

    /// Dry bulb.
    #[must_use]
    pub const fn temperature(&self) -> Temperature {
        Temperature::from_celsius(self.t_c)
    }
    /// Humidity ratio.
    #[must_use]
    pub const fn humidity_ratio(&self) -> HumidityRatio {
        HumidityRatio::from_kg_per_kg(self.w)
    }
    /// Total pressure.
    #[must_use]
    pub const fn pressure(&self) -> Pressure {
        Pressure::from_pascals(self.p_pa)
    }
    /// Partial pressure of the water vapour.
    #[must_use]
    pub fn vapour_pressure(&self) -> Pressure {
        Pressure::from_pascals(vapour_pressure_from_humidity_ratio(self.w, self.p_pa))
    }
    /// Saturation pressure at the dry bulb.
    #[must_use]
    pub fn saturation_pressure(&self) -> Pressure {
        Pressure::from_pascals(saturation_pressure_pa(self.t_c))
    }
    /// Relative humidity.
    #[must_use]
    pub fn relative_humidity(&self) -> RelativeHumidity {
        RelativeHumidity::from_fraction(relative_humidity(self.t_c, self.w, self.p_pa))
    }
    /// Greatest relative humidity that can exist at this dry bulb and pressure.
    #[must_use]
    pub fn greatest_relative_humidity(&self) -> RelativeHumidity {
        RelativeHumidity::from_fraction(greatest_relative_humidity(self.t_c, self.p_pa))
    }
    /// Thermodynamic wet bulb, see [`wet_bulb_c`].
    #[must_use]
    pub fn wet_bulb(&self) -> Temperature {
        Temperature::from_celsius(wet_bulb_c(self.t_c, self.w, self.p_pa))
    }
    /// Dry bulb less wet bulb.
    #[must_use]
    pub fn wet_bulb_depression(&self) -> TemperatureDifference {
        TemperatureDifference::from_kelvin(self.t_c - self.wet_bulb().celsius())
    }
    /// Dew point (frost point below 0.01 degC); `None` for air too dry to have one above -100 degC.
    #[must_use]
    pub fn dew_point(&self) -> Option<Temperature> {
        let t = dew_point_c(vapour_pressure_from_humidity_ratio(self.w, self.p_pa));
        t.is_finite().then(|| Temperature::from_celsius(t))
    }
    /// Enthalpy above dry air and liquid water at 0 degC, J per kg dry air.
    #[must_use]
    pub fn enthalpy_j_per_kg_dry_air(&self) -> f64 {
        enthalpy_j_per_kg_dry_air(self.t_c, self.w)
    }
    /// Specific volume, m3 per kg dry air.
    #[must_use]
    pub fn specific_volume_m3_per_kg_dry_air(&self) -> f64 {
        specific_volume_m3_per_kg_dry_air(self.t_c, self.w, self.p_pa)
    }
    /// Density of the mixture.
    #[must_use]
    pub fn density(&self) -> Density {
        Density::from_kg_per_m3(density_kg_per_m3(self.t_c, self.w, self.p_pa))
    }
    /// Vapour density (absolute humidity), kg of vapour per m3.
    #[must_use]
    pub fn vapour_density(&self) -> Density {
        Density::from_kg_per_m3(vapour_density_kg_per_m3(self.t_c, self.vapour_pressure().pascals()))
    }
    /// Mass of dry air in a volume filled with this air.
    #[must_use]
    pub fn dry_air_mass_in(&self, volume: Volume) -> Mass {
        Mass::from_kilograms(volume.cubic_metres() / self.specific_volume_m3_per_kg_dry_air())
    }
    /// The same air heated or cooled to a dry bulb, no water gained or lost.
    ///
    /// # Errors
    /// [`AirError::Supersaturated`] below the dew point, [`AirError::OutOfRange`].
    pub fn at_temperature(&self, dry_bulb: Temperature) -> Result<Self, AirError> {
        Self::checked(dry_bulb.celsius(), self.w, self.p_pa)
    }
}

pub(crate) fn dry_bulb_within(t_c: f64) -> Result<f64, AirError> {
    AirError::within("dry bulb", t_c, "degC", LEAST_TEMPERATURE_C, GREATEST_TEMPERATURE_C)
}

pub(crate) fn pressure_within(p_pa: f64) -> Result<f64, AirError> {
    AirError::within("pressure", p_pa, "Pa", LEAST_PRESSURE_PA, GREATEST_PRESSURE_PA)
}
