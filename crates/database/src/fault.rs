//! From the errors of SQLite to those of the records.

use fallrate_store::RecordsError;
use rusqlite::ErrorCode;

/// An error met while something was tried; `waited_ms` is how long a lock is waited for.
pub(crate) fn fault(what: &'static str, waited_ms: u64) -> impl Fn(rusqlite::Error) -> RecordsError {
    move |error| {
        let detail = error.to_string();
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => RecordsError::Locked { waited_ms },
            Some(ErrorCode::DiskFull) => RecordsError::Full { detail },
            Some(ErrorCode::ReadOnly) => RecordsError::ReadOnly { detail },
            Some(ErrorCode::DatabaseCorrupt) => RecordsError::Damaged { detail },
            Some(ErrorCode::NotADatabase) => RecordsError::NotOurs { detail },
            _ => RecordsError::Unavailable { what, detail },
        }
    }
}

pub(crate) fn damaged(detail: impl Into<String>) -> RecordsError {
    RecordsError::Damaged { detail: detail.into() }
}

/// An error of a file or folder.
pub(crate) fn file_fault(
    what: &'static str,
    path: &std::path::Path,
) -> impl Fn(std::io::Error) -> RecordsError {
    move |error| {
        let detail = format!("{}: {error}", path.display());
        match error.kind() {
            std::io::ErrorKind::StorageFull | std::io::ErrorKind::QuotaExceeded => {
                RecordsError::Full { detail }
            }
            std::io::ErrorKind::ReadOnlyFilesystem => RecordsError::ReadOnly { detail },
            _ => RecordsError::Unavailable { what, detail },
        }
    }
}
