//! What the model says where something was read, and how a reading can differ from it although both are right.

use fallrate_plan::sweep::{Fineness, steadied};
use fallrate_simulate::{Batch, PieceSample, Sample, SimulateError};

use crate::course::{Case, Standing, Track};
use crate::reading::{Along, Measured, Place, Reading};

/// The model's value for a reading, in the unit that is compared, with the measures of how a single place can differ.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Predicted {
    /// The value.
    pub value: f64,
    /// For a tray: what it has lost so far, kg. For a core or a wet bulb: how far it is below the dry bulb, K.
    pub away: f64,
    /// How fast it changes, in its unit a second; 0 for weights.
    pub rate: f64,
}

/// The change is taken over this time before the reading, s.
const RATE_OVER_S: f64 = 240.0;

/// A batch of the plan under these standard normal draws of its uncertain inputs.
pub(crate) fn drawn(case: &Case<'_>, z: &[f64]) -> Batch {
    let setup = &case.assembled.setup;
    let mut batch = setup.batch.clone();
    for (spread, z) in setup.spreads.iter().zip(z) {
        spread.apply(&mut batch, *z);
    }
    batch
}

/// That batch on the grid it is followed on, its on/off heater steadied, with the interruptions met.
pub(crate) fn followed(track: &Track<'_>, z: &[f64], fineness: &Fineness) -> Batch {
    track.batch(&steadied(&drawn(&track.case, z), fineness))
}

/// Walks a draw to now and says what it predicts for every reading; samples at the readings' times and at `more`.
pub(crate) fn walk(
    track: &Track<'_>,
    z: &[f64],
    readings: &[Reading],
    more: &[f64],
    fineness: &Fineness,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<(Standing, Vec<Predicted>), SimulateError> {
    let batch = followed(track, z, fineness);
    let before = readings.iter().filter(|r| !is_weight(r)).map(|r| (r.at_s - RATE_OVER_S).max(0.0));
    let mut times: Vec<f64> =
        readings.iter().map(|r| r.at_s).chain(before).chain(more.iter().copied()).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let mut standing = track.walk(&batch, fineness, &times, progress)?;
    let predicted = readings.iter().map(|r| predict(track, &batch, &standing.samples, r)).collect();
    // Only the last state is asked for its pieces again; hundreds of draws are kept.
    let last = standing.samples.len().saturating_sub(1);
    standing.samples.iter_mut().take(last).for_each(|s| s.pieces = Vec::new());
    Ok((standing, predicted))
}

fn is_weight(r: &Reading) -> bool {
    matches!(r.measured, Measured::TrayGross { .. })
}

fn predict(track: &Track<'_>, batch: &Batch, samples: &[Sample], r: &Reading) -> Predicted {
    if let Measured::TrayGross { tray, .. } = r.measured {
        let fresh = batch.load.fresh_kg_per_tray;
        let solids = fresh / (1.0 + batch.material.moisture_initial_dry_basis);
        let value = line(samples, r.at_s, &|s| solids * (1.0 + tray_moisture(track, s, tray)));
        return Predicted { value, away: fresh - value, rate: 0.0 };
    }
    let of = |s: &Sample| match r.measured {
        Measured::RelativeHumidity => s.relative_humidity,
        Measured::WetBulb => s.wet_bulb_c,
        Measured::Core(place) => core_c(track, s, place),
        Measured::AirDryBulb | Measured::TrayGross { .. } => s.chamber_temperature_c,
    };
    let value = line(samples, r.at_s, &of);
    let before_s = (r.at_s - RATE_OVER_S).max(0.0);
    let rate =
        if r.at_s > before_s { (value - line(samples, before_s, &of)) / (r.at_s - before_s) } else { 0.0 };
    let away = match r.measured {
        Measured::WetBulb | Measured::Core(_) => line(samples, r.at_s, &|s| s.chamber_temperature_c) - value,
        _ => 0.0,
    };
    Predicted { value, away, rate }
}

/// A value at a time, on the line between the samples around it.
fn line(samples: &[Sample], at_s: f64, f: &dyn Fn(&Sample) -> f64) -> f64 {
    let (a, b, share) = around(samples, at_s);
    let (fa, fb) = (f(a), f(b));
    fa + share * (fb - fa)
}

/// The samples around a time and how far it lies between them. There is at least one: a walk ends with one.
fn around(samples: &[Sample], at_s: f64) -> (&Sample, &Sample, f64) {
    let k = samples.partition_point(|s| s.elapsed_s < at_s).min(samples.len() - 1);
    let (a, b) = (&samples[k.saturating_sub(1)], &samples[k]);
    if b.elapsed_s == at_s || a.elapsed_s >= b.elapsed_s {
        return (b, b, 0.0);
    }
    (a, b, ((at_s - a.elapsed_s) / (b.elapsed_s - a.elapsed_s)).clamp(0.0, 1.0))
}

/// Index, among the loaded groups, of the group a tray's place belongs to.
pub(crate) fn group_of(case: &Case<'_>, tray: u32) -> usize {
    let mut first = 1;
    for (i, n) in case.assembled.trays_by_group.iter().filter(|n| **n > 0).enumerate() {
        if (first..first + n).contains(&tray) {
            return i;
        }
        first += n;
    }
    0
}

fn group<'a>(s: &'a Sample, index: usize) -> impl Iterator<Item = &'a PieceSample> + 'a {
    s.pieces.iter().filter(move |p| p.group == index)
}

fn tray_moisture(track: &Track<'_>, s: &Sample, tray: u32) -> f64 {
    let (x, share) = group(s, group_of(&track.case, tray))
        .fold((0.0, 0.0), |(x, w), p| (x + p.load_share * p.moisture_dry_basis, w + p.load_share));
    x / share
}

fn core_c(track: &Track<'_>, s: &Sample, place: Place) -> f64 {
    match place {
        Place::Coldest => s.core_coldest_c,
        Place::Tray { tray, along } => {
            let own: Vec<f64> = group(s, group_of(&track.case, tray)).map(|p| p.core_c).collect();
            let at = match along {
                Along::Entering => 0,
                Along::Middle => own.len() / 2,
                Along::Leaving => own.len().saturating_sub(1),
            };
            own.get(at).copied().unwrap_or(s.core_coldest_c)
        }
    }
}
