//! What one closed batch says.

use fallrate_fit::learn::{BatchEstimate, GroupKind, PastForecast, QuantityKey};
use fallrate_fit::trial::{TrayRecord, Trial, TrialFitOptions, Unknown, Weighing, fit_trials};
use fallrate_series::{Instant, Role};

use super::{DRYING_RATE, EXCHANGE};
use crate::batches::Run;
use crate::chart::band_at;
use crate::error::AppError;
use crate::learning::trial::put_into;
use crate::library::Library;
use crate::plan_case::{PlanCase, Planned};
use crate::proof::LocalClock;

/// Draws behind the band of a closed batch.
const DRAWS: usize = 64;
/// The band holds this share of cases.
const LEVEL: f64 = 0.8;
/// Standard deviation of a weighing in ordinary work, kg: a bench scale, drips, a tray lifted in a hurry (own judgement).
const SCALE_ERROR_KG: f64 = 0.005;
/// Share of the size, where the plan does not say how it was measured (own judgement).
const SIZE_ERROR: f64 = 0.05;
/// An estimate with a greater error (of the logarithm) says nothing of use.
const LOOSE: f64 = 0.7;
/// Weighings from this long before the start count as fresh, s.
const BEFORE_S: f64 = 900.0;

/// A closed batch and what it says.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchNote {
    /// Id of the record.
    pub id: String,
    /// Lot.
    pub lot: String,
    /// Key of the product.
    pub product: String,
    /// Key of the cabinet.
    pub cabinet: String,
    /// Day.
    pub day: String,
    /// Weighings that were entered.
    pub weighings: usize,
    /// What it says of each quantity.
    pub estimates: Vec<(QuantityKey, BatchEstimate)>,
    /// What was forecast for the last weighing, and what came of it.
    pub forecast: Option<PastForecast>,
    /// Why it says nothing of the quantities.
    pub why_not: Option<String>,
}

/// All closed batches that were started from plans of the library's products and cabinets, by their opening.
pub(super) fn closed(
    library: &Library,
    runs: &[Run],
    tell: &(dyn Fn() -> bool + Sync),
) -> Result<Vec<BatchNote>, AppError> {
    let mut list = Vec::new();
    for run in runs {
        if run.ended.is_none() {
            continue;
        }
        if !tell() {
            return Err(AppError::Cancelled);
        }
        list.push(note(library, run, tell)?);
    }
    Ok(list)
}

fn note(library: &Library, run: &Run, tell: &(dyn Fn() -> bool + Sync)) -> Result<BatchNote, AppError> {
    let start = run.started_at().unwrap_or(run.opened_at);
    let day = LocalClock::named(&run.zone).map_or_else(|| start.utc_date().to_string(), |c| c.day(start));
    let mut note = BatchNote {
        id: run.id.clone(),
        lot: run.lot.clone(),
        product: run.product.clone(),
        cabinet: run.cabinet.clone(),
        day,
        weighings: run.readings.iter().filter(|r| matches!(r.role, Role::TrayWeight { .. })).count(),
        estimates: Vec::new(),
        forecast: None,
        why_not: None,
    };
    match said(library, run, start, &mut note, tell) {
        Ok(()) => {}
        Err(AppError::Cancelled) => return Err(AppError::Cancelled),
        Err(e) => note.why_not = Some(e.to_string()),
    }
    Ok(note)
}

