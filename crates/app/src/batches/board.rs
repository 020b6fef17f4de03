//! A batch under way beside its plan: what to do now, what comes, measured against forecast.

use fallrate_report::{Act, Dash, Kind, Mark, Picture, Series};
use fallrate_series::{Instant, Role};

use super::{DoneAct, Run};
use crate::chart::{running_chart, wet_basis_percent};
use crate::library::Library;
use crate::page::timed_acts;
use crate::page::view::View;
use crate::plan_case::Planned;
use crate::proof::LocalClock;
use crate::underway::{Followed, RowDeeds, clock_words, deeds_of_rows, outlook_pictures};
use crate::words::Reader;

/// An act of the plan at its time in this run.
#[derive(Clone, Debug, PartialEq)]
pub struct ActLine {
    /// Number in the plan's list, from 1.
    pub number: usize,
    /// When the plan has it, counted from when the run began (or is to begin).
    pub at: Instant,
    /// Clock time of that.
    pub clock: String,
    /// What, and what to watch.
    pub act: Act,
    /// When it was done, where it was.
    pub done: Option<DoneAct>,
}

/// A batch beside its plan.
#[derive(Clone, Debug)]
pub struct Board {
    /// Every act, in order.
    pub acts: Vec<ActLine>,
    /// When the power goes off by the latest forecast.
    pub end: Instant,
    /// Early and late by that forecast, where the plan has a band and the late end is reached.
    pub band: Option<(Instant, Instant)>,
    /// Measured against forecast.
    pub pictures: Vec<Picture>,
}

impl Board {
    /// The first act that is not done.
    #[must_use]
    pub fn next(&self) -> Option<&ActLine> {
        self.acts.iter().find(|a| a.done.is_none())
    }
}

/// Puts a run beside its plan. Before it began, the plan counts from `now`.
///
/// With the batch as followed, end, band and pictures are its; without it they are those of the forecast made before the run.
#[must_use]
pub fn board(
    run: &Run,
    planned: &Planned,
    followed: Option<&Followed>,
    library: &Library,
    r: &Reader,
    now: Instant,
) -> Board {
    let v = View::new(planned, library, r);
    let start = run.started_at().unwrap_or(now);
    let rows = deeds_of_rows(&v);
    let acts = timed_acts(&v).into_iter().enumerate().map(|(n, (at_s, act))| {
        let at = start.plus_seconds(followed.and_then(|f| moved_to(f, rows.get(n)?)).unwrap_or(at_s));
        ActLine {
            number: n + 1,
            at,
            clock: clock_words(r, &run.zone, at, now),
            done: run.done.iter().find(|d| d.number == n + 1).cloned(),
            act,
        }
    });
    let acts = acts.collect();
    let planned_band = v.plan.timer.quantiles_s;
    let band = followed.map_or(planned_band, |f| {
        let end = f.end().power_off_s;
        Some([end.low, end.middle, end.high])
    });
    let band = band.filter(|q| q.iter().all(|s| s.is_finite()));
    let end_s = followed.map_or(v.plan.timer.dial_s, |f| off_s(f).unwrap_or(v.plan.timer.dial_s));
    Board {
        acts,
        end: start.plus_seconds(end_s),
        band: band.map(|[early, _, late]| (start.plus_seconds(early), start.plus_seconds(late))),
        pictures: match followed {
            Some(f) => outlook_pictures(f, run, planned, library, r),
            None => pictures(run, &v, start, now),
        },
    }
}

/// When the power goes off: as dialled, else when the target is expected to be met, s from the start.
fn off_s(f: &Followed) -> Option<f64> {
    let end = f.as_dialled().map_or(f.end().power_off_s.middle, |d| d.power_off_s);
    end.is_finite().then_some(end)
}

/// When a row of the list is due by the batch as followed, where that is not the plan's time.
fn moved_to(f: &Followed, row: &RowDeeds) -> Option<f64> {
    match (row.power_off, row.unload) {
        (true, _) => off_s(f),
        (false, true) => {
            let unloaded = f.end().unloaded_s;
            off_s(f).map(|off| if unloaded.is_finite() { unloaded.max(off) } else { off })
        }
        _ => None,
    }
}

fn pictures(run: &Run, v: &View<'_>, start: Instant, now: Instant) -> Vec<Picture> {
    let mut charts = running_chart(v);
    let began = run.started_at().is_some();
    let start_clock = LocalClock::named(&run.zone).map(|c| c.time_of_day(start));
    let hours = |at: Instant| at.seconds_since(start) / 3600.0;
    for (chart, temperatures) in charts.iter_mut().zip([false, true]) {
        chart.clock_start = start_clock;
        if began && hours(now) > 0.0 {
            chart.marks.push(Mark { label: v.r.text("mark-now"), at_h: hours(now) });
            chart.x_hours = chart.x_hours.map(|(from, to)| (from, to.max(hours(now))));
        }
        if began {
            chart.series.extend(measured_series(run, v, temperatures, start));
        }
    }
    charts.into_iter().map(Picture::Chart).collect::<Vec<_>>()
}

/// Readings as points, one series for each place that was read.
pub(crate) fn measured_series(run: &Run, v: &View<'_>, temperatures: bool, start: Instant) -> Vec<Series> {
    let r = v.r;
    let hours = |at: Instant| at.seconds_since(start) / 3600.0;
    let mut list: Vec<Series> = Vec::new();
    for reading in &run.readings {
        let (label, value, ink) = match (&reading.role, temperatures) {
            (Role::CoreProbe { position, .. }, true) => {
                let place = if position.is_empty() { String::new() } else { format!(" {position}") };
                (format!("{}{place}", r.text("measured-core")), r.temperature_number(reading.value), 2)
            }
            (Role::AirDryBulb, true) => (r.text("measured-air"), r.temperature_number(reading.value), 0),
            (Role::AirWetBulb, true) => (r.text("measured-wet-bulb"), r.temperature_number(reading.value), 3),
            (Role::TrayWeight { tray }, false) => {
                let Some(x) = tray_moisture_dry_basis(v, reading.value) else { continue };
                (crate::words::say!(r, "measured-tray", number = *tray), wet_basis_percent(x), 4)
            }
            _ => continue,
        };
        let point = (hours(reading.at), value);
        match list.iter_mut().find(|s| s.label == label) {
            Some(series) => series.points.push(point),
            None => list.push(Series {
                label,
                axis: 0,
                points: vec![point],
                kind: Kind::Measured,
                dash: Dash::Auto,
                ink: Some(ink),
            }),
        }
    }
    list
}

/// Moisture of a tray, kg/kg dry basis, from its gross weight, with the load, solids and tare the plan takes. `None`
/// where it would be below dryness: the tare or the load is another.
fn tray_moisture_dry_basis(v: &View<'_>, gross_kg: f64) -> Option<f64> {
    let x0 = v.setup.batch.material.moisture_initial_dry_basis;
    let solids = v.setup.batch.load.fresh_kg_per_tray / (1.0 + x0);
    let x = (gross_kg - v.plan.assembled.tare_kg) / solids - 1.0;
    (x.is_finite() && x > 0.0).then_some(x)
}
