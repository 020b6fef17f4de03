//! How readings differ from the model although the model is right: errors of instruments that stay and that do not, a tray
//! or a piece that is not like its group, and what the model leaves out from hour to hour.
//!
//! A sound reading is y = h(z) + sum of u b + g + e. The b are constants of a tray, a probe or an instrument, standard normal
//! before anything is read; g is what the model leaves out, correlated over time within a channel; e is new with every
//! reading. All are normal, so that together they are one covariance. Mistakes are a matter of their own (`mistake.rs`).

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector};

use crate::course::{Case, Course};
use crate::predict::Predicted;
use crate::reading::{Measured, Place, Reading};

/// Fresh weight of single trays about the mean tray's, as a share. Own judgement, as everything below: trays filled by eye.
const TRAY_LOAD: f64 = 0.03;
/// What a single tray has lost about its group's mean, as a share of it: its own air.
const TRAY_RATE: f64 = 0.05;
/// A tare that is right is so to this, kg.
const TARE_KG: f64 = 0.01;
/// How far a single piece is below the air about the model's piece, as a share of it: its place in the air, the depth of the
/// probe.
const PIECE_GAP: f64 = 0.1;
/// How far ahead of or behind the model's piece it is, as a share of the time since the start: its own thickness, its tray's
/// own air.
const PIECE_PACE: f64 = 0.1;
/// How late an instrument says it, or how wrong the time written down is, s.
const LATE_S: f64 = 60.0;
/// What the model leaves out, by channel: cores in K and as a share of how far they are below the air, air and wet bulb in K,
/// humidity as a fraction.
const LEFT_OUT_CORE_K: f64 = 0.3;
const LEFT_OUT_CORE: f64 = 0.12;
const LEFT_OUT_AIR_K: f64 = 0.7;
const LEFT_OUT_RH: f64 = 0.02;
/// It is forgotten in this time, s.
const FORGOTTEN_S: f64 = 2700.0;
/// New with every reading: K, fraction, kg beside the tolerance.
const NEW_K: f64 = 0.3;
const NEW_RH: f64 = 0.01;
const NEW_KG: f64 = 0.003;

/// What a constant stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Constant {
    /// Fresh weight of a tray (place, swaps before).
    Load(u32, usize),
    /// How fast it dries.
    Rate(u32, usize),
    /// Its tare.
    Tare(u32, usize),
    /// A probed piece's distance to the air (instrument, swaps before).
    Gap(u32, usize),
    /// How far ahead or behind it is.
    Pace(u32, usize),
    /// Error of an instrument.
    Bias(u32, Channel),
    /// Its lateness.
    Late(u32, Channel),
}

/// Kind of channel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Channel {
    Core(Place),
    WetBulb,
    RelativeHumidity,
    AirDryBulb,
    /// A tray by its place.
    Weight(u32),
}

impl Channel {
    pub fn of(m: &Measured) -> Self {
        match m {
            Measured::Core(p) => Self::Core(*p),
            Measured::WetBulb => Self::WetBulb,
            Measured::RelativeHumidity => Self::RelativeHumidity,
            Measured::AirDryBulb => Self::AirDryBulb,
            Measured::TrayGross { tray, .. } => Self::Weight(*tray),
        }
    }
    /// A scale has one error for all trays.
    fn of_instrument(m: &Measured) -> Self {
        match Self::of(m) {
            Self::Weight(_) => Self::Weight(0),
            other => other,
        }
    }
}

