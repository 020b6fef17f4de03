//! What a trainee sees: the front of the cabinet, what instruments show, the plan's next acts, readings beside the plan.

use fallrate_rehearse::Act;
use fallrate_report::{Act as PlanAct, Dash, Kind, Mark, Picture, Series};
use fallrate_schedule::{FanSetting, VentSetting};
use fallrate_series::{Channel, Log, Rehearsal, Role};

use super::files::is_logged;
use super::session::Rehearsing;
use crate::AppError;
use crate::chart::{running_chart, wet_basis_percent};
use crate::library::Library;
use crate::page::timed_acts;
use crate::page::view::View;
use crate::words::{Reader, fixed, say};

/// A line of the front: name, value.
pub type Shown = (String, String);

/// What a trainee sees.
#[derive(Clone, Debug)]
pub struct Front {
    /// Time on the practice clock.
    pub clock: String,
    /// Time since the start.
    pub elapsed: String,
    /// s from the start.
    pub at_s: f64,
    /// Knobs, door, power, timer.
    pub knobs: Vec<Shown>,
    /// What loggers show now.
    pub displays: Vec<Shown>,
    /// What scale and hand probe last showed, the latest first: clock, what, value.
    pub by_hand: Vec<(String, String, String)>,
    /// Acts ordered and not yet carried out: clock, what.
    pub waiting: Vec<Shown>,
    /// The plan's acts that are still to come by its forecast, and the one last due.
    pub acts: Vec<PlanAct>,
    /// Readings beside the plan.
    pub pictures: Vec<Picture>,
    /// The batch is out.
    pub over: bool,
}

/// Hand readings shown.
const MOST_BY_HAND: usize = 6;
/// Points of a logger are drawn this often, s.
const DRAWN_EVERY_S: f64 = 300.0;

impl Rehearsing {
    /// What a trainee sees now.
    ///
    /// # Errors
    /// [`AppError::Rehearse`]; not with readings of a virtual cabinet.
    pub fn front(&self, library: &Library, r: &Reader) -> Result<Front, AppError> {
        let v = View::new(&self.planned, library, r);
        let log = self.cabinet.log()?;
        let now = self.now_s();
        let acts = timed_acts(&v);
        let last_due = acts.iter().rposition(|(at, _)| *at <= now + 30.0).unwrap_or(0);
        Ok(Front {
            clock: v.clock(now),
            elapsed: r.duration((now / 60.0).floor() * 60.0),
            at_s: now,
            knobs: self.knobs(r),
            displays: displays(&log, r),
            by_hand: self.by_hand(&log, &v),
            waiting: self.cabinet.waiting().map(|d| (v.clock(d.at_s), act_words(r, &d.act))).collect(),
            acts: acts.into_iter().skip(last_due).map(|(_, act)| act).collect(),
            pictures: self.pictures(&log, &v),
            over: self.is_over(),
        })
    }

    fn knobs(&self, r: &Reader) -> Vec<Shown> {
        let p = self.cabinet.panel();
        let on_off = |on: bool| r.text(if on { "rehearse-on" } else { "rehearse-off" });
        let timer = p.timer_left_s.map_or_else(|| r.text("rehearse-timer-none"), |s| r.duration(s.ceil()));
        vec![
            (
                r.text("rehearse-set-point"),
                p.set_point_c.map_or_else(|| r.text("rehearse-off"), |c| r.temperature(c)),
            ),
            (r.text("rehearse-vent"), vent_words(r, &p.vent)),
            (r.text("rehearse-fan"), fan_words(r, &p.fan)),
            (r.text("rehearse-door"), r.text(if p.door_open { "rehearse-open" } else { "rehearse-shut" })),
            (r.text("rehearse-power"), on_off(p.powered)),
            (r.text("rehearse-timer"), timer),
        ]
    }

