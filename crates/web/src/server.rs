//! Routes, layers, and the server's life.

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::StatusCode;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::{get, post};
use fallrate_app::batches::Keep;
use fallrate_app::practice::Rooms;
use fallrate_app::upkeep::Upkeep;
use tokio::net::TcpListener;
use tokio::sync::watch;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::timeout::TimeoutLayer;

use crate::error::WebError;
use crate::state::Site;
use crate::tls::{TlsListener, TlsPem, acceptor};
use crate::{
    air, api, assets, batch, cabinet_tests, demo, fault, guard, instruments, learn, library, live, look,
    operate, own, people, plan, proof, rehearse, setup, start,
};

/// How the server is run.
#[derive(Clone, Debug)]
pub struct Options {
    /// Where it listens; port 0 takes a free one. Beyond this machine everybody signs in.
    pub listen: SocketAddr,
    /// Everybody signs in on this machine too.
    pub accounts: bool,
    /// Who makes copies and looks at the room left.
    pub upkeep: Option<Arc<dyn Upkeep>>,
    /// Certificate and key, where connections are encrypted.
    pub tls: Option<TlsPem>,
}

/// What the server says once it listens.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Announced {
    /// Where it listens.
    pub address: SocketAddr,
    /// The token for the first account, where there is none yet and one is needed.
    pub first_token: Option<String>,
}

/// Longest time for a request: a plan with its band on a slow machine.
const LONGEST_REQUEST: Duration = Duration::from_secs(120);
/// Longest wait for requests under way when the server is told to stop.
const LONGEST_GOODBYE: Duration = Duration::from_secs(8);

/// The pages of one world of records, without what stands before them.
pub(crate) fn pages(site: Site) -> Router {
    Router::new()
        .route("/", get(start::page))
        .route("/look", post(look::switch))
        .route("/static/{hash}/{name}", get(assets::serve))
        .merge(plan::routes())
        .merge(library::routes())
        .merge(cabinet_tests::routes())
        .merge(batch::routes())
        .merge(proof::routes())
        .merge(instruments::routes())
        .merge(own::routes())
        .merge(setup::routes())
        .merge(learn::routes())
        .merge(people::routes())
        .merge(rehearse::routes())
        .merge(operate::routes())
        .route("/live", get(live::stream))
        .route("/air", get(air::page))
        .nest("/api/v1", api::routes())
        .merge(demo::routes())
        .fallback(fault::nowhere)
        .with_state(site)
}

/// The whole site as a service; tests talk to it without a network.
pub fn router(site: Site) -> Router {
    pages(site.clone())
        .layer(from_fn_with_state(site.clone(), demo::lead))
        .layer(from_fn_with_state(site.clone(), people::admit))
        .layer(from_fn_with_state(site.clone(), guard::origin_check))
        .layer(DefaultBodyLimit::max(guard::LARGEST_BODY))
        .layer(TimeoutLayer::with_status_code(StatusCode::REQUEST_TIMEOUT, LONGEST_REQUEST))
        .layer(CatchPanicLayer::new())
        .layer(from_fn(fault::dress))
        .layer(from_fn_with_state(site.clone(), look::visit))
        .layer(from_fn_with_state(site.clone(), guard::headers))
        .layer(CompressionLayer::new())
}

/// Serves until the system or the user asks to stop; `rooms` are where practice keeps its records; `announce` is told the address once it listens.
///
/// # Errors
/// [`WebError`].
pub fn serve(
    options: &Options,
    mut keep: Box<dyn Keep>,
    rooms: Box<dyn Rooms>,
    announce: impl FnOnce(Announced),
) -> Result<(), WebError> {
    let address = options.listen;
    let (site, first_token) = if options.accounts || !address.ip().is_loopback() {
        let token = look::random_hex().ok_or(WebError::NoRandom)?;
        let first = keep.people().accounts()?.is_empty().then(|| token.clone());
        (Site::with_accounts(keep, &token)?, first)
    } else {
        (Site::new(keep)?, None)
    };
    let site = site.with_rooms(rooms);
    if options.tls.is_some() {
        site.encrypt();
    }
    let site = match &options.upkeep {
        Some(upkeep) => site.looked_after(Arc::clone(upkeep)),
        None => site,
    };
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    let runtime = runtime.map_err(|source| WebError::Stopped { source })?;
    let result = runtime.block_on(run(options, site, |address| announce(Announced { address, first_token })));
    // Work that nobody waits for must not hold the program.
    runtime.shutdown_timeout(Duration::from_secs(2));
    result
}

async fn run(options: &Options, site: Site, announce: impl FnOnce(SocketAddr)) -> Result<(), WebError> {
    let address = options.listen;
    let greets = options.tls.as_ref().map(acceptor).transpose()?;
    let listener = TcpListener::bind(address).await.map_err(|source| WebError::Listen { address, source })?;
    let begun = operate::begin(&site).await;
    announce(listener.local_addr().unwrap_or(address));
    let (tell, mut told) = watch::channel(false);
    let mut ended = told.clone();
    let life = tokio::spawn(operate::life(site.clone(), begun, async move {
        let _ = ended.wait_for(|stop| *stop).await;
    }));
    tokio::spawn(async move {
        asked_to_stop().await;
        let _ = tell.send(true);
    });
    let mut also = told.clone();
    let until_told = async move {
        let _ = told.wait_for(|stop| *stop).await;
    };
    let server = async {
        let app = router(site);
        match greets {
            None => axum::serve(listener, app).with_graceful_shutdown(until_told).await,
            Some(greets) => {
                let listener = TlsListener::new(listener, greets)?;
                axum::serve(listener, app).with_graceful_shutdown(until_told).await
            }
        }
    };
    let result = tokio::select! {
        ended = server => ended.map_err(|source| WebError::Stopped { source }),
        () = async {
            let _ = also.wait_for(|stop| *stop).await;
            tokio::time::sleep(LONGEST_GOODBYE).await;
        } => Ok(()),
    };
    // The last sign of life says that this was meant.
    let _ = tokio::time::timeout(LONGEST_GOODBYE, life).await;
    result
}

/// Ctrl-C, or the system's request to end.
async fn asked_to_stop() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut end) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = end.recv() => {}
            }
            return;
        }
    }
    let _ = tokio::signal::ctrl_c().await;
}
