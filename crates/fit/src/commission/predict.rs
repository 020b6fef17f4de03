//! What a test shows against what the figures make of it.

use fallrate_equipment::Cabinet;

use super::control;
use super::figures::Figures;
use super::humidity::{self, Cloth, true_room};
use super::record::{CabinetTest, RoomAir, TestKind};
use super::thermal::{LOGGER, Network, State, at_rest, holding_power_w};

/// What a row is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Channel {
    /// Logger, degC.
    Temperature,
    /// Humidity sensor, fraction.
    Humidity,
    /// Meter, kWh between two readings.
    Energy,
    /// From trough to crest of the controller's cycles, K.
    Swing,
    /// Length of a cycle, s.
    Period,
    /// Mean temperature of a hold, degC.
    HeldMean,
    /// Lowest that the display showed, degC.
    DisplayLow,
    /// Highest that the display showed, degC.
    DisplayHigh,
    /// Water lost by everything wet together, kg.
    Water,
    /// Water lost by one tray's cloth, kg.
    Tray(u32),
}

/// One measured figure with what was expected of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// s from the start of the record.
    pub at_s: f64,
    /// What it is.
    pub channel: Channel,
    /// Measured.
    pub measured: f64,
    /// By the figures.
    pub expected: f64,
    /// Standard deviation of the measurement.
    pub deviation: f64,
}

impl Row {
    /// Over its standard deviation.
    #[must_use]
    pub fn residual(&self) -> f64 {
        (self.expected - self.measured) / self.deviation
    }
}

/// Two figures of each record that nobody knows exactly, as multiples of what they may be off.
pub(crate) const OWN: usize = 2;
/// Chamber at the start of a heat-up against the room's reading, K.
const START_K: f64 = 0.2;
/// Room during the test against its reading, K; and of its humidity.
const ROOM_K: f64 = 0.3;
const ROOM_RH: f64 = 0.012;
/// Humidity at the start of a decay against its reading.
const START_RH: f64 = 0.02;
/// Thermometer: noise, and what a network of four bodies leaves out, K.
const MODEL_K: f64 = 0.12;
/// Humidity sensor, noise.
const HUMIDITY: f64 = 0.006;
/// Water lost by handling, by edges that dry first, by water left in the air of the open door: share of what was lost.
const HANDLING: f64 = 0.02;
/// A meter's or scale's last digit is read twice.
const TWO_DIGITS: f64 = 0.41;

/// Expected against measured, of one test; `relay` takes the controller's cycles in.
pub(crate) fn rows(draft: &Cabinet, test: &CabinetTest, f: &Figures, own: &[f64], relay: bool) -> Vec<Row> {
    let own = [own.first().copied().unwrap_or(0.0), own.get(1).copied().unwrap_or(0.0)];
    match &test.kind {
        TestKind::HeatCool { on_s, off_s } => heat_cool(test, f, *on_s, *off_s, own),
        TestKind::Hold { set_point_c, display_c } => hold(test, f, *set_point_c, *display_c, own, relay),
        TestKind::Decay => decay(test, f, own),
        TestKind::Pan { .. } | TestKind::Cloths { .. } => wet(draft, test, f, own),
    }
}

fn temperature_deviation(test: &CabinetTest) -> f64 {
    MODEL_K.hypot(0.29 * test.temperature_step_k)
}

fn thermal_room(test: &CabinetTest, f: &Figures, own: f64) -> RoomAir {
    let mut room = true_room(f, &test.room, 0.0);
    room.temperature_c += ROOM_K * own;
    room
}

