//! The command line. One description of each option makes all help.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use fallrate_app::quantities::{
    Altitude, HumidityRatio, Pressure, Quantity, RelativeHumidity, Temperature, Volume,
};
use fallrate_app::{Change, Language, Units};

const AFTER: &str = "\
Examples:
  fallrate plan examples/beef_strips.toml
  fallrate plan examples/apple_rings_overnight.toml --html plan.html --csv curves.csv
  fallrate compare examples/beef_strips.toml --with 'stage.cook.vent=crack'
  fallrate compare examples/beef_strips.toml --ways
  fallrate products apple
  fallrate judge examples/proof/core_probes.csv examples/proof/cabinet.xlsx examples/proof/by_hand.txt --batch examples/proof/batch.toml
  fallrate commission examples/commission/tests.toml
  fallrate air --dry-bulb 71C --wet-bulb 54C --altitude 1600m

Exit codes: 0 done (and, where something is judged, met), 1 not met, 2 cannot be judged, 64 wrong command line or bad file, 130 stopped with Ctrl-C.";

/// Plans batches in commercial cabinet (tray) food dryers, judges their records, and keeps them.
#[derive(Debug, Parser)]
#[command(name = "fallrate", version, after_help = AFTER, propagate_version = true, max_term_width = 100)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub verb: Verb,
    /// How figures and words are shown.
    #[command(flatten)]
    pub look: Look,
}

/// How figures and words are shown.
#[derive(Debug, Args)]
pub struct Look {
    /// Units of what is printed; files always carry their own units
    #[arg(long, global = true, value_name = "SYSTEM", default_value = "si", help_heading = "Look")]
    pub units: UnitsArg,
    /// Language of the pages
    #[arg(long, global = true, value_name = "LANGUAGE", default_value = "en", help_heading = "Look")]
    pub lang: LanguageArg,
    /// Columns of the terminal [default: its width, else 100]
    #[arg(long, global = true, value_name = "COLUMNS", help_heading = "Look", value_parser = clap::value_parser!(u16).range(40..=400))]
    pub width: Option<u16>,
    /// Show every table, caution and source
    #[arg(long, global = true, help_heading = "Look")]
    pub full: bool,
}

/// Units of what is printed.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum UnitsArg {
    /// °C, kg, mm
    Si,
    /// °F, lb, in
    Us,
}

impl From<UnitsArg> for Units {
    fn from(u: UnitsArg) -> Self {
        match u {
            UnitsArg::Si => Self::Si,
            UnitsArg::Us => Self::Us,
        }
    }
}

/// Language of the pages.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum LanguageArg {
    /// English
    En,
    /// Spanish
    Es,
}

impl From<LanguageArg> for Language {
    fn from(l: LanguageArg) -> Self {
        match l {
            LanguageArg::En => Self::English,
            LanguageArg::Es => Self::Spanish,
        }
    }
}

