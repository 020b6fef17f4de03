use xtask::requirements::{Requirement, findings, proofs, render, requirements};

const TABLE: &str = "id,topic,statement\nA-1,x,\"One, two.\"\nA-2,x,Three.\n";
const TESTS: &str = "/// proves: A-1\n#[test]\nfn one() {}\n\n    /// Text.\n    /// proves: A-1, A-2\n    #[tokio::test]\n    async fn two(x in 1..2) {}\n";

#[test]
fn every_id_stands_beside_the_tests_that_name_it() {
    let (all, found) = (requirements(TABLE).expect("a table"), proofs("a.rs", "x::a", TESTS));
    assert_eq!(findings(&all, &found), Vec::<String>::new());
    let page = render(&all, &found);
    assert!(page.contains("| A-1 | One, two. | `x::a::one`<br>`x::a::two` |"), "{page}");
    assert!(page.ends_with("\n2 requirements, 2 tests.\n"), "{page}");
}

#[test]
fn an_id_without_a_test_a_test_without_an_id_and_a_mark_without_a_test_are_found() {
    let all = requirements(TABLE).expect("a table");
    let of = |source: &str| findings(&all, &proofs("a.rs", "x::a", source));
    assert_eq!(of("/// proves: A-1\n#[test]\nfn one() {}\n"), ["A-2: no test proves it"]);
    let unknown = of(&format!("{TESTS}/// proves: A-3\n#[test]\nfn three() {{}}\n"));
    assert_eq!(unknown, ["a.rs:9: 'A-3' is no id of the list"]);
    for no_test in ["/// proves: A-2\nfn helper() {}\n", "/// proves: A-2\n\nstruct S;\n", "/// proves: A-2"]
    {
        let found = of(&format!("{TESTS}{no_test}"));
        assert_eq!(found, ["a.rs:9: no test follows"], "{no_test}");
    }
    let twice = [all[0].clone(), all[0].clone(), all[1].clone()];
    assert_eq!(findings(&twice, &proofs("a.rs", "x::a", TESTS)), ["A-1: stands 2 times in the list"]);
}

#[test]
fn a_long_statement_is_cut_at_a_word_and_a_table_without_the_columns_is_refused() {
    let long = Requirement { id: "A".to_owned(), statement: "word ".repeat(60) };
    let line = render(&[long], &[]);
    assert!(line.contains(" word word ... |") && !line.contains("wor ..."), "{line}");
    assert!(requirements("id,topic\nA,b\n").is_err());
}