    fn by_hand(&self, log: &Log<Rehearsal>, v: &View<'_>) -> Vec<(String, String, String)> {
        let mut list: Vec<(f64, String, String)> = Vec::new();
        for c in log.channels.iter().filter(|c| !is_logged(c)) {
            let label = reading_words(v.r, c);
            let at = |r: &fallrate_series::Reading| r.at.seconds_since(self.asked.start);
            list.extend(
                c.readings().iter().map(|r| (at(r), label.clone(), value_words(v.r, &c.role, r.value))),
            );
        }
        list.sort_by(|a, b| b.0.total_cmp(&a.0));
        list.into_iter().take(MOST_BY_HAND).map(|(t, what, value)| (v.clock(t), what, value)).collect()
    }

    fn pictures(&self, log: &Log<Rehearsal>, v: &View<'_>) -> Vec<Picture> {
        let mut charts = running_chart(v);
        let now_h = self.now_s() / 3600.0;
        for (chart, temperatures) in charts.iter_mut().zip([false, true]) {
            chart.words.measured = v.r.text("rehearse-simulated");
            chart.marks.push(Mark { label: v.r.text("mark-now"), at_h: now_h });
            chart.x_hours = chart.x_hours.map(|(from, to)| (from, to.max(now_h)));
            chart.series.extend(log.channels.iter().filter_map(|c| self.drawn(c, v, temperatures)));
        }
        charts.into_iter().map(Picture::Chart).collect()
    }

    /// Readings as points; of a logger one in five minutes.
    fn drawn(&self, c: &Channel<Rehearsal>, v: &View<'_>, temperatures: bool) -> Option<Series> {
        let (r, solids) = (v.r, self.solids_per_tray());
        let tare = self.planned.plan.assembled.tare_kg;
        let ink = match &c.role {
            Role::AirDryBulb => 0,
            Role::CoreProbe { .. } => 2,
            Role::AirWetBulb => 3,
            Role::TrayWeight { .. } => 4,
            _ => return None,
        };
        if temperatures == matches!(c.role, Role::TrayWeight { .. }) {
            return None;
        }
        let mut last = f64::NEG_INFINITY;
        let mut points = Vec::new();
        for reading in c.readings() {
            let at = reading.at.seconds_since(self.asked.start);
            if is_logged(c) && at < last + DRAWN_EVERY_S {
                continue;
            }
            last = at;
            let value = if temperatures {
                r.temperature_number(reading.value)
            } else {
                let x = (reading.value - tare) / solids - 1.0;
                if x <= 0.0 {
                    continue;
                }
                wet_basis_percent(x)
            };
            points.push((at / 3600.0, value));
        }
        let label = reading_words(r, c);
        (!points.is_empty()).then_some(Series {
            label,
            axis: 0,
            points,
            kind: Kind::Measured,
            dash: Dash::Auto,
            ink: Some(ink),
        })
    }

    fn solids_per_tray(&self) -> f64 {
        let batch = &self.planned.plan.assembled.setup.batch;
        batch.load.fresh_kg_per_tray / (1.0 + batch.material.moisture_initial_dry_basis)
    }
}

fn displays(log: &Log<Rehearsal>, r: &Reader) -> Vec<Shown> {
    let last = |c: &&Channel<Rehearsal>| c.readings().last().map(|l| l.value);
    log.channels
        .iter()
        .filter(|c| is_logged(c))
        .filter_map(|c| Some((reading_words(r, c), value_words(r, &c.role, last(&c)?))))
        .collect()
}

/// What a channel reads, in words.
pub(super) fn reading_words(r: &Reader, c: &Channel<Rehearsal>) -> String {
    match &c.role {
        Role::AirDryBulb => r.text("rehearse-dry-bulb"),
        Role::AirWetBulb => r.text("rehearse-wet-bulb"),
        Role::RelativeHumidity => r.text("rehearse-humidity"),
        Role::TrayWeight { tray } => say!(r, "rehearse-tray", tray = tray.to_string()),
        Role::CoreProbe { position, .. } => {
            let by_hand = c.name.starts_with("by hand");
            let key = if by_hand { "rehearse-core-hand" } else { "rehearse-core" };
            say!(r, key, place = place_words(r, position))
        }
        Role::Other(_) => r.text("rehearse-display"),
        _ => c.name.clone(),
    }
}

