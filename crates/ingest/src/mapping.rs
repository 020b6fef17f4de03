//! The mapping file: what a person confirmed about a logger's files, kept for the next one.
//!
//! ```
//! use fallrate_ingest::Mapping;
//! let mapping = Mapping::parse("logger.toml", r#"
//! version = 1
//! [clock]
//! form = "day-month-year"
//! zone = "Europe/Madrid"
//! [[column]]
//! heading = "Sonda 1"
//! role = "core"
//! number = 1
//! position = "rear right"
//! unit = "degC"
//! "#)?;
//! assert_eq!(Mapping::parse("again", &mapping.to_toml()?)?, mapping);
//! # Ok::<(), fallrate_ingest::IngestError>(())
//! ```

use fallrate_series::{CalendarDate, Instrument, Role};
use fallrate_units::{Mass, Quantity, RelativeHumidity, Temperature, TemperatureDifference};
use serde::{Deserialize, Serialize};

use crate::error::{IngestError, Place};
pub use crate::mapping_clock::{ClockForm, ClockMapping, ClockStep, Fold, HalfDay, Skipped};
use crate::number::DecimalMark;
use crate::roles::kind_of;
use crate::units_seen::Kind;

/// Everything given about a kind of file.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Mapping {
    /// Version of this form, 1.
    pub version: u32,
    /// A name for people.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// Texts or numbers that mean "no sensor" in this file, beside the usual ones.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub unplugged: Vec<String>,
    /// Leave out columns that no entry names, instead of proposing roles for them.
    #[serde(skip_serializing_if = "is_false")]
    pub ignore_other_columns: bool,
    /// How the table is laid out.
    #[serde(skip_serializing_if = "is_default")]
    pub layout: LayoutMapping,
    /// The clock.
    #[serde(skip_serializing_if = "is_default")]
    pub clock: ClockMapping,
    /// The columns.
    #[serde(rename = "column", skip_serializing_if = "Vec::is_empty")]
    pub columns: Vec<ColumnMapping>,
}

/// How the table is laid out; what is not given is found.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct LayoutMapping {
    /// Encoding ("windows-1252").
    #[serde(skip_serializing_if = "Option::is_none")]
    pub encoding: Option<String>,
    /// Delimiter: one of `,` `;` tab `|`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delimiter: Option<char>,
    /// Mark before decimals.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decimal: Option<DecimalMark>,
    /// Line of the headings, from 1; 0 where there are none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heading_line: Option<u64>,
    /// Sheet of a workbook.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
}

/// One column.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ColumnMapping {
    /// Heading, compared without capitals and outer spaces; empty to go by `column_number` alone.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub heading: String,
    /// Column of the table, from 1: where headings repeat or are missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column_number: Option<u32>,
    /// Word of [`ROLE_WORDS`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub role: Option<String>,
    /// Number of the probe or tray.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub number: Option<u16>,
    /// Position of a probe.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub position: String,
    /// Unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// Instrument behind it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub instrument: Option<InstrumentMapping>,
}

/// The instrument behind a column.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct InstrumentMapping {
    /// The plant's name or number for it.
    pub id: String,
    /// What it is.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub description: String,
    /// Tolerance with its unit ("0.5 degC", "3 %").
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<String>,
    /// Lowest reading with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low: Option<String>,
    /// Highest reading with its unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high: Option<String>,
    /// Day of the last calibration.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibrated_on: Option<CalendarDate>,
    /// Last day on which it holds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibration_due: Option<CalendarDate>,
    /// Certificate or check record.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub calibration_record: String,
}

#[allow(clippy::trivially_copy_pass_by_ref)]
fn is_false(b: &bool) -> bool {
    !*b
}
#[allow(clippy::trivially_copy_pass_by_ref)]
pub(crate) fn is_zero(v: &f64) -> bool {
    *v == 0.0
}
fn is_default<T: Default + PartialEq>(v: &T) -> bool {
    *v == T::default()
}

/// Words for roles in mapping files and hand entry.
pub const ROLE_WORDS: [&str; 17] = [
    "air", "wet-bulb", "rh", "core", "surface", "tray", "vent", "door", "fan", "steam", "heater", "power",
    "pressure", "room", "room-rh", "other", "ignore",
];

