//! The fit of trials.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use crate::linear::{gram, inverse};
use crate::stats::chi_squared_beyond;
use crate::trial::food::FoodValues;
use crate::trial::model::Models;
use crate::trial::objective::Objective;
use crate::trial::outcome::{TrialFit, outcome};
use crate::trial::tare::fit_tares;
use crate::trial::unknown::trial_beliefs;
use crate::trial::{
    Belief, ReviewedTrial, Trial, TrialFault, TrialGrid, Unknown, product_beliefs, review_trial,
};
use crate::{Differences, FitError, FitOptions, Parameter, fit, spread_starts};
use fallrate_foods::Product;

/// Step of the slopes in the fitted coordinates: with the tolerance of the default grid their error is some 1e-3 of the
/// largest slope.
pub(crate) const STEP: f64 = 0.02;
/// Relative change at which a descent ends, and evaluations per unknown after which it gives up.
const TOLERANCE: f64 = 1e-4;
const PATIENCE: usize = 6;
/// Starts lie within this many standard deviations of what is believed.
const START_SPREAD: f64 = 1.5;
/// A scaled eigenvalue of the information below this is none.
pub(crate) const LEAST_INFORMATION: f64 = 1e-9;
/// Errors are moved where they change by more than this.
const NOISE_CHANGE: f64 = 0.02;

/// How far a fit has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TrialProgress {
    /// What is done.
    pub step: TrialStep,
    /// Runs of the drying model so far.
    pub runs: usize,
}

/// What a fit is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum TrialStep {
    /// Looking for the best values.
    Searching,
    /// Following a parameter away from its best value.
    Profiling,
    /// Drawing from the posterior.
    Sampling,
}

/// Told about the progress; returning false cancels.
pub type TrialObserver<'a> = dyn Fn(TrialProgress) -> bool + Sync + 'a;

/// How trials are fitted.
pub struct TrialFitOptions<'a> {
    /// Unknowns of the product to fit; the others keep the product file's value.
    pub unknowns: Vec<Unknown>,
    /// What is known of them before: where the search begins and its bounds; as data only with `count_beliefs`.
    pub beliefs: Vec<Belief>,
    /// Count what is believed of the product as data: right for planning on few weighings, wrong for an estimate that will
    /// itself be joined with those beliefs.
    pub count_beliefs: bool,
    /// Starts of the search, 1 to 50.
    pub starts: usize,
    /// Follow parameters whose uncertainty is not told well by the linear picture.
    pub profiles: bool,
    /// How finely the model is computed.
    pub grid: TrialGrid,
    /// Progress and cancel.
    pub observer: Option<&'a TrialObserver<'a>>,
}

impl TrialFitOptions<'_> {
    /// Fits some unknowns of a product, starting from its file, 3 starts, with profiles.
    #[must_use]
    pub fn of(product: &Product, unknowns: &[Unknown]) -> Self {
        Self {
            unknowns: unknowns.to_vec(),
            beliefs: product_beliefs(product),
            count_beliefs: false,
            starts: 3,
            profiles: true,
            grid: TrialGrid::default(),
            observer: None,
        }
    }
}

/// A number as a function of the unknowns' values.
pub(crate) type Quantity<'a> = &'a (dyn Fn(&[f64]) -> Result<f64, FitError> + Sync);

/// Everything a fit works on.
pub(crate) struct Setting<'a> {
    pub models: Models<'a>,
    pub beliefs: Vec<Belief>,
    pub parameters: Vec<Parameter>,
    pub objective: Objective,
}

