//! What the tests need beside Rust: programs from Debian's packages, installed where they are missing.

use std::path::Path;

use crate::{XtaskError, process};

/// Program that must be there, and the package that brings it. Nothing is needed so far.
const NEEDED: &[(&str, &str)] = &[];

/// Packages whose program is in none of the folders of a search path.
#[must_use]
pub fn missing<'a>(needed: &[(&str, &'a str)], search_path: &str) -> Vec<&'a str> {
    let there =
        |program: &str| search_path.split(':').any(|folder| Path::new(folder).join(program).is_file());
    needed.iter().filter(|(program, _)| !there(program)).map(|(_, package)| *package).collect()
}

/// Installs what is missing.
///
/// # Errors
/// Where the installation fails (it needs Debian and the right to install).
pub fn install_missing() -> Result<(), XtaskError> {
    install(NEEDED)
}

/// Installs what of a list is missing.
///
/// # Errors
/// As [`install_missing`].
pub fn install(needed: &[(&str, &str)]) -> Result<(), XtaskError> {
    let packages = missing(needed, &std::env::var("PATH").unwrap_or_default());
    if packages.is_empty() {
        return Ok(());
    }
    process::run(process::command("apt-get", &["update", "--quiet"]))?;
    let mut install = process::command("apt-get", &["install", "--yes", "--no-install-recommends"]);
    install.args(&packages).env("DEBIAN_FRONTEND", "noninteractive");
    process::run(install)
}
