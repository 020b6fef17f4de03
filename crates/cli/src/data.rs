//! The verb `data`: copies of everything, and a forgotten secret, at the machine itself.

use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use clap::{Args, Subcommand};
use fallrate_app::batches::{AccountRole, Instant, RecordRealm, Stamp, plant};
use fallrate_app::upkeep::{
    BACKUPS_KEPT, CopyDone, CopyKind, ResetDone, Upkeep, remember_copy, reset_secret, role_of,
};
use fallrate_database::{OpenOptions, SqliteRecords, SqliteUpkeep};

use crate::serve::{data_folder, records_file};
use crate::work::{Fault, print};

/// Arguments of `data`.
#[derive(Debug, Args)]
pub struct DataArgs {
    /// What to do.
    #[command(subcommand)]
    verb: DataVerb,
    /// Folder that keeps the records [default: the user's data folder]
    #[arg(long, global = true, value_name = "FOLDER")]
    data: Option<PathBuf>,
    /// Name of the person who does it; it is kept with what was done
    #[arg(long, global = true, value_name = "NAME", default_value = "at the machine")]
    by: String,
}

/// What can be done.
#[derive(Debug, Subcommand)]
pub enum DataVerb {
    /// Copy everything into a folder as one checked file; the server may be running
    Backup {
        /// Folder, best on another disk; it must exist
        #[arg(long, value_name = "FOLDER")]
        to: PathBuf,
    },
    /// Put a backup in the place of what is here; what is here is kept in a file beside it
    #[command(after_help = "\
The backup is checked first: its file, every seal, its world. Where records are here already, --replace says that they
give way; they are kept as before-restore-TIME.sqlite in the data folder. Stop the server first, so that nobody enters
anything meanwhile.")]
    Restore {
        /// The backup
        #[arg(value_name = "FILE")]
        backup: PathBuf,
        /// Records that are here give way
        #[arg(long)]
        replace: bool,
    },
    /// Write everything as open files into a new folder
    Export {
        /// Folder; it must not exist yet
        #[arg(long, value_name = "FOLDER")]
        to: PathBuf,
    },
    /// Read an export in; everything in it is checked first
    Import {
        /// Folder of the export
        #[arg(long, value_name = "FOLDER")]
        from: PathBuf,
    },
    /// Give an account a new PIN or password, which is printed once, and end its sessions
    ResetSecret {
        /// Name of the account, as in the addresses of the page of people
        #[arg(value_name = "ACCOUNT")]
        account: String,
    },
}

fn now() -> Instant {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    Instant::from_unix_seconds(since.as_secs_f64().floor())
}

fn open(file: &Path) -> Result<SqliteRecords, Fault> {
    SqliteRecords::open(file, RecordRealm::Proof, OpenOptions::default())
        .map_err(|e| Fault::App(format!("{}: {e}", file.display())))
}

fn stamp(records: &mut SqliteRecords, by: &str) -> Result<Stamp, Fault> {
    let zone = plant(records).map_err(words)?.map_or_else(|| "UTC".to_owned(), |p| p.zone);
    Ok(Stamp { at: now(), zone, by: by.trim().to_owned(), client_id: None })
}

fn words(e: impl std::fmt::Display) -> Fault {
    Fault::App(e.to_string())
}

/// Remembers what was copied and says it.
fn done(file: &Path, by: &str, what: CopyKind, done: &CopyDone) -> Result<(), Fault> {
    let mut records = open(file)?;
    let stamp = stamp(&mut records, by)?;
    remember_copy(&mut records, &stamp, what, done).map_err(words)?;
    let heads = done.heads_sha256.map_or(String::new(), |d| format!("heads sha256 {d}\n"));
    print(&format!("{}\n{} streams, {} entries\n{heads}", done.path.display(), done.streams, done.entries))
}

/// Does what is asked.
///
/// # Errors
/// [`Fault`].
pub fn data(a: &DataArgs) -> Result<(), Fault> {
    let folder = data_folder(a.data.as_ref())?;
    let file = records_file(&folder);
    let here = || {
        let missing =
            || Fault::App(format!("{}: no records there; allowed: --data FOLDER", folder.display()));
        if file.is_file() { Ok(()) } else { Err(missing()) }
    };
    let upkeep = SqliteUpkeep::new(&file, RecordRealm::Proof, OpenOptions::default());
    match &a.verb {
        DataVerb::Backup { to } => {
            here()?;
            let made = upkeep.back_up(to, now(), BACKUPS_KEPT).map_err(words)?;
            done(&file, &a.by, CopyKind::BackedUp, &made)
        }
        DataVerb::Export { to } => {
            here()?;
            let made = upkeep.export(to).map_err(words)?;
            done(&file, &a.by, CopyKind::Exported, &made)
        }
        DataVerb::Import { from } => {
            std::fs::create_dir_all(&folder).map_err(words)?;
            let read = upkeep.import(from).map_err(words)?;
            done(&file, &a.by, CopyKind::Imported, &read)
        }
        DataVerb::Restore { backup, replace } => restore(&folder, &file, backup, *replace, &a.by),
        DataVerb::ResetSecret { account } => {
            here()?;
            reset(&file, account, &a.by)
        }
    }
}

fn restore(folder: &Path, file: &Path, backup: &Path, replace: bool, by: &str) -> Result<(), Fault> {
    let there = file.is_file();
    if there && !replace {
        let detail = format!(
            "{}: there are records already; allowed: --replace, which keeps them in a file",
            file.display()
        );
        return Err(Fault::App(detail));
    }
    std::fs::create_dir_all(folder).map_err(words)?;
    let at = now();
    let time: String = at.iso_utc().chars().filter(|c| !":-".contains(*c)).collect();
    let before = folder.join(format!("before-restore-{time}.sqlite"));
    let mut records = open(file)?;
    let report = match records.restore(backup, &before) {
        Ok(report) => report,
        Err(e) => {
            drop(records);
            if !there {
                // What was made to be filled and was not would be taken for records.
                for ending in ["", "-wal", "-shm"] {
                    let _ = std::fs::remove_file(format!("{}{ending}", file.display()));
                }
            }
            return Err(words(e));
        }
    };
    let copy = CopyDone { path: backup.to_path_buf(), streams: 0, entries: 0, heads_sha256: None };
    let stamp = stamp(&mut records, by)?;
    remember_copy(&mut records, &stamp, CopyKind::Restored, &copy).map_err(words)?;
    let mut said = format!("{}: in place\n", backup.display());
    if there {
        said.push_str(&format!("what was here is kept in {}\n", report.before.display()));
        for (stream, now, was) in &report.shorter {
            said.push_str(&format!("{stream}: {now} entries now, {was} before\n"));
        }
    }
    print(&said)
}

fn reset(file: &Path, account: &str, by: &str) -> Result<(), Fault> {
    let mut records = open(file)?;
    let role = role_of(&mut records, account).map_err(words)?;
    let no_random = || Fault::App("the system gives no random numbers".to_owned());
    let (secret, hash) =
        fallrate_web::new_secret(role == Some(AccountRole::Operator)).ok_or_else(no_random)?;
    let stamp = stamp(&mut records, by)?;
    match reset_secret(&mut records, &stamp, account, &hash).map_err(words)? {
        ResetDone::NoAccount(names) => {
            Err(Fault::App(format!("account '{account}': there is none; allowed: {}", names.join(", "))))
        }
        ResetDone::Done { sessions } => print(&format!(
            "new secret of '{account}': {secret}\nsessions ended: {sessions}; kept in the audit stream\n"
        )),
    }
}
