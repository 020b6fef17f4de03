//! Lists the data files so that the library can be carried inside the program.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let data = Path::new(&std::env::var("CARGO_MANIFEST_DIR")?).join("../../data");
    let mut out = String::new();
    for (name, folder) in [("PRODUCTS", "products"), ("CABINETS", "cabinets")] {
        let folder = data.join(folder);
        println!("cargo:rerun-if-changed={}", folder.display());
        writeln!(out, "/// File name and text of each file, in order of the names.")?;
        writeln!(out, "pub(crate) const {name}: &[(&str, &str)] = &[")?;
        for file in toml_files(&folder)? {
            println!("cargo:rerun-if-changed={}", file.display());
            let key = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
            writeln!(out, "    ({key:?}, include_str!({:?})),", file.canonicalize()?.display().to_string())?;
        }
        writeln!(out, "];")?;
    }
    for (name, file) in [("SOURCES", "sources.toml"), ("CAUTIONS", "cautions.toml")] {
        let file = data.join(file);
        println!("cargo:rerun-if-changed={}", file.display());
        writeln!(
            out,
            "pub(crate) const {name}: &str = include_str!({:?});",
            file.canonicalize()?.display().to_string()
        )?;
    }
    std::fs::write(Path::new(&std::env::var("OUT_DIR")?).join("embedded.rs"), out)?;
    Ok(())
}

fn toml_files(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|e| e == "toml") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}
