//! Several files with different clocks.

use fallrate_ingest::{IngestError, Mapping, MergeOptions, MergePart, Options, Outcome, merge, read_bytes};
use fallrate_series::{ClockEvidence, DiagnosticKind, GapReason, Log, Proof};

fn log(name: &str, text: &str) -> Log<Proof> {
    let options = Options { default_zone: Some("UTC".into()), ..Options::default() };
    match read_bytes(name, text.as_bytes(), &Mapping::new(), &options).unwrap() {
        Outcome::Done(log) => log,
        Outcome::Asked(asked) => panic!("{:?}", asked.questions),
    }
}

fn part(log: Log<Proof>, offset_s: f64) -> MergePart {
    MergePart { log, offset_s, evidence: None, uncertainty_s: None }
}

const AIR: &str = "Time,Air (°C)\n2026-03-13 08:00:00,60\n2026-03-13 08:01:00,61\n2026-03-13 08:02:00,62\n";
const CORE: &str =
    "Time,Core 1 (°C)\n2026-03-13 08:05:30,20\n2026-03-13 08:06:30,21\n2026-03-13 08:20:30,22\n";
const LATER: &str = "Time,Air (°C)\n2026-03-13 08:10:00,70\n2026-03-13 08:11:00,71\n";

#[test]
fn an_offset_moves_readings_gaps_and_diagnostics() {
    let parts = vec![
        part(log("air.csv", AIR), 0.0),
        MergePart {
            evidence: Some(ClockEvidence::Compared { with: "radio clock".into() }),
            ..part(log("core.csv", CORE), -330.0)
        },
    ];
    let merged = merge(parts, "UTC", MergeOptions::default()).unwrap();
    let core = &merged.channels[1];
    assert_eq!(core.source, Some(1));
    assert_eq!(core.readings()[0].at.iso_utc(), "2026-03-13T08:00:00Z");
    assert_eq!(core.gaps[0].span.from().iso_utc(), "2026-03-13T08:01:00Z");
    assert!((merged.sources[1].clock.offset_s + 330.0).abs() < 1e-9);
    assert!(merged.sources[1].clock.is_known());
    let gap = merged.diagnostics.iter().find(|d| matches!(d.kind, DiagnosticKind::Gap { .. })).unwrap();
    assert_eq!((gap.source, gap.span.unwrap().from().iso_utc()), (Some(1), "2026-03-13T08:01:00Z".into()));
    assert!(
        merged.diagnostics.iter().any(|d| d.kind == DiagnosticKind::ClockOffsetApplied { seconds: -330.0 })
    );
    // Nobody vouches for the first file's clock: said, not silent.
    assert!(merged.diagnostics.iter().any(|d| d.source == Some(0)
        && matches!(&d.kind, DiagnosticKind::ChoiceMade { what, .. } if what.contains("clock of 'air.csv'"))));
}

#[test]
fn a_continuation_is_joined_with_a_gap_only_when_asked() {
    let parts = || vec![part(log("a.csv", AIR), 0.0), part(log("b.csv", LATER), 0.0)];
    assert_eq!(merge(parts(), "UTC", MergeOptions::default()).unwrap().channels.len(), 2);
    let joined = merge(parts(), "UTC", MergeOptions { join_continuations: true }).unwrap();
    assert_eq!(joined.channels.len(), 1);
    assert_eq!(joined.channels[0].readings().len(), 5);
    assert_eq!(joined.channels[0].gaps.len(), 1);
    assert_eq!(joined.channels[0].gaps[0].reason, GapReason::BetweenFiles);
}

#[test]
fn two_sensors_side_by_side_are_never_joined() {
    let other = AIR.replace(":00,6", ":30,6");
    let parts = vec![part(log("a.csv", AIR), 0.0), part(log("b.csv", &other), 0.0)];
    assert_eq!(merge(parts, "UTC", MergeOptions { join_continuations: true }).unwrap().channels.len(), 2);
}

#[test]
fn the_same_bytes_twice_are_refused() {
    let parts = vec![part(log("a.csv", AIR), 0.0), part(log("copy.csv", AIR), 60.0)];
    let error = merge(parts, "UTC", MergeOptions::default()).unwrap_err();
    assert!(matches!(error, IngestError::Merge { .. }) && error.to_string().contains("copy.csv"), "{error}");
    assert!(merge(Vec::new(), "UTC", MergeOptions::default()).is_err());
}

#[test]
fn what_was_said_of_a_clock_before_it_was_moved_does_not_hold_afterwards() {
    let known = |name: &str, text: &str| {
        let mut log = log(name, text);
        log.sources[0].clock.uncertainty_s = Some(5.0);
        log
    };
    let of = |part: MergePart| {
        let merged = merge(vec![part], "UTC", MergeOptions::default())?;
        Ok::<_, IngestError>(merged.sources[0].clock.uncertainty_s)
    };
    assert_eq!(of(part(known("a.csv", AIR), 0.0)), Ok(Some(5.0)), "nothing new is said");
    assert_eq!(of(part(known("a.csv", AIR), 60.0)), Ok(None));
    let moved = MergePart { uncertainty_s: Some(2.0), ..part(known("a.csv", AIR), 60.0) };
    assert_eq!(of(moved), Ok(Some(2.0)));
    let compared = ClockEvidence::Compared { with: "core.csv".into() };
    let unsure = MergePart { evidence: Some(compared), ..part(known("a.csv", AIR), 0.0) };
    assert_eq!(of(unsure), Ok(None));
    for s in [-1.0, f64::NAN] {
        let bad = MergePart { uncertainty_s: Some(s), ..part(known("a.csv", AIR), 0.0) };
        assert!(of(bad).unwrap_err().to_string().contains("a clock known to"), "{s}");
    }
}

#[test]
fn files_whose_clocks_are_not_stated_alike_are_not_joined() {
    let parts = |uncertainty_s: Option<f64>| {
        let second = MergePart { uncertainty_s, ..part(log("b.csv", LATER), 0.0) };
        vec![part(log("a.csv", AIR), 0.0), second]
    };
    let channels = |uncertainty_s| {
        merge(parts(uncertainty_s), "UTC", MergeOptions { join_continuations: true }).unwrap().channels.len()
    };
    assert_eq!((channels(None), channels(Some(5.0))), (1, 2));
}

#[test]
fn events_keep_the_form_they_were_written_in() {
    let form = b"hand entry 1\ndate 2026-03-13\nzone UTC\nby A. Person\n08:01 event product-met-heat\n";
    let Outcome::Done(read) = fallrate_ingest::read_hand("form.txt", form, &Options::default()).unwrap()
    else {
        panic!("asked");
    };
    assert_eq!(read.log.events[0].source, Some(0));
    let merged =
        merge(vec![part(log("a.csv", AIR), 0.0), part(read.log, 60.0)], "UTC", MergeOptions::default())
            .unwrap();
    let event = &merged.events[0];
    assert_eq!((event.source, event.at.iso_utc()), (Some(1), "2026-03-13T08:02:00Z".into()));
}
