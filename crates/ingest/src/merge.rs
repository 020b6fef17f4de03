//! Joining the logs of several files whose clocks differ.

use fallrate_series::{
    Channel, ChannelBuilder, ClockEvidence, Diagnostic, DiagnosticKind, Gap, GapReason, Log, Proof, Span,
};

use crate::error::IngestError;

/// A log and what its clock needs.
#[derive(Clone, Debug, PartialEq)]
pub struct MergePart {
    /// The log of one file (or of several already merged).
    pub log: Log<Proof>,
    /// Seconds to add to each of its readings; 0 where its clock is right.
    pub offset_s: f64,
    /// How the offset is known; `None` keeps what the log says.
    pub evidence: Option<ClockEvidence>,
    /// How well the clock is known with the offset, s either way. `None` keeps what the log says where neither an offset
    /// nor evidence is given here; what was said of a clock before it was moved does not hold for it afterwards.
    pub uncertainty_s: Option<f64>,
}

/// How logs are merged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct MergeOptions {
    /// Channels of the same name, role and instrument whose times do not run beside each other become one channel, with
    /// a gap between the files, where both files' clocks are stated alike: the channel is on one clock from then on.
    /// Without this every file keeps its own channels.
    pub join_continuations: bool,
}

/// Merges logs. Every offset that is not 0 is reported; so is a clock nobody vouches for.
///
/// # Errors
/// [`IngestError::Merge`] for no logs, the same bytes twice, an offset that is not finite, or an uncertainty below 0.
pub fn merge(parts: Vec<MergePart>, zone: &str, options: MergeOptions) -> Result<Log<Proof>, IngestError> {
    let bad = |found: String, allowed: &str| IngestError::Merge { found, allowed: allowed.to_owned() };
    if parts.is_empty() {
        return Err(bad("no logs".to_owned(), "one or more"));
    }
    let several = parts.len() > 1;
    let mut merged = Log::new(zone);
    for part in parts {
        if !part.offset_s.is_finite() || part.offset_s.abs() > 4e9 {
            return Err(bad(format!("an offset of {} s", part.offset_s), "a finite offset"));
        }
        if let Some(s) = part.uncertainty_s.filter(|s| !(s.is_finite() && *s >= 0.0)) {
            return Err(bad(format!("a clock known to {s} s"), "0 s or more"));
        }
        let first_source = merged.sources.len();
        for mut source in part.log.sources {
            if let Some(twin) = merged.sources.iter().find(|s| s.sha256 == source.sha256) {
                let found =
                    format!("the same bytes twice, as '{}' and '{}'", twin.file_name, source.file_name);
                return Err(bad(found, "each file once"));
            }
            source.clock.offset_s += part.offset_s;
            if part.offset_s != 0.0 || part.evidence.is_some() || part.uncertainty_s.is_some() {
                source.clock.uncertainty_s = part.uncertainty_s;
            }
            if let Some(evidence) = &part.evidence {
                source.clock.evidence = evidence.clone();
            }
            let index = merged.sources.len();
            merged.diagnostics.extend(clock_notes(&source, part.offset_s, several, index));
            merged.sources.push(source);
        }
        for diagnostic in part.log.diagnostics {
            merged.diagnostics.push(Diagnostic {
                source: diagnostic.source.map(|s| s + first_source),
                span: diagnostic.span.map(|s| shifted(s, part.offset_s)).transpose()?,
                ..diagnostic
            });
        }
        for mut event in part.log.events {
            event.at = event.at.plus_seconds(part.offset_s);
            event.until = event.until.map(|u| u.plus_seconds(part.offset_s));
            event.source = event.source.map(|s| s + first_source);
            merged.events.push(event);
        }
        for channel in part.log.channels {
            let moved = moved(channel, part.offset_s, first_source)?;
            add(&mut merged, moved, options)?;
        }
    }
    merged.events.sort_by_key(|e| e.at);
    Ok(merged)
}

fn clock_notes(
    source: &fallrate_series::Source,
    offset_s: f64,
    several: bool,
    index: usize,
) -> Vec<Diagnostic> {
    let mut list = Vec::new();
    if offset_s != 0.0 {
        list.push(DiagnosticKind::ClockOffsetApplied { seconds: offset_s });
    } else if several && !source.clock.is_known() {
        list.push(DiagnosticKind::ChoiceMade {
            what: format!("clock of '{}'", source.file_name),
            chosen: "taken as it stands".to_owned(),
            because: "no offset was given; nobody vouches for it".to_owned(),
        });
    }
    list.into_iter().map(|k| Diagnostic { source: Some(index), ..Diagnostic::new(k) }).collect()
}

fn shifted(span: Span, seconds: f64) -> Result<Span, IngestError> {
    Ok(Span::new(span.from().plus_seconds(seconds), span.to().plus_seconds(seconds))?)
}

