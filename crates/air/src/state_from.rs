//! A state from any two known quantities.

use crate::state::{State, dry_bulb_within, pressure_within};
use crate::wet_bulb::temperature_from_wet_bulb_and_relative_humidity_c;
use crate::{
    AirError, DRY_AIR_SPECIFIC_HEAT_J_PER_KG_K, GREATEST_TEMPERATURE_C, LEAST_TEMPERATURE_C,
    enthalpy_of_vapour_j_per_kg, greatest_relative_humidity, humidity_ratio_from_relative_humidity,
    humidity_ratio_from_vapour_pressure, humidity_ratio_from_wet_bulb, saturation_pressure_pa,
    saturation_temperature_c, temperature_from_enthalpy_c, temperature_from_wet_bulb_and_humidity_ratio_c,
    vapour_pressure_from_humidity_ratio, wet_bulb_c,
};
use fallrate_units::{HumidityRatio, Pressure, RelativeHumidity, Temperature};

/// Least relative humidity (fraction) of the constructors that cannot take bone-dry air.
const LEAST_POSITIVE_HUMIDITY: f64 = 1e-6;

impl State {
    /// From dry bulb and relative humidity.
    ///
    /// # Errors
    /// [`AirError::OutOfRange`] above 100 %; [`AirError::RelativeHumidityUnreachable`] above boiling.
    pub fn from_temperature_and_relative_humidity(
        dry_bulb: Temperature,
        rh: RelativeHumidity,
        p: Pressure,
    ) -> Result<Self, AirError> {
        let (t_c, p_pa) = (dry_bulb_within(dry_bulb.celsius())?, pressure_within(p.pascals())?);
        let rh = humidity_within(rh, 0.0)?;
        reachable(t_c, rh, p_pa)?;
        Self::checked(t_c, humidity_ratio_from_relative_humidity(t_c, rh, p_pa), p_pa)
    }

    /// From dry bulb and thermodynamic wet bulb (over ice below 0.01 degC, see [`wet_bulb_c`]).
    ///
    /// # Errors
    /// [`AirError::WetBulbAboveDryBulb`], [`AirError::WetBulbTooLow`], [`AirError::AtBoiling`], [`AirError::OutOfRange`].
    pub fn from_temperature_and_wet_bulb(
        dry_bulb: Temperature,
        wet_bulb: Temperature,
        p: Pressure,
    ) -> Result<Self, AirError> {
        let (t_c, p_pa) = (dry_bulb_within(dry_bulb.celsius())?, pressure_within(p.pascals())?);
        let twb_c = saturated_point("wet bulb", wet_bulb.celsius(), p_pa)?;
        if twb_c > t_c {
            return Err(AirError::WetBulbAboveDryBulb { wet_bulb_c: twb_c, dry_bulb_c: t_c });
        }
        let w = humidity_ratio_from_wet_bulb(t_c, twb_c, p_pa);
        if w < -1e-12 {
            let least_c = wet_bulb_c(t_c, 0.0, p_pa);
            return Err(AirError::WetBulbTooLow { wet_bulb_c: twb_c, dry_bulb_c: t_c, least_c });
        }
        Self::checked(t_c, w.max(0.0), p_pa)
    }

    /// From dry bulb and dew point (frost point below 0.01 degC).
    ///
    /// # Errors
    /// [`AirError::DewPointAboveDryBulb`], [`AirError::AtBoiling`], [`AirError::OutOfRange`].
    pub fn from_temperature_and_dew_point(
        dry_bulb: Temperature,
        dew_point: Temperature,
        p: Pressure,
    ) -> Result<Self, AirError> {
        let (t_c, p_pa) = (dry_bulb_within(dry_bulb.celsius())?, pressure_within(p.pascals())?);
        let dew_c = saturated_point("dew point", dew_point.celsius(), p_pa)?;
        if dew_c > t_c {
            return Err(AirError::DewPointAboveDryBulb { dew_point_c: dew_c, dry_bulb_c: t_c });
        }
        Self::checked(t_c, saturated_w(dew_c, p_pa), p_pa)
    }

