//! What the answer on a lot is made of.

use fallrate_lethality::Answer::{CannotBeJudged, Met, NotMet};
use fallrate_lethality::*;
use fallrate_series::Role;

use crate::clocks::{authority, schedule};
use crate::support::*;

/// A met cook; the product is dry when the kill ends, so nothing is warm and wet afterwards.
fn met() -> Lab {
    let mut lab = Lab::new(&[OptionId::Rh90Throughout2021]).cook(30.0, 147.0, 200.0).rh90(0.0, 30.0, 30.0);
    lab.case.facts.product_dry = Some(at_min(29.0));
    lab
}

fn limit(name: &str, class: LimitClass, least_f: f64) -> PlanLimit {
    PlanLimit {
        name: name.into(),
        class,
        role: Role::AirDryBulb,
        side: LimitSide::AtLeast,
        value: c(least_f),
        minutes: Some(20.0),
        span: None,
    }
}

fn judged(lab: &Lab, limits: &[PlanLimit]) -> Vec<PlanLimitResult> {
    limits.iter().map(|l| judge_plan_limit(&lab.log, &lab.case, l).unwrap()).collect()
}

fn whole_action() -> CorrectiveAction {
    let entry = || Some(ActionEntry { text: "done".into(), by: "A. Person".into(), at: at_min(60.0) });
    CorrectiveAction { cause: entry(), control: entry(), prevention: entry(), disposition: entry() }
}

fn recorded(name: &str, action: CorrectiveAction) -> RecordedAction {
    RecordedAction { name: name.into(), action }
}

