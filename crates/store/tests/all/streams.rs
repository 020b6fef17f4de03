//! The streams beside the batch records.

use std::collections::BTreeMap;

use fallrate_lethality::Retention;
use fallrate_series::CalendarDate;
use fallrate_store::*;

use crate::support::minute;

fn draft<B>(m: f64, body: B) -> Draft<B> {
    Draft {
        at: minute(m),
        zone: "America/Chicago".into(),
        by: "Ana Ruiz".into(),
        reason: String::new(),
        body,
    }
}

fn saved(title: &str) -> LibraryBody {
    let toml = format!("name = \"{title}\"\n");
    LibraryBody::Saved(ItemSaved { title: title.into(), toml, note: String::new(), copied_from: None })
}

#[test]
fn identity_an_item_of_the_library_keeps_its_versions() {
    let mut c = Chain::open(draft(0.0, saved("Beef 6 mm"))).unwrap();
    c.append(draft(1.0, saved("Beef 5 mm"))).unwrap();
    assert_eq!(
        c.versions().map(|(e, s)| (e.n, s.title.as_str())).collect::<Vec<_>>(),
        [(1, "Beef 6 mm"), (2, "Beef 5 mm"),]
    );
    assert_eq!(c.current().unwrap().1.title, "Beef 5 mm");
    c.append(draft(2.0, LibraryBody::Retired(ItemRetired { note: "not sold any more".into() }))).unwrap();
    assert!(c.current().is_none());
    c.append(draft(3.0, saved("Beef 4 mm"))).unwrap();
    assert_eq!(c.current().unwrap().0.n, 4);
    assert_eq!(Chain::<LibraryBody>::parse(c.to_jsonl().as_bytes()).unwrap(), c);
    assert!(Chain::open(draft(0.0, LibraryBody::Retired(ItemRetired { note: String::new() }))).is_err());
}

fn described() -> InstrumentBody {
    InstrumentBody::Described(InstrumentDescribed {
        description: "type K probe, 1.5 mm".into(),
        unit: InstrumentUnit::Celsius,
        tolerance: Some(0.5),
        range: Some((-40.0, 250.0)),
        calibrate_every_days: Some(365),
        interval_reason: "guidance asks for a check at least once a year".into(),
    })
}

fn calibrated(passed: bool, due: Option<&str>) -> InstrumentBody {
    InstrumentBody::Calibrated(Calibrated {
        against: "ice bath".into(),
        points: vec![CalibrationPoint { reference: 0.0, shown: 0.3, after: None }],
        passed,
        tolerance: None,
        due: due.map(|d| CalendarDate::parse(d).unwrap()),
        record: "CAL-12".into(),
        happened: None,
    })
}

/// proves: RECORD-H08
#[test]
fn identity_an_instrument_is_usable_from_a_passed_check_until_a_failed_one() {
    let mut c = Chain::open(draft(0.0, described())).unwrap();
    let v = c.view("TH-07").unwrap();
    assert!(!v.usable && v.instrument.calibrated_on.is_none());
    c.append(draft(1.0, calibrated(true, None))).unwrap();
    let v = c.view("TH-07").unwrap();
    assert!(v.usable);
    assert_eq!(v.instrument.calibrated_on.unwrap().to_string(), "2026-03-13");
    assert_eq!(v.instrument.calibration_due.unwrap().to_string(), "2027-03-13");
    assert_eq!((v.instrument.id.as_str(), v.instrument.tolerance), ("TH-07", Some(0.5)));
    c.append(draft(2.0, calibrated(true, Some("2026-09-01")))).unwrap();
    assert_eq!(c.view("TH-07").unwrap().instrument.calibration_due.unwrap().to_string(), "2026-09-01");
    c.append(draft(3.0, calibrated(false, None))).unwrap();
    let v = c.view("TH-07").unwrap();
    assert!(!v.usable && v.instrument.calibrated_on.is_none());
    assert!(Chain::open(draft(0.0, calibrated(true, None))).is_err());
}

fn settings() -> PlantSettings {
    PlantSettings {
        establishment: "Valley workshop".into(),
        place: "Upper Valley".into(),
        establishment_number: None,
        zone: "America/Chicago".into(),
        altitude_m: 640.0,
        units: PlantUnits::Us,
        language: "en".into(),
        monitoring_interval_min: 30.0,
        retention: Retention::MeatShelfStable,
        plan_name: "Jerky".into(),
        plan_version: "4".into(),
        more: BTreeMap::new(),
    }
}

#[test]
fn identity_the_latest_settings_count_and_impossible_ones_are_refused() {
    let mut c = Chain::open(draft(0.0, PlantBody::Set(Box::new(settings())))).unwrap();
    let mut next = settings();
    next.units = PlantUnits::Si;
    c.append(draft(1.0, PlantBody::Set(Box::new(next.clone())))).unwrap();
    assert_eq!(c.current(), Some(&next));
    type Change = fn(&mut PlantSettings);
    let bad: [Change; 4] = [
        |s| s.zone = "Chicago".into(),
        |s| s.altitude_m = 9000.0,
        |s| s.monitoring_interval_min = 0.0,
        |s| s.establishment = String::new(),
    ];
    for change in bad {
        let mut s = settings();
        change(&mut s);
        assert!(matches!(c.append(draft(2.0, PlantBody::Set(Box::new(s)))), Err(StoreError::Rule { .. })));
    }
}

#[test]
fn identity_audit_entries_come_back() {
    let bodies = [
        AuditBody::AccountMade(AccountMade {
            account: "ana".into(),
            full_name: "Ana Ruiz".into(),
            role: AccountRole::Supervisor,
        }),
        AuditBody::AccountChanged(AccountChanged {
            account: "ana".into(),
            change: AccountChange::Training("meat HACCP course, 2025-02-01".into()),
        }),
        AuditBody::Access(Access {
            account: "ana".into(),
            device: "tablet by North".into(),
            outcome: AccessOutcome::PasswordConfirmed,
        }),
        AuditBody::Copied(Copied {
            what: CopyKind::BackedUp,
            place: "second disk".into(),
            heads_sha256: None,
        }),
        AuditBody::Downtime(Downtime { from: minute(52.0), until: Some(minute(90.0)) }),
    ];
    let mut bodies = bodies.into_iter();
    let mut c = Chain::open(draft(0.0, bodies.next().unwrap())).unwrap();
    for body in bodies {
        c.append(draft(1.0, body)).unwrap();
    }
    assert_eq!(Chain::<AuditBody>::parse(c.to_jsonl().as_bytes()).unwrap(), c);
    let reversed = AuditBody::Downtime(Downtime { from: minute(52.0), until: Some(minute(51.0)) });
    assert!(c.append(draft(2.0, reversed)).is_err());
}

#[test]
fn identity_a_silence_that_nobody_ordered_is_downtime() {
    let beat = |stopped| Heartbeat { at: minute(52.0), stopped };
    assert_eq!(beat(false).downtime(minute(53.0), 60.0), None);
    let found = beat(false).downtime(minute(90.0), 60.0).unwrap();
    assert_eq!(found, Downtime { from: minute(52.0), until: Some(minute(90.0)) });
    assert_eq!(beat(true).downtime(minute(90.0), 60.0), None);
    // A clock that was set back says nothing.
    assert_eq!(beat(false).downtime(minute(10.0), 60.0), None);
}
