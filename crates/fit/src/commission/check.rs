//! Looking at a record before it is believed.

use fallrate_equipment::{Cabinet, ControllerKind};

use super::control::cycles;
use super::fault::{Done, Finding, Problem};
use super::predict::mean_and_drift;
use super::record::{AirReading, CabinetTest, TestKind, Wetted};

/// Fewest readings of a stretch.
const FEWEST: usize = 8;
/// A wait of so many usual waits is a gap.
const GAP: f64 = 5.0;
/// A chamber at rest may differ from the room by this much, K.
const COLD_K: f64 = 3.0;
/// A heat-up warms by at least this, K.
const LEAST_RISE_K: f64 = 10.0;
/// Readings a minute apart that differ more, in still moving air, were not made by the chamber, K.
const JUMP_K: f64 = 15.0;
/// A cloth that lost more of its water was dry in places.
const DRIED: f64 = 0.75;
/// Above this a hold is not steady, K/h.
const STEADY_K_PER_H: f64 = 4.0;

/// What is wrong with a test, and the test with what is left of it; none where it is refused.
pub(crate) fn check(draft: &Cabinet, test: &CabinetTest) -> (Option<CabinetTest>, Vec<Finding>) {
    let mut looked = Looked { test: test.clone(), findings: Vec::new(), refused: false };
    looked.clock();
    if !looked.refused {
        looked.units();
    }
    if !looked.refused {
        looked.jumps();
        looked.stuck();
        looked.meter(draft);
        looked.kind(draft);
    }
    let left = (!looked.refused).then_some(looked.test);
    (left, looked.findings)
}

struct Looked {
    test: CabinetTest,
    findings: Vec<Finding>,
    refused: bool,
}

impl Looked {
    fn say(&mut self, what: Problem, done: Done) {
        self.refused |= done == Done::Refused;
        self.findings.push(Finding { test: self.test.name.clone(), what, done });
    }

    fn needs(&mut self, found: usize, needed: usize) {
        if found < needed {
            self.say(Problem::TooFewReadings { found, needed }, Done::Refused);
        }
    }

    fn usual_wait_s(&self) -> f64 {
        let mut waits: Vec<f64> =
            self.test.air.windows(2).map(|w| w[1].at_s - w[0].at_s).filter(|w| *w > 0.0).collect();
        waits.sort_by(f64::total_cmp);
        waits.get(waits.len() / 2).copied().unwrap_or(60.0)
    }

    fn clock(&mut self) {
        let finite = |r: &AirReading| r.at_s.is_finite() && r.temperature_c.is_finite();
        self.test.air.retain(finite);
        let back = self
            .test
            .air
            .windows(2)
            .find(|w| w[1].at_s <= w[0].at_s)
            .map(|w| (w[1].at_s, w[0].at_s - w[1].at_s));
        if let Some((at_s, by_s)) = back {
            self.say(Problem::ClockBack { at_s, by_s }, Done::Refused);
            return;
        }
        let usual = self.usual_wait_s();
        let gap = self
            .test
            .air
            .windows(2)
            .find(|w| w[1].at_s - w[0].at_s > (GAP * usual).max(180.0))
            .map(|w| (w[0].at_s, w[1].at_s - w[0].at_s));
        if let Some((at_s, gap_s)) = gap {
            // A clock set forward looks the same as a logger that wrote nothing: times after it mean nothing.
            self.cut_after(at_s, Problem::ClockGap { at_s, gap_s });
        }
    }

    /// Leaves out what comes after a time, where enough is left; else refuses.
    fn cut_after(&mut self, at_s: f64, what: Problem) {
        let kept = self.test.air.iter().filter(|r| r.at_s <= at_s).count();
        let whole = match &self.test.kind {
            TestKind::HeatCool { off_s, .. } => kept >= FEWEST && at_s >= 0.5 * off_s,
            TestKind::Decay | TestKind::Hold { .. } => kept >= 3 * FEWEST,
            TestKind::Pan { .. } | TestKind::Cloths { .. } => false,
        };
        if !whole {
            self.say(what, Done::Refused);
            return;
        }
        self.test.air.retain(|r| r.at_s <= at_s);
        self.test.meter.retain(|m| m.at_s <= at_s);
        self.say(what, Done::PartLeftOut);
    }

