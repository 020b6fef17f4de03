//! Can this heater, leak and vent reach what is asked for with this load; and if not, what to change.

use fallrate_air::{humidity_ratio_from_wet_bulb, relative_humidity};
use fallrate_equipment::Cabinet;
use fallrate_foods::Product;
use fallrate_simulate::{Batch, Options, Run, run};

use crate::setup::Setup;
use crate::sweep::{COARSE, regridded};

/// What a stage reached of its set point.
#[derive(Clone, Debug, PartialEq)]
pub struct StageReach {
    /// Stage.
    pub stage: String,
    /// Set point, degC.
    pub set_point_c: f64,
    /// Highest temperature that the display shows in the stage, degC.
    pub highest_c: f64,
    /// How long the stage lasts, s.
    pub lasted_s: f64,
    /// Time from the start of the stage to within 1 K of the set point, s; none where it is not reached.
    pub reached_after_s: Option<f64>,
    /// Share of the stage with the heater at its limit.
    pub heater_full_share: f64,
    /// Highest relative humidity, fraction, and wet bulb, degC.
    pub highest_rh: f64,
    /// Highest wet bulb, degC.
    pub highest_wet_bulb_c: f64,
}

impl StageReach {
    /// The stage is long enough to reach its set point and does not come within 2 K of it. A short warm-up that its own end
    /// cuts off is no fault.
    #[must_use]
    pub fn falls_short(&self) -> bool {
        self.reached_after_s.is_none() && self.lasted_s >= 2700.0 && self.highest_c < self.set_point_c - 2.0
    }
}

/// A change that was tried where the set point is not reached.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// What was changed.
    pub kind: ChangeKind,
    /// Highest temperature the display then shows, degC.
    pub highest_c: f64,
    /// Time to within 1 K of the set point, s; none where it is still not reached.
    pub reached_after_s: Option<f64>,
}

/// Kind of change.
#[derive(Clone, Debug, PartialEq)]
pub enum ChangeKind {
    /// This share of the load.
    LoadShare(f64),
    /// The vent at a smaller opening (share of the present one).
    VentShare(f64),
}

/// Water for a wet bulb that is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct WaterNeeded {
    /// Wet bulb asked for, degC.
    pub wet_bulb_c: f64,
    /// Where the figure comes from.
    pub source: String,
    /// Relative humidity it needs at the set point and this altitude, fraction.
    pub relative_humidity: f64,
    /// Highest wet bulb that the plan's shut stages reach, degC.
    pub reached_c: f64,
    /// Water to fill the chamber's air from the state reached, kg; 0 where it is reached.
    pub fill_kg: f64,
    /// Water that the leak then carries off per hour, kg/h.
    pub upkeep_kg_per_h: f64,
}

/// The whole answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Feasibility {
    /// Each powered stage.
    pub stages: Vec<StageReach>,
    /// Changes tried for the first stage that does not reach its set point.
    pub changes: Vec<Change>,
    /// Water for the humidity asked for.
    pub water: Option<WaterNeeded>,
    /// Greatest evaporation this heater can feed at the last stage's set point and vent, kg/h.
    pub heater_water_kg_per_h: f64,
}

/// Judges the nominal run.
#[must_use]
pub fn judge(setup: &Setup, product: &Product, cabinet: &Cabinet, run: &Run) -> Feasibility {
    let stages = reaches(setup, run);
    let short = stages.iter().position(StageReach::falls_short);
    let changes = short.map(|i| try_changes(setup, i)).unwrap_or_default();
    Feasibility {
        water: water(setup, product, &stages),
        heater_water_kg_per_h: heater_water(setup, cabinet),
        changes,
        stages,
    }
}

fn reaches(setup: &Setup, run: &Run) -> Vec<StageReach> {
    let mut list = Vec::new();
    for (i, stage) in setup.stages.iter().enumerate() {
        let Some(set_point_c) = stage.set_point_c else { continue };
        let Some(end) = run.stage_ends.get(i) else { continue };
        let inside: Vec<_> = run.samples.iter().filter(|s| s.stage == i).collect();
        let near = inside.iter().find(|s| s.displayed_temperature_c >= set_point_c - 1.0);
        #[allow(clippy::cast_precision_loss)]
        let full =
            inside.iter().filter(|s| s.heater_demand > 0.995).count() as f64 / inside.len().max(1) as f64;
        let highest = |f: &dyn Fn(&fallrate_simulate::Sample) -> f64| {
            inside.iter().map(|s| f(s)).fold(f64::NEG_INFINITY, f64::max)
        };
        list.push(StageReach {
            stage: stage.name.clone(),
            set_point_c,
            highest_c: highest(&|s| s.displayed_temperature_c),
            lasted_s: end.sample.elapsed_s - end.started_s,
            reached_after_s: near.map(|s| (s.elapsed_s - end.started_s).max(0.0)),
            heater_full_share: full,
            highest_rh: highest(&|s| s.relative_humidity),
            highest_wet_bulb_c: highest(&|s| s.wet_bulb_c),
        });
    }
    list
}

