//! The parts of an option that hold at an end instant.

use crate::Answer;
use crate::come_up::{COME_UP_LIMIT_MIN, ComeUp};
use crate::count::Curve;
use crate::facts::Case;
use crate::gate;
use crate::judge::Dwells;
use crate::option::{DocumentReading, HumidityOption};
use crate::position::PositionRecord;
use crate::reason::{Missing, instant_at};
use crate::search::{Bound, Found, Search, Slack};
use crate::track::Window;
use crate::verdict::{Item, Part, PartUnit, ReadingResult};

/// What the parts in time rest on, for one option at one position.
pub(crate) struct Timed<'a> {
    pub w: Window,
    pub case: &'a Case,
    pub record: &'a PositionRecord,
    pub option: &'a HumidityOption,
    pub dwells: &'a Dwells,
    pub come_up: &'a ComeUp,
    /// Humid seconds, and what is missing behind them; `None` where the option asks none.
    pub humid: Option<(&'a Curve, &'a [Missing])>,
    pub slack: Slack,
}

/// How the parts in time came out.
pub(crate) struct TimedResult {
    pub answer: Answer,
    /// The end instant the figures are printed for, s.
    pub end: f64,
    /// The earliest instant at which the kill may have been complete with some shift of the clocks, s.
    pub earliest_s: Option<f64>,
    pub parts: Vec<Part>,
    pub readings: Vec<ReadingResult>,
}

impl Timed<'_> {
    pub fn run(&self) -> TimedResult {
        let search = self.search(None);
        let found = search.run();
        let answer = answer(&found);
        let clocks_decide = answer == Answer::CannotBeJudged && self.definite_as_the_clocks_stand();
        let mut parts = parts(&search, &found, self.humid, clocks_decide);
        if self.slack != Slack::default() {
            parts.push(self.clocks_part(clocks_decide));
        }
        let readings = if self.option.second_share.is_some() {
            DocumentReading::ALL.map(|r| self.reading(r)).to_vec()
        } else {
            Vec::new()
        };
        let earliest_s =
            if self.slack == Slack::default() { found.possible } else { search.earliest_possible() };
        TimedResult { answer, end: found.print_at, earliest_s, parts, readings }
    }

    fn search(&self, reading: Option<DocumentReading>) -> Search<'_> {
        let f = &self.case.facts;
        Search {
            option: self.option,
            reading,
            dwell: &self.dwells.held,
            come_up: self.come_up,
            humid: self.humid.map(|(curve, _)| curve),
            least_cook_min: gate::least_cook_min(f, self.option),
            end: self.record.end,
            dry_began: f.drying_began.map_or(f64::INFINITY, |i| i.seconds_since(self.w.t0)),
            slack: self.slack,
        }
    }

    /// Whether the answer would be definite if every clock were right.
    fn definite_as_the_clocks_stand(&self) -> bool {
        if self.slack == Slack::default() {
            return false;
        }
        let track = &self.record.track;
        let come_up = ComeUp::from_track(track, self.case.facts.earlier_minutes_in_band, 0.0);
        let search = Search {
            dwell: &self.dwells.as_clocks_stand,
            come_up: &come_up,
            end: (self.w.end, self.w.end),
            slack: Slack::default(),
            ..self.search(None)
        };
        answer(&search.run()) != Answer::CannotBeJudged
    }

    fn clocks_part(&self, decide: bool) -> Part {
        let Slack { core_s, humid_s, humid_core_s } = self.slack;
        let widest_min = core_s.max(humid_s).max(humid_core_s) / 60.0;
        let answer = if decide { Answer::CannotBeJudged } else { Answer::Met };
        let part = Part::plain(Item::Clocks, answer, vec!["TOOL-20"]);
        let part = part.figures(widest_min, 0.0, 0.0, PartUnit::Minutes);
        if decide { part.missing(vec![Missing::CloserClocks]) } else { part }
    }

    /// The option by one of two readings of its document.
    fn reading(&self, reading: DocumentReading) -> ReadingResult {
        let search = self.search(Some(reading));
        let found = search.run();
        let t = found.print_at;
        let figures = search.humid_figures(t);
        ReadingResult {
            reading,
            share: search.share_asked(t),
            end: instant_at(self.w.t0, t),
            total_cook_min: t / 60.0,
            shown_min: figures.least_min,
            unknown_min: figures.most_min - figures.least_min,
            required_min: figures.required_min,
            answer: answer(&found),
        }
    }
}

fn answer(found: &Found) -> Answer {
    Answer::from_bounds(found.shown.is_some(), found.possible.is_some())
}

fn parts(
    s: &Search<'_>,
    found: &Found,
    humid: Option<(&Curve, &[Missing])>,
    clocks_decide: bool,
) -> Vec<Part> {
    let (t, o) = (found.print_at, s.option);
    let both = |f: &dyn Fn(Bound) -> bool| Answer::from_bounds(f(Bound::Shown), f(Bound::Possible));
    let finished = |part: Part| explained(part, clocks_decide);
    let mut parts = vec![finished(row(s))];
    if found.shown_anywhere.is_some() && found.shown.is_none() {
        let part = Part::plain(Item::DwellBeforeDrying, Answer::CannotBeJudged, vec!["TOOL-03", "JERKY-J08"]);
        parts.push(if clocks_decide { part.missing(vec![Missing::CloserClocks]) } else { part });
    }
    let (least, most) = s.come_up.at(t);
    let part = Part::plain(Item::ComeUp, both(&|b| s.come_up_holds(t, b)), vec!["RULE-C14", "RULE-C15"])
        .figures(least / 60.0, (most - least) / 60.0, COME_UP_LIMIT_MIN, PartUnit::Minutes);
    parts.push(finished(part));
    if o.cook_at_least_min.is_some() || o.cook_below_min.is_some() {
        let need = o.cook_below_min.unwrap_or(s.least_cook_min);
        let (least, most) = s.cook_s(t);
        let part =
            Part::plain(Item::TotalCook, both(&|b| s.cook_holds(t, b)), vec!["RULE-C13", o.id.requirement()]);
        let part = part.figures(least / 60.0, (most - least) / 60.0, need, PartUnit::Minutes);
        parts.push(finished(part));
    }
    if let Some((_, missing)) = humid {
        let f = s.humid_figures(t);
        let part = Part::plain(
            Item::HumidTime,
            both(&|b| s.humid_holds(t, b)),
            vec![o.id.requirement(), "RULE-C20"],
        )
        .figures(f.least_min, f.most_min - f.least_min, f.required_min, PartUnit::Minutes)
        .missing(missing.to_vec());
        parts.push(finished(part));
    }
    parts
}

fn row(s: &Search<'_>) -> Part {
    let answer = Answer::from_bounds(s.dwell.shown_at.is_some(), s.dwell.possible_at.is_some());
    let figures = s.dwell.row_to_print().map_or((0.0, 0.0, 0.0), |r| (r.shown_s, r.unknown_s, r.need_s));
    Part::plain(Item::Row, answer, tables(s)).figures(figures.0, figures.1, figures.2, PartUnit::Seconds)
}

/// Says why a part cannot be judged where nothing else is missing: the clocks, or minutes of the record.
fn explained(mut part: Part, clocks_decide: bool) -> Part {
    let gaps = part.unknown.is_none_or(|u| u > 0.0);
    if part.answer == Answer::CannotBeJudged && part.missing.is_empty() && gaps {
        part.missing.push(if clocks_decide { Missing::CloserClocks } else { Missing::Minutes });
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
