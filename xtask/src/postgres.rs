//! A PostgreSQL server for the tests that need one: Debian's, on a free port, in a folder that goes afterwards.

use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::{XtaskError, debian, process};

/// Where Debian keeps its versions of the server.
const VERSIONS: &str = "/usr/lib/postgresql";

/// The folder of the newest version's programs.
fn programs() -> Result<PathBuf, XtaskError> {
    let root = Path::new(VERSIONS);
    let failed = |source| XtaskError::File { path: root.to_path_buf(), source };
    let mut found: Vec<(u32, PathBuf)> = vec![];
    for entry in std::fs::read_dir(root).map_err(failed)? {
        let entry = entry.map_err(failed)?;
        let programs = entry.path().join("bin");
        if let Some(version) = entry.file_name().to_str().and_then(|n| n.parse().ok())
            && programs.join("initdb").is_file()
        {
            found.push((version, programs));
        }
    }
    let newest = found.into_iter().max().map(|(_, programs)| programs);
    newest.ok_or_else(|| XtaskError::Findings(vec![format!("{VERSIONS}: no version with its programs")]))
}

/// A program of the server. It refuses to run as root: then it runs as the user that Debian made for it.
fn server_program(programs: &Path, name: &str, root: bool) -> Command {
    let program = programs.join(name);
    let mut command = if root {
        let mut command = Command::new("runuser");
        command.args(["-u", "postgres", "--"]).arg(program);
        command
    } else {
        Command::new(program)
    };
    // The user may not look into the workspace.
    command.current_dir("/");
    command
}

/// A server that runs until it is dropped.
struct Server {
    programs: PathBuf,
    folder: PathBuf,
    root: bool,
    port: u16,
}

impl Server {
    fn start() -> Result<Self, XtaskError> {
        debian::install(&[("pg_lsclusters", "postgresql")])?;
        let programs = programs()?;
        let who = process::output(process::command("id", &["-u"]))?;
        let root = who.trim() == "0";
        let folder = std::env::temp_dir().join(format!("fallrate-postgres-{}", std::process::id()));
        std::fs::create_dir_all(&folder)
            .map_err(|source| XtaskError::File { path: folder.clone(), source })?;
        if root {
            process::run(process::command("chown", &["postgres", &folder.to_string_lossy()]))?;
        }
        let server = Self { programs, folder, root, port: free_port()? };
        let mut init = server.program("initdb");
        init.args(["--auth", "trust", "--encoding", "UTF8", "--locale", "C.UTF-8", "--username", "postgres"]);
        process::run(init)?;
        let options = format!(
            "-p {} -c listen_addresses=127.0.0.1 -c unix_socket_directories={}",
            server.port,
            server.folder.display()
        );
        let mut start = server.program("pg_ctl");
        start
            .args(["--wait", "--silent", "--log"])
            .arg(server.folder.join("log"))
            .args(["--options", &options]);
        start.arg("start");
        process::run(start)?;
        Ok(server)
    }
    /// A program of the server, with its folder of data.
    fn program(&self, name: &str) -> Command {
        let mut command = server_program(&self.programs, name, self.root);
        command.arg("--pgdata").arg(self.folder.join("data"));
        command
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let mut stop = self.program("pg_ctl");
        stop.args(["--wait", "--silent", "--mode", "fast", "stop"]);
        if let Err(error) = process::run(stop) {
            eprintln!("{error}");
        }
        if let Err(error) = std::fs::remove_dir_all(&self.folder) {
            eprintln!("{}: {error}", self.folder.display());
        }
    }
}

fn free_port() -> Result<u16, XtaskError> {
    let failed = |source| XtaskError::Start { program: "a server on 127.0.0.1".to_owned(), source };
    let listener = TcpListener::bind(("127.0.0.1", 0)).map_err(failed)?;
    Ok(listener.local_addr().map_err(failed)?.port())
}

/// Runs the tests of `database` over PostgreSQL.
///
/// # Errors
/// Where the server does not start or a test fails.
pub fn run_tests() -> Result<(), XtaskError> {
    let server = Server::start()?;
    let mut tests = process::cargo(&[
        "test",
        "--package",
        "fallrate-database",
        "--features",
        "postgres",
        "--test",
        "all",
        "--",
        "postgres::",
    ]);
    tests.env("FALLRATE_TEST_POSTGRES", format!("host=127.0.0.1 port={} user=postgres", server.port));
    process::run(tests)
}
