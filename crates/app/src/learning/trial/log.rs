//! Readings of a trial: weighings of its trays, its core probes, the air.

use std::path::Path;

use fallrate_fit::trial::{
    AirReading, Apparatus, CoreReading, CoreRecord, TrayRecord, Trial, TrialAir, Weighing,
};
use fallrate_series::{Channel, Instant, Log, Proof, Quality, Reading, Role};

use super::file::{Stated, in_folder};
use crate::error::AppError;
use crate::learning::LearningFault;
use crate::ports::Files;
use crate::proof::{Gathered, ReadingsFile, gather, question_lines};
use crate::words::{Language, Reader, Units};

/// Most bytes of a file of readings.
const MOST_BYTES: usize = 1 << 28;
/// A humidity counts for a temperature within this time, s.
const TOGETHER_S: f64 = 900.0;

/// Reads the files of a trial into it.
pub(super) fn read_log(
    files: &dyn Files,
    path: &str,
    stated: &Stated,
    trial: &mut Trial,
    groups: &[String],
) -> Result<(), AppError> {
    let log = log(files, path, stated)?;
    let text = format!("{} {}", stated.date, stated.start.hm());
    let start = stated.zone.instant(&text, None).map_err(|_| AppError::NoInstant {
        text,
        allowed: "a clock time that came once that day".to_owned(),
    })?;
    trial.trays = empty_trays(stated, groups, path)?;
    for (tray, own) in trial.trays.iter_mut().zip(&stated.trays) {
        let role = Role::TrayWeight { tray: own.number };
        let mut weighings: Vec<Weighing> = readings(&log, &role)
            .map(|r| Weighing { elapsed_s: since(start, r), gross_kg: r.value })
            .filter(|w| w.elapsed_s > -TOGETHER_S)
            .map(|w| Weighing { elapsed_s: w.elapsed_s.max(0.0), ..w })
            .collect();
        weighings.sort_by(|a, b| a.elapsed_s.total_cmp(&b.elapsed_s));
        if weighings.is_empty() {
            let (tray, trial) = (own.number, stated.name.clone());
            return Err(LearningFault::NoWeighings { tray, trial, file: path.to_owned() }.into());
        }
        tray.weighings = weighings;
    }
    trial.cores = cores(&log, start, stated, groups, path)?;
    let air = air(&log, start, trial.pressure_pa);
    let cabinet = matches!(trial.apparatus, Apparatus::Cabinet { .. });
    match (stated.air, air.is_empty()) {
        (Some(0), true) => {
            let (trial, file) = (stated.name.clone(), path.to_owned());
            return Err(LearningFault::NoAirRecord { trial, file }.into());
        }
        (Some(0), _) | (None, false) => trial.air = TrialAir::Recorded(air),
        _ if cabinet => trial.air = TrialAir::Computed,
        _ => {}
    }
    Ok(())
}

/// The trays as stated, without weighings.
pub(super) fn empty_trays(
    stated: &Stated,
    groups: &[String],
    path: &str,
) -> Result<Vec<TrayRecord>, AppError> {
    let tray = |t: &super::file::TrayStated| {
        Ok(TrayRecord {
            name: t.number.to_string(),
            group: group(t.group.as_deref(), groups, &stated.name, path)?,
            positions: None,
            tare_kg: t.tare.kilograms(),
            weighings: Vec::new(),
        })
    };
    stated.trays.iter().map(tray).collect()
}

fn group(name: Option<&str>, groups: &[String], trial: &str, path: &str) -> Result<usize, AppError> {
    match name {
        None if groups.len() < 2 => Ok(0),
        None => group(Some("not named"), groups, trial, path),
        Some(name) => groups.iter().position(|g| g == name).ok_or_else(|| {
            let allowed = if groups.is_empty() { "none in a tunnel".to_owned() } else { groups.join(", ") };
            let (name, trial, file) = (name.to_owned(), trial.to_owned(), path.to_owned());
            LearningFault::NoGroup { name, allowed, trial, file }.into()
        }),
    }
}

