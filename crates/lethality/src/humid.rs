//! What the record shows of steam, shut openings and humidity, each as a line of its own. Kinds of humid minutes are
//! never added together.

use fallrate_air::{humidity_ratio_from_wet_bulb, relative_humidity, saturation_pressure_pa};
use fallrate_series::{Channel, EventKind, Log, Quality, Realm, Role, Span};

use crate::BatchFacts;
use crate::instruments::instrument_gaps;
use crate::reason::{Counted, Missing, StripReason};
use crate::table::celsius_from_fahrenheit;
use crate::timeline::{Sample, Timeline};
use crate::track::Window;

/// A vent that reads at most this is shut (TOOL-16).
pub const SHUT_OPENING_FRACTION: f64 = 0.01;
/// Least wet bulb of the jerky guideline's advice, degF (OPTION-J-WB).
pub const ADVICE_WET_BULB_F: f64 = 125.0;
/// Least relative humidity of the advice, fraction (OPTION-J-WB).
pub const ADVICE_RH: f64 = 0.27;
/// Oven temperature of the large-piece option, degF (OPTION-N4).
pub const LARGE_PIECE_OVEN_F: f64 = 250.0;
/// Guard against rounding when a humidity is compared with a limit.
pub(crate) const RH_GUARD: f64 = 1e-9;

/// A line of the record and what is missing behind it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Evidence {
    pub line: Timeline,
    pub missing: Vec<Missing>,
}

impl Evidence {
    fn none(end: f64, missing: Missing) -> Self {
        let line = Timeline::constant(end, Counted::Unknown, StripReason::NothingRecorded);
        Self { line, missing: vec![missing] }
    }
    fn and(mut self, other: Self) -> Self {
        self.line = self.line.and(&other.line);
        self.missing.extend(other.missing);
        self
    }
}

/// The record of a run, seen from the humidity options.
pub(crate) struct HumidRecord<'a, R: Realm> {
    pub log: &'a Log<R>,
    pub facts: &'a BatchFacts,
    pub w: Window,
    pub span: Span,
}

