//! The plan page says what the plan says.

use axum::http::StatusCode;
use fallrate_app::{Detail, Language, Library, PlanCase, Reader, Units, plan_page};

use crate::support::{get, get_with};

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('"', "&quot;").replace('<', "&lt;").replace('>', "&gt;")
}

/// The text of the page's own plan file, planned directly, gives the headline and the acts that the page shows.
#[tokio::test]
async fn identity_page_and_plan_agree() {
    let query = "product=beef_eye_of_round&load.amount=22&load.trays=18&target.moisture=25&start.at=640\
                 &room.altitude=1600&piece.thickness=6&staff.hours=5:45-22&money.energy_price_per_kwh=0,24";
    let file = get_with(&format!("/plan/file?{query}"), "units=si").await.text();
    let library = Library::embedded().expect("a library");
    let planned =
        PlanCase::of_library(&library, "plan", &file).expect("a case").plan(0, &|_| true).expect("a plan");
    let page = plan_page(&planned, &library, &Reader::new(Language::English, Units::Si), Detail::Full);
    let shown = get_with(&format!("/plan/result?{query}"), "units=si; language=en").await.text();
    assert!(shown.contains(&escaped(&page.headline)), "{}", page.headline);
    for act in &page.acts {
        assert!(shown.contains(&escaped(&act.text)), "{}", act.text);
    }
    assert!(shown.contains("data-band=\"missing\"") && page.acts.len() > 3);
    let band = get_with(&format!("/plan/result?{query}&band=1"), "units=si; language=en").await.text();
    assert!(!band.contains("data-band=\"missing\"") && band.contains("<dt>Early</dt>"));
}

#[tokio::test]
async fn identity_entries_are_read_back_and_wrong_ones_named() {
    let shown = get_with("/plan/result?product=apple&load.amount=71,5&start.at=640", "units=si").await.text();
    assert!(shown.contains("data-key=\"load.amount\" data-kind=\"read\">71.5 kg<"), "{shown}");
    assert!(shown.contains("data-key=\"start.at\" data-kind=\"read\">06:40<"));
    assert!(shown.contains("data-key=\"piece.thickness\" data-kind=\"usual\">Left empty: 6 mm<"));
    let wrong = get_with("/plan/result?load.temperature=71&load.amount=lots", "units=si").await;
    assert_eq!(wrong.status, StatusCode::OK, "a fragment is an answer");
    let text = wrong.text();
    assert!(text.contains("71 °C or 71 °F") && text.contains("“lots” cannot be read"), "{text}");
    let page = get("/plan?load.amount=lots&go=1").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.text().contains("aria-invalid=\"true\""));
}

#[tokio::test]
async fn refuse_a_target_that_cannot_be_and_say_why() {
    let wet = get_with("/plan/result?product=apple&target.moisture=95", "units=si; language=es").await.text();
    assert!(wet.contains("ya más seca que la meta"), "{wet}");
    let range = get_with("/plan/result?product=apple&piece.thickness=900", "units=si").await.text();
    assert!(range.contains("<b>Thickness</b>") && range.contains("out of range"), "{range}");
}

/// Numbers typed in one system keep their meaning in the other.
#[tokio::test]
async fn identity_a_switch_of_units_changes_no_plan() {
    let query = "product=apple&load.amount=35&room.temperature=20&units=si";
    let si = get_with(&format!("/plan/file?{query}"), "units=si").await.text();
    let us = get_with(&format!("/plan/file?{query}"), "units=us").await.text();
    assert!(si.contains("total = \"35 kg\"") && us.contains("total = \"35 kg\""), "{us}");
    let form = get_with(&format!("/plan?{query}"), "units=us").await.text();
    assert!(form.contains("value=\"35 kg\"") && form.contains("name=\"units\" value=\"us\""));
}

