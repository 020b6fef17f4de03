//! The question that a run's entries put to the estimation.

use fallrate_follow::{Along, Case, Course, Deed, Done, Interrupted, Measured, Place, Reading, Unconfirmed};
use fallrate_schedule::{InterruptionKind, VentSetting};
use fallrate_series::{Instant, Role};

use super::deeds::deeds_of_rows;
use crate::batches::{HandReading, Run, Setting, Stopped, StoppedKind};
use crate::library::Library;
use crate::page::view::View;
use crate::plan_case::Planned;
use crate::words::Reader;

/// A reading that the estimation is given, as it was entered.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingOf {
    /// The estimation's number of it.
    pub id: u64,
    /// As entered.
    pub reading: HandReading,
}

/// An act is overdue so long after the plan's time, s.
const OVERDUE_S: f64 = 300.0;

/// A reading that is not used, and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// Read before the run began.
    BeforeStart,
    /// Of a tray that is not loaded.
    NoSuchTray,
    /// Nothing an instrument says.
    OutOfRange,
}

/// What is known of a run: what was done, what interrupted it, what was read. Two that are equal have the same answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// When the run began.
    pub start: Instant,
    pub(super) done: Vec<Done>,
    pub(super) interrupted: Vec<Interrupted>,
    pub(super) readings: Vec<Reading>,
    /// The readings as entered.
    pub entered: Vec<ReadingOf>,
    /// Numbers of the entries of readings that are not used.
    pub left_out: Vec<(u64, LeftOut)>,
}

pub(super) fn case_of(planned: &Planned) -> Case<'_> {
    Case {
        assembled: &planned.plan.assembled,
        product: &planned.case.product,
        cabinet: &planned.case.cabinet,
    }
}

impl Question {
    /// The question of a run; none before it began, and after the power was noted as off or the run as ended.
    #[must_use]
    pub fn of(run: &Run, planned: &Planned, library: &Library, r: &Reader) -> Option<Self> {
        let start = run.started_at()?;
        let v = View::new(planned, library, r);
        let rows = deeds_of_rows(&v);
        let over = |number: usize| rows.get(number - 1).is_some_and(|row| row.power_off || row.unload);
        if run.ended.is_some() || run.done.iter().any(|d| d.number > 0 && over(d.number)) {
            return None;
        }
        let since = |at: Instant| at.seconds_since(start).max(0.0);
        let mut done: Vec<Done> = run
            .done
            .iter()
            .filter_map(|d| Some((since(d.at), &rows.get(d.number.checked_sub(1)?)?.deeds)))
            .flat_map(|(at_s, deeds)| deeds.iter().map(move |d| Done { at_s, deed: d.clone() }))
            .collect();
        let set = run.settings.iter().map(|s| Done { at_s: since(s.at), deed: deed_of(&s.setting) });
        done.extend(set);
        done.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
        let mut q = Self {
            start,
            done,
            interrupted: run.stopped.iter().flat_map(|s| interrupted(s, planned, &since)).collect(),
            readings: Vec::new(),
            entered: Vec::new(),
            left_out: Vec::new(),
        };
        for reading in &run.readings {
            q.add(reading, planned);
        }
        Some(q)
    }

    fn add(&mut self, r: &HandReading, planned: &Planned) {
        let assembled = &planned.plan.assembled;
        let loaded = assembled.loaded_trays;
        let at_s = r.at.seconds_since(self.start);
        let Some((measured, instrument)) = measured(&r.role, assembled.tare_kg, loaded) else { return };
        let why = if at_s < 0.0 {
            Some(LeftOut::BeforeStart)
        } else if matches!(measured, Measured::TrayGross { tray, .. } if tray == 0 || tray > loaded) {
            Some(LeftOut::NoSuchTray)
        } else if !possible(&measured, r.value) {
            Some(LeftOut::OutOfRange)
        } else {
            None
        };
        if let Some(why) = why {
            self.left_out.push((r.entry, why));
            return;
        }
        let id = r.entry * 64 + self.entered.iter().filter(|e| e.reading.entry == r.entry).count() as u64;
        self.readings.push(Reading { id, at_s, measured, value: r.value, tolerance: None, instrument });
        self.entered.push(ReadingOf { id, reading: r.clone() });
    }

    /// The course up to an instant; an act entered with a time to come counts as of now.
    pub(super) fn course(&self, now: Instant) -> Course {
        let latest = self.done.iter().map(|d| d.at_s).fold(0.0, f64::max);
        let read = self.readings.iter().map(|r| r.at_s).fold(latest, f64::max);
        let begun = self.interrupted.iter().map(|i| i.from_s).fold(read, f64::max);
        Course {
            now_s: now.seconds_since(self.start).max(begun),
            done: self.done.clone(),
            interrupted: self.interrupted.clone(),
            unconfirmed: Unconfirmed::NotDone,
        }
    }

    /// The reading of this number, as it was entered.
    #[must_use]
    pub fn entered(&self, id: u64) -> Option<&HandReading> {
        self.entered.iter().find(|e| e.id == id).map(|e| &e.reading)
    }