/// The role a word names; the outer `None` is an unknown word, the inner one leaves the column out.
#[must_use]
pub fn role_from_word(word: &str, number: u16, position: &str, heading: &str) -> Option<Option<Role>> {
    let position = position.trim().to_owned();
    Some(Some(match word.trim().to_ascii_lowercase().as_str() {
        "air" | "dry-bulb" => Role::AirDryBulb,
        "wet-bulb" | "wet" => Role::AirWetBulb,
        "rh" => Role::RelativeHumidity,
        "core" => Role::CoreProbe { number, position },
        "surface" => Role::SurfaceProbe { number, position },
        "tray" => Role::TrayWeight { tray: number },
        "vent" => Role::VentOpening,
        "door" => Role::DoorOpen,
        "fan" => Role::FanOn,
        "steam" => Role::SteamOn,
        "heater" => Role::HeaterOn,
        "power" => Role::Power,
        "pressure" => Role::AirPressure,
        "room" => Role::RoomDryBulb,
        "room-rh" => Role::RoomRelativeHumidity,
        "other" => Role::Other(heading.trim().to_owned()),
        "ignore" => return Some(None),
        _ => return None,
    }))
}

/// The word of a role.
#[must_use]
pub fn word_of_role(role: Option<&Role>) -> &'static str {
    match role {
        None => "ignore",
        Some(Role::AirDryBulb) => "air",
        Some(Role::AirWetBulb) => "wet-bulb",
        Some(Role::RelativeHumidity) => "rh",
        Some(Role::CoreProbe { .. }) => "core",
        Some(Role::SurfaceProbe { .. }) => "surface",
        Some(Role::TrayWeight { .. }) => "tray",
        Some(Role::VentOpening) => "vent",
        Some(Role::DoorOpen) => "door",
        Some(Role::FanOn) => "fan",
        Some(Role::SteamOn) => "steam",
        Some(Role::HeaterOn) => "heater",
        Some(Role::Power) => "power",
        Some(Role::AirPressure) => "pressure",
        Some(Role::RoomDryBulb) => "room",
        Some(Role::RoomRelativeHumidity) => "room-rh",
        Some(Role::Other(_)) => "other",
    }
}

impl ColumnMapping {
    /// A column with a role and what the role says about number and position.
    #[must_use]
    pub fn with_role(heading: &str, column_number: u32, role: Option<&Role>) -> Self {
        let (number, position) = match role {
            Some(Role::CoreProbe { number, position } | Role::SurfaceProbe { number, position }) => {
                (Some(*number), position.clone())
            }
            Some(Role::TrayWeight { tray }) => (Some(*tray), String::new()),
            _ => (None, String::new()),
        };
        Self {
            heading: heading.to_owned(),
            column_number: Some(column_number),
            role: Some(word_of_role(role).to_owned()),
            number,
            position,
            unit: None,
            instrument: None,
        }
    }

    /// Whether this entry means a column of a table.
    #[must_use]
    pub fn means(&self, heading: &str, column_number: u32, heading_repeats: bool) -> bool {
        let same = |a: &str, b: &str| a.trim().to_lowercase() == b.trim().to_lowercase();
        if self.heading.trim().is_empty() {
            return self.column_number == Some(column_number);
        }
        same(&self.heading, heading)
            && (!heading_repeats || self.column_number.is_none_or(|n| n == column_number))
    }
}

impl InstrumentMapping {
    /// The instrument for a channel of a role.
    ///
    /// # Errors
    /// [`IngestError::Mapping`] for a tolerance or limit that cannot be read.
    pub fn instrument(&self, role: &Role, place: &Place) -> Result<Instrument, IngestError> {
        let number =
            |key: &str, text: &Option<String>, difference: bool| -> Result<Option<f64>, IngestError> {
                let Some(text) = text else { return Ok(None) };
                base_value(kind_of(role), text, difference).map(Some).ok_or_else(|| IngestError::Mapping {
                    key: format!("instrument '{}' {key}", self.id),
                    found: text.clone(),
                    allowed: "a number with a unit of the channel".to_owned(),
                    place: place.clone(),
                })
            };
        let low = number("low", &self.low, false)?;
        let high = number("high", &self.high, false)?;
        let range = match (low, high) {
            (None, None) => None,
            (low, high) => Some((low.unwrap_or(f64::MIN), high.unwrap_or(f64::MAX))),
        };
        Ok(Instrument {
            id: self.id.clone(),
            description: self.description.clone(),
            tolerance: number("tolerance", &self.tolerance, true)?,
            range,
            calibrated_on: self.calibrated_on,
            calibration_due: self.calibration_due,
            calibration_record: self.calibration_record.clone(),
        })
    }
}

fn base_value(kind: Kind, text: &str, difference: bool) -> Option<f64> {
    match kind {
        Kind::Temperature if difference => TemperatureDifference::parse(text).ok().map(Quantity::base),
        Kind::Temperature => Temperature::parse(text).ok().map(Quantity::base),
        Kind::Share => RelativeHumidity::parse(text).ok().map(Quantity::base),
        Kind::Mass => Mass::parse(text).ok().map(Quantity::base),
        Kind::Power => fallrate_units::Power::parse(text).ok().map(Quantity::base),
        Kind::Pressure => fallrate_units::Pressure::parse(text).ok().map(Quantity::base),
        Kind::State | Kind::Other => text.trim().parse().ok(),
    }
}

