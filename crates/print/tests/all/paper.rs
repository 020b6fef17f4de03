//! What stands on the pages, read back from the file.

use super::reader::{self, Letter, Page};
use super::sample_document::{self, Tongue, evil_document};
use super::texts;
use fallrate_print::{PrintError, pdf};
use fallrate_report::*;

fn all() -> Vec<Document> {
    vec![
        sample_document::record(Tongue::English, Paper::A4),
        sample_document::record(Tongue::Spanish, Paper::Letter),
        sample_document::card(Tongue::English, Paper::CardLetter),
        sample_document::card(Tongue::Spanish, Paper::CardA5),
    ]
}

/// Everything on the pages; and the text alone, which a page's foot would cut in two.
fn whole(pages: &[Page]) -> String {
    let join = |text: fn(&Page) -> String| pages.iter().map(text).collect::<Vec<_>>().join("\n");
    join(Page::text) + "\n" + &join(Page::tagged_text)
}

/// Fails with the start of a text that is not on paper.
fn assert_found(found: &str, text: &str) {
    let start: String = text.chars().take(60).collect();
    assert!(found.contains(&texts::dense(text)), "not on paper: {start}");
}

/// A short document that can be printed.
fn plain(blocks: Vec<Block>) -> Document {
    Document {
        language: "en".into(),
        title: "Title".into(),
        date: Some("2026-03-12".into()),
        page_word: "Page {page} of {pages}".into(),
        running_head: "head".into(),
        running_foot: "foot".into(),
        blocks,
        ..Document::default()
    }
}

fn pages_of(document: &Document) -> Vec<Page> {
    reader::pages(&pdf(document).unwrap())
}

fn assert_all_on_paper(document: &Document, pages: &[Page]) {
    let found = texts::dense(&whole(pages));
    for text in texts::of(document) {
        assert_found(&found, &text);
    }
}

#[test]
fn identity_every_text_is_on_paper_and_every_page_says_which_it_is() {
    for document in all() {
        let pages = pages_of(&document);
        assert_all_on_paper(&document, &pages);
        let (width, height) = document.paper.size_mm();
        for (n, page) in pages.iter().enumerate() {
            let text = page.text();
            let number = document
                .page_word
                .replace("{page}", &(n + 1).to_string())
                .replace("{pages}", &pages.len().to_string());
            for part in [&number, &document.running_head, &document.running_foot] {
                assert!(texts::dense(&text).contains(&texts::dense(part)), "page {n}: {part}");
            }
            let mm = 72.0 / 25.4;
            assert!((page.width - width * mm).abs() < 0.1 && (page.height - height * mm).abs() < 0.1);
            if let Some(flag) = &document.flag {
                assert!(texts::dense(&text).contains(&flag.word));
            }
        }
        if document.paper.is_card() {
            assert_eq!(pages.len(), 1);
        } else {
            assert!((4..=5).contains(&pages.len()), "{} pages", pages.len());
        }
    }
}

#[test]
fn identity_a_flag_is_on_every_page_twice() {
    let mut document = sample_document::record(Tongue::English, Paper::A4);
    document.flag =
        Some(Flag { word: "REHEARSAL".into(), meaning: "Simulated readings; no evidence.".into() });
    let pages = pages_of(&document);
    assert!(pages.len() >= 4);
    for page in &pages {
        assert_eq!(texts::dense(&page.text()).matches("REHEARSAL").count(), 2);
        let across: Vec<&Letter> = page.letters.iter().filter(|l| !l.upright && l.size > 40.0).collect();
        assert_eq!(across.iter().map(|l| l.text.as_str()).collect::<String>(), "REHEARSAL");
        assert!(across.iter().all(|l| !l.tagged), "the mark is not read aloud on every page");
    }
    assert!(pages[0].tagged_text().contains("REHEARSAL"), "it is read aloud once");
}

#[test]
fn identity_the_headline_is_the_largest_text() {
    for document in all() {
        let bytes = pdf(&document).unwrap();
        let pages = reader::pages(&bytes);
        let tagged = || pages.iter().flat_map(|p| &p.letters).filter(|l| l.tagged);
        let largest = tagged().map(|l| l.size).fold(0.0, f64::max);
        let words: String = tagged().filter(|l| l.size > largest - 0.01).map(|l| l.text.as_str()).collect();
        assert_eq!(texts::dense(&words), texts::dense(document.headline().unwrap()));
        assert!(largest >= 24.0, "{largest} pt");
        let start = texts::dense(document.headline().unwrap());
        assert!(texts::dense(&pages[0].tagged_text()).contains(&start));
    }
}

#[test]
fn identity_every_text_reads_on_white_paper_in_grey() {
    for document in all() {
        for page in pages_of(&document) {
            for letter in page.letters.iter().filter(|l| l.upright) {
                let ink = letter.luminance.expect("a plain ink");
                let contrast = 1.05 / (ink + 0.05);
                // Rims of the letters in charts are drawn in white below the letters themselves.
                assert!(contrast >= 4.5 || ink > 0.99, "'{}' {contrast:.1} : 1", letter.text);
            }
        }
    }
}

