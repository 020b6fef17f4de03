//! The list of requirements: each has its document, and the printed list is the list compiled in. That each is proved by
//! a test is what `cargo xtask requirements` looks at.

use std::collections::BTreeSet;

use fallrate_lethality::*;

#[test]
fn every_id_stands_once() {
    let all = requirements().unwrap();
    let ids: BTreeSet<&str> = all.iter().map(|r| r.id.as_str()).collect();
    assert_eq!(ids.len(), all.len());
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
