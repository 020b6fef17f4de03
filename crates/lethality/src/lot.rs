//! What the answer on a lot is made of: the criterion and the plan's limits kept apart, what enters and what does not,
//! what is still waited for and what can no longer be judged.

use serde::{Deserialize, Serialize};

use crate::authority::AuthorityVerdict;
use crate::citation::LimitClass;
use crate::end_point::{WaterActivityResult, judge_water_activity};
use crate::facts::LotFacts;
use crate::plan_growth::PlanGrowthResult;
use crate::plan_limit::{CorrectiveAction, PlanLimitResult};
use crate::reason::Missing;
use crate::shelf::{AW_LIMIT_AIR, AW_LIMIT_NO_OXYGEN, JERKY_MPR_LIMIT};
use crate::study::ScheduleVerdict;
use crate::verdict::{Judgement, VerdictMeasured};
use crate::{Answer, Pack};

/// The criterion that the lot's kill step rests on, chosen before the run.
#[derive(Clone, Copy, Debug)]
pub enum LotCriterion<'a> {
    /// The published criterion that the verdict was judged by.
    Published,
    /// An authority's own criterion.
    Authority(&'a AuthorityVerdict),
    /// An adopted study.
    Schedule(&'a ScheduleVerdict),
}

/// What is claimed of the lot beside the kill step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LotClaims {
    /// Shelf-stable by water activity and pack.
    pub shelf_stable: bool,
    /// Packed as single servings.
    pub single_serving: bool,
    /// Called jerky on the label.
    pub called_jerky: bool,
    /// Ratio of water to protein, kg/kg, where it was measured.
    pub moisture_to_protein_ratio: Option<f64>,
}

/// A limit judged elsewhere, by its name: a moisture limit of a product standard, a quality limit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LotExtra {
    /// Name.
    pub name: String,
    /// Class.
    pub class: LimitClass,
    /// How it came out.
    pub answer: Answer,
}

/// A corrective action as recorded, by the name of what it answers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RecordedAction {
    /// The limit or deviation.
    pub name: String,
    /// The action.
    pub action: CorrectiveAction,
}

/// Everything a lot's answer is made of beside the verdict.
#[derive(Clone, Copy, Debug)]
pub struct LotInputs<'a> {
    /// What the kill step rests on.
    pub criterion: LotCriterion<'a>,
    /// The plan's limits.
    pub limits: &'a [PlanLimitResult],
    /// The plan's growth limits.
    pub growth: &'a [PlanGrowthResult],
    /// Water activity and pack.
    pub lot: LotFacts,
    /// What is claimed beside the kill step.
    pub claims: LotClaims,
    /// Other limits.
    pub extras: &'a [LotExtra],
    /// Corrective actions as recorded.
    pub actions: &'a [RecordedAction],
}

/// What a part of the answer is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LotItem {
    /// The published criterion.
    PublishedCriterion,
    /// The authority's own criterion.
    AuthorityCriterion,
    /// The adopted study.
    AdoptedStudy,
    /// A limit of the plan.
    PlanLimit {
        /// Its name.
        name: String,
    },
    /// Warm wet product after the kill.
    AfterKill,
    /// Water activity and pack.
    ShelfStable,
    /// The name jerky.
    NameJerky,
    /// "Refrigerate after opening" on the label. Met: not needed. Not met: the label must say so.
    RefrigerateAfterOpening,
    /// Another limit.
    Other {
        /// Its name.
        name: String,
    },
}

/// How a part stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PartState {
    /// Met.
    Met,
    /// Open, and everything missing can still come.
    Waiting,
    /// Open, and something missing cannot come any more.
    CanNoLongerBeJudged,
    /// Not met.
    NotMet,
}

/// One part of the lot's answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LotPart {
    /// What it is.
    pub item: LotItem,
    /// Its class. Only critical parts enter the lot's answer.
    pub class: LimitClass,
    /// How it came out.
    pub answer: Answer,
    /// How it stands.
    pub state: PartState,
    /// What to supply.
    pub missing: Vec<Missing>,
}

