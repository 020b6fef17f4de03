//! Readings: sensors that write by themselves, what is read by hand, and the log of both.

use std::collections::BTreeMap;

use fallrate_series::{
    ChannelBuilder, Event, EventKind, Instant, Instrument, Log, ProofProvenance, Reading, Rehearsal,
    RehearsalProvenance, Role,
};
use fallrate_simulate::Sample;

use crate::engine::Engine;
use crate::scenario::FaultKind;
use crate::sensor::{Along, Errors, Sensed, Sensor, position_name};
use crate::truth::Truth;
use crate::{Act, DoneAct, GRID_S, RehearseError, Scenario};

/// A sock that runs dry reads the dry bulb with this time constant, s (own judgement).
const SOCK_DRIES_S: f64 = 600.0;
/// Streams of the seed: hand instruments, then the sensors in their order.
const SCALE: u64 = 10;
const HAND_PROBE: u64 = 11;
const FIRST_SENSOR: u64 = 100;

/// One sensor at work.
#[derive(Clone, Debug)]
struct Channel {
    sensor: Sensor,
    errors: Errors,
    /// What it feels, after its lag.
    felt: Option<f64>,
    /// Counter of energy at its reading before, J.
    energy_j: f64,
    readings: Vec<(f64, f64)>,
}

/// All readings so far.
#[derive(Clone, Debug)]
pub(crate) struct Channels {
    channels: Vec<Channel>,
    scale: Errors,
    scale_tolerance: f64,
    hand_probe: Errors,
    hand_probe_tolerance: f64,
    weights: BTreeMap<u32, Vec<(f64, f64)>>,
    cores: BTreeMap<(u32, Along), Vec<(f64, f64)>>,
    steps: u64,
    /// Seen to by the trainee: the sock wetted, a probe put back, at these times, s.
    wetted: Vec<f64>,
    reseated: Vec<(usize, f64)>,
}

impl Channels {
    pub fn new(scenario: &Scenario) -> Self {
        let errors =
            |stream, s: &Sensor| Errors::new(scenario.seed, stream, s.tolerance, s.noise_sd, s.resolution);
        let channel = |(stream, s): (u64, &Sensor)| Channel {
            sensor: s.clone(),
            errors: errors(stream, s),
            felt: None,
            energy_j: 0.0,
            readings: Vec::new(),
        };
        let scale = &scenario.scale;
        Self {
            channels: (FIRST_SENSOR..).zip(&scenario.sensors).map(channel).collect(),
            scale: Errors::new(
                scenario.seed,
                SCALE,
                scale.tolerance_kg,
                scale.noise_sd_kg,
                scale.resolution_kg,
            ),
            scale_tolerance: scale.tolerance_kg,
            hand_probe: errors(HAND_PROBE, &scenario.hand_probe),
            hand_probe_tolerance: scenario.hand_probe.tolerance,
            weights: BTreeMap::new(),
            cores: BTreeMap::new(),
            steps: 0,
            wetted: Vec::new(),
            reseated: Vec::new(),
        }
    }

    /// One state of the grid.
    pub fn feel(&mut self, s: &Sample, truth: &Truth, scenario: &Scenario) {
        for i in 0..self.channels.len() {
            let feels = self.feels(i, s, truth, scenario);
            let c = &mut self.channels[i];
            let felt = match c.felt {
                Some(before) if c.sensor.lag_s > 0.0 => {
                    before + (feels - before) * -(-GRID_S / c.sensor.lag_s).exp_m1()
                }
                _ => feels,
            };
            c.felt = Some(felt);
            if !self.steps.is_multiple_of(c.sensor.steps()) {
                continue;
            }
            let mut value = felt + drift(i, s.elapsed_s, scenario);
            if c.sensor.sensed == Sensed::Power {
                let drawn = s.heater_j + s.fan_j;
                value = (drawn - c.energy_j) / c.sensor.every_s;
                c.energy_j = drawn;
            }
            let value = c.errors.says(value);
            let held = match c.sensor.sensed {
                Sensed::RelativeHumidity => value.clamp(0.0, 1.0),
                Sensed::Power => value.max(0.0),
                _ => value,
            };
            c.readings.push((s.elapsed_s, held));
        }
        self.steps += 1;
    }

    /// What a sensor feels, with what is wrong with it.
    fn feels(&self, i: usize, s: &Sample, truth: &Truth, scenario: &Scenario) -> f64 {
        let sensor = &self.channels[i].sensor;
        let (t, good) = (s.elapsed_s, sensor.feels(truth, s));
        let active =
            scenario.faults.iter().filter(|f| f.from_s <= t && f.until_s.is_none_or(|until| t < until));
        for f in active {
            match (f.kind, sensor.sensed) {
                (FaultKind::ProbeOut { sensor }, _)
                    if sensor == i && !self.reseated.iter().any(|r| r.0 == i && r.1 >= f.from_s) =>
                {
                    return s.chamber_temperature_c;
                }
                (FaultKind::DrySock, Sensed::AirWetBulb) if !self.wetted.iter().any(|w| *w >= f.from_s) => {
                    let dry = -(-(t - f.from_s) / SOCK_DRIES_S).exp_m1();
                    return good + dry * (s.chamber_temperature_c - good);
                }
                _ => {}
            }
        }
        good
    }

