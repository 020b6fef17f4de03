//! One batch followed for every powered time at once: how dry it is at unloading as a function of the timer.

use fallrate_simulate::{
    Batch, ControllerKind, Options, Piece, Run, Sample, SimulateError, StageInput, run, run_from,
};

use crate::curve::Curve;
use crate::setup::{Setup, Unloading};

/// Moistures against the powered time, all in kg/kg dry basis, time in s.
#[derive(Clone, Debug, Default)]
pub struct Sweep {
    /// Mean of the load at power-off.
    pub mean_at_power_off: Curve,
    /// Wettest piece at power-off.
    pub slowest_at_power_off: Curve,
    /// Mean at unloading, after the stand where there is one.
    pub mean_at_unloading: Curve,
    /// Wettest piece at unloading.
    pub slowest_at_unloading: Curve,
    /// Driest piece at unloading.
    pub fastest_at_unloading: Curve,
    /// Energy drawn by power-off, J.
    pub energy_j: Curve,
    /// Samples of the powered run.
    pub samples: Vec<Sample>,
    /// Times at which the stages ended, s.
    pub stage_ends_s: Vec<f64>,
}

impl Sweep {
    /// Moisture of the piece that must meet the target, at unloading.
    #[must_use]
    pub fn at_unloading(&self, piece: Piece) -> &Curve {
        match piece {
            Piece::Mean => &self.mean_at_unloading,
            Piece::Slowest => &self.slowest_at_unloading,
            Piece::Fastest => &self.fastest_at_unloading,
        }
    }

    /// Moisture of that piece at power-off.
    #[must_use]
    pub fn at_power_off(&self, piece: Piece) -> &Curve {
        match piece {
            Piece::Slowest => &self.slowest_at_power_off,
            _ => &self.mean_at_power_off,
        }
    }
}

/// How finely a sweep is computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fineness {
    /// Positions along the air.
    pub positions: usize,
    /// Nodes through a piece.
    pub nodes: usize,
    /// Relative tolerance.
    pub relative_tolerance: f64,
    /// Samples of the powered run.
    pub samples: f64,
    /// Stands followed per sweep.
    pub stands: usize,
}

/// For the plan itself.
pub const FINE: Fineness =
    Fineness { positions: 6, nodes: 15, relative_tolerance: 1e-5, samples: 240.0, stands: 9 };
/// For the draws behind the band: differences to the fine one are measured in docs/validation.
pub const COARSE: Fineness =
    Fineness { positions: 4, nodes: 9, relative_tolerance: 1e-4, samples: 80.0, stands: 5 };

/// A sweep goes on for this multiple of the nominal powered time, so that dials past it are known too.
pub const SWEEP_SPAN: f64 = 2.0;

/// A batch on another grid.
#[must_use]
pub fn regridded(batch: &Batch, fineness: &Fineness) -> Batch {
    let mut b = batch.clone();
    b.load.positions = fineness.positions;
    b.load.nodes = fineness.nodes;
    b
}

/// Proportional gain, 1/K, and integral time, s, of the steady control that stands for an on/off one in [`steadied`]: those of
/// a usual small controller (common practice, no source).
const STEADY_KP_PER_K: f64 = 0.1;
const STEADY_TI_S: f64 = 240.0;
/// Samples of a stage at or above its set point that a relay's mean is taken from at the least: a few switchings.
const LEAST_HELD: usize = 20;

/// A batch on another grid whose on/off heater, if it has one, is replaced by a steady one.
///
/// Each switching of a relay restarts the solver: a run of ten hours costs some fifty times that of a steady heater, and a
/// plan needs hundreds of runs. Searches, sweeps and draws are made with the steady one, sweeps and draws at the temperature
/// that the relay holds on the mean ([`relay_shifts_k`]); the plan's own run, which is what the reader sees, keeps the relay.
/// What it moves the end by is held by a test.
#[must_use]
pub fn steadied(batch: &Batch, fineness: &Fineness) -> Batch {
    let mut b = regridded(batch, fineness);
    if is_on_off(batch) {
        b.chamber.controller.kind =
            ControllerKind::ProportionalIntegral { kp_per_k: STEADY_KP_PER_K, ti_s: STEADY_TI_S };
    }
    b
}

