//! Secrets: kept as Argon2id hashes, checked a few at a time off the threads that answer.

use std::sync::{Arc, LazyLock};

use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use tokio::sync::Semaphore;

/// Secrets checked at once: each takes 19 MiB and some ten milliseconds.
static AT_ONCE: LazyLock<Arc<Semaphore>> = LazyLock::new(|| Arc::new(Semaphore::new(2)));
/// Secrets that may wait; more are turned away at once.
static WAITING: LazyLock<Arc<Semaphore>> = LazyLock::new(|| Arc::new(Semaphore::new(16)));

async fn apart<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Option<T> {
    let _place = Arc::clone(&WAITING).try_acquire_owned().ok()?;
    let permit = Arc::clone(&AT_ONCE).acquire_owned().await.ok()?;
    let job = tokio::task::spawn_blocking(move || {
        let _permit = permit;
        work()
    });
    job.await.ok()
}

/// The hash of a secret with a salt of its own; `None` where too many wait.
pub(super) async fn hash(secret: String) -> Option<String> {
    let hashed =
        apart(move || Argon2::default().hash_password(secret.as_bytes()).map(|h| h.to_string())).await?;
    hashed.ok()
}

/// Whether a secret fits a hash. Without a hash the same work is done, so that the time tells nothing. `None` where too
/// many wait.
pub(super) async fn fits(secret: String, hash: Option<String>) -> Option<bool> {
    apart(move || {
        let Some(hash) = hash else {
            let _ = Argon2::default().hash_password(secret.as_bytes());
            return false;
        };
        PasswordHash::new(&hash)
            .is_ok_and(|h| Argon2::default().verify_password(secret.as_bytes(), &h).is_ok())
    })
    .await
}
