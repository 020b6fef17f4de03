use std::collections::BTreeSet;

use xtask::layers::{Row, check_edges, check_status, check_table, table};
use xtask::metadata::{Kind, Package};
use xtask::{check, hygiene, licences, metadata};

#[test]
fn the_layers_of_the_house_hold() {
    if let Err(error) = check::layers() {
        panic!("{error}");
    }
}

#[test]
fn no_trace_of_a_machine() {
    let trace = format!("see /{}/x", "root");
    assert_eq!(hygiene::check_text("a.md", &format!("fine\n{trace}")).len(), 1);
}

fn row(name: &str, may: &[&str]) -> Row {
    Row {
        name: name.to_owned(),
        may_import: may.iter().map(|m| (*m).to_owned()).collect::<BTreeSet<_>>(),
        not_built: false,
    }
}

fn package(name: &str, uses: &[(&str, Kind)]) -> Package {
    let dependencies = uses.iter().map(|(n, k)| (format!("fallrate-{n}"), *k)).collect();
    Package {
        name: format!("fallrate-{name}"),
        version: "0.1.0".to_owned(),
        licence: Some("MIT".to_owned()),
        dependencies,
    }
}

#[test]
fn the_table_is_read_from_the_page() {
    let page = "# A\n| `x` | no | `y` |\n## Allowed edges\n\n| crate | holds | may import |\n|---|---|---|\n\
                | `units` | numbers | nothing |\n| `air` | (not built yet) states | `units` |\n\n## Next\n| `z` | no | - |\n";
    let air = Row { not_built: true, ..row("air", &["units"]) };
    assert_eq!(table(page), [row("units", &[]), air]);
}

#[test]
fn an_edge_upwards_and_a_forecast_behind_evidence_are_found() {
    let rows = [row("units", &["air"]), row("air", &["units"])];
    assert!(check_table(&rows)[0].contains("`units` may import `air`"));
    let rows = [row("simulate", &[]), row("series", &["simulate"]), row("lethality", &["series"])];
    assert_eq!(check_table(&rows).len(), 2);
}

#[test]
fn an_edge_that_the_table_does_not_allow_is_found() {
    let rows = [row("units", &[]), row("air", &["units"]), row("foods", &["units"])];
    let all = |foods: &[(&str, Kind)]| {
        [package("units", &[]), package("air", &[("units", Kind::Normal)]), package("foods", foods)]
    };
    assert!(check_edges(&rows, &all(&[("units", Kind::Normal), ("air", Kind::Development)])).is_empty());
    let found = check_edges(&rows, &all(&[("air", Kind::Normal)]));
    assert_eq!(found, ["crates/foods/Cargo.toml: imports `air`, which the table does not allow"]);
}

#[test]
fn a_crate_missing_on_either_side_is_found() {
    let found = check_edges(&[row("units", &[])], &[package("air", &[])]);
    assert!(
        found[0].contains("`air` is missing") && found[1].contains("`units`, which is no crate"),
        "{found:?}"
    );
}

#[test]
fn an_empty_crate_must_not_be_described_as_built() {
    let texts = [("store".to_owned(), "//! Not built yet.".to_owned())];
    assert_eq!(check_status(&[row("store", &[])], &texts).len(), 1);
    assert!(check_status(&[Row { not_built: true, ..row("store", &[]) }], &texts).is_empty());
}

#[test]
fn cargo_names_the_crates_of_the_house() {
    let members = metadata::members().expect("cargo metadata");
    let units = members.iter().find(|p| p.name == "fallrate-units").expect("the ground");
    assert!(units.dependencies.iter().all(|(n, _)| !n.starts_with("fallrate-")));
}

#[test]
fn licences_with_a_permissive_way_through_are_allowed() {
    for good in ["MIT", "MIT/Apache-2.0", "(Apache-2.0 OR MIT) AND BSD-3-Clause", "GPL-3.0-only OR MIT"] {
        assert!(licences::is_allowed(good), "{good}");
    }
    assert!(licences::is_allowed("Apache-2.0 WITH LLVM-exception OR GPL-2.0-only"));
    for bad in
        ["", "GPL-3.0-only", "MIT AND GPL-3.0-only", "(MIT", "AGPL-3.0-only OR GPL-2.0-only", "MIT MIT"]
    {
        assert!(!licences::is_allowed(bad), "{bad}");
    }
}

#[test]
fn two_incompatible_versions_are_named_and_two_compatible_ones_are_not() {
    let version = |name: &str, version: &str| Package { version: version.to_owned(), ..package(name, &[]) };
    let all = [version("a", "1.2.0"), version("a", "2.0.0"), version("b", "0.3.1"), version("b", "0.3.2")];
    assert_eq!(licences::duplicates(&all), ["fallrate-a: 1, 2"]);
    let all = [version("c", "0.8.9"), version("c", "0.9.1")];
    assert_eq!(licences::duplicates(&all), ["fallrate-c: 0.8, 0.9"]);
}