/// Fits the batch and holds its forecast against what came.
fn said(
    library: &Library,
    run: &Run,
    start: Instant,
    note: &mut BatchNote,
    tell: &(dyn Fn() -> bool + Sync),
) -> Result<(), AppError> {
    let case = PlanCase::of_library(library, &run.id, &run.plan_toml)?;
    note.product.clone_from(&case.product.key);
    note.cabinet.clone_from(&case.cabinet.key);
    let planned = case.plan(DRAWS, &|_| tell())?;
    let product = &planned.case.product;
    let mut trial = Trial::in_tunnel(&run.id, product, (60.0, 0.15), 25.0);
    let made = planned.plan.assembled.clone();
    let tare_kg = made.tare_kg;
    put_into(&mut trial, &planned.case, product, made);
    trial.scale_error_kg = SCALE_ERROR_KG;
    trial.size_error = SIZE_ERROR;
    trial.trays = trays(run, &planned, start, tare_kg);
    note.forecast = forecast(note, &planned, &trial);
    let unknowns = [Unknown::Diffusivity, Unknown::Exchange];
    let observer = |_: fallrate_fit::trial::TrialProgress| tell();
    let mut options = TrialFitOptions::of(product, &unknowns);
    options.starts = 1;
    options.profiles = false;
    options.observer = Some(&observer);
    let fit = fit_trials(product, &[trial], &options)?;
    let groups = vec![(GroupKind::Season, season(&note.day).to_owned())];
    let owners = [
        (
            Unknown::Diffusivity,
            QuantityKey {
                product: Some(note.product.clone()),
                cabinet: None,
                quantity: DRYING_RATE.to_owned(),
            },
        ),
        (
            Unknown::Exchange,
            QuantityKey { product: None, cabinet: Some(note.cabinet.clone()), quantity: EXCHANGE.to_owned() },
        ),
    ];
    for (unknown, key) in owners {
        let found = BatchEstimate::of_fit(&run.id, &fit, unknown, groups.clone());
        note.estimates.extend(found.filter(|e| e.deviation < LOOSE).map(|e| (key, e)));
    }
    Ok(())
}

/// Quarter of the year by its months, the same on both halves of the earth.
fn season(day: &str) -> &'static str {
    match day.get(5..7) {
        Some("12" | "01" | "02") => "Dec-Feb",
        Some("03" | "04" | "05") => "Mar-May",
        Some("06" | "07" | "08") => "Jun-Aug",
        _ => "Sep-Nov",
    }
}

/// The weighed trays. Trays are numbered through the groups of the cabinet, from 1.
fn trays(run: &Run, planned: &Planned, start: Instant, tare_kg: f64) -> Vec<TrayRecord> {
    let mut list: Vec<TrayRecord> = Vec::new();
    for r in &run.readings {
        let Role::TrayWeight { tray } = r.role else { continue };
        let elapsed_s = r.at.seconds_since(start);
        if elapsed_s < -BEFORE_S {
            continue;
        }
        let name = tray.to_string();
        let weighing = Weighing { elapsed_s: elapsed_s.max(0.0), gross_kg: r.value };
        match list.iter_mut().find(|t| t.name == name) {
            Some(t) => t.weighings.push(weighing),
            None => {
                let group = group_of(planned, u32::from(tray));
                list.push(TrayRecord { name, group, positions: None, tare_kg, weighings: vec![weighing] });
            }
        }
    }
    list
}

/// Index among the loaded groups of the group that a tray's number lies in.
fn group_of(planned: &Planned, number: u32) -> usize {
    let (mut last, mut loaded) = (0, 0);
    let groups = planned.case.cabinet.groups.iter().zip(&planned.plan.assembled.trays_by_group);
    for (g, trays) in groups {
        last += g.trays;
        if number <= last {
            return loaded;
        }
        loaded += usize::from(*trays > 0);
    }
    0
}

/// The last weighing of a tray that was also weighed fresh: its weight as a share of the fresh one, with the band that the
/// plan gives the mean moisture then.
fn forecast(note: &BatchNote, planned: &Planned, trial: &Trial) -> Option<PastForecast> {
    let tray = trial
        .trays
        .iter()
        .filter(|t| t.weighings.len() > 1 && t.weighings[0].elapsed_s < BEFORE_S)
        .max_by(|a, b| last_s(a).total_cmp(&last_s(b)))?;
    let (first, last) = (tray.weighings.first()?, tray.weighings.last()?);
    let (low, high) = band_at(planned.plan.band.as_ref()?, last.elapsed_s)?;
    let fresh = planned.plan.assembled.setup.batch.material.moisture_initial_dry_basis;
    let share = |x: f64| (1.0 + x) / (1.0 + fresh);
    Some(PastForecast {
        batch: note.id.clone(),
        product: note.product.clone(),
        cabinet: note.cabinet.clone(),
        quantity: "weight left at the last weighing".to_owned(),
        level: LEVEL,
        low: share(low),
        high: share(high),
        truth: (last.gross_kg - tray.tare_kg) / (first.gross_kg - tray.tare_kg),
    })
    .filter(|f| f.low < f.high && f.truth.is_finite())
}

fn last_s(t: &TrayRecord) -> f64 {
    t.weighings.last().map_or(0.0, |w| w.elapsed_s)
}
