//! Growth limits that a plan claims: a published exposure limit or degree-hours, judged like the plan's other limits.
//! Without a claim both are information.

use fallrate_series::{Log, Proof, Realm};
use serde::{Deserialize, Serialize};

use crate::citation::LimitClass;
use crate::exposure::{DegreeHours, ExposureFinding, degree_hour_bounds, exposure_limits, exposure_to};
use crate::facts::Case;
use crate::plan_limit::CorrectiveAction;
use crate::reason::Missing;
use crate::{Answer, LethalityError};

/// What a plan may claim.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GrowthRule {
    /// Every printed band of one organism (EXPOSURE-A2), by its name in the list.
    Exposure {
        /// Organism.
        organism: String,
    },
    /// Degree-hours over 60 degF (DEGREE-HOURS).
    DegreeHours,
}

/// A growth limit of the plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PlanGrowthLimit {
    /// Name as the plan writes it.
    pub name: String,
    /// Class.
    pub class: LimitClass,
    /// What is claimed.
    pub rule: GrowthRule,
}

/// Degree-hours of one position: what is shown, and what is possible; each `None` where it cannot be said.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PositionDegreeHours {
    /// The position.
    pub position: String,
    /// At the colder end of each interval, less the tolerance.
    pub at_least: Option<DegreeHours>,
    /// At the hotter end, plus the tolerance.
    pub at_most: Option<DegreeHours>,
}

/// How a growth limit of the plan came out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlanGrowthResult {
    /// The limit.
    pub limit: PlanGrowthLimit,
    /// Met: kept at every required position. Not met: missed at one.
    pub answer: Answer,
    /// The bands looked at.
    pub exposure: Vec<ExposureFinding>,
    /// The degree-hours looked at.
    pub degree_hours: Vec<PositionDegreeHours>,
    /// What to supply.
    pub missing: Vec<Missing>,
    /// Opened where a critical limit was missed.
    pub corrective_action: Option<CorrectiveAction>,
}

/// Judges a growth limit of the plan.
///
/// # Errors
/// [`LethalityError::Empty`] for a limit without a name, [`LethalityError::NoSuchOrganism`] for an organism that the
/// table lacks, [`LethalityError::Criteria`] where a table is damaged.
pub fn judge_plan_growth(
    log: &Log<Proof>,
    case: &Case,
    limit: &PlanGrowthLimit,
) -> Result<PlanGrowthResult, LethalityError> {
    growth_of(log, case, limit)
}

pub(crate) fn growth_of<R: Realm>(
    log: &Log<R>,
    case: &Case,
    limit: &PlanGrowthLimit,
) -> Result<PlanGrowthResult, LethalityError> {
    if limit.name.trim().is_empty() {
        return Err(LethalityError::Empty { what: "name of the limit", allowed: "as the plan writes it" });
    }
    let (mut bands, mut sums) = (Vec::new(), Vec::new());
    match &limit.rule {
        GrowthRule::Exposure { organism } => {
            let limits = exposure_limits().unwrap_or_default();
            bands = exposure_to(limits, log, case);
            bands.retain(|f| f.organism == *organism);
            if !limits.iter().any(|l| l.organism == *organism) {
                return Err(LethalityError::NoSuchOrganism { name: organism.clone() });
            }
        }
        GrowthRule::DegreeHours => {
            for name in &case.facts.required_positions {
                let (at_least, at_most) = degree_hour_bounds(log, case, name)?;
                sums.push(PositionDegreeHours { position: name.clone(), at_least, at_most });
            }
        }
    }
    let within = |d: Option<DegreeHours>, unknown: bool| d.map_or(unknown, |d| d.within);
    let of_sums =
        sums.iter().map(|s| Answer::from_bounds(within(s.at_most, false), within(s.at_least, true)));
    let answer = Answer::all(bands.iter().map(|f| f.answer).chain(of_sums));
    let answer = answer.unwrap_or(Answer::CannotBeJudged);
    let clocks = crate::clocks::Clocks::new(log, &case.facts);
    let mut missing = clocks.missing(log, crate::clocks::judge_reads);
    if case.facts.product_met_heat.is_none() {
        missing.push(Missing::ProductMetHeat);
    }
    if case.facts.required_positions.is_empty() {
        missing.push(Missing::RequiredPositions);
    }
    let missed = answer == Answer::NotMet && limit.class == LimitClass::Critical;
    Ok(PlanGrowthResult {
        limit: limit.clone(),
        answer,
        exposure: bands,
        degree_hours: sums,
        missing,
        corrective_action: missed.then(CorrectiveAction::default),
    })
}
