//! The verb `rehearse`: files of a virtual cabinet, to try reading, judging and fitting on.

use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use clap::{Args, Subcommand};
use fallrate_app::practice::{
    FaultChoice, Hand, PracticeFile, RehearsalAsked, TestAsked, practised_files, test_files, usual_tests,
};
use fallrate_app::proof::{Instant, LocalClock};
use fallrate_app::quantities::{Altitude, Duration, Quantity, RelativeHumidity, Temperature};
use fallrate_app::{Library, PlanCase};

use crate::disk::{Disk, Pending};
use crate::progress::Watch;
use crate::work::{Fault, print};

/// Arguments of `rehearse`.
#[derive(Debug, Args)]
#[command(after_help = "\
Everything is simulated and says so: the first line of every file of readings, and the batch file, whose
'invented = true' makes `fallrate judge` give practice only. Without that line these files are refused.

A seed hides how the cabinet and the load really are; the same seed gives the same files. `--cabinet-seed` keeps
one cabinet over several loads. The hidden figures are in hidden.toml: open it once you have tried.

Examples:
  fallrate rehearse batch examples/beef_strips.toml --seed 7 --fault power-cut --out practice
  fallrate judge practice/logger.csv practice/by_hand.txt --batch practice/batch.toml
  fallrate rehearse cabinet north --seed 7 --out tests

To rehearse by hand, with acts and a debrief: `fallrate serve`, then Rehearse.")]
pub struct RehearseArgs {
    /// What.
    #[command(subcommand)]
    pub verb: RehearseVerb,
}

/// What is run.
#[derive(Debug, Subcommand)]
pub enum RehearseVerb {
    /// A batch by its plan, every act the moment it is due: logger file, mapping, hand entries, batch file
    Batch(BatchArgs),
    /// Tests of an empty cabinet: heat-up and cool-down, humidity decay for each vent mark, wet cloths on all trays
    Cabinet(CabinetArgs),
}

/// Where and when.
#[derive(Debug, Args)]
pub struct Common {
    /// Folder for the files; made where it does not exist
    #[arg(long, value_name = "FOLDER")]
    pub out: PathBuf,
    /// Seed of what is hidden
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Day of the first run
    #[arg(long, value_name = "YYYY-MM-DD", default_value = "2026-03-13")]
    pub day: String,
    /// Time zone
    #[arg(long, value_name = "ZONE", default_value = "UTC")]
    pub zone: String,
}

/// Arguments of `rehearse batch`.
#[derive(Debug, Args)]
pub struct BatchArgs {
    /// Plan file
    #[arg(value_name = "FILE")]
    pub file: String,
    /// Where, when, seed.
    #[command(flatten)]
    pub common: Common,
    /// Seed of the cabinet alone [default: the seed]
    #[arg(long, value_name = "N")]
    pub cabinet_seed: Option<u64>,
    /// A fault; may be repeated
    #[arg(long = "fault", value_name = "FAULT", value_parser = fault)]
    pub faults: Vec<FaultChoice>,
    /// One or two faults that the seed chooses
    #[arg(long)]
    pub surprise: bool,
    /// Trays that are weighed, as 3,8,14 [default: one in five]
    #[arg(long, value_name = "TRAYS", value_delimiter = ',')]
    pub weigh: Vec<u32>,
    /// Weighed, and cores read by hand, every so often
    #[arg(long, value_name = "TIME", default_value = "1 h", value_parser = duration)]
    pub every: Duration,
}

/// Arguments of `rehearse cabinet`.
#[derive(Debug, Args)]
pub struct CabinetArgs {
    /// Cabinet: a key of the library, or the path of a file of your own
    #[arg(value_name = "KEY|FILE")]
    pub cabinet: String,
    /// Where, when, seed.
    #[command(flatten)]
    pub common: Common,
    /// Room
    #[arg(long, value_name = "TEMPERATURE", default_value = "20C", value_parser = quantity::<Temperature>)]
    pub room: Temperature,
    /// Humidity of the room
    #[arg(long, value_name = "HUMIDITY", default_value = "50%", value_parser = quantity::<RelativeHumidity>)]
    pub room_rh: RelativeHumidity,
    /// Height above sea level
    #[arg(long, value_name = "HEIGHT", default_value = "0m", value_parser = quantity::<Altitude>)]
    pub altitude: Altitude,
}

fn fault(text: &str) -> Result<FaultChoice, String> {
    FaultChoice::from_word(text)
        .ok_or_else(|| format!("allowed: {}", FaultChoice::ALL.map(FaultChoice::word).join(", ")))
}

fn quantity<Q: Quantity>(text: &str) -> Result<Q, String> {
    Q::parse(text).map_err(|e| e.to_string())
}

fn duration(text: &str) -> Result<Duration, String> {
    quantity(text)
}

impl Common {
    fn start(&self, clock_time: &str) -> Result<Instant, Fault> {
        let clock = LocalClock::named(&self.zone).ok_or_else(|| {
            Fault::App(format!("time zone '{}'; allowed: a name of the zone database", self.zone))
        })?;
        let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
        let now = Instant::from_unix_seconds(since.as_secs_f64());
        Ok(clock.read(&format!("{} {clock_time}", self.day), now)?)
    }
}

/// Does what is asked.
///
/// # Errors
/// [`Fault`].
pub fn rehearse(library: &Library, a: &RehearseArgs) -> Result<(), Fault> {
    match &a.verb {
        RehearseVerb::Batch(a) => batch(library, a),
        RehearseVerb::Cabinet(a) => cabinet(library, a),
    }
}

fn batch(library: &Library, a: &BatchArgs) -> Result<(), Fault> {
    let watch = Watch::new();
    let planned = PlanCase::read(library, &Disk, &a.file, &[])?.plan(0, &|p| watch.tell(p))?;
    let asked = RehearsalAsked {
        seed: a.common.seed,
        cabinet_seed: a.cabinet_seed,
        faults: a.faults.clone(),
        surprise: a.surprise,
        start: a.common.start(&planned.start_clock())?,
        zone: a.common.zone.clone(),
        trainee: "trainee".to_owned(),
    };
    let weigh =
        if a.weigh.is_empty() { (1..=planned.loaded_trays()).step_by(5).collect() } else { a.weigh.clone() };
    let hand = Hand { weigh_trays: weigh, weigh_every_s: a.every.seconds(), ..Hand::default() };
    let files = practised_files(&planned, &asked, &hand, &mut |_| !watch.is_stopped())?;
    watch.clear();
    write(&a.common.out, &files)
}

fn cabinet(library: &Library, a: &CabinetArgs) -> Result<(), Fault> {
    let watch = Watch::new();
    let cabinet = library.cabinet(&Disk, &a.cabinet)?;
    let asked = TestAsked {
        seed: a.common.seed,
        start: a.common.start("08:00")?,
        zone: a.common.zone.clone(),
        room_c: a.room.celsius(),
        room_rh: a.room_rh.fraction(),
        altitude_m: a.altitude.metres(),
    };
    let tests = usual_tests(&cabinet);
    let files = test_files(library, &cabinet, &asked, &tests, &mut |_| !watch.is_stopped())?;
    watch.clear();
    write(&a.common.out, &files)
}

/// Writes every file, or none, and says their names.
fn write(folder: &Path, files: &[PracticeFile]) -> Result<(), Fault> {
    let mut pending = Pending::default();
    pending.folder(folder)?;
    for file in files {
        pending.add(&folder.join(&file.name), &file.bytes)?;
    }
    pending.commit()?;
    let names: String = files.iter().map(|f| format!("{}\n", folder.join(&f.name).display())).collect();
    print(&names)
}
