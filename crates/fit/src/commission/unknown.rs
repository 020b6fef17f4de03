//! What is not known of a cabinet and its instruments before the tests, and how far.
//!
//! Everything thermal is held relative to the heat capacity of shell and racks: a temperature record alone fixes ratios,
//! and the capacity itself, the one absolute figure, is believed within a factor of ten only. What fixes it is a meter, a
//! known power or weighed water, never the draft file.

use std::collections::BTreeMap;

use fallrate_equipment::{Cabinet, ControllerKind};

/// Something unknown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unknown {
    /// Heat capacity of shell and racks, J/K.
    HeatCapacity,
    /// Shell to room over capacity, 1/s.
    LossRate,
    /// Heater power over capacity, K/s.
    PowerRate,
    /// Fan power over capacity, K/s.
    FanRate,
    /// Capacity of the racks over that of the shell.
    RackShare,
    /// Air to shell over capacity, 1/s.
    ShellExchange,
    /// Air to racks over capacity, 1/s.
    RackExchange,
    /// Capacity of the element over that of shell and racks.
    ElementShare,
    /// Element to air over capacity, 1/s.
    ElementExchange,
    /// Element to shell over capacity, 1/s.
    ElementToShell,
    /// Leakage, kg/s.
    Leakage,
    /// Vent at a mark, kg/s.
    Vent(usize),
    /// Water the walls hold at saturation, kg.
    WallWater,
    /// Free volume, m3.
    Volume,
    /// Heat transfer coefficient at the reference speed, W/(m2 K).
    Exchange,
    /// Exchange of a cloth's underside relative to its upper face.
    Underside,
    /// Air through all trays, m3/s.
    AirFlow,
    /// Air of a tray relative to the mean, before they are made to average 1.
    AirShare(usize),
    /// Display above the true temperature, K.
    DisplayOffset,
    /// Between switching on and off, K.
    Band,
    /// Lag of the controller's sensor, s.
    SensorLag,
    /// Lag of the logger's thermometer, s.
    LoggerLag,
    /// Logger above the true temperature, K.
    LoggerOffset,
    /// Logger above the true humidity.
    HumidityOffset,
    /// Error of the humidity's scale.
    HumidityGain,
    /// Lag of the humidity sensor, s.
    HumidityLag,
    /// Error of the meter's scale.
    MeterGain,
}

impl Unknown {
    /// Whether the logarithm is what is normally distributed.
    pub(crate) const fn is_factor(self) -> bool {
        !matches!(
            self,
            Self::DisplayOffset
                | Self::LoggerOffset
                | Self::HumidityOffset
                | Self::HumidityGain
                | Self::MeterGain
        )
    }
}

/// What is believed of an unknown: normal, of its logarithm where it is a factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    /// Which.
    pub unknown: Unknown,
    /// Median, in its unit.
    pub value: f64,
    /// Standard deviation, of the logarithm where it is a factor.
    pub deviation: f64,
}

impl Belief {
    pub(crate) fn coordinate(&self) -> f64 {
        if self.unknown.is_factor() { self.value.ln() } else { self.value }
    }
}

/// A figure that was measured beforehand by other means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// Value.
    pub value: f64,
    /// Standard error.
    pub standard_error: f64,
}

/// Figures a person knows beforehand by tape or meter, not from a nameplate.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct KnownFigures {
    /// Free volume, m3.
    pub volume_m3: Option<Known>,
    /// Heater power, measured, W.
    pub heater_w: Option<Known>,
}

/// A draft says nothing that a test is to find: a factor of ten either way at two deviations.
const WIDE: f64 = 1.15;
/// Standard deviations in half a range (low and high are 5th and 95th percentile).
const HALF_RANGE: f64 = 1.645;
/// Least deviation of a logarithm taken from a draft file.
const LEAST: f64 = 0.08;

