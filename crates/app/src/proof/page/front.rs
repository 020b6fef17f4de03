//! Page one: the answer, the figures against their limits, what went wrong, who signed.

use fallrate_lethality::{
    Answer, Item, LotStanding, OptionResult, Part, PartUnit, PlanLimitResult, PositionResult,
};
use fallrate_report::{Block, Comparison, Fact, Level, Measure, SignLine};

use super::super::judged::JudgedBy;
use super::super::words;
use super::{Sheet, grouped};
use crate::words::{fixed, say};

pub(super) fn page_one(s: &Sheet<'_>) -> Vec<Block> {
    let mut out = vec![answer(s)];
    out.extend(to_supply(s));
    out.extend(facts(s));
    out.push(Block::Compare(comparison(s)));
    out.extend(deviations(s));
    out.extend(signatures(s));
    out
}

fn answer(s: &Sheet<'_>) -> Block {
    let a = s.j.criterion();
    let headline = match a {
        Answer::Met => say!(s.r, "proof-headline-met", detail = met_by(s)),
        Answer::NotMet => say!(s.r, "proof-headline-not-met", detail = worst_part(s)),
        Answer::CannotBeJudged if s.j.waiting() => {
            say!(s.r, "proof-headline-waiting", detail = worst_part(s))
        }
        Answer::CannotBeJudged => say!(s.r, "proof-headline-cannot", detail = worst_part(s)),
    };
    let headline = if s.file.identity.invented {
        say!(s.r, "proof-headline-practice", headline = headline)
    } else {
        headline
    };
    Block::Answer { sign: words::sign(a), headline, subline: claim_line(s) }
}

/// "Cooking guideline 2021, option 2, sealed oven, 6.5 log10 Salmonella, beef".
fn claim_line(s: &Sheet<'_>) -> String {
    let claim = &s.j.case.claim;
    let mut parts = vec![words::document(s.r, claim.document)];
    parts.extend(claim.options.iter().map(|o| words::option(s.r, *o)));
    parts.push(say!(s.r, "proof-target", log = crate::words::trimmed(claim.target.log10(), 1)));
    parts.push(words::species(s.r, s.j.case.facts.species));
    let line = parts.join(", ");
    // A lot that nothing holds needs no word here, and page one its room for signatures.
    if s.lot.standing == LotStanding::Clear { line } else { format!("{line}. {}", super::lot::standing(s)) }
}

pub(super) fn coldest<'a>(s: &'a Sheet<'_>) -> Option<&'a PositionResult> {
    let j = s.judgement();
    j.coldest.and_then(|i| j.positions.get(i)).or_else(|| j.positions.first())
}

/// The option that decides at a position: the first that comes out as the position does.
pub(super) fn deciding(p: &PositionResult) -> Option<&OptionResult> {
    p.options.iter().find(|o| o.answer == p.answer).or_else(|| p.options.first())
}

/// What the criterion was met by.
fn met_by(s: &Sheet<'_>) -> String {
    let Some(a) = &s.j.authority else {
        return if s.j.schedule.is_some() { s.r.text("proof-detail-schedule") } else { coldest_dwell(s) };
    };
    let log = |x: f64| say!(s.r, "proof-log", log = fixed((x * 100.0).floor() / 100.0, 2));
    let least = a.positions.iter().map(|p| p.credited_log10).fold(f64::INFINITY, f64::min);
    say!(s.r, "proof-detail-log", shown = log(least), need = log(a.criterion.target.log10()))
}

fn coldest_dwell(s: &Sheet<'_>) -> String {
    let row = coldest(s).and_then(deciding).and_then(|o| o.row.as_ref());
    row.map_or_else(String::new, |r| {
        say!(
            s.r,
            "proof-detail-dwell",
            row = s.row(r.row_f),
            shown = s.seconds(r.shown_s),
            need = s.seconds(r.need_s)
        )
    })
}

/// The first part that stands in the way, in words.
fn worst_part(s: &Sheet<'_>) -> String {
    if s.j.by() != JudgedBy::Guidance {
        return s.j.missing().first().map_or_else(String::new, |m| words::missing(s.r, m));
    }
    let j = s.judgement();
    let positions = j.positions.iter().filter(|p| p.answer == j.answer);
    let part = positions
        .filter_map(deciding)
        .flat_map(|o| o.parts.iter())
        .chain(j.gate.iter())
        .find(|p| p.answer == j.answer);
    part.map_or_else(String::new, |p| part_words(s, p))
}

