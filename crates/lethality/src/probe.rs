//! A probe out of the meat reads hot air: finding stretches that are perhaps not in the product.
//!
//! All thresholds here are tool rules (TOOL-08), without an outside source.

use fallrate_series::{Channel, Instant, Log, Reading, Realm, Role, Span, SuspectReason};

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
/// Least root-mean-square step of the dry bulb that is a heater cycling, K.
pub const CYCLING_LEAST_STEP_K: f64 = 0.3;

/// Stretches in which a probe jumps to the dry bulb, tracks it or follows the heater's cycling while the wet bulb is far
/// below. Only before the drying stage: a dry product may well reach the dry bulb. Empty where dry or wet bulb are not
/// recorded.
#[must_use]
pub fn spans_perhaps_not_in_product<R: Realm>(
    log: &Log<R>,
    probe: &Channel<R>,
    drying_began: Option<Instant>,
) -> Vec<(Span, StripReason)> {
    let first = |role: Role| log.channels.iter().find(|c| c.role == role);
    let (Some(dry), Some(wet)) = (first(Role::AirDryBulb), first(Role::AirWetBulb)) else {
        return Vec::new();
    };
    let (mut dry, mut wet) = (Follow::new(dry.readings()), Follow::new(wet.readings()));
    let mut out = Vec::new();
    let mut at_dry: Option<Stretch> = None;
    let counted: Vec<Reading> = probe.readings().iter().filter(|r| r.quality.counts()).copied().collect();
    let mut earliest = 0;
    for r in &counted {
        if drying_began.is_some_and(|d| r.at >= d) {
            break;
        }
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
    out.extend(cycling(&counted, drying_began, first(Role::AirDryBulb), first(Role::AirWetBulb)));
    out.sort_by_key(|(s, _)| s.from());
    joined(out)
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
fn cycling<R: Realm>(
    counted: &[Reading],
    drying_began: Option<Instant>,
    dry: Option<&Channel<R>>,
    wet: Option<&Channel<R>>,
) -> Vec<(Span, StripReason)> {
    let (Some(dry), Some(wet)) = (dry, wet) else { return Vec::new() };
    let (mut dry, mut wet) = (Follow::new(dry.readings()), Follow::new(wet.readings()));
    let mut window: Vec<(Instant, f64, f64)> = Vec::new();
    let mut out = Vec::new();
    for r in counted.iter().filter(|r| drying_began.is_none_or(|d| r.at < d)) {
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
    n >= 8.0
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
        let span = Span::new(self.from, self.to).ok()?;
        (self.jumped || long).then_some((span, StripReason::Suspect(SuspectReason::PerhapsNotInProduct)))
    }
}

/// The latest reading that counts, not older than five minutes, walking forward.
pub(crate) struct Follow<'a> {
    readings: &'a [Reading],
    next: usize,
}

impl<'a> Follow<'a> {
    pub(crate) const fn new(readings: &'a [Reading]) -> Self {
        Self { readings, next: 0 }
    }
    pub(crate) fn at(&mut self, at: Instant) -> Option<f64> {
        while self.readings.get(self.next).is_some_and(|r| r.at <= at) {
            self.next += 1;
        }
        let r = self.next.checked_sub(1).and_then(|i| self.readings.get(i))?;
        (r.quality.counts() && at.seconds_since(r.at) <= 300.0).then_some(r.value)
    }
}
