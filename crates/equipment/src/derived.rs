//! Figures that follow from a cabinet's data, in SI units.

use fallrate_datafile::nearest;

use crate::{Cabinet, EquipmentError, FanStep, Liner, VentMark};

impl Cabinet {
    /// Area of one tray, m2.
    #[must_use]
    pub fn tray_area_m2(&self) -> f64 {
        self.trays.length.value.metres() * self.trays.width.value.metres()
    }
    /// Area of all trays, m2.
    #[must_use]
    pub fn total_tray_area_m2(&self) -> f64 {
        self.tray_area_m2() * f64::from(self.trays.count)
    }
    /// The strongest fan step. `None` only for a cabinet without fan steps, which no file can describe.
    #[must_use]
    pub fn full_fan(&self) -> Option<&FanStep> {
        self.fan_steps.last()
    }
    /// Air flow at full fan, m3/s.
    #[must_use]
    pub fn full_air_flow_m3_per_s(&self) -> f64 {
        self.full_fan().map_or(0.0, |f| f.air_flow.value.m3_per_s())
    }
    /// Mean air speed between the trays at a fan step, m/s: flow over cross-section.
    #[must_use]
    pub fn air_speed_m_per_s(&self, step: &FanStep) -> f64 {
        step.air_flow.value.m3_per_s() / self.air.cross_section.value.square_metres()
    }
    /// Heat transfer coefficient on the free face of a piece at an air speed, W/(m2 K): h_ref (v / v_ref)^n.
    ///
    /// Zero at and below zero speed. Range: the file's check holds the speed of every fan step within
    /// [`crate::AIR_SPEED_RANGE_M_PER_S`].
    #[must_use]
    pub fn heat_transfer_w_per_m2_k(&self, air_speed_m_per_s: f64) -> f64 {
        let reference = &self.heat_transfer;
        let ratio = (air_speed_m_per_s / reference.air_speed.value.m_per_s()).max(0.0);
        reference.coefficient.value.w_per_m2_k() * ratio.powf(reference.exponent.value)
    }
    /// Heater power at a mains voltage, W: the measured power times the square of the voltage ratio.
    #[must_use]
    pub fn heater_power_w(&self, mains_v: f64) -> f64 {
        self.heater.measured.value.watts() * (mains_v / self.mains.actual_v.value).powi(2)
    }
    /// Power the nameplate promises at the actual voltage, W.
    #[must_use]
    pub fn nameplate_power_at_actual_voltage_w(&self) -> f64 {
        self.heater.rated.value.watts() * (self.mains.actual_v.value / self.mains.rated_v.value).powi(2)
    }
    /// Heat lost through the shell per kelvin between chamber air and room, W/K: exchange and loss in series.
    #[must_use]
    pub fn shell_loss_w_per_k(&self) -> f64 {
        let (inner, outer) = (self.shell.exchange.value.w_per_k(), self.shell.loss.value.w_per_k());
        inner * outer / (inner + outer)
    }
    /// Steady power the heater must give to hold an empty, dry chamber at a temperature, W, with the fan at full, the
    /// vent at its least opening: shell loss and fresh air less the fan's heat; never negative.
    #[must_use]
    pub fn idle_power_w(&self, chamber_c: f64, room_c: f64) -> f64 {
        let rise = chamber_c - room_c;
        let fresh = self.leakage.dry_air.value.kg_per_s()
            + self.vent.marks.first().map_or(0.0, |m| m.dry_air.value.kg_per_s());
        let fan = self.full_fan().map_or(0.0, |f| f.power.value.watts());
        (rise * (self.shell_loss_w_per_k() + fresh * CP_ROOM_AIR_J_PER_KG_K) - fan).max(0.0)
    }

    /// The vent mark of a name.
    ///
    /// # Errors
    /// [`EquipmentError::UnknownVentMark`] names the marks there are.
    pub fn vent_mark(&self, name: &str) -> Result<&VentMark, EquipmentError> {
        self.vent.marks.iter().find(|m| m.name == name).ok_or_else(|| {
            let (known, near) = known_and_near(name, self.vent.marks.iter().map(|m| m.name.as_str()));
            EquipmentError::UnknownVentMark { name: name.to_owned(), known, near, cabinet: self.key.clone() }
        })
    }
    /// The fan step of a name.
    ///
    /// # Errors
    /// [`EquipmentError::UnknownFanStep`] names the steps there are.
    pub fn fan_step(&self, name: &str) -> Result<&FanStep, EquipmentError> {
        self.fan_steps.iter().find(|f| f.name == name).ok_or_else(|| {
            let (known, near) = known_and_near(name, self.fan_steps.iter().map(|f| f.name.as_str()));
            EquipmentError::UnknownFanStep { name: name.to_owned(), known, near, cabinet: self.key.clone() }
        })
    }
    /// The liner of a key.
    ///
    /// # Errors
    /// [`EquipmentError::UnknownLiner`] names the liners there are.
    pub fn liner(&self, key: &str) -> Result<&Liner, EquipmentError> {
        self.liners.iter().find(|l| l.key == key).ok_or_else(|| {
            let (known, near) = known_and_near(key, self.liners.iter().map(|l| l.key.as_str()));
            EquipmentError::UnknownLiner { name: key.to_owned(), known, near, cabinet: self.key.clone() }
        })
    }
    /// Least opening of the vent, share of fully open.
    #[must_use]
    pub fn least_vent_opening(&self) -> f64 {
        self.vent.marks.first().map_or(0.0, |m| m.opening.value.fraction())
    }
    /// Fresh dry air through the vent at an opening, fan at full, kg/s: linear between the marks.
    ///
    /// # Errors
    /// [`EquipmentError::VentOpening`] below the least opening or above 1.
    pub fn vent_dry_air_kg_per_s(&self, opening: f64) -> Result<f64, EquipmentError> {
        let least = self.least_vent_opening();
        let points = self.vent.marks.iter().map(|m| (m.opening.value.fraction(), m.dry_air.value.kg_per_s()));
        let mut before: Option<(f64, f64)> = None;
        for (x, y) in points {
            match before {
                None if opening == x => return Ok(y),
                Some((x0, y0)) if opening >= x0 && opening <= x => {
                    return Ok(y0 + (y - y0) * (opening - x0) / (x - x0));
                }
                _ => before = Some((x, y)),
            }
        }
        Err(EquipmentError::VentOpening { opening, least, cabinet: self.key.clone() })
    }
}

/// Specific heat of room air per kg dry air with some 7 g/kg of vapour, J/(kg K) (1006 + 0.007 x 1830).
const CP_ROOM_AIR_J_PER_KG_K: f64 = 1019.0;

fn known_and_near<'a>(name: &str, names: impl Iterator<Item = &'a str>) -> (Vec<String>, Option<String>) {
    let known: Vec<String> = names.map(ToOwned::to_owned).collect();
    let near = nearest(name, known.iter().map(String::as_str)).map(ToOwned::to_owned);
    (known, near)
}
