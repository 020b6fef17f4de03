//! What was done to the batch so far, and the walk of the model along it.

use fallrate_equipment::Cabinet;
use fallrate_foods::Product;
use fallrate_plan::sweep::Fineness;
use fallrate_plan::{Assembled, interruption_kind, stage_input};
use fallrate_schedule::{self as schedule, EndCondition};
use fallrate_simulate::{
    Batch, Interruption, InterruptionKind, Options, Sample, SimulateError, Snapshot, StageEnd, StageInput,
    run_from, start,
};

use crate::FollowError;

/// What a batch is followed with: the plan's numbers and the facts they came from.
#[derive(Clone, Copy, Debug)]
pub struct Case<'a> {
    /// The plan's numbers, with stages; as [`fallrate_plan::Plan::assembled`].
    pub assembled: &'a Assembled,
    /// Product.
    pub product: &'a Product,
    /// Cabinet.
    pub cabinet: &'a Cabinet,
}

/// One thing that was done.
#[derive(Clone, Debug, PartialEq)]
pub enum Deed {
    /// The plan's stage with this index began: its settings and its actions were carried out.
    Stage(usize),
    /// Set point, degC; none: heater off.
    SetPoint(Option<f64>),
    /// Vent.
    Vent(schedule::VentSetting),
    /// Fan.
    Fan(schedule::FanSetting),
    /// Something was done to the trays.
    Trays(schedule::Action),
    /// The countdown was dialled, s; the power goes off when it has run down.
    Dialled {
        /// s
        dial_s: f64,
    },
}

/// A deed with its true time.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// s from the start of the run.
    pub at_s: f64,
    /// What.
    pub deed: Deed,
}

/// An interruption that was met.
#[derive(Clone, Debug, PartialEq)]
pub struct Interrupted {
    /// What.
    pub kind: schedule::InterruptionKind,
    /// From, s from the start.
    pub from_s: f64,
    /// To; none: it still lasts, and is taken to end now.
    pub until_s: Option<f64>,
}

/// What to think of a stage whose beginning nobody has confirmed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unconfirmed {
    /// It has not begun: the stage before goes on until now.
    NotDone,
    /// It began when the plan's condition came true.
    AsPlanned,
}

/// The batch up to now.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// s from the start of the run.
    pub now_s: f64,
    /// What was done, in order of time.
    pub done: Vec<Done>,
    /// Interruptions.
    pub interrupted: Vec<Interrupted>,
    /// Stages nobody has confirmed.
    pub unconfirmed: Unconfirmed,
}

impl Course {
    /// A batch that runs by its plan, so far without a deed.
    #[must_use]
    pub fn by_plan(now_s: f64) -> Self {
        Self { now_s, done: Vec::new(), interrupted: Vec::new(), unconfirmed: Unconfirmed::AsPlanned }
    }

    /// End of the countdown that was dialled last, s; none: none was.
    #[must_use]
    pub fn dialled_end_s(&self) -> Option<f64> {
        self.done.iter().rev().find_map(|d| match d.deed {
            Deed::Dialled { dial_s } => Some(d.at_s + dial_s),
            _ => None,
        })
    }

    /// How often trays changed places before a time: a tray's number means its place.
    pub(crate) fn swaps_before(&self, at_s: f64, case: &Case<'_>) -> usize {
        let moves = |a: &schedule::Action| matches!(a, schedule::Action::SwapGroups { .. });
        let swaps = |d: &Done| match &d.deed {
            Deed::Trays(a) => usize::from(moves(a)),
            Deed::Stage(i) => {
                case.assembled.stages.get(*i).map_or(0, |s| s.actions.iter().filter(|a| moves(a)).count())
            }
            _ => 0,
        };
        self.done.iter().filter(|d| d.at_s <= at_s).map(swaps).sum()
    }

