//! The water of the chamber's air, with what its walls hold, driven by the temperature that the logger read.

use fallrate_air::{
    humidity_ratio_from_relative_humidity, humidity_ratio_from_vapour_pressure, relative_humidity,
    saturation_pressure_pa, wet_bulb_c,
};

use super::figures::Figures;
use super::record::{AirReading, RoomAir};
use super::thermal::{dry_air_kg, room_w};

/// True temperature behind a reading, degC (slow changes: the lag is left to the thermal tests).
fn true_c(f: &Figures, reading_c: f64) -> f64 {
    reading_c - f.logger_offset_k
}

/// True humidity behind a reading, fraction.
fn true_rh(f: &Figures, reading: f64) -> f64 {
    ((reading - f.humidity_offset) / (1.0 + f.humidity_gain)).clamp(1e-4, 1.0)
}

/// What the sensor shows of a true humidity.
pub(crate) fn shown_rh(f: &Figures, truth: f64) -> f64 {
    truth * (1.0 + f.humidity_gain) + f.humidity_offset
}

/// The room behind its readings, made with the same logger; `deviation` is what it may have been off besides.
pub(crate) fn true_room(f: &Figures, room: &RoomAir, deviation: f64) -> RoomAir {
    RoomAir {
        temperature_c: true_c(f, room.temperature_c),
        relative_humidity: (true_rh(f, room.relative_humidity) + deviation).clamp(1e-3, 1.0),
        ..*room
    }
}

/// Steps within a reading's interval, s.
const STEP_S: f64 = 10.0;

/// Readings of a humidity that dies away, predicted from the first on.
pub(crate) fn decay(f: &Figures, mark: usize, room: &RoomAir, air: &[AirReading], start_rh: f64) -> Vec<f64> {
    let fresh = f.fresh_kg_per_s(mark);
    let outside = room_w(room);
    let Some(first) = air.first() else { return Vec::new() };
    let p = room.pressure_pa;
    let t0 = true_c(f, first.temperature_c);
    let mut w = humidity_ratio_from_relative_humidity(t0, start_rh.clamp(1e-3, 0.999), p);
    let mut sensor = start_rh;
    let mut out = vec![shown_rh(f, sensor)];
    for pair in air.windows(2) {
        let (ta, tb) = (true_c(f, pair[0].temperature_c), true_c(f, pair[1].temperature_c));
        let seconds = pair[1].at_s - pair[0].at_s;
        let steps = (seconds / STEP_S).ceil().max(1.0);
        let dt = seconds / steps;
        let mut k = 0.0;
        while k < steps {
            let (t1, t2) = (ta + (tb - ta) * k / steps, ta + (tb - ta) * (k + 1.0) / steps);
            w = step(f, fresh, outside, p, (t1, t2), dt, w);
            let rh = relative_humidity(t2, w, p).min(1.0);
            sensor = rh + (sensor - rh) * (-dt / f.humidity_lag_s).exp();
            k += 1.0;
        }
        out.push(shown_rh(f, sensor));
    }
    out
}

/// (M + Q dr/dw) dw/dt = F (w_out - w) - Q dr/dT dT/dt, r the relative humidity, Q what the walls hold at 1.
fn step(f: &Figures, fresh: f64, outside: f64, p: f64, t: (f64, f64), dt: f64, w: f64) -> f64 {
    let mean = 0.5 * (t.0 + t.1);
    let rh_per_w = relative_humidity(mean, w, p) / w.max(1e-6);
    let warmed = relative_humidity(t.1, w, p) - relative_humidity(t.0, w, p);
    let held = dry_air_kg(f.volume_m3, mean, w, p) + f.wall_kg * rh_per_w;
    let left = (-fresh * dt / held).exp();
    (outside + (w - outside) * left - f.wall_kg * warmed / held).max(1e-5)
}

/// Humidity ratio of the chamber at a reading, kg/kg.
pub(crate) fn chamber_w(f: &Figures, r: &AirReading, pressure_pa: f64) -> Option<f64> {
    let rh = true_rh(f, r.relative_humidity?);
    Some(humidity_ratio_from_relative_humidity(true_c(f, r.temperature_c), rh, pressure_pa))
}

/// Water that must have gone into the air for its humidity to have been what was read, kg: carried out, and more held by air and
/// walls at the end than at the start.
pub(crate) fn water_needed_kg(f: &Figures, mark: usize, room: &RoomAir, air: &[AirReading]) -> f64 {
    let (fresh, outside, p) = (f.fresh_kg_per_s(mark), room_w(room), room.pressure_pa);
    let w: Vec<f64> = air.iter().map(|r| chamber_w(f, r, p).unwrap_or(outside)).collect();
    let carried: f64 = air
        .windows(2)
        .zip(w.windows(2))
        .map(|(r, w)| fresh * (r[1].at_s - r[0].at_s) * (0.5 * (w[0] + w[1]) - outside))
        .sum();
    let held = |i: usize| {
        let (r, w) = (&air[i], w[i]);
        let t = true_c(f, r.temperature_c);
        dry_air_kg(f.volume_m3, t, w, p) * w + f.wall_kg * relative_humidity(t, w, p)
    };
    if air.len() < 2 { 0.0 } else { carried + held(air.len() - 1) - held(0) }
}

/// What a wet cloth is, beside the cabinet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cloth {
    pub area_m2: f64,
    /// Trays of the cabinet, and air speed of the reference and of the mean tray, m/s.
    pub trays: f64,
    pub reference_speed: f64,
    pub cross_section_m2: f64,
    pub exponent: f64,
}

/// Le^(2/3) of water vapour in air (textbook, from memory; the drying model's own value).
const LEWIS: f64 = 0.885;

/// Water that a cloth on a tray loses, kg: the air above it goes from the chamber's state towards saturation at its wet bulb.
pub(crate) fn cloth_kg(f: &Figures, cloth: &Cloth, tray: usize, room: &RoomAir, air: &[AirReading]) -> f64 {
    let share = f.air_shares.get(tray).copied().unwrap_or(1.0);
    let p = room.pressure_pa;
    let rate = |r: &AirReading| {
        let t = true_c(f, r.temperature_c);
        let w = chamber_w(f, r, p).unwrap_or(0.0);
        let cp = 1006.0 + 1860.0 * w;
        let dry = dry_air_kg(1.0, t, w, p) * f.air_flow_m3_per_s * share / cloth.trays;
        let speed = f.air_flow_m3_per_s / cloth.cross_section_m2 * share;
        let h = f.exchange_w_per_m2_k * (speed / cloth.reference_speed).powf(cloth.exponent);
        let units = h * cloth.area_m2 * (1.0 + f.underside) / (dry * cp * LEWIS);
        let wet = wet_bulb_c(t, w, p);
        let saturated = humidity_ratio_from_vapour_pressure(saturation_pressure_pa(wet).min(0.9 * p), p);
        dry * (saturated - w) * -(-units).exp_m1()
    };
    air.windows(2).map(|r| 0.5 * (rate(&r[0]) + rate(&r[1])) * (r[1].at_s - r[0].at_s)).sum()
}