/// The channel with its readings, gaps and answers moved and its source renumbered.
fn moved(channel: Channel<Proof>, offset_s: f64, first_source: usize) -> Result<Channel<Proof>, IngestError> {
    let readings: Vec<_> = channel.readings().to_vec();
    let mut builder = ChannelBuilder::<Proof>::new(&channel.name, channel.role, channel.provenance);
    if let Some(instrument) = channel.instrument {
        builder = builder.instrument(instrument);
    }
    if let Some(source) = channel.source {
        builder = builder.source(source + first_source);
    }
    for gap in channel.gaps {
        builder.gap(Gap { span: shifted(gap.span, offset_s)?, reason: gap.reason });
    }
    for mut reading in readings {
        reading.at = reading.at.plus_seconds(offset_s);
        builder.push(reading, 0)?;
    }
    let (mut built, _) = builder.finish();
    for mut answer in channel.answers {
        answer.span = shifted(answer.span, offset_s)?;
        built.answers.push(answer);
    }
    Ok(built)
}

fn add(merged: &mut Log<Proof>, channel: Channel<Proof>, options: MergeOptions) -> Result<(), IngestError> {
    let twin = merged.channels.iter().position(|c| {
        options.join_continuations && continues(c, &channel) && on_one_clock(merged, c.source, channel.source)
    });
    match twin {
        Some(at) => {
            let first = merged.channels.remove(at);
            let names = (first.source, channel.source);
            let (joined, mut diagnostics) = joined(first, channel)?;
            let file = |index: Option<usize>| {
                index
                    .and_then(|i| merged.sources.get(i))
                    .map_or("(by hand)", |s| s.file_name.as_str())
                    .to_owned()
            };
            diagnostics.push(
                Diagnostic::new(DiagnosticKind::ChoiceMade {
                    what: format!("channel '{}'", joined.name),
                    chosen: format!("joined from '{}' and '{}'", file(names.0), file(names.1)),
                    because: "same name, role and instrument".to_owned(),
                })
                .channel(&joined.name),
            );
            merged.channels.insert(at, joined);
            merged.diagnostics.extend(diagnostics);
            Ok(())
        }
        None => Ok(merged.add(channel, Vec::new())?),
    }
}

/// Whether two sources say the same of their clocks. Channels of different clocks are not joined: their shift against
/// each other would be lost.
fn on_one_clock(log: &Log<Proof>, a: Option<usize>, b: Option<usize>) -> bool {
    let clock = |i: Option<usize>| i.and_then(|i| log.sources.get(i)).map(|s| &s.clock);
    clock(a) == clock(b)
}

/// The same channel in another file: same name, role, provenance and instrument, and no two different courses beside
/// each other (readings in a common stretch have common instants, as when a logger is read out twice).
fn continues(a: &Channel<Proof>, b: &Channel<Proof>) -> bool {
    let id = |c: &Channel<Proof>| c.instrument.as_ref().map(|i| i.id.clone());
    if a.name != b.name || a.role != b.role || a.provenance != b.provenance || id(a) != id(b) {
        return false;
    }
    let (Some(x), Some(y)) = (a.span(), b.span()) else { return false };
    let Some(common) = x.overlap(y) else { return true };
    let inside: Vec<_> = b.readings().iter().filter(|r| common.contains(r.at)).collect();
    let shared = inside.iter().filter(|r| a.readings().binary_search_by_key(&r.at, |q| q.at).is_ok()).count();
    !inside.is_empty() && shared * 10 >= inside.len() * 9
}

fn joined(a: Channel<Proof>, b: Channel<Proof>) -> Result<(Channel<Proof>, Vec<Diagnostic>), IngestError> {
    let between = match (a.span(), b.span()) {
        (Some(x), Some(y)) if x.to() < y.from() => Span::new(x.to(), y.from()).ok(),
        (Some(x), Some(y)) if y.to() < x.from() => Span::new(y.to(), x.from()).ok(),
        _ => None,
    };
    let mut builder = ChannelBuilder::<Proof>::new(&a.name, a.role.clone(), a.provenance);
    if let Some(instrument) = a.instrument.clone() {
        builder = builder.instrument(instrument);
    }
    if let Some(source) = a.source {
        builder = builder.source(source);
    }
    for gap in a.gaps.iter().chain(&b.gaps) {
        builder.gap(*gap);
    }
    if let Some(span) = between {
        builder.gap(Gap { span, reason: GapReason::BetweenFiles });
    }
    let mut ordered: Vec<_> = a.readings().iter().chain(b.readings()).copied().collect();
    ordered.sort_by_key(|r| r.at);
    for reading in ordered {
        builder.push(reading, 0)?;
    }
    let (mut channel, diagnostics) = builder.finish();
    channel.answers = a.answers.into_iter().chain(b.answers).collect();
    Ok((channel, diagnostics))
}
