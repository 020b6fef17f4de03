//! Commissioning and drift for machines. Always SI.

use fallrate_fit::commission::Told;
use serde::Serialize;

use super::drifted::Drifted;
use super::report::Evaluated;
use super::tell;
use crate::error::AppError;
use crate::words::{Language, Reader, Units};

fn written<T: Serialize>(value: &T) -> Result<String, AppError> {
    serde_json::to_string_pretty(value)
        .map_err(|e| AppError::NotAValue { field: "json".to_owned(), why: e.to_string() })
}

#[derive(Serialize)]
struct FigureOut {
    name: String,
    key: String,
    told: &'static str,
    value: Option<f64>,
    standard_error: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    unit: &'static str,
}

#[derive(Serialize)]
struct FindingOut {
    test: String,
    text: String,
    done: String,
}

#[derive(Serialize)]
struct CommissionOut {
    format: &'static str,
    cabinet: String,
    draft: String,
    date: String,
    invented: bool,
    figures: Vec<FigureOut>,
    findings: Vec<FindingOut>,
    next_tests: Vec<String>,
}

/// What was measured as JSON.
///
/// # Errors
/// [`AppError::NotAValue`]; not with figures of this program.
pub fn commission_json(e: &Evaluated) -> Result<String, AppError> {
    let r = Reader::new(Language::English, Units::Si);
    let figure = |o: &fallrate_fit::commission::Outcome| {
        let (told, value, standard_error, low, high) = match o.told {
            Told::Yes { value, standard_error } => ("yes", Some(value), Some(standard_error), None, None),
            Told::Roughly { low, high } => ("roughly", None, None, Some(low), Some(high)),
            Told::No => ("no", None, None, None, None),
        };
        FigureOut {
            name: tell::quantity(&r, &e.draft, o.quantity),
            key: format!("{:?}", o.quantity),
            told,
            value,
            standard_error,
            low,
            high,
            unit: base_unit(o.quantity),
        }
    };
    let finding = |f: &fallrate_fit::commission::Finding| FindingOut {
        test: f.test.clone(),
        text: tell::finding(&r, f),
        done: format!("{:?}", f.done),
    };
    written(&CommissionOut {
        format: "fallrate-commission-1",
        cabinet: e.file.key.clone(),
        draft: e.draft.key.clone(),
        date: e.file.date.to_string(),
        invented: e.file.invented,
        figures: e.found.outcomes.iter().map(figure).collect(),
        findings: e.found.findings.iter().map(finding).collect(),
        next_tests: e.advice.iter().map(|a| tell::ask(&r, &e.draft, a.planned.ask)).collect(),
    })
}

const fn base_unit(q: fallrate_fit::commission::Quantity) -> &'static str {
    use fallrate_fit::commission::Quantity as Q;
    match q {
        Q::HeaterPower => "W",
        Q::HeatCapacity => "J/K",
        Q::ShellLoss | Q::WholeLoss(_) => "W/K",
        Q::FinalRise(_) | Q::DisplayOffset | Q::Band | Q::RoomForError => "K",
        Q::TimeConstant(_) | Q::SensorLag => "s",
        Q::WarmUpRate => "K/s",
        Q::Leakage | Q::Vent(_) | Q::FreshAir(_) => "kg/s",
        Q::FreshAirRatio(..) | Q::AirShare(_) => "1",
        Q::WallWater => "kg",
        Q::Volume => "m3",
        Q::Exchange => "W/(m2 K)",
    }
}

#[derive(Serialize)]
struct CauseOut {
    cause: String,
    probability: f64,
    likelihood_ratio_against_nothing: f64,
    factor: Option<f64>,
    factor_log_standard_error: Option<f64>,
    visible_to_this_test: bool,
}

#[derive(Serialize)]
struct DriftOut {
    test: String,
    causes: Vec<CauseOut>,
    findings: Vec<String>,
}

/// What may have changed as JSON.
///
/// # Errors
/// As [`commission_json`].
pub fn drift_json(d: &Drifted) -> Result<String, AppError> {
    let r = Reader::new(Language::English, Units::Si);
    let one = |(test, drift): &(String, fallrate_fit::commission::Drift)| DriftOut {
        test: test.clone(),
        causes: drift
            .weighed
            .iter()
            .map(|w| CauseOut {
                cause: format!("{:?}", w.cause),
                probability: w.probability,
                likelihood_ratio_against_nothing: w.against_nothing,
                factor: w.factor.map(|f| f.0),
                factor_log_standard_error: w.factor.map(|f| f.1),
                visible_to_this_test: w.visible,
            })
            .collect(),
        findings: drift.findings.iter().map(|f| tell::finding(&r, f)).collect(),
    };
    written(&d.tests.iter().map(one).collect::<Vec<_>>())
}

#[derive(Serialize)]
struct AdviceOut {
    test: String,
    duration_s: f64,
    hands_s: f64,
    worth: f64,
    worth_per_hour: f64,
    narrows: Vec<String>,
}

/// Which tests are worth doing on a cabinet of which nothing is measured, as JSON.
///
/// # Errors
/// [`AppError`] where the cabinet is not known.
pub fn advice_json(library: &crate::Library, cabinet: &str) -> Result<String, AppError> {
    let r = Reader::new(Language::English, Units::Si);
    let draft = library.cabinet(&crate::ports::MemoryFiles::default(), cabinet)?;
    let advice = fallrate_fit::commission::advise(&draft, &Default::default(), None)?;
    let one = |a: &fallrate_fit::commission::Advice| AdviceOut {
        test: tell::ask(&r, &draft, a.planned.ask),
        duration_s: a.planned.duration_s,
        hands_s: a.planned.hands_s,
        worth: a.worth,
        worth_per_hour: a.worth_per_hour,
        narrows: a.narrows.iter().map(|n| tell::quantity(&r, &draft, n.quantity)).collect(),
    };
    written(&advice.iter().map(one).collect::<Vec<_>>())
}
