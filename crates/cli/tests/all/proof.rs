//! From raw files to a verdict, a record and a signed PDF, as a user would.

use super::support::{Folder, home, program, refused, run};

const P: &str = "examples/proof";

fn logs() -> Vec<String> {
    ["core_probes.csv", "cabinet.xlsx", "by_hand.txt"].map(|f| format!("{P}/{f}")).to_vec()
}

fn judge(batch: &str, more: &[&str]) -> (i32, String) {
    let mut args = vec!["judge".to_owned()];
    args.extend(logs());
    args.extend(["--batch".to_owned(), batch.to_owned(), "--width".to_owned(), "100".to_owned()]);
    args.extend(more.iter().map(|m| (*m).to_owned()));
    let out = program().args(&args).output().expect("the program runs");
    let text = String::from_utf8(out.stdout).expect("UTF-8").replace(env!("CARGO_PKG_VERSION"), "VERSION");
    (out.status.code().expect("a code"), text + &String::from_utf8_lossy(&out.stderr))
}

fn example_batch() -> String {
    std::fs::read_to_string(home().join(P).join("batch.toml")).expect("the example")
}

/// The example with one text put in place of another, in a folder of its own.
fn changed(folder: &Folder, name: &str, from: &str, to: &str) -> String {
    let text = example_batch();
    assert!(text.contains(from), "{from}");
    folder.write(name, text.replacen(from, to, 1).as_bytes())
}

#[test]
fn judge_shows_page_one_evidence_and_sources() {
    let (code, text) = judge(&format!("{P}/batch.toml"), &["--units", "us"]);
    assert_eq!(code, 0);
    insta::assert_snapshot!("judge_english_us", text);
    let (code, text) = judge(&format!("{P}/batch.toml"), &["--lang", "es"]);
    assert_eq!(code, 0);
    insta::assert_snapshot!("judge_spanish_si", text);
}

#[test]
fn identity_exit_codes_follow_the_answer() {
    let f = Folder::new();
    // Option 3 asks for RH of 90 %: the record shows far less.
    let (code, text) = judge(&format!("{P}/batch.toml"), &["--criterion", "3"]);
    assert_eq!(code, 1, "{text}");
    assert!(text.contains("Not met"), "{text}");
    // Nobody says how the coldest position is known.
    let unknown = changed(&f, "cold.toml", "cold_spot_evidence", "# cold_spot_evidence");
    let (code, text) = judge(&unknown, &[]);
    assert_eq!(code, 2, "{text}");
    assert!(text.contains("Say how it is known that these positions are the coldest."), "{text}");
    // A plan limit that nobody could have kept, at the probe without a long gap: the criterion stays met, the lot does not.
    let missed = changed(
        &f,
        "limit.toml",
        "number = 2\nat_least = \"145 degF\"",
        "number = 2\nat_least = \"190 degF\"",
    );
    let (code, text) = judge(&missed, &[]);
    assert_eq!(code, 1, "{text}");
    assert!(text.contains("Practice. Met:") && text.contains("missed"), "{text}");
}

#[test]
fn identity_a_file_with_two_readings_is_asked_and_the_answers_are_kept() {
    let f = Folder::new();
    let bytes = std::fs::read(home().join(P).join("core_probes.csv")).unwrap();
    let log = f.write("core.csv", &bytes);
    let out = run(&["readings", &log]);
    let text = String::from_utf8(out.stdout).unwrap();
    assert_eq!(out.status.code(), Some(2), "{text}");
    assert!(text.contains("order of day and month") && text.contains("time zone"), "{text}");
    assert!(text.contains("2026-09-10") && text.contains("2026-10-09"), "both readings are shown: {text}");
    let keep = f.file("core.mapping.toml");
    let answers = ["1=2", "2=America/Denver", "3=1", "4=1"].map(|a| ["--answer", a]).concat();
    let answers = [&answers[..], &["--keep", &keep][..]].concat();
    let out = run(&[&["readings", &log][..], &answers[..]].concat());
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stdout));
    let kept = std::fs::read_to_string(&keep).unwrap();
    assert!(kept.contains("month-day-year") && kept.contains("America/Denver"), "{kept}");
    // Beside the file, the mapping is found by itself.
    assert_eq!(run(&["readings", &log]).status.code(), Some(0));
}

/// A command on a record that must end well.
fn done(args: &[&str]) -> String {
    let out = run(args);
    let text = String::from_utf8(out.stdout).unwrap();
    assert_eq!(out.status.code(), Some(0), "{args:?} {text} {}", String::from_utf8_lossy(&out.stderr));
    text
}

