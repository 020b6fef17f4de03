//! The batch under way: where it stands, when it ends, how sure that is, and what to dial.

use std::sync::Arc;

use fallrate_plan::kill::KillForecast;
use fallrate_plan::spread::Input;
use fallrate_plan::sweep::{COARSE, Sweep};
use fallrate_plan::timer::TimerAdvice;

use crate::FollowError;
use crate::course::{Case, Course, Track};
use crate::dial::{as_dialled, timer_now};
use crate::ensemble::{Ensemble, draw};
use crate::estimate::{Question, mode};
use crate::finding::{Found, InputEstimate, Misfit, ReadingFit};
use crate::forecast::Forecast;
use crate::kill::kill_now;
use crate::noise::thinned;
use crate::reading::Reading;
use crate::state::now;

/// How much is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Draws followed to the end.
    pub draws: usize,
}

impl Default for Effort {
    fn default() -> Self {
        Self { draws: 64 }
    }
}

/// The 10th, 50th and 90th percentile of a forecast.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// One in ten is below.
    pub low: f64,
    /// Half are below.
    pub middle: f64,
    /// Nine in ten are below.
    pub high: f64,
}

/// When the powered time is to end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EndForecast {
    /// Power off at which the target is met at unloading, s from the start: early, expected, late. At the earliest now.
    pub power_off_s: Range,
    /// When it is then unloaded, for the expected one, s.
    pub unloaded_s: f64,
    /// Share of the draws in which the target is met already.
    pub met_already: f64,
    /// Share of the draws that do not meet it within the time looked at.
    pub unreached: f64,
}

/// Where the batch stands now.
#[derive(Clone, Debug, PartialEq)]
pub struct Now {
    /// Mean moisture of the load, kg/kg dry basis.
    pub mean_dry_basis: Range,
    /// Wettest piece.
    pub wettest_dry_basis: Range,
    /// Driest piece.
    pub driest_dry_basis: Range,
    /// Coldest core, degC.
    pub core_coldest_c: Range,
    /// Air before the trays, degC.
    pub chamber_c: Range,
    /// Its wet bulb, degC.
    pub wet_bulb_c: Range,
    /// Product on a mean tray of each loaded group, kg.
    pub tray_net_kg: Vec<Range>,
    /// Index of the plan's stage under way, in most draws.
    pub stage: usize,
}

/// What to dial where the countdown is dialled anew now.
#[derive(Clone, Debug, PartialEq)]
pub struct TimerNow {
    /// To dial, s, in steps of the dial.
    pub dial_s: f64,
    /// The plan's advice it follows from; its times count from the start of the run.
    pub advice: TimerAdvice,
}

/// What becomes of the batch under the countdown that runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AsDialled {
    /// Its end, s from the start.
    pub power_off_s: f64,
    /// Moisture of the piece that the target asks for at unloading, kg/kg dry basis.
    pub moisture_dry_basis: Range,
    /// Share of the draws that are then wetter than the target.
    pub too_wet: f64,
}

/// What was known before, to say what changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Earlier {
    /// Its end, s from the start: early, expected, late.
    pub power_off_s: Range,
    /// Numbers of the readings it knew.
    pub readings: Vec<u64>,
}

impl Earlier {
    /// What a plan said; none without draws.
    #[must_use]
    pub fn of_plan(timer: &TimerAdvice) -> Option<Self> {
        let [low, middle, high] = timer.quantiles_s?;
        Some(Self { power_off_s: Range { low, middle, high }, readings: Vec::new() })
    }
}

/// What changed against what was known before.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The expected end is later by this, s; negative: earlier.
    pub end_shift_s: f64,
    /// Width of the band over what it was.
    pub band_ratio: f64,
    /// The new reading that moves the end most, with by how much, s; none: no reading is new.
    pub by_reading: Option<(u64, f64)>,
    /// The input through which the end was moved most, against the plan.
    pub through: Option<Input>,
}

/// How the estimate was made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quality {
    /// Draws.
    pub draws: usize,
    /// Their effective number under the readings' weights.
    pub effective: f64,
    /// Power that the weights were raised to where that was too small: 1 as they are; below it the band is rather too wide.
    pub power: f64,
    /// Linear updates until the mode stood.
    pub updates: usize,
    /// Times the proposal was fitted anew.
    pub fits: usize,
    /// Walks of the model to now.
    pub runs: usize,
}

