//! The decision table, option by option.

use fallrate_lethality::Answer::{self, CannotBeJudged, Met, NotMet};
use fallrate_lethality::*;
use fallrate_series::{EventKind, Role, Span, SuspectReason};
use fallrate_units::Pressure;

use crate::support::*;

fn steam(option: OptionId, total: f64, from: f64, to: f64) -> Lab {
    Lab::new(&[option]).cook(total, 145.0, 240.0).event(EventKind::SteamOn, from, to)
}

fn rh(option: OptionId, total: f64, humid: f64) -> Lab {
    Lab::new(&[option]).cook(total, 145.0, 240.0).rh90(0.0, humid, total)
}

/// proves: OPTION-1, OPTION-J-A, JERKY-J25
#[test]
fn steam_options() {
    for o in [OptionId::Steam2021, OptionId::JerkyA] {
        assert_eq!(steam(o, 120.0, 0.0, 60.0).answer(), Met, "{o:?}");
        assert_eq!(steam(o, 120.0, 0.0, 59.9).answer(), NotMet, "{o:?}");
        let short = steam(o, 59.0, 0.0, 59.0);
        assert_eq!(short.answer(), NotMet, "{o:?}: cook under 60 min");
        assert_eq!(short.part(Item::TotalCook).answer, NotMet);
        assert_eq!(steam(o, 120.0, 0.0, 60.0).part(Item::TotalCook).answer, Met);
        // Cycling steam adds up.
        let cycling = Lab::new(&[o]).cook(120.0, 145.0, 240.0);
        let cycling = (0..6).fold(cycling, |l, k| {
            l.event(EventKind::SteamOn, f64::from(k) * 20.0, f64::from(k) * 20.0 + 10.0)
        });
        assert_eq!(cycling.answer(), Met, "{o:?}");
        // On/off record missing; a pan of water.
        let silent = Lab::new(&[o]).cook(120.0, 145.0, 240.0);
        assert_eq!(silent.answer(), CannotBeJudged);
        assert!(silent.judge().missing.contains(&Missing::SteamRecord));
        let mut pan = steam(o, 120.0, 0.0, 120.0);
        pan.case.facts.steam_source = Some(SteamSource::PanOfWater);
        assert_eq!(pan.answer(), CannotBeJudged);
        assert!(!pan.judge().waiting, "a pan of water cannot turn into steam later");
        pan.case.facts.steam_source = None;
        assert_eq!(pan.answer(), CannotBeJudged);
        // Rows under 145 degF do not serve.
        let cold = Lab::new(&[o]).cook(120.0, 144.0, 600.0).event(EventKind::SteamOn, 0.0, 120.0);
        assert_eq!(cold.answer(), NotMet, "{o:?}");
    }
}

/// proves: JERKY-J07
#[test]
fn the_dry_step_counts_in_the_cook_and_is_limited() {
    let with = |option, dry: f64, total: f64| {
        let mut lab = steam(option, total, dry, total);
        lab.case.facts.dry_surface_steps = vec![span_min(0.0, dry)];
        lab
    };
    assert_eq!(with(OptionId::JerkyA, 30.0, 90.0).answer(), Met);
    assert_eq!(with(OptionId::JerkyA, 30.0, 89.0).answer(), NotMet);
    assert_eq!(with(OptionId::JerkyA, 45.0, 120.0).answer(), NotMet);
    let mut supported = with(OptionId::Steam2021, 45.0, 120.0);
    assert_eq!(supported.answer(), NotMet);
    supported.case.facts.dry_step_support = Some("study of 2023".into());
    assert_eq!(supported.answer(), Met);
}

fn sealed(option: OptionId, total: f64, shut: f64, wet_bulb_f: f64) -> Lab {
    let line = |v: f64| sampled(&[(0.0, v), (total, v)], 60.0);
    Lab::new(&[option])
        .cook(total, 145.0, 240.0)
        .event(EventKind::VentShut, 0.0, shut)
        .with(Role::AirWetBulb, 0.0, &line(c(wet_bulb_f)))
        .with(Role::AirDryBulb, 0.0, &line(c(160.0)))
}