    /// Whether a stage of the plan should have begun by now and has not.
    pub(super) fn is_overdue(&self, planned: &Planned, now_s: f64) -> bool {
        let last = self.done.iter().filter_map(|d| match d.deed {
            Deed::Stage(k) => Some(k),
            _ => None,
        });
        let next = last.max().map_or(0, |k| k + 1);
        let begins = next.checked_sub(1).and_then(|k| planned.plan.run.stage_ends.get(k));
        next < planned.plan.assembled.setup.stages.len()
            && begins.is_some_and(|e| e.sample.elapsed_s + OVERDUE_S < now_s)
    }

    /// Whether something still interrupts the run.
    #[must_use]
    pub fn is_stopped(&self) -> bool {
        self.interrupted.iter().any(|i| i.until_s.is_none())
    }
}

fn deed_of(setting: &Setting) -> Deed {
    match setting {
        Setting::Vent(mark) => Deed::Vent(VentSetting::Mark(mark.clone())),
        Setting::SetPoint(c) => Deed::SetPoint(Some(*c)),
        Setting::Dialled(s) => Deed::Dialled { dial_s: *s },
    }
}

/// An interruption as the model has them; trays that nobody named change nothing in it.
fn interrupted(s: &Stopped, planned: &Planned, since: &dyn Fn(Instant) -> f64) -> Vec<Interrupted> {
    let kinds = match s.kind {
        StoppedKind::Power => vec![InterruptionKind::PowerOff],
        StoppedKind::Door => vec![InterruptionKind::DoorOpen],
        StoppedKind::Fan => vec![InterruptionKind::FanLost],
        StoppedKind::Trays => pulled(&s.trays, planned),
    };
    let (from_s, until_s) = (since(s.from), s.until.map(since));
    kinds.into_iter().map(|kind| Interrupted { kind, from_s, until_s }).collect()
}

fn pulled(trays: &[u32], planned: &Planned) -> Vec<InterruptionKind> {
    let mut first = 1;
    let mut list = Vec::new();
    let groups = planned.case.cabinet.groups.iter().zip(&planned.plan.assembled.trays_by_group);
    for (group, loaded) in groups {
        let own = trays.iter().filter(|t| (first..first + loaded).contains(*t)).count();
        if own > 0 {
            let trays = u32::try_from(own).unwrap_or(*loaded).min(*loaded);
            list.push(InterruptionKind::TraysPulled { group: group.name.clone(), trays });
        }
        first += loaded;
    }
    list
}

fn possible(measured: &Measured, value: f64) -> bool {
    let (low, high) = match measured {
        Measured::Core(_) => (-30.0, 150.0),
        Measured::WetBulb => (-30.0, 120.0),
        Measured::RelativeHumidity => (0.0, 1.0),
        Measured::AirDryBulb => (-40.0, 200.0),
        Measured::TrayGross { .. } => (0.0, 500.0),
    };
    value >= low && value <= high
}

/// What was measured, and a number for its instrument: one scale, one thermometer for each place.
fn measured(role: &Role, tare_kg: f64, loaded: u32) -> Option<(Measured, u32)> {
    Some(match role {
        Role::TrayWeight { tray } => (Measured::TrayGross { tray: u32::from(*tray), tare_kg }, 0),
        Role::AirDryBulb => (Measured::AirDryBulb, 1),
        Role::AirWetBulb => (Measured::WetBulb, 2),
        Role::RelativeHumidity => (Measured::RelativeHumidity, 3),
        Role::CoreProbe { position, .. } => {
            let place = place_of(position, loaded);
            let number = match place {
                Place::Coldest => 0,
                Place::Tray { tray, along } => tray * 3 + along as u32,
            };
            (Measured::Core(place), 10 + number)
        }
        _ => return None,
    })
}

/// Where a probe sits, by the words of its place: "tray 8", "8 leaving", "bandeja 3 entrada". Any other words are taken for
/// the piece that is expected to be the coldest, where a probe belongs.
pub(super) fn place_of(words: &str, loaded: u32) -> Place {
    let words = words.to_lowercase();
    let number = words.split(|c: char| !c.is_ascii_digit()).find_map(|n| n.parse::<u32>().ok());
    match number.filter(|n| (1..=loaded).contains(n)) {
        None => Place::Coldest,
        Some(tray) => {
            let has = |list: &[&str]| list.iter().any(|w| words.contains(w));
            let along = if has(&["enter", "entra"]) {
                Along::Entering
            } else if has(&["mid", "medio", "centr"]) {
                Along::Middle
            } else {
                Along::Leaving
            };
            Place::Tray { tray, along }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identity_a_probe_sits_where_its_words_say_or_where_it_is_coldest() {
        let tray = |tray, along| Place::Tray { tray, along };
        assert_eq!(place_of("tray 8", 20), tray(8, Along::Leaving));
        assert_eq!(place_of("Bandeja 3, entrada", 20), tray(3, Along::Entering));
        assert_eq!(place_of("12 middle", 20), tray(12, Along::Middle));
        assert_eq!(place_of("rear right", 20), Place::Coldest);
        assert_eq!(place_of("tray 21", 20), Place::Coldest);
    }
}
