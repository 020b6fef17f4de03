//! A plan for machines: JSON with a published schema. Always SI; times in seconds from the start and as clock texts.

use fallrate_simulate::Sample;
use schemars::JsonSchema;
use serde::Serialize;

use crate::chart::band_at;
use crate::library::Library;
use crate::page::view::{View, end_core, group_mean};
use crate::page::{act_list, caution_list, mark_word};
use crate::plan_case::Planned;
use crate::words::Reader;

/// A plan: a forecast with its advice. Never evidence of what happened in a batch.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PlanReport {
    /// Version of this form.
    pub format: &'static str,
    /// Version of the program.
    pub program_version: &'static str,
    /// Always "forecast".
    pub kind: &'static str,
    /// Language of the texts.
    pub language: &'static str,
    /// Title of the plan file.
    pub title: Option<String>,
    /// Key of the product.
    pub product: String,
    /// Key of the cabinet.
    pub cabinet: String,
    /// The load.
    pub load: LoadReport,
    /// What it is dried to.
    pub target: TargetReport,
    /// Clock time of the start, hh:mm.
    pub start_clock: String,
    /// Date of the start, yyyy-mm-dd, where the plan file says it.
    pub start_date: Option<String>,
    /// The countdown timer.
    pub timer: TimerReport,
    /// What to do, in order.
    pub acts: Vec<ActReport>,
    /// Stages with their forecast ends.
    pub stages: Vec<StageReport>,
    /// Forecast over time.
    pub forecast: Vec<InstantReport>,
    /// What each stage reaches.
    pub feasibility: Vec<ReachReport>,
    /// Water for a wet bulb asked for.
    pub water: Option<WaterReport>,
    /// Yield.
    pub yields: YieldReport,
    /// Energy and money.
    pub energy: EnergyReport,
    /// Forecast of the coldest core, for products with a kill step: a forecast, no proof.
    pub kill_step_forecast: Vec<CoreReport>,
    /// What published options would come to if the run went as forecast: a forecast, no verdict.
    pub kill_options_forecast: Vec<OptionReport>,
    /// Air speed that lifts light pieces, by fan step.
    pub lift_off: Vec<LiftReport>,
    /// What the spread of the end comes from.
    pub uncertainty: Option<UncertaintyReport>,
    /// What the plan file left out and what was taken.
    pub defaults: Vec<DefaultReport>,
    /// Cautions.
    pub cautions: Vec<CautionReport>,
    /// Closure of the run's balances.
    pub balance: BalanceReport,
}

/// The load.
#[derive(Debug, Serialize, JsonSchema)]
pub struct LoadReport {
    /// Prepared raw product, kg.
    pub fresh_kg: f64,
    /// Dry solids, kg.
    pub solids_kg: f64,
    /// Loaded trays.
    pub trays: u32,
    /// Prepared raw product on each, kg.
    pub fresh_per_tray_kg: f64,
    /// Tray with its liner, kg.
    pub tare_kg: f64,
    /// Thickness or diameter, m.
    pub thickness_m: f64,
    /// Moisture at the start, kg/kg dry basis.
    pub moisture_initial_dry_basis: f64,
}

/// What the batch is dried to.
#[derive(Debug, Serialize, JsonSchema)]
pub struct TargetReport {
    /// "mean", "wettest" or "driest".
    pub piece: &'static str,
    /// kg/kg dry basis.
    pub moisture_dry_basis: f64,
    /// % wet basis.
    pub moisture_wet_basis_pct: f64,
    /// Water activity, where the target was given so.
    pub water_activity: Option<f64>,
    /// Gross weight of a tray at the target, kg.
    pub tray_gross_kg: f64,
}