    /// From dry bulb and enthalpy in J per kg dry air.
    ///
    /// # Errors
    /// [`AirError::EnthalpyTooLow`], [`AirError::Supersaturated`], [`AirError::OutOfRange`].
    pub fn from_temperature_and_enthalpy(
        dry_bulb: Temperature,
        enthalpy_j_per_kg_dry_air: f64,
        p: Pressure,
    ) -> Result<Self, AirError> {
        let t_c = dry_bulb_within(dry_bulb.celsius())?;
        let dry = DRY_AIR_SPECIFIC_HEAT_J_PER_KG_K * t_c;
        let w = (enthalpy_j_per_kg_dry_air - dry) / enthalpy_of_vapour_j_per_kg(t_c);
        if w < 0.0 {
            return Err(AirError::EnthalpyTooLow {
                enthalpy_j_per_kg: enthalpy_j_per_kg_dry_air,
                dry_bulb_c: t_c,
                least_j_per_kg: dry,
            });
        }
        Self::checked(t_c, w, p.pascals())
    }

    /// From humidity ratio and enthalpy in J per kg dry air.
    ///
    /// # Errors
    /// [`AirError::OutOfRange`], [`AirError::Supersaturated`].
    pub fn from_humidity_ratio_and_enthalpy(
        w: HumidityRatio,
        enthalpy_j_per_kg_dry_air: f64,
        p: Pressure,
    ) -> Result<Self, AirError> {
        let t_c = temperature_from_enthalpy_c(enthalpy_j_per_kg_dry_air, w.kg_per_kg());
        Self::checked(t_c, w.kg_per_kg(), p.pascals())
    }

    /// From wet bulb and relative humidity (above 0 %).
    ///
    /// # Errors
    /// [`AirError::AtBoiling`]; [`AirError::OutOfRange`], of the dry bulb where it would exceed 200 degC.
    pub fn from_wet_bulb_and_relative_humidity(
        wet_bulb: Temperature,
        rh: RelativeHumidity,
        p: Pressure,
    ) -> Result<Self, AirError> {
        let p_pa = pressure_within(p.pascals())?;
        let twb_c = saturated_point("wet bulb", wet_bulb.celsius(), p_pa)?;
        let rh = humidity_within(rh, LEAST_POSITIVE_HUMIDITY)?;
        let highest = GREATEST_TEMPERATURE_C;
        let t_c = temperature_from_wet_bulb_and_relative_humidity_c(twb_c, rh, p_pa, highest)
            .ok_or_else(|| driest_at(twb_c, rh, p_pa))?;
        Self::checked(t_c, humidity_ratio_from_wet_bulb(t_c, twb_c, p_pa).max(0.0), p_pa)
    }

    /// From wet bulb and humidity ratio.
    ///
    /// # Errors
    /// [`AirError::Supersaturated`] where the air holds more than saturation at the wet bulb, [`AirError::AtBoiling`],
    /// [`AirError::OutOfRange`].
    pub fn from_wet_bulb_and_humidity_ratio(
        wet_bulb: Temperature,
        w: HumidityRatio,
        p: Pressure,
    ) -> Result<Self, AirError> {
        let p_pa = pressure_within(p.pascals())?;
        let twb_c = saturated_point("wet bulb", wet_bulb.celsius(), p_pa)?;
        Self::checked(twb_c, w.kg_per_kg(), p_pa)?;
        let t_c = temperature_from_wet_bulb_and_humidity_ratio_c(twb_c, w.kg_per_kg(), p_pa);
        Self::checked(t_c, w.kg_per_kg(), p_pa)
    }

    /// From wet bulb and dew point.
    ///
    /// # Errors
    /// [`AirError::DewPointAboveWetBulb`], [`AirError::AtBoiling`], [`AirError::OutOfRange`].
    pub fn from_wet_bulb_and_dew_point(
        wet_bulb: Temperature,
        dew_point: Temperature,
        p: Pressure,
    ) -> Result<Self, AirError> {
        let p_pa = pressure_within(p.pascals())?;
        let dew_c = saturated_point("dew point", dew_point.celsius(), p_pa)?;
        if dew_c > wet_bulb.celsius() {
            return Err(AirError::DewPointAboveWetBulb {
                dew_point_c: dew_c,
                wet_bulb_c: wet_bulb.celsius(),
            });
        }
        let w = HumidityRatio::from_kg_per_kg(saturated_w(dew_c, p_pa));
        Self::from_wet_bulb_and_humidity_ratio(wet_bulb, w, p)
    }