/// Verbs.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Plan a batch: what to do when, what to dial, what will come of it, how sure that is
    Plan(PlanArgs),
    /// Put plans, or ways of running one load, side by side, with the main reason for the difference
    Compare(CompareArgs),
    /// List the products, or show one with every figure, its range, mark and source
    Products(ItemArgs),
    /// List the cabinets, or show one with every figure, its range, mark and source
    Cabinets(ItemArgs),
    /// Moist air at hand: a state from any two known quantities, and what a wet bulb needs
    Air(AirArgs),
    /// Look at a logger file: what would be read, and what can be read in two ways
    Readings(crate::proof_args::ReadingsArgs),
    /// Judge logger files of a batch against a published criterion: met, not met, or cannot be judged
    Judge(crate::proof_args::JudgeArgs),
    /// Look up published limits, studies and advice, to choose what to claim
    Criteria(crate::proof_args::CriteriaArgs),
    /// Keep the record of a batch: opened, fed, judged, corrected, signed, printed, verified
    Record(crate::proof_args::RecordArgs),
    /// Measure a cabinet by short tests: what to do next, what came of it, a cabinet file of your own
    Commission(crate::cabinet_args::CommissionArgs),
    /// Hold a test repeated later against a commissioning: what has changed, and how sure that is
    Drift(crate::cabinet_args::DriftArgs),
    /// Write what a virtual cabinet's loggers and hands would: simulated files to practise on, marked as such
    Rehearse(crate::rehearse::RehearseArgs),
    /// Product trials: plan what to weigh when, fit the full model, improve a product file
    Trial(crate::learning_args::TrialArgs),
    /// What closed batches taught: proposals to approve, turn down or take back, and whether bands were honest
    Learn(crate::learning_args::LearnArgs),
    /// Move a recipe to another cabinet, altitude or season, and say what to check first
    Move(crate::learning_args::MoveArgs),
    /// Fit thin-layer equations to drying curves and rank them
    ThinLayer(crate::learning_args::ThinArgs),
    /// Fit an isotherm to pairs of moisture and water activity, and translate a target water activity
    Isotherm(crate::learning_args::IsothermArgs),
    /// Check plan, product and cabinet files of your own; names every problem with line and column
    Check(CheckArgs),
    /// Serve the local web app: the same in a browser, on this machine
    Serve(crate::serve::ServeArgs),
    /// Backups, restoring one, everything as open files, a forgotten PIN or password
    Data(crate::data::DataArgs),
    /// Print the JSON schema of what `plan --json` writes
    Schema,
}

/// Files to write.
#[derive(Debug, Default, Args)]
pub struct Output {
    /// Write the page as one HTML file, charts inside
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub html: Option<PathBuf>,
    /// Write every picture as SVG and PNG into a folder
    #[arg(long, value_name = "FOLDER", help_heading = "Files")]
    pub charts: Option<PathBuf>,
}

/// Arguments of `plan`.
#[derive(Debug, Args)]
#[command(after_help = "\
The plan file is short TOML: product, cabinet, [piece], [load], [room], [start], [staff], [money],
[target] and either [[stage]] sections or propose = true. Every figure carries its unit; moisture says
'% wb' or '% db'. Product and cabinet are keys (see `fallrate products`, `fallrate cabinets`) or paths of
files of your own. What is left out is listed by --full. The files in examples/ are commented.

Files are written whole or not at all, after everything was computed. With '-' for FILE, JSON or CSV goes
to standard output in place of the page.")]
pub struct PlanArgs {
    /// Plan file
    #[arg(value_name = "FILE")]
    pub file: String,
    /// Change one key for this plan, as 'load.total=20 kg', 'stage.dry.vent=half', or 'stage.vent=half' for every stage; may be repeated
    #[arg(long = "with", value_name = "KEY=VALUE", value_parser = change)]
    pub with: Vec<Change>,
    /// Draws behind early, late and the band; 0 leaves them out
    #[arg(long, value_name = "N", default_value_t = 128, value_parser = clap::value_parser!(u16).range(0..=5000))]
    pub draws: u16,
    /// Write the plan as JSON ('-': standard output)
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub json: Option<PathBuf>,
    /// Write all curves as CSV, one row an instant ('-': standard output)
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub csv: Option<PathBuf>,
    /// Other files.
    #[command(flatten)]
    pub output: Output,
}

/// Arguments of `compare`.
#[derive(Debug, Args)]
#[command(after_help = "\
One of: two or more plan files; one plan file with --with (the file as it is is A, the changed one B);
one plan file with --ways (vent shut, cracked and open at the start).

The main reason is found by putting one group of inputs at a time (product, size, load, cabinet, room,
stages, start, target) from the other plan into A and seeing how far the end moves.")]
pub struct CompareArgs {
    /// Plan files
    #[arg(value_name = "FILE", required = true)]
    pub files: Vec<String>,
    /// Compare a file with itself changed, as 'stage.cook.vent=crack'; several changes act together
    #[arg(long = "with", value_name = "KEY=VALUE", value_parser = change, conflicts_with = "ways")]
    pub with: Vec<Change>,
    /// Compare starting the load with the vent shut, cracked and open
    #[arg(long)]
    pub ways: bool,
    /// Draws for the dials; 0 takes the nominal run
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = clap::value_parser!(u16).range(0..=5000))]
    pub draws: u16,
    /// Files.
    #[command(flatten)]
    pub output: Output,
}

