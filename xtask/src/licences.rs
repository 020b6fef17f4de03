//! Which licences the packages we build with may have.

use std::collections::{BTreeMap, BTreeSet};

use crate::metadata::Package;

/// Permissive licences, and the font licence. No licence that asks for the source of this program.
pub const ALLOWED: [&str; 14] = [
    "MIT",
    "MIT-0",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "0BSD",
    "ISC",
    "Zlib",
    "BSL-1.0",
    "Unicode-3.0",
    "CC0-1.0",
    "Unlicense",
    "OFL-1.1",
];

/// Whether an SPDX expression leaves a choice that is allowed throughout. AND binds tighter than OR; a slash is OR.
#[must_use]
pub fn is_allowed(expression: &str) -> bool {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut at = 0;
    any_of(&words, &mut at) && at == words.len()
}

fn any_of(words: &[&str], at: &mut usize) -> bool {
    let mut allowed = all_of(words, at);
    while words.get(*at) == Some(&"OR") {
        *at += 1;
        allowed |= all_of(words, at);
    }
    allowed
}

fn all_of(words: &[&str], at: &mut usize) -> bool {
    let mut allowed = one(words, at);
    while words.get(*at) == Some(&"AND") {
        *at += 1;
        allowed &= one(words, at);
    }
    allowed
}

fn one(words: &[&str], at: &mut usize) -> bool {
    let Some(word) = words.get(*at) else { return false };
    *at += 1;
    if *word == "(" {
        let allowed = any_of(words, at);
        let closed = words.get(*at) == Some(&")");
        *at += 1;
        return allowed && closed;
    }
    if words.get(*at) == Some(&"WITH") {
        let whole = format!("{word} WITH {}", words.get(*at + 1).unwrap_or(&""));
        *at += 2;
        return ALLOWED.contains(&whole.as_str());
    }
    ALLOWED.contains(word)
}

/// Packages whose licence is not allowed or not stated.
#[must_use]
pub fn refused(packages: &[Package]) -> Vec<String> {
    let bad = packages.iter().filter(|p| !p.licence.as_deref().is_some_and(is_allowed));
    bad.map(|p| format!("{} {}: licence {}", p.name, p.version, p.licence.as_deref().unwrap_or("not stated")))
        .collect()
}

/// Packages that are there in more than one incompatible version: reported, not refused.
#[must_use]
pub fn duplicates(packages: &[Package]) -> Vec<String> {
    let mut lines: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for p in packages {
        lines.entry(&p.name).or_default().insert(compatibility(&p.version));
    }
    let several = lines.into_iter().filter(|(_, v)| v.len() > 1);
    several.map(|(name, v)| format!("{name}: {}", v.into_iter().collect::<Vec<_>>().join(", "))).collect()
}

/// The part of a version that must agree: the first number that is not zero, and those before it.
fn compatibility(version: &str) -> String {
    let mut kept = vec![];
    for number in version.split(['.', '-', '+']).take(3) {
        kept.push(number);
        if number != "0" {
            break;
        }
    }
    kept.join(".")
}
