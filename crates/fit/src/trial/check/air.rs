//! The air record and the core probes.

use crate::trial::{AirReading, Apparatus, Trial, TrialAir, TrialFault, TrialFinding};

/// The record must begin within this time, s; a gap of the first length is named, of the second refused.
const BEGIN_WITHIN_S: f64 = 600.0;
const GAP_NAMED_S: f64 = 1800.0;
const GAP_REFUSED_S: f64 = 7200.0;
/// A fall of the air temperature of this much within this time is sudden, K, s.
const SUDDEN_K: f64 = 10.0;
const SUDDEN_S: f64 = 600.0;
/// Afterwards it stays lower by this much, K, for this time, s.
const STAYS_K: f64 = 8.0;
const STAYS_S: f64 = 1800.0;
/// Drying that goes on at this share of its rate before needs warm air.
const GOES_ON: f64 = 0.3;
/// A core that rises by this much, K, within this time, s, to within this of the air, K, is out of the product.
const JUMP_K: f64 = 6.0;
const JUMP_S: f64 = 600.0;
const AT_AIR_K: f64 = 2.5;

/// Checks the record and returns up to when the air can be used, s.
pub(super) fn review(trial: &Trial, findings: &mut Vec<TrialFinding>) -> Result<f64, TrialFault> {
    let record = match (&trial.air, &trial.apparatus) {
        (TrialAir::Computed, Apparatus::Tunnel { .. }) => {
            return Err(TrialFault::TunnelWithoutAir { trial: trial.name.clone() });
        }
        (TrialAir::Computed | TrialAir::Held { .. }, _) => return Ok(f64::INFINITY),
        (TrialAir::Recorded(record), _) => record,
    };
    let no_air = |from_s, to_s| TrialFault::NoAir {
        trial: trial.name.clone(),
        from_s,
        to_s,
        within_s: BEGIN_WITHIN_S,
        gap_s: GAP_REFUSED_S,
    };
    let (Some(first), Some(last)) = (record.first(), record.last()) else { return Err(no_air(0.0, 0.0)) };
    if !(first.elapsed_s <= BEGIN_WITHIN_S) {
        return Err(no_air(first.elapsed_s, last.elapsed_s));
    }
    for w in record.windows(2) {
        let (from_s, to_s) = (w[0].elapsed_s, w[1].elapsed_s);
        if !(to_s > from_s) {
            let of = "air record".to_owned();
            return Err(TrialFault::TimesDoNotRise { trial: trial.name.clone(), of, elapsed_s: to_s });
        }
        if to_s - from_s > GAP_REFUSED_S {
            return Err(no_air(from_s, to_s));
        }
        if to_s - from_s > GAP_NAMED_S {
            findings.push(TrialFinding::AirGap { trial: trial.name.clone(), from_s, to_s });
        }
    }
    if let Some((from_s, before_c, after_c)) = probe_out(record, trial) {
        findings.push(TrialFinding::AirProbeOut { trial: trial.name.clone(), from_s, before_c, after_c });
        return Ok(from_s);
    }
    Ok(last.elapsed_s + BEGIN_WITHIN_S)
}

/// A sudden fall of the temperature that stays, while the weights go on falling: its time and the means around it.
fn probe_out(record: &[AirReading], trial: &Trial) -> Option<(f64, f64, f64)> {
    for (i, start) in record.iter().enumerate() {
        let soon = |r: &&AirReading| r.elapsed_s <= start.elapsed_s + SUDDEN_S;
        let fallen = record[i + 1..]
            .iter()
            .take_while(soon)
            .position(|r| r.temperature_c < start.temperature_c - SUDDEN_K);
        let Some(steps) = fallen else { continue };
        let at = i + 1 + steps;
        let from_s = record[at].elapsed_s;
        let mean = |list: &[&AirReading]| {
            #[allow(clippy::cast_precision_loss)]
            let n = list.len() as f64;
            list.iter().map(|r| r.temperature_c).sum::<f64>() / n
        };
        let before: Vec<&AirReading> =
            record[..=i].iter().filter(|r| r.elapsed_s >= start.elapsed_s - STAYS_S).collect();
        let after: Vec<&AirReading> =
            record[at..].iter().take_while(|r| r.elapsed_s <= from_s + STAYS_S).collect();
        let level = mean(&before);
        let stays = after.iter().all(|r| r.temperature_c < level - STAYS_K);
        if stays && goes_on(trial, start.elapsed_s) {
            return Some((start.elapsed_s, level, mean(&after)));
        }
    }
    None
}

/// Whether some tray loses weight after a time at a fair share of its rate before.
fn goes_on(trial: &Trial, at_s: f64) -> bool {
    trial.trays.iter().any(|tray| {
        let rate = |from: &crate::trial::Weighing, to: &crate::trial::Weighing| {
            (from.gross_kg - to.gross_kg) / (to.elapsed_s - from.elapsed_s)
        };
        let split = tray.weighings.partition_point(|w| w.elapsed_s <= at_s);
        let (before, after) = tray.weighings.split_at(split);
        // Not one so soon after that nothing can have changed.
        let later = after.iter().find(|w| w.elapsed_s >= at_s + 0.5 * STAYS_S).or(after.last());
        match (before, later) {
            ([.., a, b], Some(c)) => rate(b, c) > GOES_ON * rate(a, b) && rate(a, b) > 0.0,
            _ => false,
        }
    })
}

/// Cuts the readings of core probes that fell out of the product.
pub(super) fn review_cores(trial: &mut Trial, findings: &mut Vec<TrialFinding>) {
    let air = trial.air.clone();
    let at = |s: f64| match &air {
        TrialAir::Held { temperature_c, .. } => Some(*temperature_c),
        TrialAir::Recorded(record) => {
            let after = record.partition_point(|r| r.elapsed_s <= s);
            record.get(after.saturating_sub(1)).map(|r| r.temperature_c)
        }
        TrialAir::Computed => None,
    };
    for core in &mut trial.cores {
        let jump = core.readings.windows(2).position(|w| {
            let sudden =
                w[1].temperature_c - w[0].temperature_c > JUMP_K && w[1].elapsed_s - w[0].elapsed_s <= JUMP_S;
            let there = at(w[1].elapsed_s).is_some_and(|a| (a - w[1].temperature_c).abs() < AT_AIR_K);
            sudden && there
        });
        if let Some(i) = jump {
            let from_s = core.readings[i + 1].elapsed_s;
            core.readings.truncate(i + 1);
            findings.push(TrialFinding::CoreProbeOut {
                trial: trial.name.clone(),
                probe: core.name.clone(),
                from_s,
            });
        }
    }
}
