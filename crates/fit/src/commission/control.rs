//! An on/off controller's cycles: what a record shows of them, and what the network makes of a band and a lag.

use super::figures::Figures;
use super::record::{AirReading, RoomAir};
use super::thermal::{ELEMENT, LOGGER, Network, SENSOR, SHELL, State, at_rest};

/// Cycles of the chamber's temperature as the logger shows them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cycles {
    /// From trough to crest, K.
    pub swing_k: f64,
    /// s
    pub period_s: f64,
    /// Mean over whole cycles, degC.
    pub mean_c: f64,
    /// How many whole cycles.
    pub count: usize,
    /// Readings in a cycle.
    pub readings: f64,
}

/// Finds the cycles of a record; none where there are fewer than two whole ones.
pub(crate) fn cycles(air: &[AirReading]) -> Option<Cycles> {
    let low = air.iter().map(|r| r.temperature_c).fold(f64::INFINITY, f64::min);
    let high = air.iter().map(|r| r.temperature_c).fold(f64::NEG_INFINITY, f64::max);
    let (middle, dead) = (0.5 * (low + high), 0.15 * (high - low));
    // Upward passages through the middle, armed by having been well below.
    let mut armed = false;
    let mut ups: Vec<(usize, f64)> = Vec::new();
    for (i, pair) in air.windows(2).enumerate() {
        let (a, b) = (pair[0], pair[1]);
        armed |= a.temperature_c < middle - dead;
        if armed && a.temperature_c <= middle && b.temperature_c > middle {
            let share = (middle - a.temperature_c) / (b.temperature_c - a.temperature_c);
            ups.push((i + 1, a.at_s + share * (b.at_s - a.at_s)));
            armed = false;
        }
    }
    let (first, last) = (ups.first()?, ups.last()?);
    let count = ups.len() - 1;
    if count < 2 {
        return None;
    }
    #[allow(clippy::cast_precision_loss)]
    let n = count as f64;
    let (mut swing, mut sum, mut weight) = (0.0, 0.0, 0.0);
    for pair in ups.windows(2) {
        let part = &air[pair[0].0..pair[1].0];
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for r in part {
            (least, most) = (least.min(r.temperature_c), most.max(r.temperature_c));
            sum += r.temperature_c;
            weight += 1.0;
        }
        swing += (most - least) / n;
    }
    Some(Cycles {
        swing_k: swing,
        period_s: (last.1 - first.1) / n,
        mean_c: sum / weight,
        count,
        readings: weight / n,
    })
}

/// Longest stretch that is followed to reach a steady cycle, s.
const FOLLOWED_S: f64 = 4.0 * 3600.0;
/// Cycles before the one that is looked at.
const WARM_UP: usize = 3;
/// Steps, s.
const STEP_S: f64 = 5.0;

/// The cycles that the figures make at a set point, as a logger that writes every so often (s) shows them; none where the
/// heater cannot reach it or never switches.
pub(crate) fn predicted(
    f: &Figures,
    mark: usize,
    room: &RoomAir,
    set_point_c: f64,
    written_s: f64,
) -> Option<Cycle> {
    let band = f.band_k?;
    let (low, high) = (set_point_c - 0.5 * band, set_point_c + 0.5 * band);
    let around = set_point_c - f.display_offset_k;
    let steps = [false, true].map(|on| Network::new(f, mark, room, around, on).halves(STEP_S));
    let mut state = at_rest(around);
    state[SHELL] = room.temperature_c
        + (around - room.temperature_c) * f.shell_exchange_w_per_k
            / (f.shell_exchange_w_per_k + f.loss_w_per_k);
    state[ELEMENT] = around + 5.0;
    let (mut heating, mut t, mut starts) = (true, 0.0, Vec::new());
    let mut trace: Vec<(f64, f64, f64)> = Vec::new();
    while t < FOLLOWED_S {
        let passed = |s: &State| {
            let sensed = s[SENSOR] + f.display_offset_k;
            if heating { sensed > high } else { sensed < low }
        };
        let step = &steps[usize::from(heating)];
        let next = step.whole(&state);
        let switched = passed(&next);
        let (reached, taken) = if switched { step.until(&state, &passed) } else { (next, STEP_S) };
        (state, t) = (reached, t + taken);
        if starts.len() > WARM_UP {
            trace.push((t, state[LOGGER], state[SENSOR]));
        }
        if switched {
            heating = !heating;
            if heating {
                starts.push(t);
                if starts.len() == WARM_UP + 2 {
                    return cycle(f, &trace, starts[WARM_UP], t, written_s);
                }
            }
        }
    }
    None
}

/// One steady cycle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Cycle {
    pub swing_k: f64,
    pub period_s: f64,
    pub mean_c: f64,
    /// Lowest and highest of the display.
    pub display_c: (f64, f64),
}

/// Phases of the logger's writing that are averaged over.
const PHASES: usize = 8;

fn cycle(f: &Figures, trace: &[(f64, f64, f64)], from: f64, to: f64, written_s: f64) -> Option<Cycle> {
    let period = to - from;
    let (first, last) = (trace.first()?, trace.last()?);
    let at = |t: f64| {
        let t = from + (t - from).rem_euclid(period);
        let i = trace.partition_point(|p| p.0 < t);
        let (a, b) = (if i == 0 { (from, last.1, 0.0) } else { trace[i - 1] }, trace.get(i).unwrap_or(first));
        if b.0 > a.0 { a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0) } else { b.1 }
    };
    let (mut swing, written) = (0.0, written_s.clamp(1.0, 0.5 * period));
    #[allow(clippy::cast_precision_loss)]
    for phase in 0..PHASES {
        let (mut t, mut least, mut most) =
            (written * phase as f64 / PHASES as f64, f64::INFINITY, f64::NEG_INFINITY);
        while t < period {
            let v = at(from + t);
            (least, most) = (least.min(v), most.max(v));
            t += written;
        }
        swing += (most - least) / PHASES as f64;
    }
    let (mut sum, mut before) = (0.0, (from, last.1));
    let mut display = (f64::INFINITY, f64::NEG_INFINITY);
    for p in trace {
        sum += (p.0 - before.0) * 0.5 * (p.1 + before.1);
        before = (p.0, p.1);
        display = (display.0.min(p.2), display.1.max(p.2));
    }
    Some(Cycle {
        swing_k: swing,
        period_s: period,
        mean_c: sum / period + f.logger_offset_k,
        display_c: (display.0 + f.display_offset_k, display.1 + f.display_offset_k),
    })
}
