//! Arguments of the verbs on the side of proof.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};
use fallrate_app::proof::NumberedAnswer;
use fallrate_app::proof::record::Amend;

/// Files to write of a document.
#[derive(Debug, Default, Args)]
pub struct DocumentFiles {
    /// Write the document as PDF (PDF/A-2a, tagged)
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub pdf: Option<PathBuf>,
    /// Write the document as one HTML file, charts inside
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub html: Option<PathBuf>,
}

/// Arguments of `readings`.
#[derive(Debug, Args)]
#[command(after_help = "\
Shows what the program would read from a logger file, and asks what can be read in two ways. Answers go
into a mapping file; beside 'core.csv' the program looks for 'core.mapping.toml' by itself. Complete the
mapping by hand: the position of each core probe, and for each instrument its tolerance and calibration.

Examples:
  fallrate readings core.csv
  fallrate readings core.csv --answer 1=2 --answer 2=America/Denver --keep core.mapping.toml")]
pub struct ReadingsArgs {
    /// A logger file: delimited text, workbook (XLSX), JSON lines, or a hand-entry form
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Mapping file [default: the one beside the file, where there is one]
    #[arg(long, value_name = "FILE")]
    pub mapping: Option<PathBuf>,
    /// Time zone of the place, as America/Denver
    #[arg(long, value_name = "ZONE")]
    pub zone: Option<String>,
    /// Answer question N by its reading K, or in words; may be repeated
    #[arg(long = "answer", value_name = "N=K", value_parser = parse::<NumberedAnswer>)]
    pub answers: Vec<NumberedAnswer>,
    /// Write the mapping as it stands with the answers
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub keep: Option<PathBuf>,
}

/// Arguments of `judge`.
#[derive(Debug, Args)]
#[command(after_help = "\
The batch file says what is claimed and stated; examples/proof/batch.toml is a commented one. Beside each
logger file 'core.csv' the program looks for its mapping 'core.mapping.toml'.

Nothing is kept: to keep what was judged, with signatures, use 'fallrate record'.

Exit codes: 0 met, 1 not met, 2 cannot be judged (of criterion, the plan's critical limits, the time after
the kill, and water activity, the worst decides); 64 wrong command line or bad file.

Examples:
  fallrate judge core.csv cabinet.xlsx by_hand.txt --batch batch.toml
  fallrate judge core.csv cabinet.xlsx by_hand.txt --batch batch.toml --criterion J-B --pdf verdict.pdf")]
pub struct JudgeArgs {
    /// Logger files and hand-entry forms of one batch
    #[arg(value_name = "LOG", required = true)]
    pub files: Vec<PathBuf>,
    /// Batch file
    #[arg(long, value_name = "FILE")]
    pub batch: PathBuf,
    /// Humidity option to judge by in place of the one claimed: 1 to 4, J-A to J-E, N1 to N5; may be repeated
    #[arg(long = "criterion", value_name = "OPTION")]
    pub criteria: Vec<String>,
    /// Mapping of one file, as core.csv=probes.toml; may be repeated
    #[arg(long = "mapping", value_name = "LOG=FILE")]
    pub mappings: Vec<String>,
    /// Write everything that was found as JSON
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub json: Option<PathBuf>,
    /// Documents.
    #[command(flatten)]
    pub files_out: DocumentFiles,
}

/// Arguments of `record`.
#[derive(Debug, Args)]
#[command(after_help = "\
A record is a folder: record.jsonl holds one entry a line, each sealed with the hash of the line before;
files/ holds the original bytes. Entries are only ever added; a correction names the entry it corrects.

Example, from raw files to a signed PDF:
  fallrate record open lot-0910 --batch batch.toml --by 'Owner'
  fallrate record add lot-0910 core.csv cabinet.xlsx by_hand.txt --by 'Evening operator'
  fallrate record judge lot-0910 --by 'Owner'
  fallrate record sign lot-0910 --meaning monitored --by 'Evening operator'
  fallrate record sign lot-0910 --meaning reviewed --by 'Outside reviewer' --training 'HACCP course, 2024'
  fallrate record show lot-0910 --pdf lot-0910.pdf
  fallrate record verify lot-0910 --head '3f9a 02c1 …'")]
pub struct RecordArgs {
    /// What to do.
    #[command(subcommand)]
    pub verb: RecordVerb,
}

