//! Measured pairs and what can be wrong with them.

use crate::isotherm::IsothermFault;

/// Temperatures of sorption data, degC.
const TEMPERATURES: (f64, f64) = (-20.0, 120.0);
/// Greatest moisture of any food up to a water activity of 0.85, and up to 0.95, kg/kg dry basis (high-sugar fruit holds
/// about 1 at 0.85 by the class isotherms; twice and more of that is per cent).
const MOST: [(f64, f64); 2] = [(0.85, 2.0), (0.95, 6.0)];
/// Water activity below which no dried food holds more water than its water activity says as a number.
const DRY: f64 = 0.8;
/// Least spread of water activities.
const LEAST_SPREAD: f64 = 0.05;
/// Water activities and temperatures nearer than this are one.
const SAME_ACTIVITY: f64 = 0.02;
const SAME_TEMPERATURE_K: f64 = 1.0;
/// Fewest pairs of anything.
const LEAST_PAIRS: usize = 3;

/// One measured pair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SorptionPair {
    /// Water activity, fraction.
    pub water_activity: f64,
    /// Moisture, kg/kg dry basis.
    pub moisture_dry_basis: f64,
    /// Temperature at which the water activity was read, degC.
    pub temperature_c: f64,
}

/// Standard deviations of a pair; only their ratios matter, the size is estimated from the scatter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SorptionErrors {
    /// Of the moisture, kg/kg dry basis.
    pub moisture_dry_basis: f64,
    /// Of the moisture, as a share of it, beside the former.
    pub moisture_share: f64,
    /// Of the water activity, fraction.
    pub water_activity: f64,
}

impl SorptionErrors {
    pub(crate) fn check(&self) -> Result<(), IsothermFault> {
        let rows = [
            ("standard deviation of the moisture, kg/kg", self.moisture_dry_basis),
            ("standard deviation of the moisture, share", self.moisture_share),
            ("standard deviation of the water activity", self.water_activity),
        ];
        for (what, value) in rows {
            if !(value >= 0.0 && value.is_finite()) {
                return Err(IsothermFault::NoError { what, value });
            }
        }
        if !(self.moisture_dry_basis > 0.0 || self.moisture_share > 0.0) {
            return Err(IsothermFault::NoError { what: rows[0].0, value: self.moisture_dry_basis });
        }
        Ok(())
    }
    /// Of a pair at which the moisture rises with the water activity by `slope`: the error of the water activity carried
    /// over.
    pub(crate) fn of(&self, pair: &SorptionPair, slope: f64) -> f64 {
        let share = self.moisture_share * pair.moisture_dry_basis;
        (self.moisture_dry_basis.powi(2) + share.powi(2) + (self.water_activity * slope).powi(2)).sqrt()
    }
}

/// Looks for everything that makes pairs useless: too few, wrong units, swapped columns, one water activity, moisture that
/// does not rise.
///
/// ```
/// use fallrate_fit::isotherm::{IsothermFault, SorptionPair, check_pairs};
/// let percent = [(11.0, 0.04), (33.0, 0.07), (75.0, 0.18)].map(|(water_activity, moisture_dry_basis)| {
///     SorptionPair { water_activity, moisture_dry_basis, temperature_c: 25.0 }
/// });
/// assert!(matches!(check_pairs(&percent), Err(IsothermFault::ActivityInPercent { .. })));
/// ```
///
/// # Errors
/// [`IsothermFault`] names what is wrong.
pub fn check_pairs(pairs: &[SorptionPair]) -> Result<(), IsothermFault> {
    if pairs.len() < LEAST_PAIRS {
        return Err(IsothermFault::TooFewPairs { found: pairs.len(), needed: LEAST_PAIRS });
    }
    let activity = span(pairs, |p| p.water_activity);
    if activity.0 > 1.0 && activity.1 <= 100.0 {
        return Err(IsothermFault::ActivityInPercent { least: activity.0, greatest: activity.1 });
    }
    values(pairs)?;
    percent(pairs)?;
    swapped(pairs)?;
    if activity.1 - activity.0 < LEAST_SPREAD {
        let (least, greatest) = activity;
        return Err(IsothermFault::OneActivity { least, greatest, needed: LEAST_SPREAD });
    }
    rises(pairs)
}