/// The countdown timer.
#[derive(Debug, Serialize, JsonSchema)]
pub struct TimerReport {
    /// Powered time to dial, s.
    pub dial_s: f64,
    /// Clock time at which it ends, hh:mm.
    pub ends_clock: String,
    /// "least cost", "three of four", "half, then dial again", "nominal", "dial maximum" or "staffed".
    pub reason: &'static str,
    /// Powered time that meets the target in 10 % of the draws, s.
    pub early_s: Option<f64>,
    /// In 50 %, s.
    pub expected_s: Option<f64>,
    /// In 90 %, s; null where it is not reached.
    pub late_s: Option<f64>,
    /// Without any spread, s.
    pub nominal_s: f64,
    /// Powered time if emptied as the power goes off, s.
    pub emptied_at_once_s: Option<f64>,
    /// Powered time if it stands until somebody comes, s.
    pub standing_s: Option<f64>,
    /// When it is unloaded, s.
    pub unloaded_s: f64,
    /// Clock time of unloading, hh:mm.
    pub unloaded_clock: String,
    /// Mean moisture at power-off, kg/kg dry basis.
    pub moisture_at_power_off_dry_basis: f64,
    /// Mean moisture at unloading, kg/kg dry basis.
    pub moisture_at_unloading_dry_basis: f64,
    /// Powered drying that the coast replaces, s; negative where the load takes water up.
    pub coast_worth_s: f64,
    /// Somebody is there as the power goes off.
    pub staffed_at_end: bool,
    /// One hour less, as advised, one hour more.
    pub misses: Vec<MissReport>,
}

/// A timer value and what comes of it.
#[derive(Debug, Serialize, JsonSchema)]
pub struct MissReport {
    /// Powered time, s.
    pub powered_s: f64,
    /// Median mean moisture at unloading, kg/kg dry basis.
    pub moisture_dry_basis: f64,
    /// Share of the draws that are too wet.
    pub share_too_wet: Option<f64>,
    /// Given away below the target, kg.
    pub given_away_kg: f64,
    /// Expected cost, in the plan's currency.
    pub cost: Option<f64>,
}

/// One thing to do.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ActReport {
    /// When, in words.
    pub clock: String,
    /// What.
    pub text: String,
    /// The condition to watch.
    pub watch: Option<String>,
}

/// A stage.
#[derive(Debug, Serialize, JsonSchema)]
pub struct StageReport {
    /// Name.
    pub name: String,
    /// Start, s.
    pub started_s: f64,
    /// End, s.
    pub ended_s: f64,
    /// Set point, degC.
    pub set_point_c: Option<f64>,
}

/// An instant of the forecast.
#[derive(Debug, Serialize, JsonSchema)]
pub struct InstantReport {
    /// s from the start.
    pub elapsed_s: f64,
    /// Clock time, hh:mm.
    pub clock: String,
    /// Air entering the trays, degC.
    pub air_c: f64,
    /// Wet bulb, degC.
    pub wet_bulb_c: f64,
    /// Fraction.
    pub relative_humidity: f64,
    /// Share of full heater power asked for.
    pub heater_demand: f64,
    /// Coldest core, degC.
    pub core_coldest_c: f64,
    /// Warmest core, degC.
    pub core_warmest_c: f64,
    /// kg/kg dry basis.
    pub moisture_mean_dry_basis: f64,
    /// kg/kg dry basis.
    pub moisture_wettest_dry_basis: f64,
    /// kg/kg dry basis.
    pub moisture_driest_dry_basis: f64,
    /// 10th percentile of the mean over the draws, kg/kg dry basis.
    pub moisture_mean_p10_dry_basis: Option<f64>,
    /// 90th percentile of the mean over the draws, kg/kg dry basis.
    pub moisture_mean_p90_dry_basis: Option<f64>,
    /// Water activity of the mean piece at 25 degC.
    pub water_activity_mean: f64,
    /// Water activity of the wettest piece at 25 degC.
    pub water_activity_wettest: f64,
    /// Product on the trays, kg.
    pub load_weight_kg: f64,
    /// Heater and fan since the start, kWh.
    pub energy_kwh: f64,
    /// Each tray group.
    pub groups: Vec<GroupReport>,
}

/// A tray group at an instant.
#[derive(Debug, Serialize, JsonSchema)]
pub struct GroupReport {
    /// Name.
    pub name: String,
    /// Mean moisture, kg/kg dry basis.
    pub moisture_dry_basis: f64,
    /// Core of the piece first in the air, degC.
    pub core_first_c: f64,
    /// Core of the piece last in the air, degC.
    pub core_last_c: f64,
}

