//! Where a limit comes from.

use serde::{Deserialize, Serialize};

use crate::LethalityError;
use crate::data::{REQUIREMENTS, SOURCES, table_once};

/// How a figure is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "UPPERCASE")]
pub enum Basis {
    /// Seen in a copy of the document.
    Read,
    /// Worked out from figures that were read.
    Computed,
    /// From memory: check before any compliance use.
    Memory,
    /// The program's own judgement, without an outside source.
    Tool,
}

/// What a limit is for. Only critical limits enter the lot's answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitClass {
    /// Safety: enters the lot's answer.
    Critical,
    /// Name, label or identity of the product.
    Label,
    /// Quality.
    Quality,
    /// Advice: never decides.
    Advice,
    /// How records are made and kept.
    Record,
}

#[derive(Deserialize)]
struct SourceRow {
    source_id: String,
    issuer: String,
    document: String,
    number: String,
    date: String,
}

/// One requirement the program relies on, in the program's words.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Requirement {
    /// Id ("RULE-C14").
    pub id: String,
    /// What it is about.
    pub topic: String,
    /// What it asks, in our words.
    pub statement: String,
    /// Class of the limit.
    pub class: LimitClass,
    /// Id of the source.
    pub source_id: String,
    /// Table, section or page.
    pub section: String,
    /// How it is known.
    pub basis: Basis,
}

/// A requirement with the document it stands in, ready to print.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Citation {
    /// Id of the requirement.
    pub id: String,
    /// What it asks, in our words.
    pub statement: String,
    /// Class of the limit.
    pub class: LimitClass,
    /// Who issued the document.
    pub issuer: String,
    /// Title.
    pub document: String,
    /// Number, where it has one.
    pub number: String,
    /// Date, edition or year.
    pub date: String,
    /// Table, section or page.
    pub section: String,
    /// How it is known.
    pub basis: Basis,
}

table_once!(
    /// Every requirement the program relies on.
    ///
    /// # Errors
    /// [`LethalityError::Criteria`] where the compiled-in table is damaged.
    pub fn requirements -> Requirement = "requirements.csv", REQUIREMENTS
);
table_once!(fn sources -> SourceRow = "sources.csv", SOURCES);

/// A requirement with its document.
///
/// # Errors
/// [`LethalityError::NoSuchRequirement`] for an id that is not in the list.
///
/// ```
/// let c = fallrate_lethality::citation("RULE-C14")?;
/// assert_eq!((c.number.as_str(), c.section.as_str()), ("FSIS-GD-2021-0014", "page 23"));
/// # Ok::<(), fallrate_lethality::LethalityError>(())
/// ```
pub fn citation(id: &str) -> Result<Citation, LethalityError> {
    let r = requirements().unwrap_or_default().iter().find(|r| r.id == id);
    let source = |r: &Requirement| sources().unwrap_or_default().iter().find(|s| s.source_id == r.source_id);
    let found = r.and_then(|r| source(r).map(|s| (r, s)));
    let (r, s) = found.ok_or_else(|| LethalityError::NoSuchRequirement { id: id.to_owned() })?;
    Ok(Citation {
        id: r.id.clone(),
        statement: r.statement.clone(),
        class: r.class,
        issuer: s.issuer.clone(),
        document: s.document.clone(),
        number: s.number.clone(),
        date: s.date.clone(),
        section: r.section.clone(),
        basis: r.basis,
    })
}
