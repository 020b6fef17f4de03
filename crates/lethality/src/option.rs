//! The humidity options, as data.

use serde::{Deserialize, Serialize};

use crate::data::{HUMIDITY_OPTIONS, table_once};
use crate::{Basis, ClaimedDocument, LethalityError};

/// A humidity option of a guidance document.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum OptionId {
    /// 2021, option 1: steam.
    #[serde(rename = "1")]
    Steam2021,
    /// 2021, option 2: sealed oven.
    #[serde(rename = "2")]
    Sealed2021,
    /// 2021, option 3: RH 90 % for a share.
    #[serde(rename = "3")]
    Rh90Share2021,
    /// 2021, option 4: RH 90 % throughout.
    #[serde(rename = "4")]
    Rh90Throughout2021,
    /// Jerky 2014: steam.
    #[serde(rename = "J-A")]
    JerkyA,
    /// Jerky 2014: sealed oven.
    #[serde(rename = "J-B")]
    JerkyB,
    /// Jerky 2014: RH 90 %, endpoint under 145 degF for 4 min.
    #[serde(rename = "J-C")]
    JerkyC,
    /// Jerky 2014: RH 90 %, endpoint 145 degF for 4 min or hotter.
    #[serde(rename = "J-D")]
    JerkyD,
    /// Jerky 2014: RH 90 % throughout, cook under 1 h.
    #[serde(rename = "J-E")]
    JerkyE,
    /// Jerky 2014: wet-bulb advice. Never an option on its own.
    #[serde(rename = "J-WB")]
    JerkyWetBulbAdvice,
    /// 2021: immersed in liquid.
    #[serde(rename = "N1")]
    Immersion,
    /// 2021: sealed moisture-proof bag.
    #[serde(rename = "N2")]
    SealedBag,
    /// 2021: casing that holds moisture.
    #[serde(rename = "N3")]
    Casing,
    /// 2021: piece of 10 lb or more in an oven of 250 degF or more.
    #[serde(rename = "N4")]
    LargePiece,
    /// 2021: direct heat.
    #[serde(rename = "N5")]
    DirectHeat,
}

impl OptionId {
    /// All, in the order of the documents.
    pub const ALL: [Self; 15] = [
        Self::Steam2021,
        Self::Sealed2021,
        Self::Rh90Share2021,
        Self::Rh90Throughout2021,
        Self::JerkyA,
        Self::JerkyB,
        Self::JerkyC,
        Self::JerkyD,
        Self::JerkyE,
        Self::JerkyWetBulbAdvice,
        Self::Immersion,
        Self::SealedBag,
        Self::Casing,
        Self::LargePiece,
        Self::DirectHeat,
    ];
    /// The id as the table of options prints it.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Steam2021 => "1",
            Self::Sealed2021 => "2",
            Self::Rh90Share2021 => "3",
            Self::Rh90Throughout2021 => "4",
            Self::JerkyA => "J-A",
            Self::JerkyB => "J-B",
            Self::JerkyC => "J-C",
            Self::JerkyD => "J-D",
            Self::JerkyE => "J-E",
            Self::JerkyWetBulbAdvice => "J-WB",
            Self::Immersion => "N1",
            Self::SealedBag => "N2",
            Self::Casing => "N3",
            Self::LargePiece => "N4",
            Self::DirectHeat => "N5",
        }
    }
    /// The id of its requirement.
    #[must_use]
    pub const fn requirement(self) -> &'static str {
        match self {
            Self::Steam2021 => "OPTION-1",
            Self::Sealed2021 => "OPTION-2",
            Self::Rh90Share2021 => "OPTION-3",
            Self::Rh90Throughout2021 => "OPTION-4",
            Self::JerkyA => "OPTION-J-A",
            Self::JerkyB => "OPTION-J-B",
            Self::JerkyC => "OPTION-J-C",
            Self::JerkyD => "OPTION-J-D",
            Self::JerkyE => "OPTION-J-E",
            Self::JerkyWetBulbAdvice => "OPTION-J-WB",
            Self::Immersion => "OPTION-N1",
            Self::SealedBag => "OPTION-N2",
            Self::Casing => "OPTION-N3",
            Self::LargePiece => "OPTION-N4",
            Self::DirectHeat => "OPTION-N5",
        }
    }
    /// From its printed id.
    ///
    /// # Errors
    /// [`LethalityError::NoSuchOption`].
    pub fn parse(id: &str) -> Result<Self, LethalityError> {
        let trimmed = id.trim();
        Self::ALL
            .into_iter()
            .find(|o| o.id().eq_ignore_ascii_case(trimmed))
            .ok_or_else(|| LethalityError::NoSuchOption { id: id.to_owned() })
    }
}