/// The batch as followed. A forecast: nothing of it is evidence.
#[derive(Clone, Debug)]
pub struct Update {
    /// s from the start of the run.
    pub now_s: f64,
    /// The end.
    pub end: EndForecast,
    /// Where it stands.
    pub now: Now,
    /// What to dial.
    pub timer: TimerNow,
    /// What the running countdown leads to; none: none was dialled or it has run down.
    pub as_dialled: Option<AsDialled>,
    /// The uncertain inputs, in the order of the plan's spreads.
    pub inputs: Vec<InputEstimate>,
    /// Every reading, in the order given.
    pub readings: Vec<ReadingFit>,
    /// Readings that do not fit.
    pub misfits: Vec<Misfit>,
    /// What changed; none: nothing earlier was given.
    pub change: Option<Change>,
    /// What the published options would come to if it went as forecast; empty for products without a kill step.
    pub kill: Vec<KillForecast>,
    /// How the estimate was made.
    pub quality: Quality,
    pub(crate) state: Arc<Followed>,
}

/// What is kept of an update to ask it further.
#[derive(Clone, Debug)]
pub(crate) struct Followed {
    pub ensemble: Ensemble,
    pub sweeps: Vec<Option<Sweep>>,
    pub middle: Vec<f64>,
}

impl Update {
    /// What this update knew, for the next.
    #[must_use]
    pub fn earlier(&self) -> Earlier {
        let readings = self.readings.iter().map(|r| r.id).collect();
        Earlier { power_off_s: self.end.power_off_s, readings }
    }
}

/// Estimates the uncertain inputs from the readings and forecasts the rest of the run.
///
/// `progress` is told the share done and cancels by returning false. The same input gives the same result for any number of
/// threads.
///
/// # Errors
/// [`FollowError`] where readings or deeds are out of range, the model has no result, or it was cancelled.
pub fn update(
    case: Case<'_>,
    course: &Course,
    readings: &[Reading],
    effort: Effort,
    earlier: Option<&Earlier>,
    progress: &(dyn Fn(f64) -> bool + Sync),
) -> Result<Update, FollowError> {
    let loaded = case.assembled.loaded_trays;
    readings.iter().try_for_each(|r| r.check(course.now_s, loaded))?;
    let track = Track::new(case, course)?;
    let used_at = thinned(readings);
    let used: Vec<Reading> = used_at.iter().map(|&i| readings[i]).collect();
    let q = Question {
        track: &track,
        course,
        readings: &used,
        fineness: COARSE,
        inputs: case.assembled.setup.spreads.len(),
    };
    let mode = mode(&q, &|| progress(0.1))?;
    let ensemble = draw(&q, &mode, effort.draws.max(8), &|_| progress(0.4))?;
    let mut setup = case.assembled.setup.clone();
    setup.dial.from_s = course.now_s;
    let ahead = Forecast::new(&q, &mode, &ensemble, &setup, &|share| progress(0.6 + 0.4 * share))?;
    let found = Found::new(&q, &mode, &ensemble, &ahead, readings, &used_at);
    let (timer, band) = timer_now(&setup, &ahead, &ensemble, &case);
    let kill = kill_now(&q, &setup, &mode, (&ensemble, &band), timer.advice.dial_s, &|| progress(1.0))?;
    let change = earlier.map(|e| change(e, &ahead.end, &found));
    Ok(Update {
        now_s: course.now_s,
        end: ahead.end,
        now: now(&q, &ensemble),
        timer,
        as_dialled: as_dialled(course, &setup, &ahead, &ensemble),
        inputs: found.inputs,
        readings: found.readings,
        misfits: found.misfits,
        change,
        kill,
        quality: Quality {
            draws: ensemble.members.len(),
            effective: ensemble.effective,
            power: ensemble.power,
            updates: mode.updates,
            fits: ensemble.fits,
            runs: mode.runs + ensemble.runs,
        },
        state: Arc::new(Followed {
            ensemble,
            sweeps: ahead.sweeps,
            middle: mode.mean.iter().copied().collect(),
        }),
    })
}

fn change(earlier: &Earlier, end: &EndForecast, found: &Found) -> Change {
    let (was, is) = (earlier.power_off_s, end.power_off_s);
    let new = found.readings.iter().filter(|r| r.used && !earlier.readings.contains(&r.id));
    let by = new.max_by(|a, b| a.end_shift_s.abs().total_cmp(&b.end_shift_s.abs()));
    let through = found.inputs.iter().max_by(|a, b| a.end_shift_s.abs().total_cmp(&b.end_shift_s.abs()));
    Change {
        end_shift_s: is.middle - was.middle,
        band_ratio: (is.high - is.low) / (was.high - was.low).max(1.0),
        by_reading: by.map(|r| (r.id, r.end_shift_s)),
        through: through.filter(|i| i.end_shift_s != 0.0).map(|i| i.input),
    }
}
