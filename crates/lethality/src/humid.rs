//! What the record shows of steam, shut openings and humidity, each as a line of its own. Kinds of humid minutes are
//! never added together.

use fallrate_air::{humidity_ratio_from_wet_bulb, relative_humidity, saturation_pressure_pa};
use fallrate_series::{Channel, Event, EventKind, Instant, Log, Realm, Role, Span, SuspectReason};

use crate::bulbs::{Judged, samples, with_dry_bulb, yes_no};
use crate::clocks::{Clocks, Reader};
use crate::count::{Curve, Stretch};
use crate::instruments::instrument_gaps;
use crate::reason::{Counted, Missing, StripReason};
use crate::record_line::{Evidence, ShownSeconds};
use crate::table::celsius_from_fahrenheit;
use crate::timeline::{Range, Sample, Timeline};
use crate::track::Window;
use crate::{Answer, BatchFacts};

/// A vent that reads at most this is shut (TOOL-16).
pub const SHUT_OPENING_FRACTION: f64 = 0.01;
/// Least wet bulb of the jerky guideline's advice, degF (OPTION-J-WB).
pub const ADVICE_WET_BULB_F: f64 = 125.0;
/// Least relative humidity of the advice, fraction (OPTION-J-WB).
pub const ADVICE_RH: f64 = 0.27;
/// Oven temperature of the large-piece option, degF (OPTION-N4).
pub const LARGE_PIECE_OVEN_F: f64 = 250.0;
/// Guard against rounding of sums of seconds.
const GUARD_S: f64 = 6e-6;
/// Guard against rounding when a humidity is compared with a limit.
pub(crate) const RH_GUARD: f64 = 1e-9;

