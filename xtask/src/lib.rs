//! The project's own tasks: the full check, the layer test, the validation page and the benchmarks.
//!
//! `cargo xtask check` is what a developer and CI run; see CONTRIBUTING.md.

pub mod bench;
pub mod bench_web;
pub mod browser;
pub mod check;
pub mod coverage;
pub mod debian;
mod error;
pub mod fuzz;
pub mod http;
pub mod hygiene;
pub mod layers;
pub mod licences;
pub mod metadata;
pub mod mutation;
pub mod postgres;
pub mod process;
pub mod purity;
pub mod readme;
pub mod requirements;
pub mod rust_text;
pub mod studies;
pub mod validation;

pub use error::XtaskError;

use std::path::{Path, PathBuf};

/// The folder of the workspace.
#[must_use]
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap_or(Path::new(".")).to_path_buf()
}

/// A text file of the workspace.
///
/// # Errors
/// [`XtaskError::File`] where it cannot be read.
pub fn read(path: &Path) -> Result<String, XtaskError> {
    std::fs::read_to_string(path).map_err(|source| XtaskError::File { path: path.to_path_buf(), source })
}

/// Writes a text file and its folder.
///
/// # Errors
/// [`XtaskError::File`] where it cannot be written.
pub fn write(path: &Path, text: &str) -> Result<(), XtaskError> {
    let failed = |source| XtaskError::File { path: path.to_path_buf(), source };
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).map_err(failed)?;
    }
    std::fs::write(path, text).map_err(failed)
}
