//! What can keep the server from running.

use std::net::SocketAddr;

/// Errors of the server as a whole; those of a request are pages (see `fault`).
#[derive(Debug, thiserror::Error)]
pub enum WebError {
    /// The address cannot be listened on.
    #[error("{address}: cannot listen: {source}; allowed: a free port of this machine, as 127.0.0.1:8420")]
    Listen {
        /// Address.
        address: SocketAddr,
        /// The system's reason.
        source: std::io::Error,
    },
    /// The system gives no random numbers: no token can be made.
    #[error("the system gives no random numbers; allowed: a system that does")]
    NoRandom,
    /// The accounts cannot be read.
    #[error(transparent)]
    Records(#[from] fallrate_app::batches::RecordsError),
    /// The server stopped by itself.
    #[error("the server stopped: {source}")]
    Stopped {
        /// The system's reason.
        source: std::io::Error,
    },
    /// What the program carries cannot be read.
    #[error(transparent)]
    App(#[from] fallrate_app::AppError),
    /// The certificate or its key cannot be used.
    #[error("{what}: cannot be used: {reason}")]
    Certificate {
        /// Which of them.
        what: &'static str,
        /// Why.
        reason: String,
    },
}
