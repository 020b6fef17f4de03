//! Mistakes: a wrong tare, a slip of the pen, a probe in the air, a dry sock, an instrument that is off for a while.
//!
//! Each is a hypothesis with odds of its own. It is accepted where the readings are that much likelier with it than without,
//! all uncertain inputs and all sound errors in between integrated out, which for normal errors about a linear model is
//! exact. The likeliest is accepted first, then the next beside it, until none pays. What it touches then says no more than
//! the hypothesis lets it: it cannot drag the estimate.

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector};

use crate::FollowError;
use crate::course::{Case, Course};
use crate::estimate::cholesky;
use crate::noise::Channel;
use crate::predict::Predicted;
use crate::reading::{Measured, Reading};

/// Odds that a tray's tare is wrong, that a single weight is, and that an instrument is off, or feels the air where it should
/// not, for some stretch of the run. Own judgement.
const TARE_ODDS: f64 = 0.02;
const SLIP_ODDS: f64 = 0.01;
const INSTRUMENT_ODDS: f64 = 0.02;
const IN_AIR_ODDS: f64 = 0.03;
/// How far off a mistake may be, as a standard deviation: of a weight, as a share of what is on a tray; K; fraction.
const OFF_WEIGHT: f64 = 0.5;
const OFF_K: f64 = 20.0;
const OFF_RH: f64 = 0.3;
/// A probe out of its piece, or a dry sock, feels the air: this share of the way from what it should read to the dry bulb
/// before the trays, give or take (the air has cooled on its way along them), and so much beside, K.
const TO_AIR: f64 = 0.85;
const TO_AIR_SD: f64 = 0.2;
const IN_AIR_K: f64 = 1.5;
/// Mistakes accepted at the most.
const MOST: usize = 8;

/// What kind of mistake.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A weight is off.
    Weight,
    /// A probe or a wet bulb reads about the air.
    InAir,
    /// An instrument is off by anything.
    Off,
}

/// One mistake that may have been made.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Mistake {
    pub kind: Kind,
    /// Readings it touches.
    pub touches: Vec<usize>,
    /// How far off they are expected then, in the unit compared.
    shift: Vec<f64>,
    /// Spread about that: common to all it touches, and each of its own.
    common: Vec<f64>,
    own: f64,
    log_odds: f64,
}

impl Mistake {
    fn add(&self, s: &mut DMatrix<f64>, shift: &mut DVector<f64>) {
        for (a, &i) in self.touches.iter().enumerate() {
            shift[i] += self.shift[a];
            s[(i, i)] += self.own * self.own;
            for (b, &j) in self.touches.iter().enumerate() {
                s[(i, j)] += self.common[a] * self.common[b];
            }
        }
    }
    /// All readings off by one unknown amount.
    fn alike(touches: Vec<usize>, sd: f64, odds: f64) -> Self {
        let n = touches.len();
        Self {
            kind: Kind::Weight,
            shift: vec![0.0; n],
            common: vec![sd; n],
            own: 0.0,
            log_odds: odds.ln(),
            touches,
        }
    }
}

/// Every mistake that is thought of.
fn hypotheses(
    readings: &[Reading],
    predicted: &[Predicted],
    course: &Course,
    case: &Case<'_>,
) -> Vec<Mistake> {
    let mut channels: BTreeMap<(Channel, u32, usize), Vec<usize>> = BTreeMap::new();
    for (i, r) in readings.iter().enumerate() {
        let epoch = match r.measured {
            Measured::TrayGross { .. } => course.swaps_before(r.at_s, case),
            _ => 0,
        };
        channels.entry((Channel::of(&r.measured), r.instrument, epoch)).or_default().push(i);
    }
    let fresh = case.assembled.setup.batch.load.fresh_kg_per_tray;
    let mut list = Vec::new();
    for ((channel, _, _), own) in channels {
        match channel {
            Channel::Weight(_) => weights(own, OFF_WEIGHT * fresh, &mut list),
            Channel::RelativeHumidity => off(&own, OFF_RH, &mut list),
            Channel::AirDryBulb => off(&own, OFF_K, &mut list),
            Channel::Core(_) | Channel::WetBulb => {
                off(&own, OFF_K, &mut list);
                in_air(&own, predicted, &mut list);
            }
        }
    }
    list
}

