//! Running the drying model in the air of a trial.

use fallrate_air::humidity_ratio_from_relative_humidity;
use fallrate_simulate::{
    AirConstants, Batch, EndCondition, FanSetting, Options, Sample, SimulateError, StageInput, VentSetting,
    run, run_from, start,
};

use crate::trial::{AirReading, Apparatus, Trial, TrialAir};
use crate::tunnel::{Tunnel, TunnelAir};

/// A recorded air is taken as constant over stretches within which it moves by no more than this either way: K, and share of
/// the humidity ratio.
const STRETCH_K: f64 = 1.0;
const STRETCH_SHARE: f64 = 0.05;
/// Samples of a run, and how close they may lie, s.
const SAMPLES: f64 = 240.0;
const LEAST_SAMPLE_S: f64 = 20.0;

/// How finely the model is computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrialGrid {
    /// Nodes through a piece, 7 to 101.
    pub nodes: usize,
    /// Relative tolerance of the solution, 1e-8 to 1e-3.
    pub relative_tolerance: f64,
}

impl Default for TrialGrid {
    fn default() -> Self {
        Self { nodes: 15, relative_tolerance: 1e-5 }
    }
}

/// Air taken as constant from a time on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stretch {
    pub to_s: f64,
    pub temperature_c: f64,
    pub humidity_ratio: f64,
}

/// The air of a trial as stretches; none where the cabinet computes it.
pub(crate) fn stretches(trial: &Trial, used_to_s: f64) -> Option<Vec<Stretch>> {
    let ratio = |t: f64, rh: f64| humidity_ratio_from_relative_humidity(t, rh.min(0.9999), trial.pressure_pa);
    match &trial.air {
        TrialAir::Computed => None,
        TrialAir::Held { temperature_c, relative_humidity } => Some(vec![Stretch {
            to_s: used_to_s,
            temperature_c: *temperature_c,
            humidity_ratio: ratio(*temperature_c, *relative_humidity),
        }]),
        TrialAir::Recorded(record) => Some(compress(record, used_to_s, ratio)),
    }
}

/// Joins readings into stretches; steps longer than a stretch allows are cut first.
fn compress(record: &[AirReading], used_to_s: f64, ratio: impl Fn(f64, f64) -> f64) -> Vec<Stretch> {
    let mut points: Vec<(f64, f64, f64)> = Vec::new();
    for r in record {
        let next = (r.elapsed_s, r.temperature_c, ratio(r.temperature_c, r.relative_humidity));
        if let Some(&last) = points.last() {
            let parts = ((next.1 - last.1).abs() / STRETCH_K)
                .max((next.2 / last.2).ln().abs() / STRETCH_SHARE)
                .ceil()
                .clamp(1.0, 100.0);
            let mut part = 1.0;
            while part < parts {
                let mix = |a: f64, b: f64| a + (b - a) * part / parts;
                points.push((mix(last.0, next.0), mix(last.1, next.1), mix(last.2, next.2)));
                part += 1.0;
            }
        }
        points.push(next);
    }
    let Some(&(_, t, w)) = points.first() else { return Vec::new() };
    // The record may begin a little late and end a little early: its first and last reading stand for the rest.
    points.insert(0, (0.0_f64.min(points[0].0 - 1e-3), t, w));
    let Some(&(last, t, w)) = points.last() else { return Vec::new() };
    if last < used_to_s {
        points.push((used_to_s, t, w));
    }
    let mut list: Vec<Stretch> = Vec::new();
    let mut from = 0;
    while from + 1 < points.len() {
        let mut to = from + 1;
        while to + 1 < points.len() && close(&points[from..=to + 1]) {
            to += 1;
        }
        let (temperature_c, humidity_ratio) = means(&points[from..=to]);
        if points[to].0 > 0.0 {
            list.push(Stretch { to_s: points[to].0.min(used_to_s), temperature_c, humidity_ratio });
        }
        if points[to].0 >= used_to_s {
            break;
        }
        from = to;
    }
    list
}

