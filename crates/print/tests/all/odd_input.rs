//! Whatever a document holds, it is printed or refused.

use super::reader;
use super::sample_document::evil_document;
use fallrate_print::{PrintError, pdf};
use fallrate_report::*;
use proptest::prelude::*;

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        Just(" \n\n ".to_owned()),
        "[a-z #$*<>{}\\[\\]\\\\]{0,40}",
        any::<String>(),
        "[a-zA-Z0-9]{40,80}",
    ]
}

fn any_paper() -> impl Strategy<Value = Paper> {
    prop::sample::select(vec![Paper::A4, Paper::Letter, Paper::CardA4, Paper::CardLetter, Paper::CardA5])
}

proptest! {
    // A document takes about a second where nothing is optimised.
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn limit_any_document_is_printed_or_refused_by_a_typed_error(text in any_text(), title in any_text(),
                                                                 paper in any_paper(), order in any::<u64>()) {
        let mut document = evil_document(&text);
        document.paper = paper;
        document.language = "es".into();
        document.date = Some("2026-03-12".into());
        document.page_word = "{page} / {pages}".into();
        document.title = format!("T {title}");
        let by = usize::try_from(order % 15).unwrap_or(0);
        document.blocks.rotate_left(by);
        match pdf(&document) {
            Ok(bytes) => prop_assert!(!reader::pages(&bytes).is_empty()),
            Err(PrintError::EmptyText { .. } | PrintError::NoAlternative { .. } | PrintError::CardTooLong { .. }) => {}
            Err(other) => prop_assert!(false, "{other}"),
        }
    }
}