    fn units(&mut self) {
        let (Some(first), room) = (self.test.air.first().copied(), self.test.room) else {
            self.needs(0, FEWEST);
            return;
        };
        let rh: Vec<f64> = self.test.air.iter().filter_map(|r| r.relative_humidity).collect();
        let near = |a: f64, b: f64| (a - b).abs() < 4.0;
        let percent = |f: f64| 100.0 * f;
        let cold = matches!(self.test.kind, TestKind::HeatCool { .. });
        if cold
            && rh.first().is_some_and(|h| near(percent(*h), room.temperature_c))
            && near(first.temperature_c, percent(room.relative_humidity))
            && !near(first.temperature_c, room.temperature_c)
        {
            self.say(Problem::SwappedColumns, Done::Refused);
            return;
        }
        let fahrenheit = room.temperature_c * 1.8 + 32.0;
        let celsius = (room.temperature_c - 32.0) / 1.8;
        let hottest = self.test.air.iter().map(|r| r.temperature_c).fold(f64::NEG_INFINITY, f64::max);
        let as_other = near(first.temperature_c, fahrenheit) || near(first.temperature_c, celsius);
        if (cold && as_other && !near(first.temperature_c, room.temperature_c)) || hottest > 130.0 {
            let (first_c, room_c) = (first.temperature_c, room.temperature_c);
            self.say(Problem::WrongUnit { first_c, room_c }, Done::Refused);
        } else if rh.iter().any(|h| *h > 1.2 || *h < 0.0) {
            self.say(Problem::SwappedColumns, Done::Refused);
        }
    }

    /// Probe pulled, door opened.
    fn jumps(&mut self) {
        let air = self.test.air.clone();
        let unplugged = air.windows(2).find(|w| {
            let minutes = ((w[1].at_s - w[0].at_s) / 60.0).max(1.0);
            (w[1].temperature_c - w[0].temperature_c).abs() > JUMP_K * minutes
                || !(-30.0..=130.0).contains(&w[1].temperature_c)
        });
        if let Some(w) = unplugged {
            let what = Problem::ProbeUnplugged { at_s: w[1].at_s, reading_c: w[1].temperature_c };
            self.cut_after(w[0].at_s, what);
            return;
        }
        if let Some((at_s, fall_k)) = door(&self.test) {
            let what = Problem::DoorOpened { at_s, fall_k };
            match self.test.kind {
                TestKind::HeatCool { .. } | TestKind::Decay => self.cut_after(at_s, what),
                _ => self.say(what, Done::Refused),
            }
        }
    }

    fn stuck(&mut self) {
        let TestKind::HeatCool { on_s, off_s } = self.test.kind else { return };
        let mut from: Option<AirReading> = None;
        let mut found = None;
        for r in self.test.air.iter().filter(|r| r.at_s > on_s + 300.0 && r.at_s < off_s) {
            match from {
                Some(f) if (f.temperature_c - r.temperature_c).abs() < 1e-9 => {
                    if r.at_s - f.at_s > 600.0 {
                        found = Some((f.at_s, r.at_s - f.at_s));
                    }
                }
                _ => from = Some(*r),
            }
        }
        if let Some((from_s, for_s)) = found {
            self.say(Problem::Stuck { from_s, for_s }, Done::Refused);
        }
    }

    fn meter(&mut self, draft: &Cabinet) {
        let most_w = 1.3 * draft.heater.rated.value.watts()
            + 2.0 * draft.full_fan().map_or(0.0, |f| f.power.value.watts());
        let bad = self.test.meter.windows(2).find_map(|m| {
            let (by, s) = (m[1].kwh - m[0].kwh, m[1].at_s - m[0].at_s);
            if by < 0.0 {
                return Some(Problem::MeterFell { at_s: m[1].at_s, by_kwh: -by });
            }
            let power_w = 3.6e6 * (by - self.test.meter_step_kwh).max(0.0) / s.max(1.0);
            (power_w > most_w || s <= 0.0).then_some(Problem::MeterImpossible { power_w, most_w })
        });
        if let Some(what) = bad {
            self.test.meter.clear();
            self.say(what, Done::PartLeftOut);
        }
    }

    fn kind(&mut self, draft: &Cabinet) {
        match self.test.kind.clone() {
            TestKind::HeatCool { on_s, off_s } => self.heat_cool(on_s, off_s),
            TestKind::Hold { .. } => self.hold(draft),
            TestKind::Decay => self.decay(),
            TestKind::Pan { in_s, out_s, pans, .. } => self.wet(in_s, out_s, &pans, false),
            TestKind::Cloths { in_s, out_s, cloths, .. } => self.wet(in_s, out_s, &cloths, true),
        }
    }

    fn heat_cool(&mut self, on_s: f64, off_s: f64) {
        let heating = self.test.between(on_s, off_s).count();
        self.needs(heating, FEWEST);
        let Some(first) = self.test.air.first().map(|r| r.temperature_c) else { return };
        let room_c = self.test.room.temperature_c;
        if (first - room_c).abs() > COLD_K {
            self.say(Problem::NotCold { first_c: first, room_c }, Done::Refused);
            return;
        }
        let hottest = self.test.between(on_s, off_s + 120.0).map(|r| r.temperature_c).fold(first, f64::max);
        if hottest - first < LEAST_RISE_K {
            self.say(Problem::NoRise { rise_k: hottest - first }, Done::Refused);
            return;
        }
        if let Some(from_s) = held_back(&self.test, on_s, off_s) {
            self.cut_after(from_s, Problem::HeaterHeldBack { from_s });
        }
    }

