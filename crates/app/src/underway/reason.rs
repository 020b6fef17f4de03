//! The forecast of a batch under way, in sentences.

use fallrate_follow::{Measured, Range, Suspect};
use fallrate_series::{CalendarDate, Instant};

use super::Followed;
use super::asked::LeftOut;
use super::cause::{Cause, Moved};
use crate::batches::{HandReading, Run, StoppedKind};
use crate::proof::LocalClock;
use crate::words::{Reader, say};

/// An end that moved by less is said to stay, s.
const STAYS_S: f64 = 150.0;

/// A clock time as said today: with its day where that is another.
#[must_use]
pub(crate) fn clock_words(r: &Reader, zone: &str, at: Instant, today: Instant) -> String {
    let Some(clock) = LocalClock::named(zone) else { return at.iso_utc() };
    let minute = clock.minute(at);
    let days = |i: Instant| CalendarDate::parse(&clock.day(i)).ok();
    if days(at) == days(today) {
        minute
    } else if days(at) == days(today.plus_seconds(86_400.0)) {
        say!(r, "clock-next-day", clock = minute)
    } else {
        clock.day_and_minute(at)
    }
}

fn of_run(f: &Followed, run: &Run, r: &Reader, at_s: f64) -> String {
    match f.instant(at_s) {
        Some(at) => clock_words(r, &run.zone, at, f.at),
        None => r.text("not-reached"),
    }
}

/// "Power off about 14:40, between 14:10 and 15:20": the end as followed.
#[must_use]
pub fn end_words(f: &Followed, run: &Run, r: &Reader) -> String {
    let end = f.end();
    if end.unreached > 0.5 {
        return r.text("run-end-never");
    }
    if end.met_already > 0.9 {
        return r.text("run-end-now");
    }
    let Range { low, middle, high } = end.power_off_s;
    let of = |s| of_run(f, run, r, s);
    // The day is said once where it is one.
    let beside = |s| match (f.instant(s), f.instant(middle)) {
        (Some(at), Some(end)) if same_day(&run.zone, at, end) => clock_words(r, &run.zone, at, end),
        _ => of(s),
    };
    say!(r, "run-end", end = of(middle), early = beside(low), late = beside(high))
}

fn same_day(zone: &str, a: Instant, b: Instant) -> bool {
    LocalClock::named(zone).is_some_and(|c| c.day(a) == c.day(b))
}

/// "End moved from 14:05 to 14:40: trays 3 and 8 are heavier than forecast."
#[must_use]
pub fn moved_words(f: &Followed, run: &Run, r: &Reader) -> Option<String> {
    let moved: &Moved = f.moved.as_ref()?;
    let end = f.end();
    let (was, is) = (moved.was.middle, end.power_off_s.middle);
    if !was.is_finite() && !is.is_finite() {
        return None;
    }
    let why = list_words(r, &moved.causes.iter().map(|c| cause(c, r)).collect::<Vec<_>>());
    let of = |s| of_run(f, run, r, s);
    let from = match (f.instant(was), f.instant(is)) {
        (Some(was), Some(is)) if same_day(&run.zone, was, is) => clock_words(r, &run.zone, was, is),
        _ => of(was),
    };
    let stays = (is - was).abs() < STAYS_S;
    let band = (end.power_off_s.high - end.power_off_s.low, moved.was.high - moved.was.low);
    let narrower = band.0.is_finite() && band.1.is_finite() && band.0 < 0.9 * band.1;
    Some(match (stays, moved.causes.is_empty()) {
        (true, _) if narrower => {
            say!(r, "run-stays-surer", end = of(is), band = r.duration(band.0), was = r.duration(band.1))
        }
        (true, _) => say!(r, "run-stays", end = of(is)),
        (false, true) => say!(r, "run-moved-time", from = from, to = of(is)),
        (false, false) => say!(r, "run-moved", from = from, to = of(is), why = why),
    })
}

