//! What cargo says about the workspace.

use serde_json::Value;

use crate::{XtaskError, process};

/// How a package depends on another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// In the product or its build script.
    Normal,
    /// In tests, examples and benchmarks only.
    Development,
}

/// One package.
#[derive(Clone, Debug)]
pub struct Package {
    /// Name.
    pub name: String,
    /// Version.
    pub version: String,
    /// SPDX expression, as written in its manifest.
    pub licence: Option<String>,
    /// Names of what it depends on, directly.
    pub dependencies: Vec<(String, Kind)>,
}

fn text(value: &Value, key: &str) -> Option<String> {
    value.get(key).and_then(Value::as_str).map(str::to_owned)
}

fn dependency(value: &Value) -> Option<(String, Kind)> {
    let kind = match value.get("kind").and_then(Value::as_str) {
        Some("dev") => Kind::Development,
        _ => Kind::Normal,
    };
    text(value, "name").map(|name| (name, kind))
}

fn package(value: &Value) -> Option<Package> {
    let dependencies = value.get("dependencies")?.as_array()?.iter().filter_map(dependency).collect();
    Some(Package {
        name: text(value, "name")?,
        version: text(value, "version")?,
        licence: text(value, "license"),
        dependencies,
    })
}

/// Packages out of what `cargo metadata` printed, by name and version.
///
/// # Errors
/// Where it is not JSON.
pub fn parse(json: &str) -> Result<Vec<Package>, XtaskError> {
    let value: Value = serde_json::from_str(json)?;
    let list = value.get("packages").and_then(Value::as_array);
    let mut packages: Vec<Package> = list.into_iter().flatten().filter_map(package).collect();
    packages.sort_by(|a, b| (&a.name, &a.version).cmp(&(&b.name, &b.version)));
    Ok(packages)
}

/// The packages of this workspace; needs no network.
///
/// # Errors
/// Where cargo fails.
pub fn members() -> Result<Vec<Package>, XtaskError> {
    parse(&process::output(process::cargo(&["metadata", "--format-version", "1", "--no-deps", "--offline"]))?)
}

/// Every package of the lock file, on every platform.
///
/// # Errors
/// Where cargo fails.
pub fn all() -> Result<Vec<Package>, XtaskError> {
    parse(&process::output(process::cargo(&["metadata", "--format-version", "1", "--locked"]))?)
}

/// The folder that cargo builds into.
///
/// # Errors
/// Where cargo fails.
pub fn target_folder() -> Result<std::path::PathBuf, XtaskError> {
    let json =
        process::output(process::cargo(&["metadata", "--format-version", "1", "--no-deps", "--offline"]))?;
    let value: Value = serde_json::from_str(&json)?;
    Ok(text(&value, "target_directory").map_or_else(|| crate::root().join("target"), Into::into))
}
