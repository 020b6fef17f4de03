//! All integration tests of the crate, in one binary.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod all {
    mod archive;
    mod odd_input;
    mod paper;
    mod reader;
    #[allow(dead_code)]
    #[path = "../../../report/tests/all/sample.rs"]
    mod sample;
    #[path = "../../../report/tests/all/sample_document.rs"]
    mod sample_document;
    mod texts;
}
