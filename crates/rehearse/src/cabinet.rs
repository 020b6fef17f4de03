//! The virtual cabinet: it runs as far as it is told, takes acts at any moment, and gives readings.

use std::collections::VecDeque;
use std::sync::Arc;

use fallrate_equipment::Cabinet;
use fallrate_plan::{Plan, stage_input};
use fallrate_schedule as schedule;
use fallrate_series::{Log, Rehearsal};
use fallrate_simulate::Sample;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::channels::Channels;
use crate::engine::{Block, Engine, Knobs, World};
use crate::history::{State, state};
use crate::sensor::{Along, Sensed, Sensor};
use crate::truth::Truth;
use crate::{Act, DoneAct, RehearseError, Scenario};

/// Stream of the seed that the lag of the hand is drawn from.
const HAND: u64 = 3;
/// True states are kept this often, s, for the debrief.
const HISTORY_S: f64 = 60.0;

/// What stands on the front of the cabinet. No reading: those come as a log.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// s from the start.
    pub at_s: f64,
    /// Set point, degC; none: heater off.
    pub set_point_c: Option<f64>,
    /// Vent.
    pub vent: schedule::VentSetting,
    /// Fan.
    pub fan: schedule::FanSetting,
    /// Door open.
    pub door_open: bool,
    /// Fan and heater have power.
    pub powered: bool,
    /// What the countdown shows, s; none: not in use.
    pub timer_left_s: Option<f64>,
    /// When the batch was unloaded, s.
    pub unloaded_s: Option<f64>,
}

/// A rehearsal under way.
#[derive(Clone, Debug)]
pub struct VirtualCabinet {
    pub(crate) plan: Arc<Plan>,
    pub(crate) cabinet: Cabinet,
    pub(crate) scenario: Scenario,
    pub(crate) engine: Engine,
    channels: Channels,
    block: Option<Block>,
    now_s: f64,
    queue: VecDeque<DoneAct>,
    pub(crate) done: Vec<DoneAct>,
    hand_free_s: f64,
    hand: ChaCha8Rng,
    pub(crate) history: Vec<State>,
    pub(crate) unloaded_s: Option<f64>,
    last: Option<Sample>,
}

impl VirtualCabinet {
    /// A cabinet loaded as the plan says, its power off, its knobs as the plan's first stage asks for but the heater off.
    ///
    /// # Errors
    /// [`RehearseError`] where the scenario is out of range or does not fit the plan.
    pub fn new(plan: &Plan, cabinet: &Cabinet, mut scenario: Scenario) -> Result<Self, RehearseError> {
        let truth = Truth::draw(&plan.assembled, cabinet, &scenario);
        if scenario.sensors.is_empty() {
            scenario.sensors = usual_sensors(cabinet, &truth);
        }
        scenario.check()?;
        let engine = first_engine(plan, cabinet, &scenario, truth)?;
        let mut hand = ChaCha8Rng::seed_from_u64(scenario.seed);
        hand.set_stream(HAND);
        Ok(Self {
            plan: Arc::new(plan.clone()),
            cabinet: cabinet.clone(),
            channels: Channels::new(&scenario),
            scenario,
            engine,
            block: None,
            now_s: 0.0,
            queue: VecDeque::new(),
            done: Vec::new(),
            hand_free_s: 0.0,
            hand,
            history: Vec::new(),
            unloaded_s: None,
            last: None,
        })
    }

    /// How far the rehearsal has come, s from the start.
    #[must_use]
    pub fn now_s(&self) -> f64 {
        self.now_s
    }

    /// The scenario, with the sensors that were taken where it named none.
    #[must_use]
    pub fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    /// Acts that were ordered and whose time has not come.
    pub fn waiting(&self) -> impl Iterator<Item = &DoneAct> {
        self.queue.iter()
    }

    /// Acts whose time has come, in order.
    #[must_use]
    pub fn done(&self) -> &[DoneAct] {
        &self.done
    }