    pub(crate) fn check(&self, case: &Case<'_>) -> Result<(), FollowError> {
        let time = |what, at_s: f64, low_s: f64, high_s: f64| {
            if at_s >= low_s && at_s <= high_s {
                Ok(())
            } else {
                Err(FollowError::Time { what, at_s, low_s, high_s })
            }
        };
        time("now", self.now_s, 0.0, schedule::LONGEST_S)?;
        let mut before = 0.0;
        for d in &self.done {
            time("deed", d.at_s, before, self.now_s)?;
            before = d.at_s;
            match d.deed {
                Deed::Stage(i) if i >= case.assembled.setup.stages.len() => {
                    let stages = case.assembled.setup.stages.len();
                    return Err(FollowError::NoSuchStage { stage: i + 1, stages });
                }
                Deed::Dialled { dial_s } => time("dial of the timer", dial_s, 1.0, schedule::LONGEST_S)?,
                _ => {}
            }
        }
        for i in &self.interrupted {
            time("begin of an interruption", i.from_s, 0.0, self.now_s)?;
            time("end of an interruption", i.until_s.unwrap_or(self.now_s), i.from_s, schedule::LONGEST_S)?;
        }
        Ok(())
    }
}

/// The course in the model's terms.
#[derive(Clone, Debug)]
pub(crate) struct Track<'a> {
    pub case: Case<'a>,
    pub now_s: f64,
    /// Deeds that change the run, each with its settings resolved.
    steps: Vec<(f64, Step)>,
    pub interruptions: Vec<Interruption>,
    follow_plan: bool,
}

#[derive(Clone, Debug)]
enum Step {
    Stage(usize),
    Settings(Settings),
    Actions(Vec<fallrate_simulate::Action>),
}

/// What is set otherwise than the stage says.
#[derive(Clone, Debug, Default)]
pub(crate) struct Settings {
    pub set_point_c: Option<Option<f64>>,
    pub vent: Option<fallrate_simulate::VentSetting>,
    pub fan: Option<Option<fallrate_simulate::FanSetting>>,
}

impl Settings {
    pub fn apply(&self, stage: &mut StageInput) {
        if let Some(c) = self.set_point_c {
            stage.set_point_c = c;
        }
        if let Some(v) = self.vent {
            stage.vent = v;
        }
        if let Some(f) = self.fan {
            stage.fan = f;
        }
    }
    fn merge(&mut self, later: &Self) {
        self.set_point_c = later.set_point_c.or(self.set_point_c);
        self.vent = later.vent.or(self.vent);
        self.fan = later.fan.or(self.fan);
    }
}

/// A deed's settings as the model takes them.
pub(crate) fn settings(case: &Case<'_>, deed: &Deed) -> Result<Settings, FollowError> {
    let mut stage = schedule::Stage::new(
        "deed",
        schedule::VentSetting::Opening(case.cabinet.least_vent_opening()),
        schedule::FanSetting::Strongest,
    );
    let mut s = Settings::default();
    match deed {
        Deed::Vent(v) => stage.vent = v.clone(),
        Deed::Fan(f) => stage.fan = f.clone(),
        Deed::SetPoint(c) => stage.set_point_c = *c,
        _ => {}
    }
    let input = stage_input(&stage, case.cabinet, &case.assembled.trays_by_group)?;
    match deed {
        Deed::Vent(_) => s.vent = Some(input.vent),
        Deed::Fan(_) => s.fan = Some(input.fan),
        Deed::SetPoint(_) => s.set_point_c = Some(input.set_point_c),
        _ => {}
    }
    Ok(s)
}

fn actions(
    case: &Case<'_>,
    action: &schedule::Action,
) -> Result<Vec<fallrate_simulate::Action>, FollowError> {
    let shut = schedule::VentSetting::Opening(case.cabinet.least_vent_opening());
    let mut stage = schedule::Stage::new("deed", shut, schedule::FanSetting::Strongest);
    stage.actions = vec![action.clone()];
    Ok(stage_input(&stage, case.cabinet, &case.assembled.trays_by_group)?.actions)
}

