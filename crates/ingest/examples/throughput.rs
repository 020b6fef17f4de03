//! How fast a log streams, beside a plain pass of the csv crate over the same bytes, in one run.
//!
//! `cargo run --release -p fallrate-ingest --example throughput -- [megabytes] [semicolon]`
//!
//! Prints megabytes a second of both (best of three), their ratio, and the peak memory beyond the input.

use std::hint::black_box;
use std::time::Instant;

use fallrate_ingest::{IngestError, Mapping, Options, Outcome, ReadRow, RowSink, stream};

/// Adds up what comes, so that nothing is optimised away.
#[derive(Default)]
struct Sum {
    rows: u64,
    total: f64,
}

impl RowSink for Sum {
    fn row(&mut self, row: &ReadRow<'_>) -> Result<(), IngestError> {
        self.rows += 1;
        for value in row.values {
            if let fallrate_ingest::CellValue::Reading(v, _) = value {
                self.total += v;
            }
        }
        Ok(())
    }
}

/// An invented 1 Hz log of 12 channels.
fn invented(megabytes: usize, semicolon: bool) -> Vec<u8> {
    use std::io::Write;
    let mut file = b"Time,Air (degC),Wet bulb (degC),RH (%)".to_vec();
    for n in 1..=9 {
        let _ = write!(file, ",Core {n} (degC)");
    }
    file.push(b'\n');
    let mut state = 1u64;
    let mut second = 0u64;
    while file.len() < megabytes * 1_000_000 {
        let (day, s) = (1 + second / 86_400, second % 86_400);
        let (month, day) = (1 + (day - 1) / 28 % 12, 1 + (day - 1) % 28);
        let year = 2025 + second / 86_400 / 336;
        let _ = write!(file, "{year}-{month:02}-{day:02} {:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60);
        for n in 0..12u64 {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let jitter = (state >> 60) as f64 / 10.0;
            let level = [65.0, 48.0, 42.0].get(n as usize).copied().unwrap_or(40.0 + n as f64);
            let _ = write!(file, ",{:.1}", level + jitter);
        }
        file.push(b'\n');
        second += 1;
    }
    if semicolon {
        for b in &mut file {
            *b = match *b {
                b',' => b';',
                b'.' => b',',
                other => other,
            };
        }
    }
    file
}

fn best_of_three(mut pass: impl FnMut()) -> f64 {
    (0..3)
        .map(|_| {
            let begin = Instant::now();
            pass();
            begin.elapsed().as_secs_f64()
        })
        .fold(f64::MAX, f64::min)
}

/// Peak resident memory of this process so far, kB (Linux; 0 elsewhere).
fn peak_kb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM:")).unwrap_or("");
    line.split_whitespace().nth(1).and_then(|n| n.parse().ok()).unwrap_or(0)
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let megabytes = arguments.get(1).and_then(|a| a.parse().ok()).unwrap_or(100);
    let semicolon = arguments.get(2).is_some_and(|a| a == "semicolon");
    let file = invented(megabytes, semicolon);
    #[allow(clippy::cast_precision_loss)]
    let size = file.len() as f64 / 1e6;
    let options = Options { default_zone: Some("Europe/Madrid".into()), ..Options::default() };
    let before = peak_kb();
    let mut rows = 0;
    let own = best_of_three(|| {
        let mut sum = Sum::default();
        match stream("invented.csv", &file[..], &Mapping::new(), &options, &mut sum) {
            Ok(Outcome::Done(done)) => rows = done.rows,
            Ok(Outcome::Asked(asked)) => eprintln!("asked: {:?}", asked.questions),
            Err(e) => eprintln!("refused: {e}"),
        }
        black_box(sum.total);
    });
    let after = peak_kb();
    let plain = best_of_three(|| {
        let delimiter = if semicolon { b';' } else { b',' };
        let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).from_reader(&file[..]);
        let mut record = csv::ByteRecord::new();
        let mut cells = 0usize;
        while reader.read_byte_record(&mut record).unwrap_or(false) {
            cells += record.len();
        }
        black_box(cells);
    });
    println!("file                 {size:.1} MB, {rows} rows, 12 channels");
    println!("streamed to readings {:.0} MB/s ({own:.3} s)", size / own);
    println!("plain pass of csv    {:.0} MB/s ({plain:.3} s)", size / plain);
    println!("ratio                {:.2} (1 = as fast as the plain pass)", plain / own);
    println!("memory beyond input  {} kB", after - before);
}