    /// Runs on to a time, s from the start; at the unloading it stops. `progress` is told the time reached and cancels by
    /// returning false; what was reached then stays.
    ///
    /// # Errors
    /// [`RehearseError`] for a time that has passed, where the model has no result, or where it was cancelled.
    pub fn advance(
        &mut self,
        to_s: f64,
        progress: &mut dyn FnMut(f64) -> bool,
    ) -> Result<f64, RehearseError> {
        if !(to_s >= self.now_s) {
            return Err(RehearseError::InThePast { what: "advance", asked_s: to_s, now_s: self.now_s });
        }
        RehearseError::within("time of a rehearsal, s", to_s, 0.0, crate::LONGEST_S)?;
        while self.unloaded_s.is_none() {
            self.act_now()?;
            if self.now_s >= to_s || self.unloaded_s.is_some() {
                break;
            }
            if self.block.is_none() {
                self.block = Some(self.engine.block(None, progress)?.0);
            }
            let Some(block) = &self.block else { break };
            let block_to = block.to_s;
            let next_act = self.queue.front().map_or(f64::INFINITY, |a| a.at_s);
            let until = to_s.min(block_to).min(next_act);
            self.reveal(until);
            self.now_s = until;
            if until == block_to
                && let Some(block) = self.block.take()
            {
                self.engine.finish(block);
            } else if until == next_act {
                self.cut(progress)?;
            }
        }
        Ok(self.now_s)
    }

    /// Orders an act. It is carried out a little later, when the hand is there and free; the time is returned, s.
    ///
    /// # Errors
    /// [`RehearseError`] where the act is not possible.
    pub fn act(&mut self, act: Act) -> Result<f64, RehearseError> {
        let (least, most) = self.scenario.hand_lag_s;
        let lag = least + (most - least) * self.hand.random::<f64>();
        self.order(act, lag)
    }

    /// Sets the cabinet as the plan's first stage says and dials the plan's timer, at the very start.
    ///
    /// # Errors
    /// As [`Self::act`]; [`RehearseError::InThePast`] once the rehearsal has begun.
    pub fn start_as_planned(&mut self) -> Result<(), RehearseError> {
        if self.now_s > 0.0 {
            return Err(RehearseError::InThePast { what: "start", asked_s: 0.0, now_s: self.now_s });
        }
        let Some(first) = self.plan.assembled.stages.first().cloned() else { return Ok(()) };
        let dial_s = self.plan.timer.dial_s;
        let mut acts = vec![
            Act::Vent(first.vent),
            Act::Fan(first.fan),
            Act::SetPoint(first.set_point_c),
            Act::DialTimer { dial_s },
        ];
        if first.water_added_kg > 0.0 {
            acts.push(Act::AddWater { kilograms: first.water_added_kg });
        }
        for act in acts {
            self.check(&act)?;
            self.queue.push_back(DoneAct { ordered_s: 0.0, at_s: 0.0, act });
        }
        Ok(())
    }

    /// What stands on the front of the cabinet.
    #[must_use]
    pub fn panel(&self) -> Panel {
        let k = &self.engine.knobs;
        let left = |end: f64| if self.now_s < end { end - self.now_s } else { 0.0 };
        Panel {
            at_s: self.now_s,
            set_point_c: k.set_point_c,
            vent: k.vent.clone(),
            fan: k.fan.clone(),
            door_open: k.door_open && k.door_shuts_s.is_none_or(|s| s > self.now_s),
            powered: self.engine.powered(self.now_s) && !k.door_open && self.unloaded_s.is_none(),
            timer_left_s: k.timer_ends_s.map(|end| left(end - self.cuts_before(end))),
            unloaded_s: self.unloaded_s,
        }
    }

    /// All readings so far: simulated, and of a type that no judge of records takes.
    ///
    /// # Errors
    /// [`RehearseError::Series`]; not with readings of this crate.
    pub fn log(&self) -> Result<Log<Rehearsal>, RehearseError> {
        self.log_after(-1.0)
    }

    /// The readings after an instant, s from the start, in the same channels as [`Self::log`].
    ///
    /// # Errors
    /// As [`Self::log`].
    pub fn log_after(&self, after_s: f64) -> Result<Log<Rehearsal>, RehearseError> {
        self.channels.log(&self.scenario, &self.done, after_s, self.now_s)
    }

