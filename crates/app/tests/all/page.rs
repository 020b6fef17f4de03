//! The page of a plan.

use fallrate_app::{Detail, Language, Reader, Units, chart_files, html_page, plan_page, terminal_page};

use super::support::{library, planned, reader};

#[test]
fn identity_the_same_plan_gives_the_same_page() {
    let library = library();
    let one = plan_page(&planned("beef.toml", 24), &library, &reader(), Detail::Full);
    let two = plan_page(&planned("beef.toml", 24), &library, &reader(), Detail::Full);
    assert_eq!(html_page(&one, Language::English), html_page(&two, Language::English));
}

#[test]
fn identity_no_line_is_wider_than_the_terminal() {
    let library = library();
    for file in ["beef.toml", "apple.toml", "kale.toml"] {
        let planned = planned(file, 24);
        for (language, units) in [(Language::English, Units::Us), (Language::Spanish, Units::Si)] {
            let page = plan_page(&planned, &library, &Reader::new(language, units), Detail::Full);
            for columns in [80, 100, 120] {
                let text = terminal_page(&page, language, columns, false);
                let wide = text.lines().find(|l| l.chars().count() > columns);
                assert_eq!(wide, None, "{file} {columns}");
            }
        }
    }
}

#[test]
fn identity_a_plan_calls_itself_a_forecast_and_names_what_it_rests_on() {
    let library = library();
    let planned = planned("beef.toml", 24);
    let page = plan_page(&planned, &library, &reader(), Detail::Full);
    let html = html_page(&page, Language::English);
    assert!(page.flag.as_ref().is_some_and(|f| f.word == "FORECAST"));
    for words in [
        "first run of a product",
        "not a promise",
        "a forecast, no proof",
        "A model is not a validation",
        "R²",
    ] {
        assert!(html.contains(words), "{words}");
    }
    // Every act after the first says what to watch.
    assert!(page.acts.iter().all(|a| a.watch.is_some()), "{:?}", page.acts);
    // What was left out of the file is listed.
    let kale = plan_page(&super::support::planned("kale.toml", 0), &library, &reader(), Detail::Full);
    assert!(kale.tables.iter().any(|t| t.rows.iter().any(|r| r[0] == "piece.thickness")));
}

#[test]
fn identity_without_draws_nothing_is_said_of_early_or_late() {
    let page = plan_page(&planned("beef.toml", 0), &library(), &reader(), Detail::Full);
    let timer = page.timer.unwrap();
    assert!(timer.early.is_empty() && timer.late.is_empty());
    assert!(timer.reasons[0].contains("no draws were made"));
}

#[test]
fn identity_every_picture_comes_as_svg_and_png() {
    let page = plan_page(&planned("apple.toml", 24), &library(), &reader(), Detail::Full);
    let files = chart_files(&page).unwrap();
    assert_eq!(files.len(), 2 * page.pictures.len());
    for pair in files.chunks(2) {
        assert!(pair[0].name.ends_with(".svg") && pair[0].bytes.starts_with(b"<svg"));
        assert!(pair[1].name.ends_with(".png") && pair[1].bytes.starts_with(b"\x89PNG"));
    }
}
