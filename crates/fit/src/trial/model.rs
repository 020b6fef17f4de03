//! What the drying model says of a trial's readings.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use fallrate_foods::Product;
use fallrate_simulate::{AlongPosition, Sample, SimulateError};

use crate::curve::{DryingCurve, Reading};
use crate::trial::drive::{Stretch, TrialGrid, batch, samples, stretches};
use crate::trial::food::{FoodValues, material};
use crate::trial::{ReviewedTrial, TrialFault, Unknown};
use crate::{Differences, FitError};

/// Runs that are kept so that a step of one trial's unknown does not run the others again.
const KEPT_RUNS: usize = 4096;

/// One trial ready to be run.
#[derive(Debug)]
pub(crate) struct TrialModel {
    pub reviewed: ReviewedTrial,
    stretches: Option<Vec<Stretch>>,
}

/// A trial's own values.
#[derive(Clone, Copy, Debug)]
struct OwnValues {
    food: FoodValues,
    raw_moisture: f64,
    size: f64,
}

/// Curves of a run: moisture (kg/kg dry basis) of every tray, core temperature of every probe, with the initial moisture.
#[derive(Clone, Debug)]
pub(crate) struct TrialCurves {
    pub initial_dry_basis: f64,
    pub trays: Vec<DryingCurve>,
    pub cores: Vec<DryingCurve>,
}

/// What the model says at the readings.
#[derive(Clone, Debug)]
pub(crate) struct Predicted {
    /// Moisture when loaded, kg/kg dry basis.
    pub initial_dry_basis: f64,
    /// Weight over fresh weight at the weighings of every tray.
    pub trays: Vec<Vec<f64>>,
    /// Core temperatures, degC.
    pub cores: Vec<Vec<f64>>,
    /// Where the drying of the first tray begins to fall off.
    pub critical: Option<Critical>,
}

/// Where drying begins to fall off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Critical {
    pub elapsed_s: f64,
    pub moisture_dry_basis: f64,
}

/// The rate has fallen off where it is this share of its greatest.
const FALLEN_OFF: f64 = 0.9;

/// The first time after its greatest rate at which a curve dries at 90 % of it; none where it ends before.
pub(crate) fn critical(curve: &DryingCurve) -> Option<Critical> {
    let r = curve.readings();
    let rate = |i: usize| {
        (r[i].moisture_dry_basis - r[i + 1].moisture_dry_basis) / (r[i + 1].elapsed_s - r[i].elapsed_s)
    };
    let middle = |i: usize| 0.5 * (r[i].elapsed_s + r[i + 1].elapsed_s);
    let greatest = (0..r.len() - 1).max_by(|&a, &b| rate(a).total_cmp(&rate(b)))?;
    let limit = FALLEN_OFF * rate(greatest);
    let after = (greatest..r.len() - 2).find(|&i| rate(i) >= limit && rate(i + 1) < limit)?;
    let share = (rate(after) - limit) / (rate(after) - rate(after + 1));
    let elapsed_s = middle(after) + share * (middle(after + 1) - middle(after));
    Some(Critical { elapsed_s, moisture_dry_basis: curve.moisture_at(elapsed_s) })
}

/// A run: trial, and the bits of the values that it depends on.
type RunKey = (usize, Vec<u64>);

/// All trials with the food they share.
pub(crate) struct Models<'a> {
    pub product: &'a Product,
    pub trials: Vec<TrialModel>,
    pub unknowns: Vec<Unknown>,
    /// Values of what is not fitted.
    pub fixed: FoodValues,
    pub grid: TrialGrid,
    pub differences: Differences,
    go_on: &'a (dyn Fn() -> bool + Sync),
    begin_run: &'a (dyn Fn() -> bool + Sync),
    kept: Mutex<BTreeMap<RunKey, Arc<Predicted>>>,
}

impl<'a> Models<'a> {
    pub fn new(
        product: &'a Product,
        reviewed: Vec<ReviewedTrial>,
        unknowns: Vec<Unknown>,
        fixed: FoodValues,
        grid: TrialGrid,
        differences: Differences,
        (go_on, begin_run): (&'a (dyn Fn() -> bool + Sync), &'a (dyn Fn() -> bool + Sync)),
    ) -> Self {
        let trials = reviewed
            .into_iter()
            .map(|r| TrialModel { stretches: stretches(&r.trial, r.used_to_s), reviewed: r })
            .collect();
        let kept = Mutex::new(BTreeMap::new());
        Self { product, trials, unknowns, fixed, grid, differences, go_on, begin_run, kept }
    }

    /// The same food and ways with other trials and their unknowns.
    pub fn with_trials(&self, reviewed: Vec<ReviewedTrial>, unknowns: Vec<Unknown>) -> Self {
        let ways = (self.go_on, self.begin_run);
        Self::new(self.product, reviewed, unknowns, self.fixed, self.grid, self.differences, ways)
    }

    /// The same once more, sharing nothing that is kept.
    pub fn alike(&self) -> Self {
        let reviewed = self.trials.iter().map(|t| t.reviewed.clone()).collect();
        self.with_trials(reviewed, self.unknowns.clone())
    }

