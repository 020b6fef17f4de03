//! Samples of channels, and of wet and dry bulb together.

use fallrate_series::{Channel, Quality, Reading, Realm};

use crate::reason::{Counted, StripReason};
use crate::timeline::Sample;
use crate::track::Window;

/// Yes or no, with the reason for either.
pub(crate) type Judged = (Counted, StripReason);

pub(crate) const fn yes_no(yes: bool, reason_yes: StripReason, reason_no: StripReason) -> Judged {
    if yes { (Counted::Yes, reason_yes) } else { (Counted::No, reason_no) }
}

pub(crate) fn samples<R: Realm>(c: &Channel<R>, w: Window, f: impl Fn(f64) -> Judged) -> Vec<Sample> {
    c.readings()
        .iter()
        .map(|r| (r.at.seconds_since(w.t0), counting(r.quality).map(|()| f(r.value))))
        .collect()
}

/// Samples at the instants of the wet bulb, with the dry bulb on the line between two readings that count and lie
/// within the monitoring interval. Where the two clocks may be `apart_s`, both the coldest and the hottest dry bulb
/// within that time are looked at: they must agree.
pub(crate) fn with_dry_bulb<R: Realm>(
    wet: &Channel<R>,
    dry: &Channel<R>,
    w: Window,
    apart_s: f64,
    f: impl Fn(f64, f64) -> Judged,
) -> Vec<Sample> {
    let d = dry.readings();
    wet.readings()
        .iter()
        .map(|r| {
            let at = r.at.seconds_since(w.t0);
            let shown = counting(r.quality).and_then(|()| dry_between(d, w, at - apart_s, at + apart_s));
            let judged = shown.and_then(|(cold, hot)| {
                let (a, b) = (f(r.value, cold), f(r.value, hot));
                if a.0 == b.0 { Ok(b) } else { Err(StripReason::ClocksApart) }
            });
            (at, judged)
        })
        .collect()
}

/// Coldest and hottest dry bulb on the line between two instants; why it is not known where it is not.
fn dry_between(d: &[Reading], w: Window, from: f64, to: f64) -> Result<(f64, f64), StripReason> {
    let second = |r: &Reading| r.at.seconds_since(w.t0);
    let first = d.partition_point(|r| second(r) <= from).checked_sub(1);
    let first = first.ok_or(StripReason::NothingRecorded)?;
    let last = d.partition_point(|r| second(r) < to).max(first);
    let around = d.get(first..=last).ok_or(StripReason::NothingRecorded)?;
    for r in around {
        counting(r.quality)?;
    }
    let mut range = (f64::INFINITY, f64::NEG_INFINITY);
    let mut take = |t_c: f64| range = (range.0.min(t_c), range.1.max(t_c));
    if let [only] = around {
        take(only.value);
    }
    for (a, b) in around.iter().zip(around.iter().skip(1)) {
        let wait = second(b) - second(a);
        if wait > w.longest_s + 1e-6 {
            return Err(StripReason::LongerThanMonitoringInterval);
        }
        for t in [from.max(second(a)), to.min(second(b))] {
            take(a.value + (b.value - a.value) * (t - second(a)) / wait);
        }
    }
    Ok(range)
}

fn counting(q: Quality) -> Result<(), StripReason> {
    StripReason::from_quality(q).map_or(Ok(()), Err)
}
