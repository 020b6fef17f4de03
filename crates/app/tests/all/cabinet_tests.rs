//! Commissioning and drift from the invented example, and from spoilt copies of it.

use fallrate_app::cabinet_tests::{
    Change, Commissioning, Evaluated, TestFolder, advice_document, commission_document, commission_json,
    drift_document, evaluate, weigh_drift,
};
use fallrate_app::library_items::Cabinet;
use fallrate_app::ports::MemoryFiles;
use fallrate_app::{AppError, Language, Reader, Units, document_page, document_text};

use crate::support::{library, reader};

const TESTS: &str = include_str!("../../../../examples/commission/tests.toml");
const LATER: &str = include_str!("../../../../examples/commission/later.toml");

fn files() -> MemoryFiles {
    macro_rules! example {
        ($($name:literal),*) => {
            MemoryFiles(vec![$((
                concat!("c/", $name).to_owned(),
                include_bytes!(concat!("../../../../examples/commission/", $name)).to_vec(),
            )),*])
        };
    }
    example!("heat_up.csv", "hold.csv", "pan.csv", "cloths.csv", "later.csv", "logger.mapping.toml")
}

/// Whether no message was missing: one would stand between brackets with its key.
fn whole(text: &str) -> bool {
    !["[commission-", "[advise-", "[drift-", "[proof-", "[level-", "[doc-"].iter().any(|k| text.contains(k))
}

fn evaluated(text: &str) -> Result<Evaluated, AppError> {
    let file = Commissioning::parse("c/tests.toml", text.as_bytes())?;
    let files = files();
    let logs = TestFolder { files: &files, beside: "c/tests.toml" };
    evaluate(file, &library(), &files, &logs, &reader())
}

#[test]
fn val_the_example_is_measured_and_its_cabinet_file_is_a_cabinet() {
    let e = evaluated(TESTS).unwrap();
    assert_eq!(e.cabinet_problems, None);
    assert!(e.measured() > 20, "{}", e.measured());
    let cabinet = Cabinet::parse("m.toml", &e.cabinet_toml).unwrap();
    assert_eq!(cabinet.key, "bench_unit_measured");
    assert!(cabinet.heater.measured.source.starts_with("measured on 2026-09-10 by Owner: heat-up"));
    let json = commission_json(&e).unwrap();
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(value["figures"].as_array().unwrap().len(), e.found.outcomes.len());
}

#[test]
fn identity_the_report_says_what_was_measured_in_both_languages_and_units() {
    let e = evaluated(TESTS).unwrap();
    for (language, units, words) in [
        (Language::English, Units::Si, ["Heater power", "kW", "Leak and vent pass the same kind of air"]),
        (Language::Spanish, Units::Us, ["Potencia del calefactor", "Btu/°F", "La fuga y la ventila"]),
    ] {
        let r = Reader::new(language, units);
        let document = commission_document(&e, &r);
        let text = document_text(&document, 100, false);
        for w in words {
            assert!(text.contains(w), "{w}\n{text}");
        }
        assert!(whole(&text), "a missing message\n{text}");
        assert!(document_page(&document).contains("<svg"));
        let next =
            document_text(&advice_document(&library(), &files(), "", Some(&e), &r).unwrap(), 100, false);
        assert!(whole(&next), "{next}");
    }
}

#[test]
fn identity_advice_before_any_test_names_the_metered_heat_up_first() {
    let document = advice_document(&library(), &files(), "north", None, &reader()).unwrap();
    let text = document_text(&document, 100, false);
    let first = document.headline().unwrap().to_owned();
    assert!(first.contains("heat-up and cool-down with the energy meter"), "{first}");
    assert!(text.contains("Turn the dial to its highest") && whole(&text), "{text}");
    let wrong = advice_document(&library(), &files(), "nord", None, &reader()).unwrap_err();
    assert!(wrong.to_string().contains("north"), "{wrong}");
}

#[test]
fn val_the_failing_element_of_the_example_is_found() {
    let before = evaluated(TESTS).unwrap();
    let later = Commissioning::parse("c/later.toml", LATER.as_bytes()).unwrap();
    let files = files();
    let logs = TestFolder { files: &files, beside: "c/later.toml" };
    let d = weigh_drift(&before, later, &logs, &reader()).unwrap();
    assert_eq!(d.change(), Change::Some);
    for language in [Language::English, Language::Spanish] {
        let document = drift_document(&d, &Reader::new(language, Units::Si));
        let text = document_text(&document, 100, false);
        let words =
            if language == Language::English { "The heater gives less" } else { "El calefactor da menos" };
        assert!(document.headline().unwrap().contains(words), "{text}");
        assert!(whole(&text), "{text}");
    }
}

#[test]
fn regress_what_is_wrong_is_named() {
    let wrong_mark = evaluated(&TESTS.replacen("vent = \"fixed\"", "vent = \"half\"", 1)).unwrap_err();
    assert!(
        wrong_mark.to_string().contains("'half'") && wrong_mark.to_string().contains("fixed"),
        "{wrong_mark}"
    );
    let missing = evaluated(&TESTS.replacen("kind = \"heat_cool\"", "", 1)).unwrap_err();
    assert!(missing.to_string().contains("kind"), "{missing}");
    let no_file = evaluated(&TESTS.replacen("heat_up.csv", "gone.csv", 1)).unwrap_err();
    assert!(no_file.to_string().contains("gone.csv"), "{no_file}");
    // Without the meter: ratios only, said in words.
    let bare: String = TESTS
        .split("\n[[test]]\n")
        .take(2)
        .map(|s| s.split("[[test.meter]]").next().unwrap_or_default().to_owned())
        .collect::<Vec<_>>()
        .join("\n[[test]]\n");
    let e = evaluated(&bare).unwrap();
    let text = document_text(&commission_document(&e, &reader()), 100, false);
    assert!(text.contains("Only ratios are told"), "{text}");
}
