//! A moved recipe for people: what changes, what was set anew, what to check first.

use fallrate_plan::compare::mechanism;
use fallrate_report::{Block, Column, Document, Level, Picture, Table};

use super::move_plan::{Adjusted, MoveRun, StageCourse};
use super::sheet::{Day, answer, document, heading, notice, table};
use crate::compare::compare_page;
use crate::library::Library;
use crate::page::{input_name, input_remedy};
use crate::words::{Reader, say};

/// Differences that are worth a check: wet bulb K, share of the time at the heater's limit, share of the length.
const WET_BULB_K: f64 = 1.0;
const HEATER: f64 = 0.2;
const LONGER: f64 = 0.1;

/// The moved recipe as a document.
#[must_use]
pub fn move_document(run: &MoveRun, library: &Library, r: &Reader, day: &Day) -> Document {
    let compared = compare_page(&run.compared, library, r);
    let [a, b] = &run.compared.ways[..] else {
        return document(r, r.text("move-title"), compared.subject, day, false);
    };
    let name =
        |p: &crate::plan_case::PlanCase| r.words.pick(&p.cabinet.name.en, &p.cabinet.name.es).to_owned();
    let (here, there) = (name(&a.planned.case), name(&b.planned.case));
    let subject = say!(r, "move-subject", from = here, to = there);
    let mut d = document(r, r.text("move-title"), subject, day, false);
    d.flag = compared.flag.clone();
    let ends = (mechanism(&a.planned.plan).end_s, mechanism(&b.planned.plan).end_s);
    let key = if ends.1 >= ends.0 { "move-longer" } else { "move-shorter" };
    let by = r.duration((ends.1 - ends.0).abs());
    let headline = say!(r, key, to = r.duration(ends.1), by = by, from = r.duration(ends.0));
    let stuck = run.stages.iter().any(|s| s.reached.0 && !s.reached.1);
    d.blocks.push(match stuck {
        true => answer(r.text("move-does-not-run"), headline),
        false => answer(headline, String::new()),
    });
    if kills(run) {
        d.blocks.push(notice(r, Level::Act, r.text("move-kill")));
    }
    for s in run.stages.iter().filter(|s| s.reached.0 && !s.reached.1) {
        d.blocks.push(notice(r, Level::Act, say!(r, "move-unreached", stage = s.name.clone())));
    }
    d.blocks.push(heading(r.text("move-check")));
    d.blocks.push(Block::List(checks(run, r)));
    d.blocks.push(heading(r.text("move-adjusted")));
    d.blocks.push(match run.adjusted.is_empty() {
        true => Block::Text(r.text("move-nothing-adjusted")),
        false => Block::List(run.adjusted.iter().map(|x| adjusted(x, r)).collect()),
    });
    if run.text.is_none() {
        d.blocks.push(Block::Text(r.text("move-proposed")));
    }
    d.blocks.push(heading(r.text("move-stages")));
    d.blocks.extend(table(stages(run, r)));
    for group in &compared.figures {
        d.blocks.push(heading(group.title.clone()));
        d.blocks.extend(group.summary.clone().map(Block::Text));
        let line = |f: &fallrate_report::KeyFigure| {
            let note = f.note.clone().unwrap_or_default();
            let parts = [f.value.as_str(), f.unit.as_str(), note.as_str()];
            let said: Vec<&str> = parts.into_iter().filter(|p| !p.is_empty()).collect();
            format!("{}: {}", f.label, said.join(" "))
        };
        d.blocks.push(Block::List(group.figures.iter().map(line).collect()));
    }
    d.blocks.extend(compared.pictures.into_iter().map(|p: Picture| Block::Picture(p)));
    d.blocks.extend(compared.tables.into_iter().map(Block::Table));
    d
}

fn kills(run: &MoveRun) -> bool {
    run.compared
        .ways
        .first()
        .is_some_and(|w| w.planned.case.product.kill_step != fallrate_foods::KillStep::None)
}

