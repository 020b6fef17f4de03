//! Mutants of the judge, all of them in one build and switched at run time: a build for each would take hours.
//!
//! The list is that of cargo-mutants (`cargo install cargo-mutants`). A copy of the workspace below the target folder gets
//! every mutant behind `crate::mutant(N)`; those that do not compile are left out; the tests that reach a mutant are run
//! with it switched on.

pub mod build;
pub mod mutant;
pub mod results;
pub mod rewrite;
pub mod trial;

use std::collections::BTreeMap;
use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::path::Path;
use std::time::{Duration, Instant};

use self::build::Copy;
use self::mutant::Mutant;
use self::results::{Counts, Results};
use self::trial::{Outcome, QUICK, Test};
use crate::{XtaskError, metadata, process, read, write};

const PACKAGE: &str = "fallrate-lethality";
const CRATE: &str = "crates/lethality";
/// Shuffles the order of the trials; prime to any count that is no multiple of it.
const STRIDE: usize = 7919;

type Reaching = BTreeMap<usize, Vec<Test>>;

/// How much of the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Share {
    minutes: Option<u64>,
    shard: (usize, usize),
}

impl Share {
    /// Of `[--minutes M] [--shard k/n]`.
    ///
    /// # Errors
    /// Where it is something else.
    pub fn parsed(words: &[&str]) -> Result<Self, XtaskError> {
        let bad = || XtaskError::Usage(format!("mutation {}", words.join(" ")));
        let mut share = Self { minutes: None, shard: (1, 1) };
        for pair in words.chunks(2) {
            match pair {
                ["--minutes", m] => share.minutes = Some(m.parse().map_err(|_| bad())?),
                ["--shard", s] => {
                    let (k, n) = s.split_once('/').ok_or_else(bad)?;
                    share.shard = (k.parse().map_err(|_| bad())?, n.parse().map_err(|_| bad())?);
                }
                _ => return Err(bad()),
            }
        }
        let (k, n) = share.shard;
        if (1..=n).contains(&k) { Ok(share) } else { Err(bad()) }
    }

    fn takes(&self, mutant: &Mutant) -> bool {
        mutant.id % self.shard.1 + 1 == self.shard.0
    }
}

fn fingerprint(root: &Path, below: &str) -> Result<String, XtaskError> {
    let mut hasher = DefaultHasher::new();
    for name in build::sources(below)? {
        (read(&root.join(&name))?, name).hash(&mut hasher);
    }
    Ok(format!("{:016x}", hasher.finish()))
}

/// Tries with every test that reaches it: which ones were quick in an earlier run is not known.
fn slow(copy: &Copy, id: usize, all: &Reaching) -> Result<Outcome, XtaskError> {
    let Some(tests) = all.get(&id) else { return Ok(Outcome::Unreached) };
    Ok(trial::tried(copy, id, &tests.iter().collect::<Vec<_>>())?.unwrap_or(Outcome::Survived))
}

/// The verb: builds the copy, tries what was not tried yet, writes `docs/validation/mutation.md`.
///
/// # Errors
/// Where something does not build or run. Survivors are no error; they are on the page.
pub fn run(root: &Path, words: &[&str]) -> Result<(), XtaskError> {
    let share = Share::parsed(words)?;
    let folder = metadata::target_folder()?.join("mutation");
    let list = ["mutants", "--list", "--json", "--package", PACKAGE];
    let mutants = mutant::listed(&process::output(process::cargo(&list))?)?;
    let sources = fingerprint(root, "src")?;
    let copy = build::prepare(root, &folder, &mutants, &folder.join(format!("compiling-{sources}.json")))?;
    let programs = build::tests(&copy)?;
    let mut results = Results::taken_up(results::file(&folder, &sources), fingerprint(root, "tests")?);
    let alive: Vec<&Mutant> = mutants.iter().filter(|m| copy.alive.contains(&m.id)).collect();
    let mut order: Vec<&Mutant> = alive.iter().copied().filter(|m| share.takes(m)).collect();
    order.sort_by_key(|m| (m.id * STRIDE) % mutants.len());
    let until = share.minutes.map(|m| Instant::now() + Duration::from_secs(m * 60));
    let late = || until.is_some_and(|u| Instant::now() >= u);
    let quick = if late() { Reaching::new() } else { trial::reaching(&copy, &programs, QUICK)? };
    for mutant in &order {
        if late() {
            break;
        }
        if !results.found.contains_key(&mutant.name) {
            let tests: Vec<&Test> = quick.get(&mutant.id).into_iter().flatten().collect();
            let outcome = trial::tried(&copy, mutant.id, &tests)?;
            results.add(&mutant.name, outcome.unwrap_or(Outcome::PassedQuick))?;
        }
    }
    order.retain(|m| results.found.get(&m.name) == Some(&Outcome::PassedQuick));
    if !late() && !order.is_empty() {
        let all = trial::reaching(&copy, &programs, Duration::MAX)?;
        for mutant in order.iter().take_while(|_| !late()) {
            let outcome = slow(&copy, mutant.id, &all)?;
            results.add(&mutant.name, outcome)?;
        }
    }
    let names: Vec<&str> = alive.iter().map(|m| m.name.as_str()).collect();
    let counts = Counts { listed: mutants.len(), compiled: alive.len() };
    let page = results::page(counts, &names, &results.found);
    write(&root.join("docs/validation/mutation.md"), &page)?;
    println!("docs/validation/mutation.md: {} of {} tried", results.found.len(), alive.len());
    Ok(())
}
