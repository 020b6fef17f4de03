//! `cargo xtask VERB`.

use std::process::ExitCode;

use xtask::{
    XtaskError, bench, bench_web, browser, check, coverage, fuzz, mutation, postgres, process, requirements,
    root, validation,
};

const HELP: &str = "cargo xtask VERB

  check                  everything that must hold before a change goes in: format, layers, dependencies, lints, tests,
                         doctests, the validation page
  layers                 only the layer test: allowed edges of ARCHITECTURE.md, no input or output below `app`
  dependencies           only the dependency policy: licences, versions that are there twice
  validation [--tables]  runs the tests and the studies and writes docs/validation and the excerpt in README.md
                         (--tables: without the studies)
  postgres-tests         the tests of `database` over Debian's PostgreSQL, which is installed where it is missing
  requirements           which tests prove which requirement: writes docs/requirements/matrix.md, fails on an id without a test
  browser [NAME...]      the web app in a real browser: starts it, drives Chromium, keeps screenshots below target/browser
  soak-kills [N]         kills the server N times (200) while people enter: nothing acknowledged lost, nothing doubled
  api-fuzz [EXAMPLES]    the interface against its own description, by a fuzzer from PyPI; EXAMPLES for each operation (30)
  bench-web [--debug]    start, first page, redraw, twenty cabinets with ten open pages; release build unless --debug
  coverage               regions of the judge that its tests run: writes docs/coverage.md, fails on one that is not run
  mutation [--minutes M] [--shard K/N]
                         mutants of the judge against its tests, taking up where it stopped: writes
                         docs/validation/mutation.md (needs cargo-mutants for the list)
  bench [--no-python]    release timings, and beside them other people's solvers on the same equations
";

fn run(arguments: &[&str]) -> Result<(), XtaskError> {
    match arguments {
        ["check"] => check::all(),
        ["layers"] => check::layers(),
        ["dependencies"] => check::dependencies(),
        ["validation"] => validation::write_pages(&root(), true),
        ["validation", "--tables"] => validation::write_pages(&root(), false),
        ["postgres-tests"] => postgres::run_tests(),
        ["requirements"] => requirements::write_page(&root()),
        ["browser", names @ ..] => browser::run(names),
        ["soak-kills"] => soak_kills("200"),
        ["soak-kills", kills] => soak_kills(kills),
        ["api-fuzz"] => fuzz::run("30"),
        ["api-fuzz", examples] => fuzz::run(examples),
        ["bench-web"] => bench_web::run(true),
        ["bench-web", "--debug"] => bench_web::run(false),
        ["coverage"] => coverage::run(&root()),
        ["mutation", words @ ..] => mutation::run(&root(), words),
        ["bench"] => bench::run(true),
        ["bench", "--no-python"] => bench::run(false),
        [] | ["help" | "--help" | "-h"] => {
            print!("{HELP}");
            Ok(())
        }
        other => Err(XtaskError::Usage(other.join(" "))),
    }
}

fn soak_kills(kills: &str) -> Result<(), XtaskError> {
    let mut test =
        process::cargo(&["test", "--package", "fallrate", "--test", "all", "when_the_server_is_killed"]);
    test.args(["--", "--nocapture"]).env("FALLRATE_KILLS", kills);
    process::run(test)
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match run(&arguments.iter().map(String::as_str).collect::<Vec<_>>()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error @ XtaskError::Usage(_)) => {
            eprintln!("{error}");
            ExitCode::from(64)
        }
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}
