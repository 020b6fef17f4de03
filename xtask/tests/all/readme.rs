use xtask::readme::{agree, excerpt, split};

#[test]
fn the_excerpt_ends_before_the_next_section() {
    assert_eq!(excerpt("Title  \n  Dial 10 h\n\nCan it be done ──\n  Yes"), "Title\n  Dial 10 h\n");
}

#[test]
fn last_places_may_differ_and_nothing_else() {
    let kept = "Dial 10 h 15 min: 10.7 % wb";
    assert!(agree(kept, "Dial 10 h 15 min:\n10.8 % wb"));
    assert!(!agree(kept, "Dial 10 h 15 min: 11.7 % wb"), "a number that moved");
    assert!(!agree(kept, "Dial 14 h 15 min: 10.7 % wb"), "hours");
    assert!(!agree(kept, "Set 10 h 15 min: 10.7 % wb"), "a word");
    assert!(!agree(kept, "Dial 10 h 15 min: 10.7 % wb and 3 more"), "more");
}

#[test]
fn the_page_has_a_place_for_the_excerpt() {
    let page = include_str!("../../../README.md");
    assert!(split(page).is_some());
}

#[test]
fn the_page_opens_with_the_job_and_two_commands() {
    let page = include_str!("../../../README.md");
    let (_, fence) = page.split_once("\n```\n").expect("a block of commands");
    let (commands, _) = fence.split_once("\n```\n").expect("its end");
    assert_eq!(commands, "cargo run --bin fallrate -- plan examples/beef_strips.toml\ncargo xtask check");
    assert!(include_str!("../../../.ci/run").ends_with("exec cargo xtask check\n"));
}
