//! What to dial into a countdown that cannot be changed once it runs.

use crate::band::Band;
use crate::money::tariff_cost;
use crate::setup::{Setup, Unloading};
use crate::sweep::Sweep;

/// Cost of a batch found too wet with nobody there, where the user gave none, as a share of what the finished batch
/// sells for (own judgement).
const WET_SHARE_OF_VALUE: f64 = 0.15;
/// Where somebody is there as the power ends, a batch found too wet costs half an hour of labour to weigh and dial again,
/// or this share of its value where no labour price is known (own judgement).
const REDIAL_SHARE_OF_VALUE: f64 = 0.01;
/// The dial is never set earlier than the time by which this share of the draws is ready (own judgement).
const LEAST_READY: f64 = 0.5;
/// Where no price is known: the timer under which so many of the draws are dry enough (own judgement: a wet batch is
/// taken to cost three times what an over-dried one does).
const FRACTILE: f64 = 0.75;

/// Why this value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reason {
    /// Least expected cost of too wet and too dry together.
    LeastCost,
    /// Three of four draws dry enough; no prices were given and nobody is there at the end.
    ThreeOfFour,
    /// Half of the draws dry enough; no prices were given, and somebody is there to weigh and dial again.
    HalfThenDialAgain,
    /// The nominal run alone; no draws were made.
    Nominal,
    /// The dial goes no further.
    DialMaximum,
    /// It was moved so that the end falls in staffed hours.
    Staffed,
}

/// One hour more or less than the advice, or a doubt about the solids.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Miss {
    /// Powered time, s.
    pub powered_s: f64,
    /// Median moisture of the mean piece at unloading, kg/kg dry basis.
    pub moisture_dry_basis: f64,
    /// Share of draws too wet; none without draws.
    pub share_too_wet: Option<f64>,
    /// Finished weight given away below the target moisture, kg.
    pub given_away_kg: f64,
    /// Expected cost, in the plan's currency; none without prices.
    pub cost: Option<f64>,
}

/// A stand that must not be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StandRefused {
    /// Water activity of the wettest piece at power-off.
    pub water_activity: f64,
    /// Limit.
    pub limit: f64,
}

/// The timer advice.
#[derive(Clone, Debug, PartialEq)]
pub struct TimerAdvice {
    /// End of the powered time, s from the start of the run; less [`crate::Dial::from_s`] it is what to dial, in steps of the
    /// dial.
    pub dial_s: f64,
    /// Why.
    pub reason: Reason,
    /// Powered time that meets the target in 10, 50 and 90 % of the draws, s.
    pub quantiles_s: Option<[f64; 3]>,
    /// Powered time that meets the target in the nominal run, s.
    pub nominal_s: f64,
    /// Powered time if it is emptied as the power goes off, s.
    pub emptied_at_once_s: f64,
    /// Powered time if it stands until someone comes, and when that is, s; none where the two are one.
    pub standing_s: Option<(f64, f64)>,
    /// When it is unloaded, s.
    pub unloaded_s: f64,
    /// Mean moisture at power-off and at unloading in the nominal run, kg/kg dry basis.
    pub coast: (f64, f64),
    /// Minutes of powered drying that the coast replaces, s (negative where the load takes water up).
    pub coast_worth_s: f64,
    /// Someone is there at the end of the power.
    pub staffed_at_end: bool,
    /// One hour less, the advice, one hour more.
    pub misses: [Miss; 3],
    /// A stand that must not be.
    pub stand_refused: Option<StandRefused>,
    /// More than the dial holds, s.
    pub beyond_dial_s: Option<f64>,
    /// Start later by this so that the powered end falls when people are back, s.
    pub delay_start_s: Option<f64>,
}

