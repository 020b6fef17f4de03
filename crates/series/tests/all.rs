//! Tests of the series types.
#![allow(clippy::unwrap_used)]

use fallrate_series::*;
use proptest::prelude::*;

fn at(s: i64) -> Instant {
    Instant::from_unix_nanoseconds(s * 1_000_000_000)
}

fn channel(values: &[(i64, f64)]) -> (Channel<Proof>, Vec<Diagnostic>) {
    let role = Role::CoreProbe { number: 1, position: "top".into() };
    let mut b = ChannelBuilder::<Proof>::new("core 1", role, ProofProvenance::Measured);
    for (line, (s, v)) in values.iter().enumerate() {
        b.push(Reading::valid(at(*s), *v), line as u64 + 2).unwrap();
    }
    b.finish()
}

#[test]
fn out_of_order_and_double_readings_are_sorted_and_reported() {
    let (c, d) = channel(&[(0, 1.0), (120, 3.0), (60, 2.0), (60, 2.0), (120, 4.0)]);
    let instants: Vec<_> = c.readings().iter().map(|r| r.at).collect();
    assert_eq!(instants, [at(0), at(60), at(120)]);
    assert_eq!(d.len(), 3);
    assert_eq!(d[0].kind, DiagnosticKind::OutOfOrder { back_s: 60.0 });
    assert_eq!(d[0].line, Some(4));
    assert_eq!(d[1].kind, DiagnosticKind::Duplicate { same_value: true });
    assert_eq!(d[2].kind, DiagnosticKind::Duplicate { same_value: false });
    assert_eq!(c.readings()[1].quality, Quality::Valid);
    assert_eq!(c.readings()[2].quality, Quality::Suspect(SuspectReason::ConflictingDuplicate));
}

#[test]
fn a_number_that_is_not_finite_is_refused() {
    let mut b = ChannelBuilder::<Proof>::new("rh", Role::RelativeHumidity, ProofProvenance::Measured);
    assert!(matches!(b.push(Reading::valid(at(0), f64::NAN), 2), Err(SeriesError::NotFinite { .. })));
}

#[test]
fn suspect_readings_count_only_once_a_named_person_has_answered() {
    let (mut c, _) = channel(&[(0, 60.0), (60, 60.0), (120, 60.0)]);
    let span = Span::new(at(60), at(120)).unwrap();
    assert_eq!(c.mark_suspect(span, SuspectReason::Stuck), 2);
    assert!(!c.readings()[1].quality.counts());
    let answer = |by: &str| Answer {
        span,
        about: SuspectReason::Stuck,
        accepted: true,
        by: by.into(),
        reason: "steady hold, seen on the display".into(),
        answered_at: at(600),
        readings: 0,
    };
    assert!(c.answer(answer(" ")).is_err());
    assert_eq!(c.answer(answer("A. Person")), Ok(2));
    assert!(c.readings()[1].quality.counts());
    assert_eq!(c.answers[0].readings, 2);
    assert_eq!(c.mark_suspect(span, SuspectReason::Spike), 0, "an answered reading is not marked again");
    assert_eq!(c.exclude(span, ExcludedReason::FaultCode), 2);
    assert!(!c.readings()[2].quality.counts());
}

#[test]
fn a_simulated_log_cannot_be_read_back_as_proof() {
    let mut log: Log<Rehearsal> = Log::new("UTC");
    let b = ChannelBuilder::new("core", Role::AirDryBulb, RehearsalProvenance::Simulated);
    let (c, d) = b.finish();
    log.add(c, d).unwrap();
    let text = serde_json::to_string(&log).unwrap();
    assert_eq!(serde_json::from_str::<Log<Rehearsal>>(&text).unwrap(), log);
    assert!(serde_json::from_str::<Log<Proof>>(&text).is_err());
    let forged = text.replace("\"rehearsal\"", "\"proof\"");
    assert!(serde_json::from_str::<Log<Proof>>(&forged).is_err(), "each channel carries its provenance too");
    assert!(ProofProvenance::try_from(Provenance::Simulated).is_err());
    assert!(ProofProvenance::try_from(Provenance::Demo).is_err());
}

#[test]
fn a_channel_that_names_an_unknown_source_is_refused() {
    let mut log: Log<Proof> = Log::new("UTC");
    let b = ChannelBuilder::new("db", Role::AirDryBulb, ProofProvenance::Measured).source(0);
    let (c, d) = b.finish();
    assert!(matches!(log.add(c, d), Err(SeriesError::NoSuchSource { index: 0, sources: 0, .. })));
}

#[test]
fn calibration_holds_from_its_day_to_its_last_day() {
    let day = |t: &str| CalendarDate::parse(t).unwrap();
    let i = Instrument {
        calibrated_on: Some(day("2024-01-10")),
        calibration_due: Some(day("2024-07-10")),
        ..Instrument::default()
    };
    let on = |t: &str| Instant::from_unix_seconds((day(t).days_since_epoch() * 86_400 + 43_200) as f64);
    assert_eq!(i.calibration_at(on("2024-01-10")), CalibrationState::InDate);
    assert_eq!(i.calibration_at(on("2024-07-10")), CalibrationState::InDate);
    assert_eq!(i.calibration_at(on("2024-07-11")), CalibrationState::Overdue { due: day("2024-07-10") });
    assert!(matches!(i.calibration_at(on("2024-01-09")), CalibrationState::NotYetCalibrated { .. }));
    assert_eq!(Instrument::default().calibration_at(on("2024-01-10")), CalibrationState::Unknown);
}

#[test]
fn identity_dates_that_do_not_exist_are_refused_and_known_days_agree() {
    for bad in ["2023-02-29", "2024-13-01", "2024-00-10", "2024-04-31", "1.3.2024", "2024-03-01-01", ""] {
        assert!(CalendarDate::parse(bad).is_err(), "{bad}");
    }
    // 2024-03-01 is 19,783 days after 1970-01-01 and was a Friday (any calendar).
    let d = CalendarDate::parse("2024-03-01").unwrap();
    assert_eq!(d.days_since_epoch(), 19_783);
    assert_eq!(d.weekday_from_monday(), 4);
    assert_eq!(Instant::from_unix_seconds(-1.0).iso_utc(), "1969-12-31T23:59:59Z");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn identity_days_and_dates_are_inverse(days in -100_000i64..1_000_000) {
        let date = CalendarDate::from_days_since_epoch(days);
        prop_assert_eq!(date.days_since_epoch(), days);
        prop_assert_eq!(CalendarDate::parse(&date.to_string()).unwrap(), date);
    }
    #[test]
    fn identity_readings_rise_strictly_whatever_order_they_came_in(
        v in proptest::collection::vec((0i64..50, -10.0f64..10.0), 0..80)) {
        let (c, d) = channel(&v);
        prop_assert!(c.intervals().all(|i| i.first.at < i.second.at));
        let doubles = d.iter().filter(|d| matches!(d.kind, DiagnosticKind::Duplicate { .. })).count();
        prop_assert_eq!(c.readings().len() + doubles, v.len());
    }
}
