//! Where the figures come from.

use std::collections::BTreeMap;

use fallrate_report::Source;

use super::sure::mark_word;
use super::view::View;
use crate::shelf::{Fact, cabinet_facts, product_facts};

/// Sources of the product's and the cabinet's figures, each with what it was used for.
pub(super) fn list(v: &View<'_>) -> Vec<Source> {
    let mut facts = product_facts(&v.case.product, v.r);
    facts.extend(cabinet_facts(&v.case.cabinet, v.r));
    group(v, &facts)
}

fn group(v: &View<'_>, facts: &[Fact]) -> Vec<Source> {
    let mut by_source: BTreeMap<(String, String), Vec<String>> = BTreeMap::new();
    for fact in facts {
        let uses = by_source.entry((fact.source.clone(), fact.mark.clone())).or_default();
        if !uses.contains(&fact.label) {
            uses.push(fact.label.clone());
        }
    }
    by_source
        .into_iter()
        .map(|((key, mark), uses)| Source {
            text: full_text(v, &key),
            basis: mark_word(v.r, &mark),
            used_for: uses.join("; "),
        })
        .collect()
}

fn full_text(v: &View<'_>, key: &str) -> String {
    match v.library.sources().get(key) {
        Some(s) => format!("{}, {}, {}", s.title, s.issuer, s.year),
        None => super::sure::source_text(v, key),
    }
}