    fn hold(&mut self, draft: &Cabinet) {
        let count = self.test.air.len();
        self.needs(count, 3 * FEWEST);
        if let Some((_, drift)) = mean_and_drift(&self.test, f64::NEG_INFINITY, f64::INFINITY) {
            let drift_k_per_h = 3600.0 * drift;
            if drift_k_per_h.abs() > STEADY_K_PER_H {
                self.say(Problem::NotSteady { drift_k_per_h }, Done::Refused);
                return;
            }
        }
        if matches!(draft.controller.kind, ControllerKind::OnOff { .. })
            && let Some(c) = cycles(&self.test.air)
            && c.readings < 6.0
        {
            self.say(Problem::CyclesTooFast { readings: c.readings }, Done::Refused);
        }
    }

    fn decay(&mut self) {
        let rh: Vec<f64> = self.test.air.iter().filter_map(|r| r.relative_humidity).collect();
        let (Some(first), Some(last)) = (rh.first().copied(), rh.last().copied()) else {
            self.say(Problem::NoHumidity, Done::Refused);
            return;
        };
        self.needs(rh.len(), FEWEST);
        if first - last < 0.08 {
            self.say(Problem::NoDecay { first, last }, Done::Refused);
        }
    }

    fn wet(&mut self, in_s: f64, out_s: f64, wetted: &[Wetted], cloths: bool) {
        let inside: Vec<&AirReading> = self.test.between(in_s, out_s).collect();
        let (count, humid) = (inside.len(), inside.iter().all(|r| r.relative_humidity.is_some()));
        self.needs(count, FEWEST);
        if !humid {
            self.say(Problem::NoHumidity, Done::Refused);
        }
        let mut left = Vec::new();
        for w in wetted {
            let water = w.before_kg - w.dry_kg;
            let share = (w.before_kg - w.after_kg) / water;
            if w.after_kg >= w.before_kg {
                self.say(Problem::GotHeavier { tray: w.tray }, Done::Refused);
            } else if cloths && !(share <= DRIED) {
                self.say(Problem::DriedOut { tray: w.tray, share }, Done::PartLeftOut);
            } else {
                left.push(*w);
            }
        }
        // The water balance needs every cloth; one that dried out still lost what it lost.
        if cloths && left.len() < 2 && wetted.len() > 1 {
            self.needs(left.len(), 2);
        }
    }
}

/// Since when the controller held the heater back before it was switched off: the rise, which slows steadily by itself, falls
/// to less than a quarter of what it was over the minutes before.
fn held_back(test: &CabinetTest, on_s: f64, off_s: f64) -> Option<f64> {
    let heating: Vec<&AirReading> = test.between(on_s, off_s).collect();
    let slope = |a: &AirReading, b: &AirReading| (b.temperature_c - a.temperature_c) / (b.at_s - a.at_s);
    let span = (heating.len() / 8).clamp(2, 10);
    let mut greatest: f64 = 0.0;
    for i in span..heating.len().saturating_sub(span) {
        let before = slope(heating[i - span], heating[i]);
        let after = slope(heating[i], heating[i + span]);
        greatest = greatest.max(before);
        if heating[i].temperature_c - heating[0].temperature_c > LEAST_RISE_K && after < 0.25 * before {
            // A margin: the heater was already held back a little before it shows.
            return Some(heating[i - span].at_s);
        }
    }
    None
}

/// A fall of several kelvin within a few minutes, and back.
fn door(test: &CabinetTest) -> Option<(f64, f64)> {
    let (from, to) = match test.kind {
        TestKind::HeatCool { on_s, off_s } => (on_s, off_s),
        TestKind::Hold { .. } => {
            // The controller's own cycles fall and rise too, but all of them alike.
            let usual = cycles(&test.air).map_or(0.0, |c| c.swing_k);
            return dip(test, f64::NEG_INFINITY, f64::INFINITY, 4.0 + 1.5 * usual);
        }
        TestKind::Decay => return None,
        TestKind::Pan { in_s, out_s, .. } | TestKind::Cloths { in_s, out_s, .. } => {
            // The first minutes are the door that was opened to put them in.
            return dip(test, in_s + 900.0, out_s, 8.0);
        }
    };
    dip(test, from, to, 1.5)
}

fn dip(test: &CabinetTest, from: f64, to: f64, least_k: f64) -> Option<(f64, f64)> {
    let part: Vec<&AirReading> = test.between(from, to).collect();
    let mut crest: Option<&AirReading> = None;
    let mut trough: Option<&AirReading> = None;
    for r in part {
        let Some(c) = crest else {
            crest = Some(r);
            continue;
        };
        match trough {
            None if r.temperature_c >= c.temperature_c => crest = Some(r),
            None if c.temperature_c - r.temperature_c > least_k => trough = Some(r),
            Some(t) if r.temperature_c < t.temperature_c => trough = Some(r),
            Some(t) if r.temperature_c > t.temperature_c + 0.4 * (c.temperature_c - t.temperature_c) => {
                return Some((c.at_s, c.temperature_c - t.temperature_c));
            }
            _ => {}
        }
    }
    None
}
