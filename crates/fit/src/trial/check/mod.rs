//! Everything that can be wrong with a trial before it is fitted: refused with the reason, or used with a finding.

mod air;
mod numbers;
mod trays;

use crate::trial::{Trial, TrialFault, TrialFinding};

/// A trial that can be fitted, with what had to be left out.
#[derive(Clone, Debug)]
pub struct ReviewedTrial {
    /// What is used.
    pub trial: Trial,
    /// Nothing after this is used, s.
    pub used_to_s: f64,
    /// What was noticed.
    pub findings: Vec<TrialFinding>,
}

/// Fewest weighings of a trial.
const LEAST_WEIGHINGS: usize = 3;

/// Looks through a trial.
///
/// # Errors
/// [`TrialFault`] where it cannot be used or not without danger: wrong units, swapped columns, impossible numbers, weights
/// that rise again and again, no air, too few weighings.
pub fn review_trial(trial: &Trial) -> Result<ReviewedTrial, TrialFault> {
    numbers::check(trial)?;
    trays::check(trial)?;
    let mut findings = Vec::new();
    let mut used = trial.clone();
    let air_to_s = air::review(trial, &mut findings)?;
    for tray in &mut used.trays {
        trays::review(tray, trial, &mut findings)?;
    }
    let last = |t: &Trial| t.trays.iter().flat_map(|t| &t.weighings).map(|w| w.elapsed_s).fold(0.0, f64::max);
    if air_to_s < last(&used) {
        let told = findings.iter().any(|f| matches!(f, TrialFinding::AirProbeOut { .. }));
        if !told {
            findings.push(TrialFinding::AirEndsEarly { trial: trial.name.clone(), at_s: air_to_s });
        }
        used.trays.iter_mut().for_each(|t| t.weighings.retain(|w| w.elapsed_s <= air_to_s));
    }
    used.cores.iter_mut().for_each(|c| c.readings.retain(|r| r.elapsed_s <= air_to_s));
    air::review_cores(&mut used, &mut findings);
    used.trays.retain(|t| t.weighings.len() > 1);
    let found = used.weighings();
    if found < LEAST_WEIGHINGS {
        return Err(TrialFault::TooFewWeighings {
            trial: trial.name.clone(),
            found,
            trays: trial.trays.len(),
            needed: LEAST_WEIGHINGS,
        });
    }
    let last_core = used.cores.iter().flat_map(|c| &c.readings).map(|r| r.elapsed_s).fold(0.0, f64::max);
    Ok(ReviewedTrial { used_to_s: last(&used).max(last_core), trial: used, findings })
}