pub(crate) fn span(pairs: &[SorptionPair], of: impl Fn(&SorptionPair) -> f64) -> (f64, f64) {
    pairs.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
}

fn values(pairs: &[SorptionPair]) -> Result<(), IsothermFault> {
    let (low, high) = TEMPERATURES;
    for (i, p) in pairs.iter().enumerate() {
        let pair = i + 1;
        if !(p.water_activity > 0.0 && p.water_activity < 1.0) {
            return Err(IsothermFault::NoActivity { value: p.water_activity, pair });
        }
        if !(p.moisture_dry_basis > 0.0 && p.moisture_dry_basis.is_finite()) {
            return Err(IsothermFault::NoMoisture { value: p.moisture_dry_basis, pair });
        }
        if !(p.temperature_c >= low && p.temperature_c <= high) {
            return Err(IsothermFault::NoTemperature { value: p.temperature_c, low, high, pair });
        }
    }
    Ok(())
}

fn percent(pairs: &[SorptionPair]) -> Result<(), IsothermFault> {
    for (up_to, most) in MOST {
        let wettest = pairs
            .iter()
            .filter(|p| p.water_activity <= up_to && p.moisture_dry_basis > most)
            .max_by(|a, b| a.moisture_dry_basis.total_cmp(&b.moisture_dry_basis));
        if let Some(p) = wettest {
            return Err(IsothermFault::MoistureInPercent {
                greatest: p.moisture_dry_basis,
                water_activity: p.water_activity,
                most,
            });
        }
    }
    Ok(())
}

/// Swapped where most pairs hold more water than their water activity, and the other reading of the columns is a food's.
fn swapped(pairs: &[SorptionPair]) -> Result<(), IsothermFault> {
    let dry: Vec<&SorptionPair> = pairs.iter().filter(|p| p.water_activity < DRY).collect();
    let above = dry.iter().filter(|p| p.moisture_dry_basis > p.water_activity).count();
    let other = pairs.iter().all(|p| p.moisture_dry_basis < 1.0);
    if other && 2 * above > dry.len() {
        return Err(IsothermFault::SwappedColumns { above, pairs: dry.len() });
    }
    Ok(())
}

/// Kendall's rank correlation at every temperature that has three pairs or more.
fn rises(pairs: &[SorptionPair]) -> Result<(), IsothermFault> {
    for first in pairs {
        let alike: Vec<&SorptionPair> = pairs
            .iter()
            .filter(|p| (p.temperature_c - first.temperature_c).abs() <= SAME_TEMPERATURE_K)
            .collect();
        let (mut sum, mut count) = (0.0, 0.0);
        for (i, a) in alike.iter().enumerate() {
            for b in &alike[i + 1..] {
                let apart = b.water_activity - a.water_activity;
                if apart.abs() > SAME_ACTIVITY {
                    let rise = (b.moisture_dry_basis - a.moisture_dry_basis) * apart;
                    sum += if rise > 0.0 { 1.0 } else { -1.0 };
                    count += 1.0;
                }
            }
        }
        if count >= 3.0 && sum <= 0.0 {
            return Err(IsothermFault::DoesNotRise {
                temperature_c: first.temperature_c,
                rank_correlation: sum / count,
            });
        }
    }
    Ok(())
}

/// How many groups of water activities further apart than 0.02 there are.
pub(crate) fn different_activities(pairs: &[SorptionPair]) -> usize {
    let mut all: Vec<f64> = pairs.iter().map(|p| p.water_activity).collect();
    all.sort_by(f64::total_cmp);
    let mut last = f64::NEG_INFINITY;
    all.into_iter()
        .filter(|&a| {
            let new = a - last > SAME_ACTIVITY;
            if new {
                last = a;
            }
            new
        })
        .count()
}