/// A kind of interruption from one time to another.
pub(crate) fn interruption(
    case: &Case<'_>,
    kind: &schedule::InterruptionKind,
    from_s: f64,
    until_s: f64,
) -> Result<Interruption, FollowError> {
    let kind = interruption_kind(kind, case.cabinet, &case.assembled.trays_by_group)?;
    Ok(Interruption { kind, start_s: from_s, duration_s: until_s - from_s })
}

/// Where a run stands now.
#[derive(Clone, Debug)]
pub(crate) struct Standing {
    pub state: Snapshot,
    /// The plan's stage under way, when it began, s, and what is set otherwise.
    pub stage: usize,
    pub began_s: f64,
    pub settings: Settings,
    /// Actions that were done at the very last instant.
    pending: Vec<fallrate_simulate::Action>,
    /// Samples at the times asked for, and at the ends of stretches.
    pub samples: Vec<Sample>,
    /// Stretches so far with their ends.
    pub trail: Vec<(StageInput, StageEnd)>,
}

impl<'a> Track<'a> {
    pub fn new(case: Case<'a>, course: &Course) -> Result<Self, FollowError> {
        course.check(&case)?;
        let mut steps = Vec::new();
        for d in &course.done {
            match &d.deed {
                Deed::Stage(i) => steps.push((d.at_s, Step::Stage(*i))),
                Deed::Trays(a) => steps.push((d.at_s, Step::Actions(actions(&case, a)?))),
                Deed::Dialled { .. } => {}
                setting => steps.push((d.at_s, Step::Settings(settings(&case, setting)?))),
            }
        }
        let mut interruptions = Vec::new();
        for i in &course.interrupted {
            let until = i.until_s.unwrap_or(course.now_s);
            if until > i.from_s {
                interruptions.push(interruption(&case, &i.kind, i.from_s, until)?);
            }
        }
        interruptions.extend(run_down(course));
        let follow_plan = course.unconfirmed == Unconfirmed::AsPlanned;
        Ok(Self { case, now_s: course.now_s, steps, interruptions, follow_plan })
    }

    /// A batch with this course's interruptions.
    pub fn batch(&self, batch: &Batch) -> Batch {
        let mut b = batch.clone();
        b.interruptions.clone_from(&self.interruptions);
        b
    }

    /// Stage of the plan with its mean shift of an on/off heater.
    fn planned(&self, index: usize) -> StageInput {
        let setup = &self.case.assembled.setup;
        let mut stage = setup.stages[index].clone();
        let shift = setup.relay_shifts_k.get(index).copied().unwrap_or(0.0);
        stage.set_point_c = stage.set_point_c.map(|c| c + shift);
        stage
    }

    /// Walks a batch to now; samples at these times, s, rising.
    pub fn walk(
        &self,
        batch: &Batch,
        fineness: &Fineness,
        times: &[f64],
        progress: &mut dyn FnMut(f64) -> bool,
    ) -> Result<Standing, SimulateError> {
        let mut at = Standing {
            state: start(batch)?,
            stage: 0,
            began_s: 0.0,
            settings: Settings::default(),
            pending: self.planned(0).actions,
            samples: Vec::new(),
            trail: Vec::new(),
        };
        for (k, (at_s, step)) in self.steps.iter().enumerate() {
            let grid = (fineness, times);
            self.go(&mut at, *at_s, batch, grid, self.next_confirmed(k), progress)?;
            match step {
                Step::Stage(i) => {
                    at.stage = *i;
                    at.began_s = *at_s;
                    at.settings = Settings::default();
                    at.pending.extend(self.planned(*i).actions);
                }
                Step::Settings(s) => at.settings.merge(s),
                Step::Actions(a) => at.pending.extend(a.iter().copied()),
            }
        }
        self.go(&mut at, self.now_s, batch, (fineness, times), None, progress)?;
        Ok(at)
    }

