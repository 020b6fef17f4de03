//! Doubtful entries, read back before they stand.

use fallrate_follow::group_of_tray;
use fallrate_series::{Instant, Role};
use fallrate_units::{Mass, Quantity, RelativeHumidity, Temperature};

use super::Followed;
use super::asked::case_of;
use super::reason::clock_words;
use crate::batches::{ReadingKind, Run};
use crate::plan_case::Planned;
use crate::proof::LocalClock;
use crate::typed::{Asked, TypedFault};
use crate::words::{Reader, Units, say};

/// One way an entry may be meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Meant {
    /// As a button says it.
    pub label: String,
    /// What the entry is then, with its unit; for a time the full time.
    pub value: String,
}

/// An entry read back: what is odd about it, and what may be meant. It does not stand before somebody chose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadBack {
    /// What is odd.
    pub text: String,
    /// The ways it may be meant; the first is as typed.
    pub ways: Vec<Meant>,
}

impl ReadBack {
    /// A value that two units make sense of.
    #[must_use]
    pub fn of_fault(fault: &TypedFault, r: &Reader) -> Option<Self> {
        let TypedFault::TwoReadings { first, second, .. } = fault else { return None };
        let way = |v: &String| Meant { label: v.clone(), value: v.replace('°', "deg") };
        Some(Self { text: fault.words(r), ways: vec![way(first), way(second)] })
    }
}

/// A tray may gain so much between two weighings by the scale and by drops, share and kg.
const GAIN: (f64, f64) = (0.01, 0.01);
/// A weight within this share of what is expected is as expected.
const NEAR: f64 = 0.06;
/// One off by more is odd.
const FAR: f64 = 0.25;
/// A core off by more than this from what is expected is read back, K, and one above the air by more than that.
const FAR_CORE_K: f64 = 20.0;
const ABOVE_AIR_K: f64 = 4.0;
/// One off by more than this, and by less in the other unit, may be meant in that, K.
const OTHER_UNIT_K: f64 = 15.0;

/// What a reading is compared with before it stands.
#[derive(Clone, Copy, Debug)]
pub struct Beside<'a> {
    /// The run so far.
    pub run: &'a Run,
    /// Its plan.
    pub planned: &'a Planned,
    /// As followed, where it is.
    pub followed: Option<&'a Followed>,
    /// When it was read.
    pub at: Instant,
}

/// Reads an entry back where something about it is odd. `value` is as the record would have it, with its unit.
#[must_use]
pub fn doubt(kind: &ReadingKind, value: &str, b: &Beside<'_>, r: &Reader) -> Option<ReadBack> {
    match kind {
        ReadingKind::Tray(n) => tray(*n, Mass::parse(value).ok()?.kilograms(), b, r),
        ReadingKind::Core(_) => core(Temperature::parse(value).ok()?.celsius(), b, r),
        ReadingKind::WetBulb => wet_bulb(Temperature::parse(value).ok()?.celsius(), b, r),
        ReadingKind::Humidity => humidity(RelativeHumidity::parse(value).ok()?.fraction(), r),
        ReadingKind::Air => None,
    }
}

fn kilograms(kg: f64, r: &Reader) -> Meant {
    let unit = if r.units == Units::Us { "lb" } else { "kg" };
    let shown = format!("{:.3} {unit}", r.mass_number(kg));
    Meant { label: r.shown(Mass::from_kilograms(kg), 3), value: shown }
}

fn celsius(c: f64, r: &Reader) -> Meant {
    Meant { label: r.shown(Temperature::from_base(c), 1), value: format!("{c:.2} degC") }
}

/// What this tray is expected to weigh now, with and without itself, kg.
fn expected(n: u16, b: &Beside<'_>) -> (f64, f64) {
    let a = &b.planned.plan.assembled;
    let fresh = a.setup.batch.load.fresh_kg_per_tray;
    let group = group_of_tray(&case_of(b.planned), u32::from(n));
    let net = b.followed.and_then(|f| f.update.now.tray_net_kg.get(group)).map_or(fresh, |w| w.middle);
    (net + a.tare_kg, net)
}

