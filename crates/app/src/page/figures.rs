//! Feasibility, yield, tray weights, the forecast of the kill step, lift-off.

use fallrate_lethality::{ForecastAnswer, OptionId};
use fallrate_plan::feasible::{ChangeKind, StageReach};
use fallrate_report::{FigureGroup, KeyFigure};
use fallrate_schedule::EndCondition;
use fallrate_simulate::StopReason;

use super::view::View;
use crate::words::{fixed, say};

pub(super) fn figure(label: String, value: String, unit: &str, note: Option<String>) -> KeyFigure {
    KeyFigure { label, value, unit: unit.to_owned(), note }
}

pub(super) fn feasibility(v: &View<'_>) -> FigureGroup {
    let f = &v.plan.feasibility;
    let short: Vec<&StageReach> = f.stages.iter().filter(|s| falls_short(v, s)).collect();
    let summary = match short.first() {
        None => match v.unreached_stage() {
            Some((stage, condition)) => say!(v.r, "feasible-but", stage = stage, condition = condition),
            None => paced_by_heater(v),
        },
        Some(s) => say!(
            v.r,
            "feasible-no",
            stage = v.stage(&s.stage),
            set = v.r.temperature(s.set_point_c),
            highest = v.r.temperature(s.highest_c)
        ),
    };
    let mut figures: Vec<KeyFigure> = f.stages.iter().map(|s| reach(v, s)).collect();
    if !short.is_empty() {
        figures.extend(f.changes.iter().map(|c| change(v, c)));
    }
    figures.extend(water(v));
    figures.push(figure(
        v.r.text("heater-water"),
        v.r.mass_short(f.heater_water_kg_per_h, 1),
        &format!("{}/h", v.r.mass_unit()),
        Some(v.r.text("heater-water-note")),
    ));
    FigureGroup { title: v.r.text("title-feasible"), summary: Some(summary), figures }
}

/// "Yes", or the stage after the first that ends by its own condition with the heater at its limit, short of its set point.
fn paced_by_heater(v: &View<'_>) -> String {
    let late = v.plan.feasibility.stages.iter().skip(1).find(|s| s.reached_after_s.is_none());
    late.map_or_else(
        || v.r.text("feasible-yes"),
        |s| {
            let (set, highest) = (v.r.temperature(s.set_point_c), v.r.temperature(s.highest_c));
            say!(v.r, "feasible-heater", stage = v.stage(&s.stage), set = set, highest = highest)
        },
    )
}

/// A stage that stays below its set point until the clock or the timer ends it. One that its own condition ends earlier,
/// as a warm-up does, lacks nothing.
fn falls_short(v: &View<'_>, s: &StageReach) -> bool {
    let end = v.plan.run.stage_ends.iter().find(|e| e.name == s.stage);
    let by_condition = end.is_some_and(
        |e| matches!(e.reason, StopReason::Reached(c) if !matches!(c, EndCondition::Elapsed { .. })),
    );
    s.reached_after_s.is_none() && !by_condition
}

fn reach(v: &View<'_>, s: &StageReach) -> KeyFigure {
    let label = say!(v.r, "reach-label", stage = v.stage(&s.stage), set = v.r.temperature(s.set_point_c));
    let otherwise = if falls_short(v, s) { "not-reached" } else { "reach-ends-before" };
    let value = s.reached_after_s.map_or_else(|| v.r.text(otherwise), |t| v.r.duration(t));
    let note = say!(
        v.r,
        "reach-note",
        full = v.r.percent(s.heater_full_share),
        rh = v.r.percent(s.highest_rh),
        wet_bulb = v.r.temperature(s.highest_wet_bulb_c)
    );
    figure(label, value, "", Some(note))
}

fn change(v: &View<'_>, c: &fallrate_plan::feasible::Change) -> KeyFigure {
    let label = match c.kind {
        ChangeKind::LoadShare(s) => say!(v.r, "change-load", share = v.r.percent(s)),
        ChangeKind::VentShare(s) => say!(v.r, "change-vent", share = v.r.percent(s)),
    };
    let value = c.reached_after_s.map_or_else(|| v.r.text("not-reached"), |t| v.r.duration(t));
    figure(label, value, "", Some(say!(v.r, "change-note", highest = v.r.temperature(c.highest_c))))
}

fn water(v: &View<'_>) -> Option<KeyFigure> {
    let w = v.plan.feasibility.water.as_ref()?;
    let key = if w.reached_c >= w.wet_bulb_c { "water-reached" } else { "water-needed" };
    let note = say!(
        v.r,
        key,
        rh = v.r.percent(w.relative_humidity),
        fill = v.r.mass(w.fill_kg, 2),
        upkeep = format!("{}/h", v.r.mass(w.upkeep_kg_per_h, 2))
    );
    let label = say!(v.r, "water-label", wet_bulb = v.r.temperature(w.wet_bulb_c));
    Some(figure(label, v.r.temperature_short(w.reached_c), v.r.temperature_unit(), Some(note)))
}