/// What a stage reaches.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ReachReport {
    /// Stage.
    pub stage: String,
    /// Set point, degC.
    pub set_point_c: f64,
    /// Highest chamber temperature, degC.
    pub highest_c: f64,
    /// Time to within 1 K of the set point, s; null where it is not reached.
    pub reached_after_s: Option<f64>,
    /// Share of the stage with the heater at its limit.
    pub heater_full_share: f64,
    /// Highest relative humidity, fraction.
    pub highest_relative_humidity: f64,
    /// Highest wet bulb, degC.
    pub highest_wet_bulb_c: f64,
}

/// Water for a wet bulb asked for.
#[derive(Debug, Serialize, JsonSchema)]
pub struct WaterReport {
    /// Wet bulb asked for, degC.
    pub wet_bulb_c: f64,
    /// Relative humidity it needs, fraction.
    pub relative_humidity: f64,
    /// Highest wet bulb that the plan reaches, degC.
    pub reached_c: f64,
    /// Water that fills the cabinet's air up to it, kg.
    pub fill_kg: f64,
    /// Water that keeps it against the leak, kg/h.
    pub upkeep_kg_per_h: f64,
}

/// Yield.
#[derive(Debug, Serialize, JsonSchema)]
pub struct YieldReport {
    /// Finished at the forecast moisture, kg.
    pub finished_kg: f64,
    /// Finished exactly at the target, kg.
    pub finished_at_target_kg: f64,
    /// Fresh over finished.
    pub drying_ratio: f64,
    /// Water removed, kg.
    pub water_removed_kg: f64,
    /// Given away below the target, kg.
    pub given_away_kg: f64,
    /// The same in money.
    pub given_away_cost: Option<f64>,
}

/// Energy and money.
#[derive(Debug, Serialize, JsonSchema)]
pub struct EnergyReport {
    /// kWh
    pub heater_kwh: f64,
    /// kWh
    pub fan_kwh: f64,
    /// kWh per kg of water removed.
    pub kwh_per_kg_water: f64,
    /// Highest quarter-hour demand, kW.
    pub peak_kw: f64,
    /// Currency of the costs.
    pub currency: Option<String>,
    /// Energy.
    pub energy_cost: Option<f64>,
    /// Demand charge if this batch's peak were the period's highest.
    pub demand_cost: Option<f64>,
    /// Labour.
    pub labour_cost: Option<f64>,
    /// Raw material.
    pub raw_cost: Option<f64>,
    /// All but the demand charge, per kg finished.
    pub cost_per_kg_finished: Option<f64>,
}

/// Minutes of the forecast coldest core at or above a temperature.
#[derive(Debug, Serialize, JsonSchema)]
pub struct CoreReport {
    /// degC
    pub at_or_above_c: f64,
    /// Before the drying stage begins.
    pub minutes_before_drying: f64,
    /// In all.
    pub minutes: f64,
}

/// A published option looked at with the forecast.
#[derive(Debug, Serialize, JsonSchema)]
pub struct OptionReport {
    /// Id of the option.
    pub option: String,
    /// "expected_to_hold", "too_close_to_call" or "not_expected_to_hold".
    pub answer: &'static str,
    /// Cold side of the band taken off the forecast core, K.
    pub band_k: f64,
    /// Forecast minutes that count as humid for it.
    pub humid_minutes: f64,
    /// Earliest end of the kill step at the cold side of the band, s.
    pub end_s: Option<f64>,
}

/// Lift-off at a fan step.
#[derive(Debug, Serialize, JsonSchema)]
pub struct LiftReport {
    /// Fan step.
    pub fan_step: String,
    /// m/s
    pub air_speed_m_per_s: f64,
    /// Pieces fly below this moisture, kg/kg dry basis; null: never.
    pub below_dry_basis: Option<f64>,
}

/// What the spread of the end comes from.
#[derive(Debug, Serialize, JsonSchema)]
pub struct UncertaintyReport {
    /// Draws.
    pub draws: usize,
    /// Draws that failed or did not reach the target.
    pub unreached: usize,
    /// R2 of the regression behind the shares; null with too few draws.
    pub r_squared: Option<f64>,
    /// Largest first.
    pub shares: Vec<ShareReport>,
}

