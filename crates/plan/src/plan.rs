//! The whole plan from a request.

use fallrate_equipment::Cabinet;
use fallrate_foods::Product;
use fallrate_schedule::EndCondition;
use fallrate_simulate::{Options, Run, SimulateError, run, run_from};

use crate::acts::{Act, acts};
use crate::assemble::{Assembled, assemble, stage_input};
use crate::band::{Band, VarianceShares, band};
use crate::error::PlanError;
use crate::feasible::{Feasibility, judge};
use crate::kill::{KillForecast, kill_forecast};
use crate::lift::lift_off_moisture;
use crate::money::{EnergyCost, TrayWeight, Yield, energy_cost, tray_weight, yields};
use crate::propose::{Tried, propose};
use crate::request::{PlanRequest, StagesRequest};
use crate::setup::{Setup, Unloading};
use crate::sweep::{COARSE, FINE, SWEEP_SPAN, Sweep, is_on_off, regridded, relay_shifts_k, sweep};
use crate::timer::{TimerAdvice, advise};

/// How much is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Draws for the band; 0 leaves the band out.
    pub draws: usize,
}

impl Default for Effort {
    fn default() -> Self {
        Self { draws: 128 }
    }
}

/// A step of the work, for progress.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Progress {
    /// Looking for stages.
    Proposing,
    /// The plan's own run.
    Running,
    /// Draws, share done.
    Drawing(f64),
}

/// Light pieces and the air.
#[derive(Clone, Debug, PartialEq)]
pub struct LiftOff {
    /// Fan step.
    pub fan_step: String,
    /// Mean air speed between the trays, m/s.
    pub air_speed_m_per_s: f64,
    /// Pieces fly below this moisture, kg/kg dry basis; none: never.
    pub below_dry_basis: Option<f64>,
    /// When the driest piece gets there with this plan, s; none: not in this run.
    pub at_s: Option<f64>,
}

/// Minutes that the forecast coldest core spends at or above a temperature. A forecast, not evidence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoreForecast {
    /// degC
    pub at_or_above_c: f64,
    /// Minutes of it while the vent is shut from the start; 0 where it cannot be shut.
    pub minutes_before_drying: f64,
    /// Minutes in all.
    pub minutes: f64,
}

/// A plan: a forecast with its advice.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Numbers and words it was computed from.
    pub assembled: Assembled,
    /// Ways tried, where stages were proposed.
    pub tried: Vec<Tried>,
    /// Timer.
    pub timer: TimerAdvice,
    /// The run with the timer as advised, power-off and stand included.
    pub run: Run,
    /// Nominal sweep.
    pub sweep: Sweep,
    /// Draws.
    pub band: Option<Band>,
    /// What the spread of the end comes from.
    pub variance: Option<VarianceShares>,
    /// Feasibility.
    pub feasibility: Feasibility,
    /// Energy and cost.
    pub energy: EnergyCost,
    /// Yield.
    pub yields: Yield,
    /// Target weight of a tray.
    pub tray: TrayWeight,
    /// Acts.
    pub acts: Vec<Act>,
    /// Lift-off for each fan step, where the product file has figures.
    pub lift_off: Vec<LiftOff>,
    /// Forecast of the coldest core, for products with a kill step.
    pub core: Vec<CoreForecast>,
    /// What the published options would come to if the run went as forecast.
    pub kill: Vec<KillForecast>,
}

