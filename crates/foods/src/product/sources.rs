//! The list of sources and the list of cautions that product files refer to by key.

use std::collections::BTreeMap;

use super::BilingualText;
use fallrate_datafile::{Document, Problems};

/// One source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// Title.
    pub title: String,
    /// Author or issuer.
    pub issuer: String,
    /// Year, or a text such as "not known".
    pub year: String,
    /// How much of it was read.
    pub read: String,
}

/// How much of a source was read, as the file words it.
const READ_WORDS: [&str; 7] =
    ["whole", "page", "abstract", "excerpt", "second hand", "nothing", "none needed"];

/// All sources by key.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sources {
    entries: BTreeMap<String, Source>,
}

impl Sources {
    /// Reads `[key]` sections with title, issuer, year and read.
    ///
    /// # Errors
    /// Every problem of the file.
    pub fn parse(file_name: &str, text: &str) -> Result<Self, Problems> {
        let document = Document::parse(file_name, text)?;
        let mut entries = BTreeMap::new();
        for (key, section) in document.root().named_sections() {
            let title = section.required_text("title");
            let issuer = section.required_text("issuer");
            let year = section.required_text("year");
            let read = section.required_choice("read", &READ_WORDS).and_then(|i| READ_WORDS.get(i));
            if let (Some(title), Some(issuer), Some(year), Some(read)) = (title, issuer, year, read) {
                entries.insert(key.to_owned(), Source { title, issuer, year, read: (*read).to_owned() });
            }
        }
        document.finish()?;
        Ok(Self { entries })
    }
    /// The source of a key.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Source> {
        self.entries.get(key)
    }
    /// All keys in order.
    pub fn keys(&self) -> impl Iterator<Item = &str> {
        self.entries.keys().map(String::as_str)
    }
    /// All sources in order of their keys.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Source)> {
        self.entries.iter().map(|(k, v)| (k.as_str(), v))
    }
}

/// One caution.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caution {
    /// Shown with every product of raw meat or with a kill step, whether its file names it or not.
    pub always_for_kill_step: bool,
    /// The text.
    pub text: BilingualText,
}

/// All cautions by key.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cautions {
    entries: BTreeMap<String, Caution>,
}

impl Cautions {
    /// Reads `[key]` sections with en, es and always_for_kill_step.
    ///
    /// # Errors
    /// Every problem of the file.
    pub fn parse(file_name: &str, text: &str) -> Result<Self, Problems> {
        let document = Document::parse(file_name, text)?;
        let mut entries = BTreeMap::new();
        for (key, section) in document.root().named_sections() {
            let (en, es) = (section.required_text("en"), section.required_text("es"));
            let always_for_kill_step = section.flag("always_for_kill_step").unwrap_or(false);
            if let (Some(en), Some(es)) = (en, es) {
                entries
                    .insert(key.to_owned(), Caution { always_for_kill_step, text: BilingualText { en, es } });
            }
        }
        document.finish()?;
        Ok(Self { entries })
    }
    /// The caution of a key.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Caution> {
        self.entries.get(key)
    }
    /// All cautions in order of their keys.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Caution)> {
        self.entries.iter().map(|(k, v)| (k.as_str(), v))
    }
}
