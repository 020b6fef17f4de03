//! The plan: a form that grows as needed, its result, two plans side by side, the card.

mod entries;
mod fields;
mod form;
mod result;
mod text;

use std::collections::BTreeSet;

use axum::Router;
use axum::extract::{Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use fallrate_app::parts::{FontSource, HtmlOptions, document_html};
use fallrate_app::{document_pdf, plan_card};
use maud::{Markup, html};
use sha2::{Digest, Sha256};

pub(crate) use entries::Entries;
pub(crate) use entries::encode;
pub(crate) use text::write;

use crate::assets::address;
use crate::fault::said;
use crate::look::Visit;
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// Draws behind the band, as the command line takes by default.
pub(crate) const DRAWS: usize = 128;

type Pairs = Query<Vec<(String, String)>>;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/plan", get(page))
        .route("/plan/result", get(fragment))
        .route("/plan/card", get(card))
        .route("/plan/card.pdf", get(card_pdf))
        .route("/plan/file", get(file))
}

/// What a request for a plan carries.
pub(crate) struct Asked {
    pub entries: Entries,
    /// The plan this one is put beside.
    pub beside: Option<Entries>,
    /// The result is asked for, not only the form.
    pub go: bool,
    /// With the draws behind the band.
    pub band: bool,
}

impl Asked {
    fn new(pairs: Vec<(String, String)>, visit: &Visit) -> Self {
        let has = |key: &str| pairs.iter().any(|(k, v)| k == key && !v.is_empty());
        let value = |key: &str| pairs.iter().find(|(k, _)| k == key).map(|(_, v)| v.clone());
        let (go, band) = (has("go"), has("band"));
        let beside = value("beside").filter(|b| !b.is_empty()).map(|b| {
            let pairs = pairs_of(&b);
            Entries::new(pairs, visit.units)
        });
        let (add, by_hand, propose) = (has("add_stage"), has("by_hand"), has("propose"));
        let mut entries = Entries::new(pairs, visit.units).seen_in(visit.units);
        if propose {
            entries.set("stages", "");
        } else if by_hand || add {
            let more = (entries.stages() + 1).min(fields::MOST_STAGES);
            entries.set("stages", &more.to_string());
            form::fill_stage(&mut entries, more, visit);
        }
        Self { entries, beside, go, band }
    }
}

/// The pairs of a query that came inside another.
pub(crate) fn pairs_of(query: &str) -> Vec<(String, String)> {
    let uri = format!("/?{query}").parse::<axum::http::Uri>();
    uri.ok()
        .and_then(|u| Query::<Vec<(String, String)>>::try_from_uri(&u).ok())
        .map(|q| q.0)
        .unwrap_or_default()
}

/// The form; with its result where that was asked for or is at hand.
async fn page(visit: Visit, State(site): State<Site>, Query(pairs): Pairs) -> Response {
    let fresh = pairs.is_empty();
    let asked = Asked::new(pairs, &visit);
    let written = write(&asked.entries, site.library(), &visit.reader);
    let at_hand = asked.beside.is_none() && site.planner().known(&written.text, 0).is_some();
    let (status, result) = if asked.go || at_hand {
        result::show(&visit, &site, &asked, &written).await
    } else {
        (StatusCode::OK, result::waiting(&visit))
    };
    let body = html! {
        div.planner {
            (form::form(&visit, site.library(), &asked, &written, fresh))
            div.result #result aria-busy="false" { (result) }
            p.heard #status role="status" {}
            p.lost #lost role="alert" hidden { (visit.text("web-lost")) }
        }
    };
    let page = Shell { title: visit.text("web-plan-title"), tab: Tab::Plan }.around(&visit, &body);
    if status.is_success() { page.into_response() } else { said((status, page).into_response()) }
}

/// The result alone, for the script of the page.
async fn fragment(visit: Visit, State(site): State<Site>, Query(pairs): Pairs) -> Response {
    let asked = Asked::new(pairs, &visit);
    let written = write(&asked.entries, site.library(), &visit.reader);
    let (_, result) = result::show(&visit, &site, &asked, &written).await;
    let body: Markup = html! { (result) (form::notes(&written)) };
    body.into_response()
}

