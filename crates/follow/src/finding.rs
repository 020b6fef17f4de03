//! What became of every reading, what does not fit, and what moved the end.

use fallrate_plan::spread::Input;
use nalgebra::{DMatrix, DVector};

use crate::ensemble::Ensemble;
use crate::estimate::{Mode, Question};
use crate::forecast::Forecast;
use crate::mistake::Kind;
use crate::reading::{Measured, Reading};

/// A weight that is off by the tare to within this share of it has the tare wrong by once.
const NEAR_TARE: f64 = 0.12;

/// What one reading came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingFit {
    /// The reading's own number.
    pub id: u64,
    /// It was used; of channels with very many readings some stand for the others.
    pub used: bool,
    /// What was compared: the value, for a tray without its tare.
    pub compared: f64,
    /// The model with the plan's figures.
    pub before: f64,
    /// The model as estimated.
    pub after: f64,
    /// How far it is off what all the others let expect, in the standard deviations of that.
    pub sds: f64,
    /// It is taken for a mistake and did not count.
    pub mistake: bool,
    /// How much later (or, negative, earlier) this reading makes the end, all others as they are, s.
    pub end_shift_s: f64,
}

/// What may be wrong with a reading that does not fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Suspect {
    /// The weight is off by about the tare: it was not taken off.
    TareNotTaken,
    /// The weight is off by about the tare: it was taken off twice.
    TareTakenTwice,
    /// The weight is off: another tare, another tray, or a slip of the pen.
    TareOrTray,
    /// The probe reads about the air.
    NotInProduct,
    /// The wet bulb reads about the dry bulb.
    SockDry,
    /// Off for another reason.
    Other,
}

/// A reading that does not fit. It did not drag the estimate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Misfit {
    /// The reading's own number.
    pub id: u64,
    /// How far off, in the unit compared.
    pub by: f64,
    /// The same in the standard deviations of what all the others let expect.
    pub sds: f64,
    /// What may be wrong.
    pub suspect: Suspect,
}

/// One uncertain input.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InputEstimate {
    /// Input.
    pub input: Input,
    /// Where it lies, in standard deviations of the plan from the plan's figure.
    pub mean_sds: f64,
    /// How surely, in the same: 1 where nothing was learnt.
    pub sd_sds: f64,
    /// How much later it makes the end than the plan's figure does, s.
    pub end_shift_s: f64,
}

/// How the end depends on the inputs: s for one standard deviation.
fn end_slopes(points: &[(f64, &[f64], f64)]) -> DVector<f64> {
    let d = points.first().map_or(0, |p| p.1.len());
    let n = d + 1;
    let mut a = DMatrix::zeros(n, n);
    let mut b = DVector::zeros(n);
    for (w, z, end) in points {
        let row = DVector::from_iterator(n, std::iter::once(1.0).chain(z.iter().copied()));
        a.ger(*w, &row, &row, 1.0);
        b.axpy(w * end, &row, 1.0);
    }
    // A little stiffness: directions in which the draws hardly differ tell nothing.
    let stiff = 1e-4 * (1..n).map(|i| a[(i, i)]).fold(1e-9, f64::max);
    for i in 1..n {
        a[(i, i)] += stiff;
    }
    let solved = a.cholesky().map_or_else(|| DVector::zeros(n), |c| c.solve(&b));
    DVector::from_iterator(d, solved.iter().skip(1).copied())
}

/// Every used reading, with what it did to the end: its part in the linear update, all others kept.
fn fits(readings: &[Reading], mode: &Mode, end: &DVector<f64>) -> Vec<ReadingFit> {
    // Where the mode lies and the model's slopes there: the prediction after is one linear step from the last run.
    let at = |i: usize| {
        let moved = mode.slopes.row(i).transpose().dot(&(&mode.mean - &mode.at));
        mode.predicted[i].value + moved
    };
    let pull = &mode.slopes * end;
    readings
        .iter()
        .enumerate()
        .map(|(i, r)| {
            let alone = mode.step.scaled[i] / mode.step.s_inverse[(i, i)];
            let off = alone + mode.step.accepted.shift[i];
            let mistake = mode.step.accepted.mistakes.iter().any(|m| m.touches.contains(&i));
            ReadingFit {
                id: r.id,
                used: true,
                compared: r.compared(),
                before: mode.before[i].value,
                after: at(i),
                sds: off / alone_sd(mode, i),
                mistake,
                end_shift_s: mode.step.s_inverse.column(i).dot(&pull) * alone,
            }
        })
        .collect()
}