/// Letters of the text stay between the margins, those of head and foot above and below it.
fn assert_inside(pages: &[Page]) {
    for (n, page) in pages.iter().enumerate() {
        for l in page.letters.iter().filter(|l| l.upright && !l.text.trim().is_empty()) {
            let sides = l.x >= 27.0 && l.right <= page.width - 27.0;
            let heights = l.y - l.size * 0.6 >= 15.0 && l.y <= page.height - 12.0;
            assert!(
                sides && heights,
                "page {}: '{}' at {:.0} to {:.0}, {:.0}",
                n + 1,
                l.text,
                l.x,
                l.right,
                l.y
            );
            if l.tagged {
                assert!(
                    l.y <= page.height - 35.0,
                    "page {}: '{}' at {:.0} runs into the foot",
                    n + 1,
                    l.text,
                    l.y
                );
            }
        }
    }
}

/// A document with the same text everywhere, and a page word that can be printed.
fn everywhere(text: &str, paper: Paper) -> Document {
    Document {
        language: "en".into(),
        date: Some("2026-03-12".into()),
        page_word: "Page {page} of {pages}".into(),
        paper,
        ..evil_document(text)
    }
}

#[test]
fn limit_very_long_words_stay_on_the_sheet_whole() {
    let long = "W".repeat(150);
    let hash = "0123456789abcdef".repeat(4);
    for (text, paper) in [("a b", Paper::A4), (&hash, Paper::Letter)] {
        let mut document = everywhere(text, paper);
        assert_inside(&pages_of(&document));
        // A running head is cut, with an ellipsis: what it says stands in the document too.
        document.running_head = "head".into();
        document.running_foot = "foot".into();
        assert_all_on_paper(&document, &pages_of(&document));
    }
    for text in [&long, &format!("x {long}-{} y", hash.repeat(6))] {
        let document = everywhere(text, Paper::A4);
        let pages = pages_of(&document);
        assert_inside(&pages);
        // Rows that go on on the next page are read in pieces: their letters are counted.
        let mut without = document.clone();
        without.blocks.retain(|b| !matches!(b, Block::Picture(_)));
        (without.running_head, without.running_foot) = (String::new(), String::new());
        let letters = |text: &str| text.chars().filter(|c| *c == 'W').count();
        let wanted: usize = texts::of(&without).iter().map(|t| letters(t)).sum();
        let found: usize = pages.iter().map(|p| letters(&p.tagged_text())).sum();
        assert!(wanted > 4000 && found >= wanted, "{found} of {wanted} letters");
    }
}

#[test]
fn limit_foreign_text_is_printed_and_never_run() {
    const CODE: [&str; 20] = [
        "#panic(\"x\")",
        "#sys.inputs.document",
        "#include \"template.typ\"",
        "#(1+1)",
        "$x^2$",
        "*bold* _thin_ `raw`",
        "= heading",
        "- point + point / term: x",
        "<label> @reference",
        "// comment",
        "/* comment */ x",
        "\\u{41} \\# \\",
        "~ --- -- ... -?",
        "\"quotes\" 'single'",
        "<script>alert(1)</script>",
        "&amp; &lt;",
        "{page} {pages}",
        "https://example.org/x",
        "]) }] #[",
        "a   b",
    ];
    let mut document = everywhere(&CODE.join("\n"), Paper::Letter);
    document.running_head = "head".into();
    document.running_foot = "foot".into();
    document.blocks.extend(CODE.map(|code| Block::Text(code.into())));
    assert_all_on_paper(&document, &pages_of(&document));
}

#[test]
fn identity_spaces_of_a_text_are_kept() {
    let pages = reader::pages(&pdf(&plain(vec![Block::Text("lot a   b\nsecond line".into())])).unwrap());
    let text = pages[0].tagged_text();
    assert!(text.contains("a   b") && text.contains("\nsecond line"), "{text}");
}

#[test]
fn limit_what_cannot_be_drawn_or_seen_is_written_out() {
    let evil = "中 שלום سلام 🔥 a\u{202e}b\u{200b}c\u{ad}d\u{7}\u{feff}";
    let mut document = everywhere(evil, Paper::A4);
    document.page_word = "中 {page} {pages}".into();
    let bytes = pdf(&document).unwrap();
    let pages = reader::pages(&bytes);
    let text = whole(&pages);
    let dense = texts::dense(&text);
    for written in
        ["[U+4E2D]", "[U+05E9]", "[U+0633]", "[U+1F525]", "a[U+202E]b[U+200B]c[U+00AD]d[U+0007][U+FEFF]"]
    {
        assert!(dense.contains(written), "{written}");
    }
    for c in text.chars() {
        assert!(c == '\n' || c == char::REPLACEMENT_CHARACTER || font::has_glyph(c), "{c:?}");
    }
    let letters = pages.iter().flat_map(|p| &p.letters);
    assert!(letters.filter(|l| l.text != "\u{fffd}").all(|l| l.glyph_id != 0), "a box instead of a letter");
}

