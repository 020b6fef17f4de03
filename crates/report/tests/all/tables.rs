use super::sample;
use fallrate_report::*;
use unicode_width::UnicodeWidthStr;

#[test]
fn identity_numbers_end_in_one_column() {
    let table = &sample::page().tables[0];
    let text = table.text(100);
    let ends: Vec<usize> = ["2.69", "2.70"]
        .iter()
        .map(|n| {
            let line = text.lines().find(|l| l.contains(n)).unwrap();
            line[..line.find(n).unwrap() + n.len()].width()
        })
        .collect();
    let heading = text.lines().find(|l| l.contains("At load, lb")).unwrap();
    let end = heading.find("At load, lb").unwrap() + "At load, lb".len();
    assert_eq!(ends, [end, end]);
}

#[test]
fn limit_wide_tables_wrap_inside_the_columns_and_lose_nothing() {
    let words = |n: usize| (0..n).map(|i| format!("word{i}")).collect::<Vec<_>>().join(" ");
    let table = Table {
        title: "Long".into(),
        header: vec![Column::left("Place"), Column::right("Number"), Column::left("Reason")],
        rows: vec![
            vec![words(9), "12.5".into(), words(40)],
            vec!["x".into(), "7".into(), "\u{6e7f}\u{7403}".repeat(60)],
        ],
        note: Some(words(30)),
    };
    for width in [40, 72, 100] {
        let text = table.text(width);
        assert!(text.lines().all(|l| l.width() <= width), "{text}");
        let letters = |s: &str| s.chars().filter(|c| *c == '\u{7403}').count();
        assert_eq!(letters(&text), 60);
        for i in 0..40 {
            assert!(text.contains(&format!("word{i}")), "word{i} at {width}");
        }
    }
}

#[test]
fn limit_short_and_long_rows_are_filled() {
    let table = Table {
        header: vec![Column::left("a"), Column::left("b")],
        rows: vec![vec!["1".into()], vec!["1".into(), "2".into(), "3".into()]],
        ..Table::default()
    };
    assert!(table.text(100).contains("1  2  3"));
    let html = table.html();
    assert_eq!((html.matches("<td").count(), html.matches("<th ").count()), (6, 3));
    assert_eq!(Table::default().text(100), "");
}