/// Standard deviation of a reading about what all the others let expect, were it sound.
fn alone_sd(mode: &Mode, i: usize) -> f64 {
    let slab = mode.step.accepted.extra[(i, i)];
    (1.0 / mode.step.s_inverse[(i, i)] - slab).max(mode.step.sound[(i, i)]).sqrt()
}

/// The readings that are taken for mistakes, and what may be wrong with them.
fn misfits(readings: &[Reading], mode: &Mode, fits: &[ReadingFit]) -> Vec<Misfit> {
    let mut list = Vec::new();
    for m in &mode.step.accepted.mistakes {
        for &i in &m.touches {
            let by = fits[i].compared - fits[i].after;
            let suspect = suspect(&readings[i], by, m.kind);
            list.push(Misfit { id: readings[i].id, by, sds: fits[i].sds, suspect });
        }
    }
    list.sort_by_key(|m| m.id);
    list
}

fn suspect(r: &Reading, by: f64, kind: Kind) -> Suspect {
    match (r.measured, kind) {
        (Measured::TrayGross { tare_kg, .. }, _) => {
            // A tare of nothing tells nothing; what a tray may weigh is then not known here.
            if tare_kg > 0.0 && (by - tare_kg).abs() <= NEAR_TARE * tare_kg {
                Suspect::TareNotTaken
            } else if tare_kg > 0.0 && (by + tare_kg).abs() <= NEAR_TARE * tare_kg {
                Suspect::TareTakenTwice
            } else {
                Suspect::TareOrTray
            }
        }
        (Measured::Core(_), Kind::InAir) => Suspect::NotInProduct,
        (Measured::WetBulb, Kind::InAir) => Suspect::SockDry,
        _ => Suspect::Other,
    }
}

/// Every input as estimated.
fn inputs(
    spreads: &[fallrate_plan::spread::Spread],
    points: &[(f64, &[f64])],
    end: &DVector<f64>,
) -> Vec<InputEstimate> {
    let moment = |k: usize, f: &dyn Fn(f64) -> f64| points.iter().map(|(w, z)| w * f(z[k])).sum::<f64>();
    spreads
        .iter()
        .enumerate()
        .map(|(k, s)| {
            let mean = moment(k, &|v| v);
            let sd = moment(k, &|v| (v - mean) * (v - mean)).sqrt();
            InputEstimate { input: s.input, mean_sds: mean, sd_sds: sd, end_shift_s: end[k] * mean }
        })
        .collect()
}

/// What the readings came to.
pub(crate) struct Found {
    pub readings: Vec<ReadingFit>,
    pub misfits: Vec<Misfit>,
    pub inputs: Vec<InputEstimate>,
}

impl Found {
    pub fn new(
        q: &Question<'_, '_>,
        mode: &Mode,
        ensemble: &Ensemble,
        ahead: &Forecast,
        all: &[Reading],
        used_at: &[usize],
    ) -> Self {
        let points: Vec<(f64, &[f64], f64)> = ensemble
            .members
            .iter()
            .zip(&ahead.ends)
            .filter(|(_, e)| e.1.is_finite())
            .map(|(m, e)| (m.weight, m.z.as_slice(), e.1))
            .collect();
        let slopes = end_slopes(&points);
        let slopes = if slopes.len() == q.inputs { slopes } else { DVector::zeros(q.inputs) };
        let used = fits(q.readings, mode, &slopes);
        let misfits = misfits(q.readings, mode, &used);
        let of = |i: usize, r: &Reading| match used_at.iter().position(|u| *u == i) {
            Some(k) => used[k],
            None => ReadingFit {
                id: r.id,
                used: false,
                compared: r.compared(),
                before: f64::NAN,
                after: f64::NAN,
                sds: 0.0,
                mistake: false,
                end_shift_s: 0.0,
            },
        };
        let z: Vec<(f64, &[f64])> = ensemble.members.iter().map(|m| (m.weight, m.z.as_slice())).collect();
        Self {
            readings: all.iter().enumerate().map(|(i, r)| of(i, r)).collect(),
            misfits,
            inputs: inputs(&q.track.case.assembled.setup.spreads, &z, &slopes),
        }
    }
}
