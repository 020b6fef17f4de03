//! Where a value comes from, as part of the type.

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::SeriesError;

/// Where a value comes from, for stores and exports. In the types it is [`Realm::Provenance`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Provenance {
    /// Recorded by an instrument.
    Measured,
    /// Read by a person and written down.
    Entered,
    /// Computed by the model.
    Simulated,
    /// Invented for a demonstration.
    Demo,
}

impl std::fmt::Display for Provenance {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Measured => "measured",
            Self::Entered => "entered",
            Self::Simulated => "simulated",
            Self::Demo => "demo",
        })
    }
}

/// What a channel of proof may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ProofProvenance {
    /// Recorded by an instrument.
    Measured,
    /// Read by a person and written down.
    Entered,
}

/// What a channel of a rehearsal may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RehearsalProvenance {
    /// Computed by the model.
    Simulated,
    /// Invented for a demonstration.
    Demo,
}

impl From<ProofProvenance> for Provenance {
    fn from(p: ProofProvenance) -> Self {
        match p {
            ProofProvenance::Measured => Self::Measured,
            ProofProvenance::Entered => Self::Entered,
        }
    }
}

impl From<RehearsalProvenance> for Provenance {
    fn from(p: RehearsalProvenance) -> Self {
        match p {
            RehearsalProvenance::Simulated => Self::Simulated,
            RehearsalProvenance::Demo => Self::Demo,
        }
    }
}

impl TryFrom<Provenance> for ProofProvenance {
    type Error = SeriesError;
    fn try_from(p: Provenance) -> Result<Self, SeriesError> {
        match p {
            Provenance::Measured => Ok(Self::Measured),
            Provenance::Entered => Ok(Self::Entered),
            found => Err(SeriesError::WrongRealm { found, allowed: "measured, entered" }),
        }
    }
}

impl TryFrom<Provenance> for RehearsalProvenance {
    type Error = SeriesError;
    fn try_from(p: Provenance) -> Result<Self, SeriesError> {
        match p {
            Provenance::Simulated => Ok(Self::Simulated),
            Provenance::Demo => Ok(Self::Demo),
            found => Err(SeriesError::WrongRealm { found, allowed: "simulated, demo" }),
        }
    }
}

mod sealed {
    pub trait Sealed {}
    impl Sealed for super::Proof {}
    impl Sealed for super::Rehearsal {}
}

/// The two worlds a log can belong to. Sealed: there are only [`Proof`] and [`Rehearsal`].
pub trait Realm: sealed::Sealed + Copy + std::fmt::Debug + PartialEq + Default + 'static {
    /// What a channel of this realm may be.
    type Provenance: Copy + std::fmt::Debug + PartialEq + Serialize + DeserializeOwned + Into<Provenance>;
    /// Name in stores and exports; checked when a log is read back.
    const NAME: &'static str;
}

/// Measured and entered values: the judge reads these.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Proof;

/// Simulated and demonstration values: the judge has no way to read these.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Rehearsal;

impl Realm for Proof {
    type Provenance = ProofProvenance;
    const NAME: &'static str = "proof";
}

impl Realm for Rehearsal {
    type Provenance = RehearsalProvenance;
    const NAME: &'static str = "rehearsal";
}