fn heat_cool(test: &CabinetTest, f: &Figures, on_s: f64, off_s: f64, own: [f64; 2]) -> Vec<Row> {
    let room = thermal_room(test, f, own[1]);
    let warmest = test.air.iter().map(|r| r.temperature_c).fold(f64::NEG_INFINITY, f64::max);
    let around = 0.5 * (warmest + room.temperature_c);
    let start_c = test.room.temperature_c - f.logger_offset_k + START_K * own[0];
    let mut networks = [false, true].map(|on| Network::new(f, test.vent, &room, around, on));
    let mut state: State = at_rest(start_c);
    let (mut now, deviation) =
        (test.air.first().map_or(on_s, |r| r.at_s.min(on_s)), temperature_deviation(test));
    // Before the heater is on, the fan warms the chamber a little already: it starts with the heater.
    now = now.max(on_s);
    let mut out = Vec::new();
    for r in test.air.iter().filter(|r| r.at_s >= on_s) {
        for (from, to, on) in [(on_s, off_s, true), (off_s, f64::INFINITY, false)] {
            let until = r.at_s.min(to);
            if now >= from && until > now {
                state = networks[usize::from(on)].after(&state, until - now);
                now = until;
            }
        }
        out.push(Row {
            at_s: r.at_s,
            channel: Channel::Temperature,
            measured: r.temperature_c,
            expected: state[LOGGER] + f.logger_offset_k,
            deviation,
        });
    }
    out.extend(energy(test, f, |from, to| {
        f.heater_w * ((to.min(off_s) - from.max(on_s)).max(0.0)) + f.fan_w * (to - from.max(on_s)).max(0.0)
    }));
    out
}

/// Meter readings two by two; `joules` gives what is drawn between two times.
fn energy(test: &CabinetTest, f: &Figures, joules: impl Fn(f64, f64) -> f64) -> Vec<Row> {
    let one = |m: &[super::record::MeterReading]| Row {
        at_s: m[1].at_s,
        channel: Channel::Energy,
        measured: m[1].kwh - m[0].kwh,
        expected: joules(m[0].at_s, m[1].at_s) / 3.6e6 * (1.0 + f.meter_gain),
        deviation: (TWO_DIGITS * test.meter_step_kwh).hypot(0.003 * (m[1].kwh - m[0].kwh)),
    };
    test.meter.windows(2).map(one).collect()
}

/// Mean of a record between two times and its drift, degC and K/s.
pub(crate) fn mean_and_drift(test: &CabinetTest, from_s: f64, to_s: f64) -> Option<(f64, f64)> {
    let part: Vec<(f64, f64)> = test.between(from_s, to_s).map(|r| (r.at_s, r.temperature_c)).collect();
    if part.len() < 3 {
        return None;
    }
    #[allow(clippy::cast_precision_loss)]
    let n = part.len() as f64;
    let (mt, my) = (part.iter().map(|p| p.0).sum::<f64>() / n, part.iter().map(|p| p.1).sum::<f64>() / n);
    let (sxy, sxx) =
        part.iter().fold((0.0, 0.0), |s, p| (s.0 + (p.0 - mt) * (p.1 - my), s.1 + (p.0 - mt).powi(2)));
    Some((my, if sxx > 0.0 { sxy / sxx } else { 0.0 }))
}

fn hold(
    test: &CabinetTest,
    f: &Figures,
    set_point_c: f64,
    display_c: Option<(f64, f64)>,
    own: [f64; 2],
    relay: bool,
) -> Vec<Row> {
    let room = thermal_room(test, f, own[1]);
    let seen = control::cycles(&test.air);
    let mut out = held_energy(test, f, &room, seen.map_or(0.0, |c| c.period_s));
    let last = test.air.last().map_or(0.0, |r| r.at_s);
    let row =
        |channel, measured, expected, deviation| Row { at_s: last, channel, measured, expected, deviation };
    if f.band_k.is_none() {
        if let Some((mean, _)) = mean_and_drift(test, f64::NEG_INFINITY, f64::INFINITY) {
            let expected = set_point_c - f.display_offset_k + f.logger_offset_k;
            out.push(row(Channel::HeldMean, mean, expected, HELD_K));
        }
        return out;
    }
    let (true, Some(seen)) = (relay, seen) else { return out };
    let written = test.air.windows(2).map(|w| w[1].at_s - w[0].at_s).fold(f64::INFINITY, f64::min);
    let Some(made) = control::predicted(f, test.vent, &room, set_point_c, written) else {
        // The figures reach no cycle where one was seen: as far off as can be.
        out.push(row(Channel::Swing, seen.swing_k, seen.swing_k + 10.0, 0.5));
        return out;
    };
    let swing_deviation = HELD_K.hypot(0.04 * seen.swing_k).hypot(0.29 * test.temperature_step_k);
    out.push(row(Channel::Swing, seen.swing_k, made.swing_k, swing_deviation));
    out.push(row(Channel::Period, seen.period_s, made.period_s, 0.03 * seen.period_s));
    out.push(row(Channel::HeldMean, seen.mean_c, made.mean_c, HELD_K));
    if let Some((low, high)) = display_c {
        out.push(row(Channel::DisplayLow, low, made.display_c.0, DISPLAY_K));
        out.push(row(Channel::DisplayHigh, high, made.display_c.1, DISPLAY_K));
    }
    out
}

