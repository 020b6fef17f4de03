//! How sure the plan is, what that comes from, and what was taken for what the plan file left out.

use fallrate_plan::propose::{Against, Tried};
use fallrate_plan::spread::{Input, Spread};
use fallrate_report::{Column, FigureGroup, Table};

use super::figures::figure;
use super::view::View;
use crate::words::{Reader, say};

/// Name of an uncertain input.
pub(crate) fn input_name(r: &Reader, input: Input) -> String {
    r.text(match input {
        Input::Thickness => "input-thickness",
        Input::Solids => "input-solids",
        Input::Diffusivity => "input-diffusivity",
        Input::Exchange => "input-exchange",
        Input::LateralShrinkage => "input-shrinkage",
        Input::Isotherm => "input-isotherm",
        Input::AirShare => "input-air-share",
        Input::Leakage => "input-leakage",
        Input::VentFlow => "input-vent-flow",
        Input::HeaterPower => "input-heater",
        Input::ShellLoss => "input-shell",
        Input::RoomTemperature => "input-room-temperature",
        Input::RoomHumidity => "input-room-humidity",
    })
}

/// The word for how far a value is known.
pub(crate) fn mark_word(r: &Reader, mark: &str) -> String {
    r.text(match mark {
        "read" => "mark-read",
        "computed" => "mark-computed",
        "memory" => "mark-memory",
        "stated" => "mark-stated",
        _ => "mark-assumed",
    })
}

fn spread_of<'a>(v: &'a View<'_>, input: Input) -> Option<&'a Spread> {
    v.setup.spreads.iter().find(|s| s.input == input)
}

/// What would make the plan surer.
pub(crate) fn remedy(r: &Reader, input: Input) -> String {
    r.text(match input {
        Input::Thickness => "remedy-thickness",
        Input::Solids => "remedy-solids",
        Input::Diffusivity | Input::LateralShrinkage | Input::Isotherm => "remedy-weighing",
        Input::Exchange | Input::AirShare => "remedy-trays",
        Input::Leakage | Input::VentFlow | Input::HeaterPower | Input::ShellLoss => "remedy-commissioning",
        Input::RoomTemperature | Input::RoomHumidity => "remedy-room",
    })
}

pub(super) fn figures(v: &View<'_>, full: bool) -> FigureGroup {
    let title = v.r.text("title-sure");
    let Some(shares) = v.plan.variance.as_ref().filter(|s| !s.shares.is_empty()) else {
        return FigureGroup { title, summary: Some(v.r.text("sure-no-draws")), figures: Vec::new() };
    };
    let top = shares.shares.first();
    let summary = top.map(|t| {
        let mark = spread_of(v, t.input).map_or("assumed", |s| s.mark.as_str());
        say!(
            v.r,
            "sure-summary",
            input = input_name(v.r, t.input),
            share = v.r.percent(t.share),
            mark = mark_word(v.r, mark),
            remedy = remedy(v.r, t.input)
        )
    });
    if !full {
        return FigureGroup { title, summary, figures: Vec::new() };
    }
    let mut figures: Vec<_> = shares
        .shares
        .iter()
        .take(6)
        .map(|s| {
            let mark = spread_of(v, s.input).map_or("assumed", |s| s.mark.as_str());
            let note = say!(v.r, "sure-note", mark = mark_word(v.r, mark), change = signed(v, s.per_sd_s));
            figure(input_name(v.r, s.input), format!("{:.0}", 100.0 * s.share), "%", Some(note))
        })
        .collect();
    figures.push(figure(
        v.r.text("sure-fit"),
        format!("{:.2}", shares.r_squared),
        "R²",
        Some(say!(v.r, "sure-fit-note", draws = v.plan.band.as_ref().map_or(0, |b| b.draws.len()))),
    ));
    FigureGroup { title, summary, figures }
}

/// "+25 min".
fn signed(v: &View<'_>, seconds: f64) -> String {
    let words = v.r.duration(seconds.abs());
    if seconds.abs() < 30.0 {
        return words;
    }
    if seconds < 0.0 { format!("−{words}") } else { format!("+{words}") }
}

pub(super) fn tables(v: &View<'_>) -> Vec<Table> {
    let mut list = Vec::new();
    list.extend(shares_table(v));
    list.extend(tried_table(v));
    list.extend(defaults_table(v));
    list
}

