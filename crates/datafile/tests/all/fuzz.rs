//! No bytes make the reader panic, and every problem names a place inside the file.

use fallrate_datafile::Document;
use fallrate_units::{Length, Temperature};
use proptest::prelude::*;

const GOOD: &str = r#"
name = "strips"
thickness = { value = "6 mm", low = "5 mm", high = "7 mm", source = "calliper", mark = "assumed" }
set_point = "160 degF"
shares = [0.5, 1.0, 1.5]
moisture = "25 % wb"
at = "06:40"
[[stage]]
name = "warm-up"
end = "core"
[[stage]]
name = "dry"
n = 3
"#;

/// Asks for everything the good file holds, and checks where problems point.
fn read_all(bytes: &[u8]) {
    let check = |p: &fallrate_datafile::Problems| {
        let lines = bytes.iter().filter(|b| **b == b'\n').count() + 1;
        for problem in p.list() {
            assert!((1..=lines).contains(&problem.line) && problem.column >= 1, "{problem}");
        }
        assert!(!p.list().is_empty());
    };
    let doc = match Document::from_bytes("f", bytes) {
        Ok(doc) => doc,
        Err(p) => return check(&p),
    };
    let s = doc.root();
    let _ = (s.required_text("name"), s.moisture("moisture"), s.clock("at"), s.numbers("shares", 0.0..=2.0));
    let _ = s.cited("thickness", Length::from_metres(0.0)..=Length::from_metres(1.0));
    let _ = s.required("set_point", Temperature::from_celsius(20.0)..=Temperature::from_celsius(95.0));
    for stage in s.sections("stage") {
        let _ = (stage.text("name"), stage.choice("end", &["core", "moisture"]), stage.integer("n", 0..=9));
    }
    if let Err(p) = doc.finish() {
        check(&p);
    }
}

#[test]
fn the_good_file_is_good() {
    let doc = Document::parse("f", GOOD).expect("good");
    assert!(doc.root().cited("thickness", Length::from_metres(0.0)..=Length::from_metres(1.0)).is_some());
    read_all(GOOD.as_bytes());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]
    #[test]
    fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        read_all(&bytes);
    }

    #[test]
    fn random_toml_like_text_never_panics(text in "[a-z0-9 =.\"'\\[\\]{}#\n,\u{e4}-]{0,200}") {
        read_all(text.as_bytes());
    }

    #[test]
    fn mutated_files_never_panic(edits in prop::collection::vec((0..GOOD.len(), any::<u8>(), 0..3u8), 1..8)) {
        let mut bytes = GOOD.as_bytes().to_vec();
        for (at, byte, how) in edits {
            let at = at.min(bytes.len().saturating_sub(1));
            match how {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                _ => { bytes.remove(at); }
            }
        }
        read_all(&bytes);
    }
}
