//! Whatever is done to the bytes of a record is found.

use fallrate_store::*;
use proptest::prelude::*;

use crate::support::*;

fn problems(bytes: &[u8], head: Option<Digest>) -> Vec<Problem> {
    verify("record.jsonl", bytes, &sample_files, head).problems
}

/// proves: RECORD-H11
#[test]
fn identity_an_untouched_record_is_intact() {
    let chain = sample();
    let v = verify("record.jsonl", chain.to_jsonl().as_bytes(), &sample_files, Some(chain.head()));
    assert!(v.is_intact(), "{:?}", v.problems);
    assert!(v.notes.is_empty());
    assert_eq!((v.head, v.entries.len() as u64), (Some(chain.head()), chain.last_n()));
}

/// Few short lines, for what is tried at every byte.
fn short() -> Vec<u8> {
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    c.append(draft(1.0, "Ana Ruiz", noted("tray 8 \u{1F4A7} \"turned\" 71,5 °C"))).unwrap();
    c.append(because(draft(2.0, "Ana", Body::Withdrawn(Withdrawn { entry: 2 })), "wrong")).unwrap();
    c.to_jsonl().into_bytes()
}

/// proves: RECORD-H13, RECORD-E01
#[test]
fn identity_every_change_of_one_byte_is_found() {
    changed_bytes(&short(), 1);
    // Every kind of entry, at a step that shares no factor with anything in the form.
    changed_bytes(&sample().to_jsonl().into_bytes(), 211);
}

fn changed_bytes(good: &[u8], step: usize) {
    for at in (0..good.len()).step_by(step) {
        // The lowest bit, capital against small, the highest bit, and bytes that mean something to JSON and to lines.
        let others = [0x01, 0x20, 0x80].map(|bit| good[at] ^ bit).into_iter().chain(*b"\n \"}0");
        for other in others.filter(|o| *o != good[at]) {
            let mut bytes = good.to_vec();
            bytes[at] = other;
            assert!(!problems(&bytes, None).is_empty(), "byte {at}: {} -> {other}", good[at]);
        }
    }
}

#[test]
fn identity_every_missing_and_every_added_byte_is_found() {
    let good = short();
    for at in 0..good.len() {
        let mut bytes = good.clone();
        bytes.remove(at);
        assert!(!problems(&bytes, None).is_empty(), "without byte {at}");
    }
    for at in 0..=good.len() {
        for new in *b"\n \r0a\"}" {
            let mut bytes = good.clone();
            bytes.insert(at, new);
            // The same byte beside itself is the same insertion one place further on; none gives the same bytes back.
            assert_ne!(bytes, good);
            assert!(!problems(&bytes, None).is_empty(), "{new} before byte {at}");
        }
    }
}

#[test]
fn identity_lines_left_out_doubled_or_exchanged_are_found() {
    let chain = sample();
    let text = |lines: &[&str]| lines.iter().flat_map(|l| [*l, "\n"]).collect::<String>();
    let lines: Vec<&str> = chain.lines().iter().map(String::as_str).collect();
    for i in 0..lines.len() {
        let mut out = lines.clone();
        out.remove(i);
        let found = problems(text(&out).as_bytes(), None);
        // Without an expected head the last line is missed by nobody: the documentation says so.
        assert_eq!(found.is_empty(), i + 1 == lines.len(), "without line {}", i + 1);
        assert!(!problems(text(&out).as_bytes(), Some(chain.head())).is_empty());
        let mut twice = lines.clone();
        twice.insert(i, lines[i]);
        assert!(!problems(text(&twice).as_bytes(), None).is_empty(), "line {} twice", i + 1);
        for k in 0..i {
            let mut swapped = lines.clone();
            swapped.swap(i, k);
            assert!(!problems(text(&swapped).as_bytes(), None).is_empty(), "{} and {}", k + 1, i + 1);
        }
    }
}

#[test]
fn identity_a_cut_is_found_but_at_the_end_of_a_line_only_with_the_expected_head() {
    let good = short();
    let head = Chain::<Body>::parse(&good).unwrap().head();
    for end in 0..good.len() {
        let cut = &good[..end];
        let at_line_end = end > 0 && good[end - 1] == b'\n';
        assert_eq!(problems(cut, None).is_empty(), at_line_end, "{end}");
        assert!(!problems(cut, Some(head)).is_empty(), "{end}");
    }
}

