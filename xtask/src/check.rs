//! The full check.

use std::time::Instant;

use crate::error::none_of;
use crate::{
    XtaskError, debian, hygiene, layers, licences, metadata, process, purity, read, readme, requirements,
    root, validation,
};

/// The layer test: table, edges, product code below `app`.
///
/// # Errors
/// Every finding.
pub fn layers() -> Result<(), XtaskError> {
    let root = root();
    let rows = layers::table(&read(&root.join("ARCHITECTURE.md"))?);
    let members = metadata::members()?;
    let mut findings = layers::check_table(&rows);
    findings.extend(layers::check_edges(&rows, &members));
    findings.extend(layers::check_status(&rows, &crate_roots(&rows)?));
    findings.extend(purity::check_workspace(&root)?);
    none_of(findings)
}

/// The root module of every crate in the table.
fn crate_roots(rows: &[layers::Row]) -> Result<Vec<(String, String)>, XtaskError> {
    let mut texts = vec![];
    for row in rows {
        let source = root().join("crates").join(&row.name).join("src");
        let library = source.join("lib.rs");
        let file = if library.is_file() { library } else { source.join("main.rs") };
        texts.push((row.name.clone(), read(&file)?));
    }
    Ok(texts)
}

/// The dependency policy.
///
/// # Errors
/// Packages whose licence is not allowed.
pub fn dependencies() -> Result<(), XtaskError> {
    let packages = metadata::all()?;
    println!("{} packages; licences allowed: {}", packages.len(), licences::ALLOWED.join(", "));
    let twice = licences::duplicates(&packages);
    let twice = if twice.is_empty() { "none".to_owned() } else { twice.join("; ") };
    println!("in more than one incompatible version: {twice}");
    println!(
        "security advisories: not checked here, their list cannot be had offline (CONTRIBUTING.md says how to)"
    );
    none_of(licences::refused(&packages))
}

fn tests_and_validation() -> Result<(), XtaskError> {
    let (rows, end) = validation::run_tests()?;
    end?;
    validation::check(&root(), &rows)
}

/// Runs every step, also after a failure, and names those that failed.
///
/// # Errors
/// The steps that failed.
pub fn all() -> Result<(), XtaskError> {
    type Step = (&'static str, fn() -> Result<(), XtaskError>);
    let steps: [Step; 9] = [
        ("what the tests need", debian::install_missing),
        ("format", || process::run(process::cargo(&["fmt", "--all", "--check"]))),
        ("no trace of a machine", || none_of(hygiene::check_workspace(&root())?)),
        ("layers", layers),
        ("dependencies", dependencies),
        ("requirements", || requirements::check(&root())),
        ("lints", || {
            let lints = ["clippy", "--workspace", "--all-targets", "--", "-D", "warnings"];
            process::run(process::cargo(&lints))
        }),
        ("tests, doctests and the validation page", tests_and_validation),
        ("the excerpt in README.md", || readme::check(&root())),
    ];
    let (mut failed, mut summary) = (vec![], vec![]);
    for (name, step) in steps {
        println!("\n== {name}");
        let begin = Instant::now();
        let result = step();
        let word = if result.is_ok() { "ok" } else { "FAILED" };
        summary.push(format!("{word:6} {:7.1} s  {name}", begin.elapsed().as_secs_f64()));
        if let Err(error) = result {
            println!("{error}");
            failed.push(name.to_owned());
        }
    }
    println!("\n== summary\n{}", summary.join("\n"));
    none_of(failed)
}