/// Advice for a setup from its nominal sweep, the sweep under the other way of unloading, and the draws.
#[must_use]
pub fn advise(
    setup: &Setup,
    nominal: &Sweep,
    other: Option<(&Setup, &Sweep)>,
    band: Option<&Band>,
) -> TimerAdvice {
    let target = setup.target.moisture_dry_basis;
    let piece = setup.target.piece;
    let met = |s: &Setup, sweep: &Sweep| {
        sweep.at_unloading(s.target.piece).first_at_or_below(target).unwrap_or(f64::INFINITY)
    };
    let direct = nominal.at_power_off(piece).first_at_or_below(target).unwrap_or(f64::INFINITY);
    let nominal_s = met(setup, nominal);
    let (wanted, mut reason) = match band {
        Some(band) => best(setup, nominal, band, nominal_s),
        None => (nominal_s, Reason::Nominal),
    };
    let from = setup.dial.from_s;
    let mut dial_s = on_dial(setup, wanted);
    let mut beyond = None;
    if dial_s - from > setup.dial.maximum_s {
        beyond = Some(dial_s - from - setup.dial.maximum_s);
        dial_s = from + setup.dial.maximum_s;
        reason = Reason::DialMaximum;
    }
    let standing_s = match (setup.unloading, other) {
        (Unloading::AtOnce, Some((s, sweep))) => {
            let t = met(s, sweep);
            Some((t, s.unloaded_s(t)))
        }
        (Unloading::AtOnce, None) => None,
        _ => Some((nominal_s, setup.unloaded_s(nominal_s))),
    };
    let unloaded_s = setup.unloaded_s(dial_s);
    let coast = (nominal.mean_at_power_off.at(dial_s), nominal.mean_at_unloading.at(dial_s));
    // The coast's worth: how much longer the power would have had to stay on for the same moisture.
    let same = nominal.mean_at_power_off.first_at_or_below(coast.1).unwrap_or(dial_s);
    let staffed_at_end = setup.is_staffed(dial_s);
    TimerAdvice {
        dial_s,
        reason,
        quantiles_s: band.map(|b| [0.1, 0.5, 0.9].map(|q| b.timer_quantile_s(q))),
        nominal_s,
        emptied_at_once_s: direct,
        standing_s,
        unloaded_s,
        coast,
        coast_worth_s: if unloaded_s > dial_s { same - dial_s } else { 0.0 },
        staffed_at_end,
        misses: [-3600.0, 0.0, 3600.0].map(|d| miss(setup, nominal, band, (dial_s + d).max(from))),
        stand_refused: refused(setup, nominal, dial_s),
        beyond_dial_s: beyond,
        delay_start_s: (!staffed_at_end)
            .then(|| setup.next_staffed(direct) - direct)
            .filter(|d| d.is_finite() && *d > 0.0),
    }
}

fn round_to(seconds: f64, step: f64) -> f64 {
    // The small slack keeps a value that is a step but for rounding on its step.
    ((seconds / step) - 1e-6).ceil() * step
}

/// The first end of the powered time at or after one that the dial can give.
fn on_dial(setup: &Setup, end_s: f64) -> f64 {
    let from = setup.dial.from_s;
    from + round_to((end_s - from).max(0.0), setup.dial.step_s)
}

/// Powered time of least expected cost among the steps of the dial, or the fractile where no prices are known.
fn best(setup: &Setup, nominal: &Sweep, band: &Band, nominal_s: f64) -> (f64, Reason) {
    if setup.money.product_price_per_kg.is_none() {
        let attended = attended(setup, nominal_s);
        let t = band.timer_quantile_s(if attended { LEAST_READY } else { FRACTILE });
        let reason = if attended { Reason::HalfThenDialAgain } else { Reason::ThreeOfFour };
        return (if t.is_finite() { t } else { nominal_s }, reason);
    }
    let median = band.timer_quantile_s(LEAST_READY);
    let low = if median.is_finite() { median } else { nominal_s };
    let mut high = 1.9 * low.max(nominal_s);
    if matches!(setup.unloading, Unloading::At { .. }) {
        // The clock time asked for is the first that the median can make, not one a day later.
        high = high.min(setup.unloaded_s(low));
    }
    let step = setup.dial.step_s.max(60.0);
    let mut t = setup.dial.from_s + round_to((low - setup.dial.from_s).max(0.0), step);
    let mut least = (f64::INFINITY, low);
    while t <= high {
        let cost = expected_cost(setup, nominal, Some(band), t).unwrap_or(f64::INFINITY);
        if cost < least.0 {
            least = (cost, t);
        }
        t += step;
    }
    (least.1, Reason::LeastCost)
}