    /// The stage that is confirmed next from a step on: by the plan it must not begin before.
    fn next_confirmed(&self, step: usize) -> Option<usize> {
        self.steps.iter().skip(step).find_map(|(_, s)| match s {
            Step::Stage(i) => Some(*i),
            _ => None,
        })
    }

    /// Runs a stretch up to a time: the stage under way, and by the plan those after it before the one confirmed next.
    fn go(
        &self,
        at: &mut Standing,
        until_s: f64,
        batch: &Batch,
        (fineness, times): (&Fineness, &[f64]),
        confirmed: Option<usize>,
        progress: &mut dyn FnMut(f64) -> bool,
    ) -> Result<(), SimulateError> {
        let from_s = at.state.elapsed_s;
        // A run of no length still gives its state, once.
        if until_s < from_s || (until_s == from_s && !at.samples.is_empty()) {
            return Ok(());
        }
        let mut stages = vec![self.under_way(at)];
        let ahead = confirmed.map_or(usize::MAX, |i| i.saturating_sub(at.stage));
        if self.follow_plan && ahead > 1 {
            stages = self.remaining(at, from_s);
            stages.truncate(ahead);
            if let Some(last) = stages.last_mut() {
                last.ends.clear();
                last.at_most_s = None;
            }
        }
        let options = Options {
            relative_tolerance: fineness.relative_tolerance,
            sample_every_s: None,
            samples_at_s: times.iter().copied().filter(|t| *t >= from_s && *t < until_s).collect(),
            timer_ends_s: Some(until_s),
            enforce_balances: false,
            ..Options::default()
        };
        let run = run_from(batch, &at.state, &stages, &options, progress)?;
        let ended = run.stage_ends.len();
        if ended > 1 {
            at.stage += ended - 1;
            at.began_s = run.stage_ends[ended - 1].started_s;
            at.settings = Settings::default();
        }
        at.pending.clear();
        at.trail.extend(stages.into_iter().zip(run.stage_ends));
        at.samples.extend(run.samples);
        at.state = run.end;
        Ok(())
    }

    /// The stage under way, without an end.
    fn under_way(&self, at: &Standing) -> StageInput {
        let mut stage = self.planned(at.stage);
        at.settings.apply(&mut stage);
        stage.actions.clone_from(&at.pending);
        stage.ends.clear();
        stage.at_most_s = None;
        stage
    }

    /// What is left of the plan from a time on: the rest of the stage under way, then the others; the last has no end.
    pub fn remaining(&self, at: &Standing, from_s: f64) -> Vec<StageInput> {
        let gone_s = from_s - at.began_s;
        let mut first = self.planned(at.stage);
        at.settings.apply(&mut first);
        first.actions.clone_from(&at.pending);
        for end in &mut first.ends {
            if let EndCondition::Elapsed { seconds } = end {
                *seconds = (*seconds - gone_s).max(0.0);
            }
        }
        first.at_most_s = first.at_most_s.map(|s| (s - gone_s).max(0.0));
        let rest = (at.stage + 1..self.case.assembled.setup.stages.len()).map(|i| self.planned(i));
        std::iter::once(first).chain(rest).collect()
    }
}

/// A countdown that has run down took the power with it until the next was dialled.
fn run_down(course: &Course) -> Vec<Interruption> {
    let dialled: Vec<(f64, f64)> = course
        .done
        .iter()
        .filter_map(|d| match d.deed {
            Deed::Dialled { dial_s } => Some((d.at_s, d.at_s + dial_s)),
            _ => None,
        })
        .collect();
    let next = dialled.iter().skip(1).map(|d| d.0).chain([course.now_s]);
    dialled
        .iter()
        .zip(next)
        .filter(|((_, end), next)| end < next)
        .map(|((_, end), next)| Interruption {
            kind: InterruptionKind::PowerOff,
            start_s: *end,
            duration_s: next - end,
        })
        .collect()
}
