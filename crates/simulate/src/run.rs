//! Driving the solution through stages, interruptions and the coast.

use fallrate_schedule::EndCondition;

use crate::action::apply;
use crate::balance::{Balance, Stock, balance, enforce, stock};
use crate::ends::{distance, hold_s, root};
use crate::physics::chamber::{self, COUNTERS, STATES, sensed};
use crate::physics::setting::Setting;
use crate::physics::system::{System, SystemJacobian};
use crate::solve::Counts;
use crate::solve::chain::ChainSolver;
use crate::solve::ndf::{Ndf, Problem};
use crate::view::{Sample, sample};
use crate::{Batch, ControllerKind, HeaterDelay, InterruptionKind, Load, SimulateError, StageInput};

/// How a run is computed and reported.
#[derive(Clone, Debug)]
pub struct Options {
    /// Relative tolerance of the solution.
    pub relative_tolerance: f64,
    /// A sample at least this often, s; none keeps the stage ends only.
    pub sample_every_s: Option<f64>,
    /// Samples at these times of the run as well, s, rising.
    pub samples_at_s: Vec<f64>,
    /// Times of the run at which the whole state is kept, s, rising.
    pub snapshots_at_s: Vec<f64>,
    /// A stage that has not ended after this time never ends, s.
    pub longest_stage_s: f64,
    /// The timer switches everything off at this time of the run, whatever the stage; what follows is left out, s.
    pub timer_ends_s: Option<f64>,
    /// Refuse a result whose balances do not close.
    pub enforce_balances: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            relative_tolerance: 1e-5,
            sample_every_s: Some(300.0),
            samples_at_s: Vec::new(),
            snapshots_at_s: Vec::new(),
            longest_stage_s: 7.0 * 86_400.0,
            timer_ends_s: None,
            enforce_balances: true,
        }
    }
}

/// The whole state at an instant, from which a run can go on.
#[derive(Clone, Debug)]
pub struct Snapshot {
    /// s from the start of the run.
    pub elapsed_s: f64,
    load: Load,
    relay_closed: bool,
    y: Vec<f64>,
}

impl Snapshot {
    /// The same state with other air in the chamber: temperature in degC, humidity ratio in kg/kg dry air.
    #[must_use]
    pub fn with_chamber_air(mut self, temperature_c: f64, humidity_ratio_kg_per_kg: f64) -> Self {
        let at = self.y.len() - STATES - COUNTERS;
        self.y[at + chamber::T] = temperature_c;
        self.y[at + chamber::W] = humidity_ratio_kg_per_kg;
        self.y[at + chamber::SENSOR] = temperature_c;
        self
    }
}

/// What ended a stage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StopReason {
    /// This condition was reached.
    Reached(EndCondition),
    /// The longest duration was.
    AtMost,
    /// The timer came to its end.
    Timer,
}

/// The end of a stage.
#[derive(Clone, Debug, PartialEq)]
pub struct StageEnd {
    /// Name of the stage.
    pub name: String,
    /// s from the start of the run.
    pub started_s: f64,
    /// What ended it.
    pub reason: StopReason,
    /// State at the end.
    pub sample: Sample,
}

/// A run: a forecast.
#[derive(Clone, Debug)]
pub struct Run {
    /// Stage ends in order.
    pub stage_ends: Vec<StageEnd>,
    /// Samples in time.
    pub samples: Vec<Sample>,
    /// States kept on request, in time.
    pub snapshots: Vec<Snapshot>,
    /// Balances.
    pub balance: Balance,
    /// Work of the solver.
    pub counts: Counts,
    /// State at the end.
    pub end: Snapshot,
    /// Fresh weight over finished weight is taken from this: dry solids on the trays at the end, kg.
    pub solids_kg: f64,
}

