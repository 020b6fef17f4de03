//! Arguments of the verbs on cabinets and their tests.

use std::path::PathBuf;

use clap::Args;

use crate::proof_args::DocumentFiles;

/// Arguments of `commission`.
#[derive(Debug, Args)]
#[command(after_help = "\
Measures your own cabinet with short tests: a logger inside, the energy meter, a kitchen scale.

1. Start from a draft: the cabinet of the library that is most like yours (see 'fallrate cabinets'), or a
   copy of its file with your trays, nameplate and vent marks. What is not measured stays as it stands there.
2. Ask which test to do:              fallrate commission --advise bench_unit
3. Do it as the page says; put the logger's file in a folder, and write what you did into a short TOML file
   beside it. examples/commission/tests.toml is a commented one (invented readings).
4. See what came of it:               fallrate commission tests.toml
   It says what was measured and how sure, what was wrong with a record, what could not be learned, and
   which test is worth doing next. Add that test to the file and run it again.
5. Keep it:                           fallrate commission tests.toml --cabinet my_cabinet.toml --pdf report.pdf
   and plan with it: cabinet = \"my_cabinet.toml\" in a plan file.

The program reads logger files as 'fallrate readings' does; a mapping beside each ('heat_up.mapping.toml'), or
one for all ('logger.mapping.toml'), answers what can be read in two ways.

A heat-up and cool-down alone tell only ratios. Read the meter, and watts are told too.

Exit codes: 0 figures measured, 2 nothing could be measured, 64 wrong command line or bad file.

Examples:
  fallrate commission --advise bench_unit
  fallrate commission examples/commission/tests.toml --cabinet measured.toml --pdf commissioning.pdf")]
pub struct CommissionArgs {
    /// File that names the tests and their logger files
    #[arg(value_name = "FILE", required_unless_present = "advise", conflicts_with = "advise")]
    pub file: Option<String>,
    /// Say which test to do first on a cabinet of which nothing is measured yet: its key, or a file
    #[arg(long, value_name = "CABINET")]
    pub advise: Option<String>,
    /// Show only which test to do next, with its instructions
    #[arg(long, requires = "file")]
    pub next: bool,
    /// Write the measured cabinet as a cabinet file
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub cabinet: Option<PathBuf>,
    /// Write every figure as JSON
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub json: Option<PathBuf>,
    /// Documents.
    #[command(flatten)]
    pub files_out: DocumentFiles,
}

/// Arguments of `drift`.
#[derive(Debug, Args)]
#[command(after_help = "\
Holds a test repeated later against an earlier commissioning, and weighs what may have changed: the vent, the
fan, the heater, the door seal, the walls, something else, or nothing. Not every test can see every change;
the page says what this one is blind to.

EARLIER is the file of the commissioning ('fallrate commission'), LATER a file of the same form with the
repeated test or tests.

Exit codes: 0 nothing has changed, 1 something has, 2 not sure, 64 wrong command line or bad file.

Example:
  fallrate drift examples/commission/tests.toml examples/commission/later.toml")]
pub struct DriftArgs {
    /// File of the commissioning
    #[arg(value_name = "EARLIER")]
    pub earlier: String,
    /// File of the test repeated later
    #[arg(value_name = "LATER")]
    pub later: String,
    /// Write every probability as JSON
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub json: Option<PathBuf>,
    /// Documents.
    #[command(flatten)]
    pub files_out: DocumentFiles,
}
