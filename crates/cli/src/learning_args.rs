//! Arguments of the verbs that learn from measurements.

use std::path::PathBuf;

use clap::{Args, Subcommand};
use fallrate_app::Change;
use fallrate_app::quantities::{
    AirSpeed, Duration, Length, Mass, Moisture, RelativeHumidity, Temperature, WaterActivity,
};

use crate::args::quantity;
use crate::proof_args::DocumentFiles;

/// Arguments of `isotherm`.
#[derive(Debug, Args)]
#[command(after_help = "\
The file is a small table: a row of headings, then one row for each sample. Headings are 'water activity'
(or 'aw'), 'moisture (% wb)' or 'moisture (% db)', and 'temperature (degC)' - in English or Spanish. Cells
are divided by commas, semicolons or tabs; '#' begins a comment. Three pairs are the least; five to eight
between 0.3 and 0.9 tell a target well. Dry a batch further and further, take a sample at each step, let it
rest a day in a closed jar, read its water activity, then dry the rest of it to constant weight.

The interval says how sure the translation is. --keep writes a new product file with the isotherm in it;
use its path as 'product' in plan files.

Examples:
  fallrate isotherm examples/trials/apple_pairs.csv --target 0.60
  fallrate isotherm examples/trials/apple_pairs.csv --product apple --keep apple_own.toml --pdf isotherm.pdf")]
pub struct IsothermArgs {
    /// Table of pairs
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Temperature of all pairs where the table has no column for it, as 25C
    #[arg(long, value_name = "TEMPERATURE", value_parser = quantity::<Temperature>)]
    pub temperature: Option<Temperature>,
    /// Target water activity to translate [default: the product's]
    #[arg(long, value_name = "AW", value_parser = activity)]
    pub target: Option<WaterActivity>,
    /// Temperature of the target [default: 25C]
    #[arg(long, value_name = "TEMPERATURE", value_parser = quantity::<Temperature>)]
    pub at: Option<Temperature>,
    /// Product whose isotherm it is: a key, or the path of a file
    #[arg(long, value_name = "KEY|FILE")]
    pub product: Option<String>,
    /// Write a new product file with this isotherm; its name gives the new product's key
    #[arg(long, value_name = "FILE", help_heading = "Files", requires = "product")]
    pub keep: Option<PathBuf>,
    /// Write everything as JSON
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub json: Option<PathBuf>,
    /// Files.
    #[command(flatten)]
    pub files_out: DocumentFiles,
}

fn activity(text: &str) -> Result<WaterActivity, String> {
    let with_unit = if text.trim().parse::<f64>().is_ok() { format!("{text} aw") } else { text.to_owned() };
    let found: WaterActivity = quantity(&with_unit)?;
    let inside = found.fraction() > 0.0 && found.fraction() < 1.0;
    if inside { Ok(found) } else { Err(format!("water activity: {text}; allowed: above 0 and below 1")) }
}

/// Arguments of `thin-layer`.
#[derive(Debug, Args)]
#[command(after_help = "\
The file is a small table: a row of headings, then one row for each reading. Headings are 'time (h)' or
'time (min)', and 'moisture ratio', 'moisture (% wb)' or 'moisture (kg/kg db)'; further 'curve' where there
are several, 'air (degC)' and 'rh (%)'. Moistures are made into ratios with the first reading and the
moisture that the air would leave: --equilibrium, or the isotherm of --product at the air's humidity.

Such an equation describes the curves it was fitted to and nothing else. For another thickness, air, load
or cabinet fit a trial to the full model: `fallrate trial fit`.

Examples:
  fallrate thin-layer examples/trials/apple_curves.csv --product apple
  fallrate thin-layer curves.csv --air 140F --equilibrium '5 % db' --thickness 0.25in --html curves.html")]