fn opened(f: &Folder) -> String {
    let lot = f.file("lot");
    done(&["record", "open", &lot, "--batch", &format!("{P}/batch.toml"), "--by", "Owner"]);
    let mut add = vec!["record", "add", &lot];
    let logs = logs();
    add.extend(logs.iter().map(String::as_str));
    add.extend(["--by", "Evening operator"]);
    done(&add);
    lot
}

#[test]
fn identity_three_raw_files_become_a_signed_pdf() {
    let f = Folder::new();
    let lot = opened(&f);
    done(&["record", "judge", &lot, "--by", "Owner"]);
    done(&["record", "sign", &lot, "--meaning", "monitored", "--by", "Evening operator"]);
    let review = ["record", "sign", &lot, "--meaning", "reviewed", "--by", "Outside reviewer"];
    done(&[&review[..], &["--training", "HACCP course, 2024"][..]].concat());
    let released = ["record", "sign", &lot, "--meaning", "released", "--by", "Owner"];
    done(&released);
    let (pdf, html) = (f.file("lot.pdf"), f.file("lot.html"));
    let text = done(&["record", "show", &lot, "--pdf", &pdf, "--html", &html, "--units", "us"]);
    for wanted in ["Outside reviewer", "HACCP course, 2024", "Evening operator", "Released", "B-0910"] {
        assert!(text.contains(wanted), "{wanted}: {text}");
    }
    let bytes = std::fs::read(&pdf).unwrap();
    assert!(bytes.starts_with(b"%PDF-1."), "a PDF");
    let page = std::fs::read_to_string(&html).unwrap();
    assert!(page.contains("Outside reviewer") && page.contains("<html lang=\"en\""));
    // The head that is printed at the foot verifies, whole and by its first digits.
    let record = std::fs::read_to_string(f.0.join("lot/record.jsonl")).unwrap();
    let last = record.lines().last().unwrap();
    let head = last.rsplit("\"hash\":\"").next().unwrap().trim_end_matches("\"}").to_owned();
    let shown = head.as_bytes()[..16].chunks(4).map(|c| String::from_utf8_lossy(c).into_owned());
    let shown = shown.collect::<Vec<_>>().join(" ");
    assert!(text.contains(&shown) || page.contains(&shown), "the head is on the page: {shown}");
    let told = done(&["record", "verify", &lot, "--head", &shown]);
    assert!(told.contains("Intact"), "{told}");
}

#[test]
fn identity_tampering_is_found_and_nothing_is_added_to_a_damaged_record() {
    let f = Folder::new();
    let lot = opened(&f);
    let path = f.0.join("lot/record.jsonl");
    let whole = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, whole.replacen("22.0", "21.0", 1)).unwrap();
    let out = run(&["record", "verify", &lot]);
    assert_eq!(out.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&out.stdout).contains("Not intact"));
    let damaged = std::fs::read(&path).unwrap();
    assert!(refused(&["record", "note", &lot, "a note", "--by", "Owner"]).contains("record verify"));
    assert_eq!(std::fs::read(&path).unwrap(), damaged, "nothing was written");
    // Cut off at the end: only a printed head tells.
    let shorter: String = whole.lines().take(3).flat_map(|l| [l, "\n"]).collect();
    std::fs::write(&path, &shorter).unwrap();
    let head = whole.lines().last().unwrap().rsplit("\"hash\":\"").next().unwrap().trim_end_matches("\"}");
    assert_eq!(run(&["record", "verify", &lot, "--head", head]).status.code(), Some(1));
    // Another file in place of a kept one.
    std::fs::write(&path, &whole).unwrap();
    std::fs::write(f.0.join("lot/files/by_hand.txt"), b"hand entry 1\n").unwrap();
    assert_eq!(run(&["record", "verify", &lot]).status.code(), Some(1));
    assert!(refused(&["record", "judge", &lot, "--by", "Owner"]).contains("by_hand.txt"));
}

#[test]
fn identity_a_correction_names_its_entry_and_the_first_text_stays() {
    let f = Folder::new();
    let lot = opened(&f);
    let text = done(&["record", "entries", &lot, "--width", "200"]);
    let tested = text.lines().find(|l| l.contains("tested")).unwrap_or_else(|| panic!("{text}"));
    let entry = tested.split_whitespace().next().unwrap();
    let set = ["record", "correct", &lot, entry, "--set", "value=0.79", "--by", "Owner"];
    let out = run(&set);
    assert_eq!(out.status.code(), Some(64), "a correction needs its reason");
    done(&[&set[..], &["--reason", "misread the meter"][..]].concat());
    done(&["record", "judge", &lot, "--by", "Owner"]);
    let text = done(&["record", "show", &lot]);
    assert!(text.contains("0.790") && text.contains("misread the meter"), "{text}");
    assert!(text.contains("0.78 → 0.79") || text.contains("0.78"), "{text}");
    let record = std::fs::read_to_string(f.0.join("lot/record.jsonl")).unwrap();
    assert!(record.contains("\"value\":0.78"), "the first entry stays");
    done(&["record", "verify", &lot]);
}

