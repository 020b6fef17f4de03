//! Checks a user's own file of any kind.

use std::path::Path;

use fallrate_equipment::Cabinet;
use fallrate_foods::Product;

use crate::error::AppError;
use crate::library::{Library, read_text};
use crate::plan_case::PlanCase;
use crate::ports::Files;
use crate::words::{Reader, say};

/// What a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    /// A plan.
    Plan,
    /// A product.
    Product,
    /// A cabinet.
    Cabinet,
}

/// A file that is in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// What it is.
    pub kind: FileKind,
    /// One line about it.
    pub line: String,
}

/// Looks what a file is and reads all of it; a plan file with its product and cabinet.
///
/// # Errors
/// Every problem of the file.
pub fn check(library: &Library, files: &dyn Files, path: &str, r: &Reader) -> Result<Checked, AppError> {
    let (name, text) = read_text(files, Path::new(path))?;
    let kind = kind_of(&text);
    let line = match kind {
        FileKind::Product => {
            let p = Product::parse(&name, &text)?;
            say!(r, "check-product", file = name, name = r.words.pick(&p.name.en, &p.name.es))
        }
        FileKind::Cabinet => {
            let c = Cabinet::parse(&name, &text)?;
            say!(r, "check-cabinet", file = name, name = r.words.pick(&c.name.en, &c.name.es))
        }
        FileKind::Plan => {
            let case = PlanCase::read(library, files, path, &[])?;
            fallrate_plan::assemble(&case.request, &case.product, &case.cabinet)
                .map_err(|e| case.error(e))?;
            say!(
                r,
                "check-plan",
                file = name,
                product = case.product.key.as_str(),
                cabinet = case.cabinet.key.as_str()
            )
        }
    };
    Ok(Checked { kind, line })
}

/// A product file has a diffusivity or sorption section, a cabinet file a tray group or a shell; anything else is taken
/// for a plan.
fn kind_of(text: &str) -> FileKind {
    let mut product = 0;
    let mut cabinet = 0;
    for line in text.lines() {
        let head = line.trim().trim_start_matches('[').split(']').next().unwrap_or("").trim();
        if !line.trim_start().starts_with('[') {
            continue;
        }
        match head {
            "diffusivity" | "sorption" | "composition" | "geometry" | "recommended" => product += 1,
            "tray_group" | "shell" | "heater" | "trays" | "fan_step" | "vent" | "leakage" => cabinet += 1,
            _ => {}
        }
    }
    if product > cabinet {
        FileKind::Product
    } else if cabinet > 0 {
        FileKind::Cabinet
    } else {
        FileKind::Plan
    }
}
