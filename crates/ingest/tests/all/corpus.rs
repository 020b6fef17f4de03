//! The corpus: every file of `tests/corpus` against its expectation.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use fallrate_ingest::{Asked, IngestError, Mapping, Options, Outcome, read_bytes, word_of_role};
use fallrate_series::{DiagnosticKind, Log, Proof, ProofProvenance, Quality, Severity};
use serde_json::Value;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus")
}

/// All cases: expectation and bytes, in the order of their names.
pub fn cases() -> Vec<(Value, Vec<u8>)> {
    let mut names: Vec<PathBuf> = std::fs::read_dir(folder())
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.to_string_lossy().ends_with(".expect.json"))
        .collect();
    names.sort();
    names
        .iter()
        .map(|path| {
            let expect: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
            let bytes = std::fs::read(folder().join(expect["file"].as_str().unwrap())).unwrap();
            (expect, bytes)
        })
        .collect()
}

pub fn options(expect: &Value) -> Options {
    Options { default_zone: expect["zone"].as_str().map(str::to_owned), ..Options::default() }
}

pub fn mapping(expect: &Value) -> Mapping {
    expect["mapping"].as_str().map_or_else(Mapping::new, |text| Mapping::parse("mapping.toml", text).unwrap())
}

#[test]
fn every_file_gives_what_it_must() {
    let cases = cases();
    assert!(cases.len() >= 60, "only {} cases", cases.len());
    let mut wrong = Vec::new();
    for (expect, bytes) in &cases {
        let file = expect["file"].as_str().unwrap();
        let got = read_bytes(file, bytes, &mapping(expect), &options(expect));
        let problems = match expect["result"].as_str().unwrap() {
            "series" => match got {
                Ok(Outcome::Done(log)) => series(expect, &log),
                other => vec![format!("no series: {}", brief(&other))],
            },
            "asked" => match got {
                Ok(Outcome::Asked(asked)) => questions(expect, &asked),
                other => vec![format!("not asked: {}", brief(&other))],
            },
            _ => match got {
                Err(e) => refusal(expect, &e),
                other => vec![format!("not refused: {}", brief(&other))],
            },
        };
        wrong.extend(problems.into_iter().map(|p| format!("{file}: {p}")));
    }
    assert!(wrong.is_empty(), "{} problems\n{}", wrong.len(), wrong.join("\n"));
}

fn brief(got: &Result<Outcome<Log<Proof>>, IngestError>) -> String {
    match got {
        Ok(Outcome::Done(log)) => {
            let names: Vec<String> =
                log.channels.iter().map(|c| format!("{} ({})", c.name, c.readings().len())).collect();
            format!("series of {}", names.join(", "))
        }
        Ok(Outcome::Asked(asked)) => {
            asked.questions.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
        }
        Err(e) => e.to_string(),
    }
}

fn quality_word(quality: Quality) -> String {
    match quality {
        Quality::Valid => "Valid".to_owned(),
        Quality::Suspect(r) | Quality::Answered(r) => format!("{r:?}"),
        Quality::Excluded(r) => format!("{r:?}"),
    }
}

/// Instant as the expectations write it, with milliseconds only where there are any.
fn instant_text(at: fallrate_series::Instant) -> String {
    let ms = at.unix_nanoseconds().rem_euclid(1_000_000_000) / 1_000_000;
    let text = at.iso_utc();
    if ms == 0 { text } else { text.replace('Z', &format!(".{ms:03}Z")) }
}

fn series(expect: &Value, log: &Log<Proof>) -> Vec<String> {
    let mut wrong = Vec::new();
    let wanted = expect["channels"].as_array().unwrap();
    let names: Vec<&str> = log.channels.iter().map(|c| c.name.as_str()).collect();
    if names.len() != wanted.len() {
        wrong.push(format!("channels {names:?}"));
    }
    for (channel, want) in log.channels.iter().zip(wanted) {
        if channel.name != want["name"].as_str().unwrap() {
            wrong.push(format!("channel '{}' for {}", channel.name, want["name"]));
        }
        if word_of_role(Some(&channel.role)) != want["role"].as_str().unwrap() {
            wrong.push(format!("role {:?} for {}", channel.role, want["role"]));
        }
        if let Some(gaps) = want["gaps"].as_u64().filter(|g| *g != channel.gaps.len() as u64) {
            wrong.push(format!("'{}': {} gaps, wanted {gaps}", channel.name, channel.gaps.len()));
        }
        let entered = expect["provenance"].as_str() == Some("entered");
        if (channel.provenance == ProofProvenance::Entered) != entered {
            wrong.push(format!("'{}': provenance {:?}", channel.name, channel.provenance));
        }
        let got: Vec<(String, f64, String)> = channel
            .readings()
            .iter()
            .map(|r| (instant_text(r.at), r.value, quality_word(r.quality)))
            .collect();
        wrong.extend(
            readings(&got, want["readings"].as_array().unwrap()).map(|p| format!("'{}': {p}", channel.name)),
        );
    }
    wrong.extend(diagnostics(expect, log));
    if let Some(events) = expect["events"].as_u64().filter(|n| *n != log.events.len() as u64) {
        wrong.push(format!("{} events, wanted {events}", log.events.len()));
    }
    wrong
}

