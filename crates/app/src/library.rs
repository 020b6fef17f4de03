//! Products and cabinets at hand: those the program carries, and the user's own files.

use std::path::{Path, PathBuf};

use fallrate_datafile::{LARGEST_FILE_BYTES, Problems, nearest};
use fallrate_equipment::Cabinet;
use fallrate_foods::{Cautions, Product, Sources};
use fallrate_plan::request::Named;

use crate::error::{AppError, UnknownName, place_of};
use crate::ports::Files;

mod embedded {
    include!(concat!(env!("OUT_DIR"), "/embedded.rs"));
}

/// Products, cabinets, sources and cautions that the program carries.
#[derive(Debug)]
pub struct Library {
    products: Vec<Product>,
    cabinets: Vec<Cabinet>,
    sources: Sources,
    cautions: Cautions,
}

/// A name that the library does not have, with those it has and the nearest of them.
fn unknown<'a>(what: &'static str, name: &str, keys: impl Iterator<Item = &'a str>) -> AppError {
    let keys: Vec<&str> = keys.collect();
    AppError::Unknown(Box::new(UnknownName {
        what,
        name: name.to_owned(),
        allowed: format!("{}, or the path of a file ending in .toml", keys.join(", ")),
        place: None,
        near: nearest(name, keys.iter().copied()).map(str::to_owned),
    }))
}

impl Library {
    /// Reads what the program carries.
    ///
    /// # Errors
    /// Problems of a carried file, which the tests exclude.
    pub fn embedded() -> Result<Self, AppError> {
        let products: Result<Vec<Product>, Problems> =
            embedded::PRODUCTS.iter().map(|(name, text)| Product::parse(name, text)).collect();
        let cabinets: Result<Vec<Cabinet>, Problems> =
            embedded::CABINETS.iter().map(|(name, text)| Cabinet::parse(name, text)).collect();
        Ok(Self {
            products: products?,
            cabinets: cabinets?,
            sources: Sources::parse("sources.toml", embedded::SOURCES)?,
            cautions: Cautions::parse("cautions.toml", embedded::CAUTIONS)?,
        })
    }
    /// The text of a product's file that the program carries.
    pub(crate) fn carried_product(key: &str) -> Option<&'static str> {
        let name = format!("{key}.toml");
        embedded::PRODUCTS.iter().find(|(n, _)| *n == name).map(|(_, text)| *text)
    }
    /// The text of a cabinet's file that the program carries.
    pub(crate) fn carried_cabinet(key: &str) -> Option<&'static str> {
        let name = format!("{key}.toml");
        embedded::CABINETS.iter().find(|(n, _)| *n == name).map(|(_, text)| *text)
    }
    /// Products in order of their keys.
    #[must_use]
    pub fn products(&self) -> &[Product] {
        &self.products
    }
    /// Cabinets in order of their keys.
    #[must_use]
    pub fn cabinets(&self) -> &[Cabinet] {
        &self.cabinets
    }
    /// The file of an item that the program carries.
    pub(crate) fn file(&self, product: bool, key: &str) -> Option<&'static str> {
        let place = if product {
            self.products.iter().position(|p| p.key == key)
        } else {
            self.cabinets.iter().position(|c| c.key == key)
        };
        let all: &[(&str, &'static str)] = if product { embedded::PRODUCTS } else { embedded::CABINETS };
        all.get(place?).map(|(_, text)| *text)
    }
    /// Sources that products refer to.
    #[must_use]
    pub const fn sources(&self) -> &Sources {
        &self.sources
    }
    /// Cautions that products refer to.
    #[must_use]
    pub const fn cautions(&self) -> &Cautions {
        &self.cautions
    }

    /// A product by key or by the path of a file.
    ///
    /// # Errors
    /// [`AppError`] where there is none.
    pub fn product(&self, files: &dyn Files, name: &str) -> Result<Product, AppError> {
        if is_path(name) {
            let (shown, text) = read_text(files, Path::new(name))?;
            return Ok(Product::parse(&shown, &text)?);
        }
        let found = self.products.iter().find(|p| p.key == name).cloned();
        found.ok_or_else(|| unknown("product", name, self.products.iter().map(|p| p.key.as_str())))
    }
    /// A cabinet by key or by the path of a file.
    ///
    /// # Errors
    /// [`AppError`] where there is none.
    pub fn cabinet(&self, files: &dyn Files, name: &str) -> Result<Cabinet, AppError> {
        if is_path(name) {
            let (shown, text) = read_text(files, Path::new(name))?;
            return Ok(Cabinet::parse(&shown, &text)?);
        }
        let found = self.cabinets.iter().find(|c| c.key == name).cloned();
        found.ok_or_else(|| unknown("cabinet", name, self.cabinets.iter().map(|c| c.key.as_str())))
    }

    /// Name and text of a cabinet's file, by key or by the path of a file.
    ///
    /// # Errors
    /// [`AppError`] where there is none.
    pub(crate) fn cabinet_text(&self, files: &dyn Files, name: &str) -> Result<(String, String), AppError> {
        if is_path(name) {
            return read_text(files, Path::new(name));
        }
        let carried = |(file, text): &(&str, &str)| Cabinet::parse(file, text).is_ok_and(|c| c.key == name);
        let found = embedded::CABINETS.iter().find(|c| carried(c));
        let found = found.map(|(file, text)| ((*file).to_owned(), (*text).to_owned()));
        found.ok_or_else(|| unknown("cabinet", name, self.cabinets.iter().map(|c| c.key.as_str())))
    }

    /// The product a plan file names; a path is taken from the plan file's folder.
    pub(crate) fn product_of(
        &self,
        files: &dyn Files,
        named: &Named,
        plan: (&str, &str),
    ) -> Result<Product, AppError> {
        let name = beside(named, plan.0);
        self.product(files, &name).map_err(|e| placed(e, "product", plan))
    }
    /// The cabinet a plan file names.
    pub(crate) fn cabinet_of(
        &self,
        files: &dyn Files,
        named: &Named,
        plan: (&str, &str),
    ) -> Result<Cabinet, AppError> {
        let name = beside(named, plan.0);
        self.cabinet(files, &name).map_err(|e| placed(e, "cabinet", plan))
    }
}

