//! Suspect readings that wait for a named person's answer.

use fallrate_series::{Log, Proof, Quality, Span, SuspectReason};

/// A stretch of suspect readings of one channel.
#[derive(Clone, Debug, PartialEq)]
pub struct SuspectStretch {
    /// Channel.
    pub channel: String,
    /// From the first to the last of them.
    pub span: Span,
    /// Why they are suspect.
    pub about: SuspectReason,
    /// How many.
    pub readings: usize,
}

/// Stretches of suspect readings, by channel and time. Readings that count, or that wait for another reason, end one.
#[must_use]
pub fn suspects(log: &Log<Proof>) -> Vec<SuspectStretch> {
    let mut out = Vec::new();
    for c in &log.channels {
        let mut open: Option<SuspectStretch> = None;
        for r in c.readings() {
            let reason = match r.quality {
                Quality::Suspect(reason) => Some(reason),
                _ => None,
            };
            if let (Some(stretch), Some(reason)) = (&mut open, reason)
                && stretch.about == reason
                && let Ok(span) = Span::new(stretch.span.from(), r.at)
            {
                stretch.span = span;
                stretch.readings += 1;
                continue;
            }
            out.extend(open.take());
            open = reason.and_then(|about| {
                let span = Span::new(r.at, r.at).ok()?;
                Some(SuspectStretch { channel: c.name.clone(), span, about, readings: 1 })
            });
        }
        out.extend(open);
    }
    out
}
