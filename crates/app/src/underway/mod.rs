//! The batch under way: its end forecast anew from what was read and done, what would come of doing otherwise, interruptions
//! judged on the spot, and the few words a floor needs.
//!
//! The estimation is `fallrate_follow`'s; here the entries of a record become its questions, and its answers become words and
//! pictures. What is judged of an interruption comes from the side of proof alone: no forecast goes into it.

mod answer;
mod ask;
mod asked;
mod cause;
mod deeds;
mod doubt;
mod floor;
mod picture;
mod reason;
mod stops;

pub use answer::{Followed, follow};
pub use ask::{Compared, Otherwise, WayFigures, ask, asked_table, asked_words};
pub use asked::{LeftOut, Question, ReadingOf};
pub use cause::{Cause, Moved};
pub use doubt::{Beside, Meant, ReadBack, TimeRead, doubt, read_time};
pub use floor::{Floor, FloorWord, floor, stop_name, stop_reasons};
pub use picture::outlook_pictures;
pub use reason::{Doubted, doubted, end_words, moved_words, timer_words};
pub use stops::{GROWTH_LIMIT_MIN, StopJudged, judge_stops, stop_sources};

pub use fallrate_foods::KillStep;

pub(crate) use deeds::{RowDeeds, deeds_of_rows};
pub(crate) use reason::clock_words;
