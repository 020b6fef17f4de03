//! Runs the tests that reach a mutant, the fastest first, until one fails.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use super::{CRATE, build::Copy};
use crate::{XtaskError, process};

/// How often a look is taken at a running test.
const POLL: Duration = Duration::from_millis(2);
/// A test that takes this and so many times its usual time hangs.
const PATIENCE: Duration = Duration::from_secs(20);
const PATIENCE_TIMES: u32 = 20;

/// What a quick test takes at most; all mutants are tried with these before any is with the slow ones.
pub const QUICK: Duration = Duration::from_secs(5);

/// One test.
#[derive(Clone, Debug)]
pub struct Test {
    program: String,
    /// Its name.
    pub name: String,
    took: Duration,
}

/// What became of a mutant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// This test failed.
    Caught(String),
    /// This test did not come to an end.
    Hung(String),
    /// Every test that reaches it and is quick passed; the slow ones have yet to be run.
    PassedQuick,
    /// Every test that reaches it passed.
    Survived,
    /// No test reaches it.
    Unreached,
}

fn command(copy: &Copy, test: &Test) -> Command {
    let mut command = process::command(&test.program, &["--exact", "--test-threads=1", &test.name]);
    let folder = copy.folder.join(CRATE);
    command.current_dir(&folder).env("CARGO_MANIFEST_DIR", &folder).env("PROPTEST_RNG_SEED", "1");
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    command
}

/// Whether it passes; none where it hangs.
fn passes(mut command: Command, patience: Duration) -> Result<Option<bool>, XtaskError> {
    let failed = |source| XtaskError::Start { program: "a test".to_owned(), source };
    let (mut child, begun) = (command.spawn().map_err(failed)?, Instant::now());
    loop {
        if let Some(status) = child.try_wait().map_err(failed)? {
            return Ok(Some(status.success()));
        }
        if begun.elapsed() > patience {
            let _ = child.kill();
            let _ = child.wait();
            return Ok(None);
        }
        std::thread::sleep(POLL);
    }
}

fn listed(programs: &[String]) -> Result<Vec<Test>, XtaskError> {
    let mut out = vec![];
    for program in programs {
        let names = process::output(process::command(program, &["--list", "--format=terse"]))?;
        out.extend(names.lines().filter_map(|l| l.strip_suffix(": test")).map(|name| Test {
            program: program.clone(),
            name: name.to_owned(),
            took: Duration::ZERO,
        }));
    }
    Ok(out)
}

/// The tests that end within `limit` and reach each mutant, the fastest first.
///
/// # Errors
/// Where a test fails with no mutant switched on.
pub fn reaching(
    copy: &Copy,
    programs: &[String],
    limit: Duration,
) -> Result<BTreeMap<usize, Vec<Test>>, XtaskError> {
    let log = copy.folder.join("target/reached.txt");
    let mut tests = listed(programs)?;
    let mut reached: Vec<(usize, usize)> = vec![];
    for (n, test) in tests.iter_mut().enumerate() {
        let _ = std::fs::remove_file(&log);
        let (mut run, begun) = (command(copy, test), Instant::now());
        run.env("MUTANT_LOG", &log);
        let passed = passes(run, limit)?;
        if passed.is_none() {
            continue;
        }
        if passed == Some(false) {
            return Err(XtaskError::Findings(vec![format!("{}: fails with no mutant on", test.name)]));
        }
        test.took = begun.elapsed();
        reached.extend(ids(&log).into_iter().map(|id| (id, n)));
    }
    let mut out: BTreeMap<usize, Vec<Test>> = BTreeMap::new();
    for (id, n) in reached {
        out.entry(id).or_default().push(tests[n].clone());
    }
    out.values_mut().for_each(|t| t.sort_by_key(|t| t.took));
    println!("{} tests reach {} mutants", tests.len(), out.len());
    Ok(out)
}

fn ids(log: &Path) -> Vec<usize> {
    let text = std::fs::read_to_string(log).unwrap_or_default();
    text.lines().filter_map(|l| l.parse().ok()).collect()
}

/// Tries one mutant with these tests; none where all pass.
///
/// # Errors
/// Where a test does not start.
pub fn tried(copy: &Copy, id: usize, tests: &[&Test]) -> Result<Option<Outcome>, XtaskError> {
    for test in tests {
        let mut run = command(copy, test);
        run.env("MUTANT", id.to_string());
        match passes(run, PATIENCE + test.took * PATIENCE_TIMES)? {
            Some(true) => {}
            Some(false) => return Ok(Some(Outcome::Caught(test.name.clone()))),
            None => return Ok(Some(Outcome::Hung(test.name.clone()))),
        }
    }
    Ok(None)
}