/// proves: OPTION-2, OPTION-J-B, TOOL-16, TOOL-18
#[test]
fn sealed_options() {
    // 2021: at least half; 2014: over half.
    assert_eq!(sealed(OptionId::Sealed2021, 120.0, 60.0, 130.0).answer(), Met);
    assert_eq!(sealed(OptionId::JerkyB, 120.0, 60.0, 130.0).answer(), NotMet);
    assert_eq!(sealed(OptionId::JerkyB, 120.0, 61.0, 130.0).answer(), Met);
    assert_eq!(sealed(OptionId::Sealed2021, 180.0, 80.0, 130.0).answer(), NotMet);
    // Shut, but humidity did not build.
    let dry = sealed(OptionId::Sealed2021, 120.0, 100.0, 110.0);
    let j = dry.judge();
    assert_eq!(j.answer, CannotBeJudged);
    assert!(j.missing.contains(&Missing::WetBulbSign));
    assert!(matches!(j.wet_bulb_sign, WetBulbSign::NotSeen { .. }));
    for paper in 0..4 {
        let mut lab = sealed(OptionId::Sealed2021, 120.0, 100.0, 130.0);
        let p = &mut lab.case.facts.sealed_papers;
        *[&mut p.temperature, &mut p.damper_shut, &mut p.humidity_held, &mut p.seal_upkeep][paper] = None;
        assert_eq!(lab.answer(), CannotBeJudged);
    }
    let mut open = sealed(OptionId::Sealed2021, 120.0, 100.0, 130.0);
    open.case.facts.opening_that_cannot_shut = Some(true);
    assert_eq!(open.answer(), NotMet);
    open.case.facts.opening_that_cannot_shut = None;
    assert_eq!(open.answer(), CannotBeJudged);
    // A vent that reads 1 % open or less is shut.
    for (opening, wanted) in [(0.01, Met), (0.011, NotMet)] {
        let mut lab = sealed(OptionId::Sealed2021, 120.0, 100.0, 130.0);
        lab.log.events.clear();
        let lab = lab.with(Role::VentOpening, 0.0, &sampled(&[(0.0, opening), (120.0, opening)], 60.0));
        assert_eq!(lab.answer(), wanted, "{opening}");
    }
    // The door: no record and nobody vouches; a door opened for ten minutes is not shut.
    let mut door = sealed(OptionId::Sealed2021, 120.0, 65.0, 130.0);
    door.case.facts.door_kept_shut = None;
    assert_eq!(door.answer(), CannotBeJudged);
    let opened = sealed(OptionId::Sealed2021, 120.0, 65.0, 130.0).event(EventKind::DoorOpen, 20.0, 30.0);
    assert_eq!(opened.answer(), NotMet);
    // Dried product: not accepted.
    let mut dried = sealed(OptionId::Sealed2021, 120.0, 100.0, 130.0);
    dried.case.facts.order = ProcessOrder::HeatedAfterDrying { surface_wetted: Some(true) };
    assert_eq!(dried.answer(), NotMet);
}

/// proves: OPTION-J-WB, JERKY-J17
#[test]
fn the_wet_bulb_advice_is_never_an_option() {
    let mut lab = sealed(OptionId::JerkyB, 120.0, 100.0, 140.0);
    lab.case.claim.options = vec![OptionId::JerkyWetBulbAdvice];
    let j = lab.judge();
    assert_eq!(j.answer, CannotBeJudged);
    assert!(j.missing.contains(&Missing::ClaimedOption));
    assert!(matches!(j.wet_bulb_sign, WetBulbSign::Seen { minutes } if minutes == 120.0));
    let bare = Lab::new(&[OptionId::JerkyB]).cook(120.0, 145.0, 240.0).judge();
    assert_eq!(bare.wet_bulb_sign, WetBulbSign::NotMeasured);
}

