//! Timings of the release build, and beside them other people's solvers on the same equations, in one run.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::{XtaskError, metadata, process, root};

/// What the reference scripts need, at the versions that the kept figures were computed with.
const PYTHON_PACKAGES: [&str; 4] = ["numpy==2.4.6", "scipy==1.17.1", "scikit-sundae==1.2.0", "numba==0.68.1"];
/// Draws of the band that plans are timed with.
const DRAWS: [&str; 4] = ["0", "100", "128", "500"];

/// One solver's time for the standard batch.
#[derive(Clone, Debug, PartialEq)]
pub struct Timing {
    /// Solver and how the equations were written.
    pub solver: String,
    /// Seconds.
    pub seconds: f64,
}

/// The time out of `best of 20: 8.312 ms`, with its label.
#[must_use]
pub fn own_timing(printed: &str) -> Option<Timing> {
    let line = printed.lines().find(|l| l.ends_with(" ms") && l.contains(" of "))?;
    let (label, number) = line.trim_end_matches(" ms").rsplit_once(": ")?;
    Some(Timing { solver: format!("Fallrate, {label}"), seconds: number.trim().parse::<f64>().ok()? / 1e3 })
}

/// The rows of the table that `standard_batch.py --time` prints.
#[must_use]
pub fn script_timings(printed: &str) -> Vec<Timing> {
    let row = |line: &str| {
        let words: Vec<&str> = line.split_whitespace().collect();
        let at = words.iter().position(|w| *w == "numpy" || *w == "numba")?;
        let seconds = words.get(at + 1)?.parse().ok()?;
        Some(Timing { solver: format!("{} ({})", words[..at].join(" "), words[at]), seconds })
    };
    printed.lines().filter_map(row).collect()
}

/// Times beside each other, with how many times as long as ours each took.
#[must_use]
pub fn compared(own: &Timing, others: &[Timing]) -> String {
    let line =
        |t: &Timing| format!("{:60} {:10.4} s {:9.1} x\n", t.solver, t.seconds, t.seconds / own.seconds);
    std::iter::once(own).chain(others).map(line).collect()
}

fn release_example(package: &str, example: &str) -> Result<PathBuf, XtaskError> {
    let package = format!("fallrate-{package}");
    process::run(process::cargo(&[
        "build",
        "--release",
        "--quiet",
        "--package",
        &package,
        "--example",
        example,
    ]))?;
    Ok(metadata::target_folder()?.join("release").join("examples").join(example))
}

/// Runs a program silently: seconds, and its greatest memory in MB where the system tells.
fn watched(mut command: Command) -> Result<(f64, Option<f64>), XtaskError> {
    let program = command.get_program().to_string_lossy().into_owned();
    let failed = |source| XtaskError::Start { program: program.clone(), source };
    let begin = Instant::now();
    let mut child = command.current_dir(root()).stdout(Stdio::null()).spawn().map_err(failed)?;
    let status = format!("/proc/{}/status", child.id());
    let mut most = None;
    loop {
        let text = std::fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|l| l.strip_prefix("VmHWM:"));
        let kilobytes = line.and_then(|l| l.split_whitespace().next()?.parse::<f64>().ok());
        most = kilobytes.map(|k| k / 1e3).or(most);
        if let Some(status) = child.try_wait().map_err(failed)? {
            let seconds = begin.elapsed().as_secs_f64();
            return if status.success() {
                Ok((seconds, most))
            } else {
                Err(XtaskError::Failed { command: program, status })
            };
        }
        std::thread::sleep(Duration::from_millis(1));
    }
}

fn time_plans() -> Result<(), XtaskError> {
    process::run(process::cargo(&["build", "--release", "--quiet", "--bin", "fallrate"]))?;
    let program = metadata::target_folder()?.join("release").join("fallrate");
    println!("\n== a plan from its file (examples/beef_strips.toml), whole process");
    for draws in DRAWS {
        let mut command = Command::new(&program);
        command.args(["plan", "examples/beef_strips.toml", "--draws", draws]);
        let (seconds, memory) = watched(command)?;
        let memory = memory.map_or_else(|| "memory not known".to_owned(), |m| format!("{m:.0} MB at most"));
        println!("{draws:>4} draws {seconds:9.3} s  {memory}");
    }
    Ok(())
}

/// A Python of our own under the target folder, with the packages of the reference scripts.
fn python() -> Result<PathBuf, XtaskError> {
    let folder = metadata::target_folder()?.join("reference_venv");
    let program = folder.join("bin").join("python");
    if !program.is_file() {
        process::run(process::command("python3", &["-m", "venv", &folder.to_string_lossy()]))?;
    }
    let mut install = Command::new(&program);
    install.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check"]).args(PYTHON_PACKAGES);
    process::run(install)?;
    Ok(program)
}

fn script(python: &Path) -> Result<Vec<Timing>, XtaskError> {
    let mut command = Command::new(python);
    command.arg("standard_batch.py").arg("--time").current_dir(root().join("reference").join("scripts"));
    // The compiler's files of the scripts stay out of the source folder.
    command.env("PYTHONDONTWRITEBYTECODE", "1");
    let printed = process::output(command)?;
    println!("{}", printed.lines().next().unwrap_or_default());
    Ok(script_timings(&printed))
}

/// The verb.
///
/// # Errors
/// Where a program fails.
pub fn run(with_python: bool) -> Result<(), XtaskError> {
    let program = release_example("simulate", "standard_batch")?;
    let own = || Ok::<_, XtaskError>(own_timing(&process::output(Command::new(&program))?));
    println!("== the standard batch, release build");
    let before = own()?;
    let others = if with_python { script(&python()?)? } else { vec![] };
    let after = own()?;
    // The slower of the two runs around the scripts counts.
    match before.into_iter().chain(after).max_by(|a, b| a.seconds.total_cmp(&b.seconds)) {
        Some(own) => print!("{}", compared(&own, &others)),
        None => println!("the example standard_batch printed no time"),
    }
    time_plans()?;
    println!("\n== a page after a reading by hand: estimate, forecast and pictures");
    print!("{}", process::output(Command::new(release_example("app", "after_a_reading")?))?);
    Ok(())
}