fn shares_table(v: &View<'_>) -> Option<Table> {
    let shares = v.plan.variance.as_ref().filter(|s| !s.shares.is_empty())?;
    let rows = shares.shares.iter().map(|s| {
        let spread = spread_of(v, s.input);
        vec![
            input_name(v.r, s.input),
            v.r.percent(s.share),
            signed(v, s.per_sd_s),
            mark_word(v.r, spread.map_or("assumed", |s| s.mark.as_str())),
            spread.map_or(String::new(), |s| source_text(v, &s.source)),
        ]
    });
    Some(Table {
        title: v.r.text("table-shares"),
        header: vec![
            Column::left(&v.r.text("column-input")),
            Column::right(&v.r.text("column-share")),
            Column::right(&v.r.text("column-per-sd")),
            Column::left(&v.r.text("column-mark")),
            Column::left(&v.r.text("column-source")),
        ],
        rows: rows.collect(),
        note: Some(say!(v.r, "table-shares-note", fit = format!("{:.2}", shares.r_squared))),
    })
}

/// A source key as words: the title where the list has it.
pub(super) fn source_text(v: &View<'_>, key: &str) -> String {
    match key {
        "plan file" => v.r.text("source-plan-file"),
        "own judgement" | "own-assumption" => v.r.text("source-own"),
        "common-practice" => v.r.text("source-practice"),
        _ => v
            .library
            .sources()
            .get(key)
            .map_or_else(|| key.to_owned(), |s| format!("{}, {}", s.issuer, s.year)),
    }
}

fn tried_table(v: &View<'_>) -> Option<Table> {
    if v.plan.tried.is_empty() {
        return None;
    }
    let rows = v.plan.tried.iter().map(|t| {
        vec![
            format!("“{}”", t.vent),
            v.r.temperature(t.set_point_c),
            t.hours.map_or_else(|| v.r.text("not-reached"), |h| v.r.duration(h * 3600.0)),
            t.kwh.map_or_else(String::new, |k| format!("{k:.1}")),
            against(v, t),
        ]
    });
    Some(Table {
        title: v.r.text("table-tried"),
        header: vec![
            Column::left(&v.r.text("column-vent")),
            Column::right(&v.r.text("column-set-point")),
            Column::right(&v.r.text("column-to-target")),
            Column::right("kWh"),
            Column::left(&v.r.text("column-verdict")),
        ],
        rows: rows.collect(),
        note: None,
    })
}

fn against(v: &View<'_>, t: &Tried) -> String {
    if t.chosen {
        return v.r.text("tried-chosen");
    }
    match t.against {
        Some(Against::SetPointLost(k)) => say!(v.r, "tried-lost", below = v.r.difference(k)),
        Some(Against::TooHot(c)) => say!(v.r, "tried-hot", temperature = v.r.temperature(c)),
        Some(Against::NobodyThere(s)) => say!(v.r, "tried-nobody", after = v.r.duration(s)),
        Some(Against::NotReached) => v.r.text("not-reached"),
        Some(Against::Dearer) | None => v.r.text("tried-dearer"),
    }
}

/// What the plan file left out and what was taken.
fn defaults_table(v: &View<'_>) -> Option<Table> {
    let used = &v.case.request.defaults_used;
    if used.is_empty() {
        return None;
    }
    let rows = used.iter().map(|d| vec![d.key.to_owned(), taken(v, d.key, d.taken)]);
    Some(Table {
        title: v.r.text("table-defaults"),
        header: vec![Column::left(&v.r.text("column-key")), Column::left(&v.r.text("column-taken"))],
        rows: rows.collect(),
        note: None,
    })
}

pub(crate) fn taken(v: &View<'_>, key: &str, otherwise: &str) -> String {
    let (r, a, batch) = (v.r, &v.plan.assembled, &v.setup.batch);
    match key {
        "piece.thickness" => say!(r, "default-thickness", value = r.thickness(batch.material.size_m)),
        "load.trays" => say!(r, "default-trays", value = a.loaded_trays),
        "load.liner" => say!(r, "default-liner", value = a.liner.as_str()),
        "load.temperature" => {
            say!(r, "default-load-temperature", value = r.temperature(batch.material.temperature_initial_c))
        }
        "room.altitude" => say!(r, "default-altitude", value = r.altitude(0.0)),
        "start.at" => say!(r, "default-start", value = v.clock(0.0)),
        "staff.hours" => r.text("default-staff"),
        "target.piece" => say!(r, "default-target-piece", value = v.piece(v.setup.target.piece)),
        "timer.unload" => r.text(match v.setup.unloading {
            fallrate_plan::Unloading::AtOnce => "default-unload-at-end",
            _ => "default-unload-staffed",
        }),
        _ => otherwise.to_owned(),
    }
}