impl Setting<'_> {
    pub fn rows(&self, values: &[f64]) -> Result<Vec<f64>, FitError> {
        self.objective.rows(&self.models, &self.beliefs, values)
    }
    pub fn sum_of_squares(&self, values: &[f64]) -> Result<f64, FitError> {
        Ok(self.rows(values)?.iter().map(|r| r * r).sum())
    }
    fn options(&self, starts: Vec<Vec<f64>>) -> FitOptions {
        FitOptions { starts, differences: self.models.differences, tolerance: TOLERANCE, patience: PATIENCE }
    }
    pub fn descend(&self, starts: Vec<Vec<f64>>) -> Result<crate::Estimate, FitError> {
        fit(&self.parameters, &|p| self.rows(p), &self.options(starts))
    }
    /// Slopes of the rows by the fitted coordinates, column by column.
    pub fn slopes(&self, values: &[f64]) -> Result<Vec<Vec<f64>>, FitError> {
        self.slopes_of(values, &|v| self.rows(v))
    }
    /// Slopes of a number by the fitted coordinates.
    pub fn value_slopes(&self, values: &[f64], of: Quantity<'_>) -> Result<Vec<f64>, FitError> {
        let columns = self.slopes_of(values, &|v| Ok(vec![of(v)?]))?;
        Ok(columns.into_iter().flatten().collect())
    }
    /// Slopes at values held two steps inside the bounds.
    pub fn slopes_of(&self, values: &[f64], of: &crate::Model<'_>) -> Result<Vec<Vec<f64>>, FitError> {
        let sizes = self.sizes();
        let held = |((b, v), size): ((&Belief, &f64), &f64)| {
            let room = 2.0 * STEP * size;
            let (low, high) = (b.coordinate(b.bounds.0) + room, b.coordinate(b.bounds.1) - room);
            b.coordinate(*v).clamp(low.min(high), high.max(low))
        };
        let at: Vec<f64> = self.beliefs.iter().zip(values).zip(&sizes).map(held).collect();
        self.models.differences.slopes(&at, &sizes, |q| {
            of(&self.beliefs.iter().zip(q).map(|(b, q)| value(b, *q)).collect::<Vec<f64>>())
        })
    }
    fn sizes(&self) -> Vec<f64> {
        crate::solve::sizes(&self.parameters, &vec![0.0; self.parameters.len()])
    }
    pub fn data_count(&self) -> usize {
        let trials = self.models.trials.iter().map(|t| &t.reviewed.trial);
        trials.map(|t| t.weighings() + t.cores.iter().map(|c| c.readings.len()).sum::<usize>()).sum()
    }
    pub fn tray_count(&self) -> usize {
        self.models.trials.iter().map(|t| t.reviewed.trial.trays.len()).sum()
    }
}

/// The value of a fitted coordinate.
pub(crate) fn value(belief: &Belief, coordinate: f64) -> f64 {
    if belief.scale == crate::Scale::Logarithm { coordinate.exp() } else { coordinate }
}

/// Fits unknowns of the drying model to trials of one product.
///
/// The raw moisture of every trial's lot and the size of its pieces are fitted with the rest, held by what was stated of them.
///
/// # Errors
/// [`TrialFault`] where a trial must be refused; [`FitError::TooFewReadings`] for more unknowns than weighings can tell;
/// [`FitError::Cancelled`]; [`FitError::Simulation`] where the drying model has no result at any start.
pub fn fit_trials(
    product: &Product,
    trials: &[Trial],
    options: &TrialFitOptions<'_>,
) -> Result<TrialFit, FitError> {
    let reviewed = review(trials, options)?;
    let runs = AtomicUsize::new(0);
    let stopped = AtomicBool::new(false);
    let profiling = AtomicBool::new(false);
    // Asked at every step of every run: the observer hears of whole runs only.
    let go_on = || !stopped.load(Ordering::Relaxed);
    let begin_run = || {
        let step =
            if profiling.load(Ordering::Relaxed) { TrialStep::Profiling } else { TrialStep::Searching };
        let progress = TrialProgress { step, runs: runs.fetch_add(1, Ordering::Relaxed) + 1 };
        if options.observer.is_some_and(|o| !o(progress)) {
            stopped.store(true, Ordering::Relaxed);
        }
        go_on()
    };
    let mut setting = setting_of(product, reviewed, options, &go_on, &begin_run);
    let needed = options.unknowns.len() + setting.tray_count();
    if setting.data_count() <= needed {
        return Err(FitError::TooFewReadings { readings: setting.data_count(), parameters: needed });
    }
    let starts = starts(&setting.parameters, &setting.beliefs, options);
    let mut found = cancelled(setting.descend(starts.clone()), &go_on)?;
    fit_tares(&mut setting, &mut found, &starts)?;
    let noise = noise(&setting, &found.values())?;
    if (noise.factor - 1.0).abs() > NOISE_CHANGE {
        setting.objective.noise = noise.factor;
        found = descend_again(&setting, found)?;
    }
    profiling.store(true, Ordering::Relaxed);
    cancelled(outcome(&setting, &found, noise, options.profiles), &go_on)
}