impl<R: Realm> HumidRecord<'_, R> {
    fn channels(&self, role: &Role) -> Vec<&Channel<R>> {
        self.log.channels.iter().filter(|c| c.role == *role).collect()
    }

    /// Minutes with steam or water going in.
    pub fn steam(&self) -> Evidence {
        let on = |v: f64| yes_no(v > 0.5, StripReason::Humid, StripReason::NotHumid);
        let channels = self.channels(&Role::SteamOn);
        let from_events =
            self.events(&EventKind::SteamOn, &EventKind::SteamOff, StripReason::Humid, StripReason::NotHumid);
        match (channels.is_empty(), from_events) {
            (false, _) => self.states(&channels, on),
            (true, Some(line)) => Evidence { line, missing: Vec::new() },
            (true, None) => Evidence::none(self.w.end, Missing::SteamRecord),
        }
    }

    /// Minutes with every vent and the door shut.
    pub fn sealed(&self) -> Evidence {
        let shut = |v: f64| yes_no(v <= SHUT_OPENING_FRACTION, StripReason::Shut, StripReason::Open);
        let vents = self.channels(&Role::VentOpening);
        let from_events =
            self.events(&EventKind::VentShut, &EventKind::VentOpened, StripReason::Shut, StripReason::Open);
        let vent = match (vents.is_empty(), from_events) {
            (false, _) => self.states(&vents, shut),
            (true, Some(line)) => Evidence { line, missing: Vec::new() },
            (true, None) => Evidence::none(self.w.end, Missing::VentRecord),
        };
        vent.and(self.door_shut())
    }

    fn door_shut(&self) -> Evidence {
        let shut = |v: f64| yes_no(v <= 0.5, StripReason::Shut, StripReason::Open);
        let doors = self.channels(&Role::DoorOpen);
        let mut e = if !doors.is_empty() {
            self.states(&doors, shut)
        } else if self.facts.door_kept_shut.as_ref().is_some_and(|w| !w.trim().is_empty()) {
            let line = Timeline::constant(self.w.end, Counted::Yes, StripReason::Shut);
            Evidence { line, missing: Vec::new() }
        } else {
            Evidence::none(self.w.end, Missing::DoorRecord)
        };
        for ev in self.log.events.iter().filter(|e| e.kind == EventKind::DoorOpen) {
            let from = ev.at.seconds_since(self.w.t0);
            let to = ev.until.map_or(self.w.end, |u| u.seconds_since(self.w.t0));
            let c = if ev.until.is_some() { Counted::No } else { Counted::Unknown };
            e.line = e.line.overlay(from, to, c, StripReason::Open);
        }
        e
    }

    /// Minutes at or above a relative humidity, less the sensor's tolerance, where that humidity can exist at all.
    pub fn relative_humidity(&self, least: f64) -> Evidence {
        self.rh_shown(least).and(self.can_exist(least))
    }

    /// Minutes at or above a relative humidity, from humidity sensors, else from wet and dry bulb.
    fn rh_shown(&self, least: f64) -> Evidence {
        let judge = move |rh: f64| yes_no(rh >= least - RH_GUARD, StripReason::Humid, StripReason::NotHumid);
        let sensors = self.channels(&Role::RelativeHumidity);
        if !sensors.is_empty() {
            return self.every(&sensors, |c, tol| samples(c, self.w, |v| judge(v - tol)));
        }
        let (wets, drys) = (self.channels(&Role::AirWetBulb), self.channels(&Role::AirDryBulb));
        let (Some(wet), Some(dry)) = (wets.first(), drys.first()) else {
            return Evidence::none(self.w.end, Missing::HumidityRecord);
        };
        let Some(p_pa) = self.pressure_pa() else { return Evidence::none(self.w.end, Missing::AirPressure) };
        let mut missing = instrument_gaps(wet, self.span);
        missing.extend(instrument_gaps(dry, self.span));
        if !missing.is_empty() {
            return unreliable(self.w.end, missing);
        }
        let (wet_tol, dry_tol) = (wet.tolerance().unwrap_or(0.0), dry.tolerance().unwrap_or(0.0));
        let s = with_dry_bulb(wet, dry, self.w, |twb, t| {
            let (twb, t) = (twb - wet_tol, t + dry_tol);
            let w = humidity_ratio_from_wet_bulb(t, twb, p_pa).max(0.0);
            judge(relative_humidity(t, w, p_pa))
        });
        Evidence { line: Timeline::from_samples(self.w.end, self.w.longest_s, &s), missing }
    }

    /// Minutes in which a relative humidity can exist: p / p_sat at the dry bulb, plus its tolerance, reaches it.
    fn can_exist(&self, least: f64) -> Evidence {
        let drys = self.channels(&Role::AirDryBulb);
        if drys.is_empty() {
            return Evidence::none(self.w.end, Missing::DryBulbRecord);
        }
        let Some(p_pa) = self.pressure_pa() else { return Evidence::none(self.w.end, Missing::AirPressure) };
        self.every(&drys, |c, tol| {
            samples(c, self.w, |t| {
                let reaches = p_pa / saturation_pressure_pa(t + tol) >= least - RH_GUARD;
                yes_no(reaches, StripReason::Humid, StripReason::HumidityImpossible)
            })
        })
    }

    /// Minutes that show the wet-bulb sign of the advice.
    pub fn wet_bulb_sign(&self) -> Evidence {
        let wets = self.channels(&Role::AirWetBulb);
        if wets.is_empty() {
            return Evidence::none(self.w.end, Missing::HumidityRecord);
        }
        let warm = self.at_least(&Role::AirWetBulb, celsius_from_fahrenheit(ADVICE_WET_BULB_F));
        warm.and(self.rh_shown(ADVICE_RH))
    }

    /// Minutes with the oven at the temperature the large-piece option asks.
    pub fn hot_oven(&self) -> Evidence {
        self.at_least(&Role::AirDryBulb, celsius_from_fahrenheit(LARGE_PIECE_OVEN_F))
    }

    /// Minutes in which every channel of a role, less its tolerance, is at or above a value.
    pub fn at_least(&self, role: &Role, least: f64) -> Evidence {
        self.compared(role, move |v, tol| v - tol >= least - RH_GUARD)
    }

    /// Minutes in which every channel of a role, plus its tolerance, is at or below a value.
    pub fn at_most(&self, role: &Role, most: f64) -> Evidence {
        self.compared(role, move |v, tol| v + tol <= most + RH_GUARD)
    }

    fn compared(&self, role: &Role, holds: impl Fn(f64, f64) -> bool) -> Evidence {
        let channels = self.channels(role);
        if channels.is_empty() {
            return Evidence::none(self.w.end, Missing::Record { role: role.clone() });
        }
        self.every(&channels, |c, tol| {
            samples(c, self.w, |v| yes_no(holds(v, tol), StripReason::WithinLimit, StripReason::OutsideLimit))
        })
    }

    /// Air pressure: as stated, else the lowest that a barometer recorded (TOOL-17).
    fn pressure_pa(&self) -> Option<f64> {
        if let Some(p) = self.facts.air_pressure {
            return Some(p.pascals());
        }
        let barometers = self.channels(&Role::AirPressure);
        let c = barometers.first()?;
        let tol = c.tolerance()?;
        c.readings().iter().filter(|r| r.quality.counts()).map(|r| r.value - tol).reduce(f64::min)
    }

    /// Every channel must show it; each must be reliable.
    fn every(&self, channels: &[&Channel<R>], f: impl Fn(&Channel<R>, f64) -> Vec<Sample>) -> Evidence {
        let one = |c: &&Channel<R>| {
            let missing = instrument_gaps(c, self.span);
            if !missing.is_empty() {
                return unreliable(self.w.end, missing);
            }
            let s = f(c, c.tolerance().unwrap_or(0.0));
            Evidence { line: Timeline::from_samples(self.w.end, self.w.longest_s, &s), missing }
        };
        channels
            .iter()
            .map(one)
            .reduce(Evidence::and)
            .unwrap_or_else(|| Evidence::none(self.w.end, Missing::HumidityRecord))
    }

    /// State channels have no tolerance and no calibration.
    fn states(&self, channels: &[&Channel<R>], f: impl Fn(f64) -> (Counted, StripReason) + Copy) -> Evidence {
        channels
            .iter()
            .map(|c| {
                let s = samples(c, self.w, f);
                let line = Timeline::from_samples(self.w.end, self.w.longest_s, &s);
                Evidence { line, missing: Vec::new() }
            })
            .reduce(Evidence::and)
            .unwrap_or_else(|| Evidence::none(self.w.end, Missing::VentRecord))
    }

    /// A line from events that begin and end something; `None` where no such event exists. A beginning without an end
    /// is unknown from there on.
    fn events(&self, on: &EventKind, off: &EventKind, yes: StripReason, no: StripReason) -> Option<Timeline> {
        let mut list: Vec<_> = self.log.events.iter().filter(|e| e.kind == *on || e.kind == *off).collect();
        list.sort_by_key(|e| e.at);
        list.iter().find(|e| e.kind == *on)?;
        let s = |i: fallrate_series::Instant| i.seconds_since(self.w.t0);
        let mut spans = Vec::new();
        let mut open: Option<f64> = None;
        for e in list {
            match (e.kind == *on, e.until, open) {
                (true, Some(until), None) => spans.push((s(e.at), s(until), Counted::Yes, yes)),
                (true, None, None) => open = Some(s(e.at)),
                (false, _, Some(from)) => {
                    spans.push((from, s(e.at), Counted::Yes, yes));
                    open = None;
                }
                _ => {}
            }
        }
        if let Some(from) = open {
            spans.push((from, self.w.end, Counted::Unknown, StripReason::NothingRecorded));
        }
        Some(Timeline::from_spans(self.w.end, (Counted::No, no), &spans))
    }
}

