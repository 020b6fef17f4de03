//! Figures, problems, tests and causes in words.

use fallrate_equipment::Cabinet;
use fallrate_fit::commission::{Ask, Cause, Done, Finding, Outcome, Problem, Quantity, Told};

use crate::words::{Reader, Units, fixed, say};

/// Name of a vent's mark.
pub(super) fn mark(c: &Cabinet, index: usize) -> String {
    c.vent.marks.get(index).map_or_else(|| (index + 1).to_string(), |m| m.name.clone())
}

/// Name of a figure.
pub(super) fn quantity(r: &Reader, c: &Cabinet, q: Quantity) -> String {
    match q {
        Quantity::HeaterPower => r.text("commission-heater-power"),
        Quantity::HeatCapacity => r.text("commission-heat-capacity"),
        Quantity::ShellLoss => r.text("commission-shell-loss"),
        Quantity::WholeLoss(m) => say!(r, "commission-whole-loss", mark = mark(c, m)),
        Quantity::FinalRise(m) => say!(r, "commission-final-rise", mark = mark(c, m)),
        Quantity::TimeConstant(m) => say!(r, "commission-time-constant", mark = mark(c, m)),
        Quantity::WarmUpRate => r.text("commission-warm-up-rate"),
        Quantity::Leakage => r.text("commission-leakage"),
        Quantity::Vent(m) => say!(r, "commission-vent", mark = mark(c, m)),
        Quantity::FreshAir(m) => say!(r, "commission-fresh-air", mark = mark(c, m)),
        Quantity::FreshAirRatio(m, to) => {
            say!(r, "commission-fresh-air-ratio", mark = mark(c, m), to = mark(c, to))
        }
        Quantity::WallWater => r.text("commission-wall-water"),
        Quantity::Volume => r.text("commission-volume"),
        Quantity::Exchange => r.text("commission-exchange"),
        Quantity::AirShare(tray) => say!(r, "commission-air-share", tray = (tray + 1).to_string()),
        Quantity::DisplayOffset => r.text("commission-display-offset"),
        Quantity::Band => r.text("commission-band"),
        Quantity::SensorLag => r.text("commission-sensor-lag"),
        Quantity::RoomForError => r.text("commission-room-for-error"),
    }
}

/// What a figure is multiplied with for the reader, and its unit.
pub(super) fn unit(r: &Reader, q: Quantity) -> (f64, &'static str) {
    let us = r.units == Units::Us;
    match q {
        Quantity::HeaterPower => (1e-3, "kW"),
        Quantity::HeatCapacity if us => (5.2656e-4, "Btu/°F"),
        Quantity::HeatCapacity => (1e-3, "kJ/K"),
        Quantity::ShellLoss | Quantity::WholeLoss(_) if us => (1.0 / 1.8, "W/°F"),
        Quantity::ShellLoss | Quantity::WholeLoss(_) => (1.0, "W/K"),
        Quantity::TimeConstant(_) => (1.0 / 60.0, "min"),
        Quantity::WarmUpRate if us => (108.0, "°F/min"),
        Quantity::WarmUpRate => (60.0, "K/min"),
        Quantity::Leakage | Quantity::Vent(_) | Quantity::FreshAir(_) if us => {
            (3600.0 / 0.453_592_37, "lb/h")
        }
        Quantity::Leakage | Quantity::Vent(_) | Quantity::FreshAir(_) => (3600.0, "kg/h"),
        Quantity::FreshAirRatio(..) => (1.0, "×"),
        Quantity::WallWater => (1e3, "g"),
        Quantity::Volume if us => (35.3147, "ft³"),
        Quantity::Volume => (1.0, "m³"),
        Quantity::Exchange => (1.0, "W/(m² K)"),
        Quantity::AirShare(_) => (100.0, "%"),
        Quantity::FinalRise(_) | Quantity::DisplayOffset | Quantity::Band | Quantity::RoomForError if us => {
            (1.8, "°F")
        }
        Quantity::FinalRise(_) | Quantity::DisplayOffset | Quantity::Band | Quantity::RoomForError => {
            (1.0, "K")
        }
        Quantity::SensorLag => (1.0, "s"),
    }
}

/// Decimals that two digits of an error need.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn decimals(error: f64) -> usize {
    if error > 0.0 && error.is_finite() { (1.0 - error.log10().floor()).clamp(0.0, 5.0) as usize } else { 2 }
}

/// "5.87 ± 0.06 kW", "0.8 to 2.1 kg/h", "not told".
pub(super) fn value(r: &Reader, o: &Outcome) -> String {
    let (by, unit) = unit(r, o.quantity);
    match o.told {
        Told::Yes { value, standard_error } => {
            let digits = decimals(by * standard_error);
            format!("{} ± {} {unit}", fixed(by * value, digits), fixed(by * standard_error, digits))
        }
        Told::Roughly { low, high } => {
            let digits = decimals(by * (high - low) / 3.0);
            let (low, high) = (fixed(by * low, digits), fixed(by * high, digits));
            say!(r, "commission-between", low = low, high = high, unit = unit)
        }
        Told::No => r.text("commission-not-told"),
    }
}

