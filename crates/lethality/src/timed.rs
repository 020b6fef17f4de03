//! The parts of an option that hold at an end instant.

use crate::come_up::{COME_UP_LIMIT_MIN, ComeUp};
use crate::dwell::Dwell;
use crate::humid::Evidence;
use crate::judge::Prepared;
use crate::option::HumidityOption;
use crate::reason::Missing;
use crate::search::{Bound, Curve, Found, Search};
use crate::track::Window;
use crate::verdict::{Item, Part, PartUnit};
use crate::{Answer, OptionId, gate};

/// The parts that hold at an instant, and the answer of all of them together.
pub(crate) fn timed(
    w: Window,
    p: &Prepared<'_>,
    option: &HumidityOption,
    d: &Dwell,
    come_up: &ComeUp,
    line: Option<&(OptionId, Evidence, Curve)>,
) -> (Answer, f64, Vec<Part>) {
    let f = &p.case.facts;
    let search = Search {
        option,
        dwell: d,
        come_up,
        humid: line.map(|(_, _, c)| c),
        least_cook_min: gate::least_cook_min(f, option),
        end: w.end,
        dry_began: f.drying_began.map_or(w.end, |i| i.seconds_since(w.t0)),
    };
    let found = search.run();
    let answer = Answer::from_bounds(found.shown.is_some(), found.possible.is_some());
    let missing = line.map(|(_, e, _)| e.missing.clone()).unwrap_or_default();
    (answer, found.print_at, timed_parts(&search, &found, missing))
}

fn timed_parts(s: &Search<'_>, found: &Found, missing: Vec<Missing>) -> Vec<Part> {
    let (t, o) = (found.print_at, s.option);
    let both = |f: &dyn Fn(Bound) -> bool| Answer::from_bounds(f(Bound::Shown), f(Bound::Possible));
    let mut parts = Vec::new();
    let row = Answer::from_bounds(s.dwell.shown_at.is_some(), s.dwell.possible_at.is_some());
    let mut part = Part::plain(Item::Row, row, tables(s));
    if let Some(r) = s.dwell.row_to_print() {
        part = part.figures(r.shown_s, r.unknown_s, r.need_s, PartUnit::Seconds);
    }
    parts.push(gap_if_unsure(part));
    if found.shown_anywhere.is_some() && found.shown.is_none() {
        parts.push(Part::plain(
            Item::DwellBeforeDrying,
            Answer::CannotBeJudged,
            vec!["TOOL-03", "JERKY-J08"],
        ));
    }
    let (least, most) = s.come_up.at(t);
    let part = Part::plain(Item::ComeUp, both(&|b| s.come_up_holds(t, b)), vec!["RULE-C14", "RULE-C15"])
        .figures(least / 60.0, (most - least) / 60.0, COME_UP_LIMIT_MIN, PartUnit::Minutes);
    parts.push(gap_if_unsure(part));
    if o.cook_at_least_min.is_some() || o.cook_below_min.is_some() {
        let a = if s.cook_holds(t) { Answer::Met } else { Answer::NotMet };
        let need = o.cook_below_min.unwrap_or(s.least_cook_min);
        let part = Part::plain(Item::TotalCook, a, vec!["RULE-C13", o.id.requirement()]);
        parts.push(part.figures(t / 60.0, 0.0, need, PartUnit::Minutes));
    }
    if let Some(curve) = s.humid {
        let shown = curve.at(t, Bound::Shown) / 60.0;
        let unknown = curve.at(t, Bound::Possible) / 60.0 - shown;
        let need = if o.throughout { t / 60.0 } else { s.humid_required_min(t / 60.0, Bound::Shown) };
        let part = Part::plain(
            Item::HumidTime,
            both(&|b| s.humid_holds(t, b)),
            vec![o.id.requirement(), "RULE-C20"],
        )
        .figures(shown, unknown, need, PartUnit::Minutes)
        .missing(missing);
        parts.push(gap_if_unsure(part));
    }
    parts
}

fn gap_if_unsure(mut part: Part) -> Part {
    let gaps = part.unknown.is_none_or(|u| u > 0.0);
    if part.answer == Answer::CannotBeJudged && part.missing.is_empty() && gaps {
        part.missing.push(Missing::Minutes);
    }
    part
}

/// The tables whose rows are used.
fn tables(s: &Search<'_>) -> Vec<&'static str> {
    let mut ids = vec!["RULE-C26"];
    let used = |start: &str| s.dwell.rows.iter().any(|r| r.table_id.starts_with(start));
    let all = [
        ("T2", "TABLE-2"),
        ("T3", "TABLE-3"),
        ("T4", "TABLE-4"),
        ("T6", "TABLE-6"),
        ("poultry", "JERKY-J13"),
    ];
    ids.extend(all.into_iter().filter(|(start, _)| used(start)).map(|(_, id)| id));
    ids
}
