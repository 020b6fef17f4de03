use fallrate_datafile::{Document, Mark, ProblemKind, Problems};
use fallrate_units::{Diffusivity, Length, Quantity, Temperature};

fn mm(x: f64) -> Length {
    Length::from_millimetres(x)
}
fn doc(text: &str) -> Document {
    Document::parse("a.toml", text).expect("readable")
}
fn kinds(p: &Problems) -> Vec<ProblemKind> {
    p.list().iter().map(|p| p.kind).collect()
}

#[test]
fn all_problems_are_named_in_file_order() {
    let d = doc("a = \"600 mm\"\nb = 6\nc = \"6\"\nd = \"6 degC\"\ne = nan\nf = [1]\n");
    let s = d.root();
    for key in ["d", "c", "b", "a"] {
        assert_eq!(s.quantity(key, mm(1.0)..=mm(50.0)), None);
    }
    assert_eq!(s.number("e", f64::NEG_INFINITY..=f64::INFINITY), None);
    assert_eq!(s.text("f"), None);
    assert_eq!(s.required_text("g"), None);
    let p = d.finish().expect_err("six problems and a missing key");
    let shown: Vec<String> = p.list().iter().map(ToString::to_string).collect();
    assert_eq!(
        shown,
        [
            "a: '600 mm'; allowed: 1 mm to 50 mm, with a unit (m, mm, cm, in, ft); a.toml:1:5",
            "b: 6 has no unit; allowed: 1 mm to 50 mm, with a unit (m, mm, cm, in, ft); a.toml:2:5",
            "c: '6' has no unit; allowed: 1 mm to 50 mm, with a unit (m, mm, cm, in, ft); a.toml:3:5",
            "d: 'degC' in '6 degC' is not a unit of length; allowed: 1 mm to 50 mm, with a unit (m, mm, cm, in, ft); a.toml:4:5",
            "e: nan; allowed: any finite value; a.toml:5:5",
            "f: a list of 1; allowed: a text in quotes; a.toml:6:5",
        ]
        .into_iter()
        .map(str::to_owned)
        .fold(vec!["g: missing; allowed: a text; a.toml:1:1".to_owned()], |mut v, s| {
            v.push(s);
            v
        })
    );
}

#[test]
fn unknown_keys_and_names_suggest_near_ones() {
    let d = doc("[tray]\nlenght = \"1 m\"\n[[stage]]\nend = \"coer\"\nwhat = 1\n[other]\nx = 1\n");
    let _ = d.root().section("tray").map(|t| t.quantity::<Length>("length", mm(1.0)..=mm(2000.0)));
    for s in d.root().sections("stage") {
        assert_eq!(s.choice("end", &["moisture", "core"]), None);
        assert_eq!(s.path(), "stage[1]");
    }
    let p = d.finish().expect_err("unknown");
    use ProblemKind::{UnknownKey, UnknownName};
    assert_eq!(kinds(&p), [UnknownKey, UnknownName, UnknownKey, UnknownKey]);
    let near: Vec<_> = p.list().iter().map(|p| p.near.as_deref()).collect();
    assert_eq!(near, [Some("length"), Some("core"), None, None]);
    assert_eq!(p.list()[2].what, "stage[1].what");
    assert_eq!((p.list()[3].line, p.list()[3].column), (6, 2));
}

#[test]
fn cited_values_keep_their_range_source_and_mark() {
    let d = doc(concat!(
        "d = { value = \"3e-10 m2/s\", low = \"1e-10 m2/s\", high = \"6e-10 m2/s\", source = \"guess\", mark = \"assumed\" }\n",
        "t = { value = \"60 degC\", source = \"x\", mark = \"read\", note = \"n\" }\n",
        "n = { value = 2, low = 3, high = 4, source = \"x\", mark = \"memory\" }\n",
        "m = { value = 2, low = 1, source = \"x\", mark = \"assumed\" }\n",
        "o = { value = 2, mark = \"red\" }\n",
        "q = 7\n",
    ));
    let s = d.root();
    let diff = s.cited("d", Diffusivity::from_base(1e-13)..=Diffusivity::from_base(1e-7)).expect("good");
    assert_eq!((diff.low.base(), diff.value.base(), diff.mark), (1e-10, 3e-10, Mark::Assumed));
    let t = s.cited("t", Temperature::from_celsius(0.0)..=Temperature::from_celsius(100.0)).expect("good");
    assert_eq!((t.low.celsius(), t.high.celsius(), t.note.as_deref()), (60.0, 60.0, Some("n")));
    for key in ["n", "m", "o", "q", "r"] {
        assert_eq!(s.cited_number(key, 0.0..=10.0), None, "{key}");
    }
    let text = d.finish().expect_err("five bad").to_string();
    assert!(
        text.contains("n.value: low 3, value 2, high 4; allowed: low <= value <= high; a.toml:3:15"),
        "{text}"
    );
    assert!(text.contains("m.high: missing; allowed: an assumed value states"), "{text}");
    assert!(text.contains("o.mark: 'red'") && text.contains("did you mean 'read'?"), "{text}");
    assert!(text.contains("o.source: missing"), "{text}");
    assert!(text.contains("q: 7; allowed: a section { value"), "{text}");
    assert!(text.contains("r: missing"), "{text}");
}

