//! The file of a commissioning: which cabinet, which tests, which logger files.

use fallrate_datafile::{Document, Problems, Section};
use fallrate_fit::commission::{Known, KnownFigures, MeterReading, RoomAir, TestKind, Wetted};
use fallrate_series::{CalendarDate, Instant};
use fallrate_units::{
    Altitude, Area, Mass, Power, Quantity, RelativeHumidity, Temperature, TemperatureDifference, Volume,
};

use crate::proof::LocalClock;
use crate::proof::when::{When, date, required_date, required_zone};

/// What a person writes about the tests of one cabinet.
#[derive(Clone, Debug)]
pub struct Commissioning {
    /// Name of the file.
    pub file_name: String,
    /// Key of a cabinet of the library, or the path of a file, that the tests start from.
    pub draft: String,
    /// Key of the measured cabinet.
    pub key: String,
    /// Its name; the draft's where none is given.
    pub name: Option<String>,
    /// Who did the tests.
    pub by: String,
    /// Made up for a demonstration.
    pub invented: bool,
    /// First day.
    pub date: CalendarDate,
    /// The clock of the place.
    pub clock: LocalClock,
    /// What is known beforehand by tape or meter.
    pub known: KnownFigures,
    /// The tests.
    pub tests: Vec<TestEntry>,
}

/// A test as it stands in the file, its times as instants.
#[derive(Clone, Debug, PartialEq)]
pub struct TestEntry {
    /// Name.
    pub name: String,
    /// Logger file, from the folder of this file.
    pub log: String,
    /// First and last instant used; the whole log where none is given.
    pub span: (Option<Instant>, Option<Instant>),
    /// Name of the vent's mark.
    pub vent: String,
    /// Room.
    pub room: RoomAir,
    /// What was done, in times of the file.
    pub what: Stated,
    /// Readings of the meter.
    pub meter: Vec<(Instant, f64)>,
    /// Last digit of the meter, kWh.
    pub meter_step_kwh: f64,
    /// Last digit of the logger, K.
    pub temperature_step_k: f64,
}

/// What was done, its times as instants.
#[derive(Clone, Debug, PartialEq)]
pub enum Stated {
    /// Heater on, heater off.
    HeatCool(Instant, Instant),
    /// Set point, degC; lowest and highest of the display, degC.
    Hold(f64, Option<(f64, f64)>),
    /// Humidity dying away.
    Decay,
    /// Into the chamber, out of it; the pans; step of the scale, kg.
    Pan(Instant, Instant, Vec<Wetted>, f64),
    /// The same of cloths, with the area of one, m2.
    Cloths(Instant, Instant, Vec<Wetted>, f64, f64),
}

impl Stated {
    /// With its times as seconds from an instant.
    pub(super) fn from(&self, zero: Instant) -> TestKind {
        let s = |at: &Instant| at.seconds_since(zero);
        match self {
            Self::HeatCool(on, off) => TestKind::HeatCool { on_s: s(on), off_s: s(off) },
            Self::Hold(set_point_c, display_c) => {
                TestKind::Hold { set_point_c: *set_point_c, display_c: *display_c }
            }
            Self::Decay => TestKind::Decay,
            Self::Pan(a, b, pans, scale) => {
                TestKind::Pan { in_s: s(a), out_s: s(b), pans: pans.clone(), scale_step_kg: *scale }
            }
            Self::Cloths(a, b, cloths, scale, area) => TestKind::Cloths {
                in_s: s(a),
                out_s: s(b),
                area_m2: *area,
                cloths: cloths.clone(),
                scale_step_kg: *scale,
            },
        }
    }
}

/// Words of the kinds of test in the file.
const KINDS: [&str; 5] = ["heat_cool", "hold", "decay", "pan", "cloths"];

impl Commissioning {
    /// Reads the file; names every problem with its place.
    ///
    /// # Errors
    /// [`Problems`].
    pub fn parse(file_name: &str, bytes: &[u8]) -> Result<Self, Problems> {
        let doc = Document::from_bytes(file_name, bytes)?;
        let built = build(file_name, &doc);
        doc.finish_with(built)
    }
}

fn build(file_name: &str, doc: &Document) -> Option<Commissioning> {
    let root = doc.root();
    let cabinet = root.required_section("cabinet")?;
    let place = root.required_section("place")?;
    let (draft, key) = (cabinet.required_text("draft"), cabinet.required_text("key"));
    let name = cabinet.text("name");
    let (day, clock) = (required_date(&place, "date"), required_zone(&place, "zone"));
    let by = place.required_text("by");
    let invented = place.flag("invented").unwrap_or(false);
    let altitude = place
        .quantity("altitude", Altitude::from_metres(-400.0)..=Altitude::from_metres(5000.0))
        .map_or(0.0, |a| a.metres());
    let pressure_pa = fallrate_air::pressure_from_altitude_pa(altitude);
    let known = root.section("known").map_or(KnownFigures::default(), |s| known(&s));
    let (day, clock) = (day?, clock?);
    let sections = root.sections("test");
    if sections.is_empty() {
        root.report("test", "no [[test]]", "at least one [[test]] section");
    }
    let tests: Vec<Option<TestEntry>> = sections.iter().map(|s| test(s, day, &clock, pressure_pa)).collect();
    Some(Commissioning {
        file_name: file_name.to_owned(),
        draft: draft?,
        key: key?,
        name,
        by: by?,
        invented,
        date: day,
        known,
        tests: tests.into_iter().collect::<Option<Vec<_>>>()?,
        clock,
    })
}

