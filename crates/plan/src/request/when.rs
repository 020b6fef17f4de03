//! Room, start, staffed hours, timer.

use fallrate_datafile::Section;
use fallrate_units::{Altitude, Duration, RelativeHumidity, Temperature, TimeOfDay};

/// A span of clock time; past midnight where the end is not after the start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// From.
    pub from: TimeOfDay,
    /// To, not included.
    pub to: TimeOfDay,
}

impl Window {
    /// Length, s, above 0 to 86,400.
    #[must_use]
    pub fn length_s(self) -> f64 {
        match (self.to.seconds() - self.from.seconds()).rem_euclid(86_400.0) {
            0.0 => 86_400.0,
            s => s,
        }
    }
    /// Whether a clock time lies in it.
    #[must_use]
    pub fn contains(self, at: TimeOfDay) -> bool {
        (at.seconds() - self.from.seconds()).rem_euclid(86_400.0) < self.length_s()
    }
    /// Reads `"05:45-22:00"` (a hyphen, an en dash or the word `to`).
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let (from, to) = text.split_once(" to ").or_else(|| text.split_once(['-', '\u{2013}']))?;
        let to = to.trim();
        // 24:00 is how people write the end of the day.
        let to = if to == "24:00" { TimeOfDay::default() } else { TimeOfDay::parse(to).ok()? };
        Some(Self { from: TimeOfDay::parse(from).ok()?, to })
    }
}

/// When somebody is there.
#[derive(Clone, Debug, PartialEq)]
pub struct StaffedHours {
    /// Every day, in the file's order; may be empty.
    pub windows: Vec<Window>,
}

impl StaffedHours {
    /// Whether somebody is there at a clock time.
    #[must_use]
    pub fn is_staffed(&self, at: TimeOfDay) -> bool {
        self.windows.iter().any(|w| w.contains(at))
    }
    /// Wait from a clock time until somebody is there; zero when somebody is. `None` where nobody ever is.
    #[must_use]
    pub fn wait_from(&self, at: TimeOfDay) -> Option<Duration> {
        if self.is_staffed(at) {
            return Some(Duration::from_seconds(0.0));
        }
        let waits = self.windows.iter().map(|w| (w.from.seconds() - at.seconds()).rem_euclid(86_400.0));
        waits.reduce(f64::min).map(Duration::from_seconds)
    }
}

/// The room by night.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Night {
    /// Air temperature.
    pub temperature: Temperature,
    /// Relative humidity.
    pub relative_humidity: RelativeHumidity,
    /// When it holds.
    pub hours: Window,
}

/// The room the cabinet stands in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoomRequest {
    /// Air temperature.
    pub temperature: Temperature,
    /// Relative humidity.
    pub relative_humidity: RelativeHumidity,
    /// Height above sea level.
    pub altitude: Altitude,
    /// By night, where it differs.
    pub night: Option<Night>,
}

/// The start.
#[derive(Clone, Debug, PartialEq)]
pub struct StartRequest {
    /// Clock time at which the loaded cabinet is switched on.
    pub at: TimeOfDay,
    /// Date, `yyyy-mm-dd`.
    pub date: Option<String>,
    /// Temperature of the cabinet at the start; `None`: as the room.
    pub chamber: Option<Temperature>,
}

/// How the timer is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dialled {
    /// Set once before the run; cannot be changed after.
    Once,
    /// Can be set anew at each stage, or is not used: somebody switches off.
    ByHand,
}

/// When the cabinet is emptied.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unload {
    /// As soon as the powered time is over.
    AtEnd,
    /// When somebody is there after the end.
    NextStaffed,
    /// At the first such clock time after the end.
    At(TimeOfDay),
}

/// Timer and unloading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimerRequest {
    /// How the timer is used.
    pub dialled: Dialled,
    /// When the cabinet is emptied.
    pub unload: Unload,
}

const WINDOW: &str = "hours as '05:45-22:00', past midnight as '22:00-05:45'";

fn window(s: &Section<'_>, key: &str) -> Option<Window> {
    s.parsed(key, WINDOW, Window::parse)
}

