//! Mutants are switched without changing what the code does with all of them off.

use xtask::mutation::Share;
use xtask::mutation::mutant::{Genre, Mutant};
use xtask::mutation::rewrite::{rewrite, switched_on};

fn mutant(id: usize, genre: Genre, at: (usize, usize), replacement: &str) -> Mutant {
    let (file, name) = ("a.rs".to_owned(), format!("a.rs:{}:{}", at.0, at.1));
    Mutant { id, file, name, genre: Some(genre), replacement: replacement.to_owned(), at }
}

/// Rewritten, with every run of white space as one blank.
fn switched(source: &str, mutants: &[Mutant]) -> String {
    let Ok(done) = rewrite(source, &mutants.iter().collect::<Vec<_>>()) else { return "not Rust".to_owned() };
    assert_eq!(done.placed.len(), mutants.len(), "{}", done.text);
    assert!(syn::parse_file(&done.text).is_ok(), "{}", done.text);
    done.text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn an_operator_inside_another_keeps_its_pristine_text_in_the_arms() {
    let source = "fn f() -> f64 {\n    a + b * c\n}\n";
    let all = [mutant(0, Genre::Binary, (2, 7), "-"), mutant(1, Genre::Binary, (2, 11), "/")];
    let inner = "( if crate::mutant(1) { (b) / (c) } else { b * c })";
    let wanted =
        format!("fn f() -> f64 {{ ( if crate::mutant(0) {{ (a) - (b * c) }} else {{ a + {inner} }}) }}");
    assert_eq!(switched(source, &all), wanted);
}

#[test]
fn an_assignment_and_a_negation_are_switched() {
    let source = "fn f() {\n    a.b += !c;\n}\n";
    let all = [mutant(0, Genre::Binary, (2, 9), "-="), mutant(1, Genre::Unary, (2, 12), "")];
    let text = switched(source, &all);
    assert!(text.contains("if crate::mutant(0) { a . b -= (! c) } else { a.b +="), "{text}");
    assert!(text.contains("if crate::mutant(1) { c } else { !c }"), "{text}");
}

#[test]
fn a_function_returns_early_and_none_is_constant() {
    let source = "const fn f() -> bool {\n    x\n}\nconst fn g() {}\n";
    let text = switched(source, &[mutant(7, Genre::FnValue, (2, 5), "true")]);
    assert_eq!(text, "fn f() -> bool { if crate::mutant(7) { return true; } x } fn g() {}");
}

#[test]
fn arms_and_guards_are_switched_by_guards() {
    let source =
        "fn f() {\n    match x {\n        1 => a,\n        2 if y > z => b,\n        _ => c,\n    }\n}\n";
    let all = [
        mutant(0, Genre::Arm, (3, 9), ""),
        mutant(1, Genre::Arm, (4, 9), ""),
        mutant(2, Genre::Guard, (4, 14), "true"),
        mutant(3, Genre::Guard, (4, 14), "false"),
        mutant(4, Genre::Binary, (4, 16), ">="),
    ];
    let text = switched(source, &all);
    assert!(text.contains("1 if !crate::mutant(0) && true => a"), "{text}");
    let guard = "2 if !crate::mutant(1) && (crate::mutant(2) || (!crate::mutant(3) && (( if crate::mutant(4)";
    assert!(text.contains(guard), "{text}");
}

#[test]
fn a_field_is_left_to_the_base() {
    let source = "fn f() -> S {\n    S { a: 1, b: 2, ..s }\n}\n";
    let text = switched(source, &[mutant(0, Genre::Field, (2, 9), "")]);
    assert!(
        text.contains("if crate::mutant(0) { S { b : 2, ..s } } else { S { a: 1, b: 2, ..s } }"),
        "{text}"
    );
}

#[test]
fn a_chain_with_let_is_left_as_it_is_but_not_what_is_in_it() {
    let source = "fn f() {\n    if let Some(a) = b && a > c {}\n}\n";
    let chain = [mutant(0, Genre::Binary, (2, 24), "||"), mutant(1, Genre::Binary, (2, 29), "<")];
    let done = rewrite(source, &chain.iter().collect::<Vec<_>>()).unwrap();
    assert_eq!(done.placed.into_iter().collect::<Vec<_>>(), [1]);
    syn::parse_file(&done.text).unwrap();
}

#[test]
fn a_line_tells_its_switches_and_a_share_is_read() {
    assert_eq!(switched_on("if !crate::mutant(12) && crate::mutant(3) {"), [12, 3]);
    assert!(Share::parsed(&["--minutes", "5", "--shard", "2/3"]).is_ok());
    assert!(Share::parsed(&["--shard", "4/3"]).is_err() && Share::parsed(&["--minutes"]).is_err());
}

#[test]
fn the_page_counts_what_was_tried_and_lists_what_survived() {
    use std::collections::BTreeMap;
    use xtask::mutation::results::{Counts, page};
    use xtask::mutation::trial::Outcome;
    let found = BTreeMap::from([
        ("a:1".to_owned(), Outcome::Caught("t".to_owned())),
        ("a:2".to_owned(), Outcome::Survived),
        ("a:3".to_owned(), Outcome::PassedQuick),
    ]);
    let page = page(Counts { listed: 6, compiled: 5 }, &["a:1", "a:2", "a:3", "a:4", "a:5"], &found);
    for row in ["| listed | 6 |", "| **tried** | 3 |", "| not tried yet | 2 |", "| survived all tests | 1 |"]
    {
        assert!(page.contains(row), "{row}\n{page}");
    }
    assert!(page.contains("## Survived all tests\n\n- `a:2`\n") && !page.contains("`a:1`"), "{page}");
}
