//! What was wrong with a log.

use serde::{Deserialize, Serialize};

use crate::{Instant, Span};

/// How much a diagnostic matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// For information.
    Note,
    /// Readings are suspect or a choice was made that someone should see.
    Warning,
    /// Something could not be read or does not count.
    Problem,
}

/// One thing that was wrong, and where.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Diagnostic {
    /// What.
    pub kind: DiagnosticKind,
    /// Name of the channel.
    pub channel: Option<String>,
    /// When, from and to.
    pub span: Option<Span>,
    /// Index of the source in the log.
    pub source: Option<usize>,
    /// Line of the file, from 1.
    pub line: Option<u64>,
    /// Column of the table, from 1.
    pub column: Option<u32>,
    /// How often this happened in the span, 1 where it stands alone.
    pub count: u64,
}

/// What can be wrong with a log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum DiagnosticKind {
    /// Nothing recorded for longer than the usual step.
    Gap {
        /// How long, s.
        seconds: f64,
        /// The usual step, s.
        usual_step_s: f64,
    },
    /// A second reading for one instant.
    Duplicate {
        /// Whether both have the same value.
        same_value: bool,
    },
    /// A reading earlier than the one before it.
    OutOfOrder {
        /// By how much, s.
        back_s: f64,
    },
    /// The logger's clock was changed.
    ClockJump {
        /// Forward by so much, s; negative for backward.
        by_s: f64,
    },
    /// A local clock reading that exists twice.
    AmbiguousLocalTime {
        /// Text found.
        text: String,
    },
    /// A local clock reading that does not exist.
    NonexistentLocalTime {
        /// Text found.
        text: String,
    },
    /// The same value for a long while.
    Stuck {
        /// How long, s.
        seconds: f64,
    },
    /// Up and back within a reading or two.
    Spike {
        /// How far from its neighbours, in the base unit.
        by: f64,
    },
    /// Outside the instrument's range.
    OutOfInstrumentRange {
        /// Value, in the base unit.
        value: f64,
        /// Lowest.
        low: f64,
        /// Highest.
        high: f64,
    },
    /// A fault code of the logger.
    FaultCode {
        /// Text found.
        text: String,
    },
    /// Relative humidity above 100 %.
    RelativeHumidityAbove100 {
        /// Value, fraction.
        value: f64,
    },
    /// Wet bulb above dry bulb.
    WetBulbAboveDryBulb {
        /// By how much, K.
        by_k: f64,
    },
    /// The sock may have run dry: the wet bulb climbs to the dry bulb.
    SockPerhapsDry,
    /// The humidity sensor may be condensing.
    SensorCondensing,
    /// A probe may be in hot air, not in the product.
    PerhapsNotInProduct,
    /// A cell that could not be read.
    UnreadableCell {
        /// Text found.
        text: String,
        /// What was expected.
        expected: String,
    },
    /// A row with too few or too many cells.
    RaggedRow {
        /// Cells found.
        found: usize,
        /// Cells expected.
        expected: usize,
    },
    /// Lines before the table or after it that are not readings.
    NotATableLine {
        /// Text found, shortened.
        text: String,
    },
    /// The bytes were not what the encoding allows.
    EncodingRepaired {
        /// Name of the encoding.
        encoding: String,
    },
    /// A choice the reader made and that a person should see.
    ChoiceMade {
        /// What was chosen ("date order").
        what: String,
        /// What it was set to ("day first").
        chosen: String,
        /// Why it was certain.
        because: String,
    },
    /// A clock offset was applied.
    ClockOffsetApplied {
        /// Seconds added.
        seconds: f64,
    },
    /// The file ends in the middle of a row.
    Truncated,
}

impl DiagnosticKind {
    /// How much it matters.
    #[must_use]
    pub const fn severity(&self) -> Severity {
        match self {
            Self::Duplicate { same_value: true }
            | Self::NotATableLine { .. }
            | Self::ChoiceMade { .. }
            | Self::ClockOffsetApplied { .. } => Severity::Note,
            Self::Duplicate { .. }
            | Self::OutOfOrder { .. }
            | Self::Stuck { .. }
            | Self::Spike { .. }
            | Self::SockPerhapsDry
            | Self::SensorCondensing
            | Self::PerhapsNotInProduct
            | Self::EncodingRepaired { .. } => Severity::Warning,
            _ => Severity::Problem,
        }
    }
}

impl Diagnostic {
    /// One thing that was wrong, without a place.
    #[must_use]
    pub const fn new(kind: DiagnosticKind) -> Self {
        Self { kind, channel: None, span: None, source: None, line: None, column: None, count: 1 }
    }
    /// With the channel's name.
    #[must_use]
    pub fn channel(mut self, name: &str) -> Self {
        self.channel = Some(name.to_owned());
        self
    }
    /// With an instant.
    #[must_use]
    pub fn at(mut self, at: Instant) -> Self {
        self.span = Span::new(at, at).ok();
        self
    }
    /// With a span.
    #[must_use]
    pub const fn span(mut self, span: Span) -> Self {
        self.span = Some(span);
        self
    }
    /// With the line of the file, from 1.
    #[must_use]
    pub const fn line(mut self, line: u64) -> Self {
        self.line = Some(line);
        self
    }
    /// With the column of the table, from 1.
    #[must_use]
    pub const fn column(mut self, column: u32) -> Self {
        self.column = Some(column);
        self
    }
}