/// proves: OPTION-3, RULE-C18, TOOL-17
#[test]
fn rh_90_for_a_share() {
    let o = OptionId::Rh90Share2021;
    assert_eq!(rh(o, 90.0, 60.0).answer(), Met);
    assert_eq!(rh(o, 90.0, 59.0).answer(), NotMet);
    assert_eq!(rh(o, 300.0, 75.0).answer(), Met);
    assert_eq!(rh(o, 300.0, 74.0).answer(), NotMet);
    assert_eq!(rh(o, 59.0, 59.0).answer(), NotMet);
    // The sensor's tolerance is subtracted: 92 % with 2.5 % is not 90 %.
    let mut soft = rh(o, 90.0, 90.0);
    for ch in soft.log.channels.iter_mut().filter(|ch| ch.role == Role::RelativeHumidity) {
        ch.instrument = Some(instrument(0.025));
    }
    assert_eq!(soft.answer(), NotMet);
    // At 3000 m and 93 degC, 90 % cannot exist whatever the sensor says.
    let mut high = Lab::new(&[o]).cook(90.0, 145.0, 240.0).rh90_at(199.4, 0.0, 90.0, 90.0);
    assert_eq!(high.answer(), Met, "at sea level it can");
    high.case.facts.air_pressure = Some(Pressure::from_kilopascals(70.1));
    let j = high.judge();
    assert_eq!(j.answer, NotMet);
    assert!(
        j.positions[0].options[0].humid_strip.iter().all(|s| s.reason == StripReason::HumidityImpossible)
    );
    high.case.facts.air_pressure = None;
    assert_eq!(high.answer(), CannotBeJudged);
    assert!(high.judge().missing.contains(&Missing::AirPressure));
    // A barometer serves, by its lowest reading less its tolerance.
    let barometer = |pa: f64| sampled(&[(0.0, pa), (45.0, pa), (45.1, 101_325.0), (90.0, 101_325.0)], 6.0);
    assert_eq!(high.clone().with(Role::AirPressure, 0.0, &barometer(101_000.0)).answer(), Met);
    assert_eq!(high.clone().with(Role::AirPressure, 0.0, &barometer(70_100.0)).answer(), NotMet);
    // A condensing sensor is unknown.
    let mut wet = rh(o, 90.0, 60.0);
    for ch in wet.log.channels.iter_mut().filter(|ch| ch.role == Role::RelativeHumidity) {
        ch.mark_suspect(span_min(10.0, 40.0), SuspectReason::SensorCondensing);
    }
    assert_eq!(wet.answer(), CannotBeJudged);
}

#[test]
fn humid_minutes_need_not_overlap_the_dwell_and_the_end_instant_is_searched() {
    // Humid for the first 60 min, dwell complete at 200 min, record to 400 min: at 200 min 60 >= max(50, 60).
    let mut lab = Lab::new(&[OptionId::Rh90Share2021]).core_f(&[
        (0.0, 129.0),
        (195.9, 129.0),
        (196.0, 145.0),
        (400.0, 145.0),
    ]);
    lab = lab.rh90(0.0, 60.0, 400.0);
    let j = lab.judge();
    assert_eq!(j.answer, Met);
    let end = j.positions[0].options[0].end.unwrap().seconds_since(at_s(0.0)) / 60.0;
    assert!((end - 200.0).abs() < 0.2, "{end}");
    // Humid only late: the row is there at 100 min, the humid minutes at 150 min.
    let mut late = Lab::new(&[OptionId::Rh90Share2021]).core_f(&[
        (0.0, 129.0),
        (95.9, 129.0),
        (96.0, 145.0),
        (300.0, 145.0),
    ]);
    late = late.rh90(90.0, 300.0, 300.0);
    let j = late.judge();
    assert_eq!(j.answer, Met);
    let end = j.positions[0].options[0].end.unwrap().seconds_since(at_s(0.0)) / 60.0;
    assert!((end - 150.0).abs() < 0.2, "{end}");
}

