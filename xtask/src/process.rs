//! Running other programs.

use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};

use crate::XtaskError;

/// A command in the workspace's folder.
#[must_use]
pub fn command(program: &str, arguments: &[&str]) -> Command {
    let mut command = Command::new(program);
    command.args(arguments).current_dir(crate::root());
    command
}

/// Cargo, the one that runs this task.
#[must_use]
pub fn cargo(arguments: &[&str]) -> Command {
    command(&std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned()), arguments)
}

fn shown(command: &Command) -> String {
    let words: Vec<_> = std::iter::once(command.get_program()).chain(command.get_args()).collect();
    words.iter().map(|w| w.to_string_lossy()).collect::<Vec<_>>().join(" ")
}

fn start_error(command: &Command, source: std::io::Error) -> XtaskError {
    XtaskError::Start { program: command.get_program().to_string_lossy().into_owned(), source }
}

fn checked(command: &Command, status: std::process::ExitStatus) -> Result<(), XtaskError> {
    if status.success() { Ok(()) } else { Err(XtaskError::Failed { command: shown(command), status }) }
}

/// Runs to the end, its output going where ours goes.
///
/// # Errors
/// Where it does not start or fails.
pub fn run(mut command: Command) -> Result<(), XtaskError> {
    let status = command.status().map_err(|e| start_error(&command, e))?;
    checked(&command, status)
}

/// Runs to the end and hands back what it wrote to its standard output.
///
/// # Errors
/// Where it does not start or fails.
pub fn output(mut command: Command) -> Result<String, XtaskError> {
    let output = command.stderr(Stdio::inherit()).output().map_err(|e| start_error(&command, e))?;
    checked(&command, output.status)?;
    Ok(String::from_utf8_lossy(&output.stdout).into_owned())
}

/// Runs to the end, handing every line of its standard output to `line`; the second result is how it ended.
///
/// # Errors
/// Where it does not start.
pub fn lines(mut command: Command, mut line: impl FnMut(&str)) -> Result<Result<(), XtaskError>, XtaskError> {
    let mut child = command.stdout(Stdio::piped()).spawn().map_err(|e| start_error(&command, e))?;
    if let Some(out) = child.stdout.take() {
        for bytes in BufReader::new(out).split(b'\n').map_while(Result::ok) {
            line(String::from_utf8_lossy(&bytes).trim_end());
        }
    }
    let status = child.wait().map_err(|e| start_error(&command, e))?;
    Ok(checked(&command, status))
}

/// Whether a program answers.
#[must_use]
pub fn answers(program: &str, argument: &str) -> bool {
    let quiet = command(program, &[argument]).stdout(Stdio::null()).stderr(Stdio::null()).status();
    quiet.is_ok_and(|s| s.success())
}