/// Who makes an entry.
#[derive(Debug, Args)]
pub struct By {
    /// Who makes the entry: the name as it is printed
    #[arg(long, value_name = "NAME", env = "FALLRATE_BY")]
    pub by: String,
}

/// What to do with a record.
#[derive(Debug, Subcommand)]
pub enum RecordVerb {
    /// Open a record from a batch file
    Open {
        /// Folder of the record; made here
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
        /// Batch file
        #[arg(long, value_name = "FILE")]
        batch: PathBuf,
        #[command(flatten)]
        by: By,
    },
    /// Keep files: readings with their mapping, papers, photos
    Add {
        /// Folder of the record
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
        /// Files
        #[arg(value_name = "FILE", required = true)]
        files: Vec<PathBuf>,
        /// What they are used as
        #[arg(long = "as", value_name = "USE", default_value = "readings")]
        used_as: UseArg,
        /// Mapping of one file, as core.csv=probes.toml; may be repeated
        #[arg(long = "mapping", value_name = "LOG=FILE")]
        mappings: Vec<String>,
        #[command(flatten)]
        by: By,
    },
    /// State anew what changed in the batch file
    State {
        /// Folder of the record
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
        /// Batch file
        #[arg(long, value_name = "FILE")]
        batch: PathBuf,
        /// Why it changed
        #[arg(long, value_name = "WORDS")]
        reason: String,
        #[command(flatten)]
        by: By,
    },
    /// Enter readings or events by hand, as '08:05 core 2 rear 161 degF with TH-07'
    Enter {
        /// Folder of the record
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
        /// Lines of the hand-entry form
        #[arg(value_name = "LINE", required = true)]
        lines: Vec<String>,
        /// Day of the readings [default: today]
        #[arg(long, value_name = "DATE")]
        date: Option<String>,
        /// How far the clock that was read may be off, as '30 s'
        #[arg(long, value_name = "TIME")]
        clock_within: Option<String>,
        #[command(flatten)]
        by: By,
    },
    /// Write a note
    Note {
        /// Folder of the record
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
        /// The note
        #[arg(value_name = "WORDS")]
        text: String,
        /// When it happened, where that was not now
        #[arg(long, value_name = "TIME")]
        at: Option<String>,
        #[command(flatten)]
        by: By,
    },
    /// Enter one part of a corrective action
    Action {
        /// Folder of the record
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
        /// Name of the limit that was missed, or 'criterion'
        #[arg(value_name = "DEVIATION")]
        deviation: String,
        /// Which of the four parts
        #[arg(value_name = "PART")]
        part: PartArg,
        /// What was found or done
        #[arg(value_name = "WORDS")]
        text: String,
        /// Product held, as '22 kg'; with the disposition
        #[arg(long, value_name = "MASS")]
        held: Option<String>,
        /// What happened to it; with the disposition
        #[arg(long, value_name = "WHAT")]
        decision: Option<DispositionArg>,
        #[command(flatten)]
        by: By,
    },
    /// Correct an entry: it stays, and the correction names it
    Correct {
        /// Folder of the record
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
        /// Number of the entry
        #[arg(value_name = "ENTRY")]
        entry: u64,
        /// Set a field anew, as 'value=0.79'; may be repeated
        #[arg(long = "set", value_name = "FIELD=VALUE", required = true, value_parser = parse::<Amend>)]
        sets: Vec<Amend>,
        /// Why
        #[arg(long, value_name = "WORDS")]
        reason: String,
        #[command(flatten)]
        by: By,
    },
    /// Withdraw an entry: it stays, marked as withdrawn
    Withdraw {
        /// Folder of the record
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
        /// Number of the entry
        #[arg(value_name = "ENTRY")]
        entry: u64,
        /// Why
        #[arg(long, value_name = "WORDS")]
        reason: String,
        #[command(flatten)]
        by: By,
    },
    /// Judge records from their kept files, and enter the verdict
    Judge {
        /// Folders of records; of several, the worst answer decides the exit code
        #[arg(value_name = "FOLDER", required = true)]
        folders: Vec<PathBuf>,
        #[command(flatten)]
        by: By,
    },
    /// Sign what stands in the record
    Sign {
        /// Folder of the record
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
        /// What the signature means
        #[arg(long, value_name = "MEANING")]
        meaning: MeaningArg,
        /// Training the reviewer relies on
        #[arg(long, value_name = "WORDS")]
        training: Option<String>,
        /// Why the person who reviews made entries as well (a solo owner)
        #[arg(long, value_name = "WORDS")]
        same_person_because: Option<String>,
        #[command(flatten)]
        by: By,
    },
    /// Show the record; judged anew from its files, nothing is entered
    Show {
        /// Folder of the record
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
        #[command(flatten)]
        files_out: DocumentFiles,
    },
    /// List the entries with their numbers
    Entries {
        /// Folder of the record
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
    },
    /// Verify a record offline: chain, files, and a head printed on a page
    Verify {
        /// Folder of the record
        #[arg(value_name = "FOLDER")]
        folder: PathBuf,
        /// Head of the chain as printed, whole or its first 16 digits
        #[arg(long, value_name = "HEAD")]
        head: Option<String>,
    },
}