    fn own_values(&self, index: usize, values: &[f64]) -> OwnValues {
        let trial = &self.trials[index].reviewed.trial;
        let mut own =
            OwnValues { food: self.fixed, raw_moisture: trial.preparation.raw_moisture_wet_basis, size: 1.0 };
        for (&unknown, &value) in self.unknowns.iter().zip(values) {
            match unknown {
                Unknown::InitialMoisture { trial } if trial == index => own.raw_moisture = value,
                Unknown::Size { trial } if trial == index => own.size = value,
                _ => {
                    own.food.set(unknown, value);
                }
            }
        }
        own
    }

    /// The curves of a trial at values of the unknowns.
    pub fn curves(&self, index: usize, values: &[f64]) -> Result<TrialCurves, FitError> {
        if !(self.begin_run)() {
            return Err(FitError::Cancelled);
        }
        let TrialModel { reviewed, stretches } = &self.trials[index];
        let trial = &reviewed.trial;
        let own = self.own_values(index, values);
        let material = material(self.product, &own.food, trial, own.raw_moisture, own.size)?;
        let initial_dry_basis = material.moisture_initial_dry_basis;
        let batch = batch(trial, material, own.food.exchange, &self.grid);
        let failed = |source| match source {
            SimulateError::Cancelled { .. } => FitError::Cancelled,
            source => FitError::Simulation { curve: trial.name.clone(), source },
        };
        let run = samples(trial, &batch, stretches.as_deref(), reviewed.used_to_s, &self.grid, self.go_on)
            .map_err(failed)?;
        let at_s = run.last().map_or(0.0, |s| s.elapsed_s);
        if at_s < reviewed.used_to_s - 1.0 {
            let (trial, needed_s) = (trial.name.clone(), reviewed.used_to_s);
            return Err(TrialFault::StagesEndEarly { trial, at_s, needed_s }.into());
        }
        let ends = usize::from(batch.exchange.along_position == AlongPosition::Mean);
        let tray = |t: &crate::trial::TrayRecord| {
            curve(&t.name, &run, |s| mean_over(s, t.group, t.positions, ends, |p| p.moisture_dry_basis))
        };
        let core = |c: &crate::trial::CoreRecord| {
            let at = c.position.map(|p| (p, p));
            curve(&c.name, &run, |s| mean_over(s, c.group, at, ends, |p| p.core_c))
        };
        Ok(TrialCurves {
            initial_dry_basis,
            trays: trial.trays.iter().map(tray).collect::<Result<_, _>>()?,
            cores: trial.cores.iter().map(core).collect::<Result<_, _>>()?,
        })
    }

    /// What the model says at a trial's readings, from what was kept where nothing of the trial has changed.
    pub fn predicted(&self, index: usize, values: &[f64]) -> Result<Arc<Predicted>, FitError> {
        let own = |(u, v): (&Unknown, &f64)| u.trial().is_none_or(|t| t == index).then(|| v.to_bits());
        let key = (index, self.unknowns.iter().zip(values).filter_map(own).collect::<Vec<u64>>());
        if let Some(found) = self.kept.lock().ok().and_then(|k| k.get(&key).cloned()) {
            return Ok(found);
        }
        let curves = self.curves(index, values)?;
        let trial = &self.trials[index].reviewed.trial;
        let ratio = |x: f64| (1.0 + x) / (1.0 + curves.initial_dry_basis);
        let trays = trial.trays.iter().zip(&curves.trays);
        let cores = trial.cores.iter().zip(&curves.cores);
        let predicted = Arc::new(Predicted {
            initial_dry_basis: curves.initial_dry_basis,
            trays: trays
                .map(|(t, c)| t.weighings.iter().map(|w| ratio(c.moisture_at(w.elapsed_s))).collect())
                .collect(),
            cores: cores
                .map(|(r, c)| r.readings.iter().map(|w| c.moisture_at(w.elapsed_s)).collect())
                .collect(),
            critical: curves.trays.first().and_then(critical),
        });
        if let Ok(mut kept) = self.kept.lock() {
            if kept.len() >= KEPT_RUNS {
                kept.clear();
            }
            kept.insert(key, Arc::clone(&predicted));
        }
        Ok(predicted)
    }
}

/// Mean of something over the pieces of a group between two positions, by the load they stand for.
fn mean_over(
    sample: &Sample,
    group: usize,
    positions: Option<(usize, usize)>,
    ends: usize,
    of: impl Fn(&fallrate_simulate::PieceSample) -> f64,
) -> f64 {
    let (mut sum, mut weight) = (0.0, 0.0);
    for piece in sample.pieces.iter().filter(|p| p.group == group && p.load_share > 0.0) {
        let inside = positions.is_none_or(|(a, b)| piece.position >= a + ends && piece.position <= b + ends);
        if inside {
            sum += piece.load_share * of(piece);
            weight += piece.load_share;
        }
    }
    sum / weight
}

fn curve(name: &str, run: &[Sample], of: impl Fn(&Sample) -> f64) -> Result<DryingCurve, FitError> {
    // A curve of any quantity: that of a core carries temperatures.
    let mut readings: Vec<Reading> = Vec::with_capacity(run.len());
    for s in run {
        if readings.last().is_none_or(|r| s.elapsed_s > r.elapsed_s + 1e-6) {
            readings.push(Reading { elapsed_s: s.elapsed_s, moisture_dry_basis: of(s) });
        }
    }
    DryingCurve::new(name, readings)
}
