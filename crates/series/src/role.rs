//! What a channel measures, and where.

use serde::{Deserialize, Serialize};

/// What a channel measures.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Dry bulb of the cabinet air, degC.
    AirDryBulb,
    /// Wet bulb of the cabinet air, degC.
    AirWetBulb,
    /// Relative humidity of the cabinet air, fraction.
    RelativeHumidity,
    /// Temperature inside the product, degC.
    CoreProbe {
        /// Number of the probe, from 1.
        number: u16,
        /// Name of the position ("tray 1 left"); empty where it was not given.
        position: String,
    },
    /// Temperature at the surface of the product, degC.
    SurfaceProbe {
        /// Number of the probe, from 1.
        number: u16,
        /// Name of the position.
        position: String,
    },
    /// Weight of a tray or of a sample, kg.
    TrayWeight {
        /// Number of the tray, from 1.
        tray: u16,
    },
    /// Opening of the vent or damper, fraction; 0 is shut.
    VentOpening,
    /// Door, 0 shut, 1 open.
    DoorOpen,
    /// Fan, 0 off, 1 on.
    FanOn,
    /// Steam or water injection, 0 off, 1 on.
    SteamOn,
    /// Heater, 0 off, 1 on.
    HeaterOn,
    /// Electric power drawn, W.
    Power,
    /// Barometric pressure, Pa.
    AirPressure,
    /// Dry bulb of the room, degC.
    RoomDryBulb,
    /// Relative humidity of the room, fraction.
    RoomRelativeHumidity,
    /// A channel kept but not used, under its column name.
    Other(String),
}

/// The unit a channel's values are held in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BaseUnit {
    /// Degrees Celsius.
    Celsius,
    /// Fraction of one.
    Fraction,
    /// Kilograms.
    Kilograms,
    /// Watts.
    Watts,
    /// Pascals.
    Pascals,
    /// 0 or 1.
    State,
    /// Whatever the file held.
    AsWritten,
}

impl Role {
    /// The unit the values are held in.
    #[must_use]
    pub const fn base_unit(&self) -> BaseUnit {
        match self {
            Self::AirDryBulb
            | Self::AirWetBulb
            | Self::CoreProbe { .. }
            | Self::SurfaceProbe { .. }
            | Self::RoomDryBulb => BaseUnit::Celsius,
            Self::RelativeHumidity | Self::VentOpening | Self::RoomRelativeHumidity => BaseUnit::Fraction,
            Self::TrayWeight { .. } => BaseUnit::Kilograms,
            Self::Power => BaseUnit::Watts,
            Self::AirPressure => BaseUnit::Pascals,
            Self::DoorOpen | Self::FanOn | Self::SteamOn | Self::HeaterOn => BaseUnit::State,
            Self::Other(_) => BaseUnit::AsWritten,
        }
    }
    /// The position of a probe in or on the product.
    #[must_use]
    pub fn position(&self) -> Option<&str> {
        match self {
            Self::CoreProbe { position, .. } | Self::SurfaceProbe { position, .. } => Some(position),
            _ => None,
        }
    }
}