impl Mapping {
    /// An empty mapping of this version.
    #[must_use]
    pub fn new() -> Self {
        Self { version: 1, ..Self::default() }
    }

    /// Reads a mapping file; `file` is its name for messages.
    ///
    /// # Errors
    /// [`IngestError::Mapping`] with the line.
    pub fn parse(file: &str, text: &str) -> Result<Self, IngestError> {
        let mapping: Self = toml::from_str(text).map_err(|e| {
            let upto = e.span().and_then(|s| text.get(..s.start)).unwrap_or("");
            IngestError::Mapping {
                key: "file".to_owned(),
                found: crate::error::shorten(e.message()),
                allowed: "the keys and values of a mapping, version 1".to_owned(),
                place: Place::line(file, 1 + upto.matches('\n').count() as u64),
            }
        })?;
        mapping.check(file)?;
        Ok(mapping)
    }

    fn check(&self, file: &str) -> Result<(), IngestError> {
        let bad = |key: String, found: String, allowed: String| {
            Err(IngestError::Mapping { key, found, allowed, place: Place::file(file) })
        };
        if self.version != 1 {
            return bad("version".into(), self.version.to_string(), "1".into());
        }
        if let Some(d) = self.layout.delimiter.filter(|d| !matches!(d, ',' | ';' | '\t' | '|')) {
            return bad("layout.delimiter".into(), d.to_string(), "comma, semicolon, tab or bar".into());
        }
        if let Some(label) = self.layout.encoding.as_ref().filter(|l| crate::encoding::named(l).is_none()) {
            return bad("layout.encoding".into(), label.clone(), "a name of the Encoding Standard".into());
        }
        if self.clock.columns.len() > 2 {
            return bad("clock.columns".into(), self.clock.columns.join(", "), "one or two columns".into());
        }
        for (key, value) in [
            ("offset_seconds", Some(self.clock.offset_seconds)),
            ("interval_seconds", self.clock.interval_seconds),
        ] {
            if value.is_some_and(|v| !v.is_finite() || v.abs() > 4e9) {
                return bad(
                    format!("clock.{key}"),
                    format!("{value:?}"),
                    "a finite number of seconds".into(),
                );
            }
        }
        for step in &self.clock.steps {
            if !step.add_seconds.is_finite() || step.add_seconds.abs() > 4e9 {
                return bad(
                    "clock.step".into(),
                    step.add_seconds.to_string(),
                    "a finite number of seconds".into(),
                );
            }
        }
        for column in &self.columns {
            let name = if column.heading.is_empty() { "#" } else { &column.heading };
            let role = column.role.as_deref().unwrap_or("other");
            let Some(role) = role_from_word(role, column.number.unwrap_or(0), &column.position, name) else {
                return bad(format!("column '{name}' role"), role.to_owned(), ROLE_WORDS.join(", "));
            };
            if let (Some(unit), Some(role), true) = (&column.unit, role, column.role.is_some())
                && crate::units_seen::unit_named(kind_of(&role), unit).is_none()
                && kind_of(&role) != Kind::Other
            {
                let allowed: Vec<&str> =
                    crate::units_seen::units_of(kind_of(&role)).iter().map(|u| u.symbol).collect();
                return bad(format!("column '{name}' unit"), unit.clone(), allowed.join(", "));
            }
        }
        Ok(())
    }

    /// Writes the mapping file.
    ///
    /// # Errors
    /// [`IngestError::Mapping`] where a value cannot be written as TOML.
    pub fn to_toml(&self) -> Result<String, IngestError> {
        toml::to_string(self).map_err(|e| IngestError::Mapping {
            key: "mapping".to_owned(),
            found: e.to_string(),
            allowed: "values that TOML can hold".to_owned(),
            place: Place::file("(new mapping)"),
        })
    }

    /// Whether all columns that the mapping names are among the headings: it is meant for such a file.
    #[must_use]
    pub fn fits(&self, headings: &[String]) -> bool {
        let named = self.columns.iter().filter(|c| !c.heading.is_empty());
        let mut any = false;
        for column in named {
            any = true;
            if !headings.iter().zip(1..).any(|(h, n)| column.means(h, n, false)) {
                return false;
            }
        }
        any
    }

    /// The entry for a column, made where there is none.
    pub fn column_entry(&mut self, heading: &str, column_number: u32) -> Option<&mut ColumnMapping> {
        let found = self.columns.iter().position(|c| c.means(heading, column_number, true));
        let at = match found {
            Some(at) => at,
            None => {
                self.columns.push(ColumnMapping {
                    heading: heading.to_owned(),
                    column_number: Some(column_number),
                    ..ColumnMapping::default()
                });
                self.columns.len() - 1
            }
        };
        self.columns.get_mut(at)
    }
}