/// A test in a few words.
pub(super) fn ask(r: &Reader, c: &Cabinet, ask: Ask) -> String {
    match ask {
        Ask::HeatCool { meter: true } => r.text("commission-ask-heat-meter"),
        Ask::HeatCool { meter: false } => r.text("commission-ask-heat"),
        Ask::Hold => r.text("commission-ask-hold"),
        Ask::Decay { mark: m } => say!(r, "commission-ask-decay", mark = mark(c, m)),
        Ask::Pan { mark: m } => say!(r, "commission-ask-pan", mark = mark(c, m)),
        Ask::Cloths { mark: m } => say!(r, "commission-ask-cloths", mark = mark(c, m)),
    }
}

/// Minutes of a record as "12 min".
fn at(s: f64) -> String {
    format!("{} min", fixed(s / 60.0, 0))
}

/// A problem in words, with what was done about it.
pub(super) fn finding(r: &Reader, f: &Finding) -> String {
    let done = match f.done {
        Done::Refused => r.text("commission-done-refused"),
        Done::PartLeftOut => r.text("commission-done-part"),
        Done::Said => r.text("commission-done-said"),
    };
    say!(r, "commission-finding", test = f.test.clone(), what = problem(r, &f.what), done = done)
}

fn problem(r: &Reader, p: &Problem) -> String {
    match *p {
        Problem::TooFewReadings { found, needed } => {
            say!(r, "commission-few", found = found.to_string(), needed = needed.to_string())
        }
        Problem::ClockBack { at_s, by_s } => say!(r, "commission-clock-back", at = at(at_s), by = at(by_s)),
        Problem::ClockGap { at_s, gap_s } => say!(r, "commission-clock-gap", at = at(at_s), gap = at(gap_s)),
        Problem::WrongUnit { first_c, room_c } => {
            say!(r, "commission-wrong-unit", first = fixed(first_c, 1), room = fixed(room_c, 1))
        }
        Problem::SwappedColumns => r.text("commission-swapped"),
        Problem::NotCold { first_c, room_c } => {
            say!(r, "commission-not-cold", first = r.temperature(first_c), room = r.temperature(room_c))
        }
        Problem::NoRise { rise_k } => say!(r, "commission-no-rise", rise = r.difference(rise_k)),
        Problem::HeaterHeldBack { from_s } => say!(r, "commission-held-back", at = at(from_s)),
        Problem::DoorOpened { at_s, fall_k } => {
            say!(r, "commission-door", at = at(at_s), fall = r.difference(fall_k))
        }
        Problem::ProbeUnplugged { at_s, reading_c } => {
            say!(r, "commission-unplugged", at = at(at_s), reading = r.temperature(reading_c))
        }
        Problem::Stuck { from_s, for_s } => say!(r, "commission-stuck", at = at(from_s), long = at(for_s)),
        Problem::MeterFell { at_s, by_kwh } => {
            say!(r, "commission-meter-fell", at = at(at_s), by = fixed(by_kwh, 2))
        }
        Problem::MeterImpossible { power_w, most_w } => {
            say!(r, "commission-meter-impossible", power = fixed(power_w, 0), most = fixed(most_w, 0))
        }
        Problem::GotHeavier { tray } => say!(r, "commission-heavier", tray = tray.to_string()),
        Problem::DriedOut { tray, share } => {
            say!(r, "commission-dried-out", tray = tray.to_string(), share = r.percent(share))
        }
        Problem::NoDecay { first, last } => {
            say!(r, "commission-no-decay", first = r.percent(first), last = r.percent(last))
        }
        Problem::NoHumidity => r.text("commission-no-humidity"),
        Problem::NotSteady { drift_k_per_h } => {
            say!(r, "commission-not-steady", drift = r.difference(drift_k_per_h))
        }
        Problem::CyclesTooFast { readings } => {
            say!(r, "commission-cycles-fast", readings = fixed(readings, 1))
        }
        Problem::DoesNotFit { misfit } => say!(r, "commission-misfit", misfit = fixed(misfit, 1)),
    }
}

/// A cause in words; what changed in which direction.
pub(super) fn cause(r: &Reader, cause: Cause, factor: Option<f64>) -> String {
    let less = factor.is_some_and(|f| f < 1.0);
    match (cause, less) {
        (Cause::Nothing, _) => r.text("drift-nothing"),
        (Cause::Vent, true) => r.text("drift-vent-less"),
        (Cause::Vent, false) => r.text("drift-vent-more"),
        (Cause::Fan, true) => r.text("drift-fan-less"),
        (Cause::Fan, false) => r.text("drift-fan-more"),
        (Cause::Heater, true) => r.text("drift-heater-less"),
        (Cause::Heater, false) => r.text("drift-heater-more"),
        (Cause::DoorSeal, false) => r.text("drift-seal-more"),
        (Cause::DoorSeal, true) => r.text("drift-seal-less"),
        (Cause::Walls, false) => r.text("drift-walls-more"),
        (Cause::Walls, true) => r.text("drift-walls-less"),
        (Cause::Other, _) => r.text("drift-other"),
    }
}