/// The record of a run, seen from the humidity options.
pub(crate) struct HumidRecord<'a, R: Realm> {
    pub log: &'a Log<R>,
    pub facts: &'a BatchFacts,
    pub clocks: &'a Clocks,
    pub w: Window,
    /// What is judged, for the calibration of instruments.
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
            (false, _) => {
                let noted = self.noted_events(&EventKind::SteamOn, &EventKind::SteamOff);
                self.states(&channels, on).and(noted, self.clocks)
            }
            (true, Some(e)) => e,
            (true, None) => Evidence::none(self.range(), Missing::SteamRecord),
        }
    }

    /// Minutes with every vent and the door shut.
    pub fn sealed(&self) -> Evidence {
        let shut = |v: f64| yes_no(v <= SHUT_OPENING_FRACTION, StripReason::Shut, StripReason::Open);
        let vents = self.channels(&Role::VentOpening);
        let from_events =
            self.events(&EventKind::VentShut, &EventKind::VentOpened, StripReason::Shut, StripReason::Open);
        let vent = match (vents.is_empty(), from_events) {
            (false, _) => {
                let noted = self.noted_events(&EventKind::VentShut, &EventKind::VentOpened);
                self.states(&vents, shut).and(noted, self.clocks)
            }
            (true, Some(e)) => e,
            (true, None) => Evidence::none(self.range(), Missing::VentRecord),
        };
        vent.and(self.door_shut(), self.clocks)
    }

    fn door_shut(&self) -> Evidence {
        let shut = |v: f64| yes_no(v <= 0.5, StripReason::Shut, StripReason::Open);
        let doors = self.channels(&Role::DoorOpen);
        let mut e = if !doors.is_empty() {
            self.states(&doors, shut)
        } else if self.facts.door_kept_shut.as_ref().is_some_and(|w| !w.trim().is_empty()) {
            Evidence::constant(self.range(), Counted::Yes, StripReason::Shut)
        } else {
            Evidence::none(self.range(), Missing::DoorRecord)
        };
        for ev in self.log.events.iter().filter(|e| e.kind == EventKind::DoorOpen) {
            e = e.and(self.door_event(ev), self.clocks);
        }
        e
    }

    /// Shut but for the time a door was open; from the opening on unknown where its end is not known.
    fn door_event(&self, ev: &Event) -> Evidence {
        let c = if ev.until.is_some() { Counted::No } else { Counted::Unknown };
        let span =
            (self.second(ev.at), ev.until.map_or(self.range().1, |u| self.second(u)), c, StripReason::Open);
        let line = Timeline::from_spans(self.range(), (Counted::Yes, StripReason::Shut), &[span]);
        Evidence::on(Reader::of(ev.source), line)
    }

    /// Seconds of a line from the start to the end of what is judged.
    pub fn seconds(&self, e: &Evidence) -> ShownSeconds {
        let clock = e.clock.unwrap_or(Reader::Stated);
        let slack = self.clocks.apart_s(Reader::Stated, clock);
        let (curve, ends) = (Curve::new(&e.line), self.w.ends(self.log, self.clocks, clock));
        let to_slack = (ends.1 - ends.0) / 2.0;
        let stretch = Stretch { from: 0.0, from_slack: slack, to: ends.0 + to_slack, to_slack };
        let n = curve.seconds(stretch);
        // Where both ends move together the length is known: then what is not shown bounds what is.
        let known = self.w.end_is_stated || (slack == 0.0 && to_slack == 0.0);
        let length = if known { (self.w.end, self.w.end) } else { (0.0, f64::INFINITY) };
        let least = n.yes_least.max(length.0 - n.other_most);
        let most = n.yes_most.min(length.1 - n.no_least).max(least);
        let throughout = Answer::from_bounds(n.other_most <= GUARD_S, n.no_least <= GUARD_S);
        ShownSeconds { yes_s: least, unknown_s: most - least, throughout }
    }

    fn range(&self) -> Range {
        self.w.range()
    }
    fn second(&self, at: Instant) -> f64 {
        at.seconds_since(self.w.t0)
    }

    /// Minutes at or above a relative humidity, less the sensor's tolerance, where that humidity can exist at all.
    pub fn relative_humidity(&self, least: f64) -> Evidence {
        self.rh_shown(least).and(self.can_exist(least), self.clocks)
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
            return Evidence::none(self.range(), Missing::HumidityRecord);
        };
        let Some(p_pa) = self.pressure_pa() else {
            return Evidence::none(self.range(), Missing::AirPressure);
        };
        let mut missing = instrument_gaps(wet, self.span);
        missing.extend(instrument_gaps(dry, self.span));
        if !missing.is_empty() {
            return Evidence::unreliable(self.range(), missing);
        }
        let (wet_tol, dry_tol) = (wet.tolerance().unwrap_or(0.0), dry.tolerance().unwrap_or(0.0));
        let clock = Reader::of(wet.source);
        let apart_s = self.clocks.apart_s(clock, Reader::of(dry.source));
        let s = with_dry_bulb(wet, dry, self.w, apart_s, |twb, t| {
            let (twb, t) = (twb - wet_tol, t + dry_tol);
            let w = humidity_ratio_from_wet_bulb(t, twb, p_pa).max(0.0);
            judge(relative_humidity(t, w, p_pa))
        });
        self.line(clock, &s)
    }

    fn line(&self, clock: Reader, samples: &[Sample]) -> Evidence {
        Evidence::on(clock, Timeline::from_samples(self.range(), self.w.longest_s, samples))
    }

    /// Minutes in which a relative humidity can exist: p / p_sat at the dry bulb, plus its tolerance, reaches it.
    fn can_exist(&self, least: f64) -> Evidence {
        let drys = self.channels(&Role::AirDryBulb);
        if drys.is_empty() {
            return Evidence::none(self.range(), Missing::DryBulbRecord);
        }
        let Some(p_pa) = self.pressure_pa() else {
            return Evidence::none(self.range(), Missing::AirPressure);
        };
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
            return Evidence::none(self.range(), Missing::HumidityRecord);
        }
        let warm = self.at_least(&Role::AirWetBulb, celsius_from_fahrenheit(ADVICE_WET_BULB_F));
        warm.and(self.rh_shown(ADVICE_RH), self.clocks)
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
            return Evidence::none(self.range(), Missing::Record { role: role.clone() });
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
        self.all(channels, |c| {
            let missing = instrument_gaps(c, self.span);
            if !missing.is_empty() {
                return Evidence::unreliable(self.range(), missing);
            }
            self.line(Reader::of(c.source), &f(c, c.tolerance().unwrap_or(0.0)))
        })
    }

    /// State channels have no tolerance and no calibration. A channel that nowhere has two readings within the
    /// monitoring interval is notes: beside a record it shows nothing of its own, but it can contradict (TOOL-22).
    fn states(&self, channels: &[&Channel<R>], f: impl Fn(f64) -> Judged + Copy) -> Evidence {
        let (records, notes): (Vec<_>, Vec<_>) = channels.iter().partition(|c| self.is_record(c));
        let (records, notes) = if records.is_empty() { (notes, records) } else { (records, notes) };
        let shown = self.all(&records, |c| self.line(Reader::of(c.source), &samples(c, self.w, f)));
        notes.iter().fold(shown, |e, c| {
            let said = c.readings().iter().filter(|r| r.quality.counts());
            let said = said.map(|r| (r.at, f(r.value).0 == Counted::Yes)).collect();
            e.and(self.noted(Reader::of(c.source), said), self.clocks)
        })
    }

    fn is_record(&self, c: &Channel<R>) -> bool {
        let pairs = c.readings().iter().zip(c.readings().iter().skip(1));
        pairs.into_iter().any(|(a, b)| b.at.seconds_since(a.at) <= self.w.longest_s)
    }

    /// What notes of events contradict.
    fn noted_events(&self, on: &EventKind, off: &EventKind) -> Evidence {
        let mut notes: Vec<&Event> =
            self.log.events.iter().filter(|e| e.kind == *on || e.kind == *off).collect();
        notes.sort_by_key(|e| e.at);
        let everything = Evidence::constant(self.range(), Counted::Yes, StripReason::WithinLimit);
        let mut by_clock: Vec<(Reader, Vec<(Instant, bool)>)> = Vec::new();
        for e in notes {
            let clock = Reader::of(e.source);
            let said = [(e.at, e.kind == *on)].into_iter().chain(e.until.map(|u| (u, e.kind != *on)));
            match by_clock.iter_mut().find(|(c, _)| *c == clock) {
                Some((_, list)) => list.extend(said),
                None => by_clock.push((clock, said.collect())),
            }
        }
        by_clock.into_iter().fold(everything, |e, (clock, mut said)| {
            said.sort_by_key(|(at, _)| *at);
            e.and(self.noted(clock, said), self.clocks)
        })
    }

    /// From a note that says otherwise to the next that agrees, two sources differ: unknown.
    fn noted(&self, clock: Reader, said: Vec<(Instant, bool)>) -> Evidence {
        let differ = StripReason::Suspect(SuspectReason::SensorsDisagree);
        let (mut spans, mut since) = (Vec::new(), None);
        for (at, holds) in said {
            match (holds, since) {
                (false, None) => since = Some(self.second(at)),
                (true, Some(from)) => {
                    spans.push((from, self.second(at), Counted::Unknown, differ));
                    since = None;
                }
                _ => {}
            }
        }
        spans.extend(since.map(|from| (from, self.range().1, Counted::Unknown, differ)));
        Evidence::on(
            clock,
            Timeline::from_spans(self.range(), (Counted::Yes, StripReason::WithinLimit), &spans),
        )
    }

    /// What all channels show together; nothing where there is none.
    fn all(&self, channels: &[&Channel<R>], one: impl Fn(&Channel<R>) -> Evidence) -> Evidence {
        let nothing = Evidence::constant(self.range(), Counted::Unknown, StripReason::NothingRecorded);
        channels.iter().map(|c| one(c)).reduce(|a, b| a.and(b, self.clocks)).unwrap_or(nothing)
    }

    /// A line from events that begin and end something; `None` where no such event exists. A beginning without an end
    /// is unknown from there on; events on clocks that may be shifted against each other show nothing.
    fn events(&self, on: &EventKind, off: &EventKind, yes: StripReason, no: StripReason) -> Option<Evidence> {
        let mut list: Vec<_> = self.log.events.iter().filter(|e| e.kind == *on || e.kind == *off).collect();
        list.sort_by_key(|e| e.at);
        let first = list.iter().find(|e| e.kind == *on)?;
        let clock = Reader::of(first.source);
        if list.iter().any(|e| self.clocks.apart_s(clock, Reader::of(e.source)) > 0.0) {
            let none = Evidence::constant(self.range(), Counted::Unknown, StripReason::ClocksApart);
            return Some(Evidence { missing: vec![Missing::CloserClocks], ..none });
        }
        let mut spans = Vec::new();
        let mut open: Option<f64> = None;
        for e in list {
            match (e.kind == *on, e.until, open) {
                (true, Some(until), None) => {
                    spans.push((self.second(e.at), self.second(until), Counted::Yes, yes));
                }
                (true, None, None) => open = Some(self.second(e.at)),
                (false, _, Some(from)) => {
                    spans.push((from, self.second(e.at), Counted::Yes, yes));
                    open = None;
                }
                _ => {}
            }
        }
        if let Some(from) = open {
            spans.push((from, self.range().1, Counted::Unknown, StripReason::NothingRecorded));
        }
        Some(Evidence::on(clock, Timeline::from_spans(self.range(), (Counted::No, no), &spans)))
    }
}
