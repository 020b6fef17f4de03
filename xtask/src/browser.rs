//! The web app in a real browser: the server on a free port, headless Chromium driven by scripts, screenshots kept.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use crate::{XtaskError, debian, metadata, process, root, write};

/// Programs that must be there, and the packages that bring them.
const NEEDED: [(&str, &str); 3] = [("chromium", "chromium"), ("node", "nodejs"), ("npm", "npm")];

/// What drives the browser and checks the pages, with their versions; they are used, never carried along.
const MODULES: &str = r#"{
  "private": true,
  "dependencies": { "axe-core": "4.14.1", "playwright-core": "1.65.1" }
}
"#;

/// A server that ends with this value.
#[derive(Debug)]
pub struct Server {
    child: Child,
    /// Its address.
    pub address: String,
    /// Where the first account is made, for a server with accounts.
    first: String,
}

impl Server {
    /// Number of its process.
    #[must_use]
    pub fn id(&self) -> u32 {
        self.child.id()
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Runs the browser tests; `names` picks some of them.
///
/// # Errors
/// Where something does not start, or a test fails.
pub fn run(names: &[&str]) -> Result<(), XtaskError> {
    debian::install(&NEEDED)?;
    let target = metadata::target_folder()?;
    let folder = target.join("browser");
    modules(&folder)?;
    process::run(process::cargo(&["build", "--quiet", "--package", "fallrate"]))?;
    let program = target.join("debug/fallrate");
    let data = folder.join("data");
    // Records of an earlier run would be found by the tests of this one.
    let _ = std::fs::remove_dir_all(&data);
    let alone = serve(&program, &data.join("alone"), false)?;
    let open = serve(&program, &data.join("accounts"), true)?;
    let script = root().join("crates/web/tests/browser/run.mjs");
    let mut node = process::command("node", &[&script.to_string_lossy()]);
    node.args(names);
    node.env("BROWSER_MODULES", &folder)
        .env("SITE", &alone.address)
        .env("FIRST", &open.first)
        .env("SHOTS", folder.join("shots"));
    process::run(node)?;
    println!("screenshots: {}", folder.join("shots").display());
    Ok(())
}

fn modules(folder: &Path) -> Result<(), XtaskError> {
    write(&folder.join("package.json"), MODULES)?;
    if folder.join("node_modules/playwright-core/package.json").is_file()
        && folder.join("node_modules/axe-core/package.json").is_file()
    {
        return Ok(());
    }
    let mut npm = process::command("npm", &["install", "--no-audit", "--no-fund", "--ignore-scripts"]);
    npm.current_dir(folder);
    process::run(npm)
}

/// Starts the server on a free port with a data folder of its own, and reads what it says of itself.
///
/// # Errors
/// Where it does not start.
pub fn serve(program: &Path, data: &Path, accounts: bool) -> Result<Server, XtaskError> {
    let start = |source| XtaskError::Start { program: program.display().to_string(), source };
    let mut command = Command::new(program);
    command.args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(data);
    if accounts {
        command.arg("--accounts");
    }
    let child = command.stdin(Stdio::null()).stdout(Stdio::piped()).spawn().map_err(start)?;
    let mut server = Server { child, address: String::new(), first: String::new() };
    if let Some(out) = server.child.stdout.take() {
        let mut lines = BufReader::new(out);
        lines.read_line(&mut server.address).map_err(start)?;
        if accounts {
            lines.read_line(&mut server.first).map_err(start)?;
        }
    }
    server.address = server.address.trim().to_owned();
    server.first = server.first.trim().trim_start_matches("first account: ").to_owned();
    if server.address.is_empty() || (accounts && server.first.is_empty()) {
        return Err(start(std::io::Error::other("it told no address")));
    }
    Ok(server)
}
