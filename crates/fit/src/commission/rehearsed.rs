//! A test as it would probably go, by what is known so far: what advice is reckoned from.

use fallrate_equipment::{Cabinet, ControllerKind};

use super::control;
use super::figures::Figures;
use super::humidity::{self, shown_rh};
use super::record::{AirReading, CabinetTest, MeterReading, RoomAir, TestKind, Wetted};
use super::thermal::{LOGGER, Network, at_rest, dry_air_kg, room_w};

/// A test that can be asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ask {
    /// Empty heat-up and cool-down; with the meter read.
    HeatCool {
        /// Meter read before and after.
        meter: bool,
    },
    /// Held at a set point with the meter read.
    Hold,
    /// Humidity that dies away at a mark.
    Decay {
        /// Index of the mark.
        mark: usize,
    },
    /// A weighed pan of water at a mark.
    Pan {
        /// Index of the mark.
        mark: usize,
    },
    /// A weighed wet cloth on every tray.
    Cloths {
        /// Index of the mark.
        mark: usize,
    },
}

/// A test with its settings and what it takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Planned {
    /// Which.
    pub ask: Ask,
    /// Set point, degC; the highest for a heat-up.
    pub set_point_c: f64,
    /// Heater off again at this reading of the logger, degC (heat-up only).
    pub off_at_c: f64,
    /// How long it takes, s.
    pub duration_s: f64,
    /// How long somebody is busy with it, s.
    pub hands_s: f64,
}

/// Every test that a cabinet can be asked for.
pub(crate) fn asks(draft: &Cabinet) -> Vec<Ask> {
    let marks = draft.vent.marks.len();
    let wide = marks.saturating_sub(1).min(marks / 2);
    let mut out = vec![Ask::HeatCool { meter: false }, Ask::HeatCool { meter: true }, Ask::Hold];
    out.extend((0..marks).map(|mark| Ask::Decay { mark }));
    out.extend((0..marks).map(|mark| Ask::Pan { mark }));
    out.push(Ask::Cloths { mark: wide });
    out
}

/// The test as it would go, with readings as the figures make them.
pub(crate) fn rehearse(draft: &Cabinet, f: &Figures, room: &RoomAir, ask: Ask) -> (CabinetTest, Planned) {
    let highest = draft.controller.set_point_greatest.value.celsius();
    let middle = highest.min(55.0).max(draft.controller.set_point_least.value.celsius());
    let mut planned =
        Planned { ask, set_point_c: middle, off_at_c: middle, duration_s: 3600.0, hands_s: 600.0 };
    let mut test = CabinetTest {
        name: String::new(),
        kind: TestKind::Decay,
        vent: 0,
        room: *room,
        air: Vec::new(),
        meter: Vec::new(),
        meter_step_kwh: 0.01,
        temperature_step_k: 0.1,
    };
    match ask {
        Ask::HeatCool { meter } => {
            planned.set_point_c = highest;
            planned.off_at_c = highest - 10.0;
            heat_cool(f, &mut test, &mut planned, meter);
        }
        Ask::Hold => hold(draft, f, &mut test, &mut planned),
        Ask::Decay { mark } => decay(f, &mut test, &mut planned, mark),
        Ask::Pan { mark } | Ask::Cloths { mark } => {
            wet(draft, f, &mut test, &mut planned, mark, matches!(ask, Ask::Cloths { .. }));
        }
    }
    (test, planned)
}

/// Longest heating, shortest and longest cooling, s.
const LONGEST_HEAT_S: f64 = 7200.0;

fn heat_cool(f: &Figures, test: &mut CabinetTest, planned: &mut Planned, meter: bool) {
    let room = test.room;
    let around = 0.5 * (room.temperature_c + planned.off_at_c);
    let mut networks = [false, true].map(|on| Network::new(f, 0, &room, around, on));
    let mut state = at_rest(room.temperature_c);
    let (mut t, mut off_s) = (0.0, None);
    let every = 60.0;
    let end = |off: Option<f64>| off.map_or(LONGEST_HEAT_S, |o| o + (3.0 * o).clamp(2400.0, 7200.0));
    while t < end(off_s) {
        test.air.push(AirReading { at_s: t, temperature_c: state[LOGGER], relative_humidity: None });
        if off_s.is_none() && (state[LOGGER] > planned.off_at_c || t >= LONGEST_HEAT_S - every) {
            off_s = Some(t.max(every));
        }
        state = networks[usize::from(off_s.is_none())].after(&state, every);
        t += every;
    }
    let off_s = off_s.unwrap_or(LONGEST_HEAT_S);
    test.kind = TestKind::HeatCool { on_s: 0.0, off_s };
    let at = |at_s, kwh| MeterReading { at_s, kwh };
    if meter {
        let kwh = (f.heater_w + f.fan_w) * off_s / 3.6e6;
        test.meter = vec![at(0.0, 0.0), at(off_s, kwh), at(t, kwh + f.fan_w * (t - off_s) / 3.6e6)];
    }
    planned.duration_s = t;
    planned.hands_s = if meter { 600.0 } else { 420.0 };
}

