//! The suite over SQLite.

crate::suite::suite!(crate::support::Folder::new());