/// The card to print: a document of its own, allowed the one style sheet it carries.
async fn card(visit: Visit, State(site): State<Site>, Query(pairs): Pairs) -> Response {
    let asked = Asked::new(pairs, &visit);
    let written = write(&asked.entries, site.library(), &visit.reader);
    let planned = match site.planner().plan(&written.text, DRAWS).await {
        Ok(planned) if !written.has_faults() => planned,
        _ => return page(visit, State(site), Query(with_go(&asked.entries))).await,
    };
    let font = FontSource::Address { regular: address("regular.ttf"), bold: address("bold.ttf") };
    let options = HtmlOptions { font, day_only: true };
    let html = document_html(&plan_card(&planned, site.library(), &visit.reader, &today()), &options);
    document_response(html)
}

/// The card as one sheet of PDF; where this build makes none, or the sheet is too small, the page takes its place.
async fn card_pdf(visit: Visit, State(site): State<Site>, Query(pairs): Pairs) -> Response {
    let asked = Asked::new(pairs, &visit);
    let written = write(&asked.entries, site.library(), &visit.reader);
    let planned = match site.planner().plan(&written.text, DRAWS).await {
        Ok(planned) if !written.has_faults() => planned,
        _ => return page(visit, State(site), Query(with_go(&asked.entries))).await,
    };
    let document = plan_card(&planned, site.library(), &visit.reader, &today());
    match site.planner().run(move |_| document_pdf(&document)).await {
        Ok(bytes) => {
            let name = HeaderValue::from_static("inline; filename=\"card.pdf\"");
            (
                [(CONTENT_TYPE, HeaderValue::from_static("application/pdf")), (CONTENT_DISPOSITION, name)],
                bytes,
            )
                .into_response()
        }
        Err(_) => Redirect::to(&format!("/plan/card?{}", asked.entries.query())).into_response(),
    }
}

/// The day, for documents made now.
fn today() -> String {
    crate::keep::now().utc_date().to_string()
}

fn with_go(entries: &Entries) -> Vec<(String, String)> {
    let mut pairs = pairs_of(&entries.query());
    pairs.push(("go".to_owned(), "1".to_owned()));
    pairs
}

/// A document with its own style sheet and style attributes, which the policy names by their hashes.
pub(crate) fn document_response(html: String) -> Response {
    let named = |text: &str| format!("'sha256-{}'", base64(&Sha256::digest(text.as_bytes())));
    let sheet =
        html.split_once("<style>").and_then(|(_, rest)| rest.split_once("</style>")).map_or("", |s| s.0);
    let attributes: BTreeSet<String> = html
        .split(" style=\"")
        .skip(1)
        .filter_map(|rest| rest.split_once('"'))
        .map(|(a, _)| named(a))
        .collect();
    let attributes: String = attributes.iter().map(|a| format!(" {a}")).collect();
    let policy = format!(
        "default-src 'none'; style-src {} 'unsafe-hashes'{attributes}; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
        named(sheet)
    );
    let mut response = ([(CONTENT_TYPE, "text/html; charset=utf-8")], html).into_response();
    if let Ok(policy) = HeaderValue::from_str(&policy) {
        response.headers_mut().insert(CONTENT_SECURITY_POLICY, policy);
    }
    response
}

fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::new();
    for chunk in bytes.chunks(3) {
        let at = |i: usize| u32::from(chunk.get(i).copied().unwrap_or(0));
        let word = at(0) << 16 | at(1) << 8 | at(2);
        for i in 0..4 {
            let digit = DIGITS.get((word >> (18 - 6 * i) & 63) as usize).copied().unwrap_or(b'=');
            out.push(if i > chunk.len() { '=' } else { char::from(digit) });
        }
    }
    out
}

/// The plan file, to keep or to hand to the command line.
async fn file(visit: Visit, State(site): State<Site>, Query(pairs): Pairs) -> Response {
    let asked = Asked::new(pairs, &visit);
    let written = write(&asked.entries, site.library(), &visit.reader);
    let name = format!("attachment; filename=\"{}.toml\"", asked.entries.get("product").replace('"', ""));
    let headers = [(CONTENT_TYPE, "application/toml; charset=utf-8".to_owned()), (CONTENT_DISPOSITION, name)];
    (headers, written.text).into_response()
}

#[cfg(test)]
mod tests {
    /// RFC 4648, section 10 (from memory).
    #[test]
    fn table_base64_of_rfc_4648() {
        assert_eq!(
            ["f", "fo", "foo", "foobar"].map(|s| super::base64(s.as_bytes())),
            ["Zg==", "Zm8=", "Zm9v", "Zm9vYmFy"]
        );
    }
}
