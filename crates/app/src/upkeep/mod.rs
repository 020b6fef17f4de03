//! Looking after the tool itself: whether it was running, whether there is a copy, whether there is room.

mod copies;
mod downtime;
mod reset;

pub use copies::{
    BACKUP_FOLDER, BACKUPS_KEPT, DueBy, RoomState, backup_due_by, backup_folder, due_records, remember_copy,
    room_state,
};
pub use downtime::{
    BEAT_S, Beat, OffQuestion, SILENCE_S, beat, downtimes, off_questions, ran_on, stopped_on_purpose,
};
pub use reset::{ResetDone, reset_secret, role_of};

pub use fallrate_store::{BackupSeen, CopyDone, CopyKind, Downtime, Room, Upkeep};
