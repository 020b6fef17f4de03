//! What a person hands in of one short test.

/// Air of the room around the cabinet, read before the test with the logger that then goes into the cabinet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoomAir {
    /// degC
    pub temperature_c: f64,
    /// Fraction.
    pub relative_humidity: f64,
    /// Pa
    pub pressure_pa: f64,
}

/// One reading of the logger in the chamber.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirReading {
    /// s from the start of the record.
    pub at_s: f64,
    /// degC
    pub temperature_c: f64,
    /// Fraction; none for a logger without humidity.
    pub relative_humidity: Option<f64>,
}

/// One reading of the energy meter in front of the cabinet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeterReading {
    /// s from the start of the record.
    pub at_s: f64,
    /// What the meter shows, kWh.
    pub kwh: f64,
}

/// A wet cloth or pan, weighed before and after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wetted {
    /// Number of the tray, from 1 at the top.
    pub tray: u32,
    /// Before, kg.
    pub before_kg: f64,
    /// After, kg.
    pub after_kg: f64,
    /// Dry, kg.
    pub dry_kg: f64,
}

/// What was done.
#[derive(Clone, Debug, PartialEq)]
pub enum TestKind {
    /// Empty, from cold: heater full on, then off, fan running throughout.
    HeatCool {
        /// Heater on, s.
        on_s: f64,
        /// Heater off, s.
        off_s: f64,
    },
    /// Empty, held at a set point until steady.
    Hold {
        /// What the controller was set to, degC.
        set_point_c: f64,
        /// The lowest and the highest that its display showed over several cycles, degC, where someone wrote them down.
        display_c: Option<(f64, f64)>,
    },
    /// Humid air with no water left in the chamber, dying away at a vent mark.
    Decay,
    /// A pan of water, weighed before and after.
    Pan {
        /// Into the chamber, s.
        in_s: f64,
        /// Out of it, s.
        out_s: f64,
        /// The pans.
        pans: Vec<Wetted>,
        /// Step of the scale, kg.
        scale_step_kg: f64,
    },
    /// A wet cloth on every tray (or on some), weighed before and after.
    Cloths {
        /// Into the chamber, s.
        in_s: f64,
        /// Out of it, s.
        out_s: f64,
        /// Area of one cloth, m2.
        area_m2: f64,
        /// The cloths.
        cloths: Vec<Wetted>,
        /// Step of the scale, kg.
        scale_step_kg: f64,
    },
}

impl TestKind {
    /// Its word in files.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::HeatCool { .. } => "heat_cool",
            Self::Hold { .. } => "hold",
            Self::Decay => "decay",
            Self::Pan { .. } => "pan",
            Self::Cloths { .. } => "cloths",
        }
    }
}

/// One test with its readings.
#[derive(Clone, Debug, PartialEq)]
pub struct CabinetTest {
    /// Name.
    pub name: String,
    /// What was done.
    pub kind: TestKind,
    /// Index of the vent's mark.
    pub vent: usize,
    /// Room.
    pub room: RoomAir,
    /// Readings in the chamber, in time.
    pub air: Vec<AirReading>,
    /// Readings of the meter, in time; empty where there is none.
    pub meter: Vec<MeterReading>,
    /// Last digit of the meter, kWh.
    pub meter_step_kwh: f64,
    /// Last digit of the logger's temperature, K.
    pub temperature_step_k: f64,
}

impl CabinetTest {
    /// The readings of a stretch.
    pub(crate) fn between(&self, from_s: f64, to_s: f64) -> impl Iterator<Item = &AirReading> {
        self.air.iter().filter(move |r| r.at_s >= from_s && r.at_s <= to_s)
    }
    /// When wet things were in the chamber, s.
    pub(crate) fn wet(&self) -> Option<(f64, f64, &[Wetted], f64)> {
        match &self.kind {
            TestKind::Pan { in_s, out_s, pans, scale_step_kg } => Some((*in_s, *out_s, pans, *scale_step_kg)),
            TestKind::Cloths { in_s, out_s, cloths, scale_step_kg, .. } => {
                Some((*in_s, *out_s, cloths, *scale_step_kg))
            }
            _ => None,
        }
    }
}