#[test]
fn identity_a_missed_limit_needs_four_parts_before_release() {
    let f = Folder::new();
    let batch = changed(
        &f,
        "limit.toml",
        "number = 2\nat_least = \"145 degF\"",
        "number = 2\nat_least = \"190 degF\"",
    );
    let lot = f.file("lot");
    done(&["record", "open", &lot, "--batch", &batch, "--by", "Owner"]);
    let mut add = vec!["record", "add", &lot];
    let logs = logs();
    add.extend(logs.iter().map(String::as_str));
    add.extend(["--by", "Evening operator"]);
    done(&add);
    assert_eq!(run(&["record", "judge", &lot, "--by", "Owner"]).status.code(), Some(1));
    let sign = |meaning: &str, by: &str| run(&["record", "sign", &lot, "--meaning", meaning, "--by", by]);
    assert_eq!(sign("reviewed", "Outside reviewer").status.code(), Some(0));
    let out = sign("released", "Owner");
    assert_eq!(out.status.code(), Some(64));
    assert!(String::from_utf8_lossy(&out.stderr).contains("corrective action"), "{out:?}");
    let name = "CCP 2, core 145 °F for 4 min";
    for part in ["cause", "control", "prevention"] {
        done(&["record", "action", &lot, name, part, "written for the test", "--by", "Owner"]);
    }
    let last =
        ["record", "action", &lot, name, "disposition", "found safe: the criterion was met", "--by", "Owner"];
    done(&[&last[..], &["--held", "22 kg", "--decision", "release"][..]].concat());
    assert_eq!(sign("reviewed", "Outside reviewer").status.code(), Some(0));
    assert_eq!(sign("released", "Owner").status.code(), Some(0));
    let text = run(&["record", "show", &lot]);
    let text = String::from_utf8_lossy(&text.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("corrective action complete") && text.contains("Corrective action: CCP 2"),
        "{text}"
    );
}

#[test]
fn refuse_what_cannot_be_read_names_what_is_allowed() {
    let f = Folder::new();
    let mut told = String::new();
    let cases = [
        ("species = \"beef\"", "species = \"beaf\""),
        ("at = \"2026-09-10 06:55\"", "at = \"6.55\""),
        ("at_least = \"145 degF\"", "at_least = \"145\""),
        ("zone = \"America/Denver\"", "zone = \"Denver\""),
        ("options = [\"2\"]", "options = [\"9\"]"),
    ];
    for (n, (from, to)) in cases.iter().enumerate() {
        let batch = changed(&f, &format!("b{n}.toml"), from, to);
        let (code, text) = judge(&batch, &[]);
        assert_eq!(code, 64, "{text}");
        told.push_str(&text.replace(&f.0.display().to_string(), "FOLDER"));
    }
    told.push_str(&refused(&["record", "show", "examples"]));
    let lot = opened(&f);
    told.push_str(&refused(&["record", "verify", &lot, "--head", "12"]));
    told.push_str(&refused(&["record", "correct", &lot, "99", "--set", "a=1", "--reason", "r", "--by", "O"]));
    told.push_str(&refused(&["record", "enter", &lot, "08:05 core 1 rear 161", "--by", "O"]));
    insta::assert_snapshot!("proof_refusals", told.replace(&f.0.display().to_string(), "FOLDER"));
}

#[test]
fn criteria_shows_what_can_be_claimed_and_what_is_only_advice() {
    let shown = |args: &[&str]| {
        let out =
            program().arg("criteria").args(args).args(["--width", "100"]).output().expect("the program runs");
        assert_eq!(out.status.code(), Some(0), "{args:?}");
        String::from_utf8(out.stdout).expect("UTF-8").replace(env!("CARGO_PKG_VERSION"), "VERSION")
    };
    insta::assert_snapshot!("criteria_options", shown(&["options", "--units", "us"]));
    insta::assert_snapshot!("criteria_rows", shown(&["rows", "--animal", "chicken", "--fat", "4"]));
    insta::assert_snapshot!("criteria_produce", shown(&["produce", "--lang", "es"]));
    let folder = Folder::new();
    let page = folder.file("page.html");
    shown(&["studies", "--animal", "beef", "--form", "whole muscle", "--html", &page]);
    assert!(std::fs::read_to_string(&page).expect("a page").contains("</html>"));
    let said = refused(&["criteria", "rows", "--animal", "beaf"]);
    assert!(said.contains("'beaf'") && said.contains("beef"), "{said}");
    let said = refused(&["criteria", "rows", "--animal", "turkey", "--fat", "140"]);
    assert!(said.contains("fat") && said.contains("140"), "{said}");
}
