//! Where a document contradicts itself: both of its readings, each with its own answer.

use fallrate_lethality::{DocumentReading, OptionResult};
use fallrate_report::Measure;

use super::super::words;
use super::Sheet;
use crate::words::say;

/// A row for each reading; none where the document says one thing.
pub(super) fn rows(s: &Sheet<'_>, o: &OptionResult) -> Vec<Measure> {
    let row = |x: &fallrate_lethality::ReadingResult| Measure {
        label: s.r.text(match x.reading {
            DocumentReading::Text => "proof-reading-text",
            DocumentReading::FlowChart => "proof-reading-chart",
        }),
        shown: s.minutes(x.shown_min),
        required: say!(s.r, "proof-at-least", value = s.minutes(x.required_min)),
        answer: words::sign(x.answer),
        word: s.answer_word(x.answer),
        note: Some(say!(
            s.r,
            "proof-reading-note",
            share = s.r.percent(x.share),
            cook = s.minutes(x.total_cook_min),
            unknown = s.minutes(x.unknown_min)
        )),
    };
    o.readings.iter().map(row).collect()
}