    /// What an act makes readable at its state.
    pub fn by_hand(&mut self, act: &Act, s: &Sample, engine: &mut Engine, tare_kg: f64) {
        match act {
            Act::WetSock => self.wetted.push(s.elapsed_s),
            Act::ReseatProbe { sensor } => self.reseated.push((*sensor, s.elapsed_s)),
            Act::Weigh { tray } => {
                let moistures = engine.trays_dry_basis(s);
                let trays_kg = engine.trays_kg(&moistures);
                let net = (*tray as usize).checked_sub(1).and_then(|i| trays_kg.get(i).copied());
                self.weigh(*tray, s.elapsed_s, tare_kg + net.unwrap_or(f64::NAN));
            }
            Act::ReadCore { tray, along } => {
                let core = self.hand_probe.says(engine.world.truth.core_c(s, *tray, *along));
                self.cores.entry((*tray, *along)).or_default().push((s.elapsed_s, core));
            }
            _ => {}
        }
    }

    /// A tray with so much product on it is put on the scale.
    pub fn weigh(&mut self, tray: u32, at_s: f64, true_gross_kg: f64) {
        let gross = self.scale.says(true_gross_kg);
        self.weights.entry(tray).or_default().push((at_s, gross));
    }

    /// The log of everything read and done after one instant up to another, s from the start.
    pub fn log(
        &self,
        scenario: &Scenario,
        done: &[DoneAct],
        after_s: f64,
        until_s: f64,
    ) -> Result<Log<Rehearsal>, RehearseError> {
        let mut log = Log::new(&scenario.zone);
        let window = |t: f64| t > after_s && t <= until_s;
        let mut add = |name: &str, role: Role, tolerance: f64, readings: &[(f64, f64)]| {
            let instrument =
                Instrument { id: name.to_owned(), tolerance: Some(tolerance), ..Instrument::default() };
            let mut builder = ChannelBuilder::<Rehearsal>::new(name, role, RehearsalProvenance::Simulated)
                .instrument(instrument);
            for (t, value) in readings.iter().filter(|r| window(r.0)) {
                builder.push(Reading::valid(scenario.start.plus_seconds(*t), *value), 0)?;
            }
            let (channel, diagnostics) = builder.finish();
            log.add(channel, diagnostics)
        };
        let mut probe = 0;
        for c in &self.channels {
            let role = role(&c.sensor, &mut probe);
            add(&c.sensor.name, role, c.sensor.tolerance, &c.readings)?;
        }
        for (tray, readings) in &self.weights {
            let role = Role::TrayWeight { tray: u16::try_from(*tray).unwrap_or(u16::MAX) };
            add(&format!("tray {tray}"), role, self.scale_tolerance, readings)?;
        }
        for ((tray, along), readings) in &self.cores {
            probe += 1;
            let position = position_name(*tray, *along);
            let name = format!("by hand, {position}");
            add(&name, Role::CoreProbe { number: probe, position }, self.hand_probe_tolerance, readings)?;
        }
        log.events = done.iter().filter(|d| window(d.at_s)).filter_map(|d| event(d, scenario)).collect();
        Ok(log)
    }
}

/// What drifts on top of what is felt.
fn drift(sensor_index: usize, t: f64, scenario: &Scenario) -> f64 {
    let of = |f: &crate::Fault| match f.kind {
        FaultKind::Drift { sensor, per_hour } if sensor == sensor_index && t > f.from_s => {
            per_hour * (t.min(f.until_s.unwrap_or(t)) - f.from_s) / 3600.0
        }
        _ => 0.0,
    };
    scenario.faults.iter().map(of).sum()
}

fn role(sensor: &Sensor, probe: &mut u16) -> Role {
    match sensor.sensed {
        Sensed::Display => Role::Other("controller display, degC".to_owned()),
        Sensed::AirDryBulb => Role::AirDryBulb,
        Sensed::AirWetBulb => Role::AirWetBulb,
        Sensed::RelativeHumidity => Role::RelativeHumidity,
        Sensed::Core { tray, along } => {
            *probe += 1;
            Role::CoreProbe { number: *probe, position: position_name(tray, along) }
        }
        Sensed::Power => Role::Power,
    }
}

/// What the trainee would have written down; the judge of a rehearsal reads it.
fn event(done: &DoneAct, scenario: &Scenario) -> Option<Event> {
    let at = |s: f64| -> Instant { scenario.start.plus_seconds(s) };
    let (busy_s, door) = done.act.busy();
    let shut = matches!(&done.act, Act::Vent(fallrate_schedule::VentSetting::Opening(o)) if *o <= 0.0);
    let kind = match &done.act {
        Act::Vent(fallrate_schedule::VentSetting::Mark(m)) => EventKind::Other(format!("vent to {m}")),
        Act::Vent(_) if shut => EventKind::VentShut,
        Act::Vent(_) => EventKind::VentOpened,
        Act::Door { open: true } => EventKind::DoorOpen,
        Act::WetSock => EventKind::SockWetted,
        Act::Weigh { .. } | Act::TakeOut { .. } => EventKind::TrayOut,
        _ if door => EventKind::DoorOpen,
        _ => return None,
    };
    Some(Event {
        at: at(done.at_s),
        until: door.then(|| at(done.at_s + busy_s)),
        kind,
        provenance: ProofProvenance::Entered,
        source: None,
        by: scenario.trainee.clone(),
        note: done.act.word().to_owned(),
    })
}
