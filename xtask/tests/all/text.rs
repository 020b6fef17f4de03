use xtask::purity::check_code;
use xtask::rust_text::{split_test_modules, without_comments_and_texts};
use xtask::{bench, debian};

fn findings(source: &str) -> Vec<String> {
    let (_, code) = split_test_modules(&without_comments_and_texts(source));
    check_code("x.rs", &code)
}

#[test]
fn product_code_that_reads_prints_or_asks_the_clock_is_found() {
    let found =
        findings("use std::fs;\nfn f() { println!(\"x\"); }\nlet t = Zoned::now();\nlet m = HashMap::new();");
    assert_eq!(found.len(), 4, "{found:?}");
    assert!(found[1].starts_with("x.rs:2: println!"));
}

#[test]
fn comments_texts_and_characters_are_passed_over() {
    let source = "// std::fs\n/* std::net /* println! */ SystemTime */\nlet a = \"std::fs \\\" HashMap\";\n\
                  let b = r#\"SystemTime \" HashSet\"#; let c = '\"'; let d = '\\''; fn life<'a>(x: &'a str) {}";
    assert_eq!(findings(source), Vec::<String>::new());
    assert_eq!(findings("let c = '\"'; std::fs::read(x); let e = '\"';").len(), 1);
    assert_eq!(findings("let var = 1; std::fs::read(x)").len(), 1, "a name that ends in r opens no raw text");
}

#[test]
fn test_modules_are_passed_over_and_what_follows_is_not() {
    let source = "#[cfg(test)]\nmod check;\nfn a() {}\n#[cfg(test)]\nmod tests { fn f() { { std::fs::x } } }\nuse std::net;";
    let (files, code) = split_test_modules(&without_comments_and_texts(source));
    assert_eq!(files, ["check"]);
    assert_eq!(check_code("x.rs", &code), ["x.rs:6: std::net: uses the network"]);
}

#[test]
fn a_word_that_contains_a_forbidden_one_is_no_finding() {
    assert!(findings("struct MyHashMap; fn blueprint() {} pprint!(x)").is_empty());
}

#[test]
fn a_program_that_is_nowhere_on_the_path_is_missing() {
    let needed = [("no-such-program-here", "some-package")];
    assert_eq!(debian::missing(&needed, "/bin:/usr/bin"), ["some-package"]);
    assert!(debian::missing(&[("sh", "dash")], "/bin:/usr/bin").is_empty());
}

#[test]
fn timings_are_read_and_compared() {
    let own = bench::own_timing("cook 1 s\nCounts { }\nbest of 20: 8.000 ms\n").expect("a time");
    assert_eq!(own.solver, "Fallrate, best of 20");
    let printed = "Python 3\nsolver  rhs median_s\nscipy BDF, coloured differences     numpy     1.600  100 20 5 3 25200.0\n";
    let others = bench::script_timings(printed);
    assert_eq!(others.len(), 1);
    assert_eq!(others[0].solver, "scipy BDF, coloured differences (numpy)");
    assert!(bench::compared(&own, &others).contains("200.0 x"));
}
