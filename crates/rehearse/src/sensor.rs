//! Instruments: what they feel, how late, how wrongly and how finely they say it.

use fallrate_simulate::Sample;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::RehearseError;
use crate::truth::Truth;

/// Where along the air a piece lies on its tray.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Along {
    /// At the end where the air comes in.
    Entering,
    /// In the middle.
    Middle,
    /// At the end where the air goes out: the piece that warms last.
    Leaving,
}

impl Along {
    /// Short name, as in the names of positions.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Entering => "entering",
            Self::Middle => "middle",
            Self::Leaving => "leaving",
        }
    }
}

/// Name of a position in the product, as the log gives it: `"tray 14 leaving"`.
#[must_use]
pub fn position_name(tray: u32, along: Along) -> String {
    format!("tray {tray} {}", along.word())
}

/// What a sensor feels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sensed {
    /// What the controller shows.
    Display,
    /// Dry bulb of the air before the trays.
    AirDryBulb,
    /// Its wet bulb.
    AirWetBulb,
    /// Its relative humidity.
    RelativeHumidity,
    /// The core of a piece.
    Core {
        /// Number of the tray.
        tray: u32,
        /// Where on it.
        along: Along,
    },
    /// Electric power, mean since the reading before.
    Power,
}

/// A sensor.
#[derive(Clone, Debug, PartialEq)]
pub struct Sensor {
    /// Name of its channel.
    pub name: String,
    /// What it feels.
    pub sensed: Sensed,
    /// A reading this often, s, in steps of [`crate::GRID_S`].
    pub every_s: f64,
    /// First-order lag, s.
    pub lag_s: f64,
    /// Tolerance either way, in the base unit; its own constant error is drawn within it.
    pub tolerance: f64,
    /// Standard deviation of the noise of a reading, in the base unit.
    pub noise_sd: f64,
    /// Smallest step shown, in the base unit.
    pub resolution: f64,
}

impl Sensor {
    /// A logger channel with the figures of a usual thermometer: 1 K, noise 0.1 K, steps of 0.1 K, every minute.
    #[must_use]
    pub fn thermometer(name: &str, sensed: Sensed, lag_s: f64) -> Self {
        Self {
            name: name.to_owned(),
            sensed,
            every_s: 60.0,
            lag_s,
            tolerance: 1.0,
            noise_sd: 0.1,
            resolution: 0.1,
        }
    }
    /// The probe put in by hand: 0.5 K, steps of 0.1 K.
    #[must_use]
    pub fn hand_probe() -> Self {
        let core = Sensed::Core { tray: 1, along: Along::Leaving };
        Self { tolerance: 0.5, ..Self::thermometer("hand probe", core, 0.0) }
    }
    /// A relative-humidity sensor: 3 %, noise 0.5 %, steps of 0.1 %, slow.
    #[must_use]
    pub fn humidity(name: &str) -> Self {
        Self {
            tolerance: 0.03,
            noise_sd: 0.005,
            resolution: 0.001,
            ..Self::thermometer(name, Sensed::RelativeHumidity, 120.0)
        }
    }

    pub(crate) fn check(&self) -> Result<(), RehearseError> {
        RehearseError::within("interval of a sensor, s", self.every_s, crate::GRID_S, 86_400.0)?;
        RehearseError::within("lag of a sensor, s", self.lag_s, 0.0, 3600.0)?;
        RehearseError::within("tolerance of a sensor", self.tolerance, 0.0, 50.0)?;
        RehearseError::within("noise of a sensor", self.noise_sd, 0.0, 50.0)?;
        RehearseError::within("resolution of a sensor", self.resolution, 0.0, 50.0)
    }

    /// Readings are due at every so many steps of the grid.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub(crate) fn steps(&self) -> u64 {
        ((self.every_s / crate::GRID_S).round() as u64).max(1)
    }

    /// What there is to feel in a state of the model; power is not in a single state.
    pub(crate) fn feels(&self, truth: &Truth, s: &Sample) -> f64 {
        match self.sensed {
            Sensed::Display => s.displayed_temperature_c,
            Sensed::AirDryBulb | Sensed::Power => s.chamber_temperature_c,
            Sensed::AirWetBulb => s.wet_bulb_c,
            Sensed::RelativeHumidity => s.relative_humidity,
            Sensed::Core { tray, along } => truth.core_c(s, tray, along),
        }
    }
}

/// A kitchen or platform scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Tolerance either way, kg.
    pub tolerance_kg: f64,
    /// Standard deviation of a reading, kg.
    pub noise_sd_kg: f64,
    /// Smallest step shown, kg.
    pub resolution_kg: f64,
}

impl Default for Scale {
    fn default() -> Self {
        Self { tolerance_kg: 0.005, noise_sd_kg: 0.002, resolution_kg: 0.005 }
    }
}

/// The errors of one instrument: a constant one, and noise from reading to reading.
#[derive(Clone, Debug)]
pub(crate) struct Errors {
    bias: f64,
    noise_sd: f64,
    resolution: f64,
    random: ChaCha8Rng,
}

impl Errors {
    /// `stream` tells instruments of one seed apart.
    pub fn new(seed: u64, stream: u64, tolerance: f64, noise_sd: f64, resolution: f64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(stream);
        let bias = tolerance * (2.0 * random.random::<f64>() - 1.0);
        Self { bias, noise_sd, resolution, random }
    }
    /// What the instrument says where this is the truth.
    pub fn says(&mut self, truth: f64) -> f64 {
        let value = truth + self.bias + self.noise_sd * normal(&mut self.random);
        if self.resolution > 0.0 { (value / self.resolution).round() * self.resolution } else { value }
    }
}

/// A standard normal number (Box and Muller 1958, from memory).
pub(crate) fn normal(random: &mut ChaCha8Rng) -> f64 {
    let (u, v) = (random.random::<f64>(), random.random::<f64>());
    (-2.0 * (1.0 - u).ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}
