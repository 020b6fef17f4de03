use super::sample_document::{self, Tongue, evil_document};
use fallrate_report::*;
use roxmltree::Document as Xml;
use std::collections::BTreeSet;

fn plain() -> HtmlOptions {
    HtmlOptions { font: FontSource::System, day_only: false }
}

/// The body as XML: every tag closed in its order, every attribute quoted.
fn body(html: &str) -> String {
    let inside = html.split_once("<body>").unwrap().1.rsplit_once("</body>").unwrap().0;
    format!("<body>{inside}</body>")
}

fn all_documents() -> Vec<Document> {
    [Tongue::English, Tongue::Spanish]
        .into_iter()
        .flat_map(|t| [sample_document::record(t, Paper::Letter), sample_document::card(t, Paper::CardA5)])
        .collect()
}

#[test]
fn identity_document_page_is_sound_and_self_contained() {
    for document in all_documents() {
        let html = document_html(&document, &HtmlOptions::default());
        assert!(html.starts_with(&format!("<!DOCTYPE html>\n<html lang=\"{}\">", document.language)));
        let without_names = html.replace("http://www.w3.org/2000/svg", "");
        for outside in ["http:", "https:", "src=", "<script", "<link", "@import", "javascript"] {
            assert!(!without_names.contains(outside), "{outside}");
        }
        let text = body(&html);
        let xml = Xml::parse(&text).unwrap();
        let ids: Vec<&str> = xml.descendants().filter_map(|n| n.attribute("id")).collect();
        assert_eq!(ids.len(), ids.iter().collect::<BTreeSet<_>>().len(), "ids repeat");
        for svg in xml.descendants().filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "svg"))) {
            let described = ["title", "desc"].iter().all(|tag| {
                let mut inside = svg.children();
                inside.any(|n| n.tag_name().name() == *tag && n.text().is_some_and(|t| t.len() > 5))
            });
            assert!(described || svg.attribute("aria-hidden") == Some("true"));
        }
    }
}

#[test]
fn identity_headings_go_down_one_step_at_a_time() {
    let mut documents = all_documents();
    let heading = |level| Block::Heading { level, text: "x".into() };
    documents.push(Document {
        title: "t".into(),
        blocks: [0, 1, 3, 255, 1, 6].map(heading).to_vec(),
        ..Document::default()
    });
    for document in documents {
        let text = body(&document_html(&document, &plain()));
        let xml = Xml::parse(&text).unwrap();
        let level = |n: roxmltree::Node<'_, '_>| n.tag_name().name().strip_prefix('h')?.parse::<u8>().ok();
        let levels: Vec<u8> = xml.descendants().filter_map(level).collect();
        assert_eq!(levels.iter().filter(|l| **l == 1).count(), 1, "one headline");
        assert_eq!(levels.first(), Some(&1));
        assert!(levels.windows(2).all(|w| w[1] <= w[0] + 1), "{levels:?}");
    }
}

#[test]
fn identity_table_cells_belong_to_headings() {
    for document in all_documents() {
        let text = body(&document_html(&document, &plain()));
        let xml = Xml::parse(&text).unwrap();
        for table in xml.descendants().filter(|n| n.has_tag_name("table")) {
            for th in table.descendants().filter(|n| n.has_tag_name("th")) {
                assert!(matches!(th.attribute("scope"), Some("col" | "row")));
                assert!(
                    th.descendants().any(|n| n.text().is_some_and(|t| !t.trim().is_empty())),
                    "empty heading"
                );
            }
            let columns = |row: roxmltree::Node<'_, '_>| row.children().filter(|n| n.is_element()).count();
            let counts: BTreeSet<usize> =
                table.descendants().filter(|n| n.has_tag_name("tr")).map(columns).collect();
            assert_eq!(counts.len(), 1, "{counts:?}");
        }
    }
}

#[test]
fn identity_no_answer_is_said_by_a_sign_alone() {
    let document = sample_document::record(Tongue::English, Paper::A4);
    let html = document_html(&document, &plain());
    for word in ["<span>not met</span>", "<span>met</span>", "<span>cannot be judged</span>"] {
        assert!(html.contains(word), "{word}");
    }
    let signs: BTreeSet<String> = [Sign::Yes, Sign::No, Sign::Open].into_iter().flat_map(Sign::svg).collect();
    assert_eq!(signs.len(), 3);
    assert_eq!(Sign::Plain.svg(), None);
}

