//! The verb that serves the web app.

use std::io::{self, Write};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use fallrate_app::batches::{Keep, RecordRealm};
use fallrate_app::practice::Rooms;
use fallrate_database::{OpenOptions, SqliteRecords, SqliteUpkeep};
use fallrate_web::{Announced, Options, TlsPem};

use crate::work::Fault;

/// Arguments of `serve`.
#[derive(Debug, Args)]
#[command(after_help = "\
Open the printed address in a browser on this machine. Ctrl-C ends it; requests under way are finished.

On an address of this machine its one user needs no sign-in. On any other address everybody signs in; the first
account is made at the second address printed, which is good once. Without --certificate sign-ins and entries cross the
network as they are: where others can listen give a certificate, or put a proxy with TLS before it (docs/operating.md).

Records are kept in one file, proof.sqlite, of the data folder; rehearsals and the demo workshop in files of their own.")]
pub struct ServeArgs {
    /// Where it listens; port 0 takes a free one
    #[arg(long, value_name = "ADDRESS:PORT", default_value = "127.0.0.1:8420")]
    pub listen: SocketAddr,
    /// Folder that keeps the records; made where it does not exist [default: the user's data folder]
    #[arg(long, value_name = "FOLDER")]
    pub data: Option<PathBuf>,
    /// Everybody signs in, on this machine too
    #[arg(long)]
    pub accounts: bool,
    /// Certificate of this machine as PEM, those that vouch for it after it: connections are encrypted
    #[arg(long, value_name = "FILE", requires = "key")]
    pub certificate: Option<PathBuf>,
    /// Its private key as PEM
    #[arg(long, value_name = "FILE", requires = "certificate")]
    pub key: Option<PathBuf>,
}

/// Certificate and key, where they were given.
fn tls(a: &ServeArgs) -> Result<Option<TlsPem>, Fault> {
    let (Some(certificate), Some(key)) = (&a.certificate, &a.key) else { return Ok(None) };
    let read = |path: &PathBuf| {
        std::fs::read(path).map_err(|e| Fault::App(format!("{}: cannot be read: {e}", path.display())))
    };
    Ok(Some(TlsPem { certificate: read(certificate)?, key: read(key)? }))
}

/// The folder of this program in the user's data folder.
fn usual_folder() -> Option<PathBuf> {
    let set = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
    let base = set("XDG_DATA_HOME")
        .or_else(|| set("LOCALAPPDATA"))
        .or_else(|| set("HOME").map(|home| home.join(".local").join("share")))?;
    Some(base.join("fallrate"))
}

/// The file that keeps the records in a data folder.
pub(crate) fn records_file(folder: &Path) -> PathBuf {
    folder.join("proof.sqlite")
}

/// The data folder that was asked for, or the usual one.
///
/// # Errors
/// [`Fault`] where there is neither.
pub(crate) fn data_folder(asked: Option<&PathBuf>) -> Result<PathBuf, Fault> {
    let nowhere = || Fault::App("no data folder; allowed: --data FOLDER".to_owned());
    asked.cloned().or_else(usual_folder).ok_or_else(nowhere)
}

fn open(folder: &Path, realm: RecordRealm) -> Result<SqliteRecords, Fault> {
    let unusable =
        |e: io::Error| Fault::App(format!("{}: cannot be used as data folder: {e}", folder.display()));
    std::fs::create_dir_all(folder).map_err(unusable)?;
    let file = folder.join(format!("{}.sqlite", realm.word()));
    SqliteRecords::open(&file, realm, OpenOptions::default())
        .map_err(|e| Fault::App(format!("{}: {e}", file.display())))
}

/// The databases of practice, beside that of proof and each a file of its own.
struct PracticeRooms(PathBuf);

impl PracticeRooms {
    fn open(&self, realm: RecordRealm) -> Result<Box<dyn Keep>, String> {
        match open(&self.0, realm) {
            Ok(records) => Ok(Box::new(records)),
            Err(Fault::App(why)) => Err(why),
            Err(other) => Err(format!("{other:?}")),
        }
    }
}

impl Rooms for PracticeRooms {
    fn rehearsals(&self) -> Result<Box<dyn Keep>, String> {
        self.open(RecordRealm::Rehearsal)
    }
    fn demo(&self) -> Result<Box<dyn Keep>, String> {
        self.open(RecordRealm::Demo)
    }
}

/// The records of a data folder, the user's own where none is named.
///
/// # Errors
/// [`Fault`].
pub(crate) fn open_data(data: Option<&PathBuf>) -> Result<SqliteRecords, Fault> {
    open(&data_folder(data)?, RecordRealm::Proof)
}

/// Serves until Ctrl-C.
///
/// # Errors
/// [`Fault`].
pub fn serve(a: &ServeArgs) -> Result<(), Fault> {
    let folder = data_folder(a.data.as_ref())?;
    let records = open(&folder, RecordRealm::Proof)?;
    let rooms = Box::new(PracticeRooms(folder.clone()));
    let scheme = if a.certificate.is_some() { "https" } else { "http" };
    let announce = |said: Announced| {
        let mut out = io::stdout().lock();
        let at = format!("{scheme}://{}/", said.address);
        let first =
            said.first_token.map_or(String::new(), |t| format!("first account: {at}first?token={t}\n"));
        // Nobody may be reading; the server runs all the same.
        let _ = write!(out, "{at}\n{first}").and_then(|()| out.flush());
    };
    let upkeep = SqliteUpkeep::new(&records_file(&folder), RecordRealm::Proof, OpenOptions::default());
    let options =
        Options { listen: a.listen, accounts: a.accounts, upkeep: Some(Arc::new(upkeep)), tls: tls(a)? };
    fallrate_web::serve(&options, Box::new(records), rooms, announce).map_err(|e| Fault::App(e.to_string()))
}
