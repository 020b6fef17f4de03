//! The layers: the table of allowed edges in ARCHITECTURE.md against what cargo says.

use std::collections::{BTreeMap, BTreeSet};

use crate::metadata::{Kind, Package};

/// Prefix of every crate of the house but the command line, which is called like the program.
const PREFIX: &str = "fallrate-";
const PROGRAM: &str = "fallrate";

fn crate_name(package: &str) -> Option<&str> {
    if package == PROGRAM { Some("cli") } else { package.strip_prefix(PREFIX) }
}

/// Crates that give evidence; nothing they reach may predict.
const PROOF: [&str; 6] = ["series", "lethality", "ingest", "store", "database", "report"];
/// Crates that predict.
const PREDICTION: [&str; 5] = ["simulate", "plan", "fit", "follow", "rehearse"];

/// One row of the table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Crate, without its prefix.
    pub name: String,
    /// Crates it may import.
    pub may_import: BTreeSet<String>,
    /// The table says that it is not built yet.
    pub not_built: bool,
}

fn names(cell: &str) -> BTreeSet<String> {
    cell.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

/// The table under the heading 'Allowed edges', from the ground up: crate, what it holds, what it may import.
#[must_use]
pub fn table(markdown: &str) -> Vec<Row> {
    let section = markdown.lines().skip_while(|l| *l != "## Allowed edges").skip(1);
    let rows = section.take_while(|l| !l.starts_with("## ")).filter(|l| l.starts_with("| `"));
    let row = |line: &str| {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let name = names(cells.get(1)?).pop_first()?;
        let holds = cells.get(2)?;
        Some(Row { name, may_import: names(cells.get(3)?), not_built: holds.starts_with("(not built yet)") })
    };
    rows.filter_map(row).collect()
}

/// Everything that a crate reaches by the table.
fn reach(rows: &[Row], from: &str) -> BTreeSet<String> {
    let edges: BTreeMap<&str, &BTreeSet<String>> =
        rows.iter().map(|r| (r.name.as_str(), &r.may_import)).collect();
    let (mut found, mut open) = (BTreeSet::new(), vec![from.to_owned()]);
    while let Some(name) = open.pop() {
        for next in edges.get(name.as_str()).into_iter().flat_map(|e| e.iter()) {
            if found.insert(next.clone()) {
                open.push(next.clone());
            }
        }
    }
    found
}

/// What is wrong with the table itself: an edge upwards, or evidence that reaches a prediction.
#[must_use]
pub fn check_table(rows: &[Row]) -> Vec<String> {
    let mut findings = vec![];
    let mut below = BTreeSet::new();
    for row in rows {
        for other in row.may_import.iter().filter(|o| !below.contains(o.as_str())) {
            findings
                .push(format!("ARCHITECTURE.md: `{}` may import `{other}`, which is not above it", row.name));
        }
        below.insert(row.name.as_str());
    }
    for proof in PROOF {
        let reached = reach(rows, proof);
        for prediction in PREDICTION.iter().filter(|p| reached.contains(**p)) {
            findings.push(format!(
                "ARCHITECTURE.md: `{proof}` reaches `{prediction}`: evidence never sees a forecast"
            ));
        }
    }
    findings
}

/// What the workspace does that the table does not allow. Tests and examples may use any crate above theirs in the table.
#[must_use]
pub fn check_edges(rows: &[Row], members: &[Package]) -> Vec<String> {
    let mut findings = vec![];
    let crates: Vec<(&str, &Package)> =
        members.iter().filter_map(|p| Some((crate_name(&p.name)?, p))).collect();
    for (name, package) in &crates {
        let Some(at) = rows.iter().position(|r| r.name == *name) else {
            findings
                .push(format!("ARCHITECTURE.md: crate `{name}` is missing from the table of allowed edges"));
            continue;
        };
        for (other, kind) in &package.dependencies {
            let Some(other) = crate_name(other) else { continue };
            let allowed = rows.get(at).is_some_and(|r| r.may_import.contains(other))
                || (*kind == Kind::Development && rows.iter().take(at).any(|r| r.name == other));
            if !allowed {
                findings.push(format!(
                    "crates/{name}/Cargo.toml: imports `{other}`, which the table does not allow"
                ));
            }
        }
    }
    for row in rows.iter().filter(|r| !crates.iter().any(|(name, _)| *name == r.name)) {
        findings.push(format!("ARCHITECTURE.md: the table names `{}`, which is no crate", row.name));
    }
    findings
}

/// Crates that say 'Not built yet' while the table describes them as built. `texts`: crate and its root module.
#[must_use]
pub fn check_status(rows: &[Row], texts: &[(String, String)]) -> Vec<String> {
    let empty = texts.iter().filter(|(_, text)| text.contains("Not built yet"));
    let described = empty.filter(|(name, _)| rows.iter().any(|r| r.name == *name && !r.not_built));
    described.map(|(name, _)| format!("ARCHITECTURE.md: `{name}` is not built yet and must say so")).collect()
}