#[tokio::test]
async fn identity_stages_by_hand_reach_the_plan() {
    let query = "product=kale&load.amount=6&stages=2&stage.1.name=soft&stage.1.set_point=50&stage.1.vent=half\
                 &stage.1.until=elapsed&stage.1.until_value=1:00&stage.2.name=crisp&stage.2.set_point=60\
                 &stage.2.vent=quarter&stage.2.until=target&stage.2.at_most=12";
    let file = get_with(&format!("/plan/file?{query}"), "units=si").await.text();
    assert!(
        file.contains("until = { elapsed = \"1 h 0 min\" }") && file.contains("at_most = \"12 h\""),
        "{file}"
    );
    let shown = get_with(&format!("/plan/result?{query}"), "units=si").await.text();
    assert!(shown.contains("soft") && shown.contains("crisp"), "{shown}");
    let form = get("/plan?product=kale&by_hand=1").await.text();
    assert!(form.contains("name=\"stage.1.set_point\"") && form.contains("name=\"add_stage\""));
}

#[tokio::test]
async fn identity_two_plans_side_by_side() {
    let first = "product%3Dapple%26load.amount%3D30%26units%3Dsi";
    let same =
        get_with(&format!("/plan?product=apple&load.amount=30&units=si&go=1&beside={first}"), "units=si")
            .await
            .text();
    assert!(same.contains("A and B are the same"));
    let other =
        get_with(&format!("/plan?product=apple&load.amount=20&units=si&go=1&beside={first}"), "units=si")
            .await
            .text();
    assert!(
        other.contains("Go on with A") && other.contains("Go on with B") && other.contains("<svg"),
        "{other}"
    );
}

/// The card carries one style sheet, allowed by its hash, and nothing else.
#[tokio::test]
async fn identity_card_is_one_sheet_under_a_policy_of_its_own() {
    for (cookies, dial) in [("language=en; units=us", "Dial"), ("language=es; units=si", "Marque")] {
        let card =
            get_with("/plan/card?product=apple&load.amount=35 kg".replace(' ', "%20").as_str(), cookies)
                .await;
        let text = card.text();
        assert_eq!(card.status, StatusCode::OK);
        assert!(text.contains("<ol class=\"acts\">") && text.contains(dial), "{text}");
        assert_eq!(text.matches("<style").count(), 1);
        assert!(!text.contains("<script"));
        let policy = card.header("content-security-policy");
        let styles: std::collections::BTreeSet<_> =
            text.split(" style=\"").skip(1).filter_map(|t| t.split('"').next()).collect();
        assert_eq!(policy.matches("'sha256-").count(), 1 + styles.len(), "{policy}");
        assert!(!policy.contains("unsafe-inline"));
    }
    assert_eq!(get("/plan/card?load.amount=lots").await.status, StatusCode::UNPROCESSABLE_ENTITY);
}

/// The card as PDF is one sheet in both languages; a long plan still fits.
#[cfg(feature = "pdf")]
#[tokio::test]
async fn identity_card_as_pdf() {
    let library = Library::embedded().expect("a library");
    for query in [
        "product=apple&load.amount=35",
        "product=beef_eye_of_round&load.amount=11&target.kind=water_activity",
    ] {
        let file = get_with(&format!("/plan/file?{query}"), "units=si").await.text();
        let planned = PlanCase::of_library(&library, "plan", &file)
            .expect("a case")
            .plan(0, &|_| true)
            .expect("a plan");
        for language in [Language::English, Language::Spanish] {
            let card =
                fallrate_app::plan_card(&planned, &library, &Reader::new(language, Units::Si), "2026-03-14");
            let bytes = fallrate_app::document_pdf(&card).expect("one sheet");
            assert!(bytes.starts_with(b"%PDF-"));
        }
    }
    let served = get_with("/plan/card.pdf?product=apple&load.amount=35", "units=si").await;
    assert_eq!((served.status, served.header("content-type").as_str()), (StatusCode::OK, "application/pdf"));
}
