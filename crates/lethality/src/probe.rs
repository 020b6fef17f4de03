//! A probe out of the meat reads hot air: finding stretches that are perhaps not in the product.
//!
//! All thresholds here are tool rules (TOOL-08), without an outside source.

use fallrate_series::{Channel, Instant, Log, Reading, Realm, Role, Span, SuspectReason};

use crate::clocks::{Clocks, Reader};
use crate::reason::StripReason;

/// Nearer to the dry bulb than this is "at the dry bulb", K.
pub const AT_DRY_BULB_K: f64 = 1.5;
/// The wet bulb must be at least this far below the dry bulb for a wet product to stand out, K.
pub const LEAST_DEPRESSION_K: f64 = 10.0;
/// A rise of at least this much within [`JUMP_WITHIN_S`] that ends at the dry bulb is a jump, K.
pub const JUMP_K: f64 = 5.0;
/// Longest time of a jump, s.
pub const JUMP_WITHIN_S: f64 = 120.0;
/// At the dry bulb for at least this long is tracking, s.
pub const TRACKING_S: f64 = 600.0;

/// Length of a window looked at for heater cycling, s.
pub const CYCLING_WINDOW_S: f64 = 1200.0;
/// Spacing of the readings compared for heater cycling, s.
pub const CYCLING_STEP_S: f64 = 30.0;
/// Least correlation between the steps of probe and dry bulb.
pub const CYCLING_CORRELATION: f64 = 0.8;
/// Least ratio of the steps of the probe to those of the dry bulb.
pub const CYCLING_RATIO: f64 = 0.5;
/// Least share of the dry bulb's way that goes up, and that goes down: a heater that cycles does both, a warm-up (in
/// which a probe in the product rises with the air as well) does not.
pub const CYCLING_LEAST_RETURN: f64 = 0.25;
/// Least root-mean-square step of the dry bulb that is a heater cycling, K.
pub const CYCLING_LEAST_STEP_K: f64 = 0.3;

/// Stretches in which a probe jumps to the dry bulb, tracks it or follows the heater's cycling while the wet bulb is far
/// below. Only before the drying stage: a dry product may well reach the dry bulb. Empty where dry or wet bulb are not
/// recorded.
///
/// Where clocks may be shifted, what is found at one shift is found. Looked at are the ends and steps of half the usual
/// wait between two readings, at most [`SHIFTS`] of them (TOOL-08, TOOL-20).
pub(crate) fn spans_perhaps_not_in_product<R: Realm>(
    log: &Log<R>,
    probe: &Channel<R>,
    drying_began: Option<Instant>,
    clocks: &Clocks,
) -> Vec<(Span, StripReason)> {
    let first = |role: Role| log.channels.iter().find(|c| c.role == role);
    let (Some(dry), Some(wet)) = (first(Role::AirDryBulb), first(Role::AirWetBulb)) else {
        return Vec::new();
    };
    let clock = |c: &Channel<R>| Reader::of(c.source);
    let apart_s = |c: &Channel<R>| clocks.apart_s(clock(probe), clock(c));
    let together = clocks.apart_s(clock(dry), clock(wet)) == 0.0;
    if together && !ever_dry(dry.readings(), wet.readings()) {
        return Vec::new();
    }
    let drying_began =
        drying_began.map(|d| d.plus_seconds(clocks.apart_s(Reader::Stated, clock(probe)).min(LONG_S)));
    let before = |r: &&Reading| drying_began.is_none_or(|d| r.at < d);
    let until_drying = probe.readings().iter().take_while(before);
    let counted: Vec<Reading> = until_drying.filter(|r| r.quality.counts()).copied().collect();
    let mut out = Vec::new();
    for d in shifts(dry.readings(), apart_s(dry)) {
        let of_wet = if together { vec![d] } else { shifts(wet.readings(), apart_s(wet)) };
        for w in of_wet {
            let (dry, wet) = (Follow::moved(dry.readings(), d), Follow::moved(wet.readings(), w));
            out.extend(looked_for(&counted, &dry, &wet));
        }
    }
    out.sort_by_key(|(s, _)| s.from());
    joined(out)
}

