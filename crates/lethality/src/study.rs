//! Published trials: matched with their gaps, never met by likeness; and the schedule a trained person adopts.

use fallrate_series::{Log, Proof, Realm, Role, Span};
use fallrate_units::{RelativeHumidity, Temperature};
use serde::{Deserialize, Serialize};

use crate::authority::Approval;
use crate::clocks::{Clocks, judge_reads};
use crate::data::{STUDIES, STUDY_STAGES, table_once};
use crate::facts::Case;
use crate::humid::HumidRecord;
use crate::reason::Missing;
use crate::record_line::ShownSeconds;
use crate::track::Window;
use crate::{Answer, Basis, LethalityError};

/// A published trial, as tabulated.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Study {
    /// Id.
    pub trial_id: String,
    /// Short name.
    pub study: String,
    /// Animal as printed.
    pub species: String,
    /// Form of the product as printed.
    pub form: String,
    /// Marinated, as printed.
    pub marinated: String,
    /// pH of the marinade, as printed.
    #[serde(rename = "marinade_pH")]
    pub marinade_ph: String,
    /// Total time as printed, min.
    pub total_time_min: String,
    /// Reduction of Salmonella as printed, log10.
    pub log_red_salmonella: String,
    /// "yes", "no", "n/a" or empty.
    pub reached_5_log_salmonella: String,
    /// Worked example, counter-example ...
    pub role: String,
    /// Source.
    pub source: String,
    /// How it is known.
    pub basis: Basis,
}

/// One stage of a trial.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StudyStage {
    /// Trial.
    pub trial_id: String,
    /// Number, from 1.
    pub stage: u32,
    /// Dry bulb, degC.
    #[serde(rename = "dry_bulb_C")]
    pub dry_bulb_c: Option<f64>,
    /// Wet bulb, degC.
    #[serde(rename = "wet_bulb_C")]
    pub wet_bulb_c: Option<f64>,
    /// Relative humidity at the start, as printed.
    pub rh_start_pct_printed: String,
    /// Minutes.
    pub time_min: Option<f64>,
    /// How it is known.
    pub basis: Basis,
}

table_once!(
    /// All trials.
    ///
    /// # Errors
    /// [`LethalityError::Criteria`] where the compiled-in table is damaged.
    pub fn studies -> Study = "studies.csv", STUDIES
);
table_once!(
    /// All stages of all trials.
    ///
    /// # Errors
    /// [`LethalityError::Criteria`] where the compiled-in table is damaged.
    pub fn study_stages -> StudyStage = "study_stages.csv", STUDY_STAGES
);

/// What a plant makes, to look for trials like it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct StudyQuery {
    /// Animal ("beef").
    pub species: String,
    /// Form ("whole muscle", "ground and formed").
    pub form: String,
    /// Marinated.
    pub marinated: Option<bool>,
    /// Thickness, mm.
    pub thickness_mm: Option<f64>,
    /// Highest wet bulb held, degC.
    pub wet_bulb_c: Option<f64>,
    /// Minutes at that wet bulb.
    pub wet_bulb_minutes: Option<f64>,
}

/// In what a plant's process differs from a trial, or what is not known of either.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StudyGap {
    /// Another animal.
    Species,
    /// Another form.
    Form,
    /// Marinated against not, or not stated.
    Marinade,
    /// Thickness is not stated in the trial or by the plant.
    ThicknessNotComparable,
    /// The trial's wet bulb is not stated.
    WetBulbNotStated,
    /// The plant's wet bulb is lower than the trial's.
    WetBulbLower,
    /// Fewer minutes at the wet bulb than in the trial.
    WetBulbShorter,
    /// The trial did not reach 5 log10.
    FiveLogNotReached,
    /// Salt, fat, smoke and equipment must be compared by a person.
    FormulationAndEquipment,
}

