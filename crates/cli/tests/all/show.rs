//! Help and pages as they are shown. Frozen: they show what changed, not that it is right.

use super::support::told;

#[test]
fn regress_help() {
    for verb in ["", "plan", "compare", "products", "cabinets", "air", "check", "schema"] {
        let args: Vec<&str> = [verb, "--help"].into_iter().filter(|a| !a.is_empty()).collect();
        insta::assert_snapshot!(format!("help_{}", if verb.is_empty() { "all" } else { verb }), told(&args));
    }
}

#[test]
fn regress_plans_of_the_examples() {
    let plan = |file: &str, rest: &[&str]| {
        let path = format!("examples/{file}.toml");
        let mut args = vec!["plan", path.as_str(), "--draws", "32"];
        args.extend(rest);
        told(&args)
    };
    insta::assert_snapshot!("plan_beef_80_us", plan("beef_strips", &["--width", "80", "--units", "us"]));
    insta::assert_snapshot!(
        "plan_apple_100_es",
        plan("apple_rings_overnight", &["--width", "100", "--lang", "es"])
    );
    insta::assert_snapshot!("plan_kale_120_full", plan("kale_crisps", &["--width", "120", "--full"]));
}

#[test]
fn regress_library_pages() {
    insta::assert_snapshot!("products", told(&["products", "--width", "100"]));
    insta::assert_snapshot!("product_apple", told(&["products", "apple", "--width", "120"]));
    insta::assert_snapshot!("cabinets", told(&["cabinets", "--width", "100"]));
    insta::assert_snapshot!(
        "cabinet_north_es",
        told(&["cabinets", "north", "--lang", "es", "--width", "120"])
    );
}

#[test]
fn regress_air() {
    let args =
        ["air", "--dry-bulb", "71C", "--wet-bulb", "54C", "--altitude", "1600m", "--want-wet-bulb", "60C"];
    let mut with_volume = args.to_vec();
    with_volume.extend(["--volume", "1.6m3"]);
    insta::assert_snapshot!("air", told(&with_volume));
    insta::assert_snapshot!("air_us", told(&["air", "--dew-point", "60F", "--rh", "20%", "--units", "us"]));
}

#[test]
fn regress_compare() {
    let file = "examples/beef_strips.toml";
    insta::assert_snapshot!(
        "compare_with",
        told(&["compare", file, "--with", "room.relative_humidity=80 %", "--with", "piece.thickness=6.5 mm"])
    );
    insta::assert_snapshot!("compare_ways", told(&["compare", file, "--ways", "--width", "80"]));
    insta::assert_snapshot!(
        "compare_files",
        told(&[
            "compare",
            "examples/beef_strips.toml",
            "examples/apple_rings_overnight.toml",
            "--units",
            "us"
        ])
    );
}
