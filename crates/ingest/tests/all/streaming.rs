//! The stream gives what reading at once gives, and the hash is that of the original bytes.

use std::io::Read;

use fallrate_ingest::{
    CellValue, IngestError, Limits, Mapping, Options, Outcome, ReadRow, RowSink, read_bytes, sha256_hex,
    stream,
};

use crate::corpus::{cases, mapping, options};

#[derive(Default)]
struct Count {
    rows: u64,
    readings: usize,
}

impl RowSink for Count {
    fn row(&mut self, row: &ReadRow<'_>) -> Result<(), IngestError> {
        self.rows += 1;
        self.readings += row.values.iter().filter(|v| matches!(v, CellValue::Reading(..))).count();
        Ok(())
    }
}

/// Hands out a few bytes at a time, with interruptions.
struct Dribble<'a> {
    bytes: &'a [u8],
    turn: usize,
}

impl Read for Dribble<'_> {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        self.turn += 1;
        if self.turn.is_multiple_of(5) {
            return Err(std::io::ErrorKind::Interrupted.into());
        }
        let n = self.bytes.len().min(out.len()).min(1 + self.turn * 7 % 13);
        out[..n].copy_from_slice(&self.bytes[..n]);
        self.bytes = &self.bytes[n..];
        Ok(n)
    }
}

#[test]
fn a_dribbling_stream_gives_the_same_as_reading_at_once() {
    let mut compared = 0;
    for (expect, bytes) in cases() {
        let file = expect["file"].as_str().unwrap();
        let (mapping, options) = (mapping(&expect), options(&expect));
        let Ok(Outcome::Done(log)) = read_bytes(file, &bytes, &mapping, &options) else { continue };
        assert_eq!(log.sources[0].sha256, sha256_hex(&bytes), "{file}");
        assert_eq!(log.sources[0].bytes, bytes.len() as u64, "{file}");
        let mut count = Count::default();
        let outcome = stream(file, Dribble { bytes: &bytes, turn: 0 }, &mapping, &options, &mut count);
        let Ok(Outcome::Done(done)) = outcome else { continue };
        compared += 1;
        assert_eq!(done.source, log.sources[0], "{file}");
        assert_eq!(done.rows, count.rows, "{file}");
        let kinds =
            |list: &[fallrate_series::Diagnostic]| list.iter().map(|d| d.kind.clone()).collect::<Vec<_>>();
        assert_eq!(kinds(&done.diagnostics), kinds(&log.diagnostics), "{file}");
        let kept: usize = log.channels.iter().map(|c| c.readings().len()).sum();
        assert!(count.readings >= kept, "{file}: {} streamed, {kept} kept", count.readings);
    }
    assert!(compared >= 50, "only {compared} files compared");
}

#[test]
fn limits_refuse() {
    let text = format!("Time,Air (°C)\n{}", "2026-03-13 08:00:00,60\n".repeat(50));
    let zone = Some("UTC".to_owned());
    let with = |limits: Limits| {
        let options = Options { default_zone: zone.clone(), limits, ..Options::default() };
        read_bytes("f.csv", text.as_bytes(), &Mapping::new(), &options)
    };
    assert!(matches!(with(Limits { bytes: 500, ..Limits::default() }), Err(IngestError::TooLarge { .. })));
    assert!(matches!(with(Limits { rows: 10, ..Limits::default() }), Err(IngestError::TooManyRows { .. })));
    assert!(matches!(
        with(Limits { columns: 1, ..Limits::default() }),
        Err(IngestError::TooManyColumns { .. })
    ));
    assert!(matches!(
        with(Limits { line_bytes: 10, ..Limits::default() }),
        Err(IngestError::LineTooLong { .. })
    ));
    assert!(matches!(with(Limits::default()), Ok(Outcome::Done(_))));
}

/// Ten thousand spoiled rows do not make ten thousand diagnostics.
#[test]
fn diagnostics_are_bounded() {
    let mut text = "Time,Air (°C),Core 1 (°C)\n".to_owned();
    for i in 0..20_000 {
        let (m, s) = (i / 60 % 60, i % 60);
        let spoiled = if i % 2 == 0 { "OPEN" } else { "850" };
        text.push_str(&format!(
            "2026-03-13 {:02}:{m:02}:{s:02},{},{}\n",
            8 + i / 3600,
            i % 3 * 30,
            if i % 3 == 0 { spoiled } else { "20.1" }
        ));
    }
    let options = Options { default_zone: Some("UTC".into()), ..Options::default() };
    let Ok(Outcome::Done(log)) = read_bytes("f.csv", text.as_bytes(), &Mapping::new(), &options) else {
        panic!()
    };
    assert!(log.diagnostics.len() < 1500, "{}", log.diagnostics.len());
    let counted: u64 = log
        .diagnostics
        .iter()
        .filter(|d| matches!(d.kind, fallrate_series::DiagnosticKind::FaultCode { .. }))
        .map(|d| d.count)
        .sum();
    assert_eq!(counted, 6667);
}
