//! The stream of the plant's settings.

use std::collections::BTreeMap;

use fallrate_lethality::Retention;
use fallrate_series::Instant;
use serde::{Deserialize, Serialize};

use super::unknown_variant;
use crate::rules::{number, text};
use crate::{Chain, Entry, EntryBody, Rule, UnknownBody, is_zone};

/// What an entry about the plant says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "body", rename_all = "snake_case")]
pub enum PlantBody {
    /// All settings; the latest entry counts.
    Set(Box<PlantSettings>),
    /// A kind this version does not know.
    #[serde(skip)]
    Unknown(UnknownBody),
}

/// Units people see.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlantUnits {
    /// Degrees Celsius and kilograms.
    Si,
    /// Degrees Fahrenheit and pounds.
    Us,
}

/// The settings of a plant.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlantSettings {
    /// Name of the establishment.
    pub establishment: String,
    /// Where it is.
    pub place: String,
    /// Its number, where it has one.
    pub establishment_number: Option<String>,
    /// Time zone ("America/Chicago").
    pub zone: String,
    /// Altitude, m; -430 to 6000.
    pub altitude_m: f64,
    /// Units, the same for everybody.
    pub units: PlantUnits,
    /// Language pages open in, as its two letters.
    pub language: String,
    /// Longest interval between two readings by the plan, min; above 0 to 1440.
    pub monitoring_interval_min: f64,
    /// How long records are kept.
    pub retention: Retention,
    /// Name of the HACCP or food-safety plan.
    pub plan_name: String,
    /// Its version.
    pub plan_version: String,
    /// Further settings by name.
    #[serde(default)]
    pub more: BTreeMap<String, String>,
}

impl EntryBody for PlantBody {
    unknown_variant!();
    fn happened(&self) -> Option<Instant> {
        None
    }
    fn check(&self, _this: &Entry<Self>, _before: &[Entry<Self>]) -> Result<(), Rule> {
        let Self::Set(s) = self else { return Ok(()) };
        text(&s.establishment, "establishment", "its name")?;
        text(&s.place, "place of the establishment", "town or address")?;
        if !is_zone(&s.zone) {
            return Err(Rule::Zone { zone: s.zone.clone() });
        }
        number(s.altitude_m, (-430.0, 6000.0), "altitude", "m", "-430 to 6000 m")?;
        let above_0 = f64::MIN_POSITIVE;
        number(
            s.monitoring_interval_min,
            (above_0, 1440.0),
            "monitoring interval",
            "min",
            "above 0 to 1440 min",
        )
    }
}

impl Chain<PlantBody> {
    /// The settings that count.
    #[must_use]
    pub fn current(&self) -> Option<&PlantSettings> {
        self.entries().iter().rev().find_map(|e| match &e.body {
            PlantBody::Set(s) => Some(&**s),
            PlantBody::Unknown(_) => None,
        })
    }
}