/// "tray 14 leaving" in words.
fn place_words(r: &Reader, position: &str) -> String {
    let parts: Vec<&str> = position.split(' ').collect();
    match parts[..] {
        ["tray", tray, along] => say!(r, "rehearse-place", tray = tray, along = along_words(r, along)),
        _ => position.to_owned(),
    }
}

fn along_words(r: &Reader, along: &str) -> String {
    r.text(match along {
        "entering" => "rehearse-entering",
        "leaving" => "rehearse-leaving",
        _ => "rehearse-middle",
    })
}

fn value_words(r: &Reader, role: &Role, value: f64) -> String {
    match role {
        Role::RelativeHumidity => format!("{} %", fixed(value * 100.0, 1)),
        Role::TrayWeight { .. } => r.mass(value, if r.units == crate::Units::Us { 2 } else { 3 }),
        _ => r.temperature(value),
    }
}

fn vent_words(r: &Reader, vent: &VentSetting) -> String {
    match vent {
        VentSetting::Mark(mark) => format!("“{mark}”"),
        VentSetting::Opening(share) => r.percent(*share),
        VentSetting::HoldRh(share) => format!("{} RH", r.percent(*share)),
    }
}

fn fan_words(r: &Reader, fan: &FanSetting) -> String {
    match fan {
        FanSetting::Step(step) => format!("“{step}”"),
        FanSetting::Strongest => r.text("rehearse-fan-strongest"),
        FanSetting::Off => r.text("rehearse-off"),
    }
}

/// An act in words.
pub(super) fn act_words(r: &Reader, act: &Act) -> String {
    let list = |trays: &[u32]| trays.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
    match act {
        Act::SetPoint(Some(c)) => say!(r, "rehearse-act-set-point", temperature = r.temperature(*c)),
        Act::SetPoint(None) => r.text("rehearse-act-heater-off"),
        Act::Vent(vent) => say!(r, "rehearse-act-vent", vent = vent_words(r, vent)),
        Act::Fan(fan) => say!(r, "rehearse-act-fan", fan = fan_words(r, fan)),
        Act::Door { open: true } => r.text("rehearse-act-door-open"),
        Act::Door { open: false } => r.text("rehearse-act-door-shut"),
        Act::DialTimer { dial_s } => say!(r, "rehearse-act-timer", dial = r.duration(*dial_s)),
        Act::Power { on: true } => r.text("rehearse-act-power-on"),
        Act::Power { on: false } => r.text("rehearse-act-power-off"),
        Act::AddWater { kilograms } => say!(r, "rehearse-act-water", mass = r.mass(*kilograms, 2)),
        Act::WetSock => r.text("rehearse-act-wet-sock"),
        Act::ReseatProbe { sensor } => {
            say!(r, "rehearse-act-reseat", number = sensor.saturating_sub(2).to_string())
        }
        Act::SwapGroups { .. } => r.text("rehearse-act-swap"),
        Act::TurnTrays => r.text("rehearse-act-turn-trays"),
        Act::TurnPieces => r.text("rehearse-act-turn-pieces"),
        Act::TakeOut { trays } => say!(r, "rehearse-act-take-out", trays = list(trays)),
        Act::Weigh { tray } => say!(r, "rehearse-act-weigh", tray = tray.to_string()),
        Act::ReadCore { tray, along } => {
            say!(r, "rehearse-act-core", tray = tray.to_string(), along = along_words(r, along.word()))
        }
        Act::Unload => r.text("rehearse-act-unload"),
    }
}