/// A result, or that the caller cancelled.
fn cancelled<T>(found: Result<T, FitError>, go_on: &dyn Fn() -> bool) -> Result<T, FitError> {
    if go_on() { found } else { Err(FitError::Cancelled) }
}

fn review(trials: &[Trial], options: &TrialFitOptions<'_>) -> Result<Vec<ReviewedTrial>, FitError> {
    if trials.is_empty() {
        return Err(TrialFault::NoTrial.into());
    }
    for unknown in Unknown::OF_PRODUCT.iter().chain(&options.unknowns) {
        let found = options.unknowns.iter().filter(|u| *u == unknown).count();
        if found > 1 || unknown.trial().is_some() || options.unknowns.is_empty() {
            return Err(TrialFault::Unknowns { unknown: unknown.name_and_unit().0, found }.into());
        }
    }
    if !(1..=50).contains(&options.starts) {
        #[allow(clippy::cast_precision_loss)]
        let value = options.starts as f64;
        let (what, unit) = ("starts".to_owned(), "-".to_owned());
        return Err(FitError::OutOfRange { what, value, unit, low: 1.0, high: 50.0 });
    }
    Ok(trials.iter().map(review_trial).collect::<Result<Vec<_>, _>>()?)
}

pub(crate) fn setting_of<'a>(
    product: &'a Product,
    reviewed: Vec<ReviewedTrial>,
    options: &TrialFitOptions<'_>,
    go_on: &'a (dyn Fn() -> bool + Sync),
    begin_run: &'a (dyn Fn() -> bool + Sync),
) -> Setting<'a> {
    let fixed = FoodValues::believed(product, &options.beliefs);
    let own = options.unknowns.iter().filter_map(|u| options.beliefs.iter().find(|b| b.unknown == *u));
    let mut beliefs: Vec<Belief> = own.cloned().collect();
    let mut priors: Vec<Option<(f64, f64)>> =
        beliefs.iter().map(|b| options.count_beliefs.then(|| (b.coordinate(b.value), b.deviation))).collect();
    for (index, r) in reviewed.iter().enumerate() {
        for belief in trial_beliefs(&r.trial, index) {
            priors.push(Some((belief.coordinate(belief.value), belief.deviation)));
            beliefs.push(belief);
        }
    }
    let parameters = beliefs.iter().map(Belief::parameter).collect();
    let unknowns = beliefs.iter().map(|b| b.unknown).collect();
    let differences = Differences::Central { step: STEP };
    let models =
        Models::new(product, reviewed, unknowns, fixed, options.grid, differences, (go_on, begin_run));
    let objective = Objective { priors, tares: Vec::new(), noise: 1.0 };
    Setting { models, beliefs, parameters, objective }
}

/// A setting that nobody watches.
pub(crate) fn quiet_setting<'a>(
    product: &'a Product,
    reviewed: Vec<ReviewedTrial>,
    options: &TrialFitOptions<'_>,
) -> Setting<'a> {
    setting_of(product, reviewed, options, &|| true, &|| true)
}

/// Starts spread over what is believed of the product; the trials' own values as stated.
fn starts(parameters: &[Parameter], beliefs: &[Belief], options: &TrialFitOptions<'_>) -> Vec<Vec<f64>> {
    let narrow = |(p, b): (&Parameter, &Belief)| {
        let (low, high) = b.bounds;
        let room = if b.unknown.trial().is_some() { 1e-6 } else { START_SPREAD * b.deviation };
        let centre = b.coordinate(p.start);
        let edge = |c: f64| value(b, c).clamp(low + 1e-3 * (high - low), high - 1e-3 * (high - low));
        Parameter { bounds: Some((edge(centre - room), edge(centre + room))), ..p.clone() }
    };
    let narrowed: Vec<Parameter> = parameters.iter().zip(beliefs).map(narrow).collect();
    spread_starts(&narrowed, options.starts)
}

