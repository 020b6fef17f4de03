//! Plans side by side, with the main reason for the difference.

use fallrate_plan::compare::{Cause, Comparison, InputGroup, Mechanism, Side, mechanism, start_ways};
use fallrate_report::{
    Axis, AxisRange, Chart, Column, Dash, FigureGroup, Flag, KeyFigure, Picture, PlanPage, Table,
};

use crate::chart::{chart_words, line, points, wet_basis_percent};
use crate::error::AppError;
use crate::library::Library;
use crate::page::view::{View, end_core};
use crate::plan_case::{PlanCase, Planned, Progress};
use crate::words::{Reader, say};

/// A plan of a comparison.
#[derive(Debug)]
pub struct Way {
    /// Short name: "A", or the vent mark.
    pub name: String,
    /// The plan.
    pub planned: Planned,
}

/// Plans compared with the first of them.
#[derive(Debug)]
pub struct Compared {
    /// Ways of starting one load, rather than plans of their own.
    pub starts: bool,
    /// Plans.
    pub ways: Vec<Way>,
    /// The first against each other one.
    pub comparisons: Vec<Comparison>,
    /// Ways without a plan, and why.
    pub failed: Vec<(String, String)>,
}

/// Rise of the core that tells when a load has warmed up, 20 °F, K.
const RISE_K: f64 = 20.0 / 1.8;

fn side(planned: &Planned) -> Side<'_> {
    Side {
        request: &planned.case.request,
        product: &planned.case.product,
        cabinet: &planned.case.cabinet,
        plan: &planned.plan,
    }
}

fn against_first(ways: &[Way], progress: &dyn Fn() -> bool) -> Result<Vec<Comparison>, AppError> {
    let Some((first, rest)) = ways.split_first() else { return Ok(Vec::new()) };
    let one = |w: &Way| {
        fallrate_plan::compare::compare(&side(&first.planned), &side(&w.planned), progress)
            .map_err(|e| w.planned.case.error(e))
    };
    rest.iter().map(one).collect()
}

/// Plans each case and compares them with the first.
///
/// # Errors
/// [`AppError`] of any of them.
pub fn compare(
    cases: Vec<PlanCase>,
    draws: usize,
    progress: &(dyn Fn(Progress) -> bool + Sync),
) -> Result<Compared, AppError> {
    if cases.len() < 2 {
        return Err(AppError::Sides { given: cases.len() });
    }
    let mut ways = Vec::new();
    for (n, case) in cases.into_iter().enumerate() {
        let letter = u8::try_from(n).ok().filter(|n| *n < 26).map_or('Z', |n| char::from(b'A' + n));
        ways.push(Way { name: letter.to_string(), planned: case.plan(draws, progress)? });
    }
    let comparisons = against_first(&ways, &|| progress(Progress::Running))?;
    Ok(Compared { starts: false, ways, comparisons, failed: Vec::new() })
}

/// The same load started with the vent shut, cracked and open.
///
/// # Errors
/// [`AppError::NoWays`] for a vent of one mark; [`AppError`] where the load has no plan at all.
pub fn compare_ways(
    case: PlanCase,
    progress: &(dyn Fn(Progress) -> bool + Sync),
) -> Result<Compared, AppError> {
    let base = case.plan(0, progress)?;
    let starts = start_ways(&base.case.request, &base.plan, &base.case.cabinet);
    if starts.is_empty() {
        let marks = base.case.cabinet.vent.marks.len();
        return Err(AppError::NoWays { cabinet: base.case.cabinet.key.clone(), marks });
    }
    let (mut ways, mut failed) = (Vec::new(), Vec::new());
    for start in starts {
        let case = PlanCase { request: start.request, ..base.case.clone() };
        match case.plan(0, progress) {
            Ok(planned) => ways.push(Way { name: start.mark, planned }),
            Err(AppError::Cancelled) => return Err(AppError::Cancelled),
            Err(e) => failed.push((start.mark, e.to_string())),
        }
    }
    let comparisons = against_first(&ways, &|| progress(Progress::Running))?;
    Ok(Compared { starts: true, ways, comparisons, failed })
}