    /// What was hidden. For the debrief, and for tests of estimates; a trainee who looks learns nothing.
    #[must_use]
    pub fn truth(&self) -> &Truth {
        &self.engine.world.truth
    }

    /// True states so far, one a minute. As [`Self::truth`].
    #[must_use]
    pub fn true_states(&self) -> &[State] {
        &self.history
    }

    /// Mains cuts between now and an instant, s: the countdown waits in them.
    fn cuts_before(&self, end_s: f64) -> f64 {
        let cuts = self.engine.world.cuts.iter();
        cuts.map(|(from, to)| (to.min(end_s) - from.max(self.now_s)).max(0.0)).sum()
    }

    fn order(&mut self, act: Act, lag_s: f64) -> Result<f64, RehearseError> {
        if let Some(unloaded_s) = self.unloaded_s {
            return Err(RehearseError::Unloaded { what: act.word(), unloaded_s });
        }
        self.check(&act)?;
        let at_s = (self.now_s + lag_s).max(self.hand_free_s);
        self.hand_free_s = at_s + act.busy().0;
        self.queue.push_back(DoneAct { ordered_s: self.now_s, at_s, act });
        Ok(at_s)
    }

    /// What can be refused when it is ordered.
    fn check(&self, act: &Act) -> Result<(), RehearseError> {
        let loaded = u32::try_from(self.truth().trays.len()).unwrap_or(u32::MAX);
        let tray = |tray: u32| match self.truth().slot(tray) {
            Some(slot) if !self.engine.out[slot] => Ok(()),
            _ => Err(RehearseError::NoSuchTray { tray, loaded }),
        };
        match act {
            Act::SetPoint(_) | Act::Vent(_) | Act::Fan(_) => self.check_setting(act),
            Act::DialTimer { dial_s } => {
                let dial = self.plan.assembled.setup.dial;
                RehearseError::within("dial of the timer, s", *dial_s, 1.0, dial.maximum_s)?;
                match self.timer_will_run() {
                    Some(left_s) => Err(RehearseError::TimerRuns { left_s }),
                    None => Ok(()),
                }
            }
            Act::AddWater { kilograms } => RehearseError::within("water, kg", *kilograms, 0.0, 50.0),
            Act::ReseatProbe { sensor } if *sensor >= self.scenario.sensors.len() => {
                Err(RehearseError::NoSuchSensor { index: *sensor, sensors: self.scenario.sensors.len() })
            }
            Act::TakeOut { trays } => trays.iter().try_for_each(|t| tray(*t)),
            Act::Weigh { tray: t } | Act::ReadCore { tray: t, .. } => tray(*t),
            Act::SwapGroups { a, b } => self.check_swap(*a, *b),
            _ => Ok(()),
        }
    }

    /// What the countdown shows once the orders that wait are carried out, s; none where it stands still then.
    fn timer_will_run(&self) -> Option<f64> {
        let running = self.panel().timer_left_s.filter(|left| *left > 0.0);
        self.queue.iter().fold(running, |running, waiting| match waiting.act {
            Act::Power { .. } => None,
            Act::DialTimer { dial_s } => Some(dial_s),
            _ => running,
        })
    }

    fn check_setting(&self, act: &Act) -> Result<(), RehearseError> {
        let k = &self.engine.knobs;
        let mut stage = schedule::Stage::new("rehearsal", k.vent.clone(), k.fan.clone());
        match act {
            Act::SetPoint(c) => stage.set_point_c = *c,
            Act::Vent(v) => stage.vent = v.clone(),
            Act::Fan(f) => stage.fan = f.clone(),
            _ => {}
        }
        stage_input(&stage, &self.cabinet, &self.engine.world.trays_by_group)?;
        Ok(())
    }

    fn check_swap(&self, a: usize, b: usize) -> Result<(), RehearseError> {
        let trays = |g: usize| self.truth().trays.iter().filter(move |t| t.group == g);
        let whole = |g: usize| {
            trays(g).all(|t| self.truth().slot(t.number).is_some_and(|slot| !self.engine.out[slot]))
        };
        let (in_a, in_b) = (trays(a).count(), trays(b).count());
        if a != b && in_a > 0 && in_a == in_b && whole(a) && whole(b) {
            return Ok(());
        }
        #[allow(clippy::cast_precision_loss)]
        Err(RehearseError::OutOfRange {
            what: "trays of the group to swap with",
            value: in_b as f64,
            low: in_a as f64,
            high: in_a as f64,
        })
    }

