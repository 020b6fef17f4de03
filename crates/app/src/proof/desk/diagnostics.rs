//! What was read of a file and what was wrong with it, line by line, in the reader's words.

use fallrate_series::{Diagnostic, DiagnosticKind as K, Log, Proof, Severity};

use crate::proof::LocalClock;
use crate::proof::words;
use crate::words::{Reader, fixed, say};

/// Lines about the channels, and lines about what was wrong.
#[must_use]
pub fn reading_lines(log: &Log<Proof>, r: &Reader) -> (Vec<String>, Vec<String>) {
    let clock = LocalClock::named(&log.zone);
    let at = |i| clock.as_ref().map_or_else(String::new, |c| c.day_and_minute(i));
    let mut channels: Vec<String> = log
        .channels
        .iter()
        .map(|c| {
            let span =
                c.span().map_or_else(|| ("–".to_owned(), "–".to_owned()), |s| (at(s.from()), at(s.to())));
            let suspect = c.readings().iter().filter(|x| !x.quality.counts()).count();
            say!(
                r,
                "read-channel",
                name = c.name.clone(),
                what = words::role(r, &c.role),
                count = c.readings().len().to_string(),
                from = span.0,
                to = span.1,
                uncounted = suspect.to_string()
            )
        })
        .collect();
    channels.extend(
        log.events.iter().map(|e| say!(r, "read-event", what = words::event(r, &e.kind), at = at(e.at))),
    );
    let mut list: Vec<&Diagnostic> = log.diagnostics.iter().collect();
    list.sort_by_key(|d| std::cmp::Reverse(d.kind.severity()));
    let lines = list.iter().map(|d| {
        let mut parts = vec![severity(r, d.kind.severity()), what(r, &d.kind)];
        parts.extend(d.channel.clone());
        parts.extend(d.span.map(|s| {
            if s.from() == s.to() { at(s.from()) } else { format!("{}–{}", at(s.from()), at(s.to())) }
        }));
        parts.extend(d.line.map(|n| say!(r, "read-line", line = n.to_string())));
        if d.count > 1 {
            parts.push(say!(r, "read-times", count = d.count.to_string()));
        }
        parts.join(" · ")
    });
    (channels, lines.collect())
}

fn severity(r: &Reader, s: Severity) -> String {
    r.text(match s {
        Severity::Note => "level-note",
        Severity::Warning => "level-caution",
        Severity::Problem => "read-problem",
    })
}

fn what(r: &Reader, k: &K) -> String {
    let s = |v: f64| fixed(v, 0);
    match k {
        K::Gap { seconds, .. } => say!(r, "read-gap", minutes = fixed(seconds / 60.0, 1)),
        K::Duplicate { same_value: true } => r.text("read-duplicate"),
        K::Duplicate { .. } => r.text("suspect-duplicate"),
        K::OutOfOrder { back_s } => say!(r, "read-order", seconds = s(*back_s)),
        K::ClockJump { by_s } => say!(r, "read-jump", seconds = s(*by_s)),
        K::AmbiguousLocalTime { .. } => r.text("suspect-ambiguous"),
        K::NonexistentLocalTime { text } => say!(r, "read-no-time", text = text.clone()),
        K::Stuck { seconds } => say!(r, "read-stuck", minutes = fixed(seconds / 60.0, 0)),
        K::Spike { .. } => r.text("suspect-spike"),
        K::OutOfInstrumentRange { .. } => r.text("excluded-range"),
        K::FaultCode { text } => say!(r, "read-fault", text = text.clone()),
        K::RelativeHumidityAbove100 { .. } => r.text("excluded-rh"),
        K::WetBulbAboveDryBulb { .. } => r.text("excluded-wet-bulb"),
        K::SockPerhapsDry => r.text("suspect-sock"),
        K::SensorCondensing => r.text("suspect-condensing"),
        K::PerhapsNotInProduct => r.text("suspect-not-in-product"),
        K::UnreadableCell { text, .. } => say!(r, "read-cell", text = text.clone()),
        K::RaggedRow { found, expected } => {
            say!(r, "read-ragged", found = found.to_string(), expected = expected.to_string())
        }
        K::NotATableLine { text } => say!(r, "read-not-table", text = text.clone()),
        K::EncodingRepaired { encoding } => say!(r, "read-encoding", encoding = encoding.clone()),
        K::ChoiceMade { what, chosen, because } => {
            say!(r, "choice-made", what = what.clone(), chosen = chosen.clone(), because = because.clone())
        }
        K::ClockOffsetApplied { seconds } => say!(r, "read-offset", seconds = s(*seconds)),
        K::Truncated => r.text("read-truncated"),
        _ => r.text("read-other"),
    }
}
