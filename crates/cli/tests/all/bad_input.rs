//! Bad input: what, value, allowed, where; nothing written; never a panic.

use super::support::{Folder, home, program, refused, run};

fn example() -> String {
    std::fs::read_to_string(home().join("examples/beef_strips.toml")).unwrap()
}

/// The message of a plan file with one text replaced, written as `bad.toml`; checks that nothing was written beside it.
fn message(from: &str, to: &str) -> String {
    message_and_check(from, to, true)
}

/// Some faults show only when the plan is computed: `check` passes them.
fn message_and_check(from: &str, to: &str, check_sees_it: bool) -> String {
    let text = example();
    assert!(text.contains(from), "the example has changed: {from}");
    let folder = Folder::new();
    let path = folder.write("bad.toml", text.replacen(from, to, 1).as_bytes());
    let (html, json, csv) = (folder.file("a.html"), folder.file("a.json"), folder.file("a.csv"));
    let charts = folder.file("charts");
    let e = refused(&["plan", &path, "--html", &html, "--json", &json, "--csv", &csv, "--charts", &charts]);
    assert_eq!(folder.names(), ["bad.toml"], "{e}");
    assert!(!e.contains("panicked"), "{e}");
    if check_sees_it {
        let checked = refused(&["check", &path]);
        assert!(!checked.contains("panicked"), "{checked}");
    }
    e
}

/// Line of the first occurrence in the changed example, from 1.
fn line_of(from: &str, to: &str, key: &str) -> usize {
    let text = example().replacen(from, to, 1);
    text.lines().position(|l| l.starts_with(key)).unwrap() + 1
}

#[test]
fn identity_each_message_has_what_value_allowed_and_where() {
    let cases: &[(&str, &str, &str, &[&str])] = &[
        // (found, put, key that starts its line, what the message holds)
        ("thickness = \"6 mm\"", "thickness = nan", "thickness = ", &["piece.thickness", "nan", "allowed"]),
        ("thickness = \"6 mm\"", "thickness = \"6 kg\"", "thickness = ", &["kg", "mm, cm"]),
        ("thickness = \"6 mm\"", "thickness = 6", "thickness = ", &["6", "unit"]),
        ("thickness = \"6 mm\"", "thickness = \"600 mm\"", "thickness = ", &["600 mm", "0.1 mm to 80 mm"]),
        ("moisture = \"25 % wb\"", "moisture = \"25 %\"", "moisture = ", &["25 %", "basis", "% wb"]),
        ("moisture = \"25 % wb\"", "moisture = \"125 % wb\"", "moisture = ", &["125 % wb", "below 100"]),
        (
            "product = \"beef_eye_of_round\"",
            "product = \"beef_eye_of_rund\"",
            "product = ",
            &["beef_eye_of_rund", "did you mean 'beef_eye_of_round'?"],
        ),
        (
            "cabinet = \"north\"",
            "cabinet = \"nort\"",
            "cabinet = ",
            &["nort", "bench_unit, north", "did you mean 'north'?"],
        ),
        (
            "vent = \"quarter\"",
            "vent = \"quater\"",
            "vent = \"quater\"",
            &["quater", "shut, crack, quarter", "did you mean 'quarter'?"],
        ),
        ("trays = 18", "trays = 28", "trays = ", &["28", "20"]),
        ("trays = 18", "tray = 18", "tray = ", &["load.tray", "unknown key", "did you mean 'trays'?"]),
        ("liner = \"bare\"", "liner = \"bar\"", "liner = ", &["liner", "bare", "did you mean 'bare'?"]),
        (
            "set_point = \"160 degF\"",
            "set_point = \"260 degF\"",
            "set_point = \"260",
            &["260 degF", "allowed"],
        ),
        (
            "relative_humidity = \"40 %\"",
            "relative_humidity = \"140 %\"",
            "relative_humidity",
            &["140 %", "1 % to 100 %"],
        ),
        (
            "until = { moisture = \"40 % wb\" }",
            "until = { core = \"170 degF\" }",
            "[[stage]]",
            &["core", "set point", "allowed"],
        ),
        ("name = \"cook\"", "name = \"warm-up\"", "name = ", &["warm-up", "a name of its own"]),
        ("at = \"06:40\"", "at = \"26:40\"", "at = ", &["26:40", "'00:00' to '23:59'"]),
    ];
    for (from, to, key, parts) in cases {
        let e = message(from, to);
        for part in *parts {
            assert!(e.contains(part), "{to}: '{part}' not in: {e}");
        }
        let line = line_of(from, to, key);
        let place =
            e.lines().find(|l| l.contains("bad.toml:")).unwrap_or_else(|| panic!("{to}: no place in {e}"));
        let numbers: Vec<&str> =
            place.split("bad.toml:").nth(1).unwrap().splitn(3, [':', ';', '\n']).collect();
        assert!(numbers[0].parse::<usize>().is_ok_and(|n| n > 1), "{to}: no line in {e}");
        if !key.starts_with("[[") && !to.starts_with("name") {
            assert_eq!(numbers[0].parse::<usize>().unwrap(), line, "{to}: {e}");
        }
    }
}