/// What kind of evidence an option rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OptionKind {
    /// Steam on and off.
    Steam,
    /// Openings shut.
    Sealed,
    /// Relative humidity.
    Rh,
    /// Advice only.
    Advice,
    /// Immersed.
    Immersion,
    /// Sealed bag.
    SealedBag,
    /// Casing.
    Casing,
    /// Large piece in a hot oven.
    LargePiece,
    /// Direct heat.
    DirectHeat,
}

/// Whether an option is open to a product that is already dry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AfterDrying {
    /// Open.
    Yes,
    /// Closed.
    No,
    /// Open only with added water.
    WithAddedWater,
}

/// One of the two ways a document that contradicts itself can be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DocumentReading {
    /// As its text says.
    Text,
    /// As its flow chart says.
    FlowChart,
}

impl DocumentReading {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Text, Self::FlowChart];
}

/// One option's parts, all of which must hold together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HumidityOption {
    /// Its id.
    #[serde(rename = "option_id")]
    pub id: OptionId,
    /// Source.
    pub source_id: String,
    /// Section.
    pub section: String,
    /// Kind of evidence.
    pub kind: OptionKind,
    /// Least relative humidity, per cent.
    pub rh_min_pct: Option<f64>,
    /// Humid share of the total cook.
    pub share: Option<f64>,
    /// Whether the share must be exceeded, not only reached.
    #[serde(with = "yes_no")]
    pub share_must_be_exceeded: bool,
    /// Least humid minutes.
    pub floor_min: Option<f64>,
    /// Coldest row allowed, degF.
    #[serde(rename = "row_min_F")]
    pub row_min_f: Option<f64>,
    /// Least dwell at that coldest row, s.
    pub row_min_dwell_s: Option<f64>,
    /// Least total cook, min.
    pub cook_at_least_min: Option<f64>,
    /// The total cook must be shorter than this, min.
    pub cook_below_min: Option<f64>,
    /// Whether every minute must be humid.
    #[serde(with = "yes_no")]
    pub throughout: bool,
    /// Longest step without humidity, min.
    pub dry_step_at_most_min: Option<f64>,
    /// Whether only the red-meat table may be used.
    #[serde(with = "yes_no")]
    pub meat_only: bool,
    /// Where the document contradicts itself: the stricter share.
    pub second_share: Option<f64>,
    /// The stricter share is meant for cooks longer than this, min.
    pub second_share_above_cook_min: Option<f64>,
    /// Whether open to a dried product.
    pub after_drying: AfterDrying,
    /// How it is known.
    pub basis: Basis,
}

impl HumidityOption {
    /// The document it belongs to.
    #[must_use]
    pub fn document(&self) -> ClaimedDocument {
        if self.source_id == "JG2014" {
            ClaimedDocument::JerkyGuideline2014
        } else {
            ClaimedDocument::CookingGuideline2021
        }
    }
}

/// Flags as the table writes them.
mod yes_no {
    use serde::{Deserialize, Deserializer, Serializer, de};

    pub fn serialize<S: Serializer>(flag: &bool, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(if *flag { "yes" } else { "no" })
    }
    pub fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<bool, D::Error> {
        match String::deserialize(d)?.as_str() {
            "yes" => Ok(true),
            "no" => Ok(false),
            other => Err(de::Error::custom(format!("'{other}'; allowed: yes, no"))),
        }
    }
}

table_once!(
    /// The options of both documents.
    ///
    /// # Errors
    /// [`LethalityError::Criteria`] where the compiled-in table is damaged.
    pub fn humidity_options -> HumidityOption = "humidity_options.csv", HUMIDITY_OPTIONS
);

/// One option.
///
/// # Errors
/// [`LethalityError::NoSuchOption`] where the table lacks it.
pub fn humidity_option(id: OptionId) -> Result<&'static HumidityOption, LethalityError> {
    humidity_options()
        .unwrap_or_default()
        .iter()
        .find(|o| o.id == id)
        .ok_or(LethalityError::NoSuchOption { id: id.id().to_owned() })
}
