//! Stages proposed where the user wrote none.
//!
//! The shape is the trade's (common practice, no source): warm up with the vent at its least until the core is up by
//! 20 degF, for raw meat cook on with the vent shut until the core has been hot long enough, then dry with the vent
//! open, and finish no hotter than the product bears. Vent mark, temperature and fan are searched with the model.

use fallrate_equipment::{Cabinet, ControllerKind};
use fallrate_foods::{KillStep, Product, ProofSpecies};
use fallrate_schedule::{EndCondition, FanSetting, Piece, Stage, VentSetting};
use fallrate_simulate::{Options, Run, StageInput, run};
use rayon::prelude::*;

use crate::assemble::{Assembled, stage_input};
use crate::error::PlanError;
use crate::lift::lift_off_moisture;
use crate::sweep::{COARSE, steadied};

/// Rise of the core that ends the warm-up: 20 degF (common practice, no source), K.
const WARM_RISE_K: f64 = 20.0 / 1.8;
/// Core the cook aims at: 145 degF is the end point of the guideline's humid options; a degree and a half is added for
/// the instrument, degC.
const COOK_CORE_C: f64 = 62.8 + 1.5;
/// Held so long, s: 4 minutes of the guideline and a minute for the monitoring interval.
const COOK_HOLD_S: f64 = 300.0;
/// Poultry: 149 degF and a degree and a half, held for ten minutes; the poultry table's longest time there (fat 12 %) is
/// checked to be shorter in the tests, degC and s.
const POULTRY_CORE_C: f64 = 65.0 + 1.5;
const POULTRY_HOLD_S: f64 = 600.0;
/// Shut time the guideline's humid options ask at the least, with a tenth for the margin, s.
const SHUT_S: f64 = 1.1 * 3600.0;
/// An hour of the cabinet is taken to be worth this much energy where no prices say otherwise, J.
const HOUR_WORTH_J: f64 = 8.0 * 3.6e6;

/// Core temperature, degC, and hold, s, that a proposed cook aims at. An aim of the plan, not a proof.
#[must_use]
pub fn cook_aim(product: &Product) -> (f64, f64) {
    match product.proof_species {
        Some(ProofSpecies::Turkey | ProofSpecies::Chicken) => (POULTRY_CORE_C, POULTRY_HOLD_S),
        _ => (COOK_CORE_C, COOK_HOLD_S),
    }
}

/// One way of running the load that was tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    /// Vent mark while drying.
    pub vent: String,
    /// Set point while drying, degC.
    pub set_point_c: f64,
    /// Time to the target, s; none where it was not reached.
    pub hours: Option<f64>,
    /// Energy to the target, kWh.
    pub kwh: Option<f64>,
    /// Taken.
    pub chosen: bool,
    /// Why it was passed over.
    pub against: Option<Against>,
}

/// Why a way was passed over.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Against {
    /// The chamber stayed more than this below its set point, K.
    SetPointLost(f64),
    /// A piece grew hotter than it bears while drying, degC.
    TooHot(f64),
    /// A hand is needed at this time of the run and nobody is there, s.
    NobodyThere(f64),
    /// The target is not reached.
    NotReached,
    /// Another is cheaper in time and energy together.
    Dearer,
}

/// Stages for the load, with all that was tried.
///
/// # Errors
/// [`PlanError::OutOfReach`] where no way reaches the target.
pub fn propose(
    product: &Product,
    cabinet: &Cabinet,
    assembled: &Assembled,
) -> Result<(Vec<Stage>, Vec<Tried>), PlanError> {
    let candidates = candidates(product, cabinet, assembled);
    let outcomes: Vec<(Tried, Option<f64>)> =
        candidates.par_iter().map(|c| judge(c, product, cabinet, assembled)).collect();
    let worth = |o: &(Tried, Option<f64>)| {
        if o.0.against.is_none() { o.1.unwrap_or(f64::INFINITY) } else { f64::INFINITY }
    };
    let fallback = |o: &(Tried, Option<f64>)| o.1.unwrap_or(f64::INFINITY);
    let best = (0..outcomes.len()).min_by(|&a, &b| {
        worth(&outcomes[a])
            .total_cmp(&worth(&outcomes[b]))
            .then(fallback(&outcomes[a]).total_cmp(&fallback(&outcomes[b])))
    });
    let Some(best) = best else { return Ok((Vec::new(), Vec::new())) };
    let mut tried: Vec<Tried> = outcomes.into_iter().map(|o| o.0).collect();
    for (i, t) in tried.iter_mut().enumerate() {
        if i == best {
            t.chosen = true;
        } else if t.against.is_none() {
            t.against = Some(Against::Dearer);
        }
    }
    Ok((settle_cook(&candidates[best], cabinet, assembled)?, tried))
}