/// What is believed of a cabinet before any test: ratios that a test cannot separate within the draft's own ranges, all that
/// a test is to find within a factor of ten.
#[must_use]
pub fn beliefs(draft: &Cabinet, known: &KnownFigures) -> Vec<Belief> {
    let (shell, racks, heater) = (&draft.shell, &draft.racks, &draft.heater);
    let (c_shell, c_racks) = (shell.heat_capacity.value.j_per_k(), racks.heat_capacity.value.j_per_k());
    let c = c_shell + c_racks;
    let range = |low: f64, high: f64, value: f64| {
        let (low, high) = (low.max(0.2 * value), high.max(value));
        ((high / low).ln() / 2.0 / HALF_RANGE).max(LEAST)
    };
    macro_rules! spread {
        ($figure:expr, $unit:ident) => {
            range($figure.low.$unit(), $figure.high.$unit(), $figure.value.$unit())
        };
    }
    let mut list = Vec::new();
    let mut add = |unknown, value: f64, deviation| list.push(Belief { unknown, value, deviation });
    add(Unknown::HeatCapacity, c, WIDE);
    add(Unknown::LossRate, shell.loss.value.w_per_k() / c, WIDE);
    add(Unknown::PowerRate, heater.measured.value.watts() / c, WIDE);
    add(Unknown::FanRate, draft.full_fan().map_or(1.0, |f| f.power.value.watts()).max(1.0) / c, WIDE);
    add(Unknown::RackShare, c_racks / c_shell, 1.5 * spread!(racks.heat_capacity, j_per_k));
    add(Unknown::ShellExchange, shell.exchange.value.w_per_k() / c, 1.5 * spread!(shell.exchange, w_per_k));
    add(Unknown::RackExchange, racks.exchange.value.w_per_k() / c, 1.5 * spread!(racks.exchange, w_per_k));
    add(
        Unknown::ElementShare,
        heater.element_heat_capacity.value.j_per_k() / c,
        1.5 * spread!(heater.element_heat_capacity, j_per_k),
    );
    add(
        Unknown::ElementExchange,
        heater.element_conductance.value.w_per_k() / c,
        1.5 * spread!(heater.element_conductance, w_per_k),
    );
    add(
        Unknown::ElementToShell,
        heater.to_shell.value.w_per_k() / c,
        1.5 * spread!(heater.to_shell, w_per_k),
    );
    add(Unknown::Leakage, draft.leakage.dry_air.value.kg_per_s().max(1e-5), WIDE);
    for (i, mark) in draft.vent.marks.iter().enumerate().filter(|(_, m)| m.dry_air.value.kg_per_s() > 0.0) {
        add(Unknown::Vent(i), mark.dry_air.value.kg_per_s(), WIDE);
    }
    // A few grams a square metre of metal and seals (common practice, no source).
    add(Unknown::WallWater, 2e-3 * shell.inner_area.value.square_metres(), WIDE);
    match known.volume_m3 {
        Some(k) => add(Unknown::Volume, k.value, k.standard_error / k.value),
        None => add(
            Unknown::Volume,
            draft.air.plenum_volume.value.cubic_metres(),
            spread!(draft.air.plenum_volume, cubic_metres),
        ),
    }
    add(Unknown::Exchange, draft.heat_transfer.coefficient.value.w_per_m2_k(), 0.7);
    let bare = draft.liners.iter().find(|l| l.key == "bare").or(draft.liners.first());
    add(Unknown::Underside, bare.map_or(0.5, |l| l.underside_mass.value).max(0.05), 0.25);
    let flow = draft.full_fan().map(|f| &f.air_flow);
    add(
        Unknown::AirFlow,
        draft.full_air_flow_m3_per_s(),
        flow.map_or(0.2, |f| spread!(f, m3_per_s)).max(0.15),
    );
    for tray in 0..draft.trays.count as usize {
        add(Unknown::AirShare(tray), 1.0, 0.35);
    }
    add(Unknown::DisplayOffset, 0.0, 4.0);
    if let ControllerKind::OnOff { hysteresis } = &draft.controller.kind {
        add(Unknown::Band, hysteresis.value.kelvin(), 0.8);
    }
    add(Unknown::SensorLag, draft.controller.sensor_lag.value.seconds().max(2.0), 0.8);
    add(Unknown::LoggerLag, 45.0, 0.7);
    add(Unknown::LoggerOffset, 0.0, 0.25);
    add(Unknown::HumidityOffset, 0.0, 0.015);
    add(Unknown::HumidityGain, 0.0, 0.025);
    add(Unknown::HumidityLag, 40.0, 0.7);
    add(Unknown::MeterGain, 0.0, 0.01);
    list
}

/// Where each unknown stands in the list.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Places(BTreeMap<Unknown, usize>);

impl Places {
    pub fn new(list: &[Belief]) -> Self {
        Self(list.iter().enumerate().map(|(i, b)| (b.unknown, i)).collect())
    }
    pub fn of(&self, unknown: Unknown) -> Option<usize> {
        self.0.get(&unknown).copied()
    }
    /// The value, in its unit.
    pub fn value(&self, theta: &[f64], unknown: Unknown) -> Option<f64> {
        let q = *theta.get(self.of(unknown)?)?;
        Some(if unknown.is_factor() { q.clamp(-60.0, 60.0).exp() } else { q })
    }
}
