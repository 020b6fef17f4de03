//! The countdown timer in words.

use fallrate_plan::Unloading;
use fallrate_plan::timer::{Miss, Reason};
use fallrate_report::Timer;

use super::view::View;
use crate::words::say;

pub(super) fn timer(v: &View<'_>) -> Timer {
    let t = &v.plan.timer;
    let shown = |s: f64| {
        if s.is_finite() { format!("{} ({})", v.r.duration(s), v.clock(s)) } else { v.r.text("not-reached") }
    };
    let (early, expected, late) = match t.quantiles_s {
        Some([a, b, c]) => (shown(a), shown(b), shown(c)),
        None => (String::new(), shown(t.nominal_s), String::new()),
    };
    let mut reasons = vec![reason(v)];
    reasons.extend(standing(v));
    reasons.extend(coast(v));
    reasons.push(miss(v, "timer-hour-less", &t.misses[0]));
    reasons.push(miss(v, "timer-as-advised", &t.misses[1]));
    reasons.push(miss(v, "timer-hour-more", &t.misses[2]));
    reasons.push(staffed(v));
    Timer { dial: v.r.duration(t.dial_s), early, expected, late, reasons }
}

fn reason(v: &View<'_>) -> String {
    let t = &v.plan.timer;
    let draws = v.plan.band.as_ref().map_or(0, |b| b.draws.len());
    let key = match t.reason {
        Reason::LeastCost => "reason-least-cost",
        Reason::ThreeOfFour => "reason-three-of-four",
        Reason::HalfThenDialAgain => "reason-half",
        Reason::Nominal => "reason-nominal",
        Reason::DialMaximum => "reason-dial-maximum",
        Reason::Staffed => "reason-staffed",
    };
    say!(
        v.r,
        key,
        step = v.r.duration(v.setup.dial.step_s),
        maximum = v.r.duration(v.setup.dial.maximum_s),
        nominal = v.r.duration(t.nominal_s),
        beyond = v.r.duration(t.beyond_dial_s.unwrap_or(0.0)),
        draws = draws
    )
}

/// Emptied at once against standing until somebody comes.
fn standing(v: &View<'_>) -> Vec<String> {
    let t = &v.plan.timer;
    let at_once = v.r.duration(t.emptied_at_once_s);
    let Some((stands_s, at_s)) = t.standing_s else { return vec![v.r.text("timer-always-there")] };
    let (dur, until) = (v.r.duration(stands_s), v.clock(at_s));
    if (at_s - stands_s).abs() < 60.0 {
        return vec![say!(v.r, "timer-no-stand", at_once = at_once)];
    }
    let key = if v.setup.unloading == Unloading::AtOnce { "timer-if-it-stood" } else { "timer-stands" };
    vec![say!(v.r, key, at_once = at_once, dur = dur, until = until)]
}

/// What happens between power-off and unloading.
fn coast(v: &View<'_>) -> Option<String> {
    let t = &v.plan.timer;
    let wait = t.unloaded_s - t.dial_s;
    if wait < 60.0 {
        return None;
    }
    let (from, to) = t.coast;
    let key = if to > from { "timer-regain" } else { "timer-coast" };
    Some(say!(
        v.r,
        key,
        wait = v.r.duration(wait),
        from = v.r.moisture_short(from),
        to = v.r.moisture(to),
        worth = v.r.duration(t.coast_worth_s.abs())
    ))
}

fn miss(v: &View<'_>, key: &'static str, m: &Miss) -> String {
    let mut parts =
        vec![say!(v.r, key, dur = v.r.duration(m.powered_s), moisture = v.r.moisture(m.moisture_dry_basis))];
    if let Some(share) = m.share_too_wet {
        parts.push(say!(v.r, "miss-too-wet", share = v.r.percent(share)));
    }
    parts.push(say!(v.r, "miss-given-away", mass = v.r.mass(m.given_away_kg, 2)));
    if let Some(cost) = m.cost {
        parts.push(say!(v.r, "miss-cost", cost = v.r.money(cost, v.currency())));
    }
    format!("{}.", parts.join(", "))
}

fn staffed(v: &View<'_>) -> String {
    let t = &v.plan.timer;
    let end = v.clock(t.dial_s);
    if v.setup.staffed.is_none() {
        return v.r.text("staffed-always");
    }
    match (t.staffed_at_end, t.delay_start_s) {
        (true, _) => say!(v.r, "staffed-yes", end = end),
        (false, Some(delay)) => {
            say!(v.r, "staffed-no-delay", end = end, delay = v.r.duration(delay), start = v.clock(delay))
        }
        (false, None) => say!(v.r, "staffed-no", end = end),
    }
}