impl LotPart {
    fn new(item: LotItem, class: LimitClass, answer: Answer, missing: Vec<Missing>) -> Self {
        let may_come = !missing.is_empty() && missing.iter().all(Missing::may_still_come);
        let state = match answer {
            Answer::Met => PartState::Met,
            Answer::NotMet => PartState::NotMet,
            Answer::CannotBeJudged if may_come => PartState::Waiting,
            Answer::CannotBeJudged => PartState::CanNoLongerBeJudged,
        };
        Self { item, class, answer, state, missing }
    }
    fn is_missed_limit(&self) -> bool {
        matches!(self.item, LotItem::PlanLimit { .. }) && self.answer == Answer::NotMet
    }
    /// Whether it enters the lot's answer.
    #[must_use]
    pub fn enters(&self) -> bool {
        self.class == LimitClass::Critical
    }
}

/// What the lot's answer comes to for the person who must decide.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LotStanding {
    /// Every critical part is met and no corrective action is open.
    Clear,
    /// A critical limit of the plan was missed, its corrective action is complete and everything else is met: the
    /// recorded disposition decides.
    DispositionDecides,
    /// Hold: what is open can still come.
    Waiting,
    /// Hold: a corrective action is not complete.
    ActionOpen,
    /// Hold: a critical part can no longer be judged.
    CanNoLongerBeJudged,
    /// Hold: a critical part other than the plan's own limits is not met.
    NotMet,
}

/// What a lot's answer is made of. It says what the record supports; a person decides.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LotAnswer {
    /// All critical parts together.
    pub answer: Answer,
    /// The criterion that the kill step rests on, alone.
    pub criterion: Answer,
    /// The plan's own critical limits, alone: met is kept, not met is missed. `None` where the plan has none.
    pub plan: Option<Answer>,
    /// What it comes to.
    pub standing: LotStanding,
    /// Every part, critical or not.
    pub parts: Vec<LotPart>,
    /// What critical parts wait for, each once.
    pub waiting_for: Vec<Missing>,
    /// What critical parts lack that cannot come any more, each once.
    pub gone: Vec<Missing>,
    /// Names of the corrective actions that are not complete.
    pub open_actions: Vec<String>,
}

impl LotAnswer {
    /// The answer without the plan's critical limits that were missed: those are deviations, each with a corrective
    /// action of its own that decides whether the lot may go.
    #[must_use]
    pub fn beside_missed_limits(&self) -> Answer {
        let rest = self.parts.iter().filter(|p| p.enters() && !p.is_missed_limit());
        Answer::all(rest.map(|p| p.answer)).unwrap_or(Answer::CannotBeJudged)
    }
    /// The plan's critical limits that were missed, by name, each once. Each opens a corrective action.
    #[must_use]
    pub fn missed_limits(&self) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for part in self.parts.iter().filter(|p| p.enters() && p.is_missed_limit()) {
            if let LotItem::PlanLimit { name } = &part.item
                && !names.contains(name)
            {
                names.push(name.clone());
            }
        }
        names
    }
    /// Everything that critical parts lack can still come.
    #[must_use]
    pub fn waiting(&self) -> bool {
        self.answer == Answer::CannotBeJudged && self.standing == LotStanding::Waiting
    }
}

/// Puts a lot's answer together. Nothing is judged here that was not judged before, but water activity, pack and name.
#[must_use]
pub fn lot_answer(verdict: &VerdictMeasured, inputs: &LotInputs<'_>) -> LotAnswer {
    lot_of(verdict.judgement(), inputs)
}