    /// From dew point and relative humidity (above 0 %).
    ///
    /// # Errors
    /// [`AirError::AtBoiling`]; [`AirError::OutOfRange`], of the dry bulb where it would exceed 200 degC.
    pub fn from_dew_point_and_relative_humidity(
        dew_point: Temperature,
        rh: RelativeHumidity,
        p: Pressure,
    ) -> Result<Self, AirError> {
        let p_pa = pressure_within(p.pascals())?;
        let dew_c = saturated_point("dew point", dew_point.celsius(), p_pa)?;
        let rh = humidity_within(rh, LEAST_POSITIVE_HUMIDITY)?;
        let pv = saturation_pressure_pa(dew_c);
        let least = pv / saturation_pressure_pa(GREATEST_TEMPERATURE_C);
        let rh = AirError::within("relative humidity", rh * 100.0, "%", least * 100.0, 100.0)? / 100.0;
        Self::checked(saturation_temperature_c(pv / rh), saturated_w(dew_c, p_pa), p_pa)
    }

    /// From humidity ratio and relative humidity (both above 0).
    ///
    /// # Errors
    /// As [`State::from_dew_point_and_relative_humidity`].
    pub fn from_humidity_ratio_and_relative_humidity(
        w: HumidityRatio,
        rh: RelativeHumidity,
        p: Pressure,
    ) -> Result<Self, AirError> {
        let p_pa = pressure_within(p.pascals())?;
        let rh = humidity_within(rh, LEAST_POSITIVE_HUMIDITY)?;
        let pv = vapour_pressure_from_humidity_ratio(w.kg_per_kg(), p_pa);
        let least = pv / saturation_pressure_pa(GREATEST_TEMPERATURE_C);
        let rh = AirError::within("relative humidity", rh * 100.0, "%", least * 100.0, 100.0)? / 100.0;
        let t_c = saturation_temperature_c(pv / rh);
        if t_c.is_nan() {
            let least = humidity_ratio_from_relative_humidity(LEAST_TEMPERATURE_C, rh, p_pa);
            let greatest = crate::GREATEST_HUMIDITY_RATIO_KG_PER_KG;
            AirError::within("humidity ratio", w.kg_per_kg(), "kg/kg", least, greatest)?;
        }
        Self::checked(t_c, w.kg_per_kg(), p_pa)
    }
}

/// Humidity ratio of saturated air below boiling.
fn saturated_w(t_c: f64, p_pa: f64) -> f64 {
    humidity_ratio_from_vapour_pressure(saturation_pressure_pa(t_c), p_pa)
}

/// A relative humidity as a fraction, from `least` to 1.
fn humidity_within(rh: RelativeHumidity, least: f64) -> Result<f64, AirError> {
    Ok(AirError::within("relative humidity", rh.percent(), "%", least * 100.0, 100.0)? / 100.0)
}

/// Whether a relative humidity leaves room for air.
fn reachable(t_c: f64, rh: f64, p_pa: f64) -> Result<(), AirError> {
    let most_vapour_pa = vapour_pressure_from_humidity_ratio(crate::GREATEST_HUMIDITY_RATIO_KG_PER_KG, p_pa);
    if rh * saturation_pressure_pa(t_c) <= most_vapour_pa {
        return Ok(());
    }
    Err(AirError::RelativeHumidityUnreachable {
        percent: rh * 100.0,
        dry_bulb_c: t_c,
        pressure_kpa: p_pa / 1000.0,
        greatest_percent: greatest_relative_humidity(t_c, p_pa) * 100.0,
    })
}

/// A temperature at which air is to be saturated: in range and below boiling.
fn saturated_point(quantity: &'static str, t_c: f64, p_pa: f64) -> Result<f64, AirError> {
    let t_c = AirError::within(quantity, t_c, "degC", LEAST_TEMPERATURE_C, GREATEST_TEMPERATURE_C)?;
    if saturation_pressure_pa(t_c) < p_pa {
        return Ok(t_c);
    }
    let boiling_c = saturation_temperature_c(p_pa);
    Err(AirError::AtBoiling { quantity, value_c: t_c, pressure_kpa: p_pa / 1000.0, boiling_c })
}

/// The error of a relative humidity too low for a wet bulb within the range of dry bulbs.
fn driest_at(twb_c: f64, rh: f64, p_pa: f64) -> AirError {
    let t_c = GREATEST_TEMPERATURE_C;
    let w = humidity_ratio_from_wet_bulb(t_c, twb_c, p_pa);
    let least = crate::relative_humidity(t_c, w, p_pa) * 100.0;
    AirError::OutOfRange {
        quantity: "relative humidity",
        value: rh * 100.0,
        unit: "%",
        least,
        greatest: 100.0,
    }
}