#[test]
fn limit_what_is_taller_than_a_page_goes_on_on_the_next() {
    let words: String = (0..4000).map(|n| format!("w{n} ")).collect();
    let rows = (0..120).map(|n| vec![format!("row{n}"), "x".into()]).collect();
    let table =
        Table { title: "t".into(), header: vec![Column::left("a"), Column::left("b")], rows, note: None };
    let cell = Table {
        title: "c".into(),
        header: vec![],
        rows: vec![vec!["one".into(), words.clone()]],
        note: None,
    };
    let span = |n: u32| {
        let from_h = f64::from(n) * 0.1;
        Span { from_h, to_h: from_h + 0.1, counted: n.is_multiple_of(2), reason: format!("reason{n}.") }
    };
    let strip = Strip {
        title: "strip".into(),
        description: "many pieces".into(),
        spans: (0..400).map(span).collect(),
        ..Strip::default()
    };
    let bars = BarChart {
        title: "bars".into(),
        description: "many bars".into(),
        bars: (0..150)
            .map(|n| Bar { label: format!("bar{n}."), value: f64::from(n), ..Bar::default() })
            .collect(),
        ..BarChart::default()
    };
    let blocks = vec![
        Block::Answer { sign: Sign::Open, headline: "Short".into(), subline: String::new() },
        Block::Keep(vec![Block::Heading { level: 1, text: "Kept".into() }, Block::Table(table)]),
        Block::Table(cell),
        Block::Text(words),
        Block::Picture(Picture::Strip(strip)),
        Block::Picture(Picture::Bars(bars)),
        Block::Keep(vec![Block::Fields(vec![Field {
            label: "room".into(),
            text: "to write".into(),
            blank_lines: 40,
        }])]),
    ];
    let document = plain(blocks);
    let pages = pages_of(&document);
    assert_all_on_paper(&document, &pages);
    let found = whole(&pages);
    assert!((0..150).all(|n| found.contains(&format!("bar{n}."))), "a bar is lost");
    assert_inside(&pages);
    let heads = pages.iter().filter(|p| p.text().contains("row") && p.text().contains("a b")).count();
    assert!(heads >= 2, "the heading of a table is repeated");
}

#[test]
fn identity_units_stay_with_their_numbers() {
    let text = "held at 145 °F for 4 min and dried for 7 h 10 min with a fan of 12 kW ".repeat(30);
    let pages = reader::pages(&pdf(&plain(vec![Block::Text(text)])).unwrap());
    let lines = pages[0].tagged_text();
    assert!(lines.lines().count() > 10);
    for line in lines.lines() {
        assert!(!["°F", "min", "h ", "kW"].iter().any(|unit| line.starts_with(unit)), "{line}");
    }
}

#[test]
fn refuse_what_a_file_cannot_carry() {
    let with = |change: fn(&mut Document)| {
        let mut document = plain(vec![]);
        change(&mut document);
        pdf(&document)
    };
    assert!(with(|_| {}).is_ok());
    for language in ["", "e", "english", "en-US-x", "en-Latn", "e1", "../x"] {
        let document = Document { language: language.into(), ..plain(vec![]) };
        assert_eq!(pdf(&document), Err(PrintError::Language { value: language.into() }));
    }
    for date in ["", "2026-02-30", "2026-2-3", "12.03.2026", "2026-03-12T10:00", "x", "-026-03-12"] {
        let document = Document { date: Some(date.into()), ..plain(vec![]) };
        assert_eq!(pdf(&document), Err(PrintError::Date { value: date.into() }));
    }
    assert_eq!(with(|d| d.date = None), Err(PrintError::EmptyText { what: "date" }));
    assert_eq!(with(|d| d.title = " ".into()), Err(PrintError::EmptyText { what: "title" }));
    for word in ["Page {page}".to_owned(), format!("{}{{page}}{{pages}}", "W".repeat(40))] {
        let document = Document { page_word: word.clone(), ..plain(vec![]) };
        assert_eq!(pdf(&document), Err(PrintError::PageWord { value: word }));
    }
}

#[test]
fn refuse_a_picture_without_words() {
    let silent = Block::Picture(Picture::Chart(Chart::default()));
    let named = Block::Picture(Picture::Bars(super::sample::bars()));
    let found = pdf(&plain(vec![named, Block::Keep(vec![silent])]));
    assert_eq!(found, Err(PrintError::NoAlternative { number: 2 }));
}

#[test]
fn refuse_a_card_of_two_pages_and_grow_one_that_has_room() {
    let steps = |count: usize| {
        let act = |n| Act { clock: format!("{n}:00"), text: "Weigh the trays.".into(), watch: None };
        Document { paper: Paper::CardA5, ..plain(vec![Block::Steps((0..count).map(act).collect())]) }
    };
    let size = |document: &Document| {
        let pages = pages_of(document);
        assert_eq!(pages.len(), 1);
        assert_inside(&pages);
        let letters = pages[0].letters.iter();
        letters.filter(|l| l.text == "W").map(|l| l.size).fold(0.0, f64::max)
    };
    let (few, more) = (size(&steps(4)), size(&steps(22)));
    assert!(few > more && more > 9.0, "{few} {more}");
    assert!(matches!(pdf(&steps(80)), Err(PrintError::CardTooLong { pages: 2.., .. })));
}
