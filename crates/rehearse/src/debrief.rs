//! After a rehearsal: what was done against the plan, what it cost, what would have been better.

use fallrate_lethality::{Case, ExposureFinding, RehearsalResult};
use fallrate_plan::spread::Input;
use fallrate_plan::stage_input;
use fallrate_schedule::Stage;
use fallrate_simulate::StageInput;
use rayon::prelude::*;

use crate::outcome::{Outcome, outcome};
use crate::replay::{Replay, as_planned, planned_acts, with_acts};
use crate::{Act, DoneAct, Fault, FaultKind, RehearseError, VirtualCabinet};

/// One act that the plan asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct ActCompared {
    /// The act.
    pub act: Act,
    /// When it was due on this very cabinet: when the plan's own condition came true there, s.
    pub due_s: f64,
    /// When the trainee did it, s; none: not at all.
    pub done_s: Option<f64>,
}

impl ActCompared {
    /// How late it was, s; negative for early.
    #[must_use]
    pub fn late_s(&self) -> Option<f64> {
        self.done_s.map(|s| s - self.due_s)
    }
}

/// A fault and what came of it.
#[derive(Clone, Debug, PartialEq)]
pub struct FaultSeen {
    /// The fault.
    pub fault: Fault,
    /// When the trainee saw to it, s: the door shut, the sock wetted, the probe put back; none: not, or nothing to do.
    pub seen_to_s: Option<f64>,
}

/// Something done otherwise.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Everything as the plan says, each act the moment it was due.
    AsPlanned,
    /// One act of the plan at its time rather than when it was done, or done where it was left out.
    InTime {
        /// Index in [`Debrief::acts`].
        act: usize,
    },
    /// One act that the plan did not ask for, not done.
    LeftUndone {
        /// Index in [`Debrief::unplanned`].
        act: usize,
    },
    /// The door shut quickly.
    DoorShut {
        /// Index in [`Debrief::faults`].
        fault: usize,
    },
    /// The power off when the target was met, and unloaded then.
    StoppedAtTarget {
        /// s
        at_s: f64,
    },
}

/// A way that was run again on the same cabinet.
#[derive(Clone, Debug, PartialEq)]
pub struct Better {
    /// What was done otherwise.
    pub change: Change,
    /// What came of it.
    pub outcome: Outcome,
    /// Loss of the rehearsal less the loss of this way, as a share of the batch's value: above 0 it would have been better.
    pub gain: f64,
}

/// The debrief.
#[derive(Clone, Debug)]
pub struct Debrief {
    /// What was hidden: each uncertain input in standard deviations from the plan's figure.
    pub hidden: Vec<(Input, f64)>,
    /// The plan's acts in order.
    pub acts: Vec<ActCompared>,
    /// What was done beside the plan; weighings and readings do not count.
    pub unplanned: Vec<DoneAct>,
    /// The faults.
    pub faults: Vec<FaultSeen>,
    /// What came of the rehearsal.
    pub outcome: Outcome,
    /// The other ways, the best first.
    pub ways: Vec<Better>,
    /// Practice judgement of the readings; none without a case.
    pub judgement: Option<RehearsalResult>,
    /// Time in the growth bands by the readings; empty without a case.
    pub exposure: Vec<ExposureFinding>,
}

/// Acts that were this near to their time are left alone, s (own judgement).
const NEAR_S: f64 = 120.0;
/// At most so many single acts are tried again, those farthest from their time first.
const MOST_TRIED: usize = 6;
/// Somebody quick shuts an open door within this time, s (own judgement).
const QUICK_S: f64 = 120.0;

impl VirtualCabinet {
    /// Looks back on a rehearsal that is over. With a case of the practice judgement the readings are judged as well.
    ///
    /// # Errors
    /// [`RehearseError::NotUnloaded`] before the unloading; [`RehearseError`] where a way cannot be run.
    pub fn debrief(&self, case: Option<&Case>) -> Result<Debrief, RehearseError> {
        if self.unloaded_s.is_none() {
            return Err(RehearseError::NotUnloaded { what: "debrief", now_s: self.now_s() });
        }
        let planned = as_planned(self)?;
        let due = planned_acts(&self.plan, &planned.stage_ends_s, planned.power_off_s);
        let (acts, unplanned) = self.compare(&due);
        let faults = self.faults_seen();
        let own = outcome(self, &with_acts(self, &self.done)?);
        let ways = self.ways(&planned, &acts, &unplanned, &faults, &own)?;
        let (mut judgement, mut exposure) = (None, Vec::new());
        if let Some(case) = case {
            let log = self.log()?;
            exposure = fallrate_lethality::exposure(&log, case)?;
            judgement = Some(fallrate_lethality::rehearse(&log, case)?);
        }
        Ok(Debrief {
            hidden: self.truth().inputs.clone(),
            acts,
            unplanned,
            faults,
            outcome: own,
            ways,
            judgement,
            exposure,
        })
    }

    /// Pairs the acts that were due with those that were done: the same setting, nearest in time, each once.
    fn compare(&self, due: &[DoneAct]) -> (Vec<ActCompared>, Vec<DoneAct>) {
        let mut free: Vec<Option<&DoneAct>> =
            self.done.iter().filter(|d| is_change(&d.act)).map(Some).collect();
        let compared = due.iter().map(|d| {
            let near = free
                .iter_mut()
                .filter(|f| f.is_some_and(|f| self.same(&f.act, &d.act)))
                .min_by(|a, b| distance(a, d.at_s).total_cmp(&distance(b, d.at_s)));
            let done_s = near.and_then(Option::take).map(|f| f.at_s);
            ActCompared { act: d.act.clone(), due_s: d.at_s, done_s }
        });
        let compared = compared.collect();
        (compared, free.into_iter().flatten().cloned().collect())
    }

