//! A plan on one sheet, to tape to the dryer.

use fallrate_report::{
    Block, Document, DocumentWords, Fact, Field, Flag, Level, Paper, PlanPage, Sign, legible,
};

use crate::library::Library;
use crate::page::{Detail, plan_page};
use crate::plan_case::Planned;
use crate::words::{Reader, Units, say};

/// Most cautions on the card: those a person must act on come first.
const MOST_CAUTIONS: usize = 2;

/// The card of a plan: what to dial, what to do when, where to write what happened. `day` is the day it is made,
/// `YYYY-MM-DD`, for the file's description of itself.
#[must_use]
pub fn plan_card(planned: &Planned, library: &Library, r: &Reader, day: &str) -> Document {
    let page = plan_page(planned, library, r, Detail::Brief);
    Document {
        language: page.language.clone(),
        title: r.text("card-title"),
        subject: page.subject.clone(),
        date: Some(day.to_owned()),
        paper: if r.units == Units::Us { Paper::CardLetter } else { Paper::CardA4 },
        flag: Some(Flag { word: r.text("flag-word"), meaning: r.text("card-flag") }),
        running_foot: say!(r, "footer-version", version = crate::VERSION),
        page_word: r.text("proof-page"),
        words: document_words(r),
        blocks: blocks(&page, r),
        ..Document::default()
    }
}

fn document_words(r: &Reader) -> DocumentWords {
    DocumentWords {
        table_behind: r.text("card-table-behind"),
        watch: r.text("card-watch"),
        meaning: r.text("card-meaning"),
        name: r.text("card-name"),
        at: r.text("card-at"),
        note: r.text("card-note"),
        chosen: r.text("card-chosen"),
        not_chosen: r.text("card-not-chosen"),
    }
}

fn blocks(page: &PlanPage, r: &Reader) -> Vec<Block> {
    let mut list = vec![Block::Answer {
        sign: Sign::default(),
        headline: page.headline.clone(),
        subline: legible(&page.subline),
    }];
    let urgent = page.cautions.iter().filter(|c| c.level == Level::Act).take(MOST_CAUTIONS);
    list.extend(urgent.map(|c| Block::Notice {
        level: c.level,
        word: r.text("level-before-start"),
        text: c.text.clone(),
    }));
    list.push(Block::Steps(page.acts.clone()));
    if let Some(t) = &page.timer {
        let fact = |key: &str, value: &str| Fact { label: r.text(key), value: value.to_owned(), note: None };
        let ends = [("card-early", &t.early), ("card-expected", &t.expected), ("card-late", &t.late)];
        list.push(Block::Facts(
            ends.iter().filter(|(_, v)| !v.is_empty()).map(|(k, v)| fact(k, v)).collect(),
        ));
    }
    let field = |key: &str| Field { label: r.text(key), text: String::new(), blank_lines: 1 };
    list.push(Block::Fields(vec![field("card-started"), field("card-happened")]));
    list
}