/// Runs the stages up to the one that falls short with less load or less vent.
fn try_changes(setup: &Setup, stage: usize) -> Vec<Change> {
    let kinds = [ChangeKind::LoadShare(0.75), ChangeKind::LoadShare(0.5), ChangeKind::VentShare(0.5)];
    let vented = matches!(setup.stages[stage].vent, fallrate_simulate::VentSetting::Opening(o) if o > 0.0);
    kinds
        .into_iter()
        .filter(|k| vented || !matches!(k, ChangeKind::VentShare(_)))
        .filter_map(|kind| {
            let mut batch: Batch = regridded(&setup.batch, &COARSE);
            let mut stages = setup.stages_to_target();
            match kind {
                ChangeKind::LoadShare(s) => batch.load.fresh_kg_per_tray *= s,
                ChangeKind::VentShare(s) => {
                    if let fallrate_simulate::VentSetting::Opening(o) = &mut stages[stage].vent {
                        *o *= s;
                    }
                }
            }
            let options = Options {
                relative_tolerance: COARSE.relative_tolerance,
                sample_every_s: Some(300.0),
                enforce_balances: false,
                ..Options::default()
            };
            let done = run(&batch, &stages, &options, &mut |_| true).ok()?;
            let mut changed = setup.clone();
            changed.stages = stages;
            let reach = reaches(&changed, &done).into_iter().find(|r| r.stage == setup.stages[stage].name)?;
            Some(Change { kind, highest_c: reach.highest_c, reached_after_s: reach.reached_after_s })
        })
        .collect()
}

fn water(setup: &Setup, product: &Product, stages: &[StageReach]) -> Option<WaterNeeded> {
    let advice =
        product.recommended.first_stage_wet_bulb.as_ref().map(|a| (a.value.celsius(), a.source.clone()));
    // Wet pieces do not pass the wet bulb: a core that a stage aims at asks a wet bulb a little above it.
    let core =
        setup.stages.iter().flat_map(|s| s.ends.iter().map(move |e| (s, e))).find_map(|(s, e)| match e {
            fallrate_simulate::EndCondition::CoreReaches { celsius, .. } => {
                Some((celsius + 1.0, format!("the core that \u{201c}{}\u{201d} aims at", s.name)))
            }
            _ => None,
        });
    let (wb, source) = [advice, core].into_iter().flatten().max_by(|a, b| a.0.total_cmp(&b.0))?;
    let first = stages.first()?;
    let set = first.set_point_c;
    let pressure = setup.batch.room.pressure_pa;
    if wb >= set {
        return None;
    }
    let asked = humidity_ratio_from_wet_bulb(set, wb, pressure);
    let last = setup.stages.len().saturating_sub(1);
    let shut = setup.stages.iter().enumerate().filter(|(i, _)| *i < last);
    let names: Vec<&str> = shut.map(|(_, s)| s.name.as_str()).collect();
    let reached = stages
        .iter()
        .filter(|s| names.contains(&s.stage.as_str()))
        .map(|s| s.highest_wet_bulb_c)
        .fold(f64::NEG_INFINITY, f64::max);
    let reached = if reached.is_finite() { reached } else { first.highest_wet_bulb_c };
    let have = humidity_ratio_from_wet_bulb(set, reached.min(set - 0.1), pressure);
    let room = fallrate_air::humidity_ratio_from_relative_humidity(
        setup.batch.room.temperature_c,
        setup.batch.room.relative_humidity,
        pressure,
    );
    let dry_air =
        setup.batch.chamber.volume_m3 / fallrate_air::specific_volume_m3_per_kg_dry_air(set, asked, pressure);
    Some(WaterNeeded {
        wet_bulb_c: wb,
        source,
        relative_humidity: relative_humidity(set, asked, pressure),
        reached_c: reached,
        fill_kg: if reached >= wb { 0.0 } else { (dry_air * (asked - have)).max(0.0) },
        upkeep_kg_per_h: setup.batch.chamber.leakage_kg_per_s * (asked - room).max(0.0) * 3600.0,
    })
}

/// Heater and fan less shell loss and the heating of fresh air, over the latent heat: a steady bound, kg/h.
fn heater_water(setup: &Setup, cabinet: &Cabinet) -> f64 {
    let Some(last) = setup.stages.last() else { return 0.0 };
    let set = last.set_point_c.unwrap_or(setup.batch.room.temperature_c);
    let opening = match last.vent {
        fallrate_simulate::VentSetting::Opening(o) => o,
        fallrate_simulate::VentSetting::HoldRh { .. } => 0.5,
    };
    let fresh = setup.batch.chamber.leakage_kg_per_s + opening * setup.batch.chamber.vent_full_kg_per_s;
    let fan = last.fan.map_or(0.0, |f| f.power_w);
    let rise = set - setup.batch.room.temperature_c;
    let left = setup.batch.chamber.heater_w + fan - rise * (cabinet.shell_loss_w_per_k() + fresh * 1020.0);
    left.max(0.0) / 2.4e6 * 3600.0
}