/// The batch's heater is switched on and off.
#[must_use]
pub fn is_on_off(batch: &Batch) -> bool {
    matches!(batch.chamber.controller.kind, ControllerKind::OnOff { .. })
}

/// How far above its set point an on/off heater holds the display on the mean, K, for each stage of a run with evenly spaced
/// samples; within half the relay's band. With little heat to make up for it lies above, with much below. None of it where
/// the stage has no set point or never gets there; empty for a steady heater.
#[must_use]
pub fn relay_shifts_k(batch: &Batch, stages: &[StageInput], run: &Run) -> Vec<f64> {
    let ControllerKind::OnOff { hysteresis_k } = batch.chamber.controller.kind else { return Vec::new() };
    let shift = |(i, stage): (usize, &StageInput)| {
        let Some(set_point) = stage.set_point_c else { return 0.0 };
        let above = |s: &Sample| s.displayed_temperature_c - set_point;
        let inside = run.samples.iter().filter(|s| s.stage == i);
        let held: Vec<f64> = inside.map(above).skip_while(|above| *above < 0.0).collect();
        if held.len() < LEAST_HELD {
            return 0.0;
        }
        #[allow(clippy::cast_precision_loss)]
        let mean = held.iter().sum::<f64>() / held.len() as f64;
        mean.clamp(-0.5 * hysteresis_k, 0.5 * hysteresis_k)
    };
    stages.iter().enumerate().map(shift).collect()
}

/// The setup's stages as a steady heater follows them.
#[must_use]
pub fn steady_stages(setup: &Setup) -> Vec<StageInput> {
    let mut stages = setup.stages.clone();
    for (stage, shift) in stages.iter_mut().zip(&setup.relay_shifts_k) {
        stage.set_point_c = stage.set_point_c.map(|c| c + shift);
    }
    stages
}