pub struct ThinArgs {
    /// Table of curves
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Air, where the table has no column for it
    #[arg(long, value_name = "TEMPERATURE", value_parser = quantity::<Temperature>)]
    pub air: Option<Temperature>,
    /// Relative humidity of the air, where the table has no column for it
    #[arg(long, value_name = "HUMIDITY", value_parser = quantity::<RelativeHumidity>)]
    pub rh: Option<RelativeHumidity>,
    /// Air speed over the pieces
    #[arg(long, value_name = "SPEED", value_parser = quantity::<AirSpeed>)]
    pub speed: Option<AirSpeed>,
    /// Thickness or diameter of the fresh pieces
    #[arg(long, value_name = "SIZE", value_parser = quantity::<Length>)]
    pub thickness: Option<Length>,
    /// Moisture that the air would leave, as '5 % db'
    #[arg(long, value_name = "MOISTURE", value_parser = moisture)]
    pub equilibrium: Option<Moisture>,
    /// Product whose isotherm says that moisture: a key, or the path of a file
    #[arg(long, value_name = "KEY|FILE")]
    pub product: Option<String>,
    /// Write everything as JSON
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub json: Option<PathBuf>,
    /// Files.
    #[command(flatten)]
    pub files_out: DocumentFiles,
}

fn moisture(text: &str) -> Result<Moisture, String> {
    Moisture::parse(text).map_err(|e| e.to_string())
}

/// Arguments of `trial`.
#[derive(Debug, Args)]
pub struct TrialArgs {
    /// What to do.
    #[command(subcommand)]
    pub verb: TrialVerb,
}

/// What can be done with trials.
#[derive(Debug, Subcommand)]
pub enum TrialVerb {
    /// Plan what to weigh when, on which trays, for the most information
    Plan(TrialPlanArgs),
    /// Fit the full model to weighings; write a product file with the new figures
    Fit(TrialFitArgs),
}

/// What a trial file is.
const TRIAL_FILE: &str = "\
The trial file is short TOML: title, product, zone, and for each trial a section [[trial]] with name, date,
start, the plan file of the cabinet, load and stages (or a section [trial.tunnel] for a thin layer in held
air), the files of its readings, and a [[trial.tray]] with number and tare for each weighed tray. Weighings
come as the hand-entry form ('08:30 tray 3 2.412 kg'), as CSV or as XLSX; air temperature and humidity from
any logger file. State raw moisture and thickness as you measured them, with their errors. Everything is
commented in examples/trials/apple.toml.";

/// Arguments of `trial plan`.
#[derive(Debug, Args)]
#[command(before_long_help = TRIAL_FILE, after_help = "\
The trial file names the trays; its weighings need not be there yet. The plan says at which clock times
which tray tells most, with the weight expected, and what more the same number evenly spread would tell.

Example:
  fallrate trial plan examples/trials/apple.toml --weighings 8 --every 30min --pdf sheet.pdf")]
pub struct TrialPlanArgs {
    /// Trial file
    #[arg(value_name = "FILE")]
    pub file: String,
    /// Weighings after the start, all trays together [default: 8]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=200))]
    pub weighings: Option<u16>,
    /// Time of the last, as 9h [default: the end of the plan's stages, else 8 h]
    #[arg(long, value_name = "TIME", value_parser = quantity::<Duration>)]
    pub until: Option<Duration>,
    /// Least time between two weighings of a tray [default: 30min]
    #[arg(long, value_name = "TIME", value_parser = quantity::<Duration>)]
    pub every: Option<Duration>,
    /// Fresh product on a tray [default: the plan's]
    #[arg(long, value_name = "MASS", value_parser = quantity::<Mass>)]
    pub load: Option<Mass>,
    /// Write everything as JSON
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub json: Option<PathBuf>,
    /// Files.
    #[command(flatten)]
    pub files_out: DocumentFiles,
}

/// Arguments of `trial fit`.
#[derive(Debug, Args)]
#[command(before_long_help = TRIAL_FILE, after_help = "\
Says how well each figure is told, which the data cannot tell apart and what would, what was wrong with the
readings, and which trial to make next. Weights that rise, a wrong tare, a probe that fell out, a trial
stopped early are named and used rightly, or the trial is refused with the reason.

--keep writes a new product file with the figures, their ranges and where they come from. Use its path as
'product' in plan files. A later fit must start from the file as it was before a trial, so that nothing
counts twice; put all trials into one trial file.