/// A trial that resembles a plant's process, with its gaps. This is conditions shown to work (or not), not a verdict.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StudyMatch {
    /// Trial.
    pub trial_id: String,
    /// What differs or is not known. Never empty: formulation and equipment always need a person.
    pub gaps: Vec<StudyGap>,
}

/// All trials, those with the fewest gaps first, each with its gaps.
///
/// # Errors
/// [`LethalityError::Criteria`] where a table is damaged.
pub fn match_studies(query: &StudyQuery) -> Result<Vec<StudyMatch>, LethalityError> {
    let stages = study_stages().unwrap_or_default();
    let one = |s: &Study| StudyMatch { trial_id: s.trial_id.clone(), gaps: gaps(s, stages, query) };
    studies().map(|all| {
        let mut out: Vec<StudyMatch> = all.iter().map(one).collect();
        out.sort_by_key(|m| m.gaps.len());
        out
    })
}

fn gaps(s: &Study, stages: &[StudyStage], q: &StudyQuery) -> Vec<StudyGap> {
    let mut g = Vec::new();
    let differs = |a: &str, b: &str| b.is_empty() || !a.to_lowercase().starts_with(&b.to_lowercase());
    if differs(&s.species, &q.species) {
        g.push(StudyGap::Species);
    }
    if differs(&s.form, &q.form) {
        g.push(StudyGap::Form);
    }
    let said = q.marinated.map(|m| if m { "yes" } else { "no" });
    if said.is_none_or(|m| !s.marinated.starts_with(m)) {
        g.push(StudyGap::Marinade);
    }
    g.push(StudyGap::ThicknessNotComparable);
    let wet: Vec<(f64, f64)> = stages
        .iter()
        .filter(|t| t.trial_id == s.trial_id)
        .filter_map(|t| t.wet_bulb_c.map(|wb| (wb, t.time_min.unwrap_or(f64::INFINITY))))
        .collect();
    if wet.is_empty() {
        g.push(StudyGap::WetBulbNotStated);
    }
    if wet.iter().any(|(wb, _)| q.wet_bulb_c.is_none_or(|mine| mine < wb - 1e-9)) {
        g.push(StudyGap::WetBulbLower);
    }
    if wet.iter().any(|(_, minutes)| q.wet_bulb_minutes.is_none_or(|mine| mine < minutes - 1e-9)) {
        g.push(StudyGap::WetBulbShorter);
    }
    if s.reached_5_log_salmonella != "yes" {
        g.push(StudyGap::FiveLogNotReached);
    }
    g.push(StudyGap::FormulationAndEquipment);
    g
}

/// Limits of one stage of an adopted schedule.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StageLimits {
    /// Name.
    pub name: String,
    /// When it ran.
    pub span: Span,
    /// Least minutes within the limits, in total.
    pub minutes: f64,
    /// Least dry bulb.
    pub dry_bulb_at_least: Option<Temperature>,
    /// Highest dry bulb.
    pub dry_bulb_at_most: Option<Temperature>,
    /// Least wet bulb.
    pub wet_bulb_at_least: Option<Temperature>,
    /// Least relative humidity.
    pub rh_at_least: Option<RelativeHumidity>,
}

/// A study adopted as a schedule of limits.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AdoptedSchedule {
    /// Trial it rests on.
    pub trial_id: String,
    /// The stages in order.
    pub stages: Vec<StageLimits>,
    /// Form, salt, pH, smoke and equipment as the schedule states them.
    pub product_and_equipment: String,
    /// Each mismatch with the study and why it does not matter, in the person's words.
    pub mismatches: Vec<(StudyGap, String)>,
    /// The trained person who signed, and when.
    pub adopted: Option<Approval>,
}

/// How a record came out against an adopted schedule.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ScheduleVerdict {
    /// Over all stages.
    pub answer: Answer,
    /// Each stage: name, minutes shown within limits, unknown, asked, answer.
    pub stages: Vec<StageResult>,
    /// What to supply.
    pub missing: Vec<Missing>,
}