/// Follows `batch` (a draw of the setup's) with power on up to `until_s`, and from several powered times around the one
/// that meets the target through the stand to unloading.
///
/// # Errors
/// As [`run`].
pub fn sweep(
    setup: &Setup,
    batch: &Batch,
    until_s: f64,
    fineness: &Fineness,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Sweep, SimulateError> {
    let batch = steadied(batch, fineness);
    let stands = setup.unloading != Unloading::AtOnce;
    let step = until_s / 40.0;
    let options = Options {
        relative_tolerance: fineness.relative_tolerance,
        sample_every_s: Some(until_s / fineness.samples),
        snapshots_at_s: if stands { (8..=40).map(|k| step * f64::from(k)).collect() } else { Vec::new() },
        timer_ends_s: Some(until_s),
        // Curves only; the plan's own run enforces its balances.
        enforce_balances: false,
        ..Options::default()
    };
    let powered = run(&batch, &steady_stages(setup), &options, progress)?;
    sweep_of(setup, &batch, powered, &options, fineness, progress)
}

/// The sweep of a powered run that is there already, of `batch` on the grid it was computed on: where the load stands after
/// power-off, the stands are followed from the run's snapshots.
///
/// # Errors
/// As [`run`].
pub fn sweep_of(
    setup: &Setup,
    batch: &Batch,
    powered: Run,
    options: &Options,
    fineness: &Fineness,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Sweep, SimulateError> {
    let mut s = powered_curves(&powered);
    if setup.unloading != Unloading::AtOnce {
        let rows = follow_stands(setup, batch, &powered, &s, options, fineness, progress)?;
        let at = |f: &dyn Fn(&Sample) -> f64, off: &Curve| unloading_curve(setup, &powered, &rows, f, off);
        s.mean_at_unloading = at(&|e| e.moisture_mean_dry_basis, &s.mean_at_power_off);
        s.slowest_at_unloading = at(&|e| e.moisture_slowest_dry_basis, &s.slowest_at_power_off);
        s.fastest_at_unloading = at(&|e| e.moisture_fastest_dry_basis, &s.fastest_at_unloading);
    }
    s.samples = powered.samples;
    s.stage_ends_s = powered.stage_ends.iter().map(|e| e.sample.elapsed_s).collect();
    Ok(s)
}

fn powered_curves(run: &Run) -> Sweep {
    let pick = |f: &dyn Fn(&Sample) -> f64| {
        Curve::new(&run.samples.iter().map(|e| (e.elapsed_s, f(e))).collect::<Vec<_>>())
    };
    let mean = pick(&|e| e.moisture_mean_dry_basis);
    let slowest = pick(&|e| e.moisture_slowest_dry_basis);
    Sweep {
        mean_at_unloading: mean.clone(),
        slowest_at_unloading: slowest.clone(),
        fastest_at_unloading: pick(&|e| e.moisture_fastest_dry_basis),
        mean_at_power_off: mean,
        slowest_at_power_off: slowest,
        energy_j: pick(&|e| e.heater_j + e.fan_j),
        ..Sweep::default()
    }
}

/// Moisture at unloading against the powered time: what a stand changes is read from the stands that were followed, held
/// beyond the first and the last, and added to the moisture at power-off, which is known far more finely. Where somebody
/// is there at power-off nothing is added.
fn unloading_curve(
    setup: &Setup,
    powered: &Run,
    rows: &[(f64, Sample)],
    moisture: &dyn Fn(&Sample) -> f64,
    at_power_off: &Curve,
) -> Curve {
    // One curve for each time of unloading, from its stands to nothing where the power lasts till then.
    let mut by_unloading: Vec<(f64, Vec<(f64, f64)>)> = Vec::new();
    for (off, e) in rows {
        let out = setup.unloaded_s(*off);
        let change = (*off, moisture(e) - at_power_off.at(*off));
        match by_unloading.last_mut() {
            Some((same, list)) if (*same - out).abs() < 1.0 => list.push(change),
            _ => by_unloading.push((out, vec![change])),
        }
    }
    let curves: Vec<(f64, Curve)> = by_unloading
        .into_iter()
        .map(|(out, mut list)| {
            list.push((out, 0.0));
            (out, Curve::new(&list))
        })
        .collect();
    let points = powered.samples.iter().map(|s| {
        let out = setup.unloaded_s(s.elapsed_s);
        let near = curves.iter().min_by(|a, b| (a.0 - out).abs().total_cmp(&(b.0 - out).abs()));
        // Where no stand was followed for its unloading, the nearest one's serves by the length of the stand.
        let added = match near {
            Some((followed, change)) if out - s.elapsed_s >= 1.0 => change.at(s.elapsed_s + followed - out),
            _ => 0.0,
        };
        (s.elapsed_s, moisture(s) + added)
    });
    Curve::new(&points.collect::<Vec<_>>())
}

/// Changed states at unloading for several power-off times around the batch's own end; those with nobody to wait for are
/// left out.
fn follow_stands(
    setup: &Setup,
    batch: &Batch,
    powered: &Run,
    curves: &Sweep,
    options: &Options,
    fineness: &Fineness,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Vec<(f64, Sample)>, SimulateError> {
    let last = powered.end.elapsed_s;
    let aim = curves
        .at_power_off(setup.target.piece)
        .first_at_or_below(setup.target.moisture_dry_basis)
        .unwrap_or(last);
    // From well before the end to past it: a stand can dry or wet the load.
    let mut wanted: Vec<f64> = Vec::new();
    for k in 0..fineness.stands {
        #[allow(clippy::cast_precision_loss)]
        let share = 0.62 + 0.75 * k as f64 / (fineness.stands - 1) as f64;
        wanted.push(aim * share);
    }
    let quiet = Options {
        sample_every_s: None,
        samples_at_s: Vec::new(),
        snapshots_at_s: Vec::new(),
        timer_ends_s: None,
        ..options.clone()
    };
    let mut rows = Vec::new();
    let mut used = f64::NEG_INFINITY;
    for w in wanted {
        let near = powered
            .snapshots
            .iter()
            .min_by(|a, b| (a.elapsed_s - w).abs().total_cmp(&(b.elapsed_s - w).abs()));
        let Some(snapshot) = near.filter(|s| s.elapsed_s > used) else { continue };
        used = snapshot.elapsed_s;
        let wait = setup.unloaded_s(used) - used;
        if wait < 1.0 {
            continue;
        }
        let stand = run_from(batch, snapshot, &[setup.stand(used, wait)], &quiet, progress)?;
        rows.extend(stand.stage_ends.into_iter().last().map(|e| (used, e.sample)));
    }
    Ok(rows)
}
