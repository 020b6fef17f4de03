//! No bytes make the reader panic, and whatever comes out keeps its promises.

use fallrate_ingest::{Mapping, Options, Outcome, inspect, read_bytes};
use proptest::prelude::*;

use crate::corpus::{cases, mapping, options};

/// Reads bytes in every way; a panic fails the test. Readings that come out are finite and in rising order.
fn try_all(file: &str, bytes: &[u8], mapping: &Mapping, options: &Options) {
    let _ = inspect(file, bytes, mapping, options);
    let first = read_bytes(file, bytes, mapping, options);
    if let Ok(Outcome::Done(log)) = &first {
        for channel in &log.channels {
            assert!(channel.readings().iter().all(|r| r.value.is_finite()));
            assert!(channel.intervals().all(|i| i.seconds() > 0.0));
        }
    }
    // The same input gives the same output.
    assert_eq!(first, read_bytes(file, bytes, mapping, options));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn arbitrary_bytes(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        try_all("f", &bytes, &Mapping::new(), &Options { default_zone: Some("Europe/Madrid".into()), ..Options::default() });
    }

    #[test]
    fn arbitrary_text(text in "[-0-9:;,. /|\\t\\n\"°CFTZAPMaehikrstx#%+]{0,400}") {
        try_all("f", text.as_bytes(), &Mapping::new(), &Options { default_zone: Some("America/Chicago".into()), ..Options::default() });
    }

    #[test]
    fn arbitrary_hand_entry(text in "[-0-9:. a-z%#F\\n]{0,300}") {
        let form = format!("hand entry 1\ndate 2026-03-13\nby A\n08:00 {text}");
        try_all("f", form.as_bytes(), &Mapping::new(), &Options { default_zone: Some("UTC".into()), ..Options::default() });
    }

    /// A table with changed bytes: one flip, one cut, one doubled stretch.
    #[test]
    fn changed_corpus_files(pick in any::<prop::sample::Index>(), at in any::<prop::sample::Index>(), byte: u8, cut in any::<prop::sample::Index>()) {
        thread_local!(static CASES: Vec<(serde_json::Value, Vec<u8>)> = cases().into_iter().filter(|(_, b)| b.len() < 20_000 && !b.is_empty()).collect());
        CASES.with(|all| {
            let (expect, bytes) = &all[pick.index(all.len())];
            let mut changed = bytes.clone();
            let i = at.index(changed.len());
            changed[i] = byte;
            let end = cut.index(changed.len());
            let doubled = changed[end.min(i)..end.max(i)].to_vec();
            changed.extend(doubled);
            try_all("f", &changed, &mapping(expect), &options(expect));
        });
    }
}