/// A wrong tare touches all weights of a tray alike; a slip touches one.
fn weights(own: Vec<usize>, sd: f64, list: &mut Vec<Mistake>) {
    if own.len() > 1 {
        list.extend(own.iter().map(|i| Mistake::alike(vec![*i], sd, SLIP_ODDS)));
    }
    list.push(Mistake::alike(own, sd, TARE_ODDS));
}

/// From any reading of a channel to any later one, with the share of the odds that falls to each such stretch.
#[allow(clippy::cast_precision_loss)]
fn stretches(own: &[usize], odds: f64) -> impl Iterator<Item = (Vec<usize>, f64)> + '_ {
    let n = own.len();
    let each = odds / (n * (n + 1) / 2) as f64;
    (0..n).flat_map(move |from| (from + 1..=n).map(move |to| (own[from..to].to_vec(), each)))
}

fn off(own: &[usize], sd: f64, list: &mut Vec<Mistake>) {
    list.extend(stretches(own, INSTRUMENT_ODDS).map(|(touches, odds)| Mistake {
        kind: Kind::Off,
        shift: vec![0.0; touches.len()],
        common: vec![0.0; touches.len()],
        own: sd,
        log_odds: odds.ln(),
        touches,
    }));
}

fn in_air(own: &[usize], predicted: &[Predicted], list: &mut Vec<Mistake>) {
    list.extend(stretches(own, IN_AIR_ODDS).map(|(touches, odds)| {
        let away = |share: f64| touches.iter().map(|&i| share * predicted[i].away).collect::<Vec<f64>>();
        Mistake {
            kind: Kind::InAir,
            shift: away(TO_AIR),
            common: away(TO_AIR_SD),
            own: IN_AIR_K,
            log_odds: odds.ln(),
            touches,
        }
    }));
}

/// Mistakes that were accepted, with what they change.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Accepted {
    pub mistakes: Vec<Mistake>,
    /// What they add to the covariance of the readings.
    pub extra: DMatrix<f64>,
    /// How far off the readings are expected with them.
    pub shift: DVector<f64>,
}

/// Mistakes among readings whose residuals about the model have this covariance, the inputs' uncertainty in it.
pub(crate) fn accepted(
    readings: &[Reading],
    predicted: &[Predicted],
    (course, case): (&Course, &Case<'_>),
    about: &DMatrix<f64>,
    residual: &DVector<f64>,
) -> Result<Accepted, FollowError> {
    let n = readings.len();
    let mut open = hypotheses(readings, predicted, course, case);
    let mut now = Accepted { mistakes: Vec::new(), extra: DMatrix::zeros(n, n), shift: DVector::zeros(n) };
    let log = |a: &Accepted| log_likelihood(about + &a.extra, residual - &a.shift);
    let mut is = log(&now)?;
    while now.mistakes.len() < MOST {
        let mut best: Option<(f64, usize)> = None;
        for (k, m) in open.iter().enumerate() {
            let mut with = Accepted { mistakes: Vec::new(), ..now.clone() };
            m.add(&mut with.extra, &mut with.shift);
            let gain = log(&with)? - is + m.log_odds;
            if gain > 0.0 && best.is_none_or(|b| gain > b.0) {
                best = Some((gain, k));
            }
        }
        let Some((_, k)) = best else { break };
        let m = open.swap_remove(k);
        open.retain(|o| o.touches.iter().all(|i| !m.touches.contains(i)));
        m.add(&mut now.extra, &mut now.shift);
        now.mistakes.push(m);
        is = log(&now)?;
    }
    Ok(now)
}

/// Logarithm of the normal density of residuals, up to a constant.
fn log_likelihood(s: DMatrix<f64>, residual: DVector<f64>) -> Result<f64, FollowError> {
    let c = cholesky(s)?;
    let log_root: f64 = c.l_dirty().diagonal().iter().map(|v| v.ln()).sum();
    Ok(-log_root - 0.5 * residual.dot(&c.solve(&residual)))
}
