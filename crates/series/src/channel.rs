//! One measured channel.

use serde::{Deserialize, Serialize};

use crate::{
    ExcludedReason, Instant, Instrument, Quality, Reading, Realm, Role, SeriesError, Span, SuspectReason,
};

/// Why nothing was recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GapReason {
    /// The logger wrote nothing.
    NothingRecorded,
    /// The cell was empty.
    EmptyCell,
    /// The cell could not be read.
    UnreadableCell,
    /// Between the end of one file and the beginning of the next.
    BetweenFiles,
    /// The logger's clock was changed.
    ClockJump,
}

/// A stretch for which the channel holds nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Gap {
    /// From the last reading before to the first after.
    pub span: Span,
    /// Why.
    pub reason: GapReason,
}

/// What a named person said about suspect readings.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    /// Which stretch.
    pub span: Span,
    /// What was suspect.
    pub about: SuspectReason,
    /// Whether the readings may count.
    pub accepted: bool,
    /// Who answered.
    pub by: String,
    /// Why.
    pub reason: String,
    /// When they answered.
    pub answered_at: Instant,
    /// How many readings the answer changed.
    pub readings: usize,
}

/// Two neighbouring readings and the stretch between them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// The earlier reading.
    pub first: Reading,
    /// The later reading.
    pub second: Reading,
}

impl Interval {
    /// Length in seconds, above 0.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.second.at.seconds_since(self.first.at)
    }
    /// Whether both readings count.
    #[must_use]
    pub fn both_count(&self) -> bool {
        self.first.quality.counts() && self.second.quality.counts()
    }
}

/// One measured channel: readings in strictly rising order of instant, with what is known about them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(bound = "")]
pub struct Channel<R: Realm> {
    /// Name, as a rule the column's heading.
    pub name: String,
    /// What it measures.
    pub role: Role,
    /// Where the values come from.
    pub provenance: R::Provenance,
    /// The instrument, where one is named.
    pub instrument: Option<Instrument>,
    /// Index of the source in [`crate::Log::sources`]; `None` for values entered by hand.
    pub source: Option<usize>,
    /// Known gaps. A long wait between two readings is a gap even where it is not listed here.
    pub gaps: Vec<Gap>,
    /// What named persons said about suspect readings, in the order given.
    pub answers: Vec<Answer>,
    pub(crate) readings: Vec<Reading>,
}

impl Channel<crate::Proof> {
    /// The same readings marked as invented.
    pub(crate) fn into_demo(self) -> Channel<crate::Rehearsal> {
        Channel {
            name: self.name,
            role: self.role,
            provenance: crate::RehearsalProvenance::Demo,
            instrument: self.instrument,
            source: self.source,
            gaps: self.gaps,
            answers: self.answers,
            readings: self.readings,
        }
    }
}

impl<R: Realm> Channel<R> {
    /// The readings, in strictly rising order of instant.
    #[must_use]
    pub fn readings(&self) -> &[Reading] {
        &self.readings
    }
    /// First and last instant; `None` where there is no reading.
    #[must_use]
    pub fn span(&self) -> Option<Span> {
        let (first, last) = (self.readings.first()?, self.readings.last()?);
        Span::new(first.at, last.at).ok()
    }
    /// The stretches between neighbouring readings.
    pub fn intervals(&self) -> impl Iterator<Item = Interval> + '_ {
        self.readings
            .iter()
            .zip(self.readings.iter().skip(1))
            .map(|(a, b)| Interval { first: *a, second: *b })
    }
    /// Tolerance of the instrument in the base unit, where it is known.
    #[must_use]
    pub fn tolerance(&self) -> Option<f64> {
        self.instrument.as_ref().and_then(|i| i.tolerance).filter(|t| t.is_finite() && *t >= 0.0)
    }
    /// Marks the readings of a span as suspect, unless they already are or were answered, or are excluded.
    /// Returns how many were marked.
    pub fn mark_suspect(&mut self, span: Span, reason: SuspectReason) -> usize {
        self.change(span, |q| match q {
            Quality::Valid => Some(Quality::Suspect(reason)),
            _ => None,
        })
    }
    /// Excludes the readings of a span. Returns how many were changed.
    pub fn exclude(&mut self, span: Span, reason: ExcludedReason) -> usize {
        self.change(span, |q| match q {
            Quality::Excluded(_) => None,
            _ => Some(Quality::Excluded(reason)),
        })
    }
    /// Records what a named person says about suspect readings of a span: they count, or they are rejected.
    ///
    /// # Errors
    /// [`SeriesError::AnswerIncomplete`] without a name or a reason.
    pub fn answer(&mut self, answer: Answer) -> Result<usize, SeriesError> {
        for (text, missing) in [(&answer.by, "the person's name"), (&answer.reason, "the reason")] {
            if text.trim().is_empty() {
                return Err(SeriesError::AnswerIncomplete { missing });
            }
        }
        let (about, accepted) = (answer.about, answer.accepted);
        let n = self.change(answer.span, |q| match q {
            Quality::Suspect(r) if r == about => Some(if accepted {
                Quality::Answered(r)
            } else {
                Quality::Excluded(ExcludedReason::RejectedByPerson)
            }),
            _ => None,
        });
        self.answers.push(Answer { readings: n, ..answer });
        Ok(n)
    }
    fn change(&mut self, span: Span, f: impl Fn(Quality) -> Option<Quality>) -> usize {
        let mut n = 0;
        let start = self.readings.partition_point(|r| r.at < span.from());
        for r in self.readings.iter_mut().skip(start).take_while(|r| r.at <= span.to()) {
            if let Some(q) = f(r.quality) {
                r.quality = q;
                n += 1;
            }
        }
        n
    }
}