/// proves: OPTION-4
#[test]
fn rh_90_throughout() {
    let o = OptionId::Rh90Throughout2021;
    assert_eq!(rh(o, 30.0, 30.0).answer(), Met);
    let mut one_dry = rh(o, 30.0, 30.0);
    for ch in one_dry.log.channels.iter_mut().filter(|ch| ch.role == Role::RelativeHumidity) {
        let mut p: Vec<_> = (0..=30).map(|m| (f64::from(m) * 60.0, 0.92)).collect();
        p[10].1 = 0.899;
        *ch = channel(Role::RelativeHumidity, 0.0, &p);
    }
    assert_eq!(one_dry.answer(), NotMet);
    let mut one_gap = rh(o, 30.0, 30.0);
    for ch in one_gap.log.channels.iter_mut().filter(|ch| ch.role == Role::RelativeHumidity) {
        let p: Vec<_> = (0..=30).filter(|m| *m != 10).map(|m| (f64::from(m) * 60.0, 0.92)).collect();
        *ch = channel(Role::RelativeHumidity, 0.0, &p);
    }
    assert_eq!(one_gap.answer(), CannotBeJudged);
}

/// proves: OPTION-J-C, JERKY-J13
#[test]
fn jerky_c_uses_any_meat_row_and_never_poultry() {
    let cold = || Lab::new(&[OptionId::JerkyC]).cook(90.0, 140.0, 720.0).rh90(0.0, 60.0, 90.0);
    assert_eq!(cold().answer(), Met);
    let mut bird = Lab::new(&[OptionId::JerkyC]).cook(90.0, 165.0, 60.0).rh90(0.0, 90.0, 90.0);
    bird.case.facts.species = Some(Species::Turkey);
    assert_eq!(bird.answer(), NotMet);
    let mut d = Lab::new(&[OptionId::JerkyD]).cook(90.0, 165.0, 60.0).rh90(0.0, 90.0, 90.0);
    d.case.facts.species = Some(Species::Turkey);
    assert_eq!(d.answer(), Met, "option J-D is open to poultry by the poultry rows");
}

/// proves: OPTION-J-D, TOOL-04
#[test]
fn where_text_and_flow_chart_differ_met_needs_both() {
    let o = OptionId::JerkyD;
    assert_eq!(rh(o, 120.0, 60.0).answer(), Met);
    assert_eq!(rh(o, 180.0, 90.0).answer(), Met);
    let between = rh(o, 180.0, 70.0);
    assert_eq!(between.answer(), CannotBeJudged);
    let j = between.judge();
    assert!(j.cautions.contains(&Caution::DocumentContradictsItself));
    assert!(!j.waiting && !j.missing.contains(&Missing::Minutes), "nothing is missing: the document differs");
    // Both readings as data: share, minutes asked, minutes shown, answer.
    let told = |lab: &Lab| -> Vec<(DocumentReading, f64, f64, f64, Answer)> {
        let j = lab.judge();
        let readings = j.positions[0].options[0].readings.iter();
        let round = |m: f64| (m * 10.0).round() / 10.0;
        readings.map(|r| (r.reading, r.share, round(r.required_min), round(r.shown_min), r.answer)).collect()
    };
    assert_eq!(
        told(&between),
        [
            (DocumentReading::Text, 0.25, 60.0, 70.0, Met),
            (DocumentReading::FlowChart, 0.5, 90.0, 70.0, NotMet)
        ]
    );
    let met = rh(o, 180.0, 90.0);
    assert_eq!(
        told(&met),
        [(DocumentReading::Text, 0.25, 60.0, 90.0, Met), (DocumentReading::FlowChart, 0.5, 90.0, 90.0, Met)]
    );
    assert!(!met.judge().cautions.contains(&Caution::DocumentContradictsItself), "both readings say met");
    let short = told(&rh(o, 120.0, 60.0));
    assert!(
        short.iter().all(|r| r.1 == 0.25 && r.2 == 60.0 && r.4 == Met),
        "up to 2 h both ask the same: {short:?}"
    );
    let lost = told(&rh(o, 300.0, 74.0));
    assert!(lost.iter().all(|r| r.4 == NotMet), "{lost:?}");
    assert_eq!(lost.iter().map(|r| r.2).collect::<Vec<_>>(), [75.0, 150.0]);
    let mut unpapered = between.clone();
    unpapered.case.facts.cold_spot_evidence = None;
    assert_eq!(told(&unpapered).iter().map(|r| r.4).collect::<Vec<_>>(), [CannotBeJudged, NotMet]);
    assert!(told(&rh(OptionId::JerkyC, 180.0, 90.0)).is_empty(), "one reading alone");
    assert_eq!(rh(o, 180.0, 59.0).answer(), NotMet);
    assert_eq!(rh(o, 300.0, 74.0).answer(), NotMet);
    assert_eq!(rh(o, 300.0, 76.0).answer(), CannotBeJudged);
    assert_eq!(rh(o, 59.0, 59.0).answer(), NotMet);
    // 145 degF for 4 min, though the 5-log table would ask 3 min.
    let mut five = Lab::new(&[o]).cook(90.0, 145.0, 230.0).rh90(0.0, 90.0, 90.0);
    five.case.claim.target = LogTarget::Five;
    five.case.facts.lot =
        LotFacts { water_activity: Some(0.80), water_activity_tolerance: Some(0.01), pack: Some(Pack::Air) };
    assert_eq!(five.answer(), NotMet);
}