fn cause(c: &Cause, r: &Reader) -> String {
    let key = match c {
        Cause::Trays { numbers, heavier } => {
            let numbers = numbers.iter().map(u32::to_string).collect::<Vec<_>>();
            let key = match (numbers.len() == 1, heavier) {
                (true, true) => "run-cause-tray-heavier",
                (true, false) => "run-cause-tray-lighter",
                (false, true) => "run-cause-trays-heavier",
                (false, false) => "run-cause-trays-lighter",
            };
            return say!(r, key, trays = list_words(r, &numbers));
        }
        Cause::Stopped { kind, seconds } => return stopped(*kind, *seconds, r),
        Cause::Core { higher: true } => "run-cause-core-warmer",
        Cause::Core { higher: false } => "run-cause-core-colder",
        Cause::WetBulb { higher: true } => "run-cause-wet-bulb-higher",
        Cause::WetBulb { higher: false } => "run-cause-wet-bulb-lower",
        Cause::Humidity { higher: true } => "run-cause-humidity-higher",
        Cause::Humidity { higher: false } => "run-cause-humidity-lower",
        Cause::Air { higher: true } => "run-cause-air-warmer",
        Cause::Air { higher: false } => "run-cause-air-colder",
        Cause::Done => "run-cause-done",
        Cause::Overdue => "run-cause-overdue",
        Cause::TakenBack => "run-cause-taken-back",
    };
    r.text(key)
}

fn stopped(kind: StoppedKind, seconds: f64, r: &Reader) -> String {
    let lasting = seconds < 1.0;
    let key = match (kind, lasting) {
        (StoppedKind::Power, false) => "run-cause-power",
        (StoppedKind::Door, false) => "run-cause-door",
        (StoppedKind::Fan, false) => "run-cause-fan",
        (StoppedKind::Trays, false) => "run-cause-trays-out",
        (_, true) => "run-cause-still-stopped",
    };
    say!(r, key, dur = r.duration(seconds))
}

/// "3, 8 and 14".
pub(crate) fn list_words(r: &Reader, items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [before @ .., last] => say!(r, "list-and", before = before.join(", "), last = last.as_str()),
    }
}

/// What to dial for the rest, were it dialled now, and what the running countdown leads to.
#[must_use]
pub fn timer_words(f: &Followed, run: &Run, r: &Reader) -> Vec<String> {
    let mut list = Vec::new();
    if let Some(d) = f.as_dialled() {
        let off = of_run(f, run, r, d.power_off_s);
        let moisture = r.moisture(d.moisture_dry_basis.middle);
        list.push(say!(r, "run-as-dialled", clock = off, moisture = moisture, share = r.percent(d.too_wet)));
    }
    let dial_s = f.dial_s();
    if dial_s.is_finite() && dial_s > 0.0 {
        let off = of_run(f, run, r, f.at.seconds_since(f.question.start) + dial_s);
        list.push(say!(r, "run-dial-now", dial = r.duration(dial_s), clock = off));
    }
    list
}

/// A reading that does not count, with what may be wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubted {
    /// Number of its entry.
    pub entry: u64,
    /// The reading.
    pub reading: HandReading,
    /// What may be wrong and what to do.
    pub text: String,
    /// What it would be, were the suspicion right, in the base unit of its role; none where nothing can be proposed.
    pub proposed: Option<f64>,
}

/// Readings that do not fit: they are kept and did not count.
#[must_use]
pub fn doubted(f: &Followed, run: &Run, r: &Reader) -> Vec<Doubted> {
    let misfits = f.update.misfits.iter().filter_map(|m| {
        let reading = f.question.entered(m.id)?;
        let tare = f.question.readings.iter().find(|x| x.id == m.id).and_then(|x| match x.measured {
            Measured::TrayGross { tare_kg, .. } => Some(tare_kg),
            _ => None,
        });
        let (key, proposed) = match (m.suspect, tare) {
            // Off by about the tare above what is expected with the tare taken off: it stands on the scale twice.
            (Suspect::TareNotTaken, Some(t)) => ("run-doubt-tare-not-taken", Some(reading.value - t)),
            (Suspect::TareTakenTwice, Some(t)) => ("run-doubt-tare-twice", Some(reading.value + t)),
            (Suspect::NotInProduct, _) => ("run-doubt-not-in-product", None),
            (Suspect::SockDry, _) => ("run-doubt-sock-dry", None),
            (Suspect::Other, _) => ("run-doubt-other", None),
            _ => ("run-doubt-weight", None),
        };
        Some(Doubted { entry: reading.entry, reading: reading.clone(), text: r.text(key), proposed })
    });
    let left_out = f.question.left_out.iter().filter_map(|(entry, why)| {
        let reading = run.readings.iter().find(|x| x.entry == *entry)?;
        let key = match why {
            LeftOut::BeforeStart => "run-doubt-before-start",
            LeftOut::NoSuchTray => "run-doubt-no-tray",
            LeftOut::OutOfRange => "run-doubt-range",
        };
        Some(Doubted { entry: *entry, reading: reading.clone(), text: r.text(key), proposed: None })
    });
    misfits.chain(left_out).collect()
}