/// Whether the wet bulb is ever far enough below the dry bulb: both change only at their own readings.
fn ever_dry(dry: &[Reading], wet: &[Reading]) -> bool {
    let far = |at: &[Reading]| {
        let (mut dry, mut wet) = (Follow::new(dry), Follow::new(wet));
        at.iter()
            .any(|r| dry.at(r.at).zip(wet.at(r.at)).is_some_and(|(db, wb)| db - wb >= LEAST_DEPRESSION_K))
    };
    far(dry) || far(wet)
}

/// Most shifts of one clock that are looked at.
pub const SHIFTS: usize = 41;
/// Longer than any record, s.
const LONG_S: f64 = 1e8;

/// The shifts looked at, s: 0 alone where the clocks are one or their shift is not known (then nothing is judged).
fn shifts(readings: &[Reading], apart_s: f64) -> Vec<f64> {
    if apart_s <= 0.0 || !apart_s.is_finite() {
        return vec![0.0];
    }
    let mut waits: Vec<f64> =
        readings.iter().zip(readings.iter().skip(1)).map(|(a, b)| b.at.seconds_since(a.at)).collect();
    waits.sort_by(f64::total_cmp);
    let usual = waits.get(waits.len() / 2).copied().unwrap_or(0.0);
    let least = 2.0 * apart_s / (SHIFTS - 1) as f64;
    let step = (usual / 2.0).max(least);
    let mut out = vec![0.0, -apart_s, apart_s];
    let mut at = step;
    while at < apart_s {
        out.extend([-at, at]);
        at += step;
    }
    out
}

/// Stretches found by one placing of the bulbs against the probe, in the order of their beginning.
fn looked_for(counted: &[Reading], dry: &Follow<'_>, wet: &Follow<'_>) -> Vec<(Span, StripReason)> {
    let mut out = at_dry_bulb(counted, dry.clone(), wet.clone());
    out.extend(cycling(counted, dry.clone(), wet.clone()));
    out.sort_by_key(|(s, _)| s.from());
    out
}

/// Stretches at the dry bulb that began with a jump or last long.
fn at_dry_bulb(counted: &[Reading], mut dry: Follow<'_>, mut wet: Follow<'_>) -> Vec<(Span, StripReason)> {
    let mut out = Vec::new();
    let mut at_dry: Option<Stretch> = None;
    let mut earliest = 0;
    for r in counted {
        let near = match (dry.at(r.at), wet.at(r.at)) {
            (Some(db), Some(wb)) => (r.value - db).abs() <= AT_DRY_BULB_K && db - wb >= LEAST_DEPRESSION_K,
            _ => false,
        };
        while counted.get(earliest).is_some_and(|e| r.at.seconds_since(e.at) > JUMP_WITHIN_S) {
            earliest += 1;
        }
        match (near, at_dry.take()) {
            (true, Some(s)) => at_dry = Some(Stretch { to: r.at, ..s }),
            (true, None) => {
                let before = counted.iter().skip(earliest).take_while(|e| e.at < r.at);
                let jumped = before.into_iter().any(|e| r.value - e.value >= JUMP_K);
                at_dry = Some(Stretch { from: r.at, to: r.at, jumped });
            }
            (false, Some(s)) => out.extend(s.finish()),
            (false, None) => {}
        }
    }
    out.extend(at_dry.and_then(|s| s.finish()));
    out
}

/// Overlapping spans made one, so that they can be walked in order.
fn joined(spans: Vec<(Span, StripReason)>) -> Vec<(Span, StripReason)> {
    let mut out: Vec<(Span, StripReason)> = Vec::with_capacity(spans.len());
    for (span, reason) in spans {
        match out.last_mut() {
            Some((last, _)) if span.from() <= last.to() => {
                *last = Span::new(last.from(), last.to().max(span.to())).unwrap_or(*last);
            }
            _ => out.push((span, reason)),
        }
    }
    out
}