/// proves: OPTION-J-E
#[test]
fn short_cooks_need_every_minute_humid_but_a_dry_step() {
    let o = OptionId::JerkyE;
    assert_eq!(rh(o, 50.0, 50.0).answer(), Met);
    assert_eq!(rh(o, 50.0, 40.0).answer(), NotMet);
    let with_step = |minutes: f64| {
        let mut lab = Lab::new(&[o]).cook(50.0, 145.0, 240.0).rh90(minutes, 50.0, 50.0);
        lab.case.facts.dry_surface_steps = vec![span_min(0.0, minutes)];
        lab
    };
    assert_eq!(with_step(20.0).answer(), Met);
    assert_eq!(with_step(31.0).answer(), NotMet);
    assert_eq!(rh(o, 61.0, 61.0).answer(), NotMet, "an hour or more is another option's");
}

fn no_humidity(option: OptionId) -> Lab {
    let mut lab = Lab::new(&[option]).cook(50.0, 145.0, 240.0);
    lab.case.facts.no_humidity = vec![NoHumidityEvidence {
        option,
        record: "form 7".into(),
        throughout: Some(true),
        moving_hot_air: Some(false),
        water_added: None,
        smallest_piece_kg: Some(5.0),
    }];
    let oven: Vec<_> = (0..=50).map(|m| (f64::from(m) * 60.0, c(251.0))).collect();
    lab.with(Role::AirDryBulb, 0.0, &oven)
}

