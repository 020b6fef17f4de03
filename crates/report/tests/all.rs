//! All integration tests of the crate, in one binary.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod all {
    mod charts;
    mod documents;
    mod odd_input;
    mod pages;
    mod pictures;
    mod sample;
    mod sample_document;
    mod tables;
}
