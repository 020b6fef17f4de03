//! A log: all channels of one run, with their sources, clock and diagnostics.

use serde::{Deserialize, Serialize};

use crate::{Channel, Diagnostic, Event, Realm, Role, SeriesError, Span};

/// A file the readings came from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Source {
    /// Name of the file, without its folder.
    pub file_name: String,
    /// SHA-256 of the original bytes, 64 lower-case hexadecimal digits.
    pub sha256: String,
    /// Number of bytes.
    pub bytes: u64,
    /// The clock of the logger that wrote it.
    pub clock: Clock,
}

/// How sure the clock of a source is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ClockEvidence {
    /// Nobody has said in which zone or how right the clock was: the record cannot be judged.
    Unknown,
    /// The file itself carries the offset from UTC.
    InFile,
    /// A person gave the zone or the offset.
    Declared {
        /// Who.
        by: String,
    },
    /// Compared with another clock or a common mark; the uncertainty is that of the comparison.
    Compared {
        /// With what: the name of another file of the log, else a reference that shows the true time.
        with: String,
    },
}

/// A logger's clock.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Clock {
    /// Name of the time zone the file was read in; empty where the file carries UTC offsets.
    pub zone: String,
    /// Seconds that were added to the logger's clock, already contained in every instant.
    pub offset_s: f64,
    /// How well that is known, s either way: against the true time, or against the file that [`ClockEvidence::Compared`]
    /// names. `None` where nobody said.
    pub uncertainty_s: Option<f64>,
    /// How it is known.
    pub evidence: ClockEvidence,
}

impl Clock {
    /// Whether somebody or the file vouches for the clock.
    #[must_use]
    pub fn is_known(&self) -> bool {
        self.evidence != ClockEvidence::Unknown
    }
}

/// All channels of one run. `R` says whether it is proof or rehearsal.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(bound = "", try_from = "LogOnDisk<R>", into = "LogOnDisk<R>")]
pub struct Log<R: Realm> {
    /// Name of the time zone for printing ("Europe/Dublin").
    pub zone: String,
    /// The files, in the order given.
    pub sources: Vec<Source>,
    /// The channels, in the order of the files and columns.
    pub channels: Vec<Channel<R>>,
    /// What happened, in the order entered.
    pub events: Vec<Event>,
    /// Everything that was wrong.
    pub diagnostics: Vec<Diagnostic>,
}

impl<R: Realm> Log<R> {
    /// An empty log.
    #[must_use]
    pub fn new(zone: &str) -> Self {
        Self {
            zone: zone.to_owned(),
            sources: Vec::new(),
            channels: Vec::new(),
            events: Vec::new(),
            diagnostics: Vec::new(),
        }
    }
    /// Adds a channel and what was wrong with it.
    ///
    /// # Errors
    /// [`SeriesError::NoSuchSource`] where the channel names a source the log does not have.
    pub fn add(&mut self, channel: Channel<R>, diagnostics: Vec<Diagnostic>) -> Result<(), SeriesError> {
        if let Some(index) = channel.source.filter(|i| *i >= self.sources.len()) {
            return Err(SeriesError::NoSuchSource {
                channel: channel.name,
                index,
                sources: self.sources.len(),
            });
        }
        self.channels.push(channel);
        self.diagnostics.extend(diagnostics);
        Ok(())
    }
    /// Channels of a role, in order.
    pub fn with_role<'a>(&'a self, role: &'a Role) -> impl Iterator<Item = &'a Channel<R>> + 'a {
        self.channels.iter().filter(move |c| c.role == *role)
    }
    /// Channels of probes inside the product at a position, in order.
    pub fn core_probes<'a>(&'a self, position: &'a str) -> impl Iterator<Item = &'a Channel<R>> + 'a {
        self.channels
            .iter()
            .filter(move |c| matches!(&c.role, Role::CoreProbe { position: p, .. } if p == position))
    }
    /// Names of the positions that have a probe inside the product, sorted, each once.
    #[must_use]
    pub fn core_positions(&self) -> Vec<String> {
        let mut names: Vec<String> = self
            .channels
            .iter()
            .filter_map(|c| match &c.role {
                Role::CoreProbe { position, .. } => Some(position.clone()),
                _ => None,
            })
            .collect();
        names.sort();
        names.dedup();
        names
    }
    /// From the first reading of any channel to the last.
    #[must_use]
    pub fn span(&self) -> Option<Span> {
        let spans: Vec<Span> = self.channels.iter().filter_map(Channel::span).collect();
        let from = spans.iter().map(|s| s.from()).min()?;
        let to = spans.iter().map(|s| s.to()).max()?;
        Span::new(from, to).ok()
    }
}

impl Log<crate::Proof> {
    /// The same readings marked as invented for a demonstration. There is no way back.
    #[must_use]
    pub fn into_demo(self) -> Log<crate::Rehearsal> {
        let Self { zone, sources, channels, events, diagnostics } = self;
        let channels = channels.into_iter().map(Channel::into_demo).collect();
        Log { zone, sources, channels, events, diagnostics }
    }
}

#[derive(Clone, Serialize, Deserialize)]
#[serde(bound = "")]
struct LogOnDisk<R: Realm> {
    realm: String,
    zone: String,
    sources: Vec<Source>,
    channels: Vec<Channel<R>>,
    events: Vec<Event>,
    diagnostics: Vec<Diagnostic>,
}

impl<R: Realm> From<Log<R>> for LogOnDisk<R> {
    fn from(log: Log<R>) -> Self {
        let Log { zone, sources, channels, events, diagnostics } = log;
        Self { realm: R::NAME.to_owned(), zone, sources, channels, events, diagnostics }
    }
}

impl<R: Realm> TryFrom<LogOnDisk<R>> for Log<R> {
    type Error = String;
    fn try_from(disk: LogOnDisk<R>) -> Result<Self, String> {
        if disk.realm != R::NAME {
            return Err(format!("log of realm '{}'; allowed here: '{}'", disk.realm, R::NAME));
        }
        let ordered = |c: &Channel<R>| c.intervals().all(|i| i.first.at < i.second.at);
        if let Some(c) = disk.channels.iter().find(|c| !ordered(c)) {
            return Err(format!(
                "channel '{}': readings are not in strictly rising order of instant",
                c.name
            ));
        }
        let LogOnDisk { zone, sources, channels, events, diagnostics, .. } = disk;
        Ok(Self { zone, sources, channels, events, diagnostics })
    }
}