/// Runs a batch from its start.
///
/// `progress` is told the elapsed time, s, after every step and cancels the run by returning false.
///
/// # Errors
/// [`SimulateError`] where an input is out of range, a stage never ends, the solver fails, or a balance does not close.
pub fn run(
    batch: &Batch,
    stages: &[StageInput],
    options: &Options,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Run, SimulateError> {
    batch.check()?;
    let start = start_state(batch);
    run_from(batch, &start, stages, options, progress)
}

/// Runs on from a kept state. Counters of energy and water go on from the snapshot. Where balances are enforced and do
/// not close, the run is computed again at a tenth of the tolerance, twice at most: a light load in much air may need it.
///
/// # Errors
/// As [`run`].
pub fn run_from(
    batch: &Batch,
    start: &Snapshot,
    stages: &[StageInput],
    options: &Options,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Run, SimulateError> {
    let mut options = options.clone();
    for _ in 0..REPEATS {
        let run = run_once(batch, start, stages, &options, progress)?;
        if !options.enforce_balances || enforce(&run.balance).is_ok() {
            return Ok(run);
        }
        options.relative_tolerance *= 0.1;
    }
    let run = run_once(batch, start, stages, &options, progress)?;
    enforce(&run.balance)?;
    Ok(run)
}

/// How often a run whose balances do not close is computed again.
const REPEATS: usize = 2;

fn run_once(
    batch: &Batch,
    start: &Snapshot,
    stages: &[StageInput],
    options: &Options,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Run, SimulateError> {
    let Some(first) = stages.first() else {
        return Err(SimulateError::NoEnd { stage: "(none)".to_owned() });
    };
    let mut batch = batch.clone();
    batch.load = start.load.clone();
    let system = System::new(&batch, Setting::new(&batch, first, &[]));
    let mut driver = Driver::new(system, start, options);
    for (index, stage) in stages.iter().enumerate() {
        driver.stage(index, stage, options, progress)?;
        if options.timer_ends_s.is_some_and(|end| driver.t >= end) {
            break;
        }
    }
    Ok(driver.finish())
}

/// The state a batch starts from: chamber, shell and racks at room state or the given temperature, heater cold, product
/// as delivered.
///
/// # Errors
/// [`SimulateError::OutOfRange`] as [`Batch::check`].
pub fn start(batch: &Batch) -> Result<Snapshot, SimulateError> {
    batch.check()?;
    Ok(start_state(batch))
}

fn start_state(batch: &Batch) -> Snapshot {
    let idle = StageInput {
        name: String::new(),
        set_point_c: None,
        vent: crate::VentSetting::Opening(0.0),
        fan: None,
        door_open: false,
        added_water: None,
        ends: Vec::new(),
        at_most_s: None,
        actions: Vec::new(),
        room: None,
    };
    let setting = Setting::new(batch, &idle, &[]);
    let (room_t, room_w) = (setting.room_t, setting.room_w);
    let system = System::new(batch, setting);
    let mut y = vec![0.0; system.len()];
    let at = system.chamber_at();
    for node in y[..at].chunks_exact_mut(2) {
        node[0] = batch.material.moisture_initial_dry_basis;
        node[1] = batch.material.temperature_initial_c;
    }
    let t = batch.chamber_start_c.unwrap_or(room_t);
    let b = &mut y[at..];
    b[chamber::T] = t;
    b[chamber::W] = room_w;
    b[chamber::SHELL] = t;
    b[chamber::RACKS] = t;
    b[chamber::SENSOR] = t;
    b[chamber::HEATER] = match batch.chamber.heater_delay {
        HeaterDelay::Lag { .. } => 0.0,
        HeaterDelay::Element { .. } => t,
    };
    Snapshot { elapsed_s: 0.0, load: batch.load.clone(), relay_closed: true, y }
}

/// The system with its matrix, as the integrator sees it.
struct Solved {
    system: System,
    jacobian: SystemJacobian,
    chain: ChainSolver,
    rtol: f64,
    scratch: Vec<f64>,
}

/// Absolute tolerances at relative tolerance 1, in the states' units.
const ATOL_X: f64 = 0.05;
const ATOL_T: f64 = 10.0;
const ATOL_CHAMBER: [f64; STATES] = [10.0, 0.02, 10.0, 10.0, 100.0, 0.5, 10.0, 0.1];

impl Problem for Solved {
    fn rates(&mut self, y: &[f64], dy: &mut [f64]) {
        self.system.rates(y, dy, None);
    }
    fn slopes(&mut self, y: &[f64]) {
        self.system.rates(y, &mut self.scratch, Some(&mut self.jacobian));
    }
    fn factor(&mut self, c: f64) -> bool {
        self.chain.factor(&self.jacobian, &self.system.places, c)
    }
    fn solve(&self, r: &mut [f64]) {
        self.chain.solve(&self.jacobian, &self.system.places, r);
    }
    #[allow(clippy::cast_precision_loss)]
    fn norm(&self, change: &[f64], weights: &[f64]) -> f64 {
        let at = self.system.chamber_at();
        let square = |from: usize, to: usize| {
            change[from..to].iter().zip(&weights[from..to]).map(|(c, w)| (c * w) * (c * w)).sum::<f64>()
        };
        let pieces = square(0, at) / at as f64;
        let chamber = square(at, at + STATES) / STATES as f64;
        pieces.max(chamber).sqrt()
    }
    fn weights(&self, y: &[f64], weights: &mut [f64]) {
        let at = self.system.chamber_at();
        for (w, v) in weights[..at].chunks_exact_mut(2).zip(y[..at].chunks_exact(2)) {
            w[0] = 1.0 / (self.rtol * (ATOL_X + v[0].abs()));
            w[1] = 1.0 / (self.rtol * (ATOL_T + v[1].abs()));
        }
        for i in 0..STATES {
            weights[at + i] = 1.0 / (self.rtol * (ATOL_CHAMBER[i] + y[at + i].abs()));
        }
    }
}

struct Driver {
    solved: Solved,
    ndf: Option<Ndf>,
    t: f64,
    y: Vec<f64>,
    relay_closed: bool,
    start: Stock,
    counters_start: [f64; COUNTERS],
    left: (f64, f64),
    counts: Counts,
    samples: Vec<Sample>,
    next_sample: f64,
    next_wanted: usize,
    snapshots: Vec<Snapshot>,
    next_snapshot: usize,
    stage_ends: Vec<StageEnd>,
    buffer: Vec<f64>,
    out: Vec<TraysOut>,
}

/// Trays that are out of the cabinet for a while.
struct TraysOut {
    group: usize,
    trays: f64,
    /// The group's pieces as they went out.
    pieces: Vec<f64>,
    /// Water, kg, and enthalpy, J, that they carry.
    carried: (f64, f64),
}

/// What stopped the integration of a stretch.
enum Halt {
    Bound,
    Condition(usize),
    Relay,
}

impl Driver {
    fn new(system: System, start: &Snapshot, options: &Options) -> Self {
        let jacobian = system.empty_jacobian();
        let chain = ChainSolver::new(system.food.grid.nodes, system.places.len());
        let at = system.chamber_at();
        let stock = stock(&system, &start.y);
        let mut counters_start = [0.0; COUNTERS];
        counters_start.copy_from_slice(&start.y[at + STATES..]);
        let n = system.len();
        Self {
            solved: Solved {
                system,
                jacobian,
                chain,
                rtol: options.relative_tolerance,
                scratch: vec![0.0; n],
            },
            ndf: None,
            t: start.elapsed_s,
            y: start.y.clone(),
            relay_closed: start.relay_closed,
            start: stock,
            counters_start,
            left: (0.0, 0.0),
            counts: Counts::default(),
            samples: Vec::new(),
            next_sample: start.elapsed_s,
            next_wanted: 0,
            snapshots: Vec::new(),
            next_snapshot: 0,
            stage_ends: Vec::new(),
            buffer: vec![0.0; n],
            out: Vec::new(),
        }
    }

    fn stage(
        &mut self,
        index: usize,
        stage: &StageInput,
        options: &Options,
        progress: &mut dyn FnMut(f64) -> bool,
    ) -> Result<(), SimulateError> {
        if stage.ends.is_empty() && stage.at_most_s.is_none() && options.timer_ends_s.is_none() {
            return Err(SimulateError::NoEnd { stage: stage.name.clone() });
        }
        self.act(stage)?;
        let started = self.t;
        let elapsed_end = stage.ends.iter().find_map(|e| match e {
            EndCondition::Elapsed { seconds } => Some(*seconds),
            _ => None,
        });
        let mut stretch = Stretch::new(stage, started, elapsed_end, options);
        let reason = loop {
            if let Some(reason) = stretch.held(self.t) {
                break reason;
            }
            let active = self.active();
            self.trays_out(&stage.name, &active)?;
            self.configure(stage, &active);
            if let Some(i) = stretch.already(&self.solved.system, &self.y) {
                if stretch.begin_hold(i, self.t) {
                    continue;
                }
                break StopReason::Reached(stage.ends[i]);
            }
            let bound = stretch.bound(self.t).min(self.next_switch());
            if bound > self.t {
                match self.integrate(index, bound, &mut stretch, options, progress)? {
                    Halt::Relay => self.relay_closed = !self.relay_closed,
                    Halt::Condition(i) if stretch.begin_hold(i, self.t) => {}
                    Halt::Condition(i) => break StopReason::Reached(stage.ends[i]),
                    Halt::Bound => {}
                }
            }
            if self.t >= stretch.hard_end() {
                break stretch.timed_out(stage, started, options)?;
            }
        };
        let s = sample(&self.solved.system, self.t, index, &self.y);
        self.samples.push(s.clone());
        self.stage_ends.push(StageEnd { name: stage.name.clone(), started_s: started, reason, sample: s });
        Ok(())
    }

    fn act(&mut self, stage: &StageInput) -> Result<(), SimulateError> {
        if stage.actions.is_empty() {
            return Ok(());
        }
        let mut batch = self.solved.system.batch.clone();
        let left = apply(&stage.actions, &stage.name, &mut batch, &self.solved.system, &mut self.y)?;
        self.left.0 += left.0;
        self.left.1 += left.1;
        self.solved.system = System::new(&batch, self.solved.system.setting.clone());
        Ok(())
    }

    /// Takes trays out, or puts those back whose time outside is over: they come back as they went (drying outside and
    /// cooling left out) and their group goes on at the mean of both.
    fn trays_out(&mut self, stage: &str, active: &[InterruptionKind]) -> Result<(), SimulateError> {
        let wanted: Vec<(usize, f64)> = active
            .iter()
            .filter_map(|k| match k {
                InterruptionKind::TraysOut { group, trays } => Some((*group, *trays)),
                _ => None,
            })
            .collect();
        let is_out =
            |list: &[TraysOut], w: &(usize, f64)| list.iter().any(|o| o.group == w.0 && o.trays == w.1);
        let back: Vec<usize> = (0..self.out.len())
            .filter(|&i| !wanted.contains(&(self.out[i].group, self.out[i].trays)))
            .collect();
        for i in back.into_iter().rev() {
            let out = self.out.remove(i);
            let mut batch = self.solved.system.batch.clone();
            let inside = batch.load.groups[out.group].loaded_trays;
            let enthalpy_before = self.carried(out.group, inside).1;
            batch.load.groups[out.group].loaded_trays = inside + out.trays;
            let share = out.trays / (inside + out.trays);
            let (from, len) = self.group_range(out.group);
            for (now, kept) in self.y[from..from + len].iter_mut().zip(&out.pieces) {
                *now += share * (kept - *now);
            }
            self.solved.system = System::new(&batch, self.solved.system.setting.clone());
            self.left.0 -= out.carried.0;
            self.left.1 += enthalpy_before - self.carried(out.group, inside + out.trays).1;
        }
        for w in wanted {
            if is_out(&self.out, &w) {
                continue;
            }
            let (group, trays) = w;
            let mut batch = self.solved.system.batch.clone();
            let loaded = batch.load.groups.get(group).map_or(0.0, |g| g.loaded_trays);
            if !(trays > 0.0 && trays < loaded) {
                return Err(SimulateError::ImpossibleAction {
                    stage: stage.to_owned(),
                    what: format!("{trays} trays out of group {}", group + 1),
                    allowed: format!("more than 0 and fewer than the {loaded} loaded there"),
                });
            }
            let carried = self.carried(group, trays);
            let (from, len) = self.group_range(group);
            let pieces = self.y[from..from + len].to_vec();
            batch.load.groups[group].loaded_trays = loaded - trays;
            self.left.0 += carried.0;
            self.left.1 += carried.1;
            self.solved.system = System::new(&batch, self.solved.system.setting.clone());
            self.out.push(TraysOut { group, trays, pieces, carried });
        }
        Ok(())
    }

    /// Where a group's pieces stand in the state.
    fn group_range(&self, group: usize) -> (usize, usize) {
        let system = &self.solved.system;
        let len = system.chamber_at() / system.batch.load.groups.len();
        (group * len, len)
    }

    /// Water and enthalpy on some trays of a group.
    fn carried(&self, group: usize, trays: f64) -> (f64, f64) {
        let system = &self.solved.system;
        let share = trays / system.batch.load.groups[group].loaded_trays;
        let places = system.places.iter().enumerate().filter(|(_, p)| p.group == group);
        places.fold((0.0, 0.0), |(water, heat), (i, place)| {
            let piece = system.piece(&self.y, i);
            let area = share * place.area;
            (
                water + area * system.food.grid.solids * system.food.mean_moisture(piece),
                heat + area * system.food.enthalpy(piece),
            )
        })
    }

    fn configure(&mut self, stage: &StageInput, active: &[InterruptionKind]) {
        let mut setting = Setting::new(&self.solved.system.batch, stage, active);
        setting.relay_closed = self.relay_closed;
        self.solved.system.setting = setting;
    }

    fn active(&self) -> Vec<InterruptionKind> {
        let t = self.t;
        let list = self.solved.system.batch.interruptions.iter();
        list.filter(|i| i.start_s <= t && t < i.start_s + i.duration_s).map(|i| i.kind).collect()
    }

    /// Next begin or end of an interruption.
    fn next_switch(&self) -> f64 {
        let list = self.solved.system.batch.interruptions.iter();
        list.flat_map(|i| [i.start_s, i.start_s + i.duration_s])
            .filter(|&s| s > self.t)
            .fold(f64::INFINITY, f64::min)
    }

    fn integrate(
        &mut self,
        index: usize,
        bound: f64,
        stretch: &mut Stretch<'_>,
        options: &Options,
        progress: &mut dyn FnMut(f64) -> bool,
    ) -> Result<Halt, SimulateError> {
        let mut ndf = match self.ndf.take() {
            Some(mut ndf) => {
                ndf.t = self.t;
                ndf.y.copy_from_slice(&self.y);
                ndf.restart(&mut self.solved);
                ndf
            }
            None => Ndf::new(&mut self.solved, self.t, &self.y, options.relative_tolerance),
        };
        let halt = loop {
            let before = ndf.t;
            if let Err(e) = ndf.step(&mut self.solved, bound) {
                return Err(SimulateError::StepTooSmall { elapsed_s: ndf.t, step_s: e.step_s });
            }
            if !progress(ndf.t) {
                return Err(SimulateError::Cancelled { elapsed_s: ndf.t });
            }
            let event = self.event(&ndf, before, stretch);
            let reached = event.as_ref().map_or(ndf.t, |e| e.0);
            self.record(&ndf, before, reached, index, options);
            if let Some((t, halt)) = event {
                ndf.at(t, &mut self.buffer);
                self.y.copy_from_slice(&self.buffer);
                self.t = t;
                break halt;
            }
            if ndf.t >= bound {
                self.y.copy_from_slice(&ndf.y);
                self.t = bound;
                break Halt::Bound;
            }
        };
        self.counts.add(&ndf.counts);
        ndf.counts = Counts::default();
        self.ndf = Some(ndf);
        Ok(halt)
    }

    /// The first event within the last step, with its time.
    fn event(&mut self, ndf: &Ndf, before: f64, stretch: &mut Stretch<'_>) -> Option<(f64, Halt)> {
        let mut first: Option<(f64, Halt)> = None;
        let tolerance = 1e-3_f64.min(1e-3 * (ndf.t - before));
        let system = &self.solved.system;
        let buffer = &mut self.buffer;
        for i in 0..stretch.stage.ends.len() {
            let condition = stretch.stage.ends[i];
            let Some(now) = distance(&condition, system, &ndf.y) else { continue };
            stretch.closest[i] = stretch.closest[i].min(now);
            if now > 0.0 {
                stretch.drop_hold(i);
                continue;
            }
            if stretch.holding(i) {
                continue;
            }
            let t = root(before, ndf.t, tolerance, |t| {
                ndf.at(t, buffer);
                distance(&condition, system, buffer).unwrap_or(1.0)
            });
            if first.as_ref().is_none_or(|f| t < f.0) {
                first = Some((t, Halt::Condition(i)));
            }
        }
        if let (ControllerKind::OnOff { hysteresis_k }, Some(set_point)) =
            (system.batch.chamber.controller.kind, system.setting.set_point_c)
        {
            let sign = if self.relay_closed { 1.0 } else { -1.0 };
            let at = system.chamber_at();
            let gap = |y: &[f64]| sign * (set_point - sensed(&system.batch, &y[at..])) + 0.5 * hysteresis_k;
            if gap(&ndf.y) <= 0.0 {
                let t = root(before, ndf.t, tolerance, |t| {
                    ndf.at(t, buffer);
                    gap(buffer)
                });
                if first.as_ref().is_none_or(|f| t < f.0) {
                    first = Some((t, Halt::Relay));
                }
            }
        }
        first
    }

    /// Samples and snapshots that fall into the last step, up to `reached`.
    fn record(&mut self, ndf: &Ndf, before: f64, reached: f64, index: usize, options: &Options) {
        loop {
            let regular = if options.sample_every_s.is_some() { self.next_sample } else { f64::INFINITY };
            let wanted = options.samples_at_s.get(self.next_wanted).copied().unwrap_or(f64::INFINITY);
            let t = regular.min(wanted);
            if !(t <= reached) {
                break;
            }
            if t >= before {
                ndf.at(t, &mut self.buffer);
                self.samples.push(sample(&self.solved.system, t, index, &self.buffer));
            }
            if wanted <= t {
                self.next_wanted += 1;
            }
            if regular <= t {
                self.next_sample += options.sample_every_s.unwrap_or(f64::INFINITY);
            }
        }
        while let Some(&t) = options.snapshots_at_s.get(self.next_snapshot) {
            if t > reached {
                break;
            }
            if t >= before {
                ndf.at(t, &mut self.buffer);
                self.snapshots.push(self.snapshot(t, self.buffer.clone()));
            }
            self.next_snapshot += 1;
        }
    }

    fn snapshot(&self, elapsed_s: f64, y: Vec<f64>) -> Snapshot {
        Snapshot {
            elapsed_s,
            load: self.solved.system.batch.load.clone(),
            relay_closed: self.relay_closed,
            y,
        }
    }

    fn finish(self) -> Run {
        let system = &self.solved.system;
        let area: f64 = system.places.iter().map(|p| p.area).sum();
        Run {
            balance: balance(system, &self.start, &self.counters_start, &self.y, self.left),
            solids_kg: area * system.food.grid.solids,
            end: self.snapshot(self.t, self.y.clone()),
            stage_ends: self.stage_ends,
            samples: self.samples,
            snapshots: self.snapshots,
            counts: self.counts,
        }
    }
}

/// The ends of the stage under way.
struct Stretch<'a> {
    stage: &'a StageInput,
    /// Elapsed end, at-most end and longest run, s of the run.
    elapsed_end: f64,
    at_most: f64,
    longest: f64,
    timer: f64,
    /// When a held condition began to hold.
    hold_since: Vec<Option<f64>>,
    closest: Vec<f64>,
}

impl<'a> Stretch<'a> {
    fn new(stage: &'a StageInput, started: f64, elapsed_end: Option<f64>, options: &Options) -> Self {
        Self {
            stage,
            elapsed_end: elapsed_end.map_or(f64::INFINITY, |s| started + s),
            at_most: stage.at_most_s.map_or(f64::INFINITY, |s| started + s),
            longest: started + options.longest_stage_s,
            timer: options.timer_ends_s.unwrap_or(f64::INFINITY),
            hold_since: vec![None; stage.ends.len()],
            closest: vec![f64::INFINITY; stage.ends.len()],
        }
    }
    fn hard_end(&self) -> f64 {
        self.elapsed_end.min(self.at_most).min(self.longest).min(self.timer)
    }
    fn bound(&self, t: f64) -> f64 {
        let hold = (0..self.hold_since.len()).filter_map(|i| self.hold_end(i)).fold(f64::INFINITY, f64::min);
        self.hard_end().min(hold.max(t))
    }
    fn hold_end(&self, i: usize) -> Option<f64> {
        Some(self.hold_since[i]? + hold_s(&self.stage.ends[i]))
    }
    fn holding(&self, i: usize) -> bool {
        self.hold_since[i].is_some()
    }
    fn drop_hold(&mut self, i: usize) {
        self.hold_since[i] = None;
    }
    /// Starts the hold of a condition that needs one; false where it needs none.
    fn begin_hold(&mut self, i: usize, t: f64) -> bool {
        if hold_s(&self.stage.ends[i]) > 0.0 && self.hold_since[i].is_none() {
            self.hold_since[i] = Some(t);
            return true;
        }
        false
    }
    fn held(&self, t: f64) -> Option<StopReason> {
        let done = (0..self.hold_since.len()).find(|&i| self.hold_end(i).is_some_and(|end| t >= end - 1e-9));
        done.map(|i| StopReason::Reached(self.stage.ends[i]))
    }
    /// A condition that already holds and is not being held.
    fn already(&self, system: &System, y: &[f64]) -> Option<usize> {
        (0..self.stage.ends.len())
            .find(|&i| !self.holding(i) && distance(&self.stage.ends[i], system, y).is_some_and(|d| d <= 0.0))
    }
    fn timed_out(
        &self,
        stage: &StageInput,
        started: f64,
        options: &Options,
    ) -> Result<StopReason, SimulateError> {
        let end = self.hard_end();
        if end == self.timer {
            return Ok(StopReason::Timer);
        }
        if end == self.elapsed_end {
            return Ok(StopReason::Reached(EndCondition::Elapsed { seconds: self.elapsed_end - started }));
        }
        if end == self.at_most {
            return Ok(StopReason::AtMost);
        }
        let (Some(&condition), Some(&closest)) = (stage.ends.first(), self.closest.first()) else {
            return Ok(StopReason::AtMost);
        };
        Err(SimulateError::NeverEnds {
            stage: stage.name.clone(),
            condition,
            closest,
            limit_h: options.longest_stage_s / 3600.0,
        })
    }
}