fn tray(n: u16, kg: f64, b: &Beside<'_>, r: &Reader) -> Option<ReadBack> {
    let mut own = b
        .run
        .readings
        .iter()
        .filter(|x| x.role == Role::TrayWeight { tray: n } && x.at.seconds_since(b.at) < 0.0);
    let last = own.next_back();
    let (gross, net) = expected(n, b);
    let tare = b.planned.plan.assembled.tare_kg;
    let near = |(v, share): (f64, f64)| (v / gross - 1.0).abs() < share;
    let far = (kg / gross - 1.0).abs() > FAR;
    let back = |text: String, more: Vec<f64>| {
        let ways = std::iter::once(kg).chain(more).map(|kg| kilograms(kg, r)).collect();
        Some(ReadBack { text, ways })
    };
    let shown = |kg: f64| r.shown(Mass::from_kilograms(kg), 3);
    // The tray missing on the scale: about the net weight, or the tare below what it was.
    if tare > 0.0
        && far
        && ((kg / net - 1.0).abs() < 0.2 || last.is_some_and(|l| (l.value - tare - kg).abs() < 0.15 * tare))
    {
        return back(say!(r, "doubt-without-tray", weight = shown(kg), tare = shown(tare)), vec![kg + tare]);
    }
    if let Some(slip) = slips(kg).into_iter().find(|s| near(*s)).filter(|_| far) {
        return back(say!(r, "doubt-slip", weight = shown(kg), expected = shown(gross)), vec![slip.0]);
    }
    if let Some(l) = last.filter(|l| kg > l.value * (1.0 + GAIN.0) + GAIN.1) {
        let when = clock_words(r, &b.run.zone, l.at, b.at);
        let text = say!(r, "doubt-rises", weight = shown(kg), before = shown(l.value), clock = when);
        return back(text, Vec::new());
    }
    let fresh = b.planned.plan.assembled.setup.batch.load.fresh_kg_per_tray + tare;
    if kg < tare || kg > 1.3 * fresh {
        return back(
            say!(r, "doubt-no-tray-weighs", weight = shown(kg), low = shown(tare), high = shown(fresh)),
            Vec::new(),
        );
    }
    None
}

/// What a slipped point or two digits changed over would have been, and how near it must lie to what is expected, as a share:
/// a point that slipped is told from further off.
fn slips(value: f64) -> Vec<(f64, f64)> {
    let mut list = vec![(value * 10.0, 3.0 * NEAR), (value / 10.0, 3.0 * NEAR)];
    let digits: Vec<char> = format!("{value:.3}").chars().collect();
    let places: Vec<usize> = (0..digits.len()).filter(|i| digits[*i].is_ascii_digit()).collect();
    for pair in places.windows(2) {
        let mut changed = digits.clone();
        changed.swap(pair[0], pair[1]);
        list.extend(changed.iter().collect::<String>().parse::<f64>().ok().map(|v| (v, NEAR)));
    }
    list
}

fn core(c: f64, b: &Beside<'_>, r: &Reader) -> Option<ReadBack> {
    let now = b.followed.map(|f| &f.update.now)?;
    let (expected, air) = (now.core_coldest_c.middle, now.chamber_c.high);
    let shown = |c: f64| r.shown(Temperature::from_base(c), 1);
    let typed = r.temperature_number(c);
    let to_c = |t: f64| if r.units == Units::Us { (t - 32.0) / 1.8 } else { t };
    let slip = slips(typed).into_iter().map(|s| to_c(s.0)).find(|s| (s - expected).abs() < 6.0);
    if let Some(back) = other_unit(c, expected, r) {
        return Some(back);
    }
    let far = (c - expected).abs() > FAR_CORE_K;
    let key = if far && slip.is_some() {
        "doubt-core-slip"
    } else if c > air + ABOVE_AIR_K {
        "doubt-core-above-air"
    } else if far {
        "doubt-core-far"
    } else {
        return None;
    };
    let text = say!(r, key, core = shown(c), expected = shown(expected), air = shown(air));
    let ways = std::iter::once(c).chain(slip.filter(|_| far)).map(|c| celsius(c, r)).collect();
    Some(ReadBack { text, ways })
}

/// A temperature that is odd in the reader's unit and as expected in the other.
fn other_unit(c: f64, expected: f64, r: &Reader) -> Option<ReadBack> {
    let typed = r.temperature_number(c);
    let (own, other, other_c) = match r.units {
        Units::Us => ("degF", "degC", typed),
        Units::Si => ("degC", "degF", (typed - 32.0) / 1.8),
    };
    if (c - expected).abs() < OTHER_UNIT_K || (other_c - expected).abs() > OTHER_UNIT_K {
        return None;
    }
    let number = crate::words::trimmed(typed, 1);
    let way = |unit: &str| Meant {
        label: format!("{number} {}", unit.replace("deg", "°")),
        value: format!("{number} {unit}"),
    };
    let (own, other) = (way(own), way(other));
    let expected = r.shown(Temperature::from_base(expected), 1);
    let text = say!(r, "doubt-core-unit", core = own.label.as_str(), expected = expected);
    Some(ReadBack { text, ways: vec![own, other] })
}

