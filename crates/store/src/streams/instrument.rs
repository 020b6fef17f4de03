//! The stream of an instrument: what it is, and its calibrations.

use fallrate_series::{CalendarDate, Instant, Instrument};
use serde::{Deserialize, Serialize};

use super::unknown_variant;
use crate::rules::{number, text};
use crate::time::iso_option;
use crate::{Chain, Entry, EntryBody, Rule, UnknownBody, day_in_zone};

/// What an entry about an instrument says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "body", rename_all = "snake_case")]
pub enum InstrumentBody {
    /// What the instrument is; the latest such entry counts.
    Described(InstrumentDescribed),
    /// It was calibrated or checked.
    Calibrated(Calibrated),
    /// It is not to be used any more.
    Retired(InstrumentRetired),
    /// A kind this version does not know.
    #[serde(skip)]
    Unknown(UnknownBody),
}

/// What an instrument measures, and with that the unit of its figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum InstrumentUnit {
    /// Temperature, degC; differences in K.
    Celsius,
    /// Relative humidity or water activity, fraction of one.
    Fraction,
    /// Mass, kg.
    Kilograms,
    /// pH.
    Ph,
    /// Pressure, Pa.
    Pascals,
    /// Power, W.
    Watts,
    /// A clock: seconds.
    Seconds,
}

/// What an instrument is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InstrumentDescribed {
    /// What it is ("type K probe, 1.5 mm").
    pub description: String,
    /// Unit of all its figures.
    pub unit: InstrumentUnit,
    /// Tolerance either way; `None` where unknown.
    pub tolerance: Option<f64>,
    /// Lowest and highest value it can read; `None` where unknown.
    pub range: Option<(f64, f64)>,
    /// Days between calibrations by the plant's plan; `None` where it has none.
    pub calibrate_every_days: Option<u32>,
    /// Why that interval, for an inspector.
    pub interval_reason: String,
}

/// One point of a calibration.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CalibrationPoint {
    /// Value of the reference.
    pub reference: f64,
    /// What the instrument showed, before any adjustment.
    pub shown: f64,
    /// What it showed after an adjustment, where there was one.
    pub after: Option<f64>,
}

/// A calibration or check (RECORD-H08).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Calibrated {
    /// Against what ("ice bath and boiling water at 640 m", "reference thermometer R-2").
    pub against: String,
    /// The points.
    pub points: Vec<CalibrationPoint>,
    /// Whether it may be used.
    pub passed: bool,
    /// Tolerance from this calibration on, where it is another one.
    pub tolerance: Option<f64>,
    /// Last day on which it holds; `None`: by the interval, or without an end.
    pub due: Option<CalendarDate>,
    /// Certificate or check record, by its name.
    pub record: String,
    /// When it was made; `None` where it was as it was entered.
    #[serde(default, with = "iso_option")]
    pub happened: Option<Instant>,
}

/// An instrument is retired.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InstrumentRetired {
    /// Why.
    pub note: String,
}

impl EntryBody for InstrumentBody {
    unknown_variant!();
    fn happened(&self) -> Option<Instant> {
        match self {
            Self::Calibrated(c) => c.happened,
            _ => None,
        }
    }
    fn check(&self, this: &Entry<Self>, _before: &[Entry<Self>]) -> Result<(), Rule> {
        let not_negative = |v: f64| number(v, (0.0, f64::MAX), "tolerance", "", "0 or more");
        match self {
            Self::Described(d) => {
                text(&d.description, "instrument", "what it is")?;
                d.tolerance.map_or(Ok(()), not_negative)
            }
            Self::Unknown(_) => Ok(()),
            _ if this.n == 1 => Err(Rule::NotOpened),
            Self::Calibrated(c) => {
                text(&c.against, "reference", "what it was compared with")?;
                c.tolerance.map_or(Ok(()), not_negative)
            }
            Self::Retired(_) => Ok(()),
        }
    }
}

/// An instrument as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct InstrumentView {
    /// Unit of its figures.
    pub unit: InstrumentUnit,
    /// As series know it: tolerance, range, last calibration that was passed and the day it is due.
    pub instrument: Instrument,
    /// Whether it may be used: not retired, and the last check was passed.
    pub usable: bool,
    /// Whether it was retired.
    pub retired: bool,
}

impl Chain<InstrumentBody> {
    /// The instrument as it stands. `id` is the plant's name for it. A failed check leaves it without a calibration
    /// until one is passed.
    #[must_use]
    pub fn view(&self, id: &str) -> Option<InstrumentView> {
        let described = self.entries().iter().rev().find_map(|e| match &e.body {
            InstrumentBody::Described(d) => Some(d),
            _ => None,
        })?;
        let mut instrument = Instrument {
            id: id.to_owned(),
            description: described.description.clone(),
            tolerance: described.tolerance,
            range: described.range,
            ..Instrument::default()
        };
        let last = self.entries().iter().rev().find_map(|e| match &e.body {
            InstrumentBody::Calibrated(c) => Some((e, c)),
            _ => None,
        });
        let passed = last.filter(|(_, c)| c.passed);
        if let Some((e, c)) = passed {
            let on = day_in_zone(c.happened.unwrap_or(e.at), &e.zone);
            let by_interval = described
                .calibrate_every_days
                .map(|days| CalendarDate::from_days_since_epoch(on.days_since_epoch() + i64::from(days)));
            instrument.calibrated_on = Some(on);
            instrument.calibration_due = c.due.or(by_interval);
            instrument.calibration_record = c.record.clone();
            instrument.tolerance = c.tolerance.or(described.tolerance);
        }
        let retired = matches!(self.entries().last().map(|e| &e.body), Some(InstrumentBody::Retired(_)));
        let usable = !retired && passed.is_some();
        Some(InstrumentView { unit: described.unit, instrument, usable, retired })
    }
}