fn adjusted(a: &Adjusted, r: &Reader) -> String {
    match a {
        Adjusted::Trays { from, to } => say!(r, "move-trays", from = *from, to = *to),
        Adjusted::Fan { stage, to, from_m_per_s } => say!(
            r,
            "move-fan",
            stage = stage.clone(),
            step = to.0.clone(),
            speed = r.air_speed(to.1),
            before = r.air_speed(*from_m_per_s)
        ),
        Adjusted::Vent { stage, from, to, off_k } => {
            let off = r.difference(off_k.1);
            let (stage, from, to) = (stage.clone(), from.clone(), to.clone());
            match off_k.0 {
                Some(before) => {
                    let before = r.difference(before);
                    say!(r, "move-vent", stage = stage, from = from, to = to, off = off, before = before)
                }
                None => say!(r, "move-vent-new", stage = stage, from = from, to = to, off = off),
            }
        }
        Adjusted::SetPoint { stage, from_c, to_c } => say!(
            r,
            "move-set-point",
            stage = stage.clone(),
            from = r.temperature(*from_c),
            to = r.temperature(*to_c)
        ),
        Adjusted::Liner { from, to } => say!(r, "move-liner", from = from.clone(), to = to.clone()),
        Adjusted::Groups => r.text("move-groups"),
    }
}

/// What to look at first in the new place, most telling first.
fn checks(run: &MoveRun, r: &Reader) -> Vec<String> {
    let mut list = Vec::new();
    let off = |s: &StageCourse| s.wet_bulb_c.1 - s.wet_bulb_c.0;
    let worst = run.stages.iter().max_by(|a, b| off(a).abs().total_cmp(&off(b).abs()));
    if let Some(s) = worst.filter(|s| off(s).abs() > WET_BULB_K) {
        let (there, here) = (r.temperature(s.wet_bulb_c.1), r.temperature(s.wet_bulb_c.0));
        list.push(say!(r, "move-check-wet-bulb", stage = s.name.clone(), there = there, here = here));
    }
    for s in run.stages.iter().filter(|s| s.heater_full.1 > s.heater_full.0 + HEATER) {
        let share = r.percent(s.heater_full.1);
        list.push(say!(r, "move-check-heater", stage = s.name.clone(), share = share));
    }
    for s in run.stages.iter().filter(|s| (s.lasts_s.1 / s.lasts_s.0 - 1.0).abs() > LONGER) {
        let (there, here) = (r.duration(s.lasts_s.1), r.duration(s.lasts_s.0));
        list.push(say!(r, "move-check-length", stage = s.name.clone(), there = there, here = here));
    }
    if let Some(plan) = run.compared.ways.get(1).map(|w| &w.planned.plan)
        && let Some(shares) = &plan.variance
    {
        for s in shares.shares.iter().take(2) {
            let what = input_name(r, s.input);
            list.push(say!(r, "move-check-input", what = what, remedy = input_remedy(r, s.input)));
        }
    }
    list.push(r.text("move-check-weigh"));
    list
}

fn stages(run: &MoveRun, r: &Reader) -> Table {
    let row = |s: &StageCourse| {
        let pair = |a: String, b: String| format!("{a} → {b}");
        vec![
            s.name.clone(),
            pair(r.duration(s.lasts_s.0), r.duration(s.lasts_s.1)),
            pair(r.temperature_cell(s.wet_bulb_c.0), r.temperature(s.wet_bulb_c.1)),
            pair(r.percent(s.relative_humidity.0), r.percent(s.relative_humidity.1)),
            pair(r.temperature_cell(s.core_c.0), r.temperature(s.core_c.1)),
            pair(r.percent(s.heater_full.0), r.percent(s.heater_full.1)),
        ]
    };
    Table {
        title: String::new(),
        header: vec![
            Column::left(&r.text("move-column-stage")),
            Column::right(&r.text("move-column-lasts")),
            Column::right(&r.text("move-column-wet-bulb")),
            Column::right(&r.text("move-column-humidity")),
            Column::right(&r.text("move-column-core")),
            Column::right(&r.text("move-column-heater")),
        ],
        rows: run.stages.iter().map(row).collect(),
        note: Some(r.text("move-stages-note")),
    }
}
