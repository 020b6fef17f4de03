use std::path::PathBuf;

/// Why a task failed.
#[derive(Debug, thiserror::Error)]
pub enum XtaskError {
    /// A file that cannot be read or written.
    #[error("{}: {source}", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A program that cannot be started.
    #[error("{program}: cannot be started: {source}")]
    Start {
        /// Which.
        program: String,
        /// Why.
        source: std::io::Error,
    },
    /// A program that failed.
    #[error("{command}: failed with {status}")]
    Failed {
        /// The command line.
        command: String,
        /// Its exit status.
        status: std::process::ExitStatus,
    },
    /// What cargo printed could not be read.
    #[error("cargo metadata: {0}")]
    Metadata(#[from] serde_json::Error),
    /// A rule of the house is broken; every finding on its own line.
    #[error("{} found:\n  {}", .0.len(), .0.join("\n  "))]
    Findings(Vec<String>),
    /// A verb or option that does not exist.
    #[error("{0}: not known; see `cargo xtask help`")]
    Usage(String),
}

/// An error out of findings; none where there are none.
pub(crate) fn none_of(findings: Vec<String>) -> Result<(), XtaskError> {
    if findings.is_empty() { Ok(()) } else { Err(XtaskError::Findings(findings)) }
}
