//! The matrix of requirements: every id of `data/criteria/requirements.csv` with the tests that prove it.
//!
//! A test names the ids it proves in its documentation, `/// proves: ID, ID`.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::error::none_of;
use crate::purity::rust_files;
use crate::{XtaskError, read, write};

const MARK: &str = "/// proves: ";
/// Longest statement printed in the matrix.
const SHORT: usize = 120;

/// One requirement.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Requirement {
    /// Id.
    pub id: String,
    /// What it asks.
    pub statement: String,
}

/// A test that names an id.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Proof {
    /// The id named.
    pub id: String,
    /// `crate::module::name`; `None` where no test follows the mark.
    pub test: Option<String>,
    /// File and line of the mark.
    pub place: String,
}

/// The requirements of the table, in its order.
///
/// # Errors
/// What is wrong with the table.
pub fn requirements(table: &str) -> Result<Vec<Requirement>, XtaskError> {
    let bad = |what: String| XtaskError::Findings(vec![format!("requirements.csv: {what}")]);
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let headers = reader.headers().map_err(|e| bad(e.to_string()))?.clone();
    let column = |name: &str| {
        headers.iter().position(|h| h == name).ok_or_else(|| bad(format!("has no column '{name}'")))
    };
    let (id, statement) = (column("id")?, column("statement")?);
    let mut out = vec![];
    for row in reader.records() {
        let row = row.map_err(|e| bad(e.to_string()))?;
        let cell = |i: usize| row.get(i).unwrap_or_default().to_owned();
        out.push(Requirement { id: cell(id), statement: cell(statement) });
    }
    Ok(out)
}

/// The proofs that a source text names; `module` is its crate and module, `file` how it is named.
#[must_use]
pub fn proofs(file: &str, module: &str, source: &str) -> Vec<Proof> {
    let mut out = vec![];
    let lines: Vec<&str> = source.lines().map(str::trim).collect();
    for (at, line) in lines.iter().enumerate() {
        let Some(ids) = line.strip_prefix(MARK) else { continue };
        let test = test_after(&lines[at + 1..]).map(|name| format!("{module}::{name}"));
        let place = format!("{file}:{}", at + 1);
        let ids = ids.split(',').map(|id| id.trim().trim_end_matches('.').to_owned());
        out.extend(ids.map(|id| Proof { id, test: test.clone(), place: place.clone() }));
    }
    out
}

/// The name of the test that the following lines begin.
fn test_after(lines: &[&str]) -> Option<String> {
    let mut is_test = false;
    for line in lines {
        is_test |= matches!(*line, "#[test]" | "#[tokio::test]");
        if let Some((_, rest)) = line
            .split_once("fn ")
            .filter(|(before, _)| matches!(*before, "" | "pub " | "async " | "pub async "))
        {
            let name: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            return Some(name).filter(|_| is_test);
        }
        if !(line.starts_with("///") || line.starts_with("#[")) {
            return None;
        }
    }
    None
}

/// `crates/lethality/tests/all/options.rs` is `lethality::options`.
fn module_of(inside: &Path) -> String {
    let parts: Vec<String> = inside
        .with_extension("")
        .components()
        .map(|c| c.as_os_str().to_string_lossy().into_owned())
        .collect();
    let kept =
        parts.iter().filter(|p| !["crates", "tests", "src", "all", "mod", "lib"].contains(&p.as_str()));
    kept.cloned().collect::<Vec<_>>().join("::")
}

/// Every proof of the workspace, by id.
///
/// # Errors
/// Where a file cannot be read.
pub fn all_proofs(root: &Path) -> Result<Vec<Proof>, XtaskError> {
    let mut files = rust_files(&root.join("crates"))?;
    files.extend(rust_files(&root.join("xtask").join("src"))?);
    let mut out = vec![];
    for file in files {
        let inside = file.strip_prefix(root).unwrap_or(&file);
        out.extend(proofs(&inside.display().to_string(), &module_of(inside), &read(&file)?));
    }
    out.sort();
    Ok(out)
}

