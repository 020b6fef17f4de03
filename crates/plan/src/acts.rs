//! What somebody does, when, and what to watch for: as data, put into words by whoever prints it.

use fallrate_equipment::Cabinet;
use fallrate_schedule::{Action, EndCondition, FanSetting, Stage, VentSetting};
use fallrate_simulate::{Run, StopReason};

use crate::assemble::Assembled;
use crate::timer::TimerAdvice;

/// One thing to do.
#[derive(Clone, Debug, PartialEq)]
pub enum Deed {
    /// Put the trays in.
    Load {
        /// Trays.
        trays: u32,
        /// kg on each.
        per_tray_kg: f64,
    },
    /// Dial the timer and start, s.
    StartTimer {
        /// s
        dial_s: f64,
    },
    /// Set point, degC.
    SetPoint {
        /// degC
        celsius: f64,
    },
    /// Heater off.
    HeaterOff,
    /// Vent to a mark, or an opening.
    Vent {
        /// Mark's name or opening in per cent.
        to: String,
        /// It is the least opening.
        shut: bool,
    },
    /// Keep the humidity near a value with the vent, fraction.
    HoldHumidity {
        /// Fraction.
        rh: f64,
    },
    /// Fan step; none: off.
    Fan {
        /// Step's name.
        step: Option<String>,
    },
    /// Put water in, kg.
    AddWater {
        /// kg
        kilograms: f64,
    },
    /// Something done to the trays.
    Trays(Action),
    /// Weigh trays.
    Weigh {
        /// Numbers of the trays, counted from the first group.
        trays: Vec<u32>,
        /// Gross weight forecast for each, kg.
        gross_kg: Vec<f64>,
    },
    /// The timer switches everything off.
    PowerOff,
    /// Take the trays out.
    Unload,
}

/// A moment with its deeds.
#[derive(Clone, Debug, PartialEq)]
pub struct Act {
    /// s from the start.
    pub at_s: f64,
    /// Deeds.
    pub deeds: Vec<Deed>,
    /// The condition that says it is time; the clock time is a forecast of it.
    pub when: Option<EndCondition>,
    /// The condition ends by the clock in any case.
    pub by_clock: bool,
}

/// Acts of a plan in order of time.
#[must_use]
pub fn acts(assembled: &Assembled, cabinet: &Cabinet, run: &Run, timer: &TimerAdvice) -> Vec<Act> {
    let mut list = Vec::new();
    let per_tray_kg = assembled.setup.batch.load.fresh_kg_per_tray;
    for (i, stage) in assembled.stages.iter().enumerate() {
        let Some(end) = run.stage_ends.get(i) else { continue };
        let before = i.checked_sub(1).map(|b| &assembled.stages[b]);
        let mut deeds = Vec::new();
        if i == 0 {
            deeds.push(Deed::Load { trays: assembled.loaded_trays, per_tray_kg });
        }
        deeds.extend(settings(stage, before, cabinet));
        if i == 0 {
            deeds.push(Deed::StartTimer { dial_s: timer.dial_s });
        }
        let reason = i.checked_sub(1).and_then(|b| run.stage_ends.get(b)).map(|e| e.reason);
        let when = match reason {
            Some(StopReason::Reached(c)) if !matches!(c, EndCondition::Elapsed { .. }) => Some(c),
            _ => None,
        };
        if !deeds.is_empty() {
            list.push(Act { at_s: end.started_s, by_clock: when.is_none() && i > 0, deeds, when });
        }
    }
    list.extend(weighings(assembled, run, timer));
    list.push(Act { at_s: timer.dial_s, deeds: vec![Deed::PowerOff], when: None, by_clock: true });
    list.push(Act { at_s: timer.unloaded_s, deeds: vec![Deed::Unload], when: None, by_clock: true });
    list.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    list
}

/// What differs from the stage before.
fn settings(stage: &Stage, before: Option<&Stage>, cabinet: &Cabinet) -> Vec<Deed> {
    let mut deeds: Vec<Deed> = stage.actions.iter().cloned().map(Deed::Trays).collect();
    if before.is_none_or(|b| b.vent != stage.vent) {
        deeds.push(match &stage.vent {
            VentSetting::Mark(name) => Deed::Vent {
                to: name.clone(),
                shut: cabinet.vent.closes && cabinet.vent.marks.first().is_some_and(|m| m.name == *name),
            },
            VentSetting::Opening(share) => {
                Deed::Vent { to: format!("{:.0} %", share * 100.0), shut: *share == 0.0 }
            }
            VentSetting::HoldRh(rh) => Deed::HoldHumidity { rh: *rh },
        });
    }
    if before.is_none_or(|b| b.set_point_c != stage.set_point_c) {
        deeds.push(stage.set_point_c.map_or(Deed::HeaterOff, |celsius| Deed::SetPoint { celsius }));
    }
    if before.is_none_or(|b| b.fan != stage.fan) {
        let step = match &stage.fan {
            FanSetting::Off => None,
            FanSetting::Step(s) => Some(s.clone()),
            FanSetting::Strongest => cabinet.full_fan().map(|f| f.name.clone()),
        };
        deeds.push(Deed::Fan { step });
    }
    if stage.water_added_kg > 0.0 {
        deeds.push(Deed::AddWater { kilograms: stage.water_added_kg });
    }
    deeds
}

/// Two weighings of one tray a group: halfway and at four fifths of the time, where someone is there.
fn weighings(assembled: &Assembled, run: &Run, timer: &TimerAdvice) -> Vec<Act> {
    let setup = &assembled.setup;
    let mut first = 1;
    let mut trays = Vec::new();
    for &n in &assembled.trays_by_group {
        if n > 0 {
            trays.push(first + n / 2);
        }
        first += n;
    }
    let drying = run.stage_ends.last().map_or(0.0, |e| e.started_s.min(0.5 * timer.dial_s));
    [0.5, 0.8]
        .into_iter()
        .filter_map(|share| {
            let at = ((drying + share * (timer.dial_s - drying)) / 300.0).round() * 300.0;
            let sample = run
                .samples
                .iter()
                .min_by(|a, b| (a.elapsed_s - at).abs().total_cmp(&(b.elapsed_s - at).abs()))?;
            let solids =
                setup.batch.load.fresh_kg_per_tray / (1.0 + setup.batch.material.moisture_initial_dry_basis);
            let groups = setup.batch.load.groups.len();
            let gross = (0..groups)
                .map(|g| {
                    let own = sample.pieces.iter().filter(|p| p.group == g);
                    let (x, w) = own.fold((0.0, 0.0), |(x, w), p| {
                        (x + p.load_share * p.moisture_dry_basis, w + p.load_share)
                    });
                    assembled.tare_kg + solids * (1.0 + x / w)
                })
                .collect();
            setup.is_staffed(at).then(|| Act {
                at_s: at,
                deeds: vec![Deed::Weigh { trays: trays.clone(), gross_kg: gross }],
                when: None,
                by_clock: true,
            })
        })
        .collect()
}
