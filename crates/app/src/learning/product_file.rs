//! A product's file as text, and new figures put into it under a new key.

use fallrate_foods::Product;
use toml_edit::{DocumentMut, InlineTable, Item, Value};

use super::LearningFault;
use crate::error::AppError;
use crate::library::{Library, is_path, read_text};
use crate::ports::Files;

/// A product with the text it was read from.
#[derive(Clone, Debug)]
pub struct ProductText {
    /// Product.
    pub product: Product,
    /// Its file.
    pub text: String,
}

/// A figure with its range, where it comes from and how far it is known.
pub(super) struct Figure {
    /// Section and key.
    pub at: (&'static str, &'static str),
    /// Value, low and high as the file writes them.
    pub value: String,
    pub low: String,
    pub high: String,
    /// Whether they stand without quotes.
    pub plain: bool,
    pub note: String,
}

impl ProductText {
    /// A product of the library or of a file, with its text.
    ///
    /// # Errors
    /// [`AppError`] where there is none.
    pub fn read(library: &Library, files: &dyn Files, name: &str) -> Result<Self, AppError> {
        let product = library.product(files, name)?;
        let text = if is_path(name) {
            read_text(files, std::path::Path::new(name))?.1
        } else {
            Library::carried_product(name).unwrap_or_default().to_owned()
        };
        Ok(Self { product, text })
    }
}

/// The key of a new product file: the stem of its name.
pub(super) fn new_key(library: &Library, path: &str) -> Result<String, AppError> {
    let fault = || AppError::from(LearningFault::FileName { name: path.to_owned() });
    let name = path.rsplit(['/', '\\']).next().unwrap_or(path);
    let stem = name.strip_suffix(".toml").ok_or_else(fault)?;
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    let known = library.products().iter().any(|p| p.key == stem);
    if stem.is_empty() || !stem.chars().all(plain) || known {
        return Err(fault());
    }
    Ok(stem.to_owned())
}

/// A product file to be changed.
pub(super) struct Change {
    document: DocumentMut,
    source: String,
}

impl Change {
    /// Begins with a product's text under a new key; `source` is where the new figures come from.
    pub fn of(base: &ProductText, key: &str, source: String) -> Result<Self, AppError> {
        let mut document = base.text.parse::<DocumentMut>().map_err(|e| LearningFault::NotWritten {
            what: e.to_string(),
            allowed: "a product file that can be read",
        })?;
        document["key"] = toml_edit::value(key);
        for (language, own) in [("en", "own figures"), ("es", "cifras propias")] {
            if let Some(name) = document["name"][language].as_str().map(str::to_owned)
                && !name.contains(own)
            {
                document["name"][language] = toml_edit::value(format!("{name}, {own}"));
            }
        }
        Ok(Self { document, source })
    }

    /// Sets a plain key of a section.
    pub fn set(&mut self, section: &str, key: &str, value: impl Into<Value>) {
        self.document[section][key] = Item::Value(value.into());
    }
    /// Takes a key out.
    pub fn remove(&mut self, section: &str, key: &str) {
        if let Some(table) = self.document[section].as_table_like_mut() {
            table.remove(key);
        }
    }

    /// Sets a figure with its range, the source and the mark "computed".
    pub fn figure(&mut self, f: &Figure) {
        let value = |text: &String| {
            let number = text.parse::<f64>().ok().filter(|_| f.plain);
            number.map_or_else(|| Value::from(text.as_str()), Value::from)
        };
        let mut table = InlineTable::new();
        table.insert("value", value(&f.value));
        table.insert("low", value(&f.low));
        table.insert("high", value(&f.high));
        table.insert("source", Value::from(self.source.as_str()));
        table.insert("mark", Value::from("computed"));
        table.insert("note", Value::from(f.note.as_str()));
        let (section, key) = f.at;
        self.document[section][key] = Item::Value(Value::InlineTable(table));
    }

    /// The new file, read back and checked.
    pub fn finish(self, head: &str, key: &str) -> Result<String, AppError> {
        let text = format!("{head}\n{}", self.document);
        Product::parse(&format!("{key}.toml"), &text)?;
        Ok(text)
    }
}