fn log(files: &dyn Files, path: &str, stated: &Stated) -> Result<Log<Proof>, AppError> {
    let mut list = Vec::new();
    for name in &stated.files {
        let place = in_folder(path, name);
        let bytes = files.read(Path::new(&place), MOST_BYTES)?;
        let beside = Path::new(&place).with_extension("mapping.toml");
        let mapping = files
            .read(&beside, MOST_BYTES)
            .ok()
            .map(|b| (beside.to_string_lossy().into_owned(), String::from_utf8_lossy(&b).into_owned()));
        list.push(ReadingsFile { name: name.clone(), bytes, mapping });
    }
    match gather(&list, stated.zone.name(), "")? {
        Gathered::Ready(log) => Ok(*log),
        Gathered::Open(open) => {
            let plain = Reader::new(Language::English, Units::Si);
            let list = open
                .iter()
                .flat_map(|o| std::iter::once(o.name.clone()).chain(question_lines(o, &plain)))
                .collect();
            Err(AppError::Questions { list })
        }
    }
}

/// Readings of a role. What was called suspect is left in: a trial has checks of its own, which name what they find.
fn readings<'a>(log: &'a Log<Proof>, role: &Role) -> impl Iterator<Item = &'a Reading> {
    let found: Vec<&'a Channel<Proof>> = log.channels.iter().filter(|c| c.role == *role).collect();
    found.into_iter().flat_map(|c| c.readings()).filter(|r| !matches!(r.quality, Quality::Excluded(_)))
}

fn since(start: Instant, r: &Reading) -> f64 {
    r.at.seconds_since(start)
}

fn cores(
    log: &Log<Proof>,
    start: Instant,
    stated: &Stated,
    groups: &[String],
    path: &str,
) -> Result<Vec<CoreRecord>, AppError> {
    let mut list = Vec::new();
    for c in &stated.cores {
        let own = log
            .channels
            .iter()
            .filter(|ch| matches!(&ch.role, Role::CoreProbe { number, .. } if *number == c.number));
        let readings: Vec<CoreReading> = own
            .flat_map(Channel::readings)
            .filter(|r| !matches!(r.quality, Quality::Excluded(_)))
            .map(|r| CoreReading { elapsed_s: since(start, r), temperature_c: r.value })
            .filter(|r| r.elapsed_s >= 0.0)
            .collect();
        let group = group(c.group.as_deref(), groups, &stated.name, path)?;
        list.push(CoreRecord { name: c.number.to_string(), group, position: None, readings });
    }
    Ok(list)
}

/// Dry bulb with the humidity at its time, from a humidity sensor, else from a wet bulb.
fn air(log: &Log<Proof>, start: Instant, pressure_pa: f64) -> Vec<AirReading> {
    let rh: Vec<&Reading> = readings(log, &Role::RelativeHumidity).collect();
    let wet: Vec<&Reading> = readings(log, &Role::AirWetBulb).collect();
    readings(log, &Role::AirDryBulb)
        .filter_map(|dry| {
            let relative_humidity = match (at(&rh, dry.at), at(&wet, dry.at)) {
                (Some(rh), _) => rh,
                (None, Some(wet)) => {
                    let w = fallrate_air::humidity_ratio_from_wet_bulb(dry.value, wet, pressure_pa);
                    fallrate_air::relative_humidity(dry.value, w, pressure_pa)
                }
                _ => return None,
            };
            Some(AirReading { elapsed_s: since(start, dry), temperature_c: dry.value, relative_humidity })
        })
        .filter(|r| r.elapsed_s >= -TOGETHER_S && r.relative_humidity.is_finite())
        .collect()
}

/// A value at an instant, straight between the readings around it; none where they are too far.
fn at(list: &[&Reading], at: Instant) -> Option<f64> {
    let after = list.partition_point(|r| r.at < at);
    let near = |r: &&&Reading| r.at.seconds_since(at).abs() <= TOGETHER_S;
    let next = list.get(after).filter(near);
    let last = after.checked_sub(1).and_then(|i| list.get(i)).filter(near);
    match (last, next) {
        (Some(a), Some(b)) => {
            let span = b.at.seconds_since(a.at);
            let share = if span > 0.0 { at.seconds_since(a.at) / span } else { 0.0 };
            Some(a.value + share * (b.value - a.value))
        }
        (Some(one), None) | (None, Some(one)) => Some(one.value),
        (None, None) => None,
    }
}