pub(crate) fn lot_of(judgement: &Judgement, inputs: &LotInputs<'_>) -> LotAnswer {
    let criterion = criterion(judgement, inputs);
    let plan = plan_parts(inputs);
    let critical = |parts: &[LotPart]| Answer::all(parts.iter().filter(|p| p.enters()).map(|p| p.answer));
    let (criterion_answer, plan_answer) = (criterion.answer, critical(&plan));
    let open_actions = open_actions(inputs);
    let mut parts = vec![criterion];
    parts.extend(after_kill(judgement, inputs));
    parts.extend(shelf(inputs));
    let others: Vec<PartState> = parts.iter().filter(|p| p.enters()).map(|p| p.state).collect();
    parts.extend(plan);
    let extra =
        |e: &LotExtra| LotPart::new(LotItem::Other { name: e.name.clone() }, e.class, e.answer, vec![]);
    parts.extend(inputs.extras.iter().map(extra));
    let lacking = |may_come: bool| {
        let open = parts.iter().filter(|p| p.enters() && p.answer == Answer::CannotBeJudged);
        let mut out: Vec<Missing> = Vec::new();
        for m in open.flat_map(|p| &p.missing).filter(|m| m.may_still_come() == may_come) {
            if !out.contains(m) {
                out.push(m.clone());
            }
        }
        out
    };
    LotAnswer {
        answer: critical(&parts).unwrap_or(Answer::CannotBeJudged),
        criterion: criterion_answer,
        plan: plan_answer,
        standing: standing(&parts, &others, !open_actions.is_empty()),
        waiting_for: lacking(true),
        gone: lacking(false),
        open_actions,
        parts,
    }
}

/// `beside_plan` are the critical parts but for the plan's own limits and the extras.
fn standing(parts: &[LotPart], beside_plan: &[PartState], action_open: bool) -> LotStanding {
    let any = |state: PartState| parts.iter().any(|p| p.enters() && p.state == state);
    let extra_missed = parts
        .iter()
        .any(|p| p.enters() && p.state == PartState::NotMet && matches!(p.item, LotItem::Other { .. }));
    if beside_plan.contains(&PartState::NotMet) || extra_missed {
        LotStanding::NotMet
    } else if any(PartState::CanNoLongerBeJudged) {
        LotStanding::CanNoLongerBeJudged
    } else if action_open {
        LotStanding::ActionOpen
    } else if any(PartState::Waiting) {
        LotStanding::Waiting
    } else if any(PartState::NotMet) {
        LotStanding::DispositionDecides
    } else {
        LotStanding::Clear
    }
}

fn criterion(j: &Judgement, inputs: &LotInputs<'_>) -> LotPart {
    let (item, answer, missing) = match inputs.criterion {
        LotCriterion::Published => (LotItem::PublishedCriterion, j.answer, j.missing.clone()),
        LotCriterion::Authority(v) => (LotItem::AuthorityCriterion, v.answer, v.missing.clone()),
        LotCriterion::Schedule(v) => (LotItem::AdoptedStudy, v.answer, v.missing.clone()),
    };
    let mut part = LotPart::new(item, LimitClass::Critical, answer, missing);
    if matches!(inputs.criterion, LotCriterion::Published) && answer == Answer::CannotBeJudged {
        // What an option lacks that does not decide must not turn waiting into gone.
        part.state = if j.waiting { PartState::Waiting } else { PartState::CanNoLongerBeJudged };
    }
    part
}

fn plan_parts(inputs: &LotInputs<'_>) -> Vec<LotPart> {
    let item = |name: &str| LotItem::PlanLimit { name: name.to_owned() };
    let limits = inputs
        .limits
        .iter()
        .map(|l| LotPart::new(item(&l.limit.name), l.limit.class, l.answer, l.missing.clone()));
    let growth = inputs
        .growth
        .iter()
        .map(|g| LotPart::new(item(&g.limit.name), g.limit.class, g.answer, g.missing.clone()));
    limits.chain(growth).collect()
}

/// Warm wet product after the kill. Where the plan names a limit for it, that limit is among the plan's and is not
/// counted twice; one that is named but not judged is missing.
fn after_kill(judgement: &Judgement, inputs: &LotInputs<'_>) -> Option<LotPart> {
    let after = judgement.after_kill.as_ref()?;
    let part = |answer, missing| LotPart::new(LotItem::AfterKill, LimitClass::Critical, answer, missing);
    let lacks = || vec![Missing::PlanLimitAfterKill];
    match (after.answer, &after.plan_limit) {
        (Some(Answer::CannotBeJudged), _) if after.limit_min.is_some() => {
            Some(part(Answer::CannotBeJudged, vec![Missing::Minutes]))
        }
        (Some(Answer::CannotBeJudged), _) => Some(part(Answer::CannotBeJudged, lacks())),
        (Some(answer), _) => Some(part(answer, Vec::new())),
        (None, name) => {
            let critical = |n: &str, class| name.as_deref() == Some(n) && class == LimitClass::Critical;
            let judged = inputs.limits.iter().any(|l| critical(&l.limit.name, l.limit.class))
                || inputs.growth.iter().any(|g| critical(&g.limit.name, g.limit.class));
            (!judged).then(|| part(Answer::CannotBeJudged, lacks()))
        }
    }
}

