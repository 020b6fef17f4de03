//! Tests of reading logger files: the corpus of invented files, answers to questions, merging, arbitrary bytes.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "all/corpus.rs"]
mod corpus;
#[path = "all/merging.rs"]
mod merging;
#[path = "all/questions.rs"]
mod questions;
#[path = "all/robust.rs"]
mod robust;
#[path = "all/streaming.rs"]
mod streaming;