/// Computes a plan.
///
/// `progress` is told what is being done and cancels by returning false.
///
/// # Errors
/// [`PlanError`].
pub fn plan(
    request: &PlanRequest,
    product: &Product,
    cabinet: &Cabinet,
    effort: Effort,
    progress: &(dyn Fn(Progress) -> bool + Sync),
) -> Result<Plan, PlanError> {
    let mut assembled = assemble(request, product, cabinet)?;
    let mut tried = Vec::new();
    if matches!(request.stages, StagesRequest::Propose { .. }) {
        go_on(progress(Progress::Proposing))?;
        let (stages, ways) = propose(product, cabinet, &assembled)?;
        assembled.setup.stages = stages
            .iter()
            .map(|s| stage_input(s, cabinet, &assembled.trays_by_group))
            .collect::<Result<_, _>>()?;
        assembled.setup.stand_vent_opening = match assembled.setup.stages.last().map(|s| s.vent) {
            Some(fallrate_simulate::VentSetting::Opening(o)) => o,
            _ => assembled.setup.stand_vent_opening,
        };
        assembled.stages = stages;
        tried = ways;
    }
    free_last_stage(&mut assembled);
    go_on(progress(Progress::Running))?;
    let first = run_to_target(&assembled.setup, &mut |_| progress(Progress::Running))?;
    assembled.setup.relay_shifts_k = relay_shifts_k(&assembled.setup.batch, &assembled.setup.stages, &first);
    let setup = assembled.setup.clone();
    let direct_s = first.end.elapsed_s;
    let mut step = |_: f64| progress(Progress::Running);
    let nominal = sweep(&setup, &setup.batch, SWEEP_SPAN * direct_s, &FINE, &mut step)?;
    let other = other_way(&setup);
    let other_sweep = match &other {
        Some(o) => Some(sweep(o, &setup.batch, SWEEP_SPAN * direct_s, &FINE, &mut step)?),
        None => None,
    };
    let drawn = if effort.draws > 0 {
        Some(band(&setup, effort.draws, direct_s, &|share| progress(Progress::Drawing(share)))?)
    } else {
        None
    };
    let timer = advise(&setup, &nominal, other.as_ref().zip(other_sweep.as_ref()), drawn.as_ref());
    let run = final_run(&setup, &timer, &mut step)?;
    let last_x = run.samples.last().map_or(f64::NAN, |s| s.moisture_mean_dry_basis);
    let yields = yields(&setup, last_x);
    let energy = energy_cost(&setup, &run.samples, yields.finished_kg, yields.water_removed_kg);
    Ok(Plan {
        feasibility: judge(&setup, product, cabinet, &run),
        variance: drawn.as_ref().map(|b| b.variance_shares(&setup)),
        acts: acts(&assembled, cabinet, &run, &timer),
        tray: tray_weight(&setup, assembled.tare_kg),
        lift_off: lift_offs(product, cabinet, &assembled, &run),
        core: core_forecast(&setup, product, cabinet, &run),
        kill: kill_forecast(&setup, product, cabinet, &run, drawn.as_ref()),
        band: drawn,
        sweep: nominal,
        assembled,
        tried,
        timer,
        run,
        energy,
        yields,
    })
}

fn go_on(yes: bool) -> Result<(), PlanError> {
    if yes { Ok(()) } else { Err(PlanError::Cancelled) }
}

/// The timer and the target end the last powered stage; an end of its own that says the same is taken off.
fn free_last_stage(assembled: &mut Assembled) {
    if let Some(last) = assembled.setup.stages.last_mut() {
        last.ends.clear();
        last.at_most_s = None;
    }
}

/// Powered time to the target, s.
pub(crate) fn time_to_target(setup: &Setup, progress: &mut dyn FnMut(f64) -> bool) -> Result<f64, PlanError> {
    run_to_target(setup, progress).map(|run| run.end.elapsed_s)
}

/// The powered run to the target: on the fine grid, or, with an on/off heater, which costs far more, on that of the draws.
fn run_to_target(setup: &Setup, progress: &mut dyn FnMut(f64) -> bool) -> Result<Run, PlanError> {
    let on_off = is_on_off(&setup.batch);
    let options = Options {
        sample_every_s: on_off.then_some(60.0),
        enforce_balances: false,
        relative_tolerance: 1e-4,
        ..Options::default()
    };
    let grid = if on_off { COARSE } else { FINE };
    match run(&regridded(&setup.batch, &grid), &setup.stages_to_target(), &options, progress) {
        Ok(run) => Ok(run),
        Err(SimulateError::NeverEnds {
            condition: EndCondition::Moisture { piece, dry_basis },
            closest,
            limit_h,
            ..
        }) if (piece, dry_basis) == (setup.target.piece, setup.target.moisture_dry_basis) => {
            let reached = dry_basis + closest;
            Err(PlanError::OutOfReach {
                asked_dry_basis: dry_basis,
                reached_dry_basis: reached,
                reached_wet_basis_pct: 100.0 * reached / (1.0 + reached),
                piece: if piece == fallrate_simulate::Piece::Mean { "mean piece" } else { "wettest piece" },
                after_h: limit_h,
            })
        }
        Err(SimulateError::Cancelled { .. }) => Err(PlanError::Cancelled),
        Err(e) => Err(e.into()),
    }
}