/// Adds the place in the plan file to the error of a name.
fn placed(error: AppError, key: &'static str, plan: (&str, &str)) -> AppError {
    match error {
        AppError::Unknown(mut unknown) => {
            unknown.place = Some(place_of(plan.0, plan.1, None, key));
            AppError::Unknown(unknown)
        }
        AppError::File(mut fault) => {
            fault.reason =
                format!("{}; named as {key} in {}", fault.reason, place_of(plan.0, plan.1, None, key));
            AppError::File(fault)
        }
        other => other,
    }
}

fn beside(named: &Named, plan_file: &str) -> String {
    match named {
        Named::Key(key) => key.clone(),
        Named::Path(path) => {
            let folder: PathBuf = Path::new(plan_file).parent().map(Path::to_path_buf).unwrap_or_default();
            let joined = folder.join(path).to_string_lossy().into_owned();
            if is_path(&joined) { joined } else { format!("./{joined}") }
        }
    }
}

/// A name with a slash, a backslash or the ending `.toml` is a path.
pub(crate) fn is_path(name: &str) -> bool {
    name.contains(['/', '\\']) || name.ends_with(".toml")
}

/// A file's name and text, refusing what is too large or no text.
pub(crate) fn read_text(files: &dyn Files, path: &Path) -> Result<(String, String), AppError> {
    let shown = path.to_string_lossy().into_owned();
    let bytes = files.read(path, LARGEST_FILE_BYTES)?;
    // The reader of data files names what is wrong with bytes that are no text.
    fallrate_datafile::Document::from_bytes(&shown, &bytes).map(|_| ()).or_else(|problems| {
        let unreadable = problems.list().iter().any(|p| {
            matches!(
                p.kind,
                fallrate_datafile::ProblemKind::TooLarge | fallrate_datafile::ProblemKind::NotText
            )
        });
        if unreadable { Err(problems) } else { Ok(()) }
    })?;
    Ok((shown, String::from_utf8_lossy(&bytes).into_owned()))
}
