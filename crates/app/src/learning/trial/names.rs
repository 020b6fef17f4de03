//! Names of unknowns, further trials and findings: for people in words, for programs as keys.

use fallrate_fit::trial::{Further, TrialFinding, Unknown, Untold};
use serde_json::{Value, json};

use super::file::TrialFile;
use crate::words::{Reader, say};

fn trial_name(file: &TrialFile, trial: usize) -> String {
    file.cases.get(trial).map_or_else(String::new, |c| c.trial.name.clone())
}

/// The name of an unknown for programs.
pub(super) fn unknown_key(u: Unknown, file: &TrialFile) -> String {
    match u {
        Unknown::Diffusivity => "diffusivity_at_60_c".to_owned(),
        Unknown::ActivationEnergy => "activation_energy".to_owned(),
        Unknown::DiffusivityMoisture => "moisture_dependence".to_owned(),
        Unknown::Exchange => "exchange_factor".to_owned(),
        Unknown::WaterHeld => "water_held_factor".to_owned(),
        Unknown::SidewaysShrinkage => "sideways_shrinkage".to_owned(),
        Unknown::InitialMoisture { trial } => format!("raw_moisture of {}", trial_name(file, trial)),
        Unknown::Size { trial } => format!("size_factor of {}", trial_name(file, trial)),
    }
}

/// The name of an unknown for people.
pub(super) fn unknown_name(r: &Reader, u: Unknown, file: &TrialFile) -> String {
    match u {
        Unknown::InitialMoisture { trial } => {
            say!(r, "trial-unknown-raw", trial = trial_name(file, trial))
        }
        Unknown::Size { trial } => say!(r, "trial-unknown-size", trial = trial_name(file, trial)),
        u => product_unknown(r, u),
    }
}

/// The name of an unknown of the product.
pub(super) fn product_unknown(r: &Reader, u: Unknown) -> String {
    r.text(match u {
        Unknown::Diffusivity => "trial-unknown-diffusivity",
        Unknown::ActivationEnergy => "trial-unknown-energy",
        Unknown::DiffusivityMoisture => "trial-unknown-moisture",
        Unknown::Exchange => "trial-unknown-exchange",
        Unknown::WaterHeld => "trial-unknown-held",
        Unknown::SidewaysShrinkage => "trial-unknown-sideways",
        Unknown::InitialMoisture { .. } => "trial-unknown-raw-all",
        Unknown::Size { .. } => "trial-unknown-size-all",
    })
}

/// Something more to do, for programs.
pub(super) fn further_key(f: Further) -> String {
    match f {
        Further::Repeat => "repeat".to_owned(),
        Further::OtherSize { factor } => format!("other_size x {factor}"),
        Further::OtherTemperature { kelvin } => format!("other_temperature {kelvin:+} K"),
        Further::OtherExchange { factor } => format!("other_exchange x {factor}"),
        Further::OvenTest { trial } => format!("oven_test of trial {}", trial + 1),
        Further::MeasureSize { trial } => format!("measure_size of trial {}", trial + 1),
        Further::WetCloth => "wet_cloth".to_owned(),
        Further::WaterActivityPairs => "water_activity_pairs".to_owned(),
    }
}

/// Something more to do, for people.
pub(super) fn further_words(r: &Reader, f: Further, file: &TrialFile) -> String {
    let size = |factor: f64| {
        let first = file.cases.first().map_or(0.0, |c| c.trial.size_m);
        r.thickness(first * factor)
    };
    match f {
        Further::Repeat => r.text("trial-do-repeat"),
        Further::OtherSize { factor } => say!(r, "trial-do-size", size = size(factor)),
        Further::OtherTemperature { kelvin } => {
            let key = if kelvin > 0.0 { "trial-do-warmer" } else { "trial-do-cooler" };
            say!(r, key, by = r.difference(kelvin.abs()))
        }
        Further::OtherExchange { .. } => r.text("trial-do-speed"),
        Further::OvenTest { trial } => say!(r, "trial-do-oven", trial = trial_name(file, trial)),
        Further::MeasureSize { trial } => say!(r, "trial-do-caliper", trial = trial_name(file, trial)),
        Further::WetCloth => r.text("trial-do-cloth"),
        Further::WaterActivityPairs => r.text("trial-do-pairs"),
    }
}

/// A finding for programs.
pub(super) fn finding_json(f: &TrialFinding, file: &TrialFile) -> Value {
    match f {
        TrialFinding::WeighingLeftOut { tray, elapsed_s, gross_kg, out_by_kg } => json!({
            "kind": "weighing_left_out", "trial": tray.trial, "tray": tray.tray,
            "elapsed_s": elapsed_s, "gross_kg": gross_kg, "out_by_kg": out_by_kg}),
        TrialFinding::TareError { tray, offset_kg, standard_error_kg } => json!({
            "kind": "tare_error", "trial": tray.trial, "tray": tray.tray,
            "offset_kg": offset_kg, "standard_error_kg": standard_error_kg}),
        TrialFinding::StoppedEarly { trial, water_left } => {
            json!({"kind": "stopped_early", "trial": trial, "water_left": water_left})
        }
        TrialFinding::AirProbeOut { trial, from_s, before_c, after_c } => json!({
            "kind": "air_probe_out", "trial": trial, "from_s": from_s, "before_c": before_c, "after_c": after_c}),
        TrialFinding::CoreProbeOut { trial, probe, from_s } => {
            json!({"kind": "core_probe_out", "trial": trial, "probe": probe, "from_s": from_s})
        }
        TrialFinding::AirEndsEarly { trial, at_s } => {
            json!({"kind": "air_ends_early", "trial": trial, "at_s": at_s})
        }
        TrialFinding::AirGap { trial, from_s, to_s } => {
            json!({"kind": "air_gap", "trial": trial, "from_s": from_s, "to_s": to_s})
        }
        TrialFinding::AgainstStatement { unknown, stated, fitted, deviations } => json!({
            "kind": "against_statement", "unknown": unknown_key(*unknown, file),
            "stated": stated, "fitted": fitted, "deviations": deviations}),
        TrialFinding::ModelShape { correlation, widened } => {
            json!({"kind": "model_shape", "correlation": correlation, "widened": widened})
        }
        TrialFinding::MoreScatter { factor } => json!({"kind": "more_scatter", "factor": factor}),
    }
}

/// What the data do not tell, for programs.
pub(super) fn untold_json(u: &Untold, file: &TrialFile) -> Value {
    let remedies: Vec<Value> =
        u.remedies().iter().map(|r| json!({"do": further_key(r.further), "left": r.left})).collect();
    match u {
        Untold::Combination { members, left, .. } => {
            let members: Vec<Value> =
                members.iter().map(|(u, w)| json!([unknown_key(*u, file), w])).collect();
            json!({"kind": "combination", "members": members, "left": left, "remedies": remedies})
        }
        Untold::LimitedBy { unknown, by, share, left, .. } => json!({
            "kind": "limited_by", "unknown": unknown_key(*unknown, file), "by": unknown_key(*by, file),
            "share": share, "left": left, "remedies": remedies}),
    }
}