fn known(s: &Section<'_>) -> KnownFigures {
    let (low, high) = (Volume::from_cubic_metres(1e-3), Volume::from_cubic_metres(100.0));
    let volume = s.quantity("volume", low..=high).map(|v| v.cubic_metres());
    let error = s.quantity("volume_error", Volume::from_cubic_metres(0.0)..=high).map(|v| v.cubic_metres());
    let watts = Power::from_watts(1.0)..=Power::from_watts(1e6);
    let power = s.quantity("heater_power", watts.clone()).map(Power::watts);
    let power_error = s.quantity("heater_power_error", watts).map(Power::watts);
    let pair = |value: Option<f64>, error: Option<f64>, share: f64| {
        value.map(|value| Known { value, standard_error: error.unwrap_or(share * value).max(1e-3 * value) })
    };
    KnownFigures { volume_m3: pair(volume, error, 0.05), heater_w: pair(power, power_error, 0.02) }
}

fn test(s: &Section<'_>, day: CalendarDate, clock: &LocalClock, pressure_pa: f64) -> Option<TestEntry> {
    let day = if s.has("date") { date(s, "date")? } else { day };
    let when = When { clock, day };
    let kind = s.required_choice("kind", &KINDS);
    let (log, vent) = (s.required_text("log"), s.required_text("vent"));
    let name = s.text("name");
    let celsius = |low: f64, high: f64| Temperature::from_celsius(low)..=Temperature::from_celsius(high);
    let temperature = s.required("room_temperature", celsius(-10.0, 50.0));
    let share = RelativeHumidity::from_fraction(0.0)..=RelativeHumidity::from_fraction(1.0);
    let humidity = s.required("room_humidity", share);
    let span = (when.instant(s, "from"), when.instant(s, "to"));
    let meter: Vec<Option<(Instant, f64)>> = s.sections("meter").iter().map(|m| reading(m, &when)).collect();
    let meter_step_kwh = s.number("meter_step", 1e-5..=10.0).unwrap_or(0.01);
    let step = TemperatureDifference::from_kelvin(0.0)..=TemperatureDifference::from_kelvin(5.0);
    let temperature_step_k = s.quantity("logger_step", step).map_or(0.1, |d| d.kelvin());
    let what = match kind? {
        0 => {
            let on = when.required_instant(s, "heater_on");
            let off = when.required_instant(s, "heater_off");
            Stated::HeatCool(on?, off?)
        }
        1 => {
            let set = s.required("set_point", celsius(10.0, 120.0));
            let low = s.quantity("display_low", celsius(0.0, 150.0)).map(Temperature::celsius);
            let high = s.quantity("display_high", celsius(0.0, 150.0)).map(Temperature::celsius);
            Stated::Hold(set?.celsius(), low.zip(high))
        }
        2 => Stated::Decay,
        kind => wet(s, &when, kind == 4)?,
    };
    let log = log?;
    Some(TestEntry {
        name: name.unwrap_or_else(|| log.clone()),
        log,
        span,
        vent: vent?,
        room: RoomAir {
            temperature_c: temperature?.celsius(),
            relative_humidity: humidity?.fraction(),
            pressure_pa,
        },
        what,
        meter: meter.into_iter().collect::<Option<Vec<_>>>()?,
        meter_step_kwh,
        temperature_step_k,
    })
}

fn reading(s: &Section<'_>, when: &When<'_>) -> Option<(Instant, f64)> {
    let (at, kwh) = (when.required_instant(s, "at"), s.required_number("kwh", 0.0..=1e8));
    Some((at?, kwh?))
}

fn wet(s: &Section<'_>, when: &When<'_>, cloths: bool) -> Option<Stated> {
    let (a, b) = (when.required_instant(s, "in"), when.required_instant(s, "out"));
    let mass = Mass::from_kilograms(0.0)..=Mass::from_kilograms(100.0);
    let scale = s.required("scale_step", mass.clone()).map(Mass::kilograms);
    let sections = s.sections("wet");
    if sections.is_empty() {
        s.report("wet", "no [[test.wet]]", "one [[test.wet]] for every cloth or pan");
    }
    let one = |w: &Section<'_>| {
        let tray = w.required_integer("tray", 1..=200).and_then(|t| u32::try_from(t).ok());
        let of = |key: &str| w.required(key, mass.clone()).map(Mass::kilograms);
        let (before, after, dry) = (of("before"), of("after"), of("dry"));
        Some(Wetted { tray: tray?, before_kg: before?, after_kg: after?, dry_kg: dry? })
    };
    let wetted: Option<Vec<Wetted>> = sections.iter().map(one).collect::<Vec<_>>().into_iter().collect();
    if !cloths {
        return Some(Stated::Pan(a?, b?, wetted?, scale?));
    }
    let area = s.required("cloth_area", Area::from_base(1e-3)..=Area::from_base(10.0)).map(Quantity::base);
    Some(Stated::Cloths(a?, b?, wetted?, scale?, area?))
}

/// Meter readings as seconds from an instant.
pub(super) fn meter(entry: &TestEntry, zero: Instant) -> Vec<MeterReading> {
    entry.meter.iter().map(|(at, kwh)| MeterReading { at_s: at.seconds_since(zero), kwh: *kwh }).collect()
}
