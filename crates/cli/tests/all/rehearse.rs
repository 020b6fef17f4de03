//! Files of a virtual cabinet, as a user would make and use them.

use super::support::{Folder, refused, run, told};

#[test]
fn identity_files_of_a_rehearsal_are_judged_as_practice_and_refused_as_real() {
    let f = Folder::new();
    let out = f.file("practice");
    let names = told(&[
        "rehearse",
        "batch",
        "examples/beef_strips.toml",
        "--seed",
        "7",
        "--fault",
        "power-cut",
        "--out",
        &out,
    ]);
    for name in ["logger.csv", "logger.mapping.toml", "by_hand.txt", "batch.toml", "plan.toml", "hidden.toml"]
    {
        assert!(names.contains(name), "{names}");
    }
    let file = |name: &str| format!("{out}/{name}");
    let (logger, hand, batch) = (file("logger.csv"), file("by_hand.txt"), file("batch.toml"));
    let judged = run(&["judge", &logger, &hand, "--batch", &batch]);
    let text = String::from_utf8(judged.stdout).expect("UTF-8");
    assert!(text.contains("[ INVENTED ]") && text.contains("Practice."), "{text}");
    let real =
        std::fs::read_to_string(&batch).expect("a file").replace("invented = true", "invented = false");
    let real = f.write("real.toml", real.as_bytes());
    let said = refused(&["judge", &logger, &hand, "--batch", &real]);
    assert!(said.contains("simulated readings of a virtual cabinet"), "{said}");
}

#[test]
fn identity_tests_of_a_cabinet_are_written_and_read() {
    let f = Folder::new();
    let out = f.file("tests");
    let names = told(&["rehearse", "cabinet", "north", "--seed", "3", "--out", &out]);
    assert!(
        names.contains("heat_up.csv")
            && names.contains("humidity_quarter.csv")
            && names.contains("wet_cloths.csv")
    );
    let looked = run(&["readings", &format!("{out}/heat_up.csv")]);
    let text = String::from_utf8(looked.stdout).expect("UTF-8");
    assert!(looked.status.success() && text.contains("Nothing is open"), "{text}");
}

#[test]
fn refuse_rehearsals_that_cannot_be() {
    let f = Folder::new();
    let out = f.file("x");
    let plan = "examples/beef_strips.toml";
    for (args, said) in [
        (vec!["--fault", "gremlins"], "blocked-vent"),
        (vec!["--zone", "Nowhere/At_All"], "time zone"),
        (vec!["--every", "soon"], "soon"),
        (vec!["--weigh", "99"], "tray 99"),
    ] {
        let all: Vec<&str> = ["rehearse", "batch", plan, "--out", &out].into_iter().chain(args).collect();
        let text = refused(&all);
        assert!(text.contains(said), "{all:?}: {text}");
    }
    assert!(f.names().is_empty(), "nothing is left behind");
}
