//! Logger files, workbooks and hand-entry forms into one log.

use fallrate_ingest::{
    Asked, IngestError, Mapping, MergeOptions, MergePart, Options, Outcome, is_hand_entry, merge, read_bytes,
    read_hand,
};
use fallrate_series::{Log, Proof};

use crate::AppError;

/// A file of readings as a person handed it in.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingsFile {
    /// Its name, without folders.
    pub name: String,
    /// Its bytes, kept as they are.
    pub bytes: Vec<u8>,
    /// Name and text of the mapping file for this kind of file.
    pub mapping: Option<(String, String)>,
}

/// A file that can be read in two ways: what must be answered first.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenFile {
    /// Its name.
    pub name: String,
    /// The mapping as it stands.
    pub mapping: Mapping,
    /// The questions, and what was seen.
    pub asked: Asked,
}

/// What became of the files.
#[derive(Clone, Debug, PartialEq)]
pub enum Gathered {
    /// One log of all of them.
    Ready(Box<Log<Proof>>),
    /// Questions are open.
    Open(Vec<OpenFile>),
}

/// Reads files into one log. `zone` is that of the place; `clocks_vouched_by` is who says that the loggers' clocks were
/// right, empty where nobody does.
///
/// # Errors
/// [`AppError::Ingest`] where a file is refused; nothing of the others is kept then.
pub fn gather(files: &[ReadingsFile], zone: &str, clocks_vouched_by: &str) -> Result<Gathered, AppError> {
    let options = Options {
        default_zone: Some(zone.to_owned()),
        declared_by: clocks_vouched_by.to_owned(),
        ..Options::default()
    };
    let (mut parts, mut open) = (Vec::new(), Vec::new());
    for file in files {
        match read_one(file, &options)? {
            Read::Log(log) => {
                parts.push(MergePart { log: *log, offset_s: 0.0, evidence: None, uncertainty_s: None })
            }
            Read::Open(o) => open.push(*o),
        }
    }
    if !open.is_empty() {
        return Ok(Gathered::Open(open));
    }
    let log = match parts.is_empty() {
        true => Log::new(zone),
        false => merge(parts, zone, MergeOptions { join_continuations: true })?,
    };
    Ok(Gathered::Ready(Box::new(log)))
}

enum Read {
    Log(Box<Log<Proof>>),
    Open(Box<OpenFile>),
}

fn read_one(file: &ReadingsFile, options: &Options) -> Result<Read, AppError> {
    let mapping = mapping_of(file)?;
    let open = |asked: Box<Asked>, mapping: Mapping| {
        Read::Open(Box::new(OpenFile { name: file.name.clone(), mapping, asked: *asked }))
    };
    if is_hand_entry(&file.bytes) {
        return Ok(match read_hand(&file.name, &file.bytes, options)? {
            Outcome::Done(read) => Read::Log(Box::new(read.log)),
            Outcome::Asked(asked) => open(asked, mapping),
        });
    }
    Ok(match read_bytes(&file.name, &file.bytes, &mapping, options)? {
        Outcome::Done(log) => Read::Log(Box::new(log)),
        Outcome::Asked(asked) => open(asked, mapping),
    })
}

/// The mapping of a file, or an empty one.
///
/// # Errors
/// [`IngestError::Mapping`].
pub fn mapping_of(file: &ReadingsFile) -> Result<Mapping, IngestError> {
    match &file.mapping {
        Some((name, text)) => Mapping::parse(name, text),
        None => Ok(Mapping::new()),
    }
}

/// What a file looks like to the program: what it would read, and what it would ask.
///
/// # Errors
/// [`AppError::Ingest`].
pub fn look_at(file: &ReadingsFile, zone: Option<&str>) -> Result<OpenFile, AppError> {
    let mapping = mapping_of(file)?;
    let options = Options { default_zone: zone.map(str::to_owned), ..Options::default() };
    let asked = fallrate_ingest::inspect(&file.name, &file.bytes, &mapping, &options)?;
    Ok(OpenFile { name: file.name.clone(), mapping, asked })
}
