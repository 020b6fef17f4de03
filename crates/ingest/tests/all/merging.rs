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
    MergePart { log, offset_s, evidence: None }
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