pub(super) fn room(s: &Section<'_>) -> Option<RoomRequest> {
    let c = Temperature::from_celsius;
    let pct = RelativeHumidity::from_percent;
    let temperature = s.required("temperature", c(-10.0)..=c(50.0));
    let relative_humidity = s.required("relative_humidity", pct(1.0)..=pct(100.0));
    let altitude = s.quantity("altitude", Altitude::from_metres(-430.0)..=Altitude::from_metres(5500.0));
    let night_temperature = s.quantity("night_temperature", c(-10.0)..=c(50.0));
    let night_humidity = s.quantity("night_relative_humidity", pct(1.0)..=pct(100.0));
    let hours = window(s, "night_hours");
    let is_night = s.has("night_temperature") || s.has("night_relative_humidity");
    if s.has("night_hours") && !is_night {
        s.report(
            "night_hours",
            "no night temperature or humidity",
            "night_temperature or night_relative_humidity",
        );
    }
    let (temperature, relative_humidity) = (temperature?, relative_humidity?);
    let night = is_night.then(|| Night {
        temperature: night_temperature.unwrap_or(temperature),
        relative_humidity: night_humidity.unwrap_or(relative_humidity),
        hours: hours.unwrap_or(Window { from: TimeOfDay::from_hm(20, 0), to: TimeOfDay::from_hm(7, 0) }),
    });
    Some(RoomRequest { temperature, relative_humidity, altitude: altitude.unwrap_or_default(), night })
}

pub(super) fn start(s: Option<&Section<'_>>) -> StartRequest {
    let at = s.and_then(|s| s.clock("at")).unwrap_or_else(|| TimeOfDay::from_hm(7, 0));
    let date = s.and_then(|s| s.parsed("date", "a date as '2026-03-14'", date));
    let c = Temperature::from_celsius;
    let chamber = s.and_then(|s| s.quantity("chamber", c(-10.0)..=c(95.0)));
    StartRequest { at, date, chamber }
}

/// A date of the calendar, as written.
fn date(text: &str) -> Option<String> {
    let parts: Vec<&str> = text.trim().split('-').collect();
    let [y, m, d] = parts[..] else { return None };
    if (y.len(), m.len(), d.len()) != (4, 2, 2)
        || !text.trim().bytes().all(|b| b == b'-' || b.is_ascii_digit())
    {
        return None;
    }
    let (y, m, d): (u32, u32, u32) = (y.parse().ok()?, m.parse().ok()?, d.parse().ok()?);
    let leap = y.is_multiple_of(4) && (!y.is_multiple_of(100) || y.is_multiple_of(400));
    let days = match m {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 => 28 + u32::from(leap),
        _ => return None,
    };
    (1..=days).contains(&d).then(|| text.trim().to_owned())
}

pub(super) fn staff(s: Option<&Section<'_>>) -> Option<StaffedHours> {
    let s = s?;
    let texts = s.required_texts("hours")?;
    let mut windows: Vec<Window> = Vec::with_capacity(texts.len());
    for text in &texts {
        let Some(window) = Window::parse(text) else {
            s.report("hours", &format!("'{}'", text.chars().take(40).collect::<String>()), WINDOW);
            continue;
        };
        if windows.iter().any(|w| w.contains(window.from) || window.contains(w.from)) {
            s.report("hours", &format!("'{text}' overlaps an earlier span"), "spans apart from one another");
        }
        windows.push(window);
    }
    Some(StaffedHours { windows })
}

pub(super) fn timer(s: Option<&Section<'_>>, staff: Option<&StaffedHours>) -> TimerRequest {
    let dialled = s.and_then(|s| s.choice("dialled", &["once", "by hand"]));
    let unload = s.and_then(|s| {
        s.parsed("unload", "'at end', 'next staffed', or a clock time as '05:45'", |text| match text.trim() {
            "at end" => Some(Unload::AtEnd),
            "next staffed" => Some(Unload::NextStaffed),
            clock => TimeOfDay::parse(clock).ok().map(Unload::At),
        })
    });
    if let (Some(s), Some(unload)) = (s, unload) {
        unload_contradictions(s, unload, staff);
    }
    TimerRequest {
        dialled: if dialled == Some(1) { Dialled::ByHand } else { Dialled::Once },
        unload: unload.unwrap_or(match staff {
            Some(s) if !s.windows.is_empty() => Unload::NextStaffed,
            _ => Unload::AtEnd,
        }),
    }
}

fn unload_contradictions(s: &Section<'_>, unload: Unload, staff: Option<&StaffedHours>) {
    match (unload, staff) {
        (Unload::NextStaffed, None) => {
            s.report(
                "unload",
                "'next staffed' without staffed hours",
                "staffed hours: [staff] hours = ['05:45-22:00']",
            );
        }
        (Unload::NextStaffed, Some(staff)) if staff.windows.is_empty() => {
            s.report("unload", "'next staffed' while nobody is ever there", "staffed hours in [staff]");
        }
        (Unload::At(at), Some(staff)) if !staff.windows.is_empty() && !staff.is_staffed(at) => {
            s.report(
                "unload",
                &format!("{}, when nobody is there", at.hm()),
                "a clock time within the staffed hours",
            );
        }
        _ => {}
    }
}
