//! What to do, in plain words.

use fallrate_plan::acts::{Act as PlanAct, Deed};
use fallrate_report::Act;
use fallrate_schedule::{Action, InterruptionKind};
use fallrate_simulate::StopReason;

use super::view::View;
use crate::words::say;

/// Acts in order of time; those of the same minute in one line.
pub(crate) fn act_list(v: &View<'_>) -> Vec<Act> {
    timed_acts(v).into_iter().map(|(_, act)| act).collect()
}

/// The same, each with its time from the start, s.
pub(crate) fn timed_acts(v: &View<'_>) -> Vec<(f64, Act)> {
    act_rows(v).into_iter().map(|(at_s, acts)| (at_s, row(v, at_s, &acts))).collect()
}

/// Time of each line of the list, s from the start, and the plan's acts in it by their index; none: an interruption the
/// plan reckons with.
pub(crate) fn act_rows(v: &View<'_>) -> Vec<(f64, Vec<usize>)> {
    let mut rows: Vec<(f64, Vec<usize>)> = Vec::new();
    for (i, act) in v.plan.acts.iter().enumerate() {
        match rows.last_mut().filter(|r| (r.0 - act.at_s).abs() < 60.0) {
            Some(row) => row.1.push(i),
            None => rows.push((act.at_s, vec![i])),
        }
    }
    rows.extend(v.case.request.interruptions.iter().map(|i| (i.start_s, Vec::new())));
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    rows
}

fn row(v: &View<'_>, at_s: f64, acts: &[usize]) -> Act {
    let acts: Vec<&PlanAct> = acts.iter().map(|i| &v.plan.acts[*i]).collect();
    let mut texts: Vec<String> = acts.iter().flat_map(|a| &a.deeds).map(|d| deed(v, d)).collect();
    if acts.is_empty() {
        texts.extend(interruption(v, at_s));
    }
    let watch: Vec<String> = acts.iter().filter_map(|a| watch(v, a)).collect();
    let watch = (!watch.is_empty()).then(|| watch.join("; "));
    let about = acts.first().is_some_and(|a| a.when.is_some());
    Act { clock: clock(v, at_s, about), text: sentence(&texts.join("; ")), watch }
}

fn clock(v: &View<'_>, at_s: f64, about: bool) -> String {
    let clock = v.clock(at_s);
    if about { say!(v.r, "clock-about", clock = clock) } else { clock }
}

/// First letter large, full stop at the end.
pub(crate) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    format!("{first}{}.", chars.as_str())
}

fn deed(v: &View<'_>, deed: &Deed) -> String {
    let r = v.r;
    match deed {
        Deed::Load { trays, per_tray_kg } => {
            say!(r, "deed-load", trays = *trays, mass = r.mass(*per_tray_kg, 2))
        }
        Deed::StartTimer { dial_s } if v.dialled_once() => {
            say!(r, "deed-dial", dial = r.duration(*dial_s))
        }
        Deed::StartTimer { .. } => r.text("deed-start"),
        Deed::SetPoint { celsius } => say!(r, "deed-set-point", temperature = r.temperature(*celsius)),
        Deed::HeaterOff => r.text("deed-heater-off"),
        Deed::Vent { shut: true, .. } => r.text("deed-vent-shut"),
        Deed::Vent { to, shut: false } => say!(r, "deed-vent", mark = to.as_str()),
        Deed::HoldHumidity { rh } => say!(r, "deed-hold-humidity", rh = r.percent(*rh)),
        Deed::Fan { step: Some(step) } => say!(r, "deed-fan", step = step.as_str()),
        Deed::Fan { step: None } => r.text("deed-fan-off"),
        Deed::AddWater { kilograms } => say!(r, "deed-water", mass = r.mass(*kilograms, 2)),
        Deed::Trays(action) => trays(v, action),
        Deed::Weigh { trays, .. } => say!(r, "deed-weigh", trays = listed(v, trays)),
        Deed::PowerOff if v.dialled_once() => r.text("deed-power-off"),
        Deed::PowerOff => r.text("deed-switch-off"),
        Deed::Unload => r.text("deed-unload"),
    }
}

fn trays(v: &View<'_>, action: &Action) -> String {
    match action {
        Action::SwapGroups { a, b } => say!(v.r, "deed-swap", a = a.as_str(), b = b.as_str()),
        Action::TurnTrays => v.r.text("deed-turn-trays"),
        Action::TurnPieces => v.r.text("deed-turn-pieces"),
        Action::PullTrays { group, trays } => {
            say!(v.r, "deed-pull", trays = *trays, group = group.as_str())
        }
    }
}

fn listed<T: ToString>(v: &View<'_>, items: &[T]) -> String {
    let texts: Vec<String> = items.iter().map(ToString::to_string).collect();
    match texts.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => say!(v.r, "list-and", before = before.join(", "), last = last.as_str()),
        None => String::new(),
    }
}

/// The condition that says it is time, or what to look at.
fn watch(v: &View<'_>, act: &PlanAct) -> Option<String> {
    if let Some(condition) = &act.when {
        return Some(say!(v.r, "watch-when", condition = v.condition(condition, act.at_s)));
    }
    let first = act.deeds.first()?;
    match first {
        Deed::Weigh { gross_kg, .. } => {
            let weights: Vec<String> =
                gross_kg.iter().map(|kg| v.r.mass_short(*kg, v.tray_digits())).collect();
            Some(say!(v.r, "watch-weights", weights = listed(v, &weights), unit = v.r.mass_unit()))
        }
        Deed::PowerOff => Some(say!(v.r, "watch-target", target = v.target())),
        Deed::Unload => Some(say!(
            v.r,
            "watch-unload",
            gross = v.r.mass(v.plan.tray.gross_kg, v.tray_digits()),
            tray = v.r.mass(v.plan.tray.tare_kg, v.tray_digits())
        )),
        Deed::Load { .. } => Some(v.r.text("watch-load")),
        _ => unreached(v, act.at_s),
    }
}

/// A stage that ended by its longest time: which condition was not expected in time.
fn unreached(v: &View<'_>, at_s: f64) -> Option<String> {
    let ends = &v.plan.run.stage_ends;
    let next = ends.iter().position(|e| (e.started_s - at_s).abs() < 1.0)?;
    let before = next.checked_sub(1)?;
    if ends.get(before)?.reason != StopReason::AtMost {
        return Some(v.r.text("watch-clock"));
    }
    let stage = v.plan.assembled.stages.get(before)?;
    let condition = stage.ends.first()?;
    Some(say!(v.r, "watch-at-most", condition = v.condition(condition, at_s), stage = v.stage(&stage.name)))
}

/// The interruption that the plan reckons with at a time.
fn interruption(v: &View<'_>, at_s: f64) -> Option<String> {
    let found = v.case.request.interruptions.iter().find(|i| i.start_s == at_s)?;
    let key = match found.kind {
        InterruptionKind::PowerOff => "interruption-power",
        InterruptionKind::DoorOpen => "interruption-door",
        InterruptionKind::FanLost => "interruption-fan",
        InterruptionKind::VentMoved(_) => "interruption-vent",
        InterruptionKind::TraysPulled { .. } => "interruption-trays",
    };
    Some(say!(v.r, "interruption", what = v.r.text(key), dur = v.r.duration(found.duration_s)))
}