/// Windows in which the steps of the probe follow those of the dry bulb.
fn cycling(counted: &[Reading], mut dry: Follow<'_>, mut wet: Follow<'_>) -> Vec<(Span, StripReason)> {
    let mut window: Vec<(Instant, f64, f64)> = Vec::new();
    let mut out = Vec::new();
    for r in counted {
        if window.last().is_some_and(|l| r.at.seconds_since(l.0) < CYCLING_STEP_S) {
            continue;
        }
        match (dry.at(r.at), wet.at(r.at)) {
            (Some(db), Some(wb)) if db - wb >= LEAST_DEPRESSION_K => window.push((r.at, r.value, db)),
            _ => window.clear(),
        }
        let (Some(a), Some(b)) = (window.first(), window.last()) else { continue };
        if b.0.seconds_since(a.0) < CYCLING_WINDOW_S {
            continue;
        }
        if follows(&window) {
            let span = Span::new(a.0, b.0).ok();
            out.extend(span.map(|s| (s, StripReason::Suspect(SuspectReason::PerhapsNotInProduct))));
        }
        // The next window begins where this one ends.
        window.drain(..window.len() - 1);
    }
    out
}

/// Whether the steps of the probe follow those of the dry bulb in size and direction.
fn follows(window: &[(Instant, f64, f64)]) -> bool {
    let steps: Vec<(f64, f64)> =
        window.iter().zip(window.iter().skip(1)).map(|(a, b)| (b.1 - a.1, b.2 - a.2)).collect();
    let n = steps.len() as f64;
    let (pp, aa, pa) =
        steps.iter().fold((0.0, 0.0, 0.0), |(pp, aa, pa), (p, a)| (pp + p * p, aa + a * a, pa + p * a));
    let (up, down) =
        steps.iter().fold((0.0, 0.0), |(up, down), (_, a)| (up + a.max(0.0), down + (-a).max(0.0)));
    n >= 8.0
        && f64::min(up, down) >= CYCLING_LEAST_RETURN * (up + down)
        && (aa / n).sqrt() >= CYCLING_LEAST_STEP_K
        && (pp / aa).sqrt() >= CYCLING_RATIO
        && pa >= CYCLING_CORRELATION * (pp * aa).sqrt()
}

struct Stretch {
    from: Instant,
    to: Instant,
    jumped: bool,
}

impl Stretch {
    fn finish(&self) -> Option<(Span, StripReason)> {
        let long = self.to.seconds_since(self.from) >= TRACKING_S;
        let span = Span::lasting(self.from, self.to.seconds_since(self.from));
        (self.jumped || long).then_some((span, StripReason::Suspect(SuspectReason::PerhapsNotInProduct)))
    }
}

/// A reading older than this is not the latest one any more, s.
pub(crate) const LATEST_WITHIN_S: f64 = 300.0;

/// The latest reading that counts, not older than five minutes, walking forward.
#[derive(Clone)]
pub(crate) struct Follow<'a> {
    readings: &'a [Reading],
    next: usize,
    shift_s: f64,
}

impl<'a> Follow<'a> {
    pub(crate) const fn new(readings: &'a [Reading]) -> Self {
        Self::moved(readings, 0.0)
    }
    /// The readings moved by so many seconds.
    pub(crate) const fn moved(readings: &'a [Reading], shift_s: f64) -> Self {
        Self { readings, next: 0, shift_s }
    }
    pub(crate) fn at(&mut self, at: Instant) -> Option<f64> {
        let at = if self.shift_s == 0.0 { at } else { at.plus_seconds(-self.shift_s) };
        while self.readings.get(self.next).is_some_and(|r| r.at <= at) {
            self.next += 1;
        }
        let r = self.next.checked_sub(1).and_then(|i| self.readings.get(i))?;
        (r.quality.counts() && at.seconds_since(r.at) <= LATEST_WITHIN_S).then_some(r.value)
    }
}