/// The comparison as a page.
#[must_use]
pub fn compare_page(compared: &Compared, library: &Library, r: &Reader) -> PlanPage {
    let views: Vec<View<'_>> = compared.ways.iter().map(|w| View::new(&w.planned, library, r)).collect();
    let subject = if compared.starts {
        views.first().map_or_else(String::new, View::subject)
    } else {
        r.text("compare-subject")
    };
    let mut figures = Vec::new();
    if !compared.starts {
        figures.push(names(compared, &views, r));
    }
    figures.push(sentences(compared, r));
    figures.extend(causes(compared, r));
    PlanPage {
        language: r.words.language().tag().to_owned(),
        subject,
        headline: headline(compared, r),
        subline: r.text(if compared.starts { "compare-ways-subline" } else { "compare-subline" }),
        flag: Some(Flag { word: r.text("flag-word"), meaning: r.text("flag-meaning") }),
        figures,
        pictures: vec![Picture::Chart(chart(compared, &views, r))],
        tables: vec![table(compared, &views, r)],
        footer: vec![say!(r, "footer-version", version = crate::VERSION)],
        ..PlanPage::default()
    }
}

fn mechanisms(compared: &Compared) -> Vec<Mechanism> {
    compared.ways.iter().map(|w| mechanism(&w.planned.plan)).collect()
}

fn headline(compared: &Compared, r: &Reader) -> String {
    let all = mechanisms(compared);
    let (Some(first), Some(last)) = (all.first(), all.last()) else { return r.text("compare-nothing") };
    if compared.starts {
        let (warm, cool) = (core(r, first), core(r, last));
        let names = (compared.ways.first(), compared.ways.last());
        let name = |w: Option<&Way>| w.map_or_else(String::new, |w| w.name.clone());
        return say!(
            r,
            "compare-ways-headline",
            first = name(names.0),
            warm = warm,
            last = name(names.1),
            cool = cool
        );
    }
    difference(
        r,
        "A",
        &compared.ways.get(1).map_or_else(String::new, |w| w.name.clone()),
        first,
        all.get(1).unwrap_or(last),
    )
}

fn core(r: &Reader, m: &Mechanism) -> String {
    r.temperature(m.core_after_hour_c)
}

/// "B ends 48 min later than A".
fn difference(r: &Reader, a: &str, b: &str, first: &Mechanism, second: &Mechanism) -> String {
    let gap = second.end_s - first.end_s;
    let key = if gap.abs() < 60.0 {
        "compare-same"
    } else if gap > 0.0 {
        "compare-later"
    } else {
        "compare-sooner"
    };
    say!(
        r,
        key,
        a = a,
        b = b,
        gap = r.duration(gap.abs()),
        end_a = r.duration(first.end_s),
        end_b = r.duration(second.end_s)
    )
}