/// The first difference. A list with a "count" entry names the number of readings and some of them.
fn readings(got: &[(String, f64, String)], want: &[Value]) -> Option<String> {
    let count = want.iter().find(|w| w[0] == "count").and_then(|w| w[1].as_u64());
    let listed: Vec<(&str, f64, &str)> = want
        .iter()
        .filter(|w| w[0] != "count")
        .map(|w| (w[0].as_str().unwrap(), w[1].as_f64().unwrap(), w[2].as_str().unwrap()))
        .collect();
    let expected = count.map_or(listed.len(), |n| usize::try_from(n).unwrap());
    if got.len() != expected {
        return Some(format!("{} readings, wanted {expected}", got.len()));
    }
    for (i, (at, value, quality)) in listed.iter().enumerate() {
        let same = |g: &(String, f64, String)| g.0 == *at && (g.1 - value).abs() < 1e-9 && g.2 == *quality;
        let found = if count.is_some() { got.iter().any(same) } else { got.get(i).is_some_and(same) };
        if !found {
            return Some(format!("reading {i} {:?}, wanted {at} {value} {quality}", got.get(i)));
        }
    }
    None
}

fn kind_word(kind: &DiagnosticKind) -> String {
    format!("{kind:?}").split([' ', '{']).next().unwrap().to_owned()
}

fn diagnostics(expect: &Value, log: &Log<Proof>) -> Option<String> {
    let all = expect["severity"].as_str() == Some("all-but-choice");
    let got: BTreeSet<String> = log
        .diagnostics
        .iter()
        .filter(|d| {
            if all {
                !matches!(d.kind, DiagnosticKind::ChoiceMade { .. })
            } else {
                d.kind.severity() >= Severity::Warning
            }
        })
        .map(|d| kind_word(&d.kind))
        .collect();
    let want: BTreeSet<String> =
        expect["diagnostics"].as_array().unwrap().iter().map(|d| d.as_str().unwrap().to_owned()).collect();
    (got != want).then(|| format!("diagnostics {got:?}, wanted {want:?}"))
}

fn questions(expect: &Value, asked: &Asked) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut topics: Vec<String> = asked.questions.iter().map(|q| format!("{:?}", q.topic)).collect();
    topics.sort();
    let want: Vec<&str> = expect["topics"].as_array().unwrap().iter().map(|t| t.as_str().unwrap()).collect();
    if topics != want {
        wrong.push(format!("topics {topics:?}, wanted {want:?}"));
    }
    let text: String = asked.questions.iter().map(|q| format!("{q}\n")).collect();
    for shown in expect["shown"].as_array().unwrap() {
        if !text.contains(shown.as_str().unwrap()) {
            wrong.push(format!("{shown} is not shown in: {text}"));
        }
    }
    wrong
}

fn refusal(expect: &Value, error: &IngestError) -> Vec<String> {
    let mut wrong = Vec::new();
    let name = format!("{error:?}").split([' ', '{', '(']).next().unwrap().to_owned();
    if name != expect["error"].as_str().unwrap() {
        wrong.push(format!("refused as {error:?}, wanted {}", expect["error"]));
    }
    let line = expect["line"].as_u64().unwrap();
    let place = format!(
        "at {}{}",
        expect["file"].as_str().unwrap(),
        if line > 0 { format!(":{line}") } else { String::new() }
    );
    if !error.to_string().contains(&place) {
        wrong.push(format!("'{error}' does not say '{place}'"));
    }
    wrong
}