/// Share of one input.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ShareReport {
    /// Input.
    pub input: String,
    /// 0 to 1.
    pub share: f64,
    /// Change of the end by one standard deviation, s.
    pub per_sd_s: f64,
    /// How far the input is known.
    pub mark: String,
    /// Source key.
    pub source: String,
}

/// A default.
#[derive(Debug, Serialize, JsonSchema)]
pub struct DefaultReport {
    /// Key of the plan file.
    pub key: &'static str,
    /// What was taken.
    pub taken: String,
}

/// A caution.
#[derive(Debug, Serialize, JsonSchema)]
pub struct CautionReport {
    /// "act", "caution" or "note".
    pub level: &'static str,
    /// Text.
    pub text: String,
}

/// Closure of balances, residuals as shares of what was exchanged.
#[derive(Debug, Serialize, JsonSchema)]
pub struct BalanceReport {
    /// Water.
    pub water: f64,
    /// Energy.
    pub energy: f64,
}

/// Six significant digits: what is beyond is noise of the solver.
fn six(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    format!("{value:.5e}").parse().unwrap_or(value)
}

fn finite(value: f64) -> Option<f64> {
    value.is_finite().then(|| six(value))
}

/// The schema of [`PlanReport`].
#[must_use]
pub fn plan_schema() -> String {
    let schema = schemars::schema_for!(PlanReport);
    serde_json::to_string_pretty(&schema).map(|s| s + "\n").unwrap_or_default()
}

/// The plan as JSON text.
#[must_use]
pub fn plan_report(planned: &Planned, library: &Library, reader: &Reader) -> String {
    let v = View::new(planned, library, reader);
    serde_json::to_string_pretty(&report(&v)).map(|s| s + "\n").unwrap_or_default()
}

fn report(v: &View<'_>) -> PlanReport {
    let plan = v.plan;
    PlanReport {
        format: "fallrate plan 1",
        program_version: crate::VERSION,
        kind: "forecast",
        language: v.r.words.language().tag(),
        title: v.case.request.title.clone(),
        product: v.case.product.key.clone(),
        cabinet: v.case.cabinet.key.clone(),
        load: load(v),
        target: target(v),
        start_clock: v.setup.start.hm(),
        start_date: v.case.request.start.date.clone(),
        timer: timer(v),
        acts: act_list(v)
            .into_iter()
            .map(|a| ActReport { clock: a.clock, text: a.text, watch: a.watch })
            .collect(),
        stages: stages(v),
        forecast: plan.run.samples.iter().map(|s| instant(v, s)).collect(),
        feasibility: plan.feasibility.stages.iter().map(reach).collect(),
        water: plan.feasibility.water.as_ref().map(|w| WaterReport {
            wet_bulb_c: six(w.wet_bulb_c),
            relative_humidity: six(w.relative_humidity),
            reached_c: six(w.reached_c),
            fill_kg: six(w.fill_kg),
            upkeep_kg_per_h: six(w.upkeep_kg_per_h),
        }),
        yields: yields(v),
        energy: energy(v),
        kill_step_forecast: plan
            .core
            .iter()
            .map(|c| CoreReport {
                at_or_above_c: six(c.at_or_above_c),
                minutes_before_drying: six(c.minutes_before_drying),
                minutes: six(c.minutes),
            })
            .collect(),
        kill_options_forecast: kill_options(v),
        lift_off: plan
            .lift_off
            .iter()
            .map(|l| LiftReport {
                fan_step: l.fan_step.clone(),
                air_speed_m_per_s: six(l.air_speed_m_per_s),
                below_dry_basis: l.below_dry_basis.map(six),
            })
            .collect(),
        uncertainty: uncertainty(v),
        defaults: v
            .case
            .request
            .defaults_used
            .iter()
            .map(|d| DefaultReport { key: d.key, taken: crate::page::taken(v, d.key, d.taken) })
            .collect(),
        cautions: cautions(v),
        balance: BalanceReport {
            water: six(plan.run.balance.water_residual_share),
            energy: six(plan.run.balance.energy_residual_share),
        },
    }
}

