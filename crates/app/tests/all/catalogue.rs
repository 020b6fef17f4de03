//! Both catalogues say the same things, and the program asks for nothing they lack.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};

/// All files of a language, one after the other.
fn catalogue(language: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("locales").join(language);
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    paths.sort();
    paths.iter().map(|p| std::fs::read_to_string(p).unwrap() + "\n").collect()
}

fn messages(text: &str) -> BTreeMap<String, BTreeSet<String>> {
    let resource = fluent_syntax::parser::parse(text).expect("a catalogue without faults");
    let mut all = BTreeMap::new();
    for entry in resource.body {
        if let Entry::Message(m) = entry {
            let mut variables = BTreeSet::new();
            collect(&m.value.expect("a value"), &mut variables);
            assert!(all.insert(m.id.name.to_owned(), variables).is_none(), "{} twice", m.id.name);
        }
    }
    all
}

fn collect(pattern: &Pattern<&str>, variables: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        let PatternElement::Placeable { expression } = element else { continue };
        let inline = match expression {
            Expression::Inline(inline) => inline,
            Expression::Select { selector, variants } => {
                for v in variants {
                    collect(&v.value, variables);
                }
                selector
            }
        };
        if let InlineExpression::VariableReference { id } = inline {
            variables.insert(id.name.to_owned());
        }
    }
}

fn sources(folder: &Path, out: &mut String) {
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    paths.sort();
    for path in paths {
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push_str(&std::fs::read_to_string(path).unwrap());
        }
    }
}

#[test]
fn identity_both_languages_have_the_same_messages_and_variables() {
    assert_eq!(messages(&catalogue("en")), messages(&catalogue("es")));
}

#[test]
fn identity_every_message_is_used_and_every_used_one_is_there() {
    let mut code = String::new();
    // The pages of the web app take their texts from here as well.
    for folder in ["src", "../web/src"] {
        sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join(folder), &mut code);
    }
    let english = catalogue("en");
    let all = messages(&english);
    let unused: Vec<&String> = all.keys().filter(|k| !code.contains(&format!("\"{k}\""))).collect();
    assert!(unused.is_empty(), "never asked for: {unused:?}");
    // A literal that looks like a key of one of the catalogue's families must be in it.
    let families: BTreeSet<&str> = all.keys().filter_map(|k| k.split_once('-')).map(|(f, _)| f).collect();
    let literals = code.split('"').skip(1).step_by(2);
    let asked: BTreeSet<&str> = literals
        .filter(|l| l.split_once('-').is_some_and(|(f, rest)| families.contains(f) && !rest.is_empty()))
        .filter(|l| l.chars().all(|c| c.is_ascii_lowercase() || c == '-'))
        .collect();
    assert!(asked.len() > 150, "the search finds too little: {}", asked.len());
    let allowed_data_keys = ["common-practice", "own-assumption"];
    let missing: Vec<&&str> =
        asked.iter().filter(|k| !all.contains_key(**k) && !allowed_data_keys.contains(k)).collect();
    assert!(missing.is_empty(), "not in the catalogue: {missing:?}");
}

#[test]
fn identity_no_page_shows_a_missing_message() {
    use fallrate_app::{Detail, Language, Reader, Units, plan_page, terminal_page};
    let library = super::support::library();
    for file in ["beef.toml", "apple.toml", "kale.toml"] {
        let planned = super::support::planned(file, 24);
        for (language, units) in [(Language::English, Units::Us), (Language::Spanish, Units::Si)] {
            let page = plan_page(&planned, &library, &Reader::new(language, units), Detail::Full);
            let text = terminal_page(&page, language, 100, false);
            let shown = text.lines().find(|l| {
                l.split('[')
                    .skip(1)
                    .any(|rest| rest.split(']').next().is_some_and(|k| k.contains('-') && !k.contains(' ')))
            });
            assert_eq!(shown, None, "{file}");
            assert!(!text.contains("{ $"), "{file}");
            assert!(!text.contains("NaN") && !text.contains("inf"), "{file}: {text}");
        }
    }
}
