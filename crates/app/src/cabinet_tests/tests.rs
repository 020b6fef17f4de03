//! Logger files into the records of tests.

use std::path::Path;

use fallrate_equipment::Cabinet;
use fallrate_fit::commission::{AirReading, CabinetTest};
use fallrate_series::{Log, Proof, Quality, Reading, Role, SuspectReason};

use super::file::{Commissioning, TestEntry, meter};
use crate::error::AppError;
use crate::ports::Files;
use crate::proof::{Gathered, ReadingsFile, gather, question_lines};
use crate::words::Reader;

/// Most bytes of a logger file.
const MOST_BYTES: usize = 1 << 28;

/// Where the logger files of a commissioning are found.
pub trait TestFiles {
    /// The logger file of a name, with its mapping where there is one.
    ///
    /// # Errors
    /// [`AppError::File`].
    fn log(&self, name: &str) -> Result<ReadingsFile, AppError>;
}

/// Logger files beside a file, each with the mapping beside it: `heat_up.csv` with `heat_up.mapping.toml`, else
/// `logger.mapping.toml` for all of them.
#[derive(Clone, Copy)]
pub struct TestFolder<'a> {
    /// Files.
    pub files: &'a dyn Files,
    /// The file they stand beside.
    pub beside: &'a str,
}

impl std::fmt::Debug for TestFolder<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("TestFolder").field("beside", &self.beside).finish_non_exhaustive()
    }
}

impl TestFiles for TestFolder<'_> {
    fn log(&self, name: &str) -> Result<ReadingsFile, AppError> {
        let folder = Path::new(self.beside).parent().unwrap_or_else(|| Path::new(""));
        let path = folder.join(name);
        let bytes = self.files.read(&path, MOST_BYTES)?;
        let mut mapping = None;
        for beside in [path.with_extension("mapping.toml"), folder.join("logger.mapping.toml")] {
            if let Ok(bytes) = self.files.read(&beside, MOST_BYTES) {
                mapping = Some((
                    beside.to_string_lossy().into_owned(),
                    String::from_utf8_lossy(&bytes).into_owned(),
                ));
                break;
            }
        }
        let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        Ok(ReadingsFile { name, bytes, mapping })
    }
}

/// The records of all tests.
pub(super) fn records(
    c: &Commissioning,
    draft: &Cabinet,
    files: &dyn TestFiles,
    reader: &Reader,
) -> Result<Vec<CabinetTest>, AppError> {
    c.tests.iter().map(|t| record(c, t, draft, files, reader)).collect()
}

fn record(
    c: &Commissioning,
    entry: &TestEntry,
    draft: &Cabinet,
    files: &dyn TestFiles,
    reader: &Reader,
) -> Result<CabinetTest, AppError> {
    let mark = draft.vent.marks.iter().position(|m| m.name == entry.vent);
    let vent = mark.ok_or_else(|| {
        let marks: Vec<&str> = draft.vent.marks.iter().map(|m| m.name.as_str()).collect();
        AppError::Unknown(Box::new(crate::error::UnknownName {
            what: "vent mark",
            name: entry.vent.clone(),
            allowed: marks.join(", "),
            place: None,
            near: fallrate_datafile::nearest(&entry.vent, marks.iter().copied()).map(str::to_owned),
        }))
    })?;
    let file = files.log(&entry.log)?;
    let log = match gather(&[file], c.clock.name(), &c.by)? {
        Gathered::Ready(log) => *log,
        Gathered::Open(open) => {
            let lines: Vec<String> = open.iter().flat_map(|o| question_lines(o, reader)).collect();
            return Err(AppError::CabinetTest {
                test: entry.name.clone(),
                what: format!("its file '{}' can be read in two ways", entry.log),
                allowed: format!(
                    "an answer to each, by 'fallrate readings {} --answer N=K --keep {}'\n{}",
                    entry.log,
                    Path::new(&entry.log).with_extension("mapping.toml").display(),
                    lines.join("\n")
                ),
            });
        }
    };
    let zero = entry.span.0.or_else(|| log.span().map(|s| s.from()));
    let zero = zero.ok_or_else(|| no_air(entry))?;
    let air = air(&log, entry)?;
    Ok(CabinetTest {
        name: entry.name.clone(),
        kind: entry.what.from(zero),
        vent,
        room: entry.room,
        air: air
            .into_iter()
            .map(|(r, rh)| AirReading {
                at_s: r.at.seconds_since(zero),
                temperature_c: r.value,
                relative_humidity: rh,
            })
            .collect(),
        meter: meter(entry, zero),
        meter_step_kwh: entry.meter_step_kwh,
        temperature_step_k: entry.temperature_step_k,
    })
}

fn no_air(entry: &TestEntry) -> AppError {
    AppError::CabinetTest {
        test: entry.name.clone(),
        what: format!("'{}' has no air temperature", entry.log),
        allowed: "a column with the role 'air'".to_owned(),
    }
}

/// Whether a reading may be used here. A value that stands still is what a steady hold looks like; whether a logger stuck is
/// looked at with the test.
fn usable(r: &Reading) -> bool {
    r.quality.counts() || r.quality == Quality::Suspect(SuspectReason::Stuck)
}

/// Air temperature with the humidity of the same instant.
fn air(log: &Log<Proof>, entry: &TestEntry) -> Result<Vec<(Reading, Option<f64>)>, AppError> {
    let channel = log.with_role(&Role::AirDryBulb).next().ok_or_else(|| no_air(entry))?;
    let humidity = log.with_role(&Role::RelativeHumidity).next();
    let inside = |r: &&Reading| {
        entry.span.0.is_none_or(|from| r.at >= from) && entry.span.1.is_none_or(|to| r.at <= to)
    };
    let with = |r: &Reading| {
        let rh = humidity.and_then(|h| {
            let i = h.readings().partition_point(|x| x.at < r.at);
            h.readings().get(i).filter(|x| x.at == r.at && usable(x)).map(|x| x.value)
        });
        (*r, rh)
    };
    Ok(channel.readings().iter().filter(inside).filter(|r| usable(r)).map(with).collect())
}
