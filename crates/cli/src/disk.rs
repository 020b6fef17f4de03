//! Files on disk. Written whole or not at all: into a temporary file beside the place, then renamed.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use fallrate_app::ports::{FileFault, Files};

/// The disk.
#[derive(Clone, Copy, Debug, Default)]
pub struct Disk;

fn fault(path: &Path, what: &'static str, e: &io::Error) -> FileFault {
    FileFault { path: path.display().to_string(), what, reason: e.to_string() }
}

impl Files for Disk {
    fn read(&self, path: &Path, most_bytes: usize) -> Result<Vec<u8>, FileFault> {
        let unreadable = |e: io::Error| fault(path, "cannot be read", &e);
        let file = File::open(path).map_err(unreadable)?;
        let about = file.metadata().map_err(unreadable)?;
        if about.is_dir() {
            return Err(fault(path, "cannot be read", &io::Error::other("it is a folder")));
        }
        if about.len() > u64::try_from(most_bytes).unwrap_or(u64::MAX) {
            let size = format!("it has {} bytes; allowed: at most {most_bytes} bytes", about.len());
            return Err(fault(path, "cannot be read", &io::Error::other(size)));
        }
        let mut bytes = Vec::new();
        let most = u64::try_from(most_bytes).unwrap_or(u64::MAX).saturating_add(1);
        file.take(most).read_to_end(&mut bytes).map_err(unreadable)?;
        Ok(bytes)
    }
}

/// Files waiting for their names; dropped without [`Pending::commit`] they leave nothing.
#[derive(Debug, Default)]
pub struct Pending {
    list: Vec<(PathBuf, PathBuf)>,
    folders: Vec<PathBuf>,
}

impl Pending {
    /// Writes the bytes beside their place.
    ///
    /// # Errors
    /// [`FileFault`].
    pub fn add(&mut self, path: &Path, bytes: &[u8]) -> Result<(), FileFault> {
        let unwritable = |e: io::Error| fault(path, "cannot be written", &e);
        let Some(name) = path.file_name().filter(|_| !path.is_dir()) else {
            return Err(fault(path, "cannot be written", &io::Error::other("it is a folder")));
        };
        let temporary =
            path.with_file_name(format!(".{}.{}.part", name.to_string_lossy(), std::process::id()));
        let mut file =
            OpenOptions::new().write(true).create_new(true).open(&temporary).map_err(unwritable)?;
        self.list.push((temporary, path.to_owned()));
        file.write_all(bytes).and_then(|()| file.sync_all()).map_err(unwritable)
    }

    /// Makes a folder where there is none; it is taken away again if nothing is committed.
    ///
    /// # Errors
    /// [`FileFault`].
    pub fn folder(&mut self, path: &Path) -> Result<(), FileFault> {
        if path.is_dir() {
            return Ok(());
        }
        fs::create_dir(path).map_err(|e| fault(path, "cannot be written", &e))?;
        self.folders.push(path.to_owned());
        Ok(())
    }

    /// Gives every file its name.
    ///
    /// # Errors
    /// [`FileFault`].
    pub fn commit(mut self) -> Result<(), FileFault> {
        for (temporary, path) in std::mem::take(&mut self.list) {
            if let Err(e) = fs::rename(&temporary, &path) {
                self.list.push((temporary, path.clone()));
                return Err(fault(&path, "cannot be written", &e));
            }
        }
        self.folders.clear();
        Ok(())
    }
}

impl Drop for Pending {
    fn drop(&mut self) {
        for (temporary, _) in &self.list {
            let _ = fs::remove_file(temporary);
        }
        for folder in self.folders.iter().rev() {
            let _ = fs::remove_dir(folder);
        }
    }
}
