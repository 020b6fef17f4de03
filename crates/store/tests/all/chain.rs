//! A chain: its lines, hashes and what is read back.

use fallrate_store::*;
use proptest::prelude::*;
use sha2::{Digest as _, Sha256};

use crate::support::*;

/// The hash of a line by the words of docs/records.md, with string functions only: what stands before the last
/// `,"hash":`, closed with a brace.
fn hash_by_hand(line: &str) -> String {
    let (before, _) = line.rsplit_once(",\"hash\":").unwrap();
    let digest = Sha256::digest(format!("{before}}}").as_bytes());
    digest.iter().map(|b| format!("{b:02x}")).collect()
}

#[test]
fn identity_hashes_follow_the_words_of_the_documentation() {
    let text = sample().to_jsonl();
    let mut previous = "0".repeat(64);
    for line in text.lines() {
        let hash = hash_by_hand(line);
        assert!(line.ends_with(&format!(",\"previous\":\"{previous}\",\"hash\":\"{hash}\"}}")), "{line}");
        previous = hash;
    }
    assert_eq!(previous, sample().head().to_string());
}

/// proves: RECORD-E02
#[test]
fn identity_a_record_is_read_back_as_it_was_written() {
    let chain = sample();
    let read = Chain::parse(chain.to_jsonl().as_bytes()).unwrap();
    assert_eq!(read, chain);
    assert_eq!(read.view(), chain.view());
    assert_eq!(read.to_jsonl(), chain.to_jsonl());
}

#[test]
fn identity_every_line_is_one_json_object_with_the_nine_fields_in_order() {
    for (i, line) in sample().lines().iter().enumerate() {
        let value: serde_json::Value = serde_json::from_str(line).unwrap();
        assert_eq!(value["n"], i + 1);
        let at: Vec<usize> = ["n", "at", "zone", "by", "reason", "kind", "body", "previous", "hash"]
            .iter()
            .map(|k| line.find(&format!("\"{k}\":")).unwrap())
            .collect();
        assert!(at.is_sorted(), "{line}");
        assert!(!line.contains('\n'));
    }
}

/// The whole of entry 1, frozen: shows a change of the form, not that it is right.
#[test]
fn regress_first_line() {
    insta::assert_snapshot!(sample().lines()[0]);
}

#[test]
fn limit_instants_keep_their_nanoseconds_as_text() {
    for (text, ns) in [
        ("2026-03-13T13:00:00Z", 1_773_406_800_000_000_000),
        ("2026-03-13T13:00:00.5Z", 1_773_406_800_500_000_000),
        ("1969-12-31T23:59:59.999999999Z", -1),
        ("1970-01-01T00:00:00Z", 0),
    ] {
        let at = instant_from_iso(text).unwrap();
        assert_eq!(at.unix_nanoseconds(), ns);
        assert_eq!(iso_from_instant(at), text);
    }
    for bad in
        ["2026-03-13T13:00:00", "2026-03-13T13:00:00+00:00", "2026-13-13T13:00:00Z", "9999-01-01T00:00:00Z"]
    {
        assert!(instant_from_iso(bad).is_err(), "{bad}");
    }
}

#[test]
fn limit_days_are_those_of_the_plant() {
    let late = instant_from_iso("2026-03-14T04:30:00Z").unwrap();
    assert_eq!(day_in_zone(late, "America/Chicago").to_string(), "2026-03-13");
    assert_eq!(day_in_zone(late, "Europe/Dublin").to_string(), "2026-03-14");
}

#[test]
fn refuse_digests_in_capitals_or_of_another_length() {
    let good = Digest::of(b"x").to_string();
    assert!(Digest::parse(&good).is_ok());
    assert!(Digest::parse(&good.to_uppercase()).is_err());
    assert!(Digest::parse(&good[1..]).is_err());
    assert!(Digest::parse(&format!("{}g", &good[1..])).is_err());
}

#[test]
fn refuse_numbers_that_would_not_be_read_back() {
    for bad in [f64::NAN, f64::INFINITY] {
        let mut f = facts();
        f.earlier_minutes_in_band = bad;
        let mut chain = sample();
        let before = chain.clone();
        let error = chain.append(draft(600.0, "Ana Ruiz", stated(f))).unwrap_err();
        assert!(matches!(error, StoreError::Unwritable { .. }), "{error}");
        assert_eq!(chain, before);
    }
}

proptest! {
    #[test]
    fn identity_any_text_and_any_number_come_back(
        text in "\\PC{1,60}|[\\x00-\\x7f]{1,40}",
        minutes in proptest::num::f64::NORMAL | proptest::num::f64::ZERO | proptest::num::f64::SUBNORMAL,
        ns in any::<i64>(),
    ) {
        let mut f = facts();
        f.earlier_minutes_in_band = minutes;
        f.cold_spot_evidence = Some(text.clone());
        let mut chain = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
        let mut d = draft(1.0, &format!("x{text}"), stated(f.clone()));
        d.at = fallrate_series::Instant::from_unix_nanoseconds(ns);
        d.reason = text;
        chain.append(d).unwrap();
        let read = Chain::parse(chain.to_jsonl().as_bytes()).unwrap();
        prop_assert_eq!(&read, &chain);
        prop_assert_eq!(read.view().facts.unwrap().value, f);
    }
}
