use xtask::validation::{Row, differences, parse_line, render, three_digits};

fn row(check: &str, worst: f64) -> Row {
    Row {
        area: "air".to_owned(),
        check: check.to_owned(),
        source: "a table".to_owned(),
        figures: 12,
        worst,
        unit: "K".to_owned(),
        allowed: 0.1,
        basis: "READ".to_owned(),
    }
}

#[test]
fn a_line_of_a_test_is_read() {
    let line = "test x ... VALIDATION|air|wet bulb|a table|12|3.210e-2|K|1e-1|READ";
    assert_eq!(parse_line(line), Ok(Some(row("wet bulb", 0.0321))));
    assert_eq!(parse_line("test x ... ok"), Ok(None));
}

#[test]
fn a_broken_line_is_refused() {
    for bad in
        ["VALIDATION|air|wet bulb", "VALIDATION|a|b|c|12|NaN|K|1|READ", "VALIDATION|a|b|c|x|1|K|1|READ"]
    {
        assert!(parse_line(bad).is_err(), "{bad}");
    }
}

#[test]
fn numbers_have_three_digits() {
    let cases = [
        (0.0, "0"),
        (12.345, "12.3"),
        (0.001_234_5, "0.00123"),
        (1e-9, "1e-9"),
        (1.5e-5, "1.5e-5"),
        (99_999.0, "1e5"),
        (12_345.0, "12300"),
        (-0.5, "-0.5"),
        (100.0, "100"),
        (0.999_9, "1"),
    ];
    for (value, text) in cases {
        assert_eq!(three_digits(value), text, "{value}");
    }
}

#[test]
fn the_page_does_not_depend_on_the_order_of_the_tests() {
    let (a, b) = (row("a", 0.01), row("b", 0.02));
    assert_eq!(render(&[a.clone(), b.clone()], &[]), render(&[b, a], &[]));
}

#[test]
fn a_small_move_of_the_worst_error_is_no_difference() {
    let page = |rows: &[Row]| render(rows, &[]);
    let kept = page(&[row("a", 0.0301)]);
    assert_eq!(differences(&kept, &page(&[row("a", 0.0301)])), Vec::<String>::new());
    assert_eq!(differences(&kept, &page(&[row("a", 0.0310)])), Vec::<String>::new());
    assert_eq!(differences(&kept, &page(&[row("a", 0.06)])).len(), 1);
}

#[test]
fn a_check_that_is_added_lost_or_loosened_is_a_difference() {
    let page = |rows: &[Row]| render(rows, &[]);
    let kept = page(&[row("a", 0.03)]);
    let added = differences(&kept, &page(&[row("a", 0.03), row("b", 0.03)]));
    assert!(added.iter().any(|d| d.contains("not on the page") && d.contains("| b |")), "{added:?}");
    let lost = differences(&kept, &page(&[]));
    assert!(lost.iter().any(|d| d.contains("only on the page") && d.contains("| a |")), "{lost:?}");
    let looser = Row { allowed: 0.2, ..row("a", 0.03) };
    assert!(!differences(&kept, &page(&[looser])).is_empty());
}