pub(super) fn yields(v: &View<'_>) -> FigureGroup {
    let (y, t, r) = (&v.plan.yields, &v.plan.tray, v.r);
    let unit = r.mass_unit();
    let off: Vec<String> = t
        .if_solids_off
        .iter()
        .filter(|(_, moisture)| *moisture > 0.0)
        .map(|(points, moisture)| {
            let key = if *points < 0.0 { "solids-fewer" } else { "solids-more" };
            say!(r, key, points = points.abs(), moisture = format!("{:.1}", 100.0 * moisture))
        })
        .collect();
    let mut figures = vec![
        figure(
            r.text("tray-gross"),
            r.mass_short(t.gross_kg, v.tray_digits()),
            unit,
            Some(say!(
                r,
                "tray-gross-note",
                net = r.mass(t.net_kg, v.tray_digits()),
                tare = r.mass(t.tare_kg, v.tray_digits()),
                fresh = r.mass(t.fresh_kg, 2)
            )),
        ),
        figure(
            r.text("tray-sensitivity"),
            r.moisture_short(v.setup.target.moisture_dry_basis),
            &r.text("unit-wb"),
            Some(say!(r, "tray-sensitivity-note", list = off.join(", "))),
        ),
        figure(
            r.text("finished"),
            r.mass_short(y.finished_kg, 2),
            unit,
            Some(say!(
                r,
                "finished-note",
                at_target = r.mass(y.finished_at_target_kg, 2),
                fresh = r.mass(y.fresh_kg, 1)
            )),
        ),
        figure(
            r.text("drying-ratio"),
            format!("{:.2}", y.drying_ratio),
            "",
            Some(r.text("drying-ratio-note")),
        ),
        figure(r.text("water-removed"), r.mass_short(y.water_removed_kg, 1), unit, None),
    ];
    let money = y.given_away_cost.map(|c| say!(r, "given-away-cost", cost = r.money(c, v.currency())));
    figures.push(figure(r.text("given-away"), r.mass_short(y.given_away_kg, 2), unit, money));
    FigureGroup { title: r.text("title-yield"), summary: None, figures }
}

pub(super) fn kill_step(v: &View<'_>, full: bool) -> Option<FigureGroup> {
    if v.plan.core.is_empty() {
        return None;
    }
    let mut figures: Vec<KeyFigure> = v.plan.kill.iter().map(|k| kill_option(v, k)).collect();
    // Temperatures that the core reaches while shut, and in the full page the first that it does not.
    let reached = v.plan.core.iter().filter(|c| c.minutes_before_drying > 0.5).count();
    figures.extend(v.plan.core.iter().take(reached + usize::from(full)).map(|c| {
        figure(
            say!(v.r, "kill-label", core = v.r.temperature(c.at_or_above_c)),
            format!("{:.0}", c.minutes_before_drying),
            "min",
            Some(say!(v.r, "kill-note", all = format!("{:.0}", c.minutes))),
        )
    }));
    Some(FigureGroup { title: v.r.text("title-kill"), summary: Some(v.r.text("kill-summary")), figures })
}

/// Name of a published option.
pub(crate) fn kill_option_name(r: &crate::words::Reader, option: OptionId) -> String {
    match option {
        OptionId::Sealed2021 => r.text("option-sealed"),
        OptionId::JerkyB => r.text("option-jerky-sealed"),
        OptionId::Rh90Share2021 => r.text("option-rh-share"),
        other => say!(r, "option-other", id = other.id()),
    }
}

/// A published option looked at with the forecast.
fn kill_option(v: &View<'_>, k: &fallrate_plan::kill::KillForecast) -> KeyFigure {
    let option = kill_option_name(v.r, k.option);
    let answer = match k.verdict.answer() {
        ForecastAnswer::ExpectedToHold => "kill-hold",
        ForecastAnswer::TooCloseToCall => "kill-close",
        ForecastAnswer::NotExpectedToHold => "kill-no",
    };
    let mut note =
        say!(v.r, "kill-option-note", band = v.r.difference(k.band_k), humid = fixed(k.humid_minutes, 0));
    if let Some(end) = k.verdict.end_s() {
        note = format!("{note}; {}", say!(v.r, "kill-option-end", clock = v.clock(end)));
    }
    figure(option, v.r.text(answer), "", Some(note))
}

pub(super) fn lift_off(v: &View<'_>) -> Option<FigureGroup> {
    if v.plan.lift_off.is_empty() {
        return None;
    }
    let figures = v
        .plan
        .lift_off
        .iter()
        .map(|l| {
            let (value, note) = match (l.below_dry_basis, l.at_s) {
                (None, _) => (v.r.text("lift-never"), None),
                (Some(x), Some(at)) => (v.r.moisture(x), Some(say!(v.r, "lift-at", clock = v.clock(at)))),
                (Some(x), None) => (v.r.moisture(x), Some(v.r.text("lift-not-in-run"))),
            };
            let label = say!(
                v.r,
                "lift-label",
                step = l.fan_step.as_str(),
                speed = v.r.air_speed(l.air_speed_m_per_s)
            );
            figure(label, value, "", note)
        })
        .collect();
    Some(FigureGroup { title: v.r.text("title-lift"), summary: Some(v.r.text("lift-summary")), figures })
}
