//! The line by which a file of simulated readings tells what it is.

use crate::AppError;
use crate::proof::ReadingsFile;

/// First line of every file of readings that a virtual cabinet writes.
pub const SIMULATED_MARK: &str = "Simulated readings of a virtual cabinet: no dryer and no food was involved";

/// How far into a file the mark is looked for, bytes.
const LOOKED_AT: usize = 4096;

/// Whether the head of a file carries the mark, in UTF-8 or UTF-16.
#[must_use]
pub fn carries_mark(bytes: &[u8]) -> bool {
    let head: Vec<u8> = bytes
        .get(..bytes.len().min(LOOKED_AT))
        .unwrap_or(bytes)
        .iter()
        .copied()
        .filter(|b| *b != 0)
        .collect();
    head.windows(SIMULATED_MARK.len()).any(|w| w.eq_ignore_ascii_case(SIMULATED_MARK.as_bytes()))
}

/// Refuses simulated files in a batch that is not marked as invented. Who takes the mark off a file takes it for real.
///
/// # Errors
/// [`AppError::SimulatedFile`] names the first.
pub fn refuse_simulated(files: &[ReadingsFile], invented: bool) -> Result<(), AppError> {
    match files.iter().find(|f| !invented && carries_mark(&f.bytes)) {
        Some(f) => Err(AppError::SimulatedFile { file: f.name.clone() }),
        None => Ok(()),
    }
}