/// What each letter stands for.
fn names(compared: &Compared, views: &[View<'_>], r: &Reader) -> FigureGroup {
    let figures = compared.ways.iter().zip(views).map(|(w, v)| KeyFigure {
        label: w.name.clone(),
        value: String::new(),
        unit: String::new(),
        note: Some(format!("{} — {}", w.planned.case.name, v.subject())),
    });
    FigureGroup { title: r.text("title-plans"), summary: None, figures: figures.collect() }
}

/// One sentence for each plan after the first, or for each way.
fn sentences(compared: &Compared, r: &Reader) -> FigureGroup {
    let all = mechanisms(compared);
    let mut figures: Vec<KeyFigure> = Vec::new();
    let mut add = |label: String, text: String| {
        figures.push(KeyFigure { label, value: String::new(), unit: String::new(), note: Some(text) });
    };
    if compared.starts {
        for (way, m) in compared.ways.iter().zip(&all) {
            add(way.name.clone(), way_sentence(r, m));
        }
    } else {
        for ((way, m), c) in compared.ways.iter().zip(&all).skip(1).zip(&compared.comparisons) {
            let text =
                all.first().map_or_else(String::new, |first| reason(r, &way.name, first, m, &c.causes));
            add(format!("A / {}", way.name), text);
        }
    }
    for (name, why) in &compared.failed {
        add(name.clone(), say!(r, "compare-failed", why = why.as_str()));
    }
    FigureGroup { title: r.text("title-reason"), summary: None, figures }
}

fn way_sentence(r: &Reader, m: &Mechanism) -> String {
    say!(
        r,
        "way-sentence",
        wet_bulb = r.temperature(m.wet_bulb_first_hour_c),
        rh = r.percent(m.rh_first_hour),
        core = core(r, m),
        rise = r.difference(RISE_K),
        up = m.core_up_s.map_or_else(|| r.text("not-reached"), |s| r.duration(s)),
        end = r.duration(m.end_s),
        kwh = format!("{:.1}", m.kwh)
    )
}

fn group_name(r: &Reader, g: InputGroup) -> String {
    r.text(match g {
        InputGroup::Product => "group-product",
        InputGroup::Size => "group-size",
        InputGroup::Load => "group-load",
        InputGroup::Cabinet => "group-cabinet",
        InputGroup::Room => "group-room",
        InputGroup::Stages => "group-stages",
        InputGroup::Start => "group-start",
        InputGroup::Target => "group-target",
    })
}

/// The main reason in a sentence, with what differs in the air.
fn reason(r: &Reader, name: &str, a: &Mechanism, b: &Mechanism, causes: &[Cause]) -> String {
    let Some(main) = causes.first() else { return r.text("reason-none") };
    let gap = difference(r, "A", name, a, b);
    let cause = match main.end_moves_s {
        Some(s) => say!(r, "reason-main", group = group_name(r, main.group), moves = signed(r, s)),
        None => say!(r, "reason-together", groups = listed(r, causes)),
    };
    format!("{gap}{cause}{}", air(r, a, b, main.group))
}

fn signed(r: &Reader, s: f64) -> String {
    let words = r.duration(s.abs());
    if s < 0.0 { format!("−{words}") } else { format!("+{words}") }
}

fn listed(r: &Reader, causes: &[Cause]) -> String {
    causes.iter().map(|c| group_name(r, c.group)).collect::<Vec<_>>().join(", ")
}

/// What differs most in the air, if anything does.
fn air(r: &Reader, a: &Mechanism, b: &Mechanism, group: InputGroup) -> String {
    let wet = (b.wet_bulb_first_hour_c - a.wet_bulb_first_hour_c) / 3.0;
    let warm = (b.chamber_mean_c - a.chamber_mean_c) / 3.0;
    let full = (b.heater_full_share - a.heater_full_share) / 0.1;
    let most = wet.abs().max(warm.abs()).max(full.abs());
    if group == InputGroup::Target {
        return r.text("air-target");
    }
    if most < 1.0 {
        return r.text(if group == InputGroup::Size { "air-same-size" } else { "air-same" });
    }
    if most == wet.abs() {
        let key = if wet > 0.0 { "air-wet-bulb-higher" } else { "air-wet-bulb-lower" };
        return say!(
            r,
            key,
            b = r.temperature(b.wet_bulb_first_hour_c),
            a = r.temperature(a.wet_bulb_first_hour_c)
        );
    }
    if most == warm.abs() {
        let key = if warm > 0.0 { "air-warmer" } else { "air-cooler" };
        return say!(r, key, b = r.temperature(b.chamber_mean_c), a = r.temperature(a.chamber_mean_c));
    }
    let key = if full > 0.0 { "air-heater-more" } else { "air-heater-less" };
    say!(r, key, b = r.percent(b.heater_full_share), a = r.percent(a.heater_full_share))
}

/// How much each group of inputs moves the end by itself.
fn causes(compared: &Compared, r: &Reader) -> Vec<FigureGroup> {
    if compared.starts {
        return Vec::new();
    }
    let group = |(way, c): (&Way, &Comparison)| FigureGroup {
        title: say!(r, "title-causes", name = way.name.as_str()),
        summary: None,
        figures: c
            .causes
            .iter()
            .map(|c| KeyFigure {
                label: group_name(r, c.group),
                value: c.end_moves_s.map_or_else(|| r.text("cause-not-alone"), |s| signed(r, s)),
                unit: String::new(),
                note: None,
            })
            .collect(),
    };
    compared.ways.iter().skip(1).zip(&compared.comparisons).map(group).collect()
}

fn table(compared: &Compared, views: &[View<'_>], r: &Reader) -> Table {
    let all = mechanisms(compared);
    let row = |key: &str, f: &dyn Fn(usize) -> String| {
        let mut cells = vec![r.text(key)];
        cells.extend((0..all.len()).map(f));
        cells
    };
    let mut rows = vec![
        row("row-end", &|i| r.duration(all[i].end_s)),
        row("row-clock", &|i| views[i].clock(all[i].end_s)),
        row("row-dial", &|i| r.duration(views[i].plan.timer.dial_s)),
        row("row-wet-bulb", &|i| r.temperature(all[i].wet_bulb_first_hour_c)),
        row("row-rh", &|i| r.percent(all[i].rh_first_hour)),
        row("row-core-hour", &|i| r.temperature(all[i].core_after_hour_c)),
        row("row-chamber", &|i| r.temperature(all[i].chamber_mean_c)),
        row("row-heater", &|i| r.percent(all[i].heater_full_share)),
        row("row-kwh", &|i| format!("{:.1}", all[i].kwh)),
        row("row-spread", &|i| spread(&views[i], all[i].end_s, r)),
        row("row-fresh", &|i| r.mass(views[i].setup.batch.fresh_kg(), 1)),
    ];
    let mut up = vec![say!(r, "row-core-up", rise = r.difference(RISE_K))];
    up.extend(all.iter().map(|m| m.core_up_s.map_or_else(|| r.text("not-reached"), |s| r.duration(s))));
    rows.insert(5, up);
    if views.iter().all(|v| v.plan.energy.cost_per_kg_finished.is_some()) {
        let cost = |i: usize| {
            let per_kg = views[i].plan.energy.cost_per_kg_finished.unwrap_or(0.0);
            format!("{:.2} {}", r.per_mass(per_kg), views[i].currency())
        };
        rows.push(row(if r.units == crate::words::Units::Us { "row-cost-lb" } else { "row-cost" }, &cost));
    }
    let mut header = vec![Column::left(&r.text("column-figure"))];
    header.extend(compared.ways.iter().map(|w| Column::right(&w.name)));
    Table { title: r.text("table-compare"), header, rows, note: Some(r.text("table-compare-note")) }
}

/// Driest to wettest piece when the target is met.
fn spread(v: &View<'_>, end_s: f64, r: &Reader) -> String {
    let samples = &v.plan.sweep.samples;
    let near =
        samples.iter().min_by(|a, b| (a.elapsed_s - end_s).abs().total_cmp(&(b.elapsed_s - end_s).abs()));
    near.map_or_else(String::new, |s| {
        format!(
            "{}–{}",
            r.moisture_short(s.moisture_fastest_dry_basis),
            r.moisture(s.moisture_slowest_dry_basis)
        )
    })
}

fn chart(compared: &Compared, views: &[View<'_>], r: &Reader) -> Chart {
    let t = |c: f64| r.temperature_number(c);
    let dashes = [Dash::Long, Dash::Dots, Dash::Short, Dash::DashDot];
    let mut series = Vec::new();
    for (i, (way, v)) in compared.ways.iter().zip(views).enumerate() {
        let samples = &v.plan.sweep.samples;
        let (worst, _) = v.worst_and_best_group();
        let dash = dashes[i % dashes.len()];
        let mut add = |axis: usize, p| series.push(line(way.name.clone(), axis, p, i, dash));
        add(0, points(samples, |s| t(s.wet_bulb_c)));
        add(1, points(samples, |s| t(end_core(s, worst, true))));
        add(2, points(samples, |s| wet_basis_percent(s.moisture_mean_dry_basis)));
    }
    let ends = mechanisms(compared).iter().map(|m| m.end_s / 3600.0).fold(0.0, f64::max);
    let axis = |key: &str, unit: &str, range| Axis { label: r.text(key), unit: unit.to_owned(), range };
    Chart {
        title: r.text("chart-compare"),
        description: headline(compared, r),
        clock_start: views.first().map(|v| v.setup.start),
        x_hours: Some((0.0, ends)),
        axes: vec![
            axis("axis-wet-bulb", r.temperature_unit(), AxisRange::Auto),
            axis("axis-core-last", r.temperature_unit(), AxisRange::Auto),
            axis("axis-moisture-mean", &r.text("unit-wb"), AxisRange::AutoFromZero),
        ],
        series,
        words: chart_words(r),
        ..Chart::default()
    }
}
