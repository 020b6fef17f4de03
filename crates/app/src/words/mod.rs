//! Every text of the pages, in the reader's language and units.

mod reader;

pub use reader::{Reader, Units};
pub(crate) use reader::{fixed, trimmed};

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource};
use unic_langid::LanguageIdentifier;

/// A language of the pages.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Language {
    /// English.
    #[default]
    English,
    /// Spanish.
    Spanish,
}

impl Language {
    /// As a BCP 47 tag.
    #[must_use]
    pub const fn tag(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::Spanish => "es",
        }
    }
    /// The catalogue as carried by the program, one text for each field of work.
    pub(crate) const fn catalogue(self) -> &'static [&'static str] {
        match self {
            Self::English => &[
                include_str!("../../locales/en/base.ftl"),
                include_str!("../../locales/en/run.ftl"),
                include_str!("../../locales/en/proof.ftl"),
                include_str!("../../locales/en/rehearse.ftl"),
                include_str!("../../locales/en/operate.ftl"),
                include_str!("../../locales/en/cabinet_tests.ftl"),
                include_str!("../../locales/en/product_trials.ftl"),
            ],
            Self::Spanish => &[
                include_str!("../../locales/es/base.ftl"),
                include_str!("../../locales/es/run.ftl"),
                include_str!("../../locales/es/proof.ftl"),
                include_str!("../../locales/es/rehearse.ftl"),
                include_str!("../../locales/es/operate.ftl"),
                include_str!("../../locales/es/cabinet_tests.ftl"),
                include_str!("../../locales/es/product_trials.ftl"),
            ],
        }
    }
}

/// The message catalogue of a language.
pub struct Words {
    language: Language,
    bundle: FluentBundle<FluentResource>,
}

impl std::fmt::Debug for Words {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Words").field("language", &self.language).finish_non_exhaustive()
    }
}

impl Words {
    /// The catalogue of a language.
    #[must_use]
    pub fn new(language: Language) -> Self {
        let id = language.tag().parse::<LanguageIdentifier>().unwrap_or_default();
        let mut bundle = FluentBundle::new_concurrent(vec![id]);
        bundle.set_use_isolating(false);
        // A catalogue with a fault still gives what could be read; the tests exclude faults.
        for text in language.catalogue() {
            let resource = match FluentResource::try_new((*text).to_owned()) {
                Ok(resource) | Err((resource, _)) => resource,
            };
            bundle.add_resource_overriding(resource);
        }
        Self { language, bundle }
    }
    /// The language.
    #[must_use]
    pub const fn language(&self) -> Language {
        self.language
    }
    /// A message without variables.
    #[must_use]
    pub fn text(&self, key: &str) -> String {
        self.format(key, &FluentArgs::new())
    }
    /// A message with variables. One that is missing is shown as its key between brackets.
    #[must_use]
    pub fn format(&self, key: &str, args: &FluentArgs<'_>) -> String {
        let Some(pattern) = self.bundle.get_message(key).and_then(|m| m.value()) else {
            return format!("[{key}]");
        };
        let mut faults = Vec::new();
        self.bundle.format_pattern(pattern, Some(args), &mut faults).into_owned()
    }
    /// A message with texts for its variables.
    #[must_use]
    pub fn with(&self, key: &str, values: &[(&str, &str)]) -> String {
        let mut args = FluentArgs::new();
        for (name, value) in values {
            args.set(*name, *value);
        }
        self.format(key, &args)
    }
    /// A message with the variable `count`, by which its words may vary.
    #[must_use]
    pub fn counted(&self, key: &str, count: usize) -> String {
        let mut args = FluentArgs::new();
        args.set("count", count);
        self.format(key, &args)
    }
    /// One of two texts of a data file.
    #[must_use]
    pub fn pick<'a>(&self, en: &'a str, es: &'a str) -> &'a str {
        match self.language {
            Language::English => en,
            Language::Spanish => es,
        }
    }
}

/// A message of the catalogue: `say!(r, "key", name = value, ...)`.
macro_rules! say {
    ($reader:expr, $key:expr $(, $name:ident = $value:expr)* $(,)?) => {{
        #[allow(unused_mut)]
        let mut args = fluent_bundle::FluentArgs::new();
        $(args.set(stringify!($name), $value);)*
        $reader.words.format($key, &args)
    }};
}
pub(crate) use say;
