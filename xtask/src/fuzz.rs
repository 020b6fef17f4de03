//! The interface for programs held against its own description by a fuzzer from PyPI.

use crate::{XtaskError, browser, http, metadata, process, write};

/// The fuzzer; it is used, never carried along.
const PACKAGES: [&str; 1] = ["schemathesis==4.32.5"];
/// Left out: what the fuzzer would write all over this machine's disk, wherever its invented paths lead.
const LEFT_OUT: [&str; 3] = ["/upkeep/exports", "/upkeep/folder", "/upkeep/backups"];

/// A request too large is refused as such, which the fuzzer does not count among the refusals.
const SETTINGS: &str = "[checks.negative_data_rejection]
expected-statuses = [400, 401, 403, 404, 405, 406, 409, 413, 415, 422, 428, 429]
";

/// Runs it against a server with a plant and a batch.
///
/// # Errors
/// Where something does not start, or the interface does otherwise than its description says.
pub fn run(examples: &str) -> Result<(), XtaskError> {
    let target = metadata::target_folder()?;
    let venv = target.join("fuzz_venv");
    let python = venv.join("bin/python");
    if !python.is_file() {
        process::run(process::command("python3", &["-m", "venv", &venv.to_string_lossy()]))?;
    }
    let mut install = process::command(&python.to_string_lossy(), &["-m", "pip", "install", "--quiet"]);
    install.arg("--disable-pip-version-check").args(PACKAGES);
    process::run(install)?;
    process::run(process::cargo(&["build", "--quiet", "--package", "fallrate"]))?;
    let data = target.join("fuzz/data");
    // Records of an earlier run would be known to this one.
    let _ = std::fs::remove_dir_all(&data);
    let server = browser::serve(&target.join("debug/fallrate"), &data, false)?;
    let batch = http::batch(&server.address, 1)?;
    println!("a batch to be found: {batch}");
    let at = server.address.trim_end_matches('/');
    let settings = target.join("fuzz/schemathesis.toml");
    write(&settings, SETTINGS)?;
    let mut fuzz = process::command(&venv.join("bin/schemathesis").to_string_lossy(), &["--config-file"]);
    fuzz.arg(&settings).arg("run");
    fuzz.arg(format!("{at}/api/v1/openapi.json")).args(["--url", &format!("{at}/api/v1")]);
    // A text such as a plan file or a quantity may fit the description and still say nothing: that is refused with words.
    fuzz.args(["--checks", "all", "--exclude-checks", "positive_data_acceptance"]);
    // A plan with hundreds of draws takes its time on a busy machine.
    fuzz.args(["--request-timeout", "120", "--max-response-time", "120"]);
    fuzz.args(["--header", "Sec-Fetch-Site: same-origin"]);
    fuzz.args(["--phases", "examples,coverage,fuzzing"]);
    fuzz.args(["--max-examples", examples, "--seed", "8420", "--generation-database", "none"]);
    for path in LEFT_OUT {
        fuzz.args(["--exclude-path", path]);
    }
    fuzz.current_dir(&target);
    process::run(fuzz)?;
    // It is still there.
    let answer = http::ask(&server.address, ("GET", &batch), "", None)?;
    if answer.status == 200 {
        Ok(())
    } else {
        Err(XtaskError::Findings(vec![format!("{batch}: status {}", answer.status)]))
    }
}