fn hold(draft: &Cabinet, f: &Figures, test: &mut CabinetTest, planned: &mut Planned) {
    let (warm, long) = (3600.0, 5400.0);
    let on_off = matches!(draft.controller.kind, ControllerKind::OnOff { .. });
    let made = control::predicted(f, 0, &test.room, planned.set_point_c, 10.0).filter(|_| on_off);
    let mean = made.map_or(planned.set_point_c - f.display_offset_k, |m| m.mean_c);
    let (swing, period) = made.map_or((0.0, 600.0), |m| (m.swing_k, m.period_s));
    let mut t = 0.0;
    while t < long {
        let wave = 0.5 * swing * (std::f64::consts::TAU * t / period).sin();
        test.air.push(AirReading { at_s: t, temperature_c: mean + wave, relative_humidity: None });
        t += 10.0;
    }
    test.kind = TestKind::Hold { set_point_c: planned.set_point_c, display_c: made.map(|m| m.display_c) };
    let power = super::thermal::holding_power_w(f, 0, &test.room, mean - f.logger_offset_k) + f.fan_w;
    test.meter = vec![
        MeterReading { at_s: 0.0, kwh: 0.0 },
        MeterReading { at_s: long, kwh: power.max(f.fan_w) * long / 3.6e6 },
    ];
    planned.duration_s = warm + long;
    planned.hands_s = 900.0;
}

fn decay(f: &Figures, test: &mut CabinetTest, planned: &mut Planned, mark: usize) {
    let t_c = planned.set_point_c.min(50.0);
    planned.set_point_c = t_c;
    test.vent = mark;
    let held = dry_air_kg(f.volume_m3, t_c, 0.02, test.room.pressure_pa);
    let long = (4.0 * held / f.fresh_kg_per_s(mark)).clamp(600.0, 5400.0);
    let every = (long / 60.0).clamp(10.0, 60.0);
    let mut t = 0.0;
    while t <= long {
        test.air.push(AirReading { at_s: t, temperature_c: t_c, relative_humidity: Some(0.5) });
        t += every;
    }
    let expected = humidity::decay(f, mark, &test.room, &test.air, 0.5);
    for (r, rh) in test.air.iter_mut().zip(expected) {
        r.relative_humidity = Some(rh);
    }
    planned.duration_s = long + 2400.0;
    planned.hands_s = 900.0;
}

fn wet(
    draft: &Cabinet,
    f: &Figures,
    test: &mut CabinetTest,
    planned: &mut Planned,
    mark: usize,
    cloths: bool,
) {
    test.vent = mark;
    let (long, every) = (if cloths { 2700.0 } else { 3600.0 }, 60.0);
    let t_c = planned.set_point_c.min(50.0);
    planned.set_point_c = t_c;
    let room = test.room;
    let outside = room_w(&room);
    let saturated = fallrate_air::humidity_ratio_from_relative_humidity(t_c, 0.6, room.pressure_pa);
    // As humid as 60 % at most, and no more than a pan of the size of a tray gives off.
    let most = 0.9 * draft.tray_area_m2();
    let w = (outside + most / 3600.0 / f.fresh_kg_per_s(mark)).min(saturated);
    let rh = fallrate_air::relative_humidity(t_c, w, room.pressure_pa);
    let mut t = 0.0;
    while t <= long {
        test.air.push(AirReading { at_s: t, temperature_c: t_c, relative_humidity: Some(shown_rh(f, rh)) });
        t += every;
    }
    let lost = f.fresh_kg_per_s(mark) * (w - outside) * long;
    let wetted =
        |tray: u32, lost: f64| Wetted { tray, before_kg: 3.0 * lost, after_kg: 2.0 * lost, dry_kg: 0.0 };
    let n = draft.trays.count;
    test.kind = if cloths {
        TestKind::Cloths {
            in_s: 0.0,
            out_s: long,
            area_m2: draft.tray_area_m2(),
            cloths: (1..=n).map(|tray| wetted(tray, lost / f64::from(n))).collect(),
            scale_step_kg: 0.001,
        }
    } else {
        TestKind::Pan { in_s: 0.0, out_s: long, pans: vec![wetted(1, lost)], scale_step_kg: 0.001 }
    };
    planned.duration_s = long + 2400.0;
    planned.hands_s = if cloths { 600.0 + 90.0 * f64::from(n) } else { 900.0 };
}
