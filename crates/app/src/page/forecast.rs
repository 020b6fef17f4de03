//! The forecast as tables.

use fallrate_report::{Column, Table};
use fallrate_simulate::Sample;

use super::view::{View, end_core, group_mean};
use crate::words::say;

/// Most rows of the brief table beside those of the stage ends.
const MOST_ROWS: f64 = 9.0;

/// Instants shown: the start, the ends of the stages, round clock times, unloading.
pub(crate) fn instants(v: &View<'_>, most: f64) -> Vec<f64> {
    let end = v.plan.timer.unloaded_s;
    let step = [300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0, 10_800.0, 21_600.0]
        .into_iter()
        .find(|s| end / s <= most)
        .unwrap_or(43_200.0);
    let mut at = vec![0.0, v.plan.timer.dial_s, end];
    at.extend(v.plan.run.stage_ends.iter().map(|e| e.sample.elapsed_s));
    let first = (v.setup.start.seconds() / step).ceil() * step - v.setup.start.seconds();
    let mut t = first;
    while t < end {
        // A round time right beside a stage end says nothing new.
        if at.iter().all(|a| (a - t).abs() > 0.3 * step) {
            at.push(t);
        }
        t += step;
    }
    at.sort_by(f64::total_cmp);
    at.dedup_by(|a, b| (*a - *b).abs() < 60.0);
    at
}

/// The main table.
pub(super) fn table(v: &View<'_>, full: bool) -> Table {
    let r = v.r;
    let (worst, best) = v.worst_and_best_group();
    let rows = instants(v, if full { 24.0 } else { MOST_ROWS })
        .into_iter()
        .filter_map(|at| {
            let s = v.sample(at)?;
            Some(vec![
                short_clock(v, at),
                stage_name(v, at),
                r.temperature_cell(s.chamber_temperature_c),
                r.temperature_cell(s.wet_bulb_c),
                format!("{:.0}", 100.0 * s.relative_humidity),
                r.temperature_cell(end_core(s, best, false)),
                r.temperature_cell(end_core(s, worst, true)),
                r.moisture_short(s.moisture_mean_dry_basis),
                spread(v, s),
                r.activity(s.water_activity_slowest),
                format!("{:.0}", 100.0 * s.heater_demand),
            ])
        })
        .collect();
    Table {
        title: say!(r, "table-forecast", unit = r.temperature_unit()),
        header: header(v),
        rows,
        note: Some(note(v, worst, best)),
    }
}

fn header(v: &View<'_>) -> Vec<Column> {
    let mut header = vec![Column::right(&v.r.text("column-clock")), Column::left(&v.r.text("column-stage"))];
    let keys = [
        "column-air",
        "column-wet-bulb",
        "column-rh",
        "column-core-first",
        "column-core-last",
        "column-mean",
        "column-driest-wettest",
        "column-aw",
        "column-heater",
    ];
    header.extend(keys.map(|k| Column::right(&v.r.text(k))));
    header
}

fn note(v: &View<'_>, worst: usize, best: usize) -> String {
    let name = |g: usize| v.groups.get(g).copied().unwrap_or("");
    if v.groups.len() < 2 {
        return v.r.text("table-forecast-note-one");
    }
    say!(v.r, "table-forecast-note", best = name(best), worst = name(worst))
}

/// Clock for a narrow column: "05:45", "05:45 +1".
fn short_clock(v: &View<'_>, at_s: f64) -> String {
    let minutes = ((v.setup.start.seconds() + at_s) / 60.0).round();
    let day = (minutes / 1440.0).floor();
    let clock = fallrate_units::TimeOfDay::from_seconds(minutes * 60.0).hm();
    if day < 1.0 { clock } else { format!("{clock} +{day:.0}") }
}

/// The stage under way after an instant; at the very end the last.
fn stage_name(v: &View<'_>, at_s: f64) -> String {
    let ends = &v.plan.run.stage_ends;
    let stage = ends.iter().rev().find(|e| e.started_s <= at_s + 1.0).or(ends.first());
    match stage {
        Some(s)
            if at_s >= v.plan.timer.dial_s - 1.0
                && at_s >= v.plan.timer.unloaded_s - 1.0
                && s.name != "stand" =>
        {
            v.r.text("stage-off")
        }
        Some(s) => v.stage(&s.name),
        None => String::new(),
    }
}

/// Driest to wettest piece.
fn spread(v: &View<'_>, s: &Sample) -> String {
    format!(
        "{}–{}",
        v.r.moisture_short(s.moisture_fastest_dry_basis),
        v.r.moisture_short(s.moisture_slowest_dry_basis)
    )
}

/// Tables of the full page: stages, tray groups.
pub(super) fn more_tables(v: &View<'_>) -> Vec<Table> {
    let mut list = vec![stages(v)];
    if v.groups.len() > 1 {
        list.push(groups(v));
    }
    list
}

fn stages(v: &View<'_>) -> Table {
    let r = v.r;
    let rows = v
        .plan
        .run
        .stage_ends
        .iter()
        .map(|e| {
            let s = &e.sample;
            vec![
                v.stage(&e.name),
                v.clock(e.started_s),
                r.duration(s.elapsed_s - e.started_s),
                r.moisture(s.moisture_mean_dry_basis),
                r.temperature(s.core_coldest_c),
                format!("{:.1}", (s.heater_j + s.fan_j) / 3.6e6),
                r.mass(s.evaporated_kg, 1),
            ]
        })
        .collect();
    Table {
        title: r.text("table-stages"),
        header: vec![
            Column::left(&r.text("column-stage")),
            Column::left(&r.text("column-from")),
            Column::right(&r.text("column-lasts")),
            Column::right(&r.text("column-mean-end")),
            Column::right(&r.text("column-coldest-end")),
            Column::right(&r.text("column-kwh-sum")),
            Column::right(&r.text("column-water-sum")),
        ],
        rows,
        note: None,
    }
}

fn groups(v: &View<'_>) -> Table {
    let r = v.r;
    let rows = v.power_off().map_or_else(Vec::new, |s| {
        (0..v.groups.len())
            .map(|g| {
                let x = group_mean(s, g);
                vec![
                    v.groups.get(g).copied().unwrap_or("").to_owned(),
                    r.moisture(x),
                    r.mass(v.tray_gross_kg(x), v.tray_digits()),
                    r.temperature(end_core(s, g, false)),
                    r.temperature(end_core(s, g, true)),
                ]
            })
            .collect()
    });
    Table {
        title: r.text("table-groups"),
        header: vec![
            Column::left(&r.text("column-group")),
            Column::right(&r.text("column-mean-moisture")),
            Column::right(&r.text("column-tray-gross")),
            Column::right(&r.text("column-core-first")),
            Column::right(&r.text("column-core-last")),
        ],
        rows,
        note: None,
    }
}
