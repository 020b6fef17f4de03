//! Practice: rehearsals on a virtual cabinet, tests of an empty one, the invented demonstration workshop. Readings are
//! simulated or invented by type, kept in databases of their own, and no verdict of proof can be made of them.

mod asked;
mod debrief;
mod demo;
mod files;
mod front;
mod mark;
mod rooms;
mod session;
mod test_files;

pub use asked::{RehearsalAsked, practised_files, virtual_cabinet};
pub use debrief::fault_words;
pub use demo::{DEMO_BATCHES, DemoState, build_demo, demo_state};
pub use files::{PracticeFile, RunFacts, run_files};
pub use front::{Front, Shown};
pub use mark::{SIMULATED_MARK, carries_mark, refuse_simulated};
pub use rooms::Rooms;
pub use session::{KeptRehearsal, Rehearsing, begin_record, keep_order, kept_rehearsal, kept_rehearsals};
pub use test_files::{TestAsked, test_files, usual_tests};

pub use fallrate_rehearse::{Act, CabinetTest, Debrief, FaultChoice, Hand, RehearseError, VirtualCabinet};
