//! Every requirement is proved by a test, and the printed list is the list compiled in.

use std::collections::BTreeSet;

use fallrate_lethality::*;

const TESTS: [&str; 10] = [
    include_str!("authority.rs"),
    include_str!("boundary.rs"),
    include_str!("gates.rs"),
    include_str!("integral.rs"),
    include_str!("options.rs"),
    include_str!("properties.rs"),
    include_str!("rest.rs"),
    include_str!("studies.rs"),
    include_str!("tables.rs"),
    include_str!("worked.rs"),
];

fn proved() -> BTreeSet<String> {
    let mark = "/// proves: ";
    TESTS
        .iter()
        .flat_map(|t| t.lines())
        .filter_map(|l| l.trim().strip_prefix(mark))
        .flat_map(|ids| ids.split(',').map(|id| id.trim().to_owned()))
        .collect()
}

#[test]
fn every_requirement_is_proved_and_every_proof_names_a_requirement() {
    let (proved, all) = (proved(), requirements().unwrap());
    let ids: BTreeSet<String> = all.iter().map(|r| r.id.clone()).collect();
    assert_eq!(ids.len(), all.len(), "an id stands twice");
    let uncovered: Vec<_> = ids.difference(&proved).collect();
    assert!(uncovered.is_empty(), "no test proves {uncovered:?}");
    let unknown: Vec<_> = proved.difference(&ids).collect();
    assert!(unknown.is_empty(), "tests name ids that do not exist: {unknown:?}");
}

#[test]
fn every_requirement_has_a_document_a_section_and_a_basis() {
    for r in requirements().unwrap() {
        let c = citation(&r.id).unwrap();
        assert!(!c.statement.is_empty() && !c.document.is_empty() && !c.section.is_empty(), "{}", r.id);
        assert_eq!(c.basis == Basis::Tool, r.id.starts_with("TOOL-"), "{}", r.id);
    }
}

/// The printed list in docs/requirements is made from the table that is compiled in. To make it anew, copy what this
/// test prints.
#[test]
fn the_printed_list_is_the_compiled_list() {
    let mut out = String::from(
        "| id | what it asks | class | document | section | basis |\n| --- | --- | --- | --- | --- | --- |\n",
    );
    for r in requirements().unwrap() {
        let c = citation(&r.id).unwrap();
        let class = serde_json::to_value(c.class).unwrap();
        let basis = serde_json::to_value(c.basis).unwrap();
        let document = [c.issuer, c.document, c.number, c.date]
            .into_iter()
            .filter(|t| !t.is_empty())
            .collect::<Vec<_>>();
        out += &format!(
            "| {} | {} | {} | {} | {} | {} |\n",
            c.id,
            c.statement,
            class.as_str().unwrap(),
            document.join(", "),
            c.section,
            basis.as_str().unwrap()
        );
    }
    let printed = include_str!("../../../../docs/requirements/requirements.md");
    if !printed.ends_with(&out) {
        println!("{out}");
        panic!("docs/requirements/requirements.md is not the list compiled in");
    }
}
