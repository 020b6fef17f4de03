//! From a file to a log of channels.

use fallrate_series::{ChannelBuilder, Gap, Log, Proof, ProofProvenance, Reading, Span, SuspectReason};

use crate::engine::{ReadRow, RowSink};
use crate::error::IngestError;
use crate::limits::Options;
use crate::mapping::Mapping;
use crate::read::{self, FileRead, Outcome};
use crate::value::CellValue;

/// Keeps everything in memory.
#[derive(Default)]
struct Collected {
    channels: Vec<Vec<(Reading, u64)>>,
    suspects: Vec<(Option<usize>, Span, SuspectReason)>,
    gaps: Vec<(Option<usize>, Gap)>,
}

impl RowSink for Collected {
    fn row(&mut self, row: &ReadRow<'_>) -> Result<(), IngestError> {
        self.channels.resize_with(row.values.len(), Vec::new);
        for (channel, value) in self.channels.iter_mut().zip(row.values) {
            if let CellValue::Reading(value, quality) = *value {
                channel.push((Reading { at: row.at, value, quality }, row.line));
            }
        }
        Ok(())
    }
    fn suspect(&mut self, channel: Option<usize>, span: Span, reason: SuspectReason) {
        self.suspects.push((channel, span, reason));
    }
    fn gap(&mut self, channel: Option<usize>, gap: Gap) {
        self.gaps.push((channel, gap));
    }
}

/// Reads a file of delimited text, JSON lines, a workbook or a hand-entry form.
///
/// # Errors
/// [`IngestError`] where the file is refused.
pub fn read_bytes(
    file: &str,
    bytes: &[u8],
    mapping: &Mapping,
    options: &Options,
) -> Result<Outcome<Log<Proof>>, IngestError> {
    if crate::hand::is_hand_entry(bytes) {
        return Ok(match crate::hand::read_hand(file, bytes, options)? {
            Outcome::Done(hand) => Outcome::Done(hand.log),
            Outcome::Asked(asked) => Outcome::Asked(asked),
        });
    }
    let mut collected = Collected::default();
    let mut outcome = read::stream_with(file, bytes, mapping, options, &mut collected, None, true)?;
    // The order of the dates may be shown by a date further down than the first part of the file.
    if let Outcome::Asked(asked) = &outcome
        && let Some(column) = read::open_orders(asked)
    {
        let orders = read::orders_in_whole(file, bytes, column, mapping, options)?;
        if orders.len() == 1 {
            collected = Collected::default();
            outcome = read::stream_with(file, bytes, mapping, options, &mut collected, Some(&orders), true)?;
        }
    }
    match outcome {
        Outcome::Asked(asked) => Ok(Outcome::Asked(asked)),
        Outcome::Done(done) => log_of(done, collected).map(Outcome::Done),
    }
}

fn log_of(done: FileRead, collected: Collected) -> Result<Log<Proof>, IngestError> {
    let mut log = Log::new(&done.zone);
    log.sources.push(done.source);
    log.diagnostics =
        done.diagnostics.into_iter().map(|d| fallrate_series::Diagnostic { source: Some(0), ..d }).collect();
    let mut readings = collected.channels.into_iter();
    for (index, channel) in done.channels.into_iter().enumerate() {
        let mut builder =
            ChannelBuilder::<Proof>::new(&channel.name, channel.role, ProofProvenance::Measured).source(0);
        if let Some(instrument) = channel.instrument {
            builder = builder.instrument(instrument);
        }
        for (_, gap) in collected.gaps.iter().filter(|(c, _)| c.is_none_or(|c| c == index)) {
            builder.gap(*gap);
        }
        for (reading, line) in readings.next().unwrap_or_default() {
            builder.push(reading, line)?;
        }
        // Order and repeats were reported row by row; the builder's own list would say them again for each channel.
        let (mut built, _) = builder.finish();
        built.gaps.sort_by_key(|g| g.span);
        for (_, span, reason) in collected.suspects.iter().filter(|(c, ..)| c.is_none_or(|c| c == index)) {
            built.mark_suspect(*span, *reason);
        }
        log.add(built, Vec::new())?;
    }
    Ok(log)
}