/// proves: OPTION-N1, OPTION-N2, OPTION-N3, OPTION-N4, OPTION-N5, RULE-C40
#[test]
fn options_without_humidity() {
    let all = [
        OptionId::Immersion,
        OptionId::SealedBag,
        OptionId::Casing,
        OptionId::LargePiece,
        OptionId::DirectHeat,
    ];
    for o in all {
        assert_eq!(no_humidity(o).answer(), Met, "{o:?}");
        let mut bare = no_humidity(o);
        bare.case.facts.no_humidity.clear();
        assert_eq!(bare.answer(), CannotBeJudged, "{o:?}");
        let mut part = no_humidity(o);
        part.case.facts.no_humidity[0].throughout = Some(false);
        assert_eq!(part.answer(), NotMet, "{o:?}");
        let mut dried = no_humidity(o);
        dried.case.facts.order = ProcessOrder::HeatedAfterDrying { surface_wetted: Some(true) };
        let wanted = match o {
            OptionId::Immersion => Met,
            OptionId::SealedBag => CannotBeJudged,
            _ => NotMet,
        };
        assert_eq!(dried.answer(), wanted, "{o:?}");
        if o == OptionId::SealedBag {
            dried.case.facts.no_humidity[0].water_added = Some(true);
            assert_eq!(dried.answer(), Met);
            dried.case.facts.no_humidity[0].water_added = Some(false);
            assert_eq!(dried.answer(), NotMet);
        }
    }
    let mut air = no_humidity(OptionId::DirectHeat);
    air.case.facts.no_humidity[0].moving_hot_air = Some(true);
    assert_eq!(air.answer(), NotMet, "moving hot air is not direct heat");
    let mut small = no_humidity(OptionId::LargePiece);
    small.case.facts.no_humidity[0].smallest_piece_kg = Some(4.5);
    assert_eq!(small.answer(), NotMet);
    let mut cool = no_humidity(OptionId::LargePiece);
    for ch in cool.log.channels.iter_mut().filter(|ch| ch.role == Role::AirDryBulb) {
        let oven: Vec<_> =
            (0..=50).map(|m| (f64::from(m) * 60.0, c(if m == 3 { 249.0 } else { 251.0 }))).collect();
        *ch = channel(Role::AirDryBulb, 0.0, &oven);
    }
    assert_eq!(cool.answer(), NotMet);
}

/// proves: JERKY-J13
#[test]
fn the_printed_poultry_endpoint() {
    let bird = |f: f64, cured: Option<bool>, smoked: Option<bool>| {
        let mut lab = Lab::new(&[OptionId::JerkyD]).cook(90.0, f, 20.0).rh90(0.0, 90.0, 90.0);
        lab.case.claim.endpoint = Endpoint::PoultryEndpoint;
        lab.case.facts.species = Some(Species::Turkey);
        (lab.case.facts.cured, lab.case.facts.smoked) = (cured, smoked);
        lab
    };
    assert_eq!(bird(160.0, Some(false), Some(false)).answer(), Met);
    assert_eq!(bird(159.9, Some(false), Some(true)).answer(), NotMet);
    assert_eq!(bird(155.0, Some(true), Some(true)).answer(), Met);
    assert_eq!(bird(155.0, Some(true), Some(false)).answer(), NotMet);
    assert_eq!(bird(154.9, Some(true), Some(true)).answer(), NotMet);
    assert_eq!(bird(156.0, None, Some(true)).answer(), CannotBeJudged, "cure unknown decides");
    assert_eq!(bird(156.0, Some(false), None).answer(), NotMet, "not cured: smoke does not matter");
    assert_eq!(bird(156.0, None, Some(false)).answer(), NotMet);
    assert_eq!(bird(160.0, None, None).answer(), Met, "whatever the cure was");
    assert_eq!(bird(154.0, None, None).answer(), NotMet, "whatever the cure was");
    assert!(bird(160.0, None, None).judge().cautions.contains(&Caution::PoultryEndpointBelowTables));
    let mut beef = bird(165.0, Some(false), Some(false));
    beef.case.facts.species = Some(Species::Beef);
    assert_eq!(beef.answer(), NotMet);
}

#[test]
fn options_join_by_or_and_positions_by_and() {
    let mut lab = rh(OptionId::Rh90Share2021, 90.0, 59.0);
    assert_eq!(lab.answer(), NotMet);
    lab.case.claim.options = vec![OptionId::Rh90Share2021, OptionId::Steam2021];
    assert_eq!(lab.answer(), CannotBeJudged, "the steam record may still come");
    let steamed = lab.event(EventKind::SteamOn, 0.0, 60.0);
    assert_eq!(steamed.answer(), Met);
    let mut two = steamed;
    two = two.with(core("second"), 0.0, &sampled(&[(0.0, c(140.0)), (90.0, c(140.0))], 10.0));
    two.case.facts.required_positions.push("second".into());
    let j = two.judge();
    assert_eq!(j.positions.iter().map(|p| p.answer).collect::<Vec<_>>(), [Met, NotMet]);
    assert_eq!(j.answer, NotMet);
}