/// What is wrong: ids that no test proves, ids that do not exist, marks without a test, ids that stand twice.
#[must_use]
pub fn findings(all: &[Requirement], proofs: &[Proof]) -> Vec<String> {
    let mut out = vec![];
    let mut times: BTreeMap<&str, usize> = BTreeMap::new();
    for r in all {
        *times.entry(&r.id).or_default() += 1;
    }
    out.extend(
        times.iter().filter(|(_, n)| **n > 1).map(|(id, n)| format!("{id}: stands {n} times in the list")),
    );
    let proved = |id: &str| proofs.iter().any(|p| p.id == id && p.test.is_some());
    out.extend(all.iter().filter(|r| !proved(&r.id)).map(|r| format!("{}: no test proves it", r.id)));
    for p in proofs {
        if !times.contains_key(p.id.as_str()) {
            out.push(format!("{}: '{}' is no id of the list", p.place, p.id));
        }
        if p.test.is_none() {
            out.push(format!("{}: no test follows", p.place));
        }
    }
    out
}

const HEAD: &str = "# Matrix of requirements

Every requirement with the tests that prove it. Generated by `cargo xtask requirements`; do not edit. `cargo xtask check` fails
where an id has no test, where a test names an id that does not exist, and where this page is not renewed. The full words,
documents and sections are in [requirements.md](requirements.md).
";

/// The page.
#[must_use]
pub fn render(all: &[Requirement], proofs: &[Proof]) -> String {
    let mut page = format!("{HEAD}\n| id | what it asks | proved by |\n| --- | --- | --- |\n");
    let mut tests: Vec<&str> = vec![];
    for r in all {
        let mut of: Vec<&str> =
            proofs.iter().filter(|p| p.id == r.id).filter_map(|p| p.test.as_deref()).collect();
        of.dedup();
        tests.extend(&of);
        let names: Vec<String> = of.iter().map(|t| format!("`{t}`")).collect();
        page.push_str(&format!("| {} | {} | {} |\n", r.id, short(&r.statement), names.join("<br>")));
    }
    tests.sort_unstable();
    tests.dedup();
    page.push_str(&format!("\n{} requirements, {} tests.\n", all.len(), tests.len()));
    page
}

/// A statement cut at a word.
fn short(statement: &str) -> String {
    if statement.chars().count() <= SHORT {
        return statement.to_owned();
    }
    let head: String = statement.chars().take(SHORT).collect();
    let cut = head.rfind(' ').unwrap_or(head.len());
    format!("{} ...", head[..cut].trim_end_matches([',', ';', ':']))
}

fn page_file(root: &Path) -> PathBuf {
    root.join("docs").join("requirements").join("matrix.md")
}

fn made(root: &Path) -> Result<(String, Vec<String>), XtaskError> {
    let table = read(&root.join("data").join("criteria").join("requirements.csv"))?;
    let (all, proofs) = (requirements(&table)?, all_proofs(root)?);
    Ok((render(&all, &proofs), findings(&all, &proofs)))
}

/// Whether every requirement is proved and the page is renewed.
///
/// # Errors
/// Every finding.
pub fn check(root: &Path) -> Result<(), XtaskError> {
    let (page, mut findings) = made(root)?;
    if !page_file(root).is_file() || read(&page_file(root))? != page {
        findings.push("docs/requirements/matrix.md is not renewed: `cargo xtask requirements`".to_owned());
    }
    none_of(findings)
}

/// The verb: writes the page, then says what is wrong.
///
/// # Errors
/// Every finding.
pub fn write_page(root: &Path) -> Result<(), XtaskError> {
    let (page, findings) = made(root)?;
    write(&page_file(root), &page)?;
    println!("docs/requirements/matrix.md: {}", page.lines().last().unwrap_or_default());
    none_of(findings)
}
