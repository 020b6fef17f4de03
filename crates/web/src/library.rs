//! Products and cabinets with their figures, sources and marks.

use axum::Router;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use fallrate_app::ports::MemoryFiles;
use fallrate_app::{Page, cabinet_page, product_page};
use maud::{Markup, html};

use crate::look::Visit;
use crate::page_parts::{ending, figures, opening, tables};
use crate::shell::{Shell, Tab};
use crate::state::Site;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/library", get(list))
        .route("/library/products/{key}", get(product))
        .route("/library/cabinets/{key}", get(cabinet))
}

async fn list(v: Visit, State(site): State<Site>) -> Markup {
    let own = crate::own::shelf(&v, &site).await;
    let library = site.library();
    let words = &v.reader.words;
    let mut products: Vec<_> = library.products().iter().collect();
    products.sort_by_key(|p| words.pick(&p.name.en, &p.name.es).to_lowercase());
    let body = html! {
        h1 { (v.text("web-library-title")) }
        p.subline { (words.counted("web-library-more", products.len())) }
        (own)
        section {
            h2 { (v.text("web-library-cabinets")) }
            p { a href="/cabinet-tests" { (v.text("cabtest-link")) } }
            ul.shelf {
                @for c in library.cabinets() {
                    li {
                        a href={ "/library/cabinets/" (c.key) } {
                            b { (words.pick(&c.name.en, &c.name.es)) }
                            span { (words.pick(&c.description.en, &c.description.es)) }
                        }
                    }
                }
            }
        }
        section {
            h2 { (v.text("web-library-products")) }
            ul.shelf.many {
                @for p in products {
                    li {
                        a href={ "/library/products/" (p.key) } {
                            b { (words.pick(&p.name.en, &p.name.es)) }
                            span { (v.with("web-library-thick", &[("size", &v.reader.shown(p.geometry.size.value, 2))])) }
                        }
                    }
                }
            }
        }
    };
    Shell { title: v.text("web-library-title"), tab: Tab::Library }.around(&v, &body)
}

async fn product(v: Visit, State(site): State<Site>, Path(key): Path<String>) -> Response {
    let library = site.library();
    if !library.products().iter().any(|p| p.key == key) {
        return StatusCode::NOT_FOUND.into_response();
    }
    match library.product(&MemoryFiles::default(), &key) {
        Ok(p) => item(
            &v,
            &product_page(&p, library, &v.reader),
            &format!("/plan?product={key}"),
            &format!("/library/own/product?from={key}"),
        ),
        Err(_) => StatusCode::NOT_FOUND.into_response(),
    }
}

async fn cabinet(v: Visit, State(site): State<Site>, Path(key): Path<String>) -> Response {
    let library = site.library();
    if !library.cabinets().iter().any(|c| c.key == key) {
        return StatusCode::NOT_FOUND.into_response();
    }
    match library.cabinet(&MemoryFiles::default(), &key) {
        Ok(c) => item(
            &v,
            &cabinet_page(&c, library, &v.reader),
            &format!("/plan?cabinet={key}"),
            &format!("/library/own/cabinet?from={key}"),
        ),
        Err(_) => StatusCode::NOT_FOUND.into_response(),
    }
}

fn item(v: &Visit, page: &Page, plan: &str, own: &str) -> Response {
    let body = html! {
        p.back { a href="/library" { (v.text("web-library-back")) } }
        article {
            (opening(v, page, 1))
            p.onward {
                a.button href=(plan) { (v.text("web-library-plan")) }
                a.button href=(own) { (v.text("own-edit")) }
            }
            (figures(&page.figures))
            (tables(&page.tables, false))
            (ending(v, page))
        }
    };
    Shell { title: page.headline.clone(), tab: Tab::Library }.around(v, &body).into_response()
}
