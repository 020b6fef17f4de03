//! `fallrate`: plans batches in cabinet dryers and judges their records, at the command line.

mod args;
mod cabinet_args;
mod cabinet_tests;
mod data;
mod disk;
mod folder;
mod learning;
mod learning_args;
mod progress;
mod proof;
mod proof_args;
mod record;
mod rehearse;
mod serve;
mod work;

use std::process::ExitCode;

use clap::Parser;

/// A wrong command line or a bad file.
const USAGE: u8 = 64;
/// Stopped by the user, as shells count it.
const STOPPED: u8 = 130;

fn main() -> ExitCode {
    let args = match args::Cli::try_parse() {
        Ok(args) => args,
        Err(e) => {
            let code = if e.use_stderr() { USAGE } else { 0 };
            // A closed pipe leaves nobody to tell.
            let _ = e.print();
            return ExitCode::from(code);
        }
    };
    match work::run(&args) {
        Ok(code) => ExitCode::from(code),
        Err(work::Fault::Stopped) => {
            eprintln!("fallrate: stopped; nothing was written");
            ExitCode::from(STOPPED)
        }
        Err(work::Fault::PipeClosed) => ExitCode::SUCCESS,
        Err(work::Fault::App(e)) => {
            eprintln!("fallrate: {e}");
            ExitCode::from(USAGE)
        }
    }
}
