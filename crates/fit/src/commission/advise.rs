//! Which test next, by what each would take off the uncertainty for what it costs.

use fallrate_equipment::Cabinet;
use nalgebra::{DMatrix, DVector};

use crate::FitError;

use super::commission::Commissioned;
use super::figures::Figures;
use super::outcome::{Quantity, deviation};
use super::predict::{OWN, rows};
use super::record::CabinetTest;
use super::rehearsed::{Ask, Planned, asks, rehearse};
use super::unknown::{KnownFigures, Places};

/// What a test would do to one figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Narrowed {
    /// Which.
    pub quantity: Quantity,
    /// Standard deviation (of the logarithm where it is not a difference) now.
    pub before: f64,
    /// After the test.
    pub after: f64,
}

/// A test that is worth doing.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// The test.
    pub planned: Planned,
    /// What it would narrow, most first.
    pub narrows: Vec<Narrowed>,
    /// Halvings of standard deviations that are still too wide, all figures together.
    pub worth: f64,
    /// The same for an hour of cost.
    pub worth_per_hour: f64,
}

/// An hour of waiting costs this share of an hour of work.
const WAITING: f64 = 0.25;
/// Less than this many halvings is not worth a test.
const LEAST_WORTH: f64 = 0.3;

/// Tests worth doing, the best for its cost first; empty where every figure is as narrow as a plan needs.
///
/// # Errors
/// [`FitError::NoDecomposition`] where the arithmetic fails.
pub fn advise(
    draft: &Cabinet,
    known: &KnownFigures,
    done: Option<&Commissioned>,
) -> Result<Vec<Advice>, FitError> {
    let blank;
    let now = match done {
        Some(d) => d,
        None => {
            blank = Commissioned::nothing(draft, known, Vec::new());
            &blank
        }
    };
    let goals = goals(now);
    let places = now.places();
    let figures = Figures::new(draft, &places, &now.theta);
    let mut out = Vec::new();
    for ask in asks(draft) {
        let (test, planned) = rehearse(draft, &figures, &now.room, ask);
        let after = after(now, &places, &test)?;
        out.push(reckon(planned, &goals, &now.covariance, &after));
    }
    out.retain(|a| a.worth > LEAST_WORTH);
    out.sort_by(|a, b| b.worth_per_hour.total_cmp(&a.worth_per_hour));
    Ok(out)
}

/// Figures that a plan rests on, with their slopes. Ratios stand in where their parts do.
fn goals(now: &Commissioned) -> Vec<(Quantity, Vec<f64>)> {
    let wanted = |q: Quantity| {
        !matches!(
            q,
            Quantity::WallWater | Quantity::Volume | Quantity::WholeLoss(_) | Quantity::FreshAirRatio(..)
        )
    };
    now.outcomes
        .iter()
        .map(|o| o.quantity)
        .filter(|q| wanted(*q))
        .filter_map(|q| Some((q, now.slopes(q)?.1)))
        .collect()
}

fn reckon(
    planned: Planned,
    goals: &[(Quantity, Vec<f64>)],
    before: &DMatrix<f64>,
    after: &DMatrix<f64>,
) -> Advice {
    let trays = goals.iter().filter(|g| matches!(g.0, Quantity::AirShare(_))).count().max(1);
    let (mut worth, mut narrows) = (0.0, Vec::new());
    for (quantity, slopes) in goals {
        let (a, b) = (deviation(slopes, before), deviation(slopes, after));
        #[allow(clippy::cast_precision_loss)]
        let weight = if matches!(quantity, Quantity::AirShare(_)) { 2.0 / trays as f64 } else { 1.0 };
        let wanted = quantity.wanted();
        worth += weight * (a.max(wanted) / b.max(wanted)).log2();
        if b < 0.7 * a {
            narrows.push(Narrowed { quantity: *quantity, before: a, after: b });
        }
    }
    narrows.sort_by(|x, y| (x.after / x.before).total_cmp(&(y.after / y.before)));
    let hours = (planned.hands_s + WAITING * planned.duration_s) / 3600.0;
    Advice { planned, narrows, worth, worth_per_hour: worth / hours }
}

/// Covariance of the unknowns after a test: `C - C J' (J C J' + K K' + 1)^-1 J C`, J the slopes of its readings over their
/// deviations, K those by what nobody knows of the test itself.
fn after(now: &Commissioned, places: &Places, test: &CabinetTest) -> Result<DMatrix<f64>, FitError> {
    // Wide enough that the switching of a relay, found to milliseconds, does not look like knowledge.
    let step = 0.02;
    let at = |theta: &[f64], own: &[f64]| -> Vec<f64> {
        let figures = Figures::new(&now.draft, places, theta);
        rows(&now.draft, test, &figures, own, true).iter().map(|r| r.expected / r.deviation).collect()
    };
    let (n, zero) = (now.theta.len(), [0.0; OWN]);
    let count = at(&now.theta, &zero).len();
    let mut slopes = DMatrix::zeros(count, n);
    let mut own = DMatrix::zeros(count, OWN);
    let column = |up: Vec<f64>, down: Vec<f64>| {
        let same = up.len() == count && down.len() == count;
        let value = |i: usize| if same { (up[i] - down[i]) / (2.0 * step) } else { 0.0 };
        DVector::from_iterator(count, (0..count).map(value))
    };
    let mut moved = now.theta.clone();
    for i in 0..n {
        moved[i] = now.theta[i] + step;
        let up = at(&moved, &zero);
        moved[i] = now.theta[i] - step;
        let down = at(&moved, &zero);
        moved[i] = now.theta[i];
        slopes.set_column(i, &column(up, down));
    }
    for i in 0..OWN {
        let (mut a, mut b) = (zero, zero);
        (a[i], b[i]) = (step, -step);
        own.set_column(i, &column(at(&now.theta, &a), at(&now.theta, &b)));
    }
    let spread = &slopes * &now.covariance;
    let seen = &spread * slopes.transpose() + &own * own.transpose() + DMatrix::identity(count, count);
    let failed = FitError::NoDecomposition { readings: count, parameters: n };
    let solved = seen.cholesky().ok_or(failed)?.solve(&spread);
    Ok(&now.covariance - spread.transpose() * solved)
}

/// What a figure that was not told would need: the planned test after which it would be told, the surest of them.
#[must_use]
pub fn would_tell(advice: &[Advice], quantity: Quantity) -> Option<Ask> {
    let by = |a: &Advice| {
        let narrowed = a.narrows.iter().find(|n| n.quantity == quantity && n.after <= quantity.told_below());
        narrowed.map(|n| (n.after / n.before, a.planned.ask))
    };
    advice.iter().filter_map(by).min_by(|a, b| a.0.total_cmp(&b.0)).map(|b| b.1)
}