/// Options that were not claimed are looked at, but only as information.
#[test]
fn other_options_are_information() {
    let lab = rh(OptionId::Rh90Throughout2021, 90.0, 60.0);
    let j = lab.judge();
    assert_eq!(j.answer, NotMet);
    assert!(j.information.contains(&(OptionId::Rh90Share2021, Met)));
    assert!(j.information.iter().all(|(o, _)| *o != OptionId::JerkyWetBulbAdvice));
}

#[test]
fn an_option_of_another_document_cannot_be_claimed() {
    let mut lab = rh(OptionId::Rh90Share2021, 90.0, 90.0);
    lab.case.claim.document = Some(ClaimedDocument::JerkyGuideline2014);
    assert_eq!(lab.answer(), CannotBeJudged);
    lab.case.claim.document = None;
    assert_eq!(lab.answer(), CannotBeJudged);
}

/// Humidity from wet and dry bulb, with the accuracy of both carried through.
#[test]
fn rh_from_the_two_bulbs_carries_both_tolerances() {
    let lab = |tol: f64| {
        let line = |v: f64| sampled(&[(0.0, v), (90.0, v)], 60.0);
        // 65 / 63.5 degC: RH 93.4 % by the formulas at sea level.
        Lab::new(&[OptionId::Rh90Share2021])
            .cook(90.0, 145.0, 240.0)
            .with(Role::AirDryBulb, tol, &line(65.0))
            .with(Role::AirWetBulb, tol, &line(63.5))
    };
    assert_eq!(lab(0.0).answer(), Met);
    assert_eq!(lab(0.3).answer(), Met);
    assert_eq!(lab(0.5).answer(), NotMet, "within what the bulbs can tell");
    // The dry bulb is read half a minute apart and rises: it is taken on its line, not at the reading before.
    let rising = |rate: f64| {
        let wet = sampled(&[(0.0, 63.5), (90.0, 63.5)], 60.0);
        let dry: Vec<_> =
            (-1..=91).map(|m| (f64::from(m) * 60.0 + 30.0, 64.0 + rate * f64::from(m))).collect();
        Lab::new(&[OptionId::Rh90Share2021]).cook(90.0, 145.0, 240.0).with(Role::AirDryBulb, 0.0, &dry).with(
            Role::AirWetBulb,
            0.0,
            &wet,
        )
    };
    assert_eq!(rising(0.0).answer(), Met);
    let humid = |rate: f64| rising(rate).part(Item::HumidTime).shown.unwrap();
    let passed = |rate: f64| {
        let db = (0..=90).map(|m| 64.0 + rate * (f64::from(m) - 0.5));
        let rh = |t: f64| {
            let w = fallrate_air::humidity_ratio_from_wet_bulb(t, 63.5, 101_325.0);
            fallrate_air::relative_humidity(t, w, 101_325.0)
        };
        (db.take_while(|t| rh(*t) >= 0.9).count() - 1) as f64
    };
    for rate in [0.025, 0.03, 0.032] {
        assert!(
            (humid(rate) - passed(rate).min(90.0)).abs() < 1e-6,
            "{rate}: {} {}",
            humid(rate),
            passed(rate)
        );
    }
    let mut dry_gap = lab(0.0);
    for ch in dry_gap.log.channels.iter_mut().filter(|ch| ch.role == Role::AirDryBulb) {
        ch.mark_suspect(Span::new(at_min(10.0), at_min(50.0)).unwrap(), SuspectReason::Stuck);
    }
    assert_eq!(dry_gap.answer(), CannotBeJudged);
}