Examples:
  fallrate trial fit examples/trials/apple.toml
  fallrate trial fit examples/trials/apple.toml --keep apple_own.toml --pdf trial.pdf --json trial.json")]
pub struct TrialFitArgs {
    /// Trial file
    #[arg(value_name = "FILE")]
    pub file: String,
    /// Write a new product file with the figures; its name gives the new product's key
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub keep: Option<PathBuf>,
    /// Write everything as JSON
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub json: Option<PathBuf>,
    /// Files.
    #[command(flatten)]
    pub files_out: DocumentFiles,
}

/// Arguments of `move`.
#[derive(Debug, Args)]
#[command(after_help = "\
Takes a plan that works here to another cabinet, altitude or season. Vent settings and fan steps are chosen
anew so that the wet bulb runs as near as may be to the course here; loads are scaled by tray area. Says
stage by stage what differs, why, and what to check first. --keep writes the plan file for there.

Examples:
  fallrate move examples/beef_strips.toml --to twin_cart
  fallrate move examples/beef_strips.toml --with 'room.altitude=20 m' --with 'room.temperature=86 degF'
  fallrate move examples/beef_strips.toml --to bench_unit --keep there.toml --html moved.html")]
pub struct MoveArgs {
    /// Plan file
    #[arg(value_name = "PLAN")]
    pub file: String,
    /// Cabinet to go to: a key, or the path of a file
    #[arg(long, value_name = "CABINET", required_unless_present = "with")]
    pub to: Option<String>,
    /// What is different there, as 'room.altitude=1600 m'; may be repeated
    #[arg(long = "with", value_name = "KEY=VALUE", value_parser = crate::args::change)]
    pub with: Vec<Change>,
    /// Draws behind dials and what the forecast hangs on; 0 leaves them out
    #[arg(long, value_name = "N", default_value_t = 128, value_parser = clap::value_parser!(u16).range(0..=5000))]
    pub draws: u16,
    /// Write the plan file for there
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub keep: Option<PathBuf>,
    /// Files.
    #[command(flatten)]
    pub files_out: DocumentFiles,
}

/// Arguments of `learn`.
#[derive(Debug, Args)]
#[command(after_help = "\
Looks through the closed batches of the data folder (those started from a plan and ended in the web app) and
proposes changes of the product's drying rate and the cabinet's exchange. Nothing changes until a person
approves; every approval can be taken back. Weigh a tray or two of each batch, fresh and twice later: then
every ordinary batch teaches.

Examples:
  fallrate learn
  fallrate learn --approve 1 --by 'Ana Ruiz'
  fallrate learn --take-back 3 --by 'Ana Ruiz' --reason 'the scale was wrong in May'
  fallrate learn --product apple --keep apple_own.toml")]
pub struct LearnArgs {
    /// Folder that keeps the records [default: the user's data folder]
    #[arg(long, value_name = "FOLDER")]
    pub data: Option<PathBuf>,
    /// Approve the proposal of a lesson by its number
    #[arg(long, value_name = "N", group = "decision", requires = "by")]
    pub approve: Option<usize>,
    /// Turn the proposal of a lesson down
    #[arg(long, value_name = "N", group = "decision", requires = "by", requires = "reason")]
    pub turn_down: Option<usize>,
    /// Take an approved change back by its entry
    #[arg(long, value_name = "ENTRY", group = "decision", requires = "by", requires = "reason")]
    pub take_back: Option<usize>,
    /// Who decides
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// Why
    #[arg(long, value_name = "WORDS")]
    pub reason: Option<String>,
    /// Product whose approved drying rate is written into a new file
    #[arg(long, value_name = "KEY", requires = "keep", help_heading = "Files")]
    pub product: Option<String>,
    /// Cabinet whose approved exchange is written into a new file
    #[arg(long, value_name = "KEY", requires = "keep", conflicts_with = "product", help_heading = "Files")]
    pub cabinet: Option<String>,
    /// The new product or cabinet file; its name gives its key
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub keep: Option<PathBuf>,
    /// Write everything as JSON
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub json: Option<PathBuf>,
    /// Files.
    #[command(flatten)]
    pub files_out: DocumentFiles,
}
