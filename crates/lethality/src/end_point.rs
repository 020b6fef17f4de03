//! The end of drying: moisture from weights, water-activity results, and what sampling can miss.

use fallrate_series::{Channel, Instant, Log, Realm, Role};
use fallrate_units::{Mass, MoistureWetBasis};
use serde::{Deserialize, Serialize};

use crate::{Answer, LethalityError, LimitClass};

/// A moisture content with its bounds.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MoistureEstimate {
    /// Best value.
    pub best: MoistureWetBasis,
    /// Driest it can be.
    pub least: MoistureWetBasis,
    /// Wettest it can be.
    pub most: MoistureWetBasis,
}

/// Returns the moisture (wet basis) of a tray from its weight now: w = 1 - m0 (1 - w0) / m.
///
/// m0 and w0 are weight and moisture at loading, m the weight now, each with its uncertainty either way; only solids
/// stay. Bounds take every uncertainty against and for the product. A weight below that of the solids gives 0.
///
/// # Errors
/// [`LethalityError::OutOfRange`] for weights not above 0, moistures outside 0 to 99.9 % or negative uncertainties.
///
/// ```
/// use fallrate_lethality::moisture_from_weights;
/// use fallrate_units::{Mass, MoistureWetBasis};
/// let kg = Mass::from_kilograms;
/// let wb = MoistureWetBasis::from_percent;
/// // 40 kg at 86 % water hold 5.6 kg of solids; at 7 kg the tray holds 20 % water.
/// let m = moisture_from_weights((kg(40.0), kg(0.0)), (wb(86.0), wb(1.0)), (kg(7.0), kg(0.0)))?;
/// assert!((m.best.percent() - 20.0).abs() < 1e-9);
/// assert!(m.least < m.best && m.best < m.most);
/// # Ok::<(), fallrate_lethality::LethalityError>(())
/// ```
pub fn moisture_from_weights(
    loaded: (Mass, Mass),
    moisture_at_loading: (MoistureWetBasis, MoistureWetBasis),
    now: (Mass, Mass),
) -> Result<MoistureEstimate, LethalityError> {
    let mass = |what, m: Mass| LethalityError::within(what, m.kilograms(), "kg", 1e-6..=1e5, "above 0 kg");
    let give = |what, v: f64| LethalityError::within(what, v, "", 0.0..=1e5, "0 or more");
    let (m0, m) = (mass("weight at loading", loaded.0)?, mass("weight now", now.0)?);
    let w0 = moisture_at_loading.0.kg_per_kg();
    LethalityError::within("moisture at loading, wet basis", w0 * 100.0, "%", 0.0..=99.9, "0 to 99.9 %")?;
    let (dm0, dm) = (
        give("uncertainty of a weight", loaded.1.kilograms())?,
        give("uncertainty of a weight", now.1.kilograms())?,
    );
    let dw = give("uncertainty of the moisture", moisture_at_loading.1.kg_per_kg())?;
    let moisture = |m0: f64, w0: f64, m: f64| {
        let solids = m0 * (1.0 - w0.clamp(0.0, 1.0));
        MoistureWetBasis::from_kg_per_kg(if m > 0.0 { (1.0 - solids / m).clamp(0.0, 1.0) } else { 0.0 })
    };
    Ok(MoistureEstimate {
        best: moisture(m0, w0, m),
        least: moisture(m0 + dm0, w0 - dw, m - dm),
        most: moisture(m0 - dm0, w0 + dw, m + dm),
    })
}

impl MoistureEstimate {
    /// Whether a highest moisture is kept: met where even the wettest bound keeps it, not met where even the driest does
    /// not.
    #[must_use]
    pub fn judge_at_most(&self, target: MoistureWetBasis) -> Answer {
        let keeps = |m: MoistureWetBasis| m.kg_per_kg() <= target.kg_per_kg() + 1e-12;
        Answer::from_bounds(keeps(self.most), keeps(self.least))
    }
}

/// One water-activity result of a laboratory or bench meter.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct WaterActivityResult {
    /// Water activity.
    pub water_activity: f64,
    /// Tolerance of the meter; `None` where unknown.
    pub tolerance: Option<f64>,
}