#[test]
fn moisture_needs_its_basis_and_clock_its_form() {
    let d = doc("a = \"25 %\"\nb = \"25 % wb\"\nc = \"25:00\"\ne = \"6:40 pm\"\nf = 07:00:00\n");
    let s = d.root();
    assert_eq!(s.moisture("a"), None);
    assert!((s.moisture("b").expect("wet").wet_basis().percent() - 25.0).abs() < 1e-12);
    assert_eq!(s.clock("c"), None);
    assert_eq!(s.clock("e").map(|c| c.hm()), Some("18:40".to_owned()));
    assert_eq!(s.clock("f"), None);
    let p = d.finish().expect_err("three");
    assert!(
        p.list()[0].to_string().starts_with("a: '25 %' does not say its basis; allowed: a moisture with"),
        "{p}"
    );
    assert_eq!(kinds(&p), [ProblemKind::Unit, ProblemKind::Unit, ProblemKind::WrongType]);
}

#[test]
fn lists_name_the_bad_item() {
    let d = doc("a = [1, 2.5]\nb = [1, \"x\"]\nc = [\"1 mm\", \"2 mm\"]\nd = [\"x\", \"\"]\n");
    let s = d.root();
    assert_eq!(s.numbers("a", 0.0..=9.0), Some(vec![1.0, 2.5]));
    assert_eq!(s.numbers("b", 0.0..=9.0), None);
    assert_eq!(s.quantities("c", mm(0.0)..=mm(9.0)).map(|v| v.len()), Some(2));
    assert_eq!(s.texts("d"), None);
    let p = d.finish().expect_err("two");
    assert_eq!((p.list()[0].what.as_str(), p.list()[1].what.as_str()), ("b[2]", "d[2]"));
}

#[test]
fn named_sections_come_in_file_order() {
    let d = doc("kind = \"x\"\n[b]\nn = 1\n[a]\nn = 2\n");
    let s = d.root();
    let _ = s.text("kind");
    let found: Vec<_> = s.named_sections().iter().map(|(k, s)| (*k, s.integer("n", 0..=9))).collect();
    assert_eq!(found, [("b", Some(1)), ("a", Some(2))]);
    assert!(d.finish().is_ok());
}

#[test]
fn files_that_are_no_text_are_refused_with_their_place() {
    let binary = Document::from_bytes("a", b"a = 1\n\0\x01").expect_err("NUL");
    assert_eq!((binary.list()[0].kind, binary.list()[0].line), (ProblemKind::NotText, 2));
    let latin = Document::from_bytes("a", b"a = 1\nb = \"J\xfcrgen\"").expect_err("Latin-1");
    assert_eq!(latin.to_string(), "file: byte 0xfc is not UTF-8 text; allowed: UTF-8 text; a:2:7");
    let huge = "#".repeat(fallrate_datafile::LARGEST_FILE_BYTES + 1);
    assert_eq!(Document::parse("a", &huge).expect_err("huge").list()[0].kind, ProblemKind::TooLarge);
    assert_eq!(
        Document::from_bytes("a", huge.as_bytes()).expect_err("huge").list()[0].kind,
        ProblemKind::TooLarge
    );
    assert!(Document::parse("a", "").is_ok());
    assert!(Document::parse("a", "\u{feff}a = 1").is_ok());
    let syntax = Document::parse("a", "x = 1\ny = = 2\nz = \"open\nx = 3\n").expect_err("syntax");
    assert!(syntax.list().iter().all(|p| p.kind == ProblemKind::Syntax));
    assert_eq!(syntax.list()[0].line, 2);
}

#[test]
fn deep_nesting_is_refused_without_a_stack_overflow() {
    let dotted = format!("{}a = 1", "a.".repeat(100_000));
    let lists = format!("a = {}{}", "[".repeat(100_000), "]".repeat(100_000));
    let open = format!("a = {}", "[".repeat(500_000));
    let tables = format!("a = {}1{}", "{ b = ".repeat(100_000), "}".repeat(100_000));
    let mixed =
        format!("a = {}1{}", format!("{{ {}b = ", "c.".repeat(39)).repeat(10_000), "}".repeat(10_000));
    let header = format!("[{}a]\n", "a.".repeat(40)) + &format!("{}a = 1", "b.".repeat(40));
    for text in [dotted, lists, open, tables, mixed, header] {
        let p = Document::parse("a", &text).expect_err("too deep");
        assert_eq!(p.list()[0].kind, ProblemKind::Syntax);
    }
}

#[test]
fn a_value_that_overflows_its_unit_is_refused() {
    let d = doc("a = \"1e308 h\"\nb = 99999999999999999999\n");
    let any =
        fallrate_units::Duration::from_seconds(0.0)..=fallrate_units::Duration::from_seconds(f64::INFINITY);
    assert_eq!(d.root().quantity("a", any), None);
    assert_eq!(d.root().number("b", 0.0..=f64::INFINITY), None);
    assert_eq!(kinds(&d.finish().expect_err("two")), [ProblemKind::OutOfRange, ProblemKind::OutOfRange]);
}