/// "humid time 42 min, 63 min asked".
pub(super) fn part_words(s: &Sheet<'_>, p: &Part) -> String {
    let name = words::item(s.r, p.item);
    match (part_figure(s, p, p.shown), part_figure(s, p, p.required)) {
        (Some(shown), Some(required)) if p.item == Item::ComeUp => {
            say!(s.r, "proof-part-at-most", item = name, shown = shown, required = required)
        }
        (Some(shown), Some(required)) => {
            say!(s.r, "proof-part-at-least", item = name, shown = shown, required = required)
        }
        _ => match p.missing.first() {
            Some(m) => words::missing(s.r, m),
            None => say!(s.r, "proof-part-plain", item = name),
        },
    }
}

pub(super) fn part_figure(s: &Sheet<'_>, p: &Part, value: Option<f64>) -> Option<String> {
    let v = value?;
    match p.unit {
        PartUnit::Minutes => Some(s.minutes(v)),
        PartUnit::Seconds => Some(s.seconds(v)),
        PartUnit::WaterActivity => Some(fixed(v, 2)),
        PartUnit::None => None,
    }
}

fn to_supply(s: &Sheet<'_>) -> Vec<Block> {
    if s.j.criterion() == Answer::Met {
        return Vec::new();
    }
    let mut texts: Vec<String> = s.j.missing().iter().map(|m| words::missing(s.r, m)).collect();
    texts.dedup();
    if texts.is_empty() {
        return Vec::new();
    }
    vec![s.notice(Level::Act, s.r.text("proof-supply")), Block::List(texts)]
}

/// Short facts side by side, long ones below.
fn facts(s: &Sheet<'_>) -> Vec<Block> {
    let id = &s.file.identity;
    let fact = |key: &str, value: String| Fact { label: s.r.text(key), value: or_dash(&value), note: None };
    let quantity = id.quantity.map_or_else(String::new, |m| s.r.mass(m.kilograms(), 1));
    let claimed = s.j.case.claim.claimed_at.map_or_else(String::new, |at| s.file.clock.day_and_minute(at));
    let short = vec![
        fact("proof-lot-word", id.lot.clone()),
        fact("proof-date", s.file.date.to_string()),
        fact("proof-raw-lots", id.raw_lots.join(", ")),
        fact("proof-quantity", quantity),
        fact("proof-cabinet", id.cabinet.clone()),
        fact("proof-claimed-at", claimed),
    ];
    let cold = s.j.case.facts.cold_spot_evidence.clone().unwrap_or_default();
    let long = vec![
        fact("proof-establishment", join(&[&id.establishment, &id.number, &id.place])),
        fact("proof-plan", join(&[&id.plan, &id.plan_version, &id.control_point])),
        fact("proof-cold-spot", cold),
    ];
    vec![Block::Facts(short), Block::Facts(long)]
}

fn or_dash(text: &str) -> String {
    if text.trim().is_empty() { "–".to_owned() } else { text.to_owned() }
}

fn join(parts: &[&str]) -> String {
    parts.iter().filter(|p| !p.trim().is_empty()).copied().collect::<Vec<_>>().join(", ")
}

fn comparison(s: &Sheet<'_>) -> Comparison {
    let mut rows = limits(s);
    rows.extend(super::lot::growth_limits(s));
    if let Some(p) = coldest(s) {
        rows.extend(position(s, p));
    }
    rows.extend(s.j.authority.as_ref().map(|a| authority(s, a)));
    rows.extend(s.j.schedule.iter().flat_map(|v| v.stages.iter().map(|t| stage(s, t))));
    rows.extend(after_kill(s));
    rows.extend(water_activity(s));
    Comparison {
        title: s.r.text("proof-compare"),
        label_word: s.r.text("proof-requirement"),
        shown_word: s.r.text("proof-shown"),
        required_word: s.r.text("proof-required"),
        answer_word: s.r.text("proof-answer"),
        rows,
    }
}

/// Limits of the plan, those of one name in one row: the worst probe's figures.
fn limits(s: &Sheet<'_>) -> Vec<Measure> {
    let mut names: Vec<&str> = Vec::new();
    for l in &s.j.limits {
        if !names.contains(&l.limit.name.as_str()) {
            names.push(&l.limit.name);
        }
    }
    names.into_iter().filter_map(|name| limit(s, name)).collect()
}