#[test]
fn identity_the_place_of_a_change_is_named() {
    let chain = sample();
    let bad = chain.to_jsonl().replace("tray 8 turned", "tray 3 turned");
    let found = problems(bad.as_bytes(), None);
    assert_eq!(
        found.iter().map(|p| (p.line, p.kind.clone())).collect::<Vec<_>>(),
        [(6, ProblemKind::Hash), (7, ProblemKind::Previous),]
    );
    assert_eq!(found[0].found, chain.entries()[5].hash.to_string());
}

#[test]
fn identity_a_record_written_anew_is_found_by_the_head() {
    let chain = sample();
    let mut other = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    other.append(draft(1.0, "Ana Ruiz", noted("nothing happened"))).unwrap();
    assert!(problems(other.to_jsonl().as_bytes(), None).is_empty());
    let found = problems(other.to_jsonl().as_bytes(), Some(chain.head()));
    assert_eq!(found.last().unwrap().kind, ProblemKind::Head);
}

#[test]
fn identity_files_beside_the_record_are_checked() {
    let chain = sample();
    let bytes = chain.to_jsonl();
    let kinds = |attachments: &dyn Fn(&str) -> Option<(Digest, u64)>| {
        let v = verify("record.jsonl", bytes.as_bytes(), attachments, None);
        v.problems.into_iter().map(|p| (p.line, p.kind)).collect::<Vec<_>>()
    };
    assert_eq!(kinds(&|_| None), [(4, ProblemKind::FileMissing)]);
    assert_eq!(kinds(&|_| Some((Digest::of(b"other"), 10))), [(4, ProblemKind::FileDiffers)]);
    assert_eq!(kinds(&|_| Some((Digest::of(b"t,T2\n0,60\n"), 11))), [(4, ProblemKind::FileDiffers)]);
}

#[test]
fn limit_other_texts_are_no_records() {
    for bad in ["", "\n", "{}\n", "[1]\n", "null\n", "hello\n", "\u{feff}{}\n"] {
        assert!(!problems(bad.as_bytes(), None).is_empty(), "{bad:?}");
        assert!(Chain::<Body>::parse(bad.as_bytes()).is_err());
    }
    assert!(!problems(&[0xff, 0xfe, b'\n'], None).is_empty());
}

#[test]
fn limit_a_doubled_field_is_no_entry() {
    // JSON readers differ in which of two equal fields they take: such a line is refused whatever its hash.
    let line = &sample().lines()[0].clone();
    let (before, _) = line.rsplit_once(",\"hash\":").unwrap();
    let forged = before.replacen("\"by\":\"Ana Ruiz\"", "\"by\":\"Ana Ruiz\",\"by\":\"Lee Park\"", 1);
    let hash = Digest::of(format!("{forged}}}").as_bytes());
    let found = problems(format!("{forged},\"hash\":\"{hash}\"}}\n").as_bytes(), None);
    assert!(found.iter().any(|p| p.kind == ProblemKind::NotAnEntry), "{found:?}");
}

fn any_note() -> impl Strategy<Value = (f64, String, String)> {
    (0.0..1e4, "[a-zA-ZÀ-ÿ]{1,12}", "\\PC{1,40}")
}

proptest! {
    #[test]
    fn identity_random_records_random_damage(
        notes in prop::collection::vec(any_note(), 1..6),
        at in any::<prop::sample::Index>(),
        length in 0_usize..40,
        put in prop::collection::vec(any::<u8>(), 0..40),
    ) {
        let mut chain = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
        for (m, by, text) in notes {
            let _ = chain.append(draft(m, &by, noted(&text)));
        }
        let good = chain.to_jsonl().into_bytes();
        let from = at.index(good.len());
        let to = (from + length).min(good.len());
        let mut bytes = good.clone();
        bytes.splice(from..to, put);
        prop_assume!(bytes != good);
        prop_assert!(!problems(&bytes, Some(chain.head())).is_empty());
        // Without a head: found as well, unless what is left is a beginning of the record.
        let beginning = good.starts_with(&bytes) && bytes.last() == Some(&b'\n');
        prop_assert_eq!(problems(&bytes, None).is_empty(), beginning);
    }
}
