//! What moved the end.

use fallrate_follow::{Deed, Measured, Range, Update};

use super::Followed;
use super::asked::Question;
use crate::batches::StoppedKind;

/// One thing that moved the end.
#[derive(Clone, Debug, PartialEq)]
pub enum Cause {
    /// Trays weigh more (or less) than the forecast has them.
    Trays {
        /// Their numbers.
        numbers: Vec<u32>,
        /// More.
        heavier: bool,
    },
    /// The core is warmer (or colder).
    Core {
        /// Warmer.
        higher: bool,
    },
    /// The wet bulb is higher (or lower).
    WetBulb {
        /// Higher.
        higher: bool,
    },
    /// The humidity is higher (or lower).
    Humidity {
        /// Higher.
        higher: bool,
    },
    /// The air is warmer (or colder).
    Air {
        /// Warmer.
        higher: bool,
    },
    /// The run was interrupted.
    Stopped {
        /// By what.
        kind: StoppedKind,
        /// For so long in all, s.
        seconds: f64,
    },
    /// Something was done at another time than the plan had it, or set otherwise.
    Done,
    /// An act whose time has come is not done: the longer it waits, the later it ends.
    Overdue,
    /// An entry was taken back or corrected.
    TakenBack,
}

/// How the end moved, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Moved {
    /// The end before, s from the start.
    pub was: Range,
    /// Whether that was the forecast made before the run.
    pub was_plan: bool,
    /// The causes, the one that moved it most first.
    pub causes: Vec<Cause>,
}

/// A reading counts as a cause where it moved the end by this share of what the one that moved it most did.
const TELLING: f64 = 0.35;

/// `overdue`: an act whose time by the plan has come is not done.
pub(super) fn moved(
    q: &Question,
    update: &Update,
    earlier: Option<&Followed>,
    (was, overdue): (Range, bool),
) -> Moved {
    let old = earlier.map(|e| &e.question);
    let mut causes = stops(q, old);
    let shift = update.end.power_off_s.middle - was.middle;
    causes.extend(readings(q, update, old, shift));
    let taken_back = old.is_some_and(|o| lost(o, q));
    let done = old.map_or_else(|| q.done.iter().any(|d| d.at_s > 0.0), |o| o.done != q.done);
    causes.extend(match (causes.is_empty(), taken_back, done) {
        (true, true, _) => Some(Cause::TakenBack),
        (true, false, true) => Some(Cause::Done),
        (true, false, false) if overdue && shift > 0.0 => Some(Cause::Overdue),
        _ => None,
    });
    Moved { was, was_plan: earlier.is_none(), causes }
}

/// Whether something that was known before is not any more.
fn lost(old: &Question, q: &Question) -> bool {
    old.readings.iter().any(|r| !q.readings.contains(r))
        || old
            .interrupted
            .iter()
            .any(|i| q.interrupted.iter().all(|n| n.from_s != i.from_s || n.kind != i.kind))
}

/// Interruptions that are new or that changed.
fn stops(q: &Question, old: Option<&Question>) -> Vec<Cause> {
    use fallrate_schedule::InterruptionKind as K;
    let mut list: Vec<(StoppedKind, f64)> = Vec::new();
    for i in q.interrupted.iter().filter(|i| old.is_none_or(|o| !o.interrupted.contains(i))) {
        let kind = match i.kind {
            K::PowerOff => StoppedKind::Power,
            K::DoorOpen => StoppedKind::Door,
            K::FanLost => StoppedKind::Fan,
            _ => StoppedKind::Trays,
        };
        let seconds = i.until_s.map_or(0.0, |u| u - i.from_s);
        match list.iter_mut().find(|l| l.0 == kind && kind != StoppedKind::Trays) {
            Some(l) => l.1 += seconds,
            None => list.push((kind, seconds)),
        }
    }
    list.into_iter().map(|(kind, seconds)| Cause::Stopped { kind, seconds }).collect()
}

/// New readings that moved the end the way it went, the most telling first; those of one kind that say the same as one.
fn readings(q: &Question, update: &Update, old: Option<&Question>, shift: f64) -> Vec<Cause> {
    let is_new = |id: u64| old.is_none_or(|o| o.readings.iter().all(|r| r.id != id));
    let mut fits: Vec<_> = update
        .readings
        .iter()
        .filter(|f| f.used && !f.mistake && is_new(f.id) && f.end_shift_s * shift > 0.0)
        .collect();
    fits.sort_by(|a, b| b.end_shift_s.abs().total_cmp(&a.end_shift_s.abs()));
    let most = fits.first().map_or(0.0, |f| f.end_shift_s.abs());
    let mut causes: Vec<Cause> = Vec::new();
    for f in fits.into_iter().filter(|f| f.end_shift_s.abs() >= TELLING * most) {
        let Some(reading) = q.readings.iter().find(|r| r.id == f.id) else { continue };
        let higher = f.compared > f.before;
        let cause = match reading.measured {
            Measured::TrayGross { tray, .. } => {
                let same = causes.iter_mut().find_map(|c| match c {
                    Cause::Trays { numbers, heavier } if *heavier == higher => Some(numbers),
                    _ => None,
                });
                match same {
                    Some(numbers) => {
                        numbers.extend((!numbers.contains(&tray)).then_some(tray));
                        numbers.sort_unstable();
                        continue;
                    }
                    None => Cause::Trays { numbers: vec![tray], heavier: higher },
                }
            }
            Measured::Core(_) => Cause::Core { higher },
            Measured::WetBulb => Cause::WetBulb { higher },
            Measured::RelativeHumidity => Cause::Humidity { higher },
            Measured::AirDryBulb => Cause::Air { higher },
        };
        if !causes.contains(&cause) {
            causes.push(cause);
        }
    }
    causes
}

/// Whether the countdown was dialled in this question.
pub(super) fn is_dialled(q: &Question) -> bool {
    q.done.iter().any(|d| matches!(d.deed, Deed::Dialled { .. }))
}
