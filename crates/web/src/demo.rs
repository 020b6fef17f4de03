//! The invented demo workshop: the same pages over a database of its own, entered and left by one button. A cookie says
//! where a browser is; requests of it never reach the real records, and the others never reach the demo's.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::post;
use axum::{Form, Router};
use fallrate_app::batches::RecordRealm;
use fallrate_app::practice::{DEMO_BATCHES, build_demo};
use maud::{Markup, html};
use serde::Deserialize;
use tower::ServiceExt;

use crate::fault::said;
use crate::keep::now;
use crate::look::{Visit, add_cookie, cookie};
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// Cookie, and header of programs, that lead into the demo workshop.
const COOKIE: &str = "workshop";
const HEADER: &str = "fallrate-workshop";
const DEMO: &str = "demo";
/// A browser that went into the demo is back in the real workshop after a day.
const DAY_S: u64 = 86_400;

/// The demo workshop of a site.
#[derive(Default)]
pub(crate) struct Demo {
    built: OnceLock<Router>,
    begun: Mutex<bool>,
    done: AtomicUsize,
    fault: Mutex<Option<String>>,
}

impl std::fmt::Debug for Demo {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Demo").finish_non_exhaustive()
    }
}

pub(crate) fn routes() -> Router<Site> {
    Router::new().route("/demo/enter", post(enter)).route("/demo/leave", post(leave))
}

/// What the button sends.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
struct Entering {
    zone: String,
}

async fn enter(State(site): State<Site>, Form(e): Form<Entering>) -> Response {
    if site.realm() == RecordRealm::Proof {
        begin(&site, e.zone.chars().take(60).collect());
    }
    let mut response = Redirect::to("/").into_response();
    add_cookie(&mut response, COOKIE, DEMO, Some(DAY_S));
    response
}

async fn leave() -> Response {
    let mut response = Redirect::to("/").into_response();
    add_cookie(&mut response, COOKIE, "", Some(0));
    response
}

/// Builds the workshop beside the requests, once.
fn begin(site: &Site, zone: String) {
    let demo = site.demo();
    {
        let mut begun = demo.begun.lock().unwrap_or_else(PoisonError::into_inner);
        if *begun {
            return;
        }
        *begun = true;
    }
    *demo.fault.lock().unwrap_or_else(PoisonError::into_inner) = None;
    let site = site.clone();
    tokio::task::spawn_blocking(move || {
        let demo = site.demo();
        if let Err(why) = build(&site, &zone) {
            *demo.fault.lock().unwrap_or_else(PoisonError::into_inner) = Some(why);
            *demo.begun.lock().unwrap_or_else(PoisonError::into_inner) = false;
        }
    });
}

/// Builds the workshop. Its pages are open once the running batch is there; the rest comes while somebody looks around.
fn build(site: &Site, zone: &str) -> Result<(), String> {
    let rooms = site.stage().rooms().ok_or_else(String::new)?;
    let (mut keep, shown) = (rooms.demo()?, rooms.demo()?);
    let pages = crate::server::pages(site.beside(shown));
    let demo = site.demo();
    let tell = &mut |done: usize, all: usize| {
        demo.done.store(done, Ordering::Relaxed);
        if done > 0 || done == all {
            // Opened once.
            let _ = demo.built.set(pages.clone());
        }
        true
    };
    build_demo(keep.records(), site.library(), now(), zone, tell).map_err(|e| e.to_string())?;
    demo.done.store(DEMO_BATCHES, Ordering::Relaxed);
    let _ = demo.built.set(pages);
    Ok(())
}

/// Whether a request is for the demo workshop.
fn asks(headers: &HeaderMap) -> bool {
    headers.get(HEADER).is_some_and(|v| v == DEMO) || cookie(headers, COOKIE) == Some(DEMO)
}

/// In the demo workshop: how many of its batches are there.
pub(crate) fn within(site: &Site, headers: &HeaderMap) -> Option<usize> {
    asks(headers).then(|| site.demo().done.load(Ordering::Relaxed))
}

/// Pages that are the same everywhere.
fn is_common(path: &str) -> bool {
    path.starts_with("/static/")
        || path.starts_with("/demo/")
        || path.starts_with("/people")
        || matches!(path, "/look" | "/sign-in" | "/sign-out" | "/first")
}

/// Leads a request of a browser in the demo to the demo's pages.
pub(crate) async fn lead(State(site): State<Site>, visit: Visit, request: Request, next: Next) -> Response {
    if visit.demo.is_none() || is_common(request.uri().path()) {
        return next.run(request).await;
    }
    if let Some(router) = site.demo().built.get() {
        let mut response = match router.clone().oneshot(request).await {
            Ok(response) => response,
            Err(never) => match never {},
        };
        response.headers_mut().insert(HEADER, HeaderValue::from_static(DEMO));
        return response;
    }
    // After a restart the first look builds it, or finds it built.
    begin(&site, String::new());
    waiting(&site, &visit)
}

/// While it is built.
fn waiting(site: &Site, v: &Visit) -> Response {
    let demo = site.demo();
    let fault = demo.fault.lock().unwrap_or_else(PoisonError::into_inner).clone();
    let done = demo.done.load(Ordering::Relaxed).to_string();
    let body = html! {
        @if let Some(why) = &fault {
            h1 { (v.text("demo-failed")) }
            @if why.is_empty() { p.subline { (v.text("rehearse-no-room-next")) } } @else { p.note lang="en" { (why) } }
        } @else {
            h1 { (v.text("demo-building")) }
            p.subline role="status" { (v.with("demo-building-more", &[("done", &done), ("all", &DEMO_BATCHES.to_string())])) }
            p { a.button href="/" { (v.text("demo-look-again")) } }
        }
    };
    let page = Shell { title: v.text("demo-mark"), tab: Tab::Start }.around(v, &body);
    let mut response = said((StatusCode::SERVICE_UNAVAILABLE, page).into_response());
    if fault.is_none() {
        // No script is needed to look again.
        response.headers_mut().insert("refresh", HeaderValue::from_static("2; url=/"));
    }
    response
}

/// The mark on every page of the demo, with the way out.
pub(crate) fn mark(v: &Visit) -> Markup {
    html! {
        @if let Some(done) = v.demo {
            aside.invented aria-label=(v.text("demo-mark")) {
                p {
                    b { (v.text("demo-mark")) } span { (v.text("demo-mark-more")) }
                    @if done < DEMO_BATCHES {
                        " " span role="status" { (v.with("demo-building-more", &[("done", &done.to_string()), ("all", &DEMO_BATCHES.to_string())])) }
                    }
                }
                form method="post" action="/demo/leave" {
                    input type="hidden" name="form_token" value=(v.token);
                    button { (v.text("demo-leave")) }
                }
            }
        }
    }
}

/// The door into the demo.
pub(crate) fn door(v: &Visit) -> Markup {
    html! {
        form method="post" action="/demo/enter" {
            input type="hidden" name="form_token" value=(v.token);
            input type="hidden" name="zone" value="" data-zone;
            button { b { (v.text("demo-enter")) } span { (v.text("demo-enter-more")) } }
        }
    }
}

/// Shared by the site and its demo.
pub(crate) type SharedDemo = Arc<Demo>;
