//! Whether forecast bands were honest.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::FitError;
use crate::learn::LearnFault;
use crate::stats::{Share, share_interval};

/// Confidence of the interval of a share.
const CONFIDENCE: f64 = 0.95;
/// Shares whose interval is wider than this say nothing.
const TOO_WIDE_TO_SAY: f64 = 0.5;

/// A forecast of a closed batch with what came of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PastForecast {
    /// Batch.
    pub batch: String,
    /// Product.
    pub product: String,
    /// Cabinet.
    pub cabinet: String,
    /// What was forecast ("end of drying").
    pub quantity: String,
    /// Share of cases that the band was to hold, between 0 and 1.
    pub level: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// What came of it, same unit.
    pub truth: f64,
}

/// What the count says of a band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum CoverageVerdict {
    /// Too few batches to say anything.
    TooFew,
    /// The count agrees with what the band promised.
    Agrees,
    /// The band held the truth less often than it promised: it is too narrow.
    TooNarrow,
    /// The band held the truth more often than it promised: it is too wide.
    TooWide,
}

/// How often the bands of one product in one cabinet held.
#[derive(Clone, Debug, PartialEq)]
pub struct Coverage {
    /// Product.
    pub product: String,
    /// Cabinet.
    pub cabinet: String,
    /// What was forecast.
    pub quantity: String,
    /// What the bands promised.
    pub level: f64,
    /// How often they held, with the exact binomial interval (95 %).
    pub share: Share,
    /// Truths below the band and above it.
    pub missed: (usize, usize),
    /// What to say of it.
    pub verdict: CoverageVerdict,
    /// Factor by which half the width of the bands would have to change to hold what they promised, from the counted misses;
    /// none for too few batches.
    pub width_factor: Option<f64>,
}

/// Counts how often bands held, per product, cabinet, quantity and level, in that order.
///
/// # Errors
/// [`LearnFault::NoBatch`]; [`LearnFault::BadNumber`] for a level that is none, a band with its ends swapped, or a truth that
/// is no number.
pub fn coverage_report(forecasts: &[PastForecast]) -> Result<Vec<Coverage>, FitError> {
    if forecasts.is_empty() {
        return Err(LearnFault::NoBatch.into());
    }
    let mut groups: BTreeMap<(&str, &str, &str, u64), Vec<&PastForecast>> = BTreeMap::new();
    for f in forecasts {
        check(f)?;
        groups.entry((&f.product, &f.cabinet, &f.quantity, f.level.to_bits())).or_default().push(f);
    }
    groups.into_values().map(|own| one(&own)).collect()
}

fn check(f: &PastForecast) -> Result<(), LearnFault> {
    let bad = |what, value, allowed| Err(LearnFault::BadNumber { what, value, allowed, of: f.batch.clone() });
    if !(f.level > 0.0 && f.level < 1.0) {
        return bad("level of a band", f.level, "between 0 and 1");
    }
    if !(f.low < f.high && f.low.is_finite() && f.high.is_finite()) {
        return bad("lower end of a band", f.low, "below its upper end, both finite");
    }
    if !f.truth.is_finite() {
        return bad("what came of a forecast", f.truth, "a finite number");
    }
    Ok(())
}

fn one(own: &[&PastForecast]) -> Result<Coverage, FitError> {
    let Some(first) = own.first() else { return Err(LearnFault::NoBatch.into()) };
    let below = own.iter().filter(|f| f.truth < f.low).count();
    let above = own.iter().filter(|f| f.truth > f.high).count();
    let share = share_interval(own.len() - below - above, own.len(), CONFIDENCE)?;
    let verdict = match () {
        () if share.high < first.level => CoverageVerdict::TooNarrow,
        () if share.low > first.level => CoverageVerdict::TooWide,
        () if share.high - share.low > TOO_WIDE_TO_SAY => CoverageVerdict::TooFew,
        () => CoverageVerdict::Agrees,
    };
    let known = verdict != CoverageVerdict::TooFew;
    Ok(Coverage {
        product: first.product.clone(),
        cabinet: first.cabinet.clone(),
        quantity: first.quantity.clone(),
        level: first.level,
        share,
        missed: (below, above),
        verdict,
        width_factor: known.then(|| width_factor(own, first.level)),
    })
}

/// The distance of the truths from the middle of their bands, over half the width, that the promised share of them keeps.
fn width_factor(own: &[&PastForecast], level: f64) -> f64 {
    let mut off: Vec<f64> =
        own.iter().map(|f| (f.truth - 0.5 * (f.low + f.high)).abs() / (0.5 * (f.high - f.low))).collect();
    off.sort_by(f64::total_cmp);
    #[allow(clippy::cast_precision_loss)]
    let at = level * (off.len() as f64 + 1.0) - 1.0;
    let at = at.clamp(0.0, (off.len() - 1) as f64);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let (low, part) = (at.floor() as usize, at.fract());
    let high = (low + 1).min(off.len() - 1);
    off[low] * (1.0 - part) + off[high] * part
}