#[test]
fn identity_an_impossible_target_says_what_is_reachable() {
    let e = message_and_check("moisture = \"25 % wb\"", "moisture = \"0.4 % wb\"", false);
    assert!(
        e.contains("not reached") && e.contains("leaves the wettest piece at") && e.contains("% wb"),
        "{e}"
    );
    let line = example().lines().position(|l| l.starts_with("[target]")).unwrap() + 1;
    assert!(e.contains(&format!("bad.toml:{line}:1")), "{e}");
    let e = message("moisture = \"25 % wb\"", "moisture = \"85 % wb\"");
    assert!(e.contains("starts at") && e.contains("allowed: below that"), "{e}");
}

#[test]
fn identity_files_that_are_no_plan() {
    let folder = Folder::new();
    let empty = folder.write("empty.toml", b"");
    let binary = folder.write("binary.toml", &[0x7f, b'E', b'L', b'F', 0, 1, 2, 255, 254]);
    let huge = folder.write("huge.toml", &vec![b'#'; 2 << 20]);
    let latin = folder.write("latin.toml", b"title = \"Jalape\xf1o\"\n");
    let broken = folder.write("broken.toml", b"product = \"apple\nload = [");
    for (path, part) in [
        (&empty, "missing"),
        (&binary, "UTF-8"),
        (&huge, "2097152 bytes; allowed: at most 1048576 bytes"),
        (&latin, "0xf1"),
        (&broken, "broken.toml:1"),
        (&folder.file("none.toml"), "cannot be read"),
        (&folder.0.display().to_string(), "cannot be read"),
    ] {
        for verb in ["plan", "check", "compare"] {
            let mut args = vec![verb, path.as_str()];
            if verb == "compare" {
                args.push("--ways");
            }
            let e = refused(&args);
            assert!(e.contains(part), "{verb} {path}: '{part}' not in {e}");
            assert!(!e.contains("panicked"), "{e}");
        }
    }
}

#[test]
fn identity_wrong_command_lines_are_usage_errors() {
    for args in [
        &["plan"][..],
        &["dry"],
        &["plan", "examples/beef_strips.toml", "--draws", "many"],
        &["plan", "examples/beef_strips.toml", "--units", "metric"],
        &["plan", "examples/beef_strips.toml", "--with", "novalue"],
        &["plan", "examples/beef_strips.toml", "--with", "stage.cok.vent=half"],
        &["plan", "examples/beef_strips.toml", "--json", "-", "--csv", "-"],
        &["compare", "examples/beef_strips.toml"],
        &["compare", "examples/beef_strips.toml", "examples/kale_crisps.toml", "--ways"],
        &["products", "aple"],
        &["cabinets", "sout"],
        &["air", "--dry-bulb", "71"],
        &["air", "--dry-bulb", "71C"],
        &["air", "--dry-bulb", "71C", "--wet-bulb", "80C"],
        &["air", "--dry-bulb", "71C", "--rh", "20%", "--dew-point", "10C"],
        &["air", "--dew-point", "10C", "--humidity-ratio", "8g/kg"],
        &["air", "--dry-bulb", "NaNC", "--rh", "20%"],
        &["air", "--dry-bulb", "71C", "--rh", "20%", "--volume", "1m3"],
    ] {
        let e = refused(args);
        assert!(!e.is_empty() && !e.contains("panicked"), "{args:?}: {e}");
    }
    assert!(
        refused(&["plan", "examples/beef_strips.toml", "--with", "stage.cok.vent=half"])
            .contains("did you mean 'cook'?")
    );
    assert!(refused(&["products", "aple"]).contains("did you mean 'apple'?"));
    assert!(refused(&["air", "--dry-bulb", "71", "--rh", "20%"]).contains("no unit"));
}

#[test]
fn identity_a_changed_key_keeps_its_place_in_messages() {
    let e = refused(&["plan", "examples/beef_strips.toml", "--with", "room.altitude=90000 m"]);
    let line = example().lines().position(|l| l.starts_with("altitude")).unwrap() + 1;
    assert!(e.contains("room.altitude=90000 m") && e.contains(&format!(":{line}:")), "{e}");
}

#[test]
fn identity_every_problem_of_a_file_is_named_at_once() {
    let folder = Folder::new();
    let text = example().replacen("\"6 mm\"", "\"6 kg\"", 1).replacen("\"40 %\"", "\"400 %\"", 1);
    let path = folder.write("two.toml", text.as_bytes());
    let e = refused(&["check", &path]);
    assert!(e.contains("piece.thickness") && e.contains("room.relative_humidity"), "{e}");
}

#[test]
fn identity_a_closed_pipe_is_no_error() {
    use std::process::Stdio;
    let mut child =
        program().args(["products", "apple"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let out = child.wait_with_output().unwrap();
    assert!(!String::from_utf8_lossy(&out.stderr).contains("panicked"));
    assert_eq!(run(&["--version"]).status.code(), Some(0));
}
