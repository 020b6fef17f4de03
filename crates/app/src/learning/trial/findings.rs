//! Findings about trials in words: what was noticed, what was done about it, what to do next.

use fallrate_fit::trial::{TrialFinding, Unknown};
use fallrate_report::{Block, Level};

use super::file::TrialFile;
use super::names::unknown_name;
use crate::learning::sheet::{digits, notice};
use crate::words::{Reader, say};

/// A mass of grams: "12 g", "0.4 oz".
pub(super) fn small_mass(r: &Reader, kg: f64) -> String {
    if r.units == crate::words::Units::Us {
        format!("{} oz", digits(kg / 0.028_349_523, 2))
    } else {
        format!("{} g", digits(1e3 * kg, 2))
    }
}

/// A finding with its level.
pub(super) fn finding(r: &Reader, f: &TrialFinding, file: &TrialFile) -> Block {
    let (level, text) = match f {
        TrialFinding::WeighingLeftOut { tray, elapsed_s, gross_kg, out_by_kg } => (
            Level::Caution,
            say!(
                r,
                "trial-found-left-out",
                tray = tray.tray.clone(),
                trial = tray.trial.clone(),
                at = r.duration(*elapsed_s),
                mass = r.mass(*gross_kg, 3),
                by = small_mass(r, *out_by_kg)
            ),
        ),
        TrialFinding::TareError { tray, offset_kg, standard_error_kg } => (
            Level::Caution,
            say!(
                r,
                "trial-found-tare",
                tray = tray.tray.clone(),
                trial = tray.trial.clone(),
                offset = small_mass(r, *offset_kg),
                error = small_mass(r, *standard_error_kg)
            ),
        ),
        TrialFinding::StoppedEarly { trial, water_left } => (
            Level::Caution,
            say!(r, "trial-found-early", trial = trial.clone(), left = r.percent(*water_left)),
        ),
        TrialFinding::AgainstStatement { unknown, stated, fitted, deviations } => {
            (Level::Act, against(r, *unknown, (*stated, *fitted), *deviations, file))
        }
        TrialFinding::ModelShape { widened, .. } => {
            (Level::Caution, say!(r, "trial-found-shape", widened = digits(*widened, 2)))
        }
        TrialFinding::MoreScatter { factor } => {
            (Level::Note, say!(r, "trial-found-scatter", factor = digits(*factor, 2)))
        }
        air => (Level::Caution, air_finding(r, air)),
    };
    notice(r, level, text)
}

fn air_finding(r: &Reader, f: &TrialFinding) -> String {
    match f {
        TrialFinding::AirProbeOut { trial, from_s, before_c, after_c } => say!(
            r,
            "trial-found-air-probe",
            trial = trial.clone(),
            from = r.duration(*from_s),
            before = r.temperature(*before_c),
            after = r.temperature(*after_c)
        ),
        TrialFinding::CoreProbeOut { trial, probe, from_s } => {
            let (trial, probe) = (trial.clone(), probe.clone());
            say!(r, "trial-found-core-probe", trial = trial, probe = probe, from = r.duration(*from_s))
        }
        TrialFinding::AirEndsEarly { trial, at_s } => {
            say!(r, "trial-found-air-ends", trial = trial.clone(), at = r.duration(*at_s))
        }
        TrialFinding::AirGap { trial, from_s, to_s } => {
            let (from, to) = (r.duration(*from_s), r.duration(*to_s));
            say!(r, "trial-found-air-gap", trial = trial.clone(), from = from, to = to)
        }
        _ => String::new(),
    }
}

fn against(
    r: &Reader,
    unknown: Unknown,
    (stated, fitted): (f64, f64),
    deviations: f64,
    file: &TrialFile,
) -> String {
    let shown = |v: f64| match unknown {
        Unknown::Size { trial } => r.thickness(v * file.cases.get(trial).map_or(0.0, |c| c.trial.size_m)),
        _ => r.moisture(v / (1.0 - v)),
    };
    say!(
        r,
        "trial-found-against",
        what = unknown_name(r, unknown, file),
        stated = shown(stated),
        fitted = shown(fitted),
        deviations = digits(deviations, 2)
    )
}