fn limit(s: &Sheet<'_>, name: &str) -> Option<Measure> {
    let group: Vec<&PlanLimitResult> = s.j.limits.iter().filter(|l| l.limit.name == name).collect();
    let worse = |a: &PlanLimitResult, b: &PlanLimitResult| (b.answer, b.shown_min) < (a.answer, a.shown_min);
    let worst = group.iter().copied().reduce(|a, b| if worse(a, b) { b } else { a })?;
    let mut notes = Vec::new();
    if group.len() > 1 {
        notes.push(say!(
            s.r,
            "proof-note-worst",
            count = group.len().to_string(),
            which = words::role(s.r, &worst.limit.role)
        ));
    } else {
        notes.push(words::role(s.r, &worst.limit.role));
    }
    notes.extend(unknown_note(s, worst.unknown_min, s.minutes(worst.unknown_min)));
    Some(Measure {
        label: say!(s.r, "proof-plan-limit", name = name.to_owned()),
        shown: s.minutes(worst.shown_min),
        required: say!(s.r, "proof-at-least", value = s.minutes(worst.required_min)),
        answer: words::sign(worst.answer),
        word: words::kept(s.r, worst.answer),
        note: Some(notes.join("; ")),
    })
}

fn unknown_note(s: &Sheet<'_>, amount: f64, shown: String) -> Option<String> {
    (amount > 0.0).then(|| say!(s.r, "proof-note-unknown", unknown = shown))
}

/// Dwell, total cook, humid time and come-up of the coldest position.
fn position(s: &Sheet<'_>, p: &PositionResult) -> Vec<Measure> {
    let Some(o) = deciding(p) else { return Vec::new() };
    let mut rows = Vec::new();
    for part in &o.parts {
        let label = match part.item {
            Item::Row => match &o.row {
                Some(r) => {
                    say!(s.r, "proof-coldest-row", position = p.position.clone(), row = s.row(r.row_f))
                }
                None => continue,
            },
            Item::TotalCook | Item::HumidTime | Item::ComeUp => words::item(s.r, part.item),
            _ => continue,
        };
        let at_most = part.item == Item::ComeUp;
        let (Some(shown), Some(required)) =
            (part_figure(s, part, part.shown), part_figure(s, part, part.required))
        else {
            continue;
        };
        let unknown = part_figure(s, part, part.unknown).unwrap_or_default();
        let notes: Vec<String> = note(s, p, o, part)
            .into_iter()
            .chain(part.unknown.and_then(|u| unknown_note(s, u, unknown)))
            .collect();
        rows.push(Measure {
            label,
            shown,
            required: say!(s.r, if at_most { "proof-at-most" } else { "proof-at-least" }, value = required),
            answer: words::sign(part.answer),
            word: s.answer_word(part.answer),
            note: (!notes.is_empty()).then(|| notes.join("; ")),
        });
    }
    rows.extend(super::readings::rows(s, o));
    rows
}

fn note(s: &Sheet<'_>, p: &PositionResult, o: &OptionResult, part: &Part) -> Option<String> {
    match part.item {
        Item::Row => {
            let row = o.row.as_ref()?;
            let tolerance = p.tolerance_k.map_or_else(|| "–".to_owned(), |t| s.difference(t));
            let margin = p.temperature_margin_k?;
            let key = if margin < 0.0 { "proof-note-row-short" } else { "proof-note-row" };
            let margin = s.difference(margin.abs());
            let text = say!(
                s.r,
                key,
                tolerance = tolerance,
                longest = s.seconds(row.longest_run_s),
                margin = margin
            );
            Some(if p.within_tolerance { say!(s.r, "proof-note-within", text = text) } else { text })
        }
        Item::TotalCook => {
            let (t0, end) = (s.j.case.facts.product_met_heat?, o.end?);
            Some(say!(s.r, "proof-note-cook", from = s.clock(t0), to = s.clock(end)))
        }
        Item::HumidTime => Some(words::option(s.r, o.option)),
        _ => None,
    }
}

