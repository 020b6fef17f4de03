//! What makes the file archival and accessible, read back from its objects.

use super::reader;
use super::sample_document::{self, Tongue};
use fallrate_print::pdf;
use fallrate_report::*;
use hayro_interpret::hayro_syntax::object::{Dict, String as PdfString};
use std::collections::BTreeSet;

#[test]
fn identity_the_same_document_gives_the_same_bytes() {
    let first = pdf(&sample_document::record(Tongue::English, Paper::A4)).unwrap();
    pdf(&sample_document::card(Tongue::Spanish, Paper::CardA5)).unwrap();
    let second = pdf(&sample_document::record(Tongue::English, Paper::A4)).unwrap();
    assert!(first == second);
    let mut other = sample_document::record(Tongue::English, Paper::A4);
    other.running_foot.push('.');
    assert!(first != pdf(&other).unwrap());
}

/// Identification by the schemas of ISO 19005-2, 6.6.4 and ISO 14289-1, clause 5 (from memory).
#[test]
fn identity_the_file_says_that_it_is_archival_and_accessible() {
    let bytes = pdf(&sample_document::record(Tongue::Spanish, Paper::Letter)).unwrap();
    let file = reader::open(&bytes);
    let xmp = reader::xmp(&file);
    let xml = roxmltree::Document::parse(&xmp).unwrap();
    let value = |space: &str, name: &str| {
        let element = xml.descendants().find(|n| n.has_tag_name((space, name)));
        let text = element.and_then(|n| n.text()).map(str::to_owned);
        text.or_else(|| xml.descendants().find_map(|n| n.attribute((space, name)).map(str::to_owned)))
    };
    let (archive, access) = ("http://www.aiim.org/pdfa/ns/id/", "http://www.aiim.org/pdfua/ns/id/");
    assert_eq!(value(archive, "part").as_deref(), Some("2"));
    assert_eq!(value(archive, "conformance").as_deref(), Some("A"));
    assert_eq!(value(access, "part").as_deref(), Some("1"));
    assert!(xmp.contains("Registro del lote B-0412") && xmp.contains("Quillay Valley Dried Meats"));
    assert!(xmp.contains("2026-03-12"), "the date of the document, and no other");

    let catalogue = reader::catalogue(&file);
    let marks: Dict<'_> = catalogue.get(b"MarkInfo").unwrap();
    assert_eq!(marks.get::<bool>(b"Marked"), Some(true));
    let language: PdfString<'_> = catalogue.get(b"Lang").unwrap();
    assert_eq!(reader::decode(language.as_bytes()), "es-MX");
    let view: Dict<'_> = catalogue.get(b"ViewerPreferences").unwrap();
    assert_eq!(view.get::<bool>(b"DisplayDocTitle"), Some(true));
    assert!(catalogue.contains_key(b"OutputIntents"));
    let keys: BTreeSet<String> = reader::dictionaries(&file).into_values().flatten().collect();
    for forbidden in ["JavaScript", "JS", "Launch", "EmbeddedFiles", "Encrypt", "AA", "OpenAction"] {
        assert!(!keys.contains(forbidden), "{forbidden}");
    }
}

#[test]
fn identity_tags_tell_headings_tables_lists_and_pictures() {
    let document = sample_document::record(Tongue::English, Paper::A4);
    let bytes = pdf(&document).unwrap();
    let file = reader::open(&bytes);
    let tags = reader::tags(&file);
    let level = |role: &str| role.strip_prefix('H').and_then(|n| n.parse::<u8>().ok());
    let levels: Vec<u8> = tags.iter().filter_map(|t| level(&t.role)).collect();
    assert_eq!(levels.first(), Some(&1));
    assert_eq!(levels.iter().filter(|l| **l == 1).count(), 1);
    assert!(levels.windows(2).all(|w| w[1] <= w[0] + 1), "{levels:?}");
    assert_eq!(levels.len(), 9);

    let count = |role: &str| tags.iter().filter(|t| t.role == role).count();
    assert_eq!(count("Table"), 4, "comparison, instruments, readings, signatures");
    let rows: BTreeSet<&str> =
        tags.iter().filter(|t| t.role == "TH").filter_map(|t| t.scope.as_deref()).collect();
    assert_eq!(rows, BTreeSet::from(["Column", "Row"]));
    assert_eq!(
        count("TH"),
        4 + 4 + 6 + 4 + 4 + 3,
        "headings of columns, of the comparison's rows, of the signatures'"
    );
    assert_eq!((count("L"), count("LI")), (1, 2), "limits and sources");
    let figures: Vec<&str> =
        tags.iter().filter(|t| t.role == "Figure").map(|t| t.alt.as_deref().unwrap_or("")).collect();
    assert_eq!(
        figures,
        [
            "Humidity step: 121 of 159 minutes counted. Two pieces did not count: the door was open, and the power was off.",
            "Beef strips 6 mm, cabinet North. The core at the air-leaving end passes the limit after three hours.",
            "chosen",
            "not chosen",
            "not chosen",
        ]
    );
}
