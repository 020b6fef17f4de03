//! Nothing of the machine it was written on is in the project: no paths, no addresses of package registries.

use std::path::{Path, PathBuf};

use crate::{XtaskError, process};

/// Texts that must not occur, in pieces so that this file does not hold them.
const FORBIDDEN: [(&str, &str); 10] = [
    ("/wo", "rk/"),
    ("/ro", "ot/"),
    ("/ho", "me/"),
    ("sha", "red/"),
    ("py", "pi.org"),
    ("python", "hosted.org"),
    ("registry.npm", "js.org"),
    ("deb.deb", "ian.org"),
    ("index.cra", "tes.io"),
    ("static.cra", "tes.io"),
];

/// What is wrong with one text; `file` is how it is named.
#[must_use]
pub fn check_text(file: &str, text: &str) -> Vec<String> {
    let words: Vec<String> = FORBIDDEN.iter().map(|(a, b)| format!("{a}{b}")).collect();
    let mut findings = vec![];
    for (number, line) in text.lines().enumerate() {
        for word in words.iter().filter(|w| line.contains(w.as_str())) {
            findings.push(format!("{file}:{}: {word}", number + 1));
        }
    }
    findings
}

/// The files that are, or would be, under version control.
///
/// # Errors
/// Where git fails.
pub fn tracked(root: &Path) -> Result<Vec<PathBuf>, XtaskError> {
    let list = process::output(process::command(
        "git",
        &["ls-files", "-z", "--cached", "--others", "--exclude-standard"],
    ))?;
    let mut files: Vec<PathBuf> = list.split('\0').filter(|f| !f.is_empty()).map(|f| root.join(f)).collect();
    files.retain(|f| f.is_file());
    files.sort();
    files.dedup();
    Ok(files)
}

/// What is wrong with the texts of the project. Files that are no text are passed over.
///
/// # Errors
/// Where git fails.
pub fn check_workspace(root: &Path) -> Result<Vec<String>, XtaskError> {
    let mut findings = vec![];
    for path in tracked(root)? {
        let Ok(text) = std::fs::read_to_string(&path) else { continue };
        let name = path.strip_prefix(root).unwrap_or(&path).display().to_string();
        findings.extend(check_text(&name, &text));
    }
    Ok(findings)
}