fn kill_options(v: &View<'_>) -> Vec<OptionReport> {
    use fallrate_lethality::ForecastAnswer;
    let one = |k: &fallrate_plan::kill::KillForecast| OptionReport {
        option: k.option.id().to_owned(),
        answer: match k.verdict.answer() {
            ForecastAnswer::ExpectedToHold => "expected_to_hold",
            ForecastAnswer::TooCloseToCall => "too_close_to_call",
            ForecastAnswer::NotExpectedToHold => "not_expected_to_hold",
        },
        band_k: six(k.band_k),
        humid_minutes: six(k.humid_minutes),
        end_s: k.verdict.end_s().and_then(finite),
    };
    v.plan.kill.iter().map(one).collect()
}

fn load(v: &View<'_>) -> LoadReport {
    let b = &v.setup.batch;
    LoadReport {
        fresh_kg: six(b.fresh_kg()),
        solids_kg: six(b.solids_kg()),
        trays: v.plan.assembled.loaded_trays,
        fresh_per_tray_kg: six(b.load.fresh_kg_per_tray),
        tare_kg: six(v.plan.assembled.tare_kg),
        thickness_m: six(b.material.size_m),
        moisture_initial_dry_basis: six(b.material.moisture_initial_dry_basis),
    }
}

fn target(v: &View<'_>) -> TargetReport {
    let t = &v.setup.target;
    TargetReport {
        piece: match t.piece {
            fallrate_schedule::Piece::Mean => "mean",
            fallrate_schedule::Piece::Slowest => "wettest",
            fallrate_schedule::Piece::Fastest => "driest",
        },
        moisture_dry_basis: six(t.moisture_dry_basis),
        moisture_wet_basis_pct: six(100.0 * t.moisture_dry_basis / (1.0 + t.moisture_dry_basis)),
        water_activity: t.water_activity.map(six),
        tray_gross_kg: six(v.plan.tray.gross_kg),
    }
}

fn timer(v: &View<'_>) -> TimerReport {
    use fallrate_plan::timer::Reason;
    let t = &v.plan.timer;
    let q = |i: usize| t.quantiles_s.and_then(|q| finite(q[i]));
    TimerReport {
        dial_s: six(t.dial_s),
        ends_clock: v.setup.clock(t.dial_s).hm(),
        reason: match t.reason {
            Reason::LeastCost => "least cost",
            Reason::ThreeOfFour => "three of four",
            Reason::HalfThenDialAgain => "half, then dial again",
            Reason::Nominal => "nominal",
            Reason::DialMaximum => "dial maximum",
            Reason::Staffed => "staffed",
        },
        early_s: q(0),
        expected_s: q(1),
        late_s: q(2),
        nominal_s: six(t.nominal_s),
        emptied_at_once_s: finite(t.emptied_at_once_s),
        standing_s: t.standing_s.and_then(|s| finite(s.0)),
        unloaded_s: six(t.unloaded_s),
        unloaded_clock: v.setup.clock(t.unloaded_s).hm(),
        moisture_at_power_off_dry_basis: six(t.coast.0),
        moisture_at_unloading_dry_basis: six(t.coast.1),
        coast_worth_s: six(t.coast_worth_s),
        staffed_at_end: t.staffed_at_end,
        misses: t
            .misses
            .iter()
            .map(|m| MissReport {
                powered_s: six(m.powered_s),
                moisture_dry_basis: six(m.moisture_dry_basis),
                share_too_wet: m.share_too_wet.map(six),
                given_away_kg: six(m.given_away_kg),
                cost: m.cost.map(six),
            })
            .collect(),
    }
}

fn stages(v: &View<'_>) -> Vec<StageReport> {
    v.plan
        .run
        .stage_ends
        .iter()
        .enumerate()
        .map(|(i, e)| StageReport {
            name: e.name.clone(),
            started_s: six(e.started_s),
            ended_s: six(e.sample.elapsed_s),
            set_point_c: v
                .setup
                .stages
                .get(i)
                .filter(|_| e.name != "stand")
                .and_then(|s| s.set_point_c)
                .map(six),
        })
        .collect()
}

