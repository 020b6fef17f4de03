//! What the typesetter may ask for: the one template, the one typeface, the data of the document. No clock, no files.

use fallrate_report::font::{Weight, bytes};
use std::sync::LazyLock;
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Dict, Duration, Value, dict};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Feature, Library, LibraryExt, World};

const TEMPLATE: &str = include_str!("template.typ");

static FONTS: LazyLock<Vec<Font>> = LazyLock::new(|| {
    [Weight::Regular, Weight::Bold].into_iter().flat_map(|w| Font::new(Bytes::new(bytes(w)), 0)).collect()
});

/// The world of one document.
pub(crate) struct Desk {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    template: Source,
}

impl Desk {
    /// A world in which the template finds `document`; nothing where the template cannot be named.
    pub fn new(document: Dict) -> Option<Self> {
        let inputs = dict! { "document" => Value::Dict(document) };
        // Row headings of tables are still marked as an extra.
        let features = [Feature::A11yExtras].into_iter().collect();
        let path = VirtualPath::new("template.typ").ok()?;
        let id = RootedPath::new(VirtualRoot::Project, path).intern();
        Some(Self {
            library: LazyHash::new(Library::builder().with_inputs(inputs).with_features(features).build()),
            book: LazyHash::new(FontBook::from_fonts(FONTS.iter())),
            template: Source::new(id, TEMPLATE.to_owned()),
        })
    }
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }
    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }
    fn main(&self) -> FileId {
        self.template.id()
    }
    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.template.id() { Ok(self.template.clone()) } else { Err(FileError::AccessDenied) }
    }
    fn file(&self, _: FileId) -> FileResult<Bytes> {
        Err(FileError::AccessDenied)
    }
    fn font(&self, index: usize) -> Option<Font> {
        FONTS.get(index).cloned()
    }
    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
