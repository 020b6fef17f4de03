//! The numbers of a cabinet that the models of the tests take, out of the unknowns.

use fallrate_equipment::Cabinet;

use super::unknown::{Places, Unknown};

/// A cabinet and its instruments in numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Figures {
    /// Shell, J/K.
    pub shell_j_per_k: f64,
    /// Racks, J/K.
    pub racks_j_per_k: f64,
    /// Element, J/K.
    pub element_j_per_k: f64,
    /// Air to shell, W/K.
    pub shell_exchange_w_per_k: f64,
    /// Air to racks, W/K.
    pub racks_exchange_w_per_k: f64,
    /// Element to air, W/K.
    pub element_exchange_w_per_k: f64,
    /// Element to shell, W/K.
    pub element_to_shell_w_per_k: f64,
    /// Shell to room, W/K.
    pub loss_w_per_k: f64,
    /// Heater, W.
    pub heater_w: f64,
    /// Fan, W.
    pub fan_w: f64,
    /// Leakage, kg/s.
    pub leakage_kg_per_s: f64,
    /// Vent by mark, kg/s.
    pub vent_kg_per_s: Vec<f64>,
    /// Water of the walls at saturation, kg.
    pub wall_kg: f64,
    /// Free volume, m3.
    pub volume_m3: f64,
    /// Heat transfer coefficient at the reference speed, W/(m2 K).
    pub exchange_w_per_m2_k: f64,
    /// Exchange of a cloth's underside relative to its upper face.
    pub underside: f64,
    /// Air through all trays, m3/s.
    pub air_flow_m3_per_s: f64,
    /// Air of each tray relative to the mean.
    pub air_shares: Vec<f64>,
    /// Display above the true temperature, K.
    pub display_offset_k: f64,
    /// Between switching on and off, K; none for continuous control.
    pub band_k: Option<f64>,
    /// Lag of the controller's sensor, s.
    pub sensor_lag_s: f64,
    /// Lag of the logger, s.
    pub logger_lag_s: f64,
    /// Logger above the truth, K.
    pub logger_offset_k: f64,
    /// Humidity above the truth.
    pub humidity_offset: f64,
    /// Error of the humidity's scale.
    pub humidity_gain: f64,
    /// Lag of the humidity sensor, s.
    pub humidity_lag_s: f64,
    /// Error of the meter's scale.
    pub meter_gain: f64,
}

/// Factors on figures that may have changed since the tests.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Factors {
    pub vent: f64,
    pub fan: f64,
    pub heater: f64,
    pub leakage: f64,
    pub loss: f64,
}

/// How a changed figure acts, by its factor.
pub(crate) type Act = fn(f64) -> Factors;

impl Factors {
    pub const NONE: Self = Self { vent: 1.0, fan: 1.0, heater: 1.0, leakage: 1.0, loss: 1.0 };
}

impl Figures {
    pub(crate) fn new(draft: &Cabinet, places: &Places, theta: &[f64]) -> Self {
        let v = |u| places.value(theta, u);
        let or = |u, otherwise: f64| v(u).unwrap_or(otherwise);
        let c = or(Unknown::HeatCapacity, 1.0);
        let racks = or(Unknown::RackShare, 0.2);
        let marks = draft.vent.marks.len();
        let raw: Vec<f64> = (0..draft.trays.count as usize).map(|i| or(Unknown::AirShare(i), 1.0)).collect();
        #[allow(clippy::cast_precision_loss)]
        let mean = raw.iter().sum::<f64>() / raw.len().max(1) as f64;
        Self {
            shell_j_per_k: c / (1.0 + racks),
            racks_j_per_k: c * racks / (1.0 + racks),
            element_j_per_k: c * or(Unknown::ElementShare, 0.03),
            shell_exchange_w_per_k: c * or(Unknown::ShellExchange, 2e-3),
            racks_exchange_w_per_k: c * or(Unknown::RackExchange, 2e-3),
            element_exchange_w_per_k: c * or(Unknown::ElementExchange, 2e-3),
            element_to_shell_w_per_k: c * or(Unknown::ElementToShell, 1e-4),
            loss_w_per_k: c * or(Unknown::LossRate, 4e-4),
            heater_w: c * or(Unknown::PowerRate, 0.08),
            fan_w: c * or(Unknown::FanRate, 4e-3),
            leakage_kg_per_s: or(Unknown::Leakage, 1e-3),
            vent_kg_per_s: (0..marks).map(|i| or(Unknown::Vent(i), 0.0)).collect(),
            wall_kg: or(Unknown::WallWater, 1e-3),
            volume_m3: or(Unknown::Volume, 0.1),
            exchange_w_per_m2_k: or(Unknown::Exchange, 28.0),
            underside: or(Unknown::Underside, 0.5),
            air_flow_m3_per_s: or(Unknown::AirFlow, 0.1),
            air_shares: raw.iter().map(|r| r / mean).collect(),
            display_offset_k: or(Unknown::DisplayOffset, 0.0),
            band_k: v(Unknown::Band),
            sensor_lag_s: or(Unknown::SensorLag, 30.0),
            logger_lag_s: or(Unknown::LoggerLag, 45.0),
            logger_offset_k: or(Unknown::LoggerOffset, 0.0),
            humidity_offset: or(Unknown::HumidityOffset, 0.0),
            humidity_gain: or(Unknown::HumidityGain, 0.0),
            humidity_lag_s: or(Unknown::HumidityLag, 40.0),
            meter_gain: or(Unknown::MeterGain, 0.0),
        }
    }

    /// With what may have changed since. Less air lowers every exchange by its exponent, the vent's flow in proportion.
    pub(crate) fn changed(mut self, f: &Factors, exponent: f64) -> Self {
        let slower = f.fan.powf(exponent);
        self.air_flow_m3_per_s *= f.fan;
        self.exchange_w_per_m2_k *= slower;
        for g in [
            &mut self.shell_exchange_w_per_k,
            &mut self.racks_exchange_w_per_k,
            &mut self.element_exchange_w_per_k,
        ] {
            *g *= slower;
        }
        for v in &mut self.vent_kg_per_s {
            *v *= f.vent * f.fan;
        }
        self.heater_w *= f.heater;
        self.leakage_kg_per_s *= f.leakage;
        self.loss_w_per_k *= f.loss;
        self
    }

    /// Fresh dry air at a mark, kg/s.
    #[must_use]
    pub fn fresh_kg_per_s(&self, mark: usize) -> f64 {
        self.leakage_kg_per_s + self.vent_kg_per_s.get(mark).copied().unwrap_or(0.0)
    }
    /// Heat lost through the shell per kelvin between air and room, W/K: exchange and loss in series.
    #[must_use]
    pub fn shell_loss_w_per_k(&self) -> f64 {
        self.shell_exchange_w_per_k * self.loss_w_per_k / (self.shell_exchange_w_per_k + self.loss_w_per_k)
    }
    /// Everything that is heated, without the air, J/K.
    #[must_use]
    pub fn heat_capacity_j_per_k(&self) -> f64 {
        self.shell_j_per_k + self.racks_j_per_k + self.element_j_per_k
    }
}
