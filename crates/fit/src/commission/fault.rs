//! What is wrong with a test's record.

/// Why a test cannot be used at all.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[allow(missing_docs)] // the message says what the fields are
pub enum CommissionFault {
    #[error("tests: 0; allowed: at least 1")]
    NoTests,
    #[error("tests that can be used: 0 of {given}; allowed: at least 1")]
    NothingUsable { given: usize },
    #[error("test '{test}': vent mark {index}; allowed: 0 to {last}")]
    NoSuchMark { test: String, index: usize, last: usize },
}

/// What was found in a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Name of the test.
    pub test: String,
    /// What.
    pub what: Problem,
    /// What was done about it.
    pub done: Done,
}

/// What was done about a problem.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Done {
    /// The test is not used.
    Refused,
    /// A part of the record is not used.
    PartLeftOut,
    /// Only said.
    Said,
}

/// A problem of a record.
#[derive(Clone, Debug, PartialEq)]
pub enum Problem {
    /// Fewer readings than the test needs.
    TooFewReadings {
        /// How many.
        found: usize,
        /// How many it takes.
        needed: usize,
    },
    /// A time that is not later than the one before: the logger's clock was set back.
    ClockBack {
        /// s
        at_s: f64,
        /// By how much, s.
        by_s: f64,
    },
    /// A wait between two readings far above the usual: the logger's clock was set forward, or nothing was written.
    ClockGap {
        /// s
        at_s: f64,
        /// How long, s.
        gap_s: f64,
    },
    /// Readings that could be degrees Fahrenheit taken as Celsius, or the reverse.
    WrongUnit {
        /// First reading, degC as read.
        first_c: f64,
        /// Room, degC.
        room_c: f64,
    },
    /// Temperature and humidity seem to stand in each other's place.
    SwappedColumns,
    /// The chamber did not start at room temperature.
    NotCold {
        /// First reading, degC.
        first_c: f64,
        /// Room, degC.
        room_c: f64,
    },
    /// The heater did not warm the chamber.
    NoRise {
        /// K
        rise_k: f64,
    },
    /// The heater was held back by its controller before it was switched off.
    HeaterHeldBack {
        /// s
        from_s: f64,
    },
    /// A fall and return that a door makes.
    DoorOpened {
        /// s
        at_s: f64,
        /// How far the temperature fell, K.
        fall_k: f64,
    },
    /// Readings that jump as no chamber can: a probe unplugged or moved.
    ProbeUnplugged {
        /// s
        at_s: f64,
        /// The reading, degC.
        reading_c: f64,
    },
    /// The same value for too long while the chamber changed.
    Stuck {
        /// s
        from_s: f64,
        /// s
        for_s: f64,
    },
    /// The meter shows less than before.
    MeterFell {
        /// s
        at_s: f64,
        /// kWh
        by_kwh: f64,
    },
    /// The meter shows a power no heater of this cabinet can draw: another unit, or a figure too many.
    MeterImpossible {
        /// Mean power between two readings, W.
        power_w: f64,
        /// What the nameplate allows, W.
        most_w: f64,
    },
    /// A cloth or pan weighs more after than before.
    GotHeavier {
        /// Tray.
        tray: u32,
    },
    /// A cloth lost so much of its water that parts of it were dry.
    DriedOut {
        /// Tray.
        tray: u32,
        /// Share of its water lost.
        share: f64,
    },
    /// Humidity did not fall: there was water left, or nothing was humid.
    NoDecay {
        /// Fraction.
        first: f64,
        /// Fraction.
        last: f64,
    },
    /// No humidity readings where the test needs them.
    NoHumidity,
    /// Hold not steady.
    NotSteady {
        /// K/h
        drift_k_per_h: f64,
    },
    /// Too few readings in a cycle of the controller to see its swing.
    CyclesTooFast {
        /// Readings in a cycle.
        readings: f64,
    },
    /// The figures of the test do not fit together with those of the others.
    DoesNotFit {
        /// Root mean square of its residuals over their standard deviations.
        misfit: f64,
    },
}
