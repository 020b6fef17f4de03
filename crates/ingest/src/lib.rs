//! Bytes of logger files into measured series, with everything that was wrong.
//!
//! Three things can come of a file:
//! - a [`fallrate_series::Log`] with its diagnostics: what is merely imperfect is read, marked and listed;
//! - [`Question`]s, where it can be read in two ways (degC or degF, day or month first, which pass of the repeated
//!   hour): each with every reading shown. The answers go into a [`Mapping`], which is kept for the next file;
//! - an [`IngestError`]: a refusal with what, value, allowed, file, line and column.
//!
//! Nothing is bridged, smoothed or guessed silently. A choice made from evidence is a diagnostic of its own.
//!
//! ```
//! use fallrate_ingest::{Mapping, Options, Outcome, read_bytes};
//! let file = b"Date;Air (\xb0C);Core 1 (\xb0C)\n13.03.2026 08:00;71,5;20,1\n13.03.2026 08:01;71,9;20,4\n";
//! let options = Options { default_zone: Some("Europe/Madrid".into()), ..Options::default() };
//! let Outcome::Done(log) = read_bytes("run.csv", file, &Mapping::new(), &options)? else { panic!("asked") };
//! assert_eq!(log.channels.len(), 2);
//! assert_eq!(log.channels[1].readings()[1].value, 20.4);
//! assert_eq!(log.channels[1].readings()[1].at.iso_utc(), "2026-03-13T07:01:00Z");
//! # Ok::<(), fallrate_ingest::IngestError>(())
//! ```
//!
//! [`stream`] does the same in flat memory for a [`RowSink`]; [`read_hand`] reads the form for readings by hand;
//! [`merge`] joins the logs of several files.

mod checks;
mod clock;
mod clock_form;
mod clock_plan;
mod clock_settle;
mod collect;
mod column_plan;
mod column_unit;
mod encoding;
mod engine;
mod error;
mod hand;
mod hand_parts;
mod inspection;
mod jsonl;
mod limits;
mod mapping;
mod mapping_clock;
mod merge;
mod notes;
mod number;
mod open;
mod question;
mod read;
mod roles;
mod sniff;
mod source;
mod stamp;
mod stamp_scan;
mod table;
mod units_seen;
mod value;
mod xlsx;
mod zone;

pub use clock_plan::ChoiceNote;
pub use collect::read_bytes;
pub use column_plan::ColumnSeen;
pub use engine::{ReadRow, RowSink};
pub use error::{IngestError, Place};
pub use hand::{HandRead, is_hand_entry, read_hand};
pub use limits::{CheckLimits, Limits, Options};
pub use mapping::{
    ClockForm, ClockMapping, ClockStep, ColumnMapping, Fold, HalfDay, InstrumentMapping, LayoutMapping,
    Mapping, ROLE_WORDS, Skipped, role_from_word, word_of_role,
};
pub use merge::{MergeOptions, MergePart, merge};
pub use number::{Cell, DecimalMark, parse_number, read_cell};
pub use question::{Choice, Question, Setting, Topic};
pub use read::{Asked, ChannelRead, FileKind, FileRead, Inspection, Outcome, inspect, stream};
pub use roles::{Proposal, propose};
pub use sniff::Layout;
pub use stamp::DateOrder;
pub use table::sha256_hex;
pub use units_seen::Kind;
pub use value::CellValue;
