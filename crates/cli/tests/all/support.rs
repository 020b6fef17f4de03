//! Runs the program.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::atomic::{AtomicUsize, Ordering};

/// The repository, from which the examples are named as a user would.
pub fn home() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

pub fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fallrate"));
    command.current_dir(home()).env_remove("COLUMNS").env("NO_COLOR", "1");
    command
}

pub fn run(args: &[&str]) -> Output {
    program().args(args).output().expect("the program runs")
}

/// Standard output of a run that ends well.
pub fn told(args: &[&str]) -> String {
    let out = run(args);
    let (code, err) = (out.status.code(), String::from_utf8_lossy(&out.stderr).into_owned());
    assert_eq!((code, err.as_str()), (Some(0), ""), "{args:?}");
    String::from_utf8(out.stdout).expect("UTF-8").replace(env!("CARGO_PKG_VERSION"), "VERSION")
}

/// Standard error of a run that is refused, with nothing on standard output.
pub fn refused(args: &[&str]) -> String {
    let out = run(args);
    assert_eq!(out.status.code(), Some(64), "{args:?} {}", String::from_utf8_lossy(&out.stderr));
    assert!(out.stdout.is_empty(), "{args:?}");
    String::from_utf8(out.stderr).expect("UTF-8")
}

/// An empty folder of the test's own, taken away afterwards.
pub struct Folder(pub PathBuf);

impl Folder {
    pub fn new() -> Self {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let n = COUNT.fetch_add(1, Ordering::Relaxed);
        let path = std::env::temp_dir().join(format!("fallrate-test-{}-{n}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }
    pub fn file(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }
    pub fn write(&self, name: &str, bytes: &[u8]) -> String {
        std::fs::write(self.0.join(name), bytes).unwrap();
        self.file(name)
    }
    /// Names in it, sorted.
    pub fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(&self.0).unwrap();
        let mut names: Vec<String> =
            entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