fn close(points: &[(f64, f64, f64)]) -> bool {
    let span = |of: &dyn Fn(&(f64, f64, f64)) -> f64| {
        points.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |s, v| (s.0.min(v), s.1.max(v)))
    };
    let (t, w) = (span(&|p| p.1), span(&|p| p.2));
    t.1 - t.0 <= 2.0 * STRETCH_K && (w.1 / w.0).ln() <= 2.0 * STRETCH_SHARE
}

/// Means over time by trapezoids.
fn means(points: &[(f64, f64, f64)]) -> (f64, f64) {
    let mut sums = (0.0, 0.0, 0.0);
    for p in points.windows(2) {
        let step = p[1].0 - p[0].0;
        sums.0 += step;
        sums.1 += 0.5 * step * (p[0].1 + p[1].1);
        sums.2 += 0.5 * step * (p[0].2 + p[1].2);
    }
    (sums.1 / sums.0, sums.2 / sums.0)
}

/// The batch of a trial with a material.
pub(crate) fn batch(
    trial: &Trial,
    material: fallrate_simulate::Material,
    exchange: f64,
    grid: &TrialGrid,
) -> Batch {
    let mut batch = match &trial.apparatus {
        Apparatus::Tunnel { heat_transfer_w_per_m2_k, lewis_factor, both_faces } => {
            let (temperature_c, relative_humidity) = (20.0, 0.5);
            Tunnel {
                air: TunnelAir {
                    temperature_c,
                    relative_humidity,
                    pressure_pa: trial.pressure_pa,
                    heat_transfer_w_per_m2_k: *heat_transfer_w_per_m2_k,
                    lewis_factor: *lewis_factor,
                },
                material,
                nodes: grid.nodes,
                relative_tolerance: grid.relative_tolerance,
                both_faces: *both_faces,
            }
            .batch()
        }
        Apparatus::Cabinet { batch, .. } => Batch {
            air: AirConstants::consistent(material.specific_heat_water_j_per_kg_k),
            material,
            ..(**batch).clone()
        },
    };
    batch.load.nodes = grid.nodes;
    batch.room.pressure_pa = trial.pressure_pa;
    batch.exchange.heat_transfer_w_per_m2_k *= exchange;
    batch.chamber.air_held = !matches!(trial.air, TrialAir::Computed);
    batch
}

/// Samples of a run from the start to `used_to_s`; `go_on` is asked after every step.
pub(crate) fn samples(
    trial: &Trial,
    batch: &Batch,
    stretches: Option<&[Stretch]>,
    used_to_s: f64,
    grid: &TrialGrid,
    go_on: &(dyn Fn() -> bool + Sync),
) -> Result<Vec<Sample>, SimulateError> {
    let options = Options {
        relative_tolerance: grid.relative_tolerance,
        sample_every_s: Some((used_to_s / SAMPLES).max(LEAST_SAMPLE_S)),
        ..Options::default()
    };
    let stages = match &trial.apparatus {
        Apparatus::Cabinet { stages, .. } => stages.as_slice(),
        Apparatus::Tunnel { .. } => &[],
    };
    let Some(stretches) = stretches else {
        let options = Options { timer_ends_s: Some(used_to_s), ..options };
        return Ok(run(batch, stages, &options, &mut |_| go_on())?.samples);
    };
    let fan = stages.first().and_then(|s| s.fan).unwrap_or(FanSetting {
        flow_share: 1.0,
        exchange_share: 1.0,
        power_w: 0.0,
    });
    let mut state = start(batch)?;
    let mut samples = Vec::new();
    for stretch in stretches {
        let lasts = stretch.to_s - state.elapsed_s;
        if !(lasts > 0.0) {
            continue;
        }
        state = state.with_chamber_air(stretch.temperature_c, stretch.humidity_ratio);
        let found = run_from(batch, &state, &[held(lasts, fan)], &options, &mut |_| go_on())?;
        samples.extend(found.samples);
        state = found.end;
    }
    Ok(samples)
}

/// A stage in held air.
fn held(lasts_s: f64, fan: FanSetting) -> StageInput {
    StageInput {
        name: "drying".to_owned(),
        set_point_c: None,
        vent: VentSetting::Opening(0.0),
        fan: Some(fan),
        door_open: false,
        added_water: None,
        ends: vec![EndCondition::Elapsed { seconds: lasts_s }],
        at_most_s: None,
        actions: Vec::new(),
        room: None,
    }
}
