//! Building a channel from readings in the order a file gives them.

use crate::{
    Channel, Diagnostic, DiagnosticKind, Gap, Instrument, Quality, Reading, Realm, Role, SeriesError,
    SuspectReason,
};

/// Collects readings in the order of the file; [`ChannelBuilder::finish`] puts them in order and says what was wrong.
#[derive(Clone, Debug)]
pub struct ChannelBuilder<R: Realm> {
    channel: Channel<R>,
    lines: Vec<u64>,
}

impl<R: Realm> ChannelBuilder<R> {
    /// An empty channel.
    #[must_use]
    pub fn new(name: &str, role: Role, provenance: R::Provenance) -> Self {
        let channel = Channel {
            name: name.to_owned(),
            role,
            provenance,
            instrument: None,
            source: None,
            gaps: Vec::new(),
            answers: Vec::new(),
            readings: Vec::new(),
        };
        Self { channel, lines: Vec::new() }
    }
    /// Names the instrument.
    #[must_use]
    pub fn instrument(mut self, instrument: Instrument) -> Self {
        self.channel.instrument = Some(instrument);
        self
    }
    /// Names the source, an index into [`crate::Log::sources`].
    #[must_use]
    pub fn source(mut self, index: usize) -> Self {
        self.channel.source = Some(index);
        self
    }
    /// Adds a known gap.
    pub fn gap(&mut self, gap: Gap) {
        self.channel.gaps.push(gap);
    }
    /// Adds a reading, with the line of the file it stood in (0 where there is none).
    ///
    /// # Errors
    /// [`SeriesError::NotFinite`] for NaN or infinity.
    pub fn push(&mut self, reading: Reading, line: u64) -> Result<(), SeriesError> {
        if !reading.value.is_finite() {
            return Err(SeriesError::NotFinite { channel: self.channel.name.clone(), value: reading.value });
        }
        self.channel.readings.push(reading);
        self.lines.push(line);
        Ok(())
    }
    /// Puts the readings in order, settles double instants and reports both. Of several readings at one instant the
    /// first is kept; where they differ it becomes suspect ([`SuspectReason::ConflictingDuplicate`]).
    #[must_use]
    pub fn finish(mut self) -> (Channel<R>, Vec<Diagnostic>) {
        let mut diagnostics = Vec::new();
        let unsorted = std::mem::take(&mut self.channel.readings);
        self.report_order(&unsorted, &mut diagnostics);
        let mut pairs: Vec<(Reading, u64)> = unsorted.into_iter().zip(self.lines.iter().copied()).collect();
        pairs.sort_by_key(|(r, _)| r.at);
        let mut kept: Vec<Reading> = Vec::with_capacity(pairs.len());
        for (reading, line) in pairs {
            match kept.last_mut() {
                Some(last) if last.at == reading.at => {
                    #[allow(clippy::float_cmp)]
                    let same = last.value == reading.value;
                    if !same && last.quality.counts() {
                        last.quality = Quality::Suspect(SuspectReason::ConflictingDuplicate);
                    }
                    diagnostics.push(self.diagnose(
                        DiagnosticKind::Duplicate { same_value: same },
                        reading,
                        line,
                    ));
                }
                _ => kept.push(reading),
            }
        }
        self.channel.readings = kept;
        (self.channel, diagnostics)
    }
    fn report_order(&self, readings: &[Reading], diagnostics: &mut Vec<Diagnostic>) {
        let pairs = readings.iter().zip(readings.iter().skip(1)).zip(self.lines.iter().skip(1));
        for ((before, after), line) in pairs {
            if after.at < before.at {
                let back_s = before.at.seconds_since(after.at);
                diagnostics.push(self.diagnose(DiagnosticKind::OutOfOrder { back_s }, *after, *line));
            }
        }
    }
    fn diagnose(&self, kind: DiagnosticKind, reading: Reading, line: u64) -> Diagnostic {
        let mut d = Diagnostic::new(kind).channel(&self.channel.name).at(reading.at);
        if line > 0 {
            d = d.line(line);
        }
        d.source = self.channel.source;
        d
    }
}