/// Whether every result, plus its tolerance, keeps a highest water activity. The worst result decides; none are averaged.
/// No result, or an unknown tolerance among results that would pass, cannot be judged.
#[must_use]
pub fn judge_water_activity(results: &[WaterActivityResult], at_most: f64) -> Answer {
    let one = |r: &WaterActivityResult| match r.tolerance {
        _ if !r.water_activity.is_finite() => Answer::CannotBeJudged,
        Some(t) => Answer::from_bounds(
            r.water_activity + t <= at_most + 1e-9,
            r.water_activity + t <= at_most + 1e-9,
        ),
        None if r.water_activity > at_most + 1e-9 => Answer::NotMet,
        None => Answer::CannotBeJudged,
    };
    Answer::all(results.iter().map(one)).unwrap_or(Answer::CannotBeJudged)
}

/// Returns the probability that `samples` pieces taken at random all miss the wet ones, where a share of the pieces is
/// wet: (1 - share)^samples. A large lot; pieces drawn independently.
///
/// # Errors
/// [`LethalityError::OutOfRange`] for a share outside 0 to 1.
///
/// ```
/// // Ten samples miss a lot with 5 % wet pieces six times in ten.
/// let p = fallrate_lethality::chance_of_missing(0.05, 10)?;
/// assert!((p - 0.5987).abs() < 1e-4);
/// # Ok::<(), fallrate_lethality::LethalityError>(())
/// ```
pub fn chance_of_missing(wet_share: f64, samples: u32) -> Result<f64, LethalityError> {
    let share = LethalityError::within("share of wet pieces", wet_share, "", 0.0..=1.0, "0 to 1")?;
    Ok((1.0 - share).powf(f64::from(samples)))
}

/// What a plan asks of the end of drying, by weight: a highest moisture of every weighed tray.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct EndPointClaim {
    /// Moisture at loading, per cent wet basis.
    pub loaded_percent_wet_basis: f64,
    /// How well that is known, either way, points of per cent.
    pub loaded_within_percent: f64,
    /// Highest moisture, per cent wet basis.
    pub at_most_percent_wet_basis: f64,
    /// Tolerance of a weight where the scale names none, kg.
    pub weight_within_kg: Option<f64>,
    /// Class; moisture is quality unless the plan says otherwise.
    pub class: LimitClass,
}

/// The end point of one weighed tray.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TrayEndPoint {
    /// Number of the tray.
    pub tray: u16,
    /// First and last net weight that count, kg, each with its time; `None` where there are not two.
    pub weights_kg: Option<((Instant, f64), (Instant, f64))>,
    /// Moisture at the last weighing; `None` where it cannot be said.
    pub moisture: Option<MoistureEstimate>,
    /// Met: at or below the target, even at the wettest it can be.
    pub answer: Answer,
}

/// Every weighed tray against the plan's moisture, by its first and last net weight that count. A scale without a stated
/// tolerance, or a tray with fewer than two weights, cannot be judged.
///
/// # Errors
/// [`LethalityError::OutOfRange`] for a claim outside 0 to 99.9 %, negative tolerances, weights not above 0.
pub fn judge_end_point<R: Realm>(
    log: &Log<R>,
    claim: &EndPointClaim,
) -> Result<Vec<TrayEndPoint>, LethalityError> {
    let target = claim.at_most_percent_wet_basis;
    LethalityError::within("target moisture, wet basis", target, "%", 0.0..=99.9, "0 to 99.9 %")?;
    let mut out = Vec::new();
    for channel in &log.channels {
        if let Role::TrayWeight { tray } = channel.role {
            out.push(tray_end_point(tray, channel, claim)?);
        }
    }
    out.sort_by_key(|t: &TrayEndPoint| t.tray);
    Ok(out)
}

fn tray_end_point<R: Realm>(
    tray: u16,
    channel: &Channel<R>,
    claim: &EndPointClaim,
) -> Result<TrayEndPoint, LethalityError> {
    let mut counted = channel.readings().iter().filter(|r| r.quality.counts()).map(|r| (r.at, r.value));
    let weights_kg = counted.next().and_then(|first| counted.next_back().map(|last| (first, last)));
    let within = channel.tolerance().or(claim.weight_within_kg);
    let moisture = match (weights_kg, within) {
        (Some((first, last)), Some(within)) => {
            let kg = |v: f64| (Mass::from_kilograms(v), Mass::from_kilograms(within));
            let percent = MoistureWetBasis::from_percent;
            let loaded = (percent(claim.loaded_percent_wet_basis), percent(claim.loaded_within_percent));
            Some(moisture_from_weights(kg(first.1), loaded, kg(last.1))?)
        }
        _ => None,
    };
    let target = MoistureWetBasis::from_percent(claim.at_most_percent_wet_basis);
    let answer = moisture.map_or(Answer::CannotBeJudged, |m| m.judge_at_most(target));
    Ok(TrayEndPoint { tray, weights_kg, moisture, answer })
}
