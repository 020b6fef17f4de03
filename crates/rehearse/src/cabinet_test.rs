//! Short tests of a cabinet without food, as they are made to get to know it: heat-up and cool-down, humidity decay, wet
//! cloths. Their readings are simulated by type, like those of a rehearsal.

use fallrate_equipment::Cabinet;
use fallrate_plan::{Assembled, stage_input};
use fallrate_schedule::{EndCondition, FanSetting, Stage, VentSetting};
use fallrate_series::{Log, Rehearsal};
use fallrate_simulate::{AddedWater, Batch, Options, Sample, StageInput, run};

use crate::channels::Channels;
use crate::sensor::{Sensed, Sensor};
use crate::truth::Truth;
use crate::wet_cloth::lay_cloths;
use crate::{GRID_S, RehearseError, Scenario};

/// A test of a cabinet.
#[derive(Clone, Debug, PartialEq)]
pub enum CabinetTest {
    /// Empty, vent shut (or as shut as it goes), fan at its strongest: heated to a set point and held, then the heater off with
    /// the fan on.
    HeatUpAndCoolDown {
        /// degC
        set_point_c: f64,
        /// Heater on, s.
        heat_s: f64,
        /// Heater off, s.
        cool_s: f64,
    },
    /// Empty and warm: water is given off with the vent shut, then the vent goes to an opening and the humidity falls.
    HumidityDecay {
        /// degC
        set_point_c: f64,
        /// Warm-up before the water, s.
        warm_s: f64,
        /// Water given off within ten minutes, kg.
        water_kg: f64,
        /// The vent from then on.
        vent: VentSetting,
        /// For so long, s.
        decay_s: f64,
    },
    /// A wet cloth on every tray, weighed before and at the end, vent open.
    WetCloths {
        /// degC
        set_point_c: f64,
        /// Vent.
        vent: VentSetting,
        /// For so long, s.
        dry_s: f64,
    },
}

/// What a test gave.
#[derive(Clone, Debug)]
pub struct TestRun {
    /// Readings.
    pub log: Log<Rehearsal>,
    /// Meter readings: (s from the start, kWh), every ten minutes and at the end, as an energy meter with steps of 0.01 kWh
    /// shows them.
    pub meter_kwh: Vec<(f64, f64)>,
    /// What was done when: (s from the start, plain words).
    pub done: Vec<(f64, String)>,
    /// Empty tray with its liner, kg.
    pub tare_kg: f64,
    /// End, s from the start.
    pub end_s: f64,
    /// The hidden figures.
    pub truth: Truth,
}

/// What is left on the trays of an empty cabinet, kg a tray: the model wants something.
const NEARLY_NOTHING_KG: f64 = 1e-5;
/// Water is given off within this time, s.
const WATER_S: f64 = 600.0;
/// The meter is read this often, s.
const METER_S: f64 = 600.0;
/// Step of the meter, kWh.
const METER_KWH: f64 = 0.01;
/// Heat of the water that is given off, J/kg: liquid at 20 degC.
const WATER_J_PER_KG: f64 = 4186.0 * 20.0;

