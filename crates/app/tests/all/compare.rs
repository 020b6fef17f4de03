//! The main reason of a difference.

use fallrate_app::{compare, compare_page, compare_ways};

use super::support::{case, library, reader};

fn reason(changes: &[&str]) -> String {
    let cases = vec![case("beef.toml", &[]), case("beef.toml", changes)];
    let compared = compare(cases, 0, &|_| true).unwrap();
    let page = compare_page(&compared, &library(), &reader());
    page.figures.iter().flat_map(|g| &g.figures).find(|f| f.label == "A / B").unwrap().note.clone().unwrap()
}

#[test]
fn identity_the_only_difference_is_the_reason_and_moves_the_whole_end() {
    let cases = vec![case("beef.toml", &[]), case("beef.toml", &["piece.thickness=6.8 mm"])];
    let compared = compare(cases, 0, &|_| true).unwrap();
    let c = &compared.comparisons[0];
    assert_eq!(c.causes.len(), 1);
    let gap = c.mechanisms[1].end_s - c.mechanisms[0].end_s;
    let moved = c.causes[0].end_moves_s.unwrap();
    assert!(gap > 0.0, "thicker pieces take longer");
    // Both ends are read off runs of one grid; the sweep's interpolation leaves a little.
    assert!((moved - gap).abs() < 0.01 * c.mechanisms[0].end_s, "{moved} {gap}");
}

#[test]
fn identity_the_greater_of_two_differences_is_named() {
    let text = reason(&["piece.thickness=7 mm", "room.temperature=73 degF"]);
    assert!(text.contains("Main reason: size of the pieces"), "{text}");
    let text = reason(&["load.total=30 kg"]);
    assert!(text.contains("Main reason: load"), "{text}");
    assert!(reason(&["title=other"]).contains("do not differ"));
}

#[test]
fn limit_the_wider_the_vent_at_the_start_the_lower_the_wet_bulb_and_the_core() {
    let compared = compare_ways(case("beef.toml", &[]), &|_| true).unwrap();
    let names: Vec<&str> = compared.ways.iter().map(|w| w.name.as_str()).collect();
    assert_eq!(names, ["shut", "crack", "full"]);
    let m: Vec<_> =
        compared.ways.iter().map(|w| fallrate_plan::compare::mechanism(&w.planned.plan)).collect();
    assert!(m.windows(2).all(|w| w[0].wet_bulb_first_hour_c > w[1].wet_bulb_first_hour_c + 2.0), "{m:?}");
    assert!(m.windows(2).all(|w| w[0].core_after_hour_c > w[1].core_after_hour_c + 2.0), "{m:?}");
    // While wet, the coldest core cannot be above the highest wet bulb the air had.
    for (w, m) in compared.ways.iter().zip(&m) {
        let highest = w.planned.plan.sweep.samples.iter().map(|s| s.wet_bulb_c).fold(0.0, f64::max);
        assert!(m.core_after_hour_c < highest + 2.0, "{} {m:?} {highest}", w.name);
    }
}

#[test]
fn identity_one_side_is_refused() {
    let e = compare(vec![case("beef.toml", &[])], 0, &|_| true).unwrap_err();
    assert!(e.to_string().contains("two or more"), "{e}");
}