/// One stage against its limits.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StageResult {
    /// Name.
    pub name: String,
    /// How it came out.
    pub answer: Answer,
    /// Minutes shown within the limits.
    pub shown_min: f64,
    /// Unknown minutes.
    pub unknown_min: f64,
    /// Minutes asked.
    pub required_min: f64,
}

/// Judges a measured record against an adopted schedule. Unsigned, or with a gap of the study not answered, it cannot
/// be judged.
///
/// # Errors
/// [`LethalityError::NoSuchStudy`] for an unknown trial; [`LethalityError::Criteria`] where a table is damaged.
pub fn judge_by_schedule(
    log: &Log<Proof>,
    case: &Case,
    schedule: &AdoptedSchedule,
) -> Result<ScheduleVerdict, LethalityError> {
    by_schedule(log, case, schedule)
}

pub(crate) fn by_schedule<R: Realm>(
    log: &Log<R>,
    case: &Case,
    schedule: &AdoptedSchedule,
) -> Result<ScheduleVerdict, LethalityError> {
    if !studies().unwrap_or_default().iter().any(|s| s.trial_id == schedule.trial_id) {
        return Err(LethalityError::NoSuchStudy { id: schedule.trial_id.clone() });
    }
    let clocks = Clocks::new(log, &case.facts);
    let mut missing = clocks.missing(log, judge_reads);
    let clocks_known = missing.is_empty();
    let signed = schedule.adopted.as_ref().is_some_and(|a| !a.name.trim().is_empty());
    let stated =
        !schedule.mismatches.is_empty() && schedule.mismatches.iter().all(|(_, why)| !why.trim().is_empty());
    if !(signed && stated) || schedule.product_and_equipment.trim().is_empty() {
        missing.push(Missing::SecondPersonApproval);
    }
    let in_order =
        schedule.stages.iter().zip(schedule.stages.iter().skip(1)).all(|(a, b)| a.span.to() <= b.span.from());
    if schedule.stages.is_empty() || !in_order {
        missing.push(Missing::Minutes);
    }
    let mut stages = Vec::new();
    for s in &schedule.stages {
        stages.push(stage(log, case, &clocks, s, &mut missing));
    }
    let mut answer = Answer::all(stages.iter().map(|s| s.answer)).unwrap_or(Answer::CannotBeJudged);
    if !missing.is_empty() {
        answer = answer.and(Answer::CannotBeJudged);
    }
    if !(signed && stated && clocks_known) {
        answer = Answer::CannotBeJudged;
    }
    Ok(ScheduleVerdict { answer, stages, missing })
}

fn stage<R: Realm>(
    log: &Log<R>,
    case: &Case,
    clocks: &Clocks,
    s: &StageLimits,
    missing: &mut Vec<Missing>,
) -> StageResult {
    let w = Window::new(s.span.from(), s.span.seconds(), case, clocks);
    let record = HumidRecord { log, facts: &case.facts, clocks, w, span: s.span };
    let limits = [
        s.dry_bulb_at_least.map(|t| record.at_least(&Role::AirDryBulb, t.celsius())),
        s.dry_bulb_at_most.map(|t| record.at_most(&Role::AirDryBulb, t.celsius())),
        s.wet_bulb_at_least.map(|t| record.at_least(&Role::AirWetBulb, t.celsius())),
        s.rh_at_least.map(|rh| record.relative_humidity(rh.fraction())),
    ];
    let all = limits.into_iter().flatten().reduce(|a, b| a.and(b, clocks));
    let shown = all.as_ref().map_or(ShownSeconds::unknown(w.end), |e| record.seconds(e));
    missing.extend(all.into_iter().flat_map(|e| e.missing));
    let answer = shown.minutes_at_least(s.minutes);
    let (shown_min, unknown_min) = (shown.yes_s / 60.0, shown.unknown_s / 60.0);
    StageResult { name: s.name.clone(), answer, shown_min, unknown_min, required_min: s.minutes }
}
