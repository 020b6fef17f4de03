//! The proof side over the place that keeps records: files in, facts stated, judged, signed, corrected, printed.
//!
//! Every change is made on a copy of the record with the rules of the record, and added as a whole or not at all.

mod archive;
mod change;
mod diagnostics;
mod entering;
mod entry_lines;
mod import;
mod import_edit;
mod mappings;
mod open;
mod paper;
mod questions_seen;
mod refusal;
mod signing;
mod standing;
mod statement;
mod statement_fields;
mod suspects;

pub use archive::{everything_zip, record_zip};
pub use change::{change, enter, record, view};
pub use diagnostics::reading_lines;
pub use entering::{
    ActionEntry, InterruptionEntry, SuspectEntry, TESTS, TestEntry, correct, enter_action,
    enter_interruption, enter_suspect, enter_test, judge_and_enter, withdraw,
};
pub use entry_lines::{CRITERION, EntryLine, entry_lines, event_words, suspicion_words};
pub use import::{Kept, Look, LookAt, Reading, keep_readings, keep_support, look, put};
pub use import_edit::{ChannelSeen, ClockEdit, ColumnEdit, Edit, channels_seen, role_name};
pub use mappings::{KeptMapping, mappings};
pub use open::{OpenedFrom, Opening, open_from_text, open_plain};
pub use paper::{Paper, Sheets, Written, paper, sheets};
pub use questions_seen::{QuestionSeen, option_choices, questions_seen};
pub use refusal::refusal_words;
pub use signing::{MEANINGS, SignatureEntry, meaning_of, sign};
pub use standing::{Floor, Outlook, floor_word, outlook, verdict_words};
pub use statement::{Statement, save_statement, statement, with_values};
pub use statement_fields::{Asks, FIELDS, StatedField, WORDS_OF_MEASURED};
pub use suspects::{SuspectStretch, suspects};

pub use super::batch_file::{deviation_kind, deviation_words};