/// The answer on a lab's lot by the published criterion, with what `change` adds.
fn lot_of(lab: &Lab, change: impl FnOnce(&mut LotInputs<'_>)) -> LotAnswer {
    let verdict = judge(&lab.log, &lab.case).unwrap();
    let mut inputs = LotInputs {
        criterion: LotCriterion::Published,
        limits: &[],
        growth: &[],
        lot: lab.case.facts.lot,
        claims: LotClaims::default(),
        extras: &[],
        actions: &[],
    };
    change(&mut inputs);
    lot_answer(&verdict, &inputs)
}

fn plain(lab: &Lab) -> LotAnswer {
    lot_of(lab, |_| ())
}

fn with_limits(lab: &Lab, limits: &[PlanLimitResult], actions: &[RecordedAction]) -> LotAnswer {
    let verdict = judge(&lab.log, &lab.case).unwrap();
    lot_answer(
        &verdict,
        &LotInputs {
            criterion: LotCriterion::Published,
            limits,
            growth: &[],
            lot: lab.case.facts.lot,
            claims: LotClaims::default(),
            extras: &[],
            actions,
        },
    )
}

/// proves: TOOL-05, TOOL-21
#[test]
fn the_plan_s_own_limit_and_the_criterion_are_answered_apart() {
    let lab = met();
    let answer = plain(&lab);
    assert_eq!((answer.answer, answer.criterion, answer.plan), (Met, Met, None));
    assert_eq!(answer.standing, LotStanding::Clear);
    let missed = judged(&lab, &[limit("CCP 1", LimitClass::Critical, 155.0)]);
    let open = with_limits(&lab, &missed, &[]);
    assert_eq!((open.answer, open.criterion, open.plan), (NotMet, Met, Some(NotMet)));
    assert_eq!(
        (open.standing, open.open_actions.as_slice()),
        (LotStanding::ActionOpen, ["CCP 1".to_owned()].as_slice())
    );
    let part = CorrectiveAction { disposition: None, ..whole_action() };
    assert_eq!(
        with_limits(&lab, &missed, &[recorded("CCP 1", part.clone())]).standing,
        LotStanding::ActionOpen
    );
    let other = with_limits(&lab, &missed, &[recorded("CCP 2", whole_action())]);
    assert_eq!(other.open_actions, ["CCP 1"], "another limit's action does not answer this one");
    let done = with_limits(&lab, &missed, &[recorded("CCP 1", whole_action())]);
    assert_eq!((done.answer, done.standing), (NotMet, LotStanding::DispositionDecides));
    assert!(done.open_actions.is_empty());
    // A second action of the same name that nobody finished keeps it open.
    let two = [recorded("CCP 1", whole_action()), recorded("CCP 1", part.clone())];
    assert_eq!(with_limits(&lab, &missed, &two).open_actions, ["CCP 1"]);
    // An action for something that is no limit, not complete.
    let deviation = with_limits(&lab, &[], &[recorded("power cut", part)]);
    assert_eq!((deviation.answer, deviation.standing), (Met, LotStanding::ActionOpen));
    // The criterion not met is not met, whatever the plan's limits say.
    let mut bad = Lab::new(&[OptionId::Rh90Throughout2021]).cook(30.0, 140.0, 200.0).rh90(0.0, 30.0, 30.0);
    bad.case.facts.product_dry = Some(at_min(29.0));
    let kept = judged(&bad, &[limit("CCP 1", LimitClass::Critical, 145.0)]);
    let answer = with_limits(&bad, &kept, &[]);
    assert_eq!((answer.answer, answer.criterion, answer.plan), (NotMet, NotMet, Some(Met)));
    assert_eq!(answer.standing, LotStanding::NotMet);
}

/// proves: TOOL-14
#[test]
fn only_critical_limits_enter() {
    let lab = met();
    for class in [LimitClass::Quality, LimitClass::Label, LimitClass::Advice, LimitClass::Record] {
        let missed = judged(&lab, &[limit("nicer", class, 155.0)]);
        let answer = with_limits(&lab, &missed, &[]);
        assert_eq!(
            (answer.answer, answer.plan, answer.standing),
            (Met, None, LotStanding::Clear),
            "{class:?}"
        );
        let part =
            answer.parts.iter().find(|p| p.item == LotItem::PlanLimit { name: "nicer".into() }).unwrap();
        assert_eq!((part.answer, part.state, part.enters()), (NotMet, PartState::NotMet, false));
    }
    let extra = |class| LotExtra { name: "moisture".into(), class, answer: NotMet };
    let quality = [extra(LimitClass::Quality)];
    let verdict = judge(&lab.log, &lab.case).unwrap();
    let inputs = |extras| LotInputs {
        criterion: LotCriterion::Published,
        limits: &[],
        growth: &[],
        lot: LotFacts::default(),
        claims: LotClaims::default(),
        extras,
        actions: &[],
    };
    assert_eq!(lot_answer(&verdict, &inputs(&quality)).answer, Met);
    let critical = [extra(LimitClass::Critical)];
    let answer = lot_answer(&verdict, &inputs(&critical));
    assert_eq!((answer.answer, answer.criterion, answer.standing), (NotMet, Met, LotStanding::NotMet));
}

/// proves: TOOL-21
#[test]
fn waiting_stands_apart_from_what_can_no_longer_be_judged() {
    let mut paper = met();
    paper.case.facts.cold_spot_evidence = None;
    let answer = plain(&paper);
    assert_eq!((answer.answer, answer.standing), (CannotBeJudged, LotStanding::Waiting));
    assert_eq!((answer.waiting_for, answer.gone), (vec![Missing::ColdSpotEvidence], vec![]));
    // Minutes without humidity readings do not come back.
    let mut gap = met();
    for ch in gap.log.channels.iter_mut().filter(|ch| ch.role == Role::RelativeHumidity) {
        let p: Vec<_> = (0..=30).filter(|m| *m != 10).map(|m| (f64::from(m) * 60.0, 0.92)).collect();
        *ch = channel(Role::RelativeHumidity, 0.0, &p);
    }
    let answer = plain(&gap);
    assert_eq!((answer.answer, answer.standing), (CannotBeJudged, LotStanding::CanNoLongerBeJudged));
    assert_eq!((answer.waiting_for, answer.gone), (vec![], vec![Missing::Minutes]));
    // Both: what can still come is listed all the same, once.
    gap.case.facts.cold_spot_evidence = None;
    let answer = plain(&gap);
    assert_eq!(answer.standing, LotStanding::CanNoLongerBeJudged);
    assert_eq!((answer.waiting_for, answer.gone), (vec![Missing::ColdSpotEvidence], vec![Missing::Minutes]));
    // A limit of the plan without a record: the record may be found.
    let lab = met();
    let wet = PlanLimit { role: Role::AirWetBulb, ..limit("wet bulb", LimitClass::Critical, 120.0) };
    let answer = with_limits(&lab, &judged(&lab, &[wet.clone(), wet]), &[]);
    assert_eq!((answer.criterion, answer.plan), (Met, Some(CannotBeJudged)));
    assert_eq!(answer.standing, LotStanding::Waiting);
    assert_eq!(answer.waiting_for, [Missing::Record { role: Role::AirWetBulb }]);
}

/// proves: TOOL-12, TOOL-21
#[test]
fn warm_wet_product_after_the_kill_holds_the_lot_until_the_plan_s_limit_for_it_is_judged() {
    let mut lab = Lab::new(&[OptionId::Rh90Throughout2021])
        .core_f(&[(0.0, 150.0), (10.0, 150.0), (11.0, 120.0), (60.0, 120.0)])
        .rh90(0.0, 60.0, 60.0);
    let answer = plain(&lab);
    assert_eq!((answer.answer, answer.criterion), (CannotBeJudged, Met));
    assert_eq!(
        (answer.standing, answer.waiting_for.as_slice()),
        (LotStanding::Waiting, [Missing::PlanLimitAfterKill].as_slice())
    );
    lab.case.facts.plan_limit_after_kill = Some("limit 4".into());
    let answer = plain(&lab);
    assert_eq!(
        (answer.answer, answer.waiting_for.as_slice()),
        (CannotBeJudged, [Missing::PlanLimitAfterKill].as_slice()),
        "named, not judged"
    );
    let of = |name: &str, class| judged(&lab, &[limit(name, class, 145.0)]);
    assert_eq!(with_limits(&lab, &of("limit 5", LimitClass::Critical), &[]).answer, CannotBeJudged);
    assert_eq!(with_limits(&lab, &of("limit 4", LimitClass::Quality), &[]).answer, CannotBeJudged);
    assert_eq!(with_limits(&lab, &of("limit 4", LimitClass::Critical), &[]).answer, Met);
    // The same by a growth limit of the plan.
    let rule = GrowthRule::Exposure { organism: "Clostridium perfringens".into() };
    let growth = PlanGrowthLimit { name: "limit 4".into(), class: LimitClass::Critical, rule };
    let growth = [judge_plan_growth(&lab.log, &lab.case, &growth).unwrap()];
    let verdict = judge(&lab.log, &lab.case).unwrap();
    let answer = lot_answer(
        &verdict,
        &LotInputs {
            criterion: LotCriterion::Published,
            limits: &[],
            growth: &growth,
            lot: LotFacts::default(),
            claims: LotClaims::default(),
            extras: &[],
            actions: &[],
        },
    );
    assert_eq!((answer.answer, answer.plan), (Met, Some(Met)), "49 min of 2 h");
    assert!(!answer.parts.iter().any(|p| p.item == LotItem::AfterKill), "not counted twice");
    lab.case.facts.product_dry = Some(at_min(10.0));
    let answer = plain(&lab);
    let part = answer.parts.iter().find(|p| p.item == LotItem::AfterKill).unwrap();
    assert_eq!((part.answer, answer.answer), (Met, Met));
}

/// proves: JERKY-J27, JERKY-J28, JERKY-J29, JERKY-J31
#[test]
fn water_activity_and_pack_enter_where_they_are_claimed() {
    let lab = met();
    let claims = LotClaims { shelf_stable: true, ..LotClaims::default() };
    let with = |lot: LotFacts, claims: LotClaims| {
        lot_of(&lab, |i| {
            i.lot = lot;
            i.claims = claims;
        })
    };
    let lot = |aw: f64, pack| LotFacts {
        water_activity: Some(aw),
        water_activity_tolerance: Some(0.01),
        pack: Some(pack),
    };
    let of =
        |a: &LotAnswer, item: LotItem| a.parts.iter().find(|p| p.item == item).map(|p| (p.answer, p.class));
    let label = LotItem::RefrigerateAfterOpening;
    assert_eq!(with(LotFacts::default(), LotClaims::default()).answer, Met, "nothing claimed");
    let waiting = with(LotFacts::default(), claims);
    assert_eq!((waiting.answer, waiting.standing), (CannotBeJudged, LotStanding::Waiting));
    assert_eq!(waiting.waiting_for, [Missing::WaterActivity, Missing::Pack]);
    let untold = with(LotFacts { water_activity_tolerance: None, ..lot(0.5, Pack::Air) }, claims);
    assert_eq!(
        (untold.answer, untold.waiting_for.as_slice()),
        (CannotBeJudged, [Missing::WaterActivityTolerance].as_slice())
    );
    assert_eq!(with(lot(f64::NAN, Pack::Air), claims).answer, CannotBeJudged);
    assert_eq!(with(lot(0.84, Pack::Air), claims).answer, Met);
    let wet = with(lot(0.841, Pack::Air), claims);
    assert_eq!((wet.answer, wet.standing), (NotMet, LotStanding::NotMet));
    let vacuum = with(lot(0.90, Pack::OxygenProofVacuum), claims);
    assert_eq!((vacuum.answer, of(&vacuum, label.clone())), (Met, Some((NotMet, LimitClass::Label))));
    assert_eq!(with(lot(0.901, Pack::OxygenProofVacuum), claims).answer, NotMet);
    let single = with(lot(0.90, Pack::OxygenProofVacuum), LotClaims { single_serving: true, ..claims });
    assert_eq!(of(&single, label.clone()), Some((Met, LimitClass::Label)));
    assert_eq!(of(&with(lot(0.84, Pack::OxygenProofVacuum), claims), label), Some((Met, LimitClass::Label)));
    // The name is a label, never safety.
    let called = |ratio, aw| {
        let claims =
            LotClaims { called_jerky: true, moisture_to_protein_ratio: ratio, ..LotClaims::default() };
        let a = with(lot(aw, Pack::Air), claims);
        (of(&a, LotItem::NameJerky).unwrap().0, a.answer)
    };
    assert_eq!(called(Some(0.75), 0.80), (Met, Met));
    assert_eq!(called(Some(0.76), 0.80), (NotMet, Met));
    assert_eq!(called(Some(0.70), 0.86), (NotMet, Met), "not shelf-stable");
    assert_eq!(called(None, 0.80), (CannotBeJudged, Met));
    assert_eq!(called(Some(f64::NAN), 0.80), (CannotBeJudged, Met));
}

/// proves: TOOL-10, TOOL-11
#[test]
fn the_kill_step_may_rest_on_an_authority_s_criterion_or_an_adopted_study() {
    let lab = met();
    let by_authority = judge_by_authority(&lab.log, &lab.case, &authority()).unwrap();
    let mut inactive = authority();
    inactive.approved = None;
    let inactive = judge_by_authority(&lab.log, &lab.case, &inactive).unwrap();
    let by_schedule = judge_by_schedule(&lab.log, &lab.case, &schedule(10.0)).unwrap();
    let of = |criterion: LotCriterion<'_>| {
        let verdict = judge(&lab.log, &lab.case).unwrap();
        let a = lot_answer(
            &verdict,
            &LotInputs {
                criterion,
                limits: &[],
                growth: &[],
                lot: LotFacts::default(),
                claims: LotClaims::default(),
                extras: &[],
                actions: &[],
            },
        );
        (a.parts[0].item.clone(), a.criterion, a.standing)
    };
    assert_eq!(of(LotCriterion::Authority(&by_authority)).0, LotItem::AuthorityCriterion);
    assert_eq!(of(LotCriterion::Authority(&by_authority)).1, by_authority.answer);
    assert_eq!(
        of(LotCriterion::Authority(&inactive)),
        (LotItem::AuthorityCriterion, CannotBeJudged, LotStanding::Waiting)
    );
    let (item, answer, _) = of(LotCriterion::Schedule(&by_schedule));
    assert_eq!((item, answer), (LotItem::AdoptedStudy, by_schedule.answer));
    assert_eq!(of(LotCriterion::Published).0, LotItem::PublishedCriterion);
}

/// The same answer in the same bytes, every part named.
#[test]
fn identity_a_lot_s_answer_is_printed_the_same_twice() {
    let lab = met();
    let missed = judged(&lab, &[limit("CCP 1", LimitClass::Critical, 155.0)]);
    let text = || serde_json::to_string(&with_limits(&lab, &missed, &[])).unwrap();
    assert_eq!(text(), text());
    assert!(
        text().contains("\"standing\":\"action_open\"") && text().contains("\"plan_limit\""),
        "{}",
        text()
    );
}