/// Water activity and pack, where shelf stability is claimed; the label and the name.
fn shelf(inputs: &LotInputs<'_>) -> Vec<LotPart> {
    let (lot, claims) = (inputs.lot, inputs.claims);
    let missing: Vec<Missing> = [
        (lot.water_activity.is_none(), Missing::WaterActivity),
        (
            lot.water_activity.is_some() && lot.water_activity_tolerance.is_none(),
            Missing::WaterActivityTolerance,
        ),
        (lot.pack.is_none(), Missing::Pack),
    ]
    .into_iter()
    .filter(|(lacks, _)| *lacks)
    .map(|(_, m)| m)
    .collect();
    let highest = lot.water_activity.zip(lot.water_activity_tolerance).map(|(aw, tol)| aw + tol);
    let known = highest.filter(|aw| aw.is_finite()).zip(lot.pack);
    // By the rule that every result is judged by: one above the limit is not met, whatever its tolerance.
    let stable = match lot.water_activity.zip(lot.pack) {
        Some((water_activity, pack)) => {
            let limit = if pack == Pack::Air { AW_LIMIT_AIR } else { AW_LIMIT_NO_OXYGEN };
            let tolerance = lot.water_activity_tolerance;
            judge_water_activity(&[WaterActivityResult { water_activity, tolerance }], limit)
        }
        None => Answer::CannotBeJudged,
    };
    let no_label = match known {
        Some((aw, _)) => {
            let holds = aw <= AW_LIMIT_AIR + 1e-9 || claims.single_serving;
            Answer::from_bounds(holds, holds)
        }
        None => Answer::CannotBeJudged,
    };
    let mut out = Vec::new();
    if claims.shelf_stable {
        out.push(LotPart::new(LotItem::ShelfStable, LimitClass::Critical, stable, missing.clone()));
        out.push(LotPart::new(
            LotItem::RefrigerateAfterOpening,
            LimitClass::Label,
            no_label,
            missing.clone(),
        ));
    }
    if claims.called_jerky {
        let ratio = claims.moisture_to_protein_ratio.filter(|r| r.is_finite());
        let dry =
            ratio.map(|r| Answer::from_bounds(r <= JERKY_MPR_LIMIT + 1e-9, r <= JERKY_MPR_LIMIT + 1e-9));
        let mut missing = missing;
        if dry.is_none() {
            missing.push(Missing::MoistureToProtein);
        }
        let answer = dry.unwrap_or(Answer::CannotBeJudged).and(stable);
        out.push(LotPart::new(LotItem::NameJerky, LimitClass::Label, answer, missing));
    }
    out
}

/// Actions that missed limits opened and nobody completed, and recorded ones that are not complete; each name once.
fn open_actions(inputs: &LotInputs<'_>) -> Vec<String> {
    let missed = inputs
        .limits
        .iter()
        .filter(|l| l.corrective_action.is_some())
        .map(|l| &l.limit.name)
        .chain(inputs.growth.iter().filter(|g| g.corrective_action.is_some()).map(|g| &g.limit.name));
    let complete = |name: &str| {
        let mut of = inputs.actions.iter().filter(|a| a.name == name).peekable();
        of.peek().is_some() && of.all(|a| a.action.is_complete())
    };
    let mut out: Vec<String> = Vec::new();
    for name in missed.chain(inputs.actions.iter().map(|a| &a.name)) {
        if !complete(name) && !out.contains(name) {
            out.push(name.clone());
        }
    }
    out
}
