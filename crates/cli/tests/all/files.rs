//! Files are written whole or not at all.

use std::process::Stdio;
use std::time::Duration;

use super::support::{Folder, program, refused, run, told};

const FILE: &str = "examples/beef_strips.toml";

#[test]
fn identity_every_file_asked_for_is_written_and_nothing_else() {
    let folder = Folder::new();
    let (html, json, csv, charts) =
        (folder.file("plan.html"), folder.file("plan.json"), folder.file("plan.csv"), folder.file("charts"));
    let page = told(&[
        "plan", FILE, "--draws", "16", "--html", &html, "--json", &json, "--csv", &csv, "--charts", &charts,
    ]);
    assert!(page.contains("Dial "));
    assert_eq!(folder.names(), ["charts", "plan.csv", "plan.html", "plan.json"]);
    let pictures = std::fs::read_dir(&charts).unwrap().count();
    assert!(pictures >= 6 && pictures % 2 == 0, "{pictures}");
    let text = std::fs::read_to_string(&html).unwrap();
    assert!(text.starts_with("<!DOCTYPE html>") && text.ends_with("</html>\n"));
    // Twice the same.
    let before = std::fs::read(&json).unwrap();
    told(&["plan", FILE, "--draws", "16", "--json", &json]);
    assert_eq!(std::fs::read(&json).unwrap(), before);
}

#[test]
fn identity_a_dash_writes_to_standard_output_in_place_of_the_page() {
    let text = told(&["plan", FILE, "--draws", "0", "--json", "-"]);
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(json["product"], "beef_eye_of_round");
    let text = told(&["plan", FILE, "--draws", "0", "--csv", "-"]);
    assert!(text.starts_with("elapsed_h,clock_hh_mm,stage"));
}

#[test]
fn identity_where_one_file_cannot_be_written_none_is() {
    let folder = Folder::new();
    let json = folder.file("plan.json");
    let nowhere = folder.file("no/such/folder/plan.html");
    let e = refused(&["plan", FILE, "--draws", "0", "--json", &json, "--html", &nowhere]);
    assert!(e.contains("cannot be written"), "{e}");
    assert!(folder.names().is_empty(), "{:?}", folder.names());
    // A file that was there stays as it was.
    folder.write("plan.json", b"older");
    refused(&["plan", FILE, "--draws", "0", "--json", &json, "--html", &nowhere]);
    assert_eq!(std::fs::read(&json).unwrap(), b"older");
    assert_eq!(folder.names(), ["plan.json"]);
}

#[test]
fn identity_a_folder_in_place_of_a_file_is_refused() {
    let folder = Folder::new();
    let path = folder.0.display().to_string();
    assert!(refused(&["plan", FILE, "--draws", "0", "--html", &path]).contains("it is a folder"));
}

#[cfg(unix)]
#[test]
fn identity_ctrl_c_stops_the_work_and_leaves_nothing() {
    let folder = Folder::new();
    let (html, json) = (folder.file("plan.html"), folder.file("plan.json"));
    let child = program()
        .args(["plan", FILE, "--draws", "5000", "--html", &html, "--json", &json])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(Duration::from_millis(1500));
    let sent = std::process::Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(sent.success());
    let out = child.wait_with_output().unwrap();
    assert_eq!(out.status.code(), Some(130), "{}", String::from_utf8_lossy(&out.stderr));
    assert!(out.stdout.is_empty());
    assert!(String::from_utf8_lossy(&out.stderr).contains("nothing was written"));
    assert!(folder.names().is_empty(), "{:?}", folder.names());
}

#[test]
fn identity_no_progress_where_no_one_looks() {
    let out = run(&["plan", FILE, "--draws", "64"]);
    assert!(out.stderr.is_empty(), "{}", String::from_utf8_lossy(&out.stderr));
}
