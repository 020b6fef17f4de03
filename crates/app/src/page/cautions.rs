//! Cautions: what a person must act on first, then what the product and the plan call for.

use fallrate_foods::KillStep;
use fallrate_plan::acts::{Act, Deed};
use fallrate_report::{Caution, Level};
use fallrate_schedule::EndCondition;
use fallrate_simulate::StopReason;

use super::view::View;
use crate::words::say;

/// Key of the caution that a model proves nothing.
const ALWAYS: &str = "model_not_validation";

/// Cautions of a page: all, or those that need care with a count of the rest.
pub(super) fn shown(v: &View<'_>, full: bool) -> Vec<Caution> {
    let all = caution_list(v);
    if full {
        return all;
    }
    let own = own_cautions(v);
    let notes = all.len().saturating_sub(own.len());
    let mut list = own;
    if notes > 0 {
        list.push(Caution { level: Level::Note, text: say!(v.r, "caution-more", notes = notes) });
    }
    list
}

/// Cautions that come from this plan, and the one that no page of a product with a kill step lacks.
fn own_cautions(v: &View<'_>) -> Vec<Caution> {
    let mut list = Vec::new();
    let mut add = |level: Level, text: String| list.push(Caution { level, text });
    for text in urgent(v) {
        add(Level::Act, text);
    }
    add(Level::Caution, v.r.text("caution-first-run"));
    for text in plan_cautions(v) {
        add(Level::Caution, text);
    }
    if let Some(c) = v.library.cautions().get(ALWAYS).filter(|_| kills(v)) {
        add(Level::Caution, v.r.words.pick(&c.text.en, &c.text.es).to_owned());
    }
    list
}

fn kills(v: &View<'_>) -> bool {
    let product = &v.case.product;
    product.kill_step != KillStep::None || product.raw_meat
}

/// All cautions.
pub(crate) fn caution_list(v: &View<'_>) -> Vec<Caution> {
    let mut list = own_cautions(v);
    let mut add = |level: Level, text: String| list.push(Caution { level, text });
    let product = &v.case.product;
    let kills = kills(v);
    for (key, caution) in v.library.cautions().iter().filter(|(key, _)| !(kills && *key == ALWAYS)) {
        let always = kills && caution.always_for_kill_step;
        if always || product.cautions.iter().any(|k| k == key) {
            let level = if always { Level::Caution } else { Level::Note };
            add(level, v.r.words.pick(&caution.text.en, &caution.text.es).to_owned());
        }
    }
    list
}

/// What a person must act on before the run.
fn urgent(v: &View<'_>) -> Vec<String> {
    let (t, r) = (&v.plan.timer, v.r);
    let mut list = Vec::new();
    if let Some(refused) = &t.stand_refused {
        list.push(say!(
            r,
            "act-stand-refused",
            aw = r.activity(refused.water_activity),
            limit = r.activity(refused.limit)
        ));
    }
    let core = v.plan.run.stage_ends.iter().zip(&v.plan.assembled.stages).any(|(e, s)| {
        e.reason == StopReason::AtMost && s.ends.iter().any(|c| matches!(c, EndCondition::CoreReaches { .. }))
    });
    if let Some((stage, condition)) = v.unreached_stage().filter(|_| core && kills(v)) {
        let highest = v.plan.run.samples.iter().map(|s| s.wet_bulb_c).fold(f64::NEG_INFINITY, f64::max);
        let wet_bulb = r.temperature(highest);
        list.push(say!(r, "act-core-not-reached", stage = stage, condition = condition, wet_bulb = wet_bulb));
    }
    let alone = unstaffed_acts(v);
    if !alone.is_empty() {
        list.push(say!(r, "act-unstaffed", clocks = alone.join("; ")));
    }
    if let Some(beyond) = t.beyond_dial_s {
        list.push(say!(
            r,
            "act-beyond-dial",
            maximum = r.duration(v.setup.dial.maximum_s),
            beyond = r.duration(beyond)
        ));
    }
    list
}

/// Clock times of acts by hand at which nobody is there; the timer's own act and unloading have their own words.
fn unstaffed_acts(v: &View<'_>) -> Vec<String> {
    let by_hand = |a: &&Act| !a.deeds.iter().all(|d| matches!(d, Deed::PowerOff | Deed::Unload));
    let acts = v.plan.acts.iter().filter(by_hand).filter(|a| !v.setup.is_staffed(a.at_s));
    acts.map(|a| v.clock(a.at_s)).collect()
}

fn plan_cautions(v: &View<'_>) -> Vec<String> {
    let (t, r) = (&v.plan.timer, v.r);
    let mut list = Vec::new();
    if !t.staffed_at_end {
        list.push(say!(r, "caution-unstaffed", clock = v.clock(t.dial_s)));
    }
    if let Some(band) = v.plan.band.as_ref().filter(|b| b.unreached > 0) {
        let all = band.draws.len().max(band.unreached);
        list.push(say!(r, "caution-unreached", unreached = band.unreached, draws = all));
    }
    list.extend(target_caution(v));
    let lifts = v.plan.lift_off.iter().any(|l| {
        l.at_s.is_some_and(|at| at < t.dial_s && step_at(v, at).as_deref() == Some(l.fan_step.as_str()))
    });
    if lifts {
        list.push(r.text("caution-lift"));
    }
    if let Some(p) = hottest(v) {
        let ceiling = v.case.product.recommended.product_temperature_max.value.celsius();
        if p > ceiling + 2.0 {
            list.push(say!(
                r,
                "caution-hot",
                temperature = r.temperature(p),
                ceiling = r.temperature(ceiling)
            ));
        }
    }
    list
}

/// Fan step in use at an instant.
fn step_at(v: &View<'_>, at_s: f64) -> Option<String> {
    let index =
        v.plan.run.stage_ends.iter().position(|e| e.started_s <= at_s && at_s <= e.sample.elapsed_s)?;
    match &v.plan.assembled.stages.get(index)?.fan {
        fallrate_schedule::FanSetting::Step(s) => Some(s.clone()),
        fallrate_schedule::FanSetting::Strongest => v.case.cabinet.full_fan().map(|f| f.name.clone()),
        fallrate_schedule::FanSetting::Off => None,
    }
}

/// Hottest surface while powered, degC.
fn hottest(v: &View<'_>) -> Option<f64> {
    let powered = v.plan.run.samples.iter().filter(|s| s.elapsed_s <= v.plan.timer.dial_s);
    powered.flat_map(|s| s.pieces.iter().map(|p| p.surface_c)).reduce(f64::max)
}

/// A target wetter than the product's advice.
fn target_caution(v: &View<'_>) -> Option<String> {
    let limit = v.case.product.target.aw_max.as_ref()?.value.fraction();
    let x = v.setup.target.moisture_dry_basis;
    let aw = v.setup.batch.material.sorption.activity(x, 298.15).aw;
    (aw > limit + 0.005).then(|| {
        say!(
            v.r,
            "caution-target-wet",
            aw = v.r.activity(aw),
            limit = v.r.activity(limit),
            product = v.product_name()
        )
    })
}
