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

/// A new secret and its hash, for an account whose own was forgotten: six digits for a PIN, else sixteen letters in groups
/// of four. `None` where the system gives no random bytes.
#[must_use]
pub fn new_secret(pin: bool) -> Option<(String, String)> {
    // Without letters that look alike.
    const LETTERS: &[u8; 32] = b"abcdefghjkmnpqrstuvwxyz23456789-";
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).ok()?;
    let secret: String = if pin {
        // 256 is no multiple of ten: two bytes each keep the digits even enough.
        bytes
            .chunks(2)
            .take(6)
            .map(|b| b.iter().fold(0_u32, |n, x| n * 256 + u32::from(*x)) % 10)
            .map(|d| d.to_string())
            .collect()
    } else {
        let letter = |b: &u8| LETTERS.get(usize::from(*b) % 31).map_or('x', |l| char::from(*l));
        bytes.chunks(4).map(|four| four.iter().map(letter).collect::<String>()).collect::<Vec<_>>().join("-")
    };
    let hash = Argon2::default().hash_password(secret.as_bytes()).ok()?.to_string();
    Some((secret, hash))
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