/// What a file is used as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum UseArg {
    /// Readings: a logger file or a hand-entry form
    Readings,
    /// A paper: certificate, letter, study
    Support,
    /// A photo
    Photo,
}

/// A part of a corrective action.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PartArg {
    /// The cause, found and removed
    Cause,
    /// The control point, back under control
    Control,
    /// Measures against recurrence
    Prevention,
    /// What happened to the product
    Disposition,
}

/// What happened to product that was held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum DispositionArg {
    /// Found safe for the reasons given
    Release,
    /// Processed again
    Rework,
    /// Used for something else
    Divert,
    /// Destroyed
    Destroy,
}

/// What a signature means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum MeaningArg {
    /// I made the readings
    Monitored,
    /// I checked instruments, readings, actions
    Verified,
    /// I reviewed the record before shipping
    Reviewed,
    /// The lot may ship
    Released,
    /// I approve what stands here
    Approved,
}

fn parse<T: std::str::FromStr<Err = String>>(text: &str) -> Result<T, String> {
    text.parse()
}

/// What `criteria` shows.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum CriteriaTopic {
    /// The humidity options of the cooking and the jerky guideline
    Options,
    /// Temperature and time for an animal, every row
    Rows,
    /// Published jerky trials, the most alike first, with what differs
    Studies,
    /// Routes for a plant that cannot hold humidity
    Routes,
    /// Moisture limits by product standard
    Moisture,
    /// Advice on pasteurising dried produce
    Produce,
    /// Longest times in growth bands
    Exposure,
}

/// Reduction asked.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum LethalityArg {
    /// 5 log10
    #[value(name = "5")]
    Five,
    /// 6.5 log10
    #[value(name = "6.5")]
    SixPointFive,
    /// 7 log10
    #[value(name = "7")]
    Seven,
}

/// Arguments of `criteria`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  fallrate criteria options
  fallrate criteria rows --animal turkey --fat 5 --lethality 7
  fallrate criteria studies --animal beef --form 'whole muscle' --marinated true --wet-bulb 51.7C --minutes 60")]
pub struct CriteriaArgs {
    /// What to show
    #[arg(value_name = "TOPIC")]
    pub topic: CriteriaTopic,
    /// Animal, as in a batch file ("beef", "other poultry") [default: beef]
    #[arg(long, value_name = "ANIMAL")]
    pub animal: Option<String>,
    /// Fat, per cent
    #[arg(long, value_name = "PERCENT")]
    pub fat: Option<f64>,
    /// Reduction of Salmonella, log10
    #[arg(long, value_name = "LOG10", default_value = "6.5")]
    pub lethality: LethalityArg,
    /// Form of the product ("whole muscle", "ground and formed")
    #[arg(long, value_name = "FORM", default_value = "")]
    pub form: String,
    /// Whether it is marinated
    #[arg(long, value_name = "true|false")]
    pub marinated: Option<bool>,
    /// Wet bulb held
    #[arg(long, value_name = "TEMPERATURE", value_parser = <fallrate_app::quantities::Temperature as fallrate_app::quantities::Quantity>::parse)]
    pub wet_bulb: Option<fallrate_app::quantities::Temperature>,
    /// Minutes at that wet bulb
    #[arg(long, value_name = "MINUTES")]
    pub minutes: Option<f64>,
    /// Write the page as one HTML file
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub html: Option<PathBuf>,
}
