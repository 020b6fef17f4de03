use xtask::coverage::{findings, regions, render};

/// Two instances of one generic function, one of them run; a closure never run; a file that is not asked for.
const EXPORT: &str = r#"{"data":[{"functions":[
 {"filenames":["/x/crates/lethality/src/a.rs"],"regions":[[1,1,2,2,0,0,0,0],[3,1,3,9,0,0,0,0],[4,1,4,2,5,0,0,3]]},
 {"filenames":["/x/crates/lethality/src/a.rs"],"regions":[[1,1,2,2,7,0,0,0]]},
 {"filenames":["/x/crates/units/src/a.rs"],"regions":[[1,1,2,2,0,0,0,0]]}]}]}"#;

#[test]
fn a_region_is_run_where_one_of_its_instances_is() {
    let files = regions(EXPORT, "crates/lethality/src/").expect("JSON");
    assert_eq!(files.len(), 1);
    assert_eq!((files["a.rs"].all, files["a.rs"].missed.as_slice()), (2, [(3, 1)].as_slice()));
    assert_eq!(findings(&files), ["crates/lethality/src/a.rs:3:1: no test runs it"]);
    assert!(render(&files).ends_with("| `a.rs` | 2 | 1 |\n| all | 2 | 1 |\n"), "{}", render(&files));
}

#[test]
fn nothing_measured_is_a_finding() {
    let files = regions("{\"data\":[]}", "crates/").expect("JSON");
    assert_eq!(findings(&files), ["nothing was measured"]);
    assert!(regions("no", "crates/").is_err());
}