fn unreliable(end: f64, missing: Vec<Missing>) -> Evidence {
    let reason = match missing.first() {
        Some(Missing::Calibration { .. }) => StripReason::CalibrationNotInDate,
        _ => StripReason::ToleranceUnknown,
    };
    Evidence { line: Timeline::constant(end, Counted::Unknown, reason), missing }
}

const fn yes_no(yes: bool, reason_yes: StripReason, reason_no: StripReason) -> (Counted, StripReason) {
    if yes { (Counted::Yes, reason_yes) } else { (Counted::No, reason_no) }
}

fn samples<R: Realm>(c: &Channel<R>, w: Window, f: impl Fn(f64) -> (Counted, StripReason)) -> Vec<Sample> {
    c.readings()
        .iter()
        .map(|r| {
            let shown = match StripReason::from_quality(r.quality) {
                Some(reason) => Err(reason),
                None => Ok(f(r.value)),
            };
            (r.at.seconds_since(w.t0), shown)
        })
        .collect()
}

/// Samples at the instants of the wet bulb, with the dry bulb on the line between two readings that count and lie
/// within the monitoring interval.
fn with_dry_bulb<R: Realm>(
    wet: &Channel<R>,
    dry: &Channel<R>,
    w: Window,
    f: impl Fn(f64, f64) -> (Counted, StripReason),
) -> Vec<Sample> {
    let d = dry.readings();
    let mut i = 0;
    let mut out = Vec::with_capacity(wet.readings().len());
    for r in wet.readings() {
        while d.get(i + 1).is_some_and(|next| next.at <= r.at) {
            i += 1;
        }
        let t = match (d.get(i), d.get(i + 1)) {
            (Some(a), _) if a.at == r.at => counting(a.quality).map(|()| a.value),
            (Some(a), Some(b)) if a.at < r.at => {
                let wait = b.at.seconds_since(a.at);
                counting(a.quality).and(counting(b.quality)).and_then(|()| {
                    if wait > w.longest_s + 1e-6 {
                        return Err(StripReason::LongerThanMonitoringInterval);
                    }
                    Ok(a.value + (b.value - a.value) * r.at.seconds_since(a.at) / wait)
                })
            }
            _ => Err(StripReason::NothingRecorded),
        };
        let shown = counting(r.quality).and(t).map(|t| f(r.value, t));
        out.push((r.at.seconds_since(w.t0), shown));
    }
    out
}

fn counting(q: Quality) -> Result<(), StripReason> {
    StripReason::from_quality(q).map_or(Ok(()), Err)
}
