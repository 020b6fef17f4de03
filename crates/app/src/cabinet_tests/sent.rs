//! Files handed in together: the tests, their logger files, perhaps a later file.

use super::drifted::{Drifted, weigh_drift};
use super::file::Commissioning;
use super::report::{Evaluated, evaluate};
use super::tests::TestFolder;
use crate::error::AppError;
use crate::library::Library;
use crate::ports::{FileFault, MemoryFiles};
use crate::words::Reader;

/// What came of files handed in together.
#[derive(Debug)]
pub struct Sent {
    /// The commissioning.
    pub evaluated: Evaluated,
    /// What has changed, where a second file of tests came with them.
    pub drifted: Option<Drifted>,
}

/// Evaluates files handed in together. The file of tests is the one that ends in `.toml` and is no mapping; of two, the one
/// with the later day holds the tests that were repeated.
///
/// # Errors
/// [`AppError`] where there is no such file, or where one is refused.
pub fn evaluate_sent(files: &MemoryFiles, library: &Library, reader: &Reader) -> Result<Sent, AppError> {
    let named = |name: &str| name.ends_with(".toml") && !name.ends_with(".mapping.toml");
    let texts = files.0.iter().filter(|(name, bytes)| named(name) && contains(bytes, b"[[test]]"));
    let mut tests: Vec<Commissioning> =
        texts.map(|(name, bytes)| Commissioning::parse(name, bytes)).collect::<Result<_, _>>()?;
    tests.sort_by_key(|t| t.date.to_string());
    let mut tests = tests.into_iter();
    let Some(first) = tests.next() else {
        return Err(AppError::File(FileFault {
            path: "tests.toml".to_owned(),
            what: "cannot be read",
            reason: "no file among these names tests ([[test]])".to_owned(),
        }));
    };
    let beside = first.file_name.clone();
    let evaluated = evaluate(first, library, files, &TestFolder { files, beside: &beside }, reader)?;
    let later = tests.next();
    let drifted = later
        .map(|later| {
            let beside = later.file_name.clone();
            weigh_drift(&evaluated, later, &TestFolder { files, beside: &beside }, reader)
        })
        .transpose()?;
    Ok(Sent { evaluated, drifted })
}

fn contains(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|w| w == part)
}
