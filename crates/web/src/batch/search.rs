//! Batches by lot, product, day and verdict, a page at a time.

use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use fallrate_app::batches::{AnswerSought, BatchQuery, BatchRow};
use fallrate_app::proof::{Answer, CalendarDate, LocalClock};
use maud::{Markup, html};
use serde::Deserialize;

use crate::keep::fault;
use crate::look::Visit;
use crate::plan::encode;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// Batches on a page.
const ROWS: u64 = 50;

/// What is looked for, as typed.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Search {
    pub words: String,
    pub from: String,
    pub to: String,
    pub verdict: String,
    pub release: String,
    pub page: u64,
}

/// The verdicts to look for: word, key.
const VERDICTS: [(&str, &str); 4] = [
    ("met", "answer-met"),
    ("not_met", "answer-not-met"),
    ("cannot_be_judged", "answer-cannot"),
    ("none", "desk-not-judged"),
];

/// The query of a search; a day that cannot be read is told by its field.
pub(crate) fn sought(s: &Search) -> Result<BatchQuery, &'static str> {
    let day = |text: &str, field| match text.trim() {
        "" => Ok(None),
        t => CalendarDate::parse(t).map(Some).map_err(|_| field),
    };
    Ok(BatchQuery {
        words: s.words.chars().take(80).collect(),
        from: day(&s.from, "from")?,
        to: day(&s.to, "to")?,
        answer: match s.verdict.as_str() {
            "met" => Some(AnswerSought::Is(Answer::Met)),
            "not_met" => Some(AnswerSought::Is(Answer::NotMet)),
            "cannot_be_judged" => Some(AnswerSought::Is(Answer::CannotBeJudged)),
            "none" => Some(AnswerSought::NotJudged),
            "" => None,
            _ => return Err("verdict"),
        },
        open: match s.release.as_str() {
            "open" => Some(true),
            "released" => Some(false),
            "" => None,
            _ => return Err("release"),
        },
        ..BatchQuery::default()
    })
}

pub(super) async fn page(v: Visit, State(site): State<Site>, Query(s): Query<Search>) -> Response {
    let (query, wrong) = match sought(&s) {
        Ok(query) => (query, None),
        Err(field) => (BatchQuery::default(), Some(field)),
    };
    // One more than is shown tells whether there is a next page.
    let query = BatchQuery { limit: ROWS + 1, skip: s.page.saturating_mul(ROWS), ..query };
    let rows = match site.desk().read(move |r| Ok(r.batches(&query)?)).await {
        Ok(rows) => rows,
        Err(e) => return fault(&v, &e),
    };
    let zone = site.desk().plant().await.ok().flatten().map_or_else(|| "UTC".to_owned(), |p| p.zone);
    let clock = LocalClock::named(&zone);
    let more = rows.len() as u64 > ROWS;
    let shown = rows.get(..rows.len().min(50)).unwrap_or_default();
    let body = html! {
        h1 { (v.text("web-batches-title")) }
        (form(&v, &s, wrong))
        p.subline { (v.reader.words.counted("web-batches-count", shown.len())) }
        ul.lots { @for row in shown { li { (line(&v, row, clock.as_ref())) } } }
        p.onward {
            @if s.page > 0 { a.button href=(address(&s, s.page - 1)) { (v.text("desk-newer")) } }
            @if more { a.button href=(address(&s, s.page + 1)) { (v.text("desk-older")) } }
        }
        p.onward {
            a.button href="/proof/new" { (v.text("desk-new")) }
            a.button href="/export.zip" { (v.text("desk-everything")) }
            a.button href="/instruments" { (v.text("inst-title")) }
        }
    };
    Shell { title: v.text("web-batches-title"), tab: Tab::Batches }.around(&v, &body).into_response()
}

fn address(s: &Search, page: u64) -> String {
    format!(
        "/batches?words={}&from={}&to={}&verdict={}&release={}&page={page}",
        encode(&s.words),
        encode(&s.from),
        encode(&s.to),
        encode(&s.verdict),
        encode(&s.release)
    )
}

fn form(v: &Visit, s: &Search, wrong: Option<&str>) -> Markup {
    let day = |name: &str, label: &str, value: &str| {
        let bad = wrong == Some(name);
        html! {
            div.field {
                label for={ "f-" (name) } { (v.text(label)) }
                input id={ "f-" (name) } name=(name) type="text" value=(value) autocomplete="off" maxlength="10"
                    placeholder="2026-03-13" aria-invalid=[bad.then_some("true")];
                @if bad { p.note data-kind="fault" { (v.text("desk-day-more")) } }
            }
        }
    };
    let filtered = [&s.from, &s.to, &s.verdict, &s.release].iter().any(|t| !t.is_empty());
    html! {
        form.search method="get" action="/batches" role="search" {
            label for="f-words" { (v.text("web-batches-words")) }
            div.typed {
                input #f-words name="words" type="text" value=(s.words) autocomplete="off" maxlength="80";
                button { (v.text("web-batches-find")) }
            }
            details open[filtered] {
                summary { (v.text("desk-narrow")) }
                div.grid {
                    (day("from", "desk-from-day", &s.from))
                    (day("to", "desk-to-day", &s.to))
                    div.field {
                        label for="f-verdict" { (v.text("desk-verdict-word")) }
                        select #f-verdict name="verdict" {
                            option value="" { (v.text("desk-any")) }
                            @for (word, key) in VERDICTS { option value=(word) selected[s.verdict == *word] { (v.text(key)) } }
                        }
                    }
                    div.field {
                        label for="f-release" { (v.text("desk-release-word")) }
                        select #f-release name="release" {
                            option value="" { (v.text("desk-any")) }
                            option value="open" selected[s.release == "open"] { (v.text("desk-open-lots")) }
                            option value="released" selected[s.release == "released"] { (v.text("sign-released")) }
                        }
                    }
                }
            }
        }
    }
}

/// A lot: product and lot, where it stands, and the ways to its record.
fn line(v: &Visit, row: &BatchRow, clock: Option<&LocalClock>) -> Markup {
    html! {
        a href={ "/proof/" (row.id) } {
            b { (row.product) ", " (row.lot) }
            span { (row.cabinet) ", " (clock.map_or_else(String::new, |c| c.day_and_minute(row.opened_at))) }
            span.state { (state(v, row)) }
        }
    }
}

/// Verdict and release in words.
fn state(v: &Visit, row: &BatchRow) -> String {
    let mut parts = vec![match row.answer {
        None => v.text("desk-not-judged"),
        Some(a) => {
            let key = VERDICTS.iter().find(|(w, _)| Some(*w) == word(a)).map_or("answer-cannot", |(_, k)| k);
            v.text(key)
        }
    }];
    if row.verdict_outdated {
        parts.push(v.text("desk-outdated"));
    }
    if row.waiting {
        parts.push(v.text("desk-waiting"));
    }
    if row.open_deviations > 0 {
        parts.push(v.text("desk-action-open"));
    }
    parts.push(v.text(if row.is_released() { "sign-released" } else { "desk-open-lots" }));
    parts.join(" · ")
}

const fn word(a: Answer) -> Option<&'static str> {
    Some(match a {
        Answer::Met => "met",
        Answer::NotMet => "not_met",
        Answer::CannotBeJudged => "cannot_be_judged",
    })
}
