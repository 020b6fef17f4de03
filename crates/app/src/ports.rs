//! What the use cases need from outside.

use std::path::Path;

/// Files, wherever they are kept.
pub trait Files {
    /// The bytes of a file; what is larger than `most_bytes` may be cut off after one byte more.
    ///
    /// # Errors
    /// [`FileFault`].
    fn read(&self, path: &Path, most_bytes: usize) -> Result<Vec<u8>, FileFault>;
}

/// A file that cannot be read or written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{path}: {what}: {reason}")]
pub struct FileFault {
    /// As the user wrote it.
    pub path: String,
    /// "cannot be read" or "cannot be written".
    pub what: &'static str,
    /// The system's reason.
    pub reason: String,
}

/// Files held in memory, for tests and for callers that have the texts already.
#[derive(Clone, Debug, Default)]
pub struct MemoryFiles(pub Vec<(String, Vec<u8>)>);

impl Files for MemoryFiles {
    fn read(&self, path: &Path, most_bytes: usize) -> Result<Vec<u8>, FileFault> {
        let name = path.to_string_lossy();
        let found = self.0.iter().find(|(n, _)| *n == name);
        let (_, bytes) = found.ok_or_else(|| FileFault {
            path: name.clone().into_owned(),
            what: "cannot be read",
            reason: "no such file".to_owned(),
        })?;
        Ok(bytes.iter().copied().take(most_bytes.saturating_add(1)).collect())
    }
}