/// The other way of unloading, to show what it would ask of the timer.
fn other_way(setup: &Setup) -> Option<Setup> {
    if setup.unloading != Unloading::AtOnce || setup.staffed.is_none() {
        return None;
    }
    let mut other = setup.clone();
    other.unloading = Unloading::NextStaffed;
    Some(other)
}

/// The run with the timer as advised, and the stand after it. Where a balance does not close at the usual tolerance it is
/// computed again at a tenth of it.
fn final_run(
    setup: &Setup,
    timer: &TimerAdvice,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Run, PlanError> {
    match timed_run(setup, timer, FINE.relative_tolerance, progress) {
        Err(SimulateError::WaterBalance { .. } | SimulateError::EnergyBalance { .. }) => {
            timed_run(setup, timer, 0.1 * FINE.relative_tolerance, progress)
        }
        other => other,
    }
    .map_err(|e| if matches!(e, SimulateError::Cancelled { .. }) { PlanError::Cancelled } else { e.into() })
}

fn timed_run(
    setup: &Setup,
    timer: &TimerAdvice,
    relative_tolerance: f64,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Run, SimulateError> {
    let batch = regridded(&setup.batch, &FINE);
    let every = (timer.unloaded_s / 300.0).max(30.0);
    let options = Options {
        timer_ends_s: Some(timer.dial_s),
        sample_every_s: Some(every),
        relative_tolerance,
        ..Options::default()
    };
    let mut powered = run(&batch, &setup.stages, &options, progress)?;
    let wait = timer.unloaded_s - timer.dial_s;
    if wait >= 1.0 {
        let options = Options { timer_ends_s: None, ..options };
        let stand = run_from(&batch, &powered.end, &[setup.stand(timer.dial_s, wait)], &options, progress)?;
        let offset = powered.stage_ends.len();
        powered.samples.extend(stand.samples.into_iter().map(|mut s| {
            s.stage += offset;
            s
        }));
        powered.stage_ends.extend(stand.stage_ends);
        powered.end = stand.end;
    }
    Ok(powered)
}

fn lift_offs(product: &Product, cabinet: &Cabinet, assembled: &Assembled, run: &Run) -> Vec<LiftOff> {
    if product.lift_off.is_none() {
        return Vec::new();
    }
    cabinet
        .fan_steps
        .iter()
        .map(|f| {
            let speed = cabinet.air_speed_m_per_s(f);
            let below = lift_off_moisture(product, assembled, speed);
            let at_s = below
                .and_then(|x| run.samples.iter().find(|s| s.moisture_fastest_dry_basis <= x))
                .map(|s| s.elapsed_s);
            LiftOff { fan_step: f.name.clone(), air_speed_m_per_s: speed, below_dry_basis: below, at_s }
        })
        .collect()
}

/// Minutes above round temperatures of the guideline's tables (130, 140, 145, 150, 158, 160 degF).
fn core_forecast(setup: &Setup, product: &Product, cabinet: &Cabinet, run: &Run) -> Vec<CoreForecast> {
    if product.kill_step == fallrate_foods::KillStep::None {
        return Vec::new();
    }
    let drying_from = crate::kill::shut_until(setup, cabinet, run);
    [130.0, 140.0, 145.0, 150.0, 158.0, 160.0]
        .into_iter()
        .map(|f| {
            let c = (f - 32.0) / 1.8;
            let mut all = 0.0;
            let mut before = 0.0;
            for w in run.samples.windows(2) {
                if w[0].core_coldest_c.min(w[1].core_coldest_c) >= c {
                    let minutes = (w[1].elapsed_s - w[0].elapsed_s) / 60.0;
                    all += minutes;
                    if w[1].elapsed_s <= drying_from + 1.0 {
                        before += minutes;
                    }
                }
            }
            CoreForecast { at_or_above_c: c, minutes_before_drying: before, minutes: all }
        })
        .collect()
}
