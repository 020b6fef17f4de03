//! The copy of the workspace in which every mutant of the judge stands behind a switch.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

use super::mutant::Mutant;
use super::rewrite::{rewrite, switched_on};
use super::{CRATE, PACKAGE};
use crate::{XtaskError, process, read, write};

const SWITCH: &str = include_str!("switch.txt");

/// The copy.
pub struct Copy {
    /// Its folder.
    pub folder: PathBuf,
    /// Mutants that have a place in it and compile.
    pub alive: BTreeSet<usize>,
}

fn write_where_new(path: &Path, text: &[u8]) -> Result<(), XtaskError> {
    let failed = |source| XtaskError::File { path: path.to_path_buf(), source };
    if std::fs::read(path).is_ok_and(|old| old == text) {
        return Ok(());
    }
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).map_err(failed)?;
    }
    std::fs::write(path, text).map_err(failed)
}

/// Copies what is tracked, but not the judge's own sources, which are written mutated.
fn copy_tracked(root: &Path, folder: &Path) -> Result<(), XtaskError> {
    let listed = process::output(process::command("git", &["ls-files", "-z"]))?;
    let source = format!("{CRATE}/src/");
    for name in listed.split('\0').filter(|n| !n.is_empty() && !n.starts_with(&source)) {
        let from = root.join(name);
        let Ok(mut bytes) = std::fs::read(&from) else { continue };
        if name == "Cargo.toml" {
            bytes = String::from_utf8_lossy(&bytes).replace("opt-level = 3", "opt-level = 1").into_bytes();
        }
        write_where_new(&folder.join(name), &bytes)?;
    }
    Ok(())
}

/// The names of the judge's sources.
///
/// # Errors
/// Where git does not answer.
pub fn sources(below: &str) -> Result<Vec<String>, XtaskError> {
    let listed = process::output(process::command("git", &["ls-files", "-z", &format!("{CRATE}/{below}")]))?;
    Ok(listed.split('\0').filter(|n| n.ends_with(".rs")).map(str::to_owned).collect())
}

fn write_sources(root: &Path, copy: &mut Copy, mutants: &[Mutant]) -> Result<(), XtaskError> {
    let mut placed = BTreeSet::new();
    for name in sources("src")? {
        let source = read(&root.join(&name))?;
        let here: Vec<&Mutant> =
            mutants.iter().filter(|m| m.file == name && copy.alive.contains(&m.id)).collect();
        let done = rewrite(&source, &here).map_err(|e| XtaskError::Findings(vec![format!("{name}: {e}")]))?;
        let mut text = done.text;
        if name.ends_with("src/lib.rs") {
            text.push_str(&SWITCH.replace("COUNT", &mutants.len().to_string()));
        }
        write_where_new(&copy.folder.join(&name), text.as_bytes())?;
        placed.extend(done.placed);
    }
    copy.alive = placed;
    Ok(())
}

fn cargo(folder: &Path, arguments: &[&str]) -> Command {
    let mut cargo = process::cargo(arguments);
    cargo.current_dir(folder).env("CARGO_TARGET_DIR", folder.join("target"));
    cargo.env("RUSTFLAGS", "--cap-lints=allow").env("CARGO_PROFILE_DEV_DEBUG", "0");
    cargo
}