fn wet_bulb(c: f64, b: &Beside<'_>, r: &Reader) -> Option<ReadBack> {
    let air = b.followed.map(|f| f.update.now.chamber_c.high)?;
    let shown = |c: f64| r.shown(Temperature::from_base(c), 1);
    let text = say!(r, "doubt-wet-bulb", wet = shown(c), air = shown(air));
    (c > air + 1.0).then(|| ReadBack { text, ways: vec![celsius(c, r)] })
}

fn humidity(fraction: f64, r: &Reader) -> Option<ReadBack> {
    let percent = 100.0 * fraction;
    let way = |p: f64| {
        let value = format!("{} %", crate::words::trimmed(p, 2));
        Meant { label: value.clone(), value }
    };
    let odd = percent > 0.0 && percent <= 1.0;
    odd.then(|| ReadBack {
        text: say!(r, "doubt-humidity", rh = way(percent).label),
        ways: vec![way(percent), way(100.0 * percent)],
    })
}

/// A time as read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TimeRead {
    /// Nothing was typed: now.
    Now,
    /// That.
    At(Instant),
    /// It may be meant in several ways.
    Doubtful(ReadBack),
    /// It cannot be read, or is yet to come.
    Unread,
}

/// A clock time further back than this is read back where it may be something else, s.
const LONG_AGO_S: f64 = 3.0 * 3600.0;
/// A clock time later than now is of the day before, this far back at the most, s.
const DAY_BEFORE_S: f64 = 12.0 * 3600.0;

/// Longer than this nobody means by a length of time ago, h.
const MOST_HOURS_AGO: u32 = 3;

/// Reads when something was. "1:30" may be a clock time, of the morning or the afternoon, or an hour and a half ago.
#[must_use]
pub fn read_time(text: &str, zone: &str, now: Instant, earliest: Option<Instant>, r: &Reader) -> TimeRead {
    let text = text.trim();
    if text.is_empty() {
        return TimeRead::Now;
    }
    let Some(clock) = LocalClock::named(zone) else { return TimeRead::Unread };
    let past = |at: Instant| now.seconds_since(at) >= 0.0;
    let plain = match Asked::Clock.read(text, Units::Si) {
        Ok(Some(typed)) => typed.value,
        _ => text.to_owned(),
    };
    let on_day = |day: Instant| clock.read(&plain, day).ok();
    let read = on_day(now).filter(|at| past(*at)).or_else(|| {
        on_day(now.plus_seconds(-86_400.0)).filter(|at| past(*at) && now.seconds_since(*at) <= DAY_BEFORE_S)
    });
    let ambiguous = hours_and_minutes(text);
    let sound = |at: &Instant| {
        now.seconds_since(*at) <= LONG_AGO_S && earliest.is_none_or(|e| at.seconds_since(e) >= 0.0)
    };
    let Some((h, m)) = ambiguous.filter(|_| !read.as_ref().is_some_and(sound)) else {
        return read.map_or(TimeRead::Unread, TimeRead::At);
    };
    let fits = |at: &Instant| past(*at) && earliest.is_none_or(|e| at.seconds_since(e) >= 0.0);
    let afternoon = clock.read(&format!("{}:{m:02}", h + 12), now).ok().filter(|_| h < 12);
    let ago = now.plus_seconds(-f64::from(h * 3600 + m * 60));
    let at = |i: Instant| Meant {
        label: say!(r, "doubt-time-at", clock = clock_words(r, zone, i, now)),
        value: clock.full(i),
    };
    let ways: Vec<Meant> = read
        .into_iter()
        .map(at)
        .chain(afternoon.filter(|i| fits(i)).map(at))
        .chain((h <= MOST_HOURS_AGO && fits(&ago)).then(|| Meant {
            label: say!(
                r,
                "doubt-time-ago",
                dur = r.duration(f64::from(h * 3600 + m * 60)),
                clock = clock_words(r, zone, ago, now)
            ),
            value: clock.full(ago),
        }))
        .collect();
    match (ways.len(), read) {
        (0, _) => TimeRead::Unread,
        (1, Some(read)) => TimeRead::At(read),
        _ => TimeRead::Doubtful(ReadBack { text: say!(r, "doubt-time", text = text), ways }),
    }
}

/// Hours and minutes of a text that may be as well a length of time or of the afternoon: "1:30". "01:30" is neither.
fn hours_and_minutes(text: &str) -> Option<(u32, u32)> {
    if text.len() > 4 && text.starts_with('0') {
        return None;
    }
    let (h, m) = text.split_once([':', 'h'])?;
    let (h, m): (u32, u32) = (h.trim().parse().ok()?, m.trim().parse().ok()?);
    (h <= 12 && m < 60).then_some((h, m))
}
