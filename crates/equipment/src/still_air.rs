//! What the element's stored heat does after the power goes off.

use crate::Cabinet;

/// Density of dry air at 75 degC and 101,325 Pa by the ideal gas law, kg/m3.
const AIR_DENSITY_KG_PER_M3: f64 = 101_325.0 / (287.042 * 348.15);
/// Specific heat of dry air, J/(kg K).
const CP_AIR_J_PER_KG_K: f64 = 1006.0;
/// Time followed, s; the element's time constant in still air is minutes.
const FOLLOWED_S: f64 = 3600.0;

impl Cabinet {
    /// Highest rise of the chamber air above its temperature at power-off, K, after the heater has run at a share of its
    /// power (0 to 1) until that moment: an upper bound.
    ///
    /// Four bodies, element (E), air (A), shell (S), racks (R), fan off: C_E dE/dt = -G_EA (E-A) - G_ES (E-S);
    /// C_A dA/dt = G_EA (E-A) - G_AS (A-S) - G_AR (A-R); C_S dS/dt = G_ES (E-S) + G_AS (A-S); C_R dR/dt = G_AR (A-R).
    /// The conductances are those with the fan on times their fan-off shares. It is a bound because nothing is lost to
    /// the room, there is no food, and shell and racks start as warm as the air. The element starts at its steady
    /// excess, share x power / G_EA(fan on). Explicit steps of a tenth of the air's time constant; they are exact enough
    /// here (a test compares with half the step).
    #[must_use]
    pub fn still_air_rise_k(&self, power_share: f64) -> f64 {
        self.still_air_rise_with_step_k(power_share, 0.1)
    }

    pub(crate) fn still_air_rise_with_step_k(&self, power_share: f64, step_share: f64) -> f64 {
        let on = self.heater.element_conductance.value.w_per_k();
        let to_shell = self.heater.to_shell.value.w_per_k();
        let element_air = on * self.heater.fan_off_share.value.fraction();
        let air_shell = self.shell.exchange.value.w_per_k() * self.shell.fan_off_share.value.fraction();
        let air_racks =
            self.racks.exchange.value.w_per_k() * self.air.fan_off_exchange_share.value.fraction();
        let c_air = self.air.plenum_volume.value.cubic_metres() * AIR_DENSITY_KG_PER_M3 * CP_AIR_J_PER_KG_K;
        let c_element = self.heater.element_heat_capacity.value.j_per_k();
        let fastest =
            (c_air / (element_air + air_shell + air_racks)).min(c_element / (element_air + to_shell));
        let step_s = (step_share * fastest).clamp(1e-3, 5.0);
        let (mut e, mut a, mut s, mut r) =
            (power_share * self.heater.measured.value.watts() / (on + to_shell), 0.0, 0.0, 0.0);
        let (mut highest, mut elapsed): (f64, f64) = (0.0, 0.0);
        while elapsed < FOLLOWED_S {
            let (q_ea, q_es) = (element_air * (e - a), to_shell * (e - s));
            let (q_as, q_ar) = (air_shell * (a - s), air_racks * (a - r));
            e -= step_s * (q_ea + q_es) / c_element;
            a += step_s * (q_ea - q_as - q_ar) / c_air;
            s += step_s * (q_es + q_as) / self.shell.heat_capacity.value.j_per_k();
            r += step_s * q_ar / self.racks.heat_capacity.value.j_per_k();
            highest = highest.max(a);
            elapsed += step_s;
        }
        highest
    }
}

#[cfg(test)]
mod tests {
    use crate::Cabinet;

    #[test]
    fn limit_half_the_step_changes_the_rise_by_less_than_two_per_cent() {
        let north = Cabinet::parse("n", include_str!("../../../data/cabinets/north.toml")).expect("good");
        let (whole, half) =
            (north.still_air_rise_with_step_k(1.0, 0.1), north.still_air_rise_with_step_k(1.0, 0.05));
        assert!((whole / half - 1.0).abs() < 0.02, "{whole} {half}");
    }
}