/// Covariance of sound readings about the model at a prediction.
pub(crate) fn covariance(
    readings: &[Reading],
    predicted: &[Predicted],
    course: &Course,
    case: &Case<'_>,
) -> DMatrix<f64> {
    let n = readings.len();
    let mut columns: BTreeMap<Constant, DVector<f64>> = BTreeMap::new();
    let mut sum = left_out(readings, predicted);
    for (i, (r, p)) in readings.iter().zip(predicted).enumerate() {
        let epoch = course.swaps_before(r.at_s, case);
        let systematic = r.tolerance() / 3.0_f64.sqrt();
        let mut put = |c: Constant, v: f64| {
            columns.entry(c).or_insert_with(|| DVector::zeros(n))[i] = v;
        };
        let new = match r.measured {
            Measured::TrayGross { tray, .. } => {
                put(Constant::Load(tray, epoch), TRAY_LOAD * p.value);
                put(Constant::Rate(tray, epoch), TRAY_RATE * p.away);
                put(Constant::Tare(tray, epoch), TARE_KG);
                systematic.hypot(NEW_KG)
            }
            Measured::Core(_) => {
                put(Constant::Gap(r.instrument, epoch), PIECE_GAP * p.away);
                put(Constant::Pace(r.instrument, epoch), PIECE_PACE * r.at_s * p.rate);
                NEW_K
            }
            Measured::RelativeHumidity => NEW_RH,
            Measured::WetBulb | Measured::AirDryBulb => NEW_K,
        };
        put(Constant::Bias(r.instrument, Channel::of_instrument(&r.measured)), systematic);
        put(Constant::Late(r.instrument, Channel::of_instrument(&r.measured)), LATE_S * p.rate);
        sum[(i, i)] += new * new;
    }
    for u in columns.values() {
        sum.ger(1.0, u, u, 1.0);
    }
    sum
}

/// What the model leaves out: normal, correlated by exp(-|dt|/tau) within a channel.
fn left_out(readings: &[Reading], predicted: &[Predicted]) -> DMatrix<f64> {
    let sd = |i: usize| match readings[i].measured {
        Measured::Core(_) => LEFT_OUT_CORE_K.hypot(LEFT_OUT_CORE * predicted[i].away),
        Measured::WetBulb | Measured::AirDryBulb => LEFT_OUT_AIR_K,
        Measured::RelativeHumidity => LEFT_OUT_RH,
        Measured::TrayGross { .. } => 0.0,
    };
    let n = readings.len();
    DMatrix::from_fn(n, n, |i, j| {
        let (a, b) = (&readings[i], &readings[j]);
        // Two probes are in two pieces; two thermometers in the air feel the same air.
        let core = matches!(a.measured, Measured::Core(_));
        if Channel::of(&a.measured) != Channel::of(&b.measured) || (core && a.instrument != b.instrument) {
            return 0.0;
        }
        sd(i) * sd(j) * (-(a.at_s - b.at_s).abs() / FORGOTTEN_S).exp()
    })
}

/// Readings of one channel that are used at the most.
const MOST_OF_A_CHANNEL: usize = 12;

/// Of channels with many readings, one for each of so many stretches of time: the one with the median value. The stretches
/// are equal in the root of the time, shorter early in the run, when temperatures tell most. Indices into the list given, in
/// order of time.
pub(crate) fn thinned(readings: &[Reading]) -> Vec<usize> {
    let mut channels: BTreeMap<(Channel, u32), Vec<usize>> = BTreeMap::new();
    for (i, r) in readings.iter().enumerate() {
        channels.entry((Channel::of(&r.measured), r.instrument)).or_default().push(i);
    }
    let mut used = Vec::new();
    for list in channels.values_mut() {
        list.sort_by(|a, b| readings[*a].at_s.total_cmp(&readings[*b].at_s));
        if list.len() <= MOST_OF_A_CHANNEL {
            used.extend_from_slice(list);
            continue;
        }
        used.extend(medians(readings, list));
    }
    used.sort_by(|a, b| readings[*a].at_s.total_cmp(&readings[*b].at_s).then(a.cmp(b)));
    used
}

fn medians(readings: &[Reading], list: &[usize]) -> Vec<usize> {
    let (Some(&first), Some(&last)) = (list.first(), list.last()) else { return Vec::new() };
    let (from, to) = (readings[first].at_s.sqrt(), readings[last].at_s.sqrt());
    #[allow(clippy::cast_precision_loss)]
    let step = ((to - from) / MOST_OF_A_CHANNEL as f64).max(1e-9);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let window = |i: usize| (((readings[i].at_s.sqrt() - from) / step) as usize).min(MOST_OF_A_CHANNEL - 1);
    let mut windows: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for &i in list {
        windows.entry(window(i)).or_default().push(i);
    }
    let median = |mut own: Vec<usize>| {
        own.sort_by(|a, b| readings[*a].compared().total_cmp(&readings[*b].compared()));
        own[own.len() / 2]
    };
    windows.into_values().map(median).collect()
}