fn authority(s: &Sheet<'_>, a: &fallrate_lethality::AuthorityVerdict) -> Measure {
    let log = |x: f64| say!(s.r, "proof-log", log = fixed((x * 100.0).floor() / 100.0, 2));
    let least = a.positions.iter().map(|p| p.credited_log10).reduce(f64::min);
    Measure {
        label: say!(
            s.r,
            "proof-authority",
            author = a.criterion.author.clone(),
            document = a.criterion.document.clone()
        ),
        shown: least.map_or_else(|| "–".to_owned(), log),
        required: say!(s.r, "proof-at-least", value = log(a.criterion.target.log10())),
        answer: words::sign(a.answer),
        word: s.answer_word(a.answer),
        note: Some(s.r.text("proof-note-authority")),
    }
}

fn stage(s: &Sheet<'_>, t: &fallrate_lethality::StageResult) -> Measure {
    Measure {
        label: say!(s.r, "proof-stage", name = t.name.clone()),
        shown: s.minutes(t.shown_min),
        required: say!(s.r, "proof-at-least", value = s.minutes(t.required_min)),
        answer: words::sign(t.answer),
        word: s.answer_word(t.answer),
        note: None,
    }
}

fn after_kill(s: &Sheet<'_>) -> Option<Measure> {
    let a = s.judgement().after_kill.as_ref()?;
    let answer = a.answer.unwrap_or(Answer::CannotBeJudged);
    Some(Measure {
        label: s.r.text("proof-after-kill"),
        shown: s.minutes(a.at_most_min.ceil()),
        required: match a.limit_min {
            Some(most) => say!(s.r, "proof-at-most", value = s.minutes(most)),
            None if a.plan_limit.is_some() => s.r.text("proof-plan-limit-word"),
            None => s.r.text("proof-no-plan-limit"),
        },
        answer: words::sign(answer),
        word: if a.answer.is_none() { s.r.text("proof-judged-apart") } else { s.answer_word(answer) },
        note: a.plan_limit.clone(),
    })
}

fn water_activity(s: &Sheet<'_>) -> Option<Measure> {
    let w = s.j.water_activity.as_ref()?;
    Some(Measure {
        label: s.r.text(if w.no_oxygen { "proof-aw-vacuum" } else { "proof-aw-air" }),
        shown: w.highest.map_or_else(|| "–".to_owned(), |h| fixed(h, 3)),
        required: say!(s.r, "proof-at-most", value = fixed(w.limit, 2)),
        answer: words::sign(w.answer),
        word: s.answer_word(w.answer),
        note: Some(match w.chance_of_missing {
            Some(p) => say!(s.r, "proof-note-aw", count = w.samples, chance = s.r.percent(p)),
            None => s.r.text("proof-note-aw-none"),
        }),
    })
}

fn deviations(s: &Sheet<'_>) -> Vec<Block> {
    let mut out = Vec::new();
    let mut list: Vec<String> = Vec::new();
    for i in &s.j.interruptions {
        list.push(super::evidence::interruption_line(s, i));
    }
    if !s.lot.missed_limits().is_empty() {
        out.push(s.notice(Level::Act, s.r.text("proof-limit-notice")));
    }
    for l in s.j.limits.iter().filter(|l| l.answer != Answer::Met) {
        list.push(say!(
            s.r,
            "proof-limit-missed",
            name = l.limit.name.clone(),
            word = words::kept(s.r, l.answer)
        ));
    }
    for g in s.j.growth.iter().filter(|g| g.answer != Answer::Met) {
        list.push(say!(
            s.r,
            "proof-limit-missed",
            name = g.limit.name.clone(),
            word = words::kept(s.r, g.answer)
        ));
    }
    list.extend(super::history::actions_short(s));
    if list.is_empty() {
        out.push(Block::Text(s.r.text("proof-no-deviation")));
    } else {
        out.insert(0, Block::Heading { level: 2, text: s.r.text("proof-deviations") });
        out.push(Block::List(list));
    }
    out
}

fn signatures(s: &Sheet<'_>) -> Vec<Block> {
    let mut out = Vec::new();
    let lines = super::history::sign_lines(s);
    let blank = |key: &str| SignLine { meaning: s.r.text(key), ..SignLine::default() };
    out.push(Block::Keep(vec![Block::Lines(if lines.is_empty() {
        vec![blank("sign-monitored"), blank("sign-verified"), blank("sign-reviewed")]
    } else {
        lines
    })]));
    if let Some(v) = s.record {
        if v.signatures.iter().any(|x| !x.nothing_after()) {
            out.push(s.notice(Level::Act, s.r.text("proof-changed-after-signing")));
        }
        out.push(Block::Small(say!(s.r, "proof-chain-head", head = grouped(&v.head.to_string()))));
    }
    out
}
