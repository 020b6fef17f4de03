//! What the lot's answer is made of, and the growth limits that the plan claims.

use fallrate_lethality::{
    Answer, DocumentReading, LotItem, LotPart, LotStanding, OptionResult, PartState, PlanGrowthResult,
    TrayEndPoint,
};
use fallrate_report::{Block, Column, Measure, Table};

use super::super::judged::{StandardFinding, TRAY};
use super::super::{guidance, words};
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
        LotItem::Other { name } => {
            return match name.strip_prefix(TRAY) {
                Some(n) => say!(s.r, "lot-item-tray", tray = n.to_owned()),
                None => say!(s.r, "lot-item-standard", name = name.clone()),
            };
        }
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

/// The end of drying by weight and by the standard claimed.
pub(super) fn end_of_drying(s: &Sheet<'_>) -> Vec<Block> {
    let mut rows: Vec<Vec<String>> = s.j.end_points.iter().map(|t| tray_row(s, t)).collect();
    rows.extend(s.j.standard.as_ref().map(|f| standard_row(s, f)));
    if rows.is_empty() {
        return Vec::new();
    }
    let (left, right) = (|key: &str| Column::left(&s.r.text(key)), |key: &str| Column::right(&s.r.text(key)));
    let header = vec![
        left("lot-part"),
        right("end-loaded"),
        right("end-now"),
        right("end-word"),
        right("proof-at-the-most"),
        left("proof-answer"),
    ];
    let table = Table { title: String::new(), header, rows, note: Some(s.r.text("end-note")) };
    vec![Block::Heading { level: 2, text: s.r.text("end-title") }, Block::Table(table)]
}

fn percent(p: Option<f64>) -> String {
    p.map_or_else(|| "–".to_owned(), |p| format!("{} %", fixed(p, 1)))
}

fn tray_row(s: &Sheet<'_>, t: &TrayEndPoint) -> Vec<String> {
    let kg = |w: Option<f64>| w.map_or_else(|| "–".to_owned(), |kg| s.r.mass(kg, 3));
    let p = |m: fallrate_units::MoistureWetBasis| percent(Some(m.percent()));
    let moisture = t.moisture.map_or_else(
        || "–".to_owned(),
        |m| say!(s.r, "end-moisture", best = p(m.best), least = p(m.least), most = p(m.most)),
    );
    vec![
        say!(s.r, "lot-item-tray", tray = t.tray.to_string()),
        kg(t.weights_kg.map(|w| w.0.1)),
        kg(t.weights_kg.map(|w| w.1.1)),
        moisture,
        percent(s.file.end_point.map(|c| c.at_most_percent_wet_basis)),
        s.answer_word(t.answer),
    ]
}

fn standard_row(s: &Sheet<'_>, f: &StandardFinding) -> Vec<String> {
    let name =
        format!("{}: {}", guidance::standard_name(&f.limit.product, &f.limit.form_or_type), f.limit.standard);
    vec![
        say!(s.r, "lot-item-standard", name = name),
        String::new(),
        String::new(),
        percent(f.highest_percent),
        percent(f.limit.most_wet_basis_percent),
        s.answer_word(f.answer),
    ]
}

/// Where the criterion is not met: the routes there are; what published trials are like this product.
pub(super) fn other_ways(s: &Sheet<'_>) -> Vec<Block> {
    let mut out = Vec::new();
    if s.j.case.facts.species.is_some() && s.j.criterion() != Answer::Met {
        out.push(guidance::routes(s.r));
    }
    if !s.file.trials_like.form.is_empty() {
        out.push(Block::Heading { level: 2, text: s.r.text("guide-studies") });
        out.push(Block::Text(s.r.text("guide-studies-line")));
        out.push(Block::List(guidance::nearest_trials(s.r, &trials_like(s), 5)));
    }
    if s.file.no_criterion.is_some() {
        out.extend(guidance::produce(s.r).unwrap_or_default());
    }
    out
}

/// The product as stated, with the wet bulb of the advice where the record shows it.
fn trials_like(s: &Sheet<'_>) -> fallrate_lethality::StudyQuery {
    use fallrate_lethality::{ADVICE_WET_BULB_F, WetBulbSign, celsius_from_fahrenheit};
    let mut query = s.file.trials_like.clone();
    if let WetBulbSign::Seen { minutes } = s.judgement().wet_bulb_sign {
        query.wet_bulb_c = Some(celsius_from_fahrenheit(ADVICE_WET_BULB_F));
        query.wet_bulb_minutes = Some(minutes);
    }
    query
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
