//! A trainee who does what the plan says, when it comes due on this very cabinet: for files to practise on, and for tests.

use crate::replay::{as_planned, planned_acts};
use crate::{Act, Along, DoneAct, FaultKind, RehearseError, VirtualCabinet};

/// What such a trainee does beside the plan's acts.
#[derive(Clone, Debug, PartialEq)]
pub struct Hand {
    /// Trays that are weighed.
    pub weigh_trays: Vec<u32>,
    /// Every so often, s, from the start on.
    pub weigh_every_s: f64,
    /// A core is read by hand at the air-leaving end of these trays, as often.
    pub core_trays: Vec<u32>,
    /// Doors are shut, socks wetted and probes put back this long after they went wrong, s; none: never.
    pub sees_to_faults_after_s: Option<f64>,
    /// The countdown is dialled for so long rather than as the plan says, s.
    pub dial_s: Option<f64>,
    /// The run is left standing at this time with the batch in the cabinet, s from the start.
    pub stop_s: Option<f64>,
    /// Unloaded at this time rather than as the plan says, s from the start.
    pub unload_s: Option<f64>,
}

impl Default for Hand {
    fn default() -> Self {
        Self {
            weigh_trays: Vec::new(),
            weigh_every_s: 3600.0,
            core_trays: Vec::new(),
            sees_to_faults_after_s: Some(600.0),
            dial_s: None,
            stop_s: None,
            unload_s: None,
        }
    }
}

impl VirtualCabinet {
    /// The plan's acts at the instants at which they are due on this very cabinet with its faults.
    ///
    /// # Errors
    /// [`RehearseError`] where the model has no result.
    pub fn due_acts(&self) -> Result<Vec<DoneAct>, RehearseError> {
        let planned = as_planned(self)?;
        Ok(planned_acts(&self.plan, &planned.stage_ends_s, planned.power_off_s))
    }

    /// Runs a cabinet that has not begun to its unloading, every act of the plan the moment it is due.
    ///
    /// # Errors
    /// As [`Self::advance`] and [`Self::act`].
    pub fn run_as_planned(
        &mut self,
        hand: &Hand,
        progress: &mut dyn FnMut(f64) -> bool,
    ) -> Result<(), RehearseError> {
        RehearseError::within("interval of weighings, s", hand.weigh_every_s, 60.0, crate::LONGEST_S)?;
        let planned = as_planned(self)?;
        let waits: f64 = self.engine.world.cuts.iter().map(|(from, to)| to - from).sum();
        let power_off_s = hand.dial_s.map_or(planned.power_off_s, |d| d + waits);
        let end_s = hand.unload_s.unwrap_or_else(|| self.plan.assembled.setup.unloaded_s(power_off_s));
        let mut acts = planned_acts(&self.plan, &planned.stage_ends_s, power_off_s);
        if let (Some(dial_s), Some(a)) =
            (hand.dial_s, acts.iter_mut().find(|a| matches!(a.act, Act::DialTimer { .. })))
        {
            a.act = Act::DialTimer { dial_s };
        }
        acts.extend(self.looks(hand, end_s));
        acts.extend(self.remedies(hand));
        let end_s = hand.stop_s.map_or(end_s, |stop| stop.min(end_s));
        acts.retain(|a| a.at_s < end_s);
        acts.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
        for a in acts {
            self.advance(a.at_s.max(self.now_s()), progress)?;
            self.act(a.act)?;
        }
        self.advance(end_s.max(self.now_s()), progress)?;
        if hand.stop_s.is_some() {
            return Ok(());
        }
        let at_s = self.act(Act::Unload)?;
        self.advance(at_s, progress)?;
        Ok(())
    }

    /// Weighings and cores by hand.
    fn looks(&self, hand: &Hand, end_s: f64) -> Vec<DoneAct> {
        let mut list = Vec::new();
        let mut at_s = 0.0;
        while at_s < end_s {
            let weigh = hand.weigh_trays.iter().map(|t| Act::Weigh { tray: *t });
            let cores = hand.core_trays.iter().map(|t| Act::ReadCore { tray: *t, along: Along::Leaving });
            // What is cold and wet when it is loaded has no core to read yet.
            list.extend(weigh.chain(cores.filter(|_| at_s > 0.0)).map(|act| DoneAct {
                ordered_s: at_s,
                at_s,
                act,
            }));
            at_s += hand.weigh_every_s;
        }
        list
    }

    fn remedies(&self, hand: &Hand) -> Vec<DoneAct> {
        let Some(after_s) = hand.sees_to_faults_after_s else { return Vec::new() };
        let remedy = |kind| match kind {
            FaultKind::DoorOpen => Some(Act::Door { open: false }),
            FaultKind::DrySock => Some(Act::WetSock),
            FaultKind::ProbeOut { sensor } => Some(Act::ReseatProbe { sensor }),
            _ => None,
        };
        let one = |f: &crate::Fault| {
            let at_s = f.from_s + after_s;
            remedy(f.kind).map(|act| DoneAct { ordered_s: at_s, at_s, act })
        };
        self.scenario.faults.iter().filter_map(one).collect()
    }
}