/// Goes on from an estimate, keeping the reports of the first search.
fn descend_again(setting: &Setting<'_>, before: crate::Estimate) -> Result<crate::Estimate, FitError> {
    let inside = |(p, v): (&Parameter, f64)| {
        let (low, high) = p.bounds.unwrap_or((v, v));
        v.clamp(low + 1e-9 * (high - low), high - 1e-9 * (high - low))
    };
    let start: Vec<f64> = setting.parameters.iter().zip(before.values()).map(inside).collect();
    let mut found = setting.descend(vec![start])?;
    found.starts = before.starts;
    Ok(found)
}

/// How many unknowns the data tell (rather than what was believed): the trace of their share in the information, rounded.
pub(crate) fn told(setting: &Setting<'_>, columns: &[Vec<f64>]) -> usize {
    let data = setting.data_count();
    let own: Vec<Vec<f64>> = columns.iter().map(|c| c[..data].to_vec()).collect();
    let whole = gram(columns);
    let share = inverse(&whole, LEAST_INFORMATION).map(|c| (c * gram(&own)).trace());
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    share.map_or(columns.len(), |s| s.round().max(0.0) as usize)
}

/// How the data scatter about the fit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Noise {
    /// Factor on the stated errors that the rows are divided by.
    pub factor: f64,
    /// Scatter over the stated errors, not below 1.
    pub scatter: f64,
    /// Correlation of a residual with the one before, over all trays, and the factor on the errors for it.
    pub correlation: f64,
    pub widened: f64,
    /// Degrees of freedom of the scatter.
    pub degrees: usize,
}

/// Fewest residuals of a tray whose neighbours are compared, and of all trays.
pub(crate) const LEAST_OF_TRAY: usize = 4;
const LEAST_OF_ALL: usize = 12;
/// Probability below which neighbours are called alike.
const ALIKE: f64 = 0.01;

/// The scatter of the data, never below what was stated, and how far it comes in stretches of one sign.
fn noise(setting: &Setting<'_>, values: &[f64]) -> Result<Noise, FitError> {
    let rows = setting.objective.data_rows(&setting.models, values)?;
    let columns = setting.slopes(values)?;
    let used = setting.tray_count() + setting.objective.tares.len() + told(setting, &columns);
    let degrees = rows.len().saturating_sub(used).max(1);
    let sum: f64 = rows.iter().map(|r| r * r).sum();
    #[allow(clippy::cast_precision_loss)]
    let scatter = (sum / degrees as f64).sqrt().max(1.0);
    let (mut products, mut squares, mut count, mut from) = (0.0, 0.0, 0_usize, 0);
    for model in &setting.models.trials {
        for tray in &model.reviewed.trial.trays {
            let own = &rows[from..from + tray.weighings.len()];
            from += own.len();
            if own.len() >= LEAST_OF_TRAY {
                products += own.windows(2).map(|w| w[0] * w[1]).sum::<f64>();
                squares += own.iter().map(|r| r * r).sum::<f64>();
                count += own.len();
            }
        }
        from += model.reviewed.trial.cores.iter().map(|c| c.readings.len()).sum::<usize>();
    }
    let correlation = if squares > 0.0 { products / squares } else { 0.0 };
    #[allow(clippy::cast_precision_loss)]
    let z = correlation * (count as f64).sqrt();
    // One-sided normal probability by chi-squared of one degree.
    let chance = 0.5 * chi_squared_beyond(z * z, 1.0);
    let alike = count >= LEAST_OF_ALL && z > 0.0 && chance < ALIKE;
    let widened = if alike { ((1.0 + correlation) / (1.0 - correlation)).sqrt() } else { 1.0 };
    Ok(Noise { factor: scatter * widened, scatter, correlation, widened, degrees })
}
