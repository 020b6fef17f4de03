//! How far the clocks of a record may stand apart (TOOL-20).
//!
//! Each clock has one unknown shift for the whole run. What is stated of it is an edge: at most so many seconds to the
//! true time, or to another file it was compared with. The shift between two clocks is then at most the shortest way
//! between them; without a way it is unknown.

use fallrate_series::{ClockEvidence, EventKind, Log, Realm, Role};

use crate::facts::{BatchFacts, StatedClock};
use crate::reason::Missing;

/// Which clock gave an instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Reader {
    /// The clock of the stated times.
    Stated,
    /// The clock of a source of the log.
    Source(usize),
}

impl Reader {
    /// Of a channel or event: its source's, or the stated one where it names none.
    pub fn of(source: Option<usize>) -> Self {
        source.map_or(Self::Stated, Self::Source)
    }
    const fn node(self) -> usize {
        match self {
            Self::Stated => 0,
            Self::Source(i) => i + 1,
        }
    }
}

/// Greatest shifts between all clocks of a record, s.
#[derive(Clone, Debug)]
pub(crate) struct Clocks {
    apart_s: Vec<Vec<f64>>,
    stated_is_known: bool,
}

impl Clocks {
    pub fn new<R: Realm>(log: &Log<R>, facts: &BatchFacts) -> Self {
        // Nodes: the stated clock, the sources, the true time.
        let n = log.sources.len() + 2;
        let source_named = |name: &str| {
            let mut found = log.sources.iter().enumerate().filter(|(_, s)| s.file_name == name);
            found.next().filter(|_| found.next().is_none()).map(|(i, _)| i + 1)
        };
        let mut edges: Vec<(usize, usize, f64)> = (0..n).map(|i| (i, i, 0.0)).collect();
        match &facts.stated_clock {
            Some(StatedClock::OfFile { file_name }) => {
                edges.extend(source_named(file_name).map(|node| (0, node, 0.0)));
            }
            Some(StatedClock::Own { uncertainty_s }) => edges.push((0, n - 1, *uncertainty_s)),
            None => {}
        }
        for (i, source) in log.sources.iter().enumerate() {
            let against = match &source.clock.evidence {
                ClockEvidence::Unknown => continue,
                ClockEvidence::Compared { with } => source_named(with).unwrap_or(n - 1),
                ClockEvidence::InFile | ClockEvidence::Declared { .. } => n - 1,
            };
            edges.extend(source.clock.uncertainty_s.map(|s| (i + 1, against, s)));
        }
        edges.retain(|(_, _, s)| s.is_finite() && *s >= 0.0);
        let known = |a: usize, b: usize| {
            let between = edges.iter().filter(|(x, y, _)| (*x, *y) == (a, b) || (*y, *x) == (a, b));
            between.fold(f64::INFINITY, |least, (_, _, s)| least.min(*s))
        };
        let apart_s = (0..n).map(|a| (0..n).map(|b| known(a, b)).collect()).collect();
        let out = (0..n).fold(Self { apart_s, stated_is_known: true }, |c, via| c.by_way_of(via, n));
        Self { stated_is_known: (1..n).any(|b| out.at(0, b).is_finite()), ..out }
    }

    /// With the ways over one more node.
    fn by_way_of(&self, via: usize, n: usize) -> Self {
        let way = |a: usize, b: usize| self.at(a, b).min(self.at(a, via) + self.at(via, b));
        Self { apart_s: (0..n).map(|a| (0..n).map(|b| way(a, b)).collect()).collect(), ..*self }
    }

    fn at(&self, a: usize, b: usize) -> f64 {
        self.apart_s.get(a).and_then(|row| row.get(b)).copied().unwrap_or(f64::INFINITY)
    }

    /// Greatest shift between two clocks, s; infinite where it is not known.
    pub fn apart_s(&self, a: Reader, b: Reader) -> f64 {
        self.at(a.node(), b.node())
    }

    /// Greatest known shift between any two clocks, s.
    pub fn widest_s(&self) -> f64 {
        let all = self.apart_s.iter().flatten().copied().filter(|s| s.is_finite());
        all.fold(0.0, f64::max)
    }

    /// What must be said of the clocks before a record can be judged: which source nobody vouches for, on which clock
    /// the stated times stand, and how far the sources that are read may be from it.
    pub fn missing<R: Realm>(&self, log: &Log<R>, reads: impl Fn(&Role) -> bool) -> Vec<Missing> {
        let unknown = log.sources.iter().filter(|s| !s.clock.is_known());
        let mut out: Vec<Missing> =
            unknown.map(|s| Missing::Clock { file_name: s.file_name.clone() }).collect();
        let channels = log.channels.iter().filter(|c| reads(&c.role)).filter_map(|c| c.source);
        let events = log.events.iter().filter(|e| is_read(&e.kind)).filter_map(|e| e.source);
        let read: std::collections::BTreeSet<usize> = channels.chain(events).collect();
        for i in read {
            out.extend(self.relation_missing(log, Reader::Source(i)).filter(|m| !out.contains(m)));
        }
        out
    }

    /// What must be said before a clock can be held against the stated times; nothing where nobody vouches for it (that
    /// is said of the source).
    pub fn relation_missing<R: Realm>(&self, log: &Log<R>, clock: Reader) -> Option<Missing> {
        let Reader::Source(i) = clock else { return None };
        let source = log.sources.get(i).filter(|s| s.clock.is_known())?;
        if self.apart_s(Reader::Stated, clock).is_finite() {
            return None;
        }
        Some(if self.stated_is_known {
            Missing::ClockUncertainty { file_name: source.file_name.clone() }
        } else {
            Missing::StatedClock
        })
    }
}

/// Channels whose instants a verdict rests on.
pub(crate) const fn judge_reads(role: &Role) -> bool {
    matches!(
        role,
        Role::CoreProbe { .. }
            | Role::SurfaceProbe { .. }
            | Role::AirDryBulb
            | Role::AirWetBulb
            | Role::RelativeHumidity
            | Role::VentOpening
            | Role::DoorOpen
            | Role::SteamOn
    )
}

/// Events whose instants a verdict rests on.
const fn is_read(kind: &EventKind) -> bool {
    matches!(
        kind,
        EventKind::SteamOn
            | EventKind::SteamOff
            | EventKind::VentShut
            | EventKind::VentOpened
            | EventKind::DoorOpen
    )
}