/// The mutants an error of the compiler is about: those on the line it points at; failing that those on the lines it
/// mentions; failing that those of the match it is about; failing that all of the file.
fn blamed(folder: &Path, message: &Value) -> Vec<usize> {
    let spans: Vec<&Value> = message["spans"].as_array().into_iter().flatten().collect();
    let on = |span: &Value, whole: bool| -> Vec<usize> {
        let text = read(&folder.join(span["file_name"].as_str().unwrap_or_default())).unwrap_or_default();
        let line = |key: &str| span[key].as_u64().and_then(|n| usize::try_from(n).ok()).unwrap_or(1);
        let (first, count) = if whole { (1, usize::MAX) } else { (line("line_start"), 1) };
        text.lines().skip(first.saturating_sub(1)).take(count).flat_map(switched_on).collect()
    };
    // A match that is not exhaustive with guards: those of its arms, to the line that closes it.
    let arms = |span: &Value| -> Vec<usize> {
        let text = read(&folder.join(span["file_name"].as_str().unwrap_or_default())).unwrap_or_default();
        let first = span["line_start"].as_u64().and_then(|n| usize::try_from(n).ok()).unwrap_or(1);
        let mut lines = text.lines().skip(first.saturating_sub(1)).peekable();
        let indent = |l: &str| l.len() - l.trim_start().len();
        let own = lines.peek().map_or(0, |l| indent(l));
        let inside = lines.take_while(|l| !(indent(l) == own && l.trim_start().starts_with('}')));
        inside.filter(|l| l.contains(" if !crate::mutant(")).flat_map(switched_on).collect()
    };
    let primary = spans.iter().filter(|s| s["is_primary"] == true);
    let tries = [
        primary.clone().flat_map(|s| on(s, false)).collect::<Vec<_>>(),
        spans.iter().flat_map(|s| on(s, false)).collect(),
        primary.clone().flat_map(|s| arms(s)).collect(),
        primary.flat_map(|s| on(s, true)).collect(),
    ];
    if tries[..3].iter().all(Vec::is_empty) {
        println!("left out with all of its file for: {}", message["rendered"].as_str().unwrap_or_default());
    }
    tries.into_iter().find(|ids| !ids.is_empty()).unwrap_or_default()
}

/// Writes the copy and takes out the mutants that do not compile, until the rest does. Those that do are
/// kept in a file, from which a later run with the same sources starts.
///
/// # Errors
/// Where an error of the compiler is about no mutant.
pub fn prepare(root: &Path, folder: &Path, mutants: &[Mutant], kept: &Path) -> Result<Copy, XtaskError> {
    copy_tracked(root, folder)?;
    let known = read(kept).ok().and_then(|t| serde_json::from_str::<Vec<usize>>(&t).ok());
    let alive = known.unwrap_or_else(|| mutants.iter().map(|m| m.id).collect());
    let mut copy = Copy { folder: folder.to_path_buf(), alive: alive.into_iter().collect() };
    loop {
        write_sources(root, &mut copy, mutants)?;
        let mut printed = vec![];
        let check = cargo(folder, &["check", "--package", PACKAGE, "--lib", "--message-format=json"]);
        let ended = process::lines(check, |l| printed.extend(serde_json::from_str::<Value>(l).ok()))?;
        if ended.is_ok() {
            write(kept, &serde_json::to_string(&copy.alive)?)?;
            return Ok(copy);
        }
        let errors = printed.iter().map(|v| &v["message"]).filter(|m| m["level"] == "error");
        let dropped: BTreeSet<usize> = errors.clone().flat_map(|m| blamed(folder, m)).collect();
        println!("{} mutants of {} do not compile", dropped.len(), copy.alive.len());
        if dropped.is_empty() {
            let shown = errors.filter_map(|m| m["rendered"].as_str()).map(str::to_owned).collect();
            return Err(XtaskError::Findings(shown));
        }
        copy.alive.retain(|id| !dropped.contains(id));
    }
}

/// Builds the tests; their programs.
///
/// # Errors
/// Where they do not build.
pub fn tests(copy: &Copy) -> Result<Vec<String>, XtaskError> {
    let arguments =
        ["test", "--package", PACKAGE, "--lib", "--test", "all", "--no-run", "--message-format=json"];
    let built = process::output(cargo(&copy.folder, &arguments))?;
    let messages = built.lines().filter_map(|l| serde_json::from_str::<Value>(l).ok());
    Ok(messages.filter_map(|v| v["executable"].as_str().map(str::to_owned)).collect())
}