/// Mean of a hold, K; a display read by eye, K.
const HELD_K: f64 = 0.1;
const DISPLAY_K: f64 = 0.35;

/// Energy of a hold: losses at the mean temperature, and what the bodies took up or gave back by a slow drift.
fn held_energy(test: &CabinetTest, f: &Figures, room: &RoomAir, period_s: f64) -> Vec<Row> {
    let (Some(first), Some(last)) = (test.meter.first(), test.meter.last()) else { return Vec::new() };
    let Some((mean_c, drift)) = mean_and_drift(test, first.at_s, last.at_s) else { return Vec::new() };
    let power = holding_power_w(f, test.vent, room, mean_c - f.logger_offset_k);
    let stored = f.heat_capacity_j_per_k() * drift;
    // A cycle that is cut off by the meter's reading: some part of one either way.
    let cut = 0.3 * period_s * power / 3.6e6;
    let mut out = energy(test, f, |from, to| (to - from) * (power + stored + f.fan_w));
    for r in &mut out {
        r.deviation = r.deviation.hypot(cut);
    }
    out
}

fn decay(test: &CabinetTest, f: &Figures, own: [f64; 2]) -> Vec<Row> {
    let room = true_room(f, &test.room, ROOM_RH * own[1]);
    let air: Vec<_> = test.air.iter().filter(|r| r.relative_humidity.is_some()).copied().collect();
    let Some(first) = air.first().and_then(|r| r.relative_humidity) else { return Vec::new() };
    let start = (first - f.humidity_offset) / (1.0 + f.humidity_gain) + START_RH * own[0];
    let expected = humidity::decay(f, test.vent, &room, &air, start);
    let row = |(r, expected): (&super::record::AirReading, f64)| Row {
        at_s: r.at_s,
        channel: Channel::Humidity,
        measured: r.relative_humidity.unwrap_or(f64::NAN),
        expected,
        deviation: HUMIDITY,
    };
    air.iter().zip(expected).map(row).collect()
}

fn wet(draft: &Cabinet, test: &CabinetTest, f: &Figures, own: [f64; 2]) -> Vec<Row> {
    let Some((in_s, out_s, wetted, step)) = test.wet() else { return Vec::new() };
    let room = true_room(f, &test.room, ROOM_RH * own[1]);
    let air: Vec<_> = test.between(in_s, out_s).copied().collect();
    let lost: f64 = wetted.iter().map(|w| w.before_kg - w.after_kg).sum();
    #[allow(clippy::cast_precision_loss)]
    let scale = TWO_DIGITS * step * (wetted.len() as f64).sqrt();
    let mut out = vec![Row {
        at_s: out_s,
        channel: Channel::Water,
        measured: lost,
        expected: humidity::water_needed_kg(f, test.vent, &room, &air),
        deviation: scale.hypot(HANDLING * lost),
    }];
    if let TestKind::Cloths { area_m2, .. } = &test.kind {
        let cloth = Cloth {
            area_m2: *area_m2,
            trays: f64::from(draft.trays.count),
            reference_speed: draft.heat_transfer.air_speed.value.m_per_s(),
            cross_section_m2: draft.air.cross_section.value.square_metres(),
            exponent: draft.heat_transfer.exponent.value,
        };
        out.extend(wetted.iter().map(|w| {
            let lost = w.before_kg - w.after_kg;
            Row {
                at_s: out_s,
                channel: Channel::Tray(w.tray),
                measured: lost,
                expected: humidity::cloth_kg(f, &cloth, w.tray.saturating_sub(1) as usize, &room, &air),
                deviation: (TWO_DIGITS * step).hypot(HANDLING * lost),
            }
        }));
    }
    out
}
