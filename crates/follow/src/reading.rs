//! What was read, by hand or by a logger.

use fallrate_series::{Instant, Log, Realm, Role};

use crate::FollowError;

/// Where along the air a piece lies on its tray.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Along {
    /// At the end where the air comes in.
    Entering,
    /// In the middle.
    Middle,
    /// At the end where the air goes out.
    Leaving,
}

/// Where a probe sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// In the piece that is expected to be the coldest: the air-leaving end of the group with the least air.
    Coldest,
    /// In a piece on a tray.
    Tray {
        /// Number of the tray, from 1, counted through the groups.
        tray: u32,
        /// Where on it.
        along: Along,
    },
}

/// What a reading is of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Measured {
    /// Core temperature, degC.
    Core(Place),
    /// Wet bulb of the cabinet air, degC.
    WetBulb,
    /// Relative humidity of the cabinet air, fraction.
    RelativeHumidity,
    /// Dry bulb of the air before the trays, degC.
    AirDryBulb,
    /// A tray with its product, kg.
    TrayGross {
        /// Number of the tray.
        tray: u32,
        /// What the tray weighs empty, with its liner, kg.
        tare_kg: f64,
    },
}

/// One reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// A number of the caller's own, by which findings name it.
    pub id: u64,
    /// When, s from the start of the run.
    pub at_s: f64,
    /// Of what.
    pub measured: Measured,
    /// Value in the unit of [`Measured`].
    pub value: f64,
    /// Tolerance of the instrument either way, in the same unit; none: a usual one's.
    pub tolerance: Option<f64>,
    /// Number of the instrument: readings of one instrument share its constant error.
    pub instrument: u32,
}

impl Reading {
    /// Tolerance, the usual one where none is stated: 1 K for temperatures, 3 % for humidity, 5 g for weights (common
    /// practice, no source).
    #[must_use]
    pub fn tolerance(&self) -> f64 {
        let usual = match self.measured {
            Measured::Core(_) | Measured::WetBulb | Measured::AirDryBulb => 1.0,
            Measured::RelativeHumidity => 0.03,
            Measured::TrayGross { .. } => 0.005,
        };
        self.tolerance.filter(|t| t.is_finite() && *t >= 0.0).unwrap_or(usual)
    }

    /// What is compared with the model: the product's weight for a tray, else the value.
    #[must_use]
    pub fn compared(&self) -> f64 {
        match self.measured {
            Measured::TrayGross { tare_kg, .. } => self.value - tare_kg,
            _ => self.value,
        }
    }

    /// Refuses what no instrument says.
    pub(crate) fn check(&self, now_s: f64, loaded: u32) -> Result<(), FollowError> {
        let (what, low, high) = match self.measured {
            Measured::Core(_) => ("core temperature, degC", -30.0, 150.0),
            Measured::WetBulb => ("wet bulb, degC", -30.0, 120.0),
            Measured::RelativeHumidity => ("relative humidity, fraction", 0.0, 1.0),
            Measured::AirDryBulb => ("dry bulb, degC", -40.0, 200.0),
            Measured::TrayGross { .. } => ("tray weight, kg", 0.0, 500.0),
        };
        let mut numbers = vec![(what, self.value, low, high)];
        if let Measured::TrayGross { tare_kg, .. } = self.measured {
            numbers.push(("tare, kg", tare_kg, 0.0, 100.0));
        }
        for (what, value, low, high) in numbers {
            if !(value >= low && value <= high) {
                return Err(FollowError::ReadingOutOfRange { id: self.id, what, value, low, high });
            }
        }
        if !(self.at_s >= 0.0 && self.at_s <= now_s) {
            return Err(FollowError::Time { what: "reading", at_s: self.at_s, low_s: 0.0, high_s: now_s });
        }
        match self.measured {
            Measured::Core(Place::Tray { tray, .. }) | Measured::TrayGross { tray, .. }
                if tray == 0 || tray > loaded =>
            {
                Err(FollowError::NoSuchTray { tray, loaded })
            }
            _ => Ok(()),
        }
    }
}

/// Readings of a log of either realm that may count, from a start on. `tare_kg` is that of every tray; `place` says where a
/// core probe's position is and leaves out those it does not know. Ids are numbered from `first_id` in the order of channels
/// and time; each channel is an instrument.
#[must_use]
pub fn readings_of_log<R: Realm>(
    log: &Log<R>,
    start: Instant,
    tare_kg: f64,
    first_id: u64,
    place: &dyn Fn(&str) -> Option<Place>,
) -> Vec<Reading> {
    let mut list = Vec::new();
    for (instrument, channel) in (0_u32..).zip(&log.channels) {
        let measured = match &channel.role {
            Role::AirDryBulb => Measured::AirDryBulb,
            Role::AirWetBulb => Measured::WetBulb,
            Role::RelativeHumidity => Measured::RelativeHumidity,
            Role::CoreProbe { position, .. } => match place(position) {
                Some(p) => Measured::Core(p),
                None => continue,
            },
            Role::TrayWeight { tray } => Measured::TrayGross { tray: u32::from(*tray), tare_kg },
            _ => continue,
        };
        for r in channel.readings().iter().filter(|r| r.quality.counts() && r.at >= start) {
            list.push(Reading {
                id: first_id + list.len() as u64,
                at_s: r.at.seconds_since(start),
                measured,
                value: r.value,
                tolerance: channel.tolerance(),
                instrument,
            });
        }
    }
    list
}