/// Runs a test on the cabinet that the scenario's seeds hide. `assembled` says room and trays; its product does not count.
///
/// # Errors
/// [`RehearseError`] where scenario or test are out of range.
pub fn cabinet_test(
    assembled: &Assembled,
    cabinet: &Cabinet,
    scenario: &Scenario,
    test: &CabinetTest,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<TestRun, RehearseError> {
    let mut scenario = scenario.clone();
    let truth = Truth::draw(assembled, cabinet, &scenario);
    if scenario.sensors.is_empty() {
        scenario.sensors = test_sensors();
    }
    scenario.check()?;
    let mut batch = truth.batch.clone();
    let cloths = matches!(test, CabinetTest::WetCloths { .. });
    if cloths {
        let tray_m2 = cabinet.trays.length.value.metres() * cabinet.trays.width.value.metres();
        lay_cloths(&mut batch, tray_m2);
    } else {
        batch.load.fresh_kg_per_tray = NEARLY_NOTHING_KG;
    }
    let (stages, done) = stages(test, cabinet, &assembled.trays_by_group)?;
    let end_s = stages.iter().filter_map(|s| s.at_most_s).sum();
    let options = Options {
        sample_every_s: None,
        samples_at_s: (0..).map(|k| f64::from(k) * GRID_S).take_while(|t| *t <= end_s).collect(),
        timer_ends_s: Some(end_s),
        // What lies on the trays of an empty cabinet is too little for a balance by its share.
        enforce_balances: cloths,
        ..Options::default()
    };
    let run = run(&batch, &stages, &options, progress).map_err(|e| match e {
        fallrate_simulate::SimulateError::Cancelled { .. } => RehearseError::Cancelled,
        other => other.into(),
    })?;
    let mut channels = Channels::new(&scenario);
    let mut samples: Vec<&Sample> =
        run.samples.iter().filter(|s| (s.elapsed_s / GRID_S).fract() == 0.0).collect();
    samples.dedup_by(|b, a| a.elapsed_s == b.elapsed_s);
    samples.iter().for_each(|s| channels.feel(s, &truth, &scenario));
    if cloths {
        weigh_all(&mut channels, &truth, &batch, assembled.tare_kg, samples.first(), samples.last());
    }
    Ok(TestRun {
        log: channels.log(&scenario, &[], -1.0, end_s)?,
        meter_kwh: meter(&samples),
        done,
        tare_kg: assembled.tare_kg,
        end_s,
        truth,
    })
}

/// What a logger in an empty cabinet writes: dry bulb and humidity every ten seconds, power every minute.
fn test_sensors() -> Vec<Sensor> {
    let quick = |s: Sensor| Sensor { every_s: GRID_S, ..s };
    let power = Sensor {
        tolerance: 0.0,
        noise_sd: 5.0,
        resolution: 1.0,
        ..Sensor::thermometer("power", Sensed::Power, 0.0)
    };
    vec![
        quick(Sensor { tolerance: 0.3, ..Sensor::thermometer("dry bulb", Sensed::AirDryBulb, 15.0) }),
        quick(Sensor { tolerance: 0.02, ..Sensor::humidity("humidity") }),
        power,
    ]
}

/// Stages and what was done, in words of the record.
type Course = (Vec<StageInput>, Vec<(f64, String)>);

fn stages(test: &CabinetTest, cabinet: &Cabinet, trays_by_group: &[u32]) -> Result<Course, RehearseError> {
    let least = VentSetting::Opening(cabinet.least_vent_opening());
    let stage = |name: &str, set_point_c: Option<f64>, vent: &VentSetting, seconds: f64| {
        RehearseError::within("length of a part of a test, s", seconds, 60.0, 86_400.0)?;
        let mut s = Stage::new(name, vent.clone(), FanSetting::Strongest);
        s.set_point_c = set_point_c;
        s.at_most_s = Some(seconds);
        s.ends = vec![EndCondition::Elapsed { seconds }];
        Ok::<StageInput, RehearseError>(stage_input(&s, cabinet, trays_by_group)?)
    };
    Ok(match test {
        CabinetTest::HeatUpAndCoolDown { set_point_c, heat_s, cool_s } => (
            vec![stage("heat", Some(*set_point_c), &least, *heat_s)?, stage("cool", None, &least, *cool_s)?],
            vec![
                (0.0, format!("heater on, set point {set_point_c:.0} degC, vent shut, fan strongest")),
                (*heat_s, "heater off, fan on".to_owned()),
            ],
        ),
        CabinetTest::HumidityDecay { set_point_c, warm_s, water_kg, vent, decay_s } => {
            RehearseError::within("water, kg", *water_kg, 0.01, 20.0)?;
            let wet = AddedWater { kg_per_s: water_kg / WATER_S, enthalpy_j_per_kg: WATER_J_PER_KG };
            let mut water = stage("water", Some(*set_point_c), &least, WATER_S)?;
            water.added_water = Some(wet);
            let opened = warm_s + WATER_S;
            (
                vec![
                    stage("warm", Some(*set_point_c), &least, *warm_s)?,
                    water,
                    stage("decay", Some(*set_point_c), vent, *decay_s)?,
                ],
                vec![
                    (0.0, format!("heater on, set point {set_point_c:.0} degC, vent shut, fan strongest")),
                    (*warm_s, format!("{water_kg:.2} kg of water given off within 10 min")),
                    (opened, format!("vent to {}", vent_word(vent))),
                ],
            )
        }
        CabinetTest::WetCloths { set_point_c, vent, dry_s } => (
            vec![stage("cloths", Some(*set_point_c), vent, *dry_s)?],
            vec![
                (
                    0.0,
                    format!(
                        "a wet cloth on every tray, set point {set_point_c:.0} degC, vent {}",
                        vent_word(vent)
                    ),
                ),
                (*dry_s, "all trays weighed".to_owned()),
            ],
        ),
    })
}

/// A vent setting in words.
fn vent_word(vent: &VentSetting) -> String {
    match vent {
        VentSetting::Mark(name) => name.clone(),
        VentSetting::Opening(share) => format!("{:.0} % open", share * 100.0),
        VentSetting::HoldRh(share) => format!("hold {:.0} % RH", share * 100.0),
    }
}

fn weigh_all(
    channels: &mut Channels,
    truth: &Truth,
    batch: &Batch,
    tare_kg: f64,
    first: Option<&&Sample>,
    last: Option<&&Sample>,
) {
    let solids = batch.load.fresh_kg_per_tray / (1.0 + batch.material.moisture_initial_dry_basis);
    for s in [first, last].into_iter().flatten() {
        for tray in &truth.trays {
            let Some(slot) = truth.slot(tray.number) else { continue };
            let net = solids * (1.0 + truth.slot_moisture(s, slot));
            channels.weigh(tray.number, s.elapsed_s, tare_kg + net);
        }
    }
}

fn meter(samples: &[&Sample]) -> Vec<(f64, f64)> {
    let last = samples.last().map_or(0.0, |s| s.elapsed_s);
    let due = |s: &&&Sample| (s.elapsed_s / METER_S).fract() == 0.0 || s.elapsed_s == last;
    let shown = |j: f64| (j / 3.6e6 / METER_KWH).floor() * METER_KWH;
    samples.iter().filter(due).map(|s| (s.elapsed_s, shown(s.heater_j + s.fan_j))).collect()
}
