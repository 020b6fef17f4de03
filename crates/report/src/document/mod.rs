//! Documents on paper: batch records, cards, commissioning reports, corrective-action forms.
//!
//! A [`Document`] is a list of finished blocks. The same model becomes a page of HTML ([`document_html`]), text for a
//! terminal ([`document_terminal`]) and, in the crate `print`, a PDF. Its first [`Block::Answer`] is the largest line
//! of page one.

mod html;
mod sign;
mod terminal;
mod text;

pub use html::{blocks_html, document_html};
pub use sign::Sign;
pub use terminal::document_terminal;
pub(crate) use text::is_hidden;
pub use text::{legible, sentence, units_kept};

use crate::{Act, Flag, Level, Picture, Table};

/// A document of finished texts, ready to print.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Document {
    /// Language of the texts, as a BCP 47 tag ("en", "es", "es-MX").
    pub language: String,
    /// What kind of document it is, with its lot or name ("Batch record, lot B-0412").
    pub title: String,
    /// What it is about, one small line above the headline ("Beef strips 6 mm, cabinet North").
    pub subject: String,
    /// Who answers for it: the establishment.
    pub author: String,
    /// Date of the document as `YYYY-MM-DD`, for the file's own description; nothing is printed from it. A PDF needs it.
    pub date: Option<String>,
    /// The sheet.
    pub paper: Paper,
    /// A mark on the whole document ("REHEARSAL"), on every page.
    pub flag: Option<Flag>,
    /// At the top of every page: establishment, lot.
    pub running_head: String,
    /// At the foot of every page: head of the chain, version.
    pub running_foot: String,
    /// Page number in words, with `{page}` and `{pages}` for the numbers ("Page {page} of {pages}").
    pub page_word: String,
    /// Small words that renderers add.
    pub words: DocumentWords,
    /// What it says, in order.
    pub blocks: Vec<Block>,
}

/// The sheet a document is made for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 mm x 297 mm.
    #[default]
    A4,
    /// 8.5 in x 11 in (215.9 mm x 279.4 mm).
    Letter,
    /// One page in large type, 210 mm x 297 mm.
    CardA4,
    /// One page in large type, 8.5 in x 11 in.
    CardLetter,
    /// One page, 148 mm x 210 mm.
    CardA5,
}

impl Paper {
    /// Width and height, mm.
    #[must_use]
    pub const fn size_mm(self) -> (f64, f64) {
        match self {
            Self::A4 | Self::CardA4 => (210.0, 297.0),
            Self::Letter | Self::CardLetter => (215.9, 279.4),
            Self::CardA5 => (148.0, 210.0),
        }
    }

    /// Whether it is a card: one page, taped to a dryer, read from a step away.
    #[must_use]
    pub const fn is_card(self) -> bool {
        matches!(self, Self::CardA4 | Self::CardLetter | Self::CardA5)
    }
}

/// Small words that renderers add to a document, in its language.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DocumentWords {
    /// On the fold that holds the table behind a picture ("The same as a table").
    pub table_behind: String,
    /// Before what to watch in a step ("Watch").
    pub watch: String,
    /// Over what a line is signed for ("What").
    pub meaning: String,
    /// Over names and signatures ("Name and signature").
    pub name: String,
    /// Over the times of signing ("Date and time").
    pub at: String,
    /// Over the notes of lines and comparisons ("Note").
    pub note: String,
    /// On an option that is chosen ("chosen"), for readers who do not see the mark.
    pub chosen: String,
    /// On an option that is not chosen ("not chosen").
    pub not_chosen: String,
}

/// A piece of a document.
// A document holds some dozens of them: the room that small ones waste does not count.
#[allow(clippy::large_enum_variant)]
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// The answer: the first one is the largest line of the document.
    Answer {
        /// Its pictogram.
        sign: Sign,
        /// The answer in words ("Not met: 2 min short").
        headline: String,
        /// A sentence below it; may be empty.
        subline: String,
    },
    /// A heading.
    Heading {
        /// 1 is the highest below the headline; a level that leaves one out is raised.
        level: u8,
        /// Its words.
        text: String,
    },
    /// A paragraph; `\n` starts a new line.
    Text(String),
    /// Fine print; hashes.
    Small(String),
    /// Points in no order.
    List(Vec<String>),
    /// What to do, in order, with clock times.
    Steps(Vec<Act>),
    /// A caution or a notice.
    Notice {
        /// How grave.
        level: Level,
        /// The level in a word ("Take care").
        word: String,
        /// The sentence.
        text: String,
    },
    /// Facts, in two columns where they fit.
    Facts(Vec<Fact>),
    /// What was shown against what is required.
    Compare(Comparison),
    /// A table.
    Table(Table),
    /// A picture.
    Picture(Picture),
    /// Lines that are signed: those without a name are printed blank.
    Lines(Vec<SignLine>),
    /// Options of which some are chosen, with boxes to tick.
    Choices(Choices),
    /// Room to write by hand.
    Fields(Vec<Field>),
    /// Blocks that stay on one page where they fit on one; a page break among them is passed over.
    Keep(Vec<Block>),
    /// The rest starts on a new page.
    PageBreak,
}

/// A fact.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Fact {
    /// "Lot".
    pub label: String,
    /// "B-0412"; an empty one is printed as a line to fill in by hand.
    pub value: String,
    /// How sure, or from where.
    pub note: Option<String>,
}

/// Rows of what was shown against what is required.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Comparison {
    /// What is compared, one line; may be empty.
    pub title: String,
    /// Over the labels ("Requirement").
    pub label_word: String,
    /// Over what was shown ("Shown").
    pub shown_word: String,
    /// Over what is required ("Required").
    pub required_word: String,
    /// Over the answers ("Answer").
    pub answer_word: String,
    /// The rows.
    pub rows: Vec<Measure>,
}

/// One figure against its limit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Measure {
    /// "Dwell at 145 °F or hotter, coldest position".
    pub label: String,
    /// "4.0 min".
    pub shown: String,
    /// "at least 4 min".
    pub required: String,
    /// The answer's pictogram.
    pub answer: Sign,
    /// The answer in a word ("met"); the pictogram never stands alone.
    pub word: String,
    /// Where the figures come from.
    pub note: Option<String>,
}

/// A line that a person signs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SignLine {
    /// What the signature means ("Reviewed").
    pub meaning: String,
    /// Who; empty leaves room for a name and a signature by hand.
    pub name: String,
    /// When; empty leaves room for it.
    pub at: String,
    /// A reason or remark.
    pub note: Option<String>,
}

/// Options of which some are chosen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choices {
    /// What is chosen ("Disposition of the product").
    pub label: String,
    /// The options.
    pub options: Vec<Choice>,
}

/// One option.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choice {
    /// "Held, tagged".
    pub text: String,
    /// Whether it is chosen.
    pub chosen: bool,
}

/// Room to write.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Field {
    /// "Cause of the deviation".
    pub label: String,
    /// What is already written; may be empty.
    pub text: String,
    /// Blank lines below it, 0 to 40.
    pub blank_lines: u8,
}

impl Document {
    /// The headline of the first [`Block::Answer`], also inside [`Block::Keep`].
    #[must_use]
    pub fn headline(&self) -> Option<&str> {
        fn first(blocks: &[Block]) -> Option<&str> {
            blocks.iter().find_map(|b| match b {
                Block::Answer { headline, .. } => Some(headline.as_str()),
                Block::Keep(inner) => first(inner),
                _ => None,
            })
        }
        first(&self.blocks)
    }
}
