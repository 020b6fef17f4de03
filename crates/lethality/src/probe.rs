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

/// Stretches in which a probe jumps to the dry bulb or tracks it while the wet bulb is far below. Only before the
/// drying stage: a dry product may well reach the dry bulb. Empty where dry or wet bulb are not recorded.
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
    out
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