fn instant(v: &View<'_>, s: &Sample) -> InstantReport {
    let powered = s.elapsed_s <= v.plan.timer.dial_s + 0.5;
    let band = v.plan.band.as_ref().filter(|_| powered).and_then(|b| band_at(b, s.elapsed_s));
    InstantReport {
        elapsed_s: six(s.elapsed_s),
        clock: v.setup.clock(s.elapsed_s).hm(),
        air_c: six(s.chamber_temperature_c),
        wet_bulb_c: six(s.wet_bulb_c),
        relative_humidity: six(s.relative_humidity),
        heater_demand: six(s.heater_demand),
        core_coldest_c: six(s.core_coldest_c),
        core_warmest_c: six(s.core_warmest_c),
        moisture_mean_dry_basis: six(s.moisture_mean_dry_basis),
        moisture_wettest_dry_basis: six(s.moisture_slowest_dry_basis),
        moisture_driest_dry_basis: six(s.moisture_fastest_dry_basis),
        moisture_mean_p10_dry_basis: band.map(|b| six(b.0)),
        moisture_mean_p90_dry_basis: band.map(|b| six(b.1)),
        water_activity_mean: six(s.water_activity_mean),
        water_activity_wettest: six(s.water_activity_slowest),
        load_weight_kg: six(s.load_weight_kg),
        energy_kwh: six((s.heater_j + s.fan_j) / 3.6e6),
        groups: v
            .groups
            .iter()
            .enumerate()
            .map(|(g, name)| GroupReport {
                name: (*name).to_owned(),
                moisture_dry_basis: six(group_mean(s, g)),
                core_first_c: six(end_core(s, g, false)),
                core_last_c: six(end_core(s, g, true)),
            })
            .collect(),
    }
}

fn reach(s: &fallrate_plan::feasible::StageReach) -> ReachReport {
    ReachReport {
        stage: s.stage.clone(),
        set_point_c: six(s.set_point_c),
        highest_c: six(s.highest_c),
        reached_after_s: s.reached_after_s.map(six),
        heater_full_share: six(s.heater_full_share),
        highest_relative_humidity: six(s.highest_rh),
        highest_wet_bulb_c: six(s.highest_wet_bulb_c),
    }
}

fn yields(v: &View<'_>) -> YieldReport {
    let y = &v.plan.yields;
    YieldReport {
        finished_kg: six(y.finished_kg),
        finished_at_target_kg: six(y.finished_at_target_kg),
        drying_ratio: six(y.drying_ratio),
        water_removed_kg: six(y.water_removed_kg),
        given_away_kg: six(y.given_away_kg),
        given_away_cost: y.given_away_cost.map(six),
    }
}

fn energy(v: &View<'_>) -> EnergyReport {
    let e = &v.plan.energy;
    EnergyReport {
        heater_kwh: six(e.heater_kwh),
        fan_kwh: six(e.fan_kwh),
        kwh_per_kg_water: six(e.kwh_per_kg_water),
        peak_kw: six(e.peak_kw),
        currency: v.case.request.money.currency.clone(),
        energy_cost: e.energy_cost.map(six),
        demand_cost: e.demand_cost.map(six),
        labour_cost: e.labour_cost.map(six),
        raw_cost: e.raw_cost.map(six),
        cost_per_kg_finished: e.cost_per_kg_finished.map(six),
    }
}

fn uncertainty(v: &View<'_>) -> Option<UncertaintyReport> {
    let (band, shares) = v.plan.band.as_ref().zip(v.plan.variance.as_ref())?;
    Some(UncertaintyReport {
        draws: band.draws.len(),
        unreached: band.unreached,
        r_squared: finite(shares.r_squared),
        shares: shares
            .shares
            .iter()
            .map(|s| {
                let spread = v.setup.spreads.iter().find(|p| p.input == s.input);
                ShareReport {
                    input: crate::page::input_name(v.r, s.input),
                    share: six(s.share),
                    per_sd_s: six(s.per_sd_s),
                    mark: mark_word(v.r, spread.map_or("assumed", |p| p.mark.as_str())),
                    source: spread.map_or_else(String::new, |p| p.source.clone()),
                }
            })
            .collect(),
    })
}

fn cautions(v: &View<'_>) -> Vec<CautionReport> {
    use fallrate_report::Level;
    caution_list(v)
        .into_iter()
        .map(|c| CautionReport {
            level: match c.level {
                Level::Act => "act",
                Level::Caution => "caution",
                Level::Note => "note",
            },
            text: c.text,
        })
        .collect()
}