    /// Carries out what is due at the present instant.
    fn act_now(&mut self) -> Result<(), RehearseError> {
        while self.queue.front().is_some_and(|a| a.at_s <= self.now_s) {
            // Ordered without lag in the middle of a block.
            self.cut(&mut |_| true)?;
            let Some(done) = self.queue.pop_front() else { break };
            let sample = match &self.last {
                Some(s) => Some(s.clone()),
                None => self.engine.block(None, &mut |_| true)?.0.samples.into_iter().next(),
            };
            if let Some(sample) = &sample {
                let tare = self.plan.assembled.tare_kg;
                self.channels.by_hand(&done.act, sample, &mut self.engine, tare);
            }
            if done.act == Act::Unload {
                self.unloaded_s = Some(self.now_s);
            }
            self.engine.act(&done.act);
            self.block = None;
            self.done.push(done);
        }
        Ok(())
    }

    /// Takes the state at the present instant out of the block.
    fn cut(&mut self, progress: &mut dyn FnMut(f64) -> bool) -> Result<(), RehearseError> {
        if self.engine.at_s() >= self.now_s {
            return Ok(());
        }
        let (_, state) = self.engine.block(Some(self.now_s), progress)?;
        if let Some(state) = state {
            self.engine.stand_at(state);
        }
        self.block = None;
        Ok(())
    }

    /// Lets the sensors feel the grid's states after now up to a time.
    fn reveal(&mut self, until_s: f64) {
        let Some(block) = &self.block else { return };
        let first = self.now_s == 0.0 && self.last.is_none();
        let new = block.samples.iter().filter(|s| {
            (s.elapsed_s > self.now_s || (first && s.elapsed_s == 0.0)) && s.elapsed_s <= until_s
        });
        for s in new {
            self.channels.feel(s, &self.engine.world.truth, &self.scenario);
            if (s.elapsed_s / HISTORY_S).fract() == 0.0 {
                self.history.push(state(s, &mut self.engine));
            }
            self.last = Some(s.clone());
        }
    }
}

/// What the cabinet has ports for: dry bulb and display always, a wet bulb where there is a port (else a humidity sensor),
/// cores at the air-leaving end of the tray with the least air and of the first tray.
pub fn usual_sensors(cabinet: &Cabinet, truth: &Truth) -> Vec<Sensor> {
    let mut list = vec![
        Sensor { tolerance: 0.0, noise_sd: 0.0, ..Sensor::thermometer("display", Sensed::Display, 0.0) },
        Sensor::thermometer("dry bulb", Sensed::AirDryBulb, 30.0),
    ];
    list.push(if cabinet.ports.wet_bulb {
        Sensor { tolerance: 0.5, ..Sensor::thermometer("wet bulb", Sensed::AirWetBulb, 60.0) }
    } else {
        Sensor::humidity("humidity")
    });
    let trays = [truth.slowest_tray(), 1];
    for (number, tray) in (1..=cabinet.ports.core_probes).zip(trays) {
        let core = Sensed::Core { tray, along: Along::Leaving };
        list.push(Sensor::thermometer(&format!("core {number}"), core, 10.0));
    }
    list
}

pub(crate) fn first_engine(
    plan: &Plan,
    cabinet: &Cabinet,
    scenario: &Scenario,
    truth: Truth,
) -> Result<Engine, RehearseError> {
    let world = World::new(truth, cabinet, &plan.assembled.trays_by_group, scenario)?;
    let first = plan.assembled.stages.first();
    let knobs = Knobs {
        set_point_c: None,
        vent: first.map_or(schedule::VentSetting::Opening(0.0), |s| s.vent.clone()),
        fan: first.map_or(schedule::FanSetting::Off, |s| s.fan.clone()),
        door_open: false,
        switched_on: false,
        timer_ends_s: None,
        door_shuts_s: None,
        water: None,
    };
    Engine::new(world, knobs, &scenario.faults)
}