/// Arguments of `products` and `cabinets`.
#[derive(Debug, Args)]
pub struct ItemArgs {
    /// Key of one of them, or the path of a file of your own; nothing lists them all
    #[arg(value_name = "KEY|FILE")]
    pub name: Option<String>,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// Files; what each is shows from its sections
    #[arg(value_name = "FILE", required = true)]
    pub files: Vec<String>,
}

/// Arguments of `air`.
#[derive(Debug, Args)]
#[command(
    allow_negative_numbers = true,
    after_help = "\
Give exactly two of dry bulb, wet bulb, dew point, relative humidity and humidity ratio, each with its unit.

Examples:
  fallrate air --dry-bulb 160F --rh 35% --altitude 5250ft --units us
  fallrate air --dry-bulb 71C --wet-bulb 54C --want-wet-bulb 60C --volume 1.6m3"
)]
pub struct AirArgs {
    /// Dry bulb, as 71C or 160F
    #[arg(long, value_name = "TEMPERATURE", value_parser = quantity::<Temperature>, help_heading = "Known (two)")]
    pub dry_bulb: Option<Temperature>,
    /// Wet bulb
    #[arg(long, value_name = "TEMPERATURE", value_parser = quantity::<Temperature>, help_heading = "Known (two)")]
    pub wet_bulb: Option<Temperature>,
    /// Dew point
    #[arg(long, value_name = "TEMPERATURE", value_parser = quantity::<Temperature>, help_heading = "Known (two)")]
    pub dew_point: Option<Temperature>,
    /// Relative humidity, as 35%
    #[arg(long, value_name = "HUMIDITY", value_parser = quantity::<RelativeHumidity>, help_heading = "Known (two)")]
    pub rh: Option<RelativeHumidity>,
    /// Humidity ratio, as 25g/kg or 175gr/lb
    #[arg(long, value_name = "RATIO", value_parser = quantity::<HumidityRatio>, help_heading = "Known (two)")]
    pub humidity_ratio: Option<HumidityRatio>,
    /// Height above sea level, as 1600m or 5250ft [default: 0 m]
    #[arg(long, value_name = "HEIGHT", value_parser = quantity::<Altitude>, help_heading = "Where")]
    pub altitude: Option<Altitude>,
    /// Pressure of the air in place of the altitude, as 84kPa or 24.8inHg
    #[arg(long, value_name = "PRESSURE", value_parser = quantity::<Pressure>, help_heading = "Where")]
    pub pressure: Option<Pressure>,
    /// A wet bulb wanted at this dry bulb: the relative humidity it needs
    #[arg(long, value_name = "TEMPERATURE", value_parser = quantity::<Temperature>, help_heading = "Wanted")]
    pub want_wet_bulb: Option<Temperature>,
    /// A relative humidity wanted at this dry bulb: the wet bulb it gives
    #[arg(long, value_name = "HUMIDITY", value_parser = quantity::<RelativeHumidity>, help_heading = "Wanted")]
    pub want_rh: Option<RelativeHumidity>,
    /// Air volume to bring there: the water it takes, as 1.6m3 or 56ft3
    #[arg(long, value_name = "VOLUME", value_parser = quantity::<Volume>, help_heading = "Wanted")]
    pub volume: Option<Volume>,
}

pub(crate) fn change(text: &str) -> Result<Change, String> {
    Change::parse(text).map_err(|e| e.to_string())
}

pub(crate) fn quantity<Q: Quantity>(text: &str) -> Result<Q, String> {
    Q::parse(text).map_err(|e| e.to_string())
}
