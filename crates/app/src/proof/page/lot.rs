//! What the lot's answer is made of, and the growth limits that the plan claims.

use fallrate_lethality::{
    Answer, DocumentReading, LotItem, LotPart, LotStanding, OptionResult, PartState, PlanGrowthResult,
};
use fallrate_report::{Block, Column, Measure, Table};

use super::super::words;
use super::Sheet;
use super::sources::class;
use crate::words::{fixed, say};

/// What the lot's answer comes to, for the line below the headline.
pub(super) fn standing(s: &Sheet<'_>) -> String {
    s.r.text(match s.lot.standing {
        LotStanding::Clear => "lot-standing-clear",
        LotStanding::DispositionDecides => "lot-standing-disposition",
        LotStanding::Waiting => "lot-standing-waiting",
        LotStanding::ActionOpen => "lot-standing-action",
        LotStanding::CanNoLongerBeJudged => "lot-standing-gone",
        LotStanding::NotMet => "lot-standing-not-met",
    })
}

fn item(s: &Sheet<'_>, i: &LotItem) -> String {
    let key = match i {
        LotItem::PlanLimit { name } => return say!(s.r, "proof-plan-limit", name = name.clone()),
        LotItem::Other { name } => return name.clone(),
        LotItem::PublishedCriterion => "lot-item-published",
        LotItem::AuthorityCriterion => "lot-item-authority",
        LotItem::AdoptedStudy => "lot-item-study",
        LotItem::AfterKill => "proof-after-kill",
        LotItem::ShelfStable => "lot-item-shelf",
        LotItem::NameJerky => "lot-item-jerky",
        LotItem::RefrigerateAfterOpening => "lot-item-refrigerate",
    };
    s.r.text(key)
}

fn state(s: &Sheet<'_>, p: &LotPart) -> String {
    let plan = matches!(p.item, LotItem::PlanLimit { .. });
    if let (LotItem::RefrigerateAfterOpening, Answer::NotMet) = (&p.item, p.answer) {
        return s.r.text("lot-label-must-say");
    }
    match p.state {
        PartState::Met | PartState::NotMet if plan => words::kept(s.r, p.answer),
        PartState::Met | PartState::NotMet => s.answer_word(p.answer),
        PartState::Waiting => s.r.text("lot-state-waiting"),
        PartState::CanNoLongerBeJudged => s.r.text("lot-state-gone"),
    }
}

/// Every part of the lot's answer; only critical ones decide.
pub(super) fn parts(s: &Sheet<'_>) -> Vec<Block> {
    let rows = s.lot.parts.iter().map(|p| {
        let missing: Vec<String> = p.missing.iter().map(|m| words::missing(s.r, m)).collect();
        vec![item(s, &p.item), class(s, p.class), state(s, p), missing.join("; ")]
    });
    let left = |key: &str| Column::left(&s.r.text(key));
    let mut note = vec![s.r.text("lot-parts-note")];
    if !s.lot.open_actions.is_empty() {
        note.push(say!(s.r, "lot-open-actions", names = s.lot.open_actions.join(", ")));
    }
    vec![
        Block::Heading { level: 2, text: s.r.text("lot-parts") },
        Block::Text(standing(s)),
        Block::Table(Table {
            title: String::new(),
            header: vec![left("lot-part"), left("lot-class"), left("proof-answer"), left("lot-lacks")],
            rows: rows.collect(),
            note: Some(note.join(" ")),
        }),
    ]
}

/// Growth limits of the plan for page one: the figure nearest to its limit.
pub(super) fn growth_limits(s: &Sheet<'_>) -> Vec<Measure> {
    s.j.growth.iter().map(|g| growth_limit(s, g)).collect()
}

fn growth_limit(s: &Sheet<'_>, g: &PlanGrowthResult) -> Measure {
    let (shown, required, note) =
        nearest_band(s, g).or_else(|| most_degree_hours(s, g)).unwrap_or_else(|| {
            let dash = || "–".to_owned();
            (dash(), dash(), None)
        });
    Measure {
        label: say!(s.r, "proof-plan-limit", name = g.limit.name.clone()),
        shown,
        required,
        answer: words::sign(g.answer),
        word: words::kept(s.r, g.answer),
        note: note.or_else(|| g.missing.first().map(|m| words::missing(s.r, m))),
    }
}

type Figures = (String, String, Option<String>);

fn nearest_band(s: &Sheet<'_>, g: &PlanGrowthResult) -> Option<Figures> {
    let nearer = |a: f64, b: f64| a > b || (a.is_nan() && !b.is_nan());
    let share = |e: &fallrate_lethality::ExposureFinding| e.at_most_h / e.limit_h;
    let e = g.exposure.iter().reduce(|a, b| if nearer(share(b), share(a)) { b } else { a })?;
    let hours = |h: f64| {
        if h.is_finite() { format!("{} h", fixed((h * 10.0).ceil() / 10.0, 1)) } else { "–".to_owned() }
    };
    let band =
        say!(s.r, "proof-from-to", from = s.r.temperature(e.band_c.0), to = s.r.temperature(e.band_c.1));
    Some((
        hours(e.at_most_h),
        say!(s.r, "proof-at-most", value = hours(e.limit_h)),
        Some(format!("{}, {band}, {}", e.organism, e.position)),
    ))
}

fn most_degree_hours(s: &Sheet<'_>, g: &PlanGrowthResult) -> Option<Figures> {
    let known = g.degree_hours.iter().filter_map(|p| p.at_most.as_ref().map(|d| (p, d)));
    let (p, d) = known.reduce(|a, b| if b.1.degree_hours_f > a.1.degree_hours_f { b } else { a })?;
    let figure = |x: f64| say!(s.r, "lot-degree-hours", value = fixed(x, 0));
    Some((
        figure(d.degree_hours_f.ceil()),
        say!(s.r, "proof-at-most", value = figure(d.limit_f)),
        Some(p.position.clone()),
    ))
}

/// Where the document contradicts itself: what each of its readings gives.
pub(super) fn readings(s: &Sheet<'_>, o: &OptionResult) -> Option<Block> {
    if o.readings.is_empty() {
        return None;
    }
    let lines = o.readings.iter().map(|x| {
        let by = s.r.text(match x.reading {
            DocumentReading::Text => "reading-by-text",
            DocumentReading::FlowChart => "reading-by-chart",
        });
        say!(
            s.r,
            "reading-line",
            by = by,
            share = s.r.percent(x.share),
            cook = s.minutes(x.total_cook_min),
            required = s.minutes(x.required_min),
            shown = s.minutes(x.shown_min),
            answer = s.answer_word(x.answer)
        )
    });
    let mut list = vec![s.r.text("reading-both")];
    list.extend(lines);
    Some(Block::List(list))
}
