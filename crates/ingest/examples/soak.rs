//! Changes files of the corpus at random and reads them until the time is over; a panic ends it with the seed.
//!
//! `cargo run --release -p fallrate-ingest --example soak -- [seconds] [seed]`

use std::path::Path;
use std::time::{Duration, Instant};

use fallrate_ingest::{Mapping, Options, inspect, read_bytes};

/// A small generator (SplitMix64).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % n.max(1) as u64).unwrap_or(0)
    }
}

const PIECES: [&[u8]; 20] = [
    b",",
    b";",
    b"\n",
    b"\"",
    b"\r",
    b"\t",
    b"\0",
    b"-999",
    b"9999999999999999999",
    b"2026-10-25 02:30:00",
    b"29/02/2024",
    b"24:00",
    b"\xb0C",
    b"\xff\xfe",
    b"1e308",
    b"nan",
    b"12:59 PM",
    b"{\"a\":",
    b"OPEN",
    b"hand entry 1\n",
];

fn changed(dice: &mut Dice, files: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = files.get(dice.below(files.len())).cloned().unwrap_or_default();
    for _ in 0..=dice.below(8) {
        let at = dice.below(bytes.len() + 1);
        match dice.below(6) {
            0 => bytes.truncate(at),
            1 if at < bytes.len() => bytes[at] = dice.next().to_le_bytes()[0],
            2 => {
                let piece = PIECES[dice.below(PIECES.len())];
                bytes.splice(at..at, piece.iter().copied());
            }
            3 => {
                let end = (at + dice.below(60)).min(bytes.len());
                bytes.drain(at..end);
            }
            4 => {
                let end = (at + dice.below(200)).min(bytes.len());
                let stretch = bytes[at..end].to_vec();
                bytes.splice(at..at, stretch);
            }
            _ => {
                let other = &files[dice.below(files.len())];
                let from = dice.below(other.len() + 1);
                bytes.extend_from_slice(&other[from..(from + 400).min(other.len())]);
            }
        }
    }
    bytes
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let seconds = arguments.get(1).and_then(|a| a.parse().ok()).unwrap_or(10);
    let seed: u64 = arguments.get(2).and_then(|a| a.parse().ok()).unwrap_or(1);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus");
    let (mut files, mut mappings) = (Vec::new(), vec![Mapping::new()]);
    let mut paths: Vec<_> =
        std::fs::read_dir(folder).into_iter().flatten().flatten().map(|e| e.path()).collect();
    paths.sort();
    for path in paths {
        let bytes = std::fs::read(&path).unwrap_or_default();
        if path.to_string_lossy().ends_with(".expect.json") {
            let expect: serde_json::Value = serde_json::from_slice(&bytes).unwrap_or_default();
            mappings.extend(expect["mapping"].as_str().and_then(|t| Mapping::parse("m", t).ok()));
        } else if bytes.len() < 30_000 {
            files.push(bytes);
        }
    }
    let options = Options { default_zone: Some("Europe/Madrid".into()), ..Options::default() };
    let end = Instant::now() + Duration::from_secs(seconds);
    let mut dice = Dice(seed);
    let (mut runs, mut done, mut asked, mut refused, mut slowest) = (0u64, 0u64, 0u64, 0u64, Duration::ZERO);
    while Instant::now() < end {
        let state = dice.0;
        let bytes = changed(&mut dice, &files);
        let mapping = &mappings[dice.below(mappings.len())];
        let begin = Instant::now();
        let outcome = std::panic::catch_unwind(|| {
            let _ = inspect("f", &bytes, mapping, &options);
            read_bytes("f", &bytes, mapping, &options)
        });
        slowest = slowest.max(begin.elapsed());
        match outcome {
            Ok(Ok(fallrate_ingest::Outcome::Done(_))) => done += 1,
            Ok(Ok(fallrate_ingest::Outcome::Asked(_))) => asked += 1,
            Ok(Err(_)) => refused += 1,
            Err(_) => {
                eprintln!("panic with the generator at {state}; the bytes are in soak-failure.bin");
                let _ = std::fs::write("soak-failure.bin", &bytes);
                std::process::exit(101);
            }
        }
        runs += 1;
    }
    println!(
        "{runs} files in {seconds} s from seed {seed}: {done} series, {asked} asked, {refused} refused; slowest {slowest:?}"
    );
}
