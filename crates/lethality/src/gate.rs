//! What must be known and in scope before a record can be judged.

use crate::facts::{BatchFacts, CabinetKind, Case, ProcessOrder};
use crate::option::{AfterDrying, HumidityOption};
use crate::reason::Missing;
use crate::shelf::shelf_stable;
use crate::verdict::{Item, Part};
use crate::{Answer, ClaimedDocument, LethalityError, LogTarget, Pack, PartUnit};

/// The parts that hold for every option and position.
pub(crate) fn common(case: &Case, clocks_unknown: Vec<Missing>) -> Result<Vec<Part>, LethalityError> {
    let f = &case.facts;
    let mut parts = vec![cabinet(f), order(f), identity(f, clocks_unknown), cold_spot(f)];
    if case.claim.target == LogTarget::Five {
        parts.push(lot(f)?);
    }
    Ok(parts)
}

fn cabinet(f: &BatchFacts) -> Part {
    let ids = vec!["RULE-C38", "JERKY-J37"];
    match f.cabinet {
        Some(CabinetKind::Commercial) => Part::plain(Item::Cabinet, Answer::Met, ids),
        Some(CabinetKind::HomeStyle) => Part::plain(Item::Cabinet, Answer::NotMet, ids),
        None => Part::plain(Item::Cabinet, Answer::CannotBeJudged, ids).missing(vec![Missing::CabinetKind]),
    }
}

/// Whether the guidance covers the order of kill and drying at all.
fn order(f: &BatchFacts) -> Part {
    let ids = vec!["RULE-C38", "RULE-C40", "JERKY-J08"];
    let part = |a| Part::plain(Item::Scope, a, ids.clone());
    match f.order {
        ProcessOrder::KillBeforeDrying | ProcessOrder::HeatedAfterDrying { surface_wetted: Some(true) } => {
            part(Answer::Met)
        }
        ProcessOrder::HeatedAfterDrying { surface_wetted: None } => {
            part(Answer::CannotBeJudged).missing(vec![Missing::SurfaceWetted])
        }
        _ => part(Answer::NotMet),
    }
}

fn identity(f: &BatchFacts, mut missing: Vec<Missing>) -> Part {
    if f.species.is_none() {
        missing.push(Missing::Species);
    }
    if f.product_met_heat.is_none() {
        missing.push(Missing::ProductMetHeat);
    }
    if f.required_positions.is_empty() {
        missing.push(Missing::RequiredPositions);
    }
    let answer = if missing.is_empty() { Answer::Met } else { Answer::CannotBeJudged };
    Part::plain(Item::Identity, answer, vec!["RULE-C13", "RULE-C22"]).missing(missing)
}

fn cold_spot(f: &BatchFacts) -> Part {
    let ids = vec!["RULE-C23", "RULE-C24"];
    match &f.cold_spot_evidence {
        Some(text) if !text.trim().is_empty() => Part::plain(Item::ColdSpot, Answer::Met, ids),
        _ => {
            Part::plain(Item::ColdSpot, Answer::CannotBeJudged, ids).missing(vec![Missing::ColdSpotEvidence])
        }
    }
}

/// A 5-log table counts only with the lot's water activity and pack limit met.
fn lot(f: &BatchFacts) -> Result<Part, LethalityError> {
    let ids = vec!["RULE-C12", "JERKY-J27", "JERKY-J28", "TOOL-04"];
    let mut missing = Vec::new();
    if f.lot.water_activity.is_none() {
        missing.push(Missing::WaterActivity);
    }
    if f.lot.water_activity.is_some() && f.lot.water_activity_tolerance.is_none() {
        missing.push(Missing::WaterActivityTolerance);
    }
    if f.lot.pack.is_none() {
        missing.push(Missing::Pack);
    }
    let (Some(aw), Some(tol), Some(pack)) =
        (f.lot.water_activity, f.lot.water_activity_tolerance, f.lot.pack)
    else {
        return Ok(Part::plain(Item::LotShelfStable, Answer::CannotBeJudged, ids).missing(missing));
    };
    let result = shelf_stable(aw + tol, pack, false)?;
    let answer = if result.shelf_stable { Answer::Met } else { Answer::NotMet };
    let limit = if pack == Pack::Air { crate::AW_LIMIT_AIR } else { crate::AW_LIMIT_NO_OXYGEN };
    Ok(Part::plain(Item::LotShelfStable, answer, ids).figures(aw + tol, 0.0, limit, PartUnit::WaterActivity))
}

/// Whether an option is claimed under its own document.
pub(crate) fn claimed(document: Option<ClaimedDocument>, option: &HumidityOption) -> Part {
    let part = |a| Part::plain(Item::Claimed, a, vec!["TOOL-04"]);
    match document {
        None => part(Answer::CannotBeJudged).missing(vec![Missing::ClaimedDocument]),
        Some(d) if d == option.document() => part(Answer::Met),
        Some(_) => part(Answer::CannotBeJudged).missing(vec![Missing::ClaimedOption]),
    }
}

/// Whether an option is open to a product in this order of kill and drying.
pub(crate) fn open_to_order(f: &BatchFacts, option: &HumidityOption) -> Option<Part> {
    let ProcessOrder::HeatedAfterDrying { .. } = f.order else { return None };
    let part = |a| Part::plain(Item::Scope, a, vec!["RULE-C40", option.id.requirement()]);
    Some(match option.after_drying {
        AfterDrying::Yes => part(Answer::Met),
        AfterDrying::No => part(Answer::NotMet),
        AfterDrying::WithAddedWater => {
            let added = f.no_humidity.iter().find(|e| e.option == option.id).and_then(|e| e.water_added);
            match added {
                Some(true) => part(Answer::Met),
                Some(false) => part(Answer::NotMet),
                None => part(Answer::CannotBeJudged).missing(vec![Missing::NoHumidityEvidence]),
            }
        }
    })
}

/// The declared dry step against the option's limit.
pub(crate) fn dry_step(f: &BatchFacts, option: &HumidityOption) -> Option<Part> {
    let most = option.dry_step_at_most_min?;
    let minutes = dry_step_min(f);
    let supported = f.dry_step_support.as_ref().is_some_and(|s| !s.trim().is_empty());
    let answer = if minutes <= most + 1e-7 || supported { Answer::Met } else { Answer::NotMet };
    Some(Part::plain(Item::DryStep, answer, vec!["JERKY-J07"]).figures(minutes, 0.0, most, PartUnit::Minutes))
}

/// Least total cook: the option's, and 60 min beside the declared dry step for the steam option of the jerky guideline.
pub(crate) fn least_cook_min(f: &BatchFacts, option: &HumidityOption) -> f64 {
    let least = option.cook_at_least_min.unwrap_or(0.0);
    if option.id == crate::OptionId::JerkyA { least + dry_step_min(f) } else { least }
}

fn dry_step_min(f: &BatchFacts) -> f64 {
    f.dry_surface_steps.iter().fold(0.0, |sum, s| sum + s.seconds() / 60.0)
}