/// Somebody is there as the power ends and takes the load out or dials again.
fn attended(setup: &Setup, powered_s: f64) -> bool {
    setup.is_staffed(powered_s) && setup.unloaded_s(powered_s) - powered_s < 1800.0
}

fn miss(setup: &Setup, nominal: &Sweep, band: Option<&Band>, powered_s: f64) -> Miss {
    let x = band.map_or_else(
        || nominal.mean_at_unloading.at(powered_s),
        |b| b.moisture_at_unloading(fallrate_simulate::Piece::Mean, powered_s, 0.5),
    );
    Miss {
        powered_s,
        moisture_dry_basis: x,
        share_too_wet: band.map(|b| b.share_too_wet(setup, powered_s)),
        given_away_kg: given_away(setup, nominal, band, powered_s),
        cost: expected_cost(setup, nominal, band, powered_s),
    }
}

/// Mean weight given away below the target moisture, kg.
#[allow(clippy::cast_precision_loss)]
fn given_away(setup: &Setup, nominal: &Sweep, band: Option<&Band>, powered_s: f64) -> f64 {
    let target = setup.target.moisture_dry_basis;
    match band {
        Some(b) if !b.draws.is_empty() => {
            let sum: f64 = b
                .draws
                .iter()
                .map(|d| d.solids_kg * (target - d.sweep.mean_at_unloading.at(powered_s)).max(0.0))
                .sum();
            sum / b.draws.len() as f64
        }
        _ => setup.batch.solids_kg() * (target - nominal.mean_at_unloading.at(powered_s)).max(0.0),
    }
}

/// Expected cost of a powered time: given-away weight, rework of wet batches, energy. None without a product price.
fn expected_cost(setup: &Setup, nominal: &Sweep, band: Option<&Band>, powered_s: f64) -> Option<f64> {
    let price = setup.money.product_price_per_kg?;
    let finished = setup.batch.solids_kg() * (1.0 + setup.target.moisture_dry_basis);
    let attended = attended(setup, powered_s);
    let wet_cost = if attended {
        setup.money.labour_price_per_hour.map_or(REDIAL_SHARE_OF_VALUE * price * finished, |p| 0.5 * p)
    } else {
        setup.money.wet_batch_cost.unwrap_or(WET_SHARE_OF_VALUE * price * finished)
    };
    let too_wet = band.map_or_else(
        || {
            if nominal.at_unloading(setup.target.piece).at(powered_s) > setup.target.moisture_dry_basis {
                1.0
            } else {
                0.0
            }
        },
        |b| b.share_too_wet(setup, powered_s),
    );
    let tariff = setup.money.tariff.as_ref();
    let energy = tariff.map_or(0.0, |t| tariff_cost(setup, t, &nominal.energy_j, powered_s));
    Some(price * given_away(setup, nominal, band, powered_s) + wet_cost * too_wet + energy)
}

/// A stand is refused when the wettest piece is above the product's limit at power-off and its temperature falls into the
/// growth range while it stands.
fn refused(setup: &Setup, nominal: &Sweep, dial_s: f64) -> Option<StandRefused> {
    let limit = setup.stand_limit?;
    if setup.unloaded_s(dial_s) - dial_s < 1800.0 {
        return None;
    }
    let x = nominal.slowest_at_power_off.at(dial_s);
    let aw = setup.batch.material.sorption.activity(x, 298.15).aw;
    // A cabinet that cools towards the room always passes through the range.
    let crosses = setup.batch.room.temperature_c < limit.growth_to_c;
    (aw > limit.water_activity && crosses)
        .then_some(StandRefused { water_activity: aw, limit: limit.water_activity })
}