/// A way of running the load.
#[derive(Clone, Debug)]
struct Way {
    stages: Vec<Stage>,
    vent: String,
    set_point_c: f64,
}

fn candidates(product: &Product, cabinet: &Cabinet, assembled: &Assembled) -> Vec<Way> {
    let air = &product.recommended.air_temperature;
    let clamp = |c: f64| {
        c.clamp(
            cabinet.controller.set_point_least.value.celsius(),
            cabinet.controller.set_point_greatest.value.celsius(),
        )
    };
    let ceiling = product.recommended.product_temperature_max.value.celsius();
    // Usual, high, and the most that needs no cooler finish.
    let mut points =
        vec![clamp(air.value.celsius()), clamp(air.high.celsius()), clamp(ceiling.min(air.high.celsius()))];
    points.sort_by(f64::total_cmp);
    points.dedup();
    let mut ways = Vec::new();
    for &set_point_c in &points {
        for mark in &cabinet.vent.marks {
            // A vent at its least opening all through is a way only where it cannot be opened.
            if cabinet.vent.marks.len() > 1 && mark.name == cabinet.vent.marks[0].name {
                continue;
            }
            ways.push(Way {
                stages: stages(product, cabinet, assembled, set_point_c, &mark.name),
                vent: mark.name.clone(),
                set_point_c,
            });
        }
    }
    ways
}

fn stages(
    product: &Product,
    cabinet: &Cabinet,
    assembled: &Assembled,
    set_point_c: f64,
    vent: &str,
) -> Vec<Stage> {
    let least = || VentSetting::Mark(cabinet.vent.marks.first().map_or(String::new(), |m| m.name.clone()));
    let stage =
        |name: &str, set: f64, vent: VentSetting, ends: Vec<EndCondition>, at_most: Option<f64>| Stage {
            set_point_c: Some(set),
            ends,
            at_most_s: at_most,
            ..Stage::new(name, vent, FanSetting::Strongest)
        };
    let mut list = vec![stage(
        "warm up",
        set_point_c,
        least(),
        vec![EndCondition::CoreRise { kelvin: WARM_RISE_K }],
        Some(5400.0),
    )];
    if product.raw_meat && product.kill_step == KillStep::Required && cabinet.sealed_capable {
        let (celsius, hold_s) = cook_aim(product);
        let core = EndCondition::CoreReaches { celsius, hold_s };
        list.push(stage("cook", set_point_c, least(), vec![core], Some(3.0 * 3600.0)));
    }
    let open = || VentSetting::Mark(vent.to_owned());
    let ceiling = product.recommended.product_temperature_max.value.celsius();
    let lift = lift_off(product, cabinet, assembled);
    let mut drying = stage("dry", set_point_c, open(), Vec::new(), None);
    if let Some((moisture, step)) = lift {
        drying.ends = vec![EndCondition::Moisture { piece: Piece::Fastest, dry_basis: moisture }];
        let mut calm = stage("finish", set_point_c.min(ceiling), open(), Vec::new(), None);
        calm.fan = FanSetting::Step(step);
        list.push(drying);
        list.push(calm);
    } else if set_point_c > ceiling + 0.5 {
        // Wet pieces stay near the wet bulb; the finish starts while the driest still has moisture to lose.
        let switch = (2.0 * assembled.setup.target.moisture_dry_basis)
            .min(0.5 * assembled.setup.batch.material.moisture_initial_dry_basis);
        drying.ends = vec![EndCondition::Moisture { piece: Piece::Fastest, dry_basis: switch }];
        list.push(drying);
        list.push(stage("finish", ceiling, open(), Vec::new(), None));
    } else {
        list.push(drying);
    }
    list
}

/// Moisture at which the strongest fan would lift the pieces, with a tenth to spare, and the strongest step that does not
/// lift them at the target; none where nothing lifts before the target.
fn lift_off(product: &Product, cabinet: &Cabinet, assembled: &Assembled) -> Option<(f64, String)> {
    let target = assembled.setup.target.moisture_dry_basis;
    let full = cabinet.full_fan()?;
    let at = lift_off_moisture(product, assembled, cabinet.air_speed_m_per_s(full))?;
    if at <= target {
        return None;
    }
    let gentle = cabinet.fan_steps.iter().rev().find(|f| {
        lift_off_moisture(product, assembled, cabinet.air_speed_m_per_s(f)).is_none_or(|x| x <= target)
    });
    let step = gentle.or(cabinet.fan_steps.first())?;
    (step.name != full.name).then(|| (1.1 * at, step.name.clone()))
}

