//! A record for a batch that was not started from a plan here: the least that opens it, or a batch file.

use axum::Form;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::Asked;
use fallrate_app::batches::Records;
use fallrate_app::proof::desk::{Opening, open_from_text, open_plain};
use fallrate_app::quantities::{Mass, Quantity};
use maud::{Markup, html};

use super::page_forms::field;
use super::sent::{Sent, hidden, ready, refusal};
use crate::fault::said;
use crate::look::Visit;
use crate::shell::{Shell, Tab};
use crate::state::Site;

pub(super) async fn page(v: Visit, State(site): State<Site>) -> Response {
    let sent = Sent::default();
    match ready(&v, &site, &sent).await {
        Ok(_) => shown(&v, &sent, &[]).into_response(),
        Err(answer) => answer,
    }
}

fn shown(v: &Visit, s: &Sent, faults: &[String]) -> Markup {
    let body = html! {
        p.back { a href="/batches" { (v.text("web-batches-title")) } }
        h1 { (v.text("desk-new")) }
        p.subline { (v.text("desk-new-more")) }
        @if !faults.is_empty() { ul.faults { @for f in faults { li role="alert" { (f) } } } }
        form.sheet method="post" action="/proof/new" {
            (hidden(v))
            (field(v, "product", "desk-new-product", None, s.get("product")))
            (field(v, "lot", "web-batch-lot-code", None, s.get("lot")))
            (field(v, "raw_lots", "desk-f-raw-lots", Some("desk-list-more"), s.get("raw_lots")))
            (field(v, "quantity", "proof-quantity", Some("desk-new-quantity-more"), s.get("quantity")))
            (field(v, "cabinet", "proof-cabinet", None, s.get("cabinet")))
            button.go { (v.text("desk-new-go")) }
        }
        details open[!s.get("toml").is_empty()] {
            summary { (v.text("desk-new-file")) }
            form method="post" action="/proof/new" {
                (hidden(v))
                p { (v.text("desk-new-file-more")) }
                label.heard for="f-toml" { (v.text("desk-new-file")) }
                textarea #f-toml.code name="toml" rows="16" spellcheck="false" { (s.get("toml")) }
                button { (v.text("desk-new-go")) }
            }
        }
    };
    Shell { title: v.text("desk-new"), tab: Tab::Batches }.around(v, &body)
}

pub(super) async fn open(
    v: Visit,
    State(site): State<Site>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Response {
    let sent = Sent(sent);
    let (plant, stamp) = match ready(&v, &site, &sent).await {
        Ok(ready) => ready,
        Err(answer) => return answer,
    };
    let wrong = |faults: &[String]| {
        said((StatusCode::UNPROCESSABLE_ENTITY, shown(&v, &sent, faults)).into_response())
    };
    let opened = match sent.filled("toml") {
        Some(text) => {
            let text = text.replace("\r\n", "\n") + "\n";
            let work = move |r: &mut dyn Records| open_from_text(r, &stamp, "batch.toml", text.as_bytes());
            site.desk().write_app(work).await
        }
        None => {
            let quantity = match Asked::Mass.read(sent.get("quantity"), v.units) {
                Ok(typed) => typed.and_then(|t| Mass::parse(&t.value).ok()).map_or(0.0, Mass::base),
                Err(fault) => return wrong(&[fault.words(&v.reader)]),
            };
            let opening = Opening {
                plant,
                product: sent.get("product").to_owned(),
                lot: sent.get("lot").to_owned(),
                raw_lots: sent.get("raw_lots").to_owned(),
                quantity_kg: quantity,
                cabinet: sent.get("cabinet").to_owned(),
            };
            site.desk().write_app(move |r| open_plain(r, &stamp, &opening)).await
        }
    };
    match opened {
        Ok(opened) => Redirect::to(&format!("/proof/{}", opened.id)).into_response(),
        Err(e) => wrong(&refusal(&v, &e)),
    }
}