    /// Two acts that set the same.
    fn same(&self, a: &Act, b: &Act) -> bool {
        let input = |act: &Act| -> Option<StageInput> {
            let shut = fallrate_schedule::VentSetting::Opening(self.cabinet.least_vent_opening());
            let mut stage = Stage::new("", shut, fallrate_schedule::FanSetting::Off);
            match act {
                Act::Vent(v) => stage.vent = v.clone(),
                Act::Fan(f) => stage.fan = f.clone(),
                _ => return None,
            }
            stage_input(&stage, &self.cabinet, &self.engine.world.trays_by_group).ok()
        };
        match (a, b) {
            (Act::Vent(_), Act::Vent(_)) | (Act::Fan(_), Act::Fan(_)) => {
                input(a).is_some_and(|a| Some(a) == input(b))
            }
            (Act::DialTimer { .. }, Act::DialTimer { .. }) => true,
            _ => a == b,
        }
    }

    fn faults_seen(&self) -> Vec<FaultSeen> {
        let seen = |f: &Fault| {
            let remedy = |act: &Act| match (f.kind, act) {
                (FaultKind::DoorOpen, Act::Door { open: false }) | (FaultKind::DrySock, Act::WetSock) => true,
                (FaultKind::ProbeOut { sensor }, Act::ReseatProbe { sensor: seated }) => sensor == *seated,
                _ => false,
            };
            let when = self.done.iter().find(|d| d.at_s >= f.from_s && remedy(&d.act));
            FaultSeen { fault: *f, seen_to_s: when.map(|d| d.at_s) }
        };
        self.scenario.faults.iter().map(seen).collect()
    }

    fn ways(
        &self,
        planned: &Replay,
        acts: &[ActCompared],
        unplanned: &[DoneAct],
        faults: &[FaultSeen],
        own: &Outcome,
    ) -> Result<Vec<Better>, RehearseError> {
        let mut tries: Vec<(Change, Vec<DoneAct>)> = self.in_time(acts);
        for (i, act) in unplanned.iter().enumerate().take(MOST_TRIED) {
            let rest = self.done.iter().filter(|d| *d != act).cloned().collect();
            tries.push((Change::LeftUndone { act: i }, rest));
        }
        for (i, seen) in faults.iter().enumerate().filter(|(_, s)| s.fault.kind == FaultKind::DoorOpen) {
            let quick = seen.fault.from_s + QUICK_S;
            if seen.seen_to_s.is_none_or(|s| s > quick) {
                tries
                    .push((Change::DoorShut { fault: i }, self.with(quick, Act::Door { open: false }, None)));
            }
        }
        if let Some(at_s) = own.target_met_s {
            let mut stopped: Vec<DoneAct> = self.done.iter().filter(|d| d.at_s < at_s).cloned().collect();
            stopped.push(DoneAct { ordered_s: at_s, at_s, act: Act::Unload });
            tries.push((Change::StoppedAtTarget { at_s }, stopped));
        }
        let mut ways = vec![(Change::AsPlanned, outcome(self, planned))];
        let runs: Vec<Result<(Change, Outcome), RehearseError>> = tries
            .into_par_iter()
            .map(|(change, acts)| Ok((change, outcome(self, &with_acts(self, &acts)?))))
            .collect();
        for run in runs {
            ways.push(run?);
        }
        let mut better: Vec<Better> = ways
            .into_iter()
            .map(|(change, outcome)| Better { change, gain: own.loss - outcome.loss, outcome })
            .collect();
        better.sort_by(|a, b| b.gain.total_cmp(&a.gain));
        Ok(better)
    }

    /// Each act that was late, early or left out, at its time.
    fn in_time(&self, acts: &[ActCompared]) -> Vec<(Change, Vec<DoneAct>)> {
        let off = |a: &ActCompared| a.late_s().map_or(f64::INFINITY, f64::abs);
        let timer = |a: &ActCompared| matches!(a.act, Act::DialTimer { .. });
        let mut wrong: Vec<usize> =
            (0..acts.len()).filter(|&i| off(&acts[i]) > NEAR_S && !timer(&acts[i])).collect();
        wrong.sort_by(|&a, &b| off(&acts[b]).total_cmp(&off(&acts[a])));
        wrong
            .into_iter()
            .take(MOST_TRIED)
            .map(|i| {
                let acts = self.with(acts[i].due_s, acts[i].act.clone(), acts[i].done_s);
                (Change::InTime { act: i }, acts)
            })
            .collect()
    }

    /// The acts as done, with one more at a time and, where it was done at another, not then.
    fn with(&self, at_s: f64, act: Act, instead_of_s: Option<f64>) -> Vec<DoneAct> {
        let moved = |d: &&DoneAct| !(Some(d.at_s) == instead_of_s && self.same(&d.act, &act));
        let mut list: Vec<DoneAct> = self.done.iter().filter(moved).cloned().collect();
        list.push(DoneAct { ordered_s: at_s, at_s, act });
        list.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
        list
    }
}

fn distance(act: &Option<&DoneAct>, at_s: f64) -> f64 {
    act.map_or(f64::INFINITY, |a| (a.at_s - at_s).abs())
}

/// Acts that change the run, as against those that only look at it or answer a fault.
fn is_change(act: &Act) -> bool {
    matches!(
        act,
        Act::SetPoint(_)
            | Act::Vent(_)
            | Act::Fan(_)
            | Act::DialTimer { .. }
            | Act::AddWater { .. }
            | Act::SwapGroups { .. }
            | Act::TurnTrays
            | Act::TurnPieces
            | Act::TakeOut { .. }
    )
}
