//! Crates below `app` do no input or output and ask no clock; nothing in them depends on the order of a hash.

use std::path::{Path, PathBuf};

use crate::{XtaskError, read, rust_text};

/// Crates that may talk to the outside.
const EDGE: [&str; 4] = ["app", "cli", "database", "web"];
/// What product code below them must not hold, and why.
const FORBIDDEN: [(&str, &str); 15] = [
    ("std::fs", "reads or writes files"),
    ("std::net", "uses the network"),
    ("std::env::", "reads the environment"),
    ("std::process", "starts or ends processes"),
    ("std::io::stdin", "reads what is typed"),
    ("SystemTime", "asks the clock"),
    ("time::Instant", "asks the clock"),
    ("::now(", "asks the clock"),
    ("thread::sleep", "waits"),
    ("println!", "prints"),
    ("print!", "prints"),
    ("HashMap", "has no fixed order; use BTreeMap"),
    ("HashSet", "has no fixed order; use BTreeSet"),
    ("thread_rng", "draws unseeded random numbers"),
    ("rand::rng", "draws unseeded random numbers"),
];

/// What is wrong with one source text; `file` is how it is named. Words that only contain a forbidden one do not count.
#[must_use]
pub fn check_code(file: &str, code: &str) -> Vec<String> {
    let mut findings = vec![];
    for (number, line) in code.lines().enumerate() {
        for (word, why) in FORBIDDEN {
            let whole = line.match_indices(word).any(|(at, _)| {
                word.starts_with(':') || !line[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_')
            });
            if whole {
                findings.push(format!("{file}:{}: {word}: {why}", number + 1));
            }
        }
    }
    findings
}

/// Every Rust file under a folder, by path.
///
/// # Errors
/// Where the folder cannot be read.
pub fn rust_files(folder: &Path) -> Result<Vec<PathBuf>, XtaskError> {
    let failed = |source| XtaskError::File { path: folder.to_path_buf(), source };
    let mut files = vec![];
    for entry in std::fs::read_dir(folder).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if path.is_dir() {
            files.extend(rust_files(&path)?);
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

/// The files of the modules that only tests have, as `#[cfg(test)] mod name;` names them.
fn test_only(file: &Path, names: &[String]) -> Vec<PathBuf> {
    let folder = file.parent().unwrap_or(Path::new(""));
    let is_root = file.file_stem().is_some_and(|s| s == "lib" || s == "mod");
    let base = if is_root { folder.to_path_buf() } else { file.with_extension("") };
    names.iter().flat_map(|n| [base.join(format!("{n}.rs")), base.join(n)]).collect()
}

/// What is wrong with the product code of the crates below `app`.
///
/// # Errors
/// Where a file cannot be read.
pub fn check_workspace(root: &Path) -> Result<Vec<String>, XtaskError> {
    let crates = root.join("crates");
    let mut findings = vec![];
    for source in rust_files(&crates)? {
        let Ok(inside) = source.strip_prefix(&crates) else { continue };
        let mut parts = inside.components().map(|c| c.as_os_str().to_string_lossy().into_owned());
        let (name, part) = (parts.next().unwrap_or_default(), parts.next().unwrap_or_default());
        if EDGE.contains(&name.as_str()) || part != "src" || inside.components().count() < 3 {
            continue;
        }
        findings.push((source.clone(), read(&source)?));
    }
    let split: Vec<_> = findings
        .into_iter()
        .map(|(path, text)| {
            let (names, code) = rust_text::split_test_modules(&rust_text::without_comments_and_texts(&text));
            (test_only(&path, &names), path, code)
        })
        .collect();
    let only_tests: Vec<&PathBuf> = split.iter().flat_map(|(t, _, _)| t).collect();
    let product = split.iter().filter(|(_, path, _)| !only_tests.iter().any(|t| path.starts_with(t)));
    let named = |path: &Path| path.strip_prefix(root).unwrap_or(path).display().to_string();
    Ok(product.flat_map(|(_, path, code)| check_code(&named(path), code)).collect())
}