fn judge(way: &Way, product: &Product, cabinet: &Cabinet, assembled: &Assembled) -> (Tried, Option<f64>) {
    let mut tried = Tried {
        vent: way.vent.clone(),
        set_point_c: way.set_point_c,
        hours: None,
        kwh: None,
        chosen: false,
        against: None,
    };
    let Some(run) = try_run(&way.stages, cabinet, assembled) else {
        tried.against = Some(Against::NotReached);
        return (tried, None);
    };
    let Some(end) = run.stage_ends.last() else { return (tried, None) };
    let (seconds, energy) = (end.sample.elapsed_s, end.sample.heater_j + end.sample.fan_j);
    tried.hours = Some(seconds / 3600.0);
    tried.kwh = Some(energy / 3.6e6);
    tried.against =
        nobody_there(&run, assembled).or_else(|| objection(&run, product, cabinet, way.set_point_c));
    (tried, Some(energy + HOUR_WORTH_J * seconds / 3600.0))
}

fn try_run(stages: &[Stage], cabinet: &Cabinet, assembled: &Assembled) -> Option<Run> {
    let inputs: Vec<StageInput> = stages
        .iter()
        .map(|s| stage_input(s, cabinet, &assembled.trays_by_group))
        .collect::<Result<_, _>>()
        .ok()?;
    let mut setup = assembled.setup.clone();
    setup.stages = inputs;
    let options = Options {
        relative_tolerance: COARSE.relative_tolerance,
        sample_every_s: Some(900.0),
        longest_stage_s: 4.0 * 86_400.0,
        enforce_balances: false,
        ..Options::default()
    };
    run(&steadied(&setup.batch, &COARSE), &setup.stages_to_target(), &options, &mut |_| true).ok()
}

/// The first change of stage that falls outside the staffed hours.
fn nobody_there(run: &Run, assembled: &Assembled) -> Option<Against> {
    let starts = run.stage_ends.iter().skip(1).map(|e| e.started_s);
    starts.into_iter().find(|s| !assembled.setup.is_staffed(*s)).map(Against::NobodyThere)
}

/// What speaks against a way: a set point that is never held, or a piece too hot.
fn objection(run: &Run, product: &Product, cabinet: &Cabinet, set_point_c: f64) -> Option<Against> {
    let band = match &cabinet.controller.kind {
        ControllerKind::OnOff { hysteresis } => hysteresis.value.kelvin(),
        ControllerKind::Pi { .. } => 0.0,
    };
    let last = run.samples.last()?.elapsed_s;
    let late = run.samples.iter().filter(|s| s.elapsed_s > 0.6 * last);
    let short = late.map(|s| set_point_c - s.chamber_temperature_c).fold(f64::INFINITY, f64::min);
    let ceiling = product.recommended.product_temperature_max.value.celsius();
    let finishing = run.stage_ends.iter().any(|e| e.name == "finish");
    if short > 4.0 + band && !finishing {
        return Some(Against::SetPointLost(short));
    }
    let drying = run.samples.iter().filter(|s| s.stage + 1 < run.stage_ends.len() || !finishing);
    let hottest = drying.flat_map(|s| s.pieces.iter().map(|p| p.surface_c)).fold(f64::NEG_INFINITY, f64::max);
    (hottest > ceiling + 2.0).then_some(Against::TooHot(hottest))
}

/// Adds a shut stage where the cook ends before the least shut time.
fn settle_cook(way: &Way, cabinet: &Cabinet, assembled: &Assembled) -> Result<Vec<Stage>, PlanError> {
    let mut stages = way.stages.clone();
    let Some(cook) = stages.iter().position(|s| s.name == "cook") else { return Ok(stages) };
    let inputs: Vec<StageInput> = stages[..=cook]
        .iter()
        .map(|s| stage_input(s, cabinet, &assembled.trays_by_group))
        .collect::<Result<_, _>>()?;
    let options = Options { sample_every_s: None, enforce_balances: false, ..Options::default() };
    let done = run(&steadied(&assembled.setup.batch, &COARSE), &inputs, &options, &mut |_| true)?;
    let shut = done.stage_ends.last().map_or(0.0, |e| e.sample.elapsed_s);
    if shut < SHUT_S {
        let more = ((SHUT_S - shut) / 60.0).ceil() * 60.0;
        let hold = Stage {
            name: "stay shut".to_owned(),
            ends: vec![EndCondition::Elapsed { seconds: more }],
            at_most_s: None,
            ..stages[cook].clone()
        };
        stages.insert(cook + 1, hold);
    }
    Ok(stages)
}