#[test]
fn limit_foreign_text_in_a_document_never_becomes_markup() {
    const EVIL: &str =
        "</style><script>x</script>\"'\\;}{*<img src=x onerror=y>&\u{1}\u{1b}[31m\u{202e}abc\u{2066}";
    let html = document_html(&evil_document(EVIL), &HtmlOptions { font: FontSource::System, day_only: true });
    assert!(!html.contains("<script") && !html.contains("<img"));
    assert_eq!(html.matches("</style>").count(), 1);
    for hidden in ['\u{1}', '\u{1b}', '\u{202e}', '\u{2066}'] {
        assert!(!html.contains(hidden), "{hidden:?}");
    }
    assert!(html.contains("&lt;script&gt;x&lt;/script&gt;") && html.contains("[U+202E]abc[U+2066]"));
    Xml::parse(&body(&html)).unwrap();
    let css = html.split_once("<style>").unwrap().1.split_once("</style>").unwrap().0;
    assert_eq!(css.matches('{').count(), css.matches('}').count(), "no text leaves its string");
    let screen = document_terminal(&evil_document(EVIL), &TerminalOptions::default());
    assert!(screen.contains("<script>") && screen.contains("[U+202E]"));
    assert!(!screen.contains(|c: char| c.is_control() && c != '\n'));
}

#[test]
fn limit_an_empty_document_is_a_page() {
    let html = document_html(&Document::default(), &plain());
    assert!(html.contains("lang=\"en\""));
    Xml::parse(&body(&html)).unwrap();
    assert!(document_terminal(&Document::default(), &TerminalOptions::default()).trim().is_empty());
}

#[test]
fn limit_document_in_a_terminal_fits_its_columns() {
    use unicode_width::UnicodeWidthStr;
    for document in all_documents() {
        for columns in [60, 80, 100] {
            let text =
                document_terminal(&document, &TerminalOptions { columns, ..TerminalOptions::default() });
            for line in text.lines() {
                assert!(line.width() <= columns, "{} of {columns} columns: {line}", line.width());
                assert_eq!(line, line.trim_end());
            }
        }
        let styled =
            document_terminal(&document, &TerminalOptions { styled: true, ..TerminalOptions::default() });
        let bare = styled.replace("\u{1b}[1m", "").replace("\u{1b}[0m", "");
        assert_eq!(bare, document_terminal(&document, &TerminalOptions::default()));
    }
}

#[test]
fn identity_reasons_of_a_strip_are_text_beside_its_drawing() {
    let strip = super::sample::strip();
    let reasons = strip.reasons();
    assert_eq!(reasons.len(), 2);
    assert!(reasons[0].starts_with("1  08:29 – 08:35  door open"), "{}", reasons[0]);
    let drawing = strip.svg_without_reasons(&Layout::wide(), "s");
    assert!(!drawing.contains("door open") && strip.svg(&Layout::wide(), "s").contains("door open"));
}

/// Numbers of short pieces would lie on one another.
#[test]
fn limit_numbers_on_a_crowded_strip_do_not_overlap() {
    let piece = |i: u32| {
        let from_h = f64::from(i) * 0.02;
        Span { from_h, to_h: from_h + 0.02, counted: i.is_multiple_of(2), reason: "short".into() }
    };
    let strip = Strip { title: "crowded".into(), spans: (0..400).map(piece).collect(), ..Strip::default() };
    let drawing = strip.svg_without_reasons(&Layout::narrow(), "s");
    let xml = Xml::parse(&drawing).unwrap();
    let mut right = f64::NEG_INFINITY;
    let mut numbers = 0;
    for text in xml.descendants().filter(|n| n.attribute("stroke").is_some() && n.has_tag_name("text")) {
        let (left, _, r, _) = super::charts::text_box(&text);
        assert!(left >= right, "{}", text.text().unwrap());
        right = r;
        numbers += 1;
    }
    assert!(numbers > 5 && numbers < 200);
    assert_eq!(strip.reasons().len(), 200);
}

#[test]
fn regress_record_in_a_terminal() {
    let mut document = sample_document::record(Tongue::English, Paper::A4);
    shorten(&mut document.blocks);
    insta::assert_snapshot!(document_terminal(&document, &TerminalOptions::default()));
}

#[test]
fn regress_record_as_a_page() {
    let mut document = sample_document::record(Tongue::Spanish, Paper::Letter);
    shorten(&mut document.blocks);
    document.blocks.retain(|b| !matches!(b, Block::Picture(_)));
    insta::assert_snapshot!(body(&document_html(&document, &plain())));
}

/// Snapshots that a person can read: tables of a few rows.
fn shorten(blocks: &mut [Block]) {
    for block in blocks {
        if let Block::Table(table) = block {
            table.rows.truncate(3);
        }
    }
}
