//! What the data do not tell, and what would tell it.

use nalgebra::DMatrix;

use crate::FitError;
use crate::linear::{eigen, inverse};
use crate::trial::Unknown;
use crate::trial::fit::Setting;
use crate::trial::further::{FURTHER, Further, all_added, marginal};

/// A combination is untold where the data leave more than this share of the width that matters.
const LEFT: f64 = 0.5;
/// Members of a combination below this share of it are not named.
const NAMED: f64 = 0.05;
/// An unknown is limited by something else where knowing that exactly would take away this share of its variance.
const LIMITED: f64 = 0.5;
/// And where its error is worth speaking of: this share of the width that matters.
const WORTH: f64 = 0.1;
/// Remedies that leave more than this share of the error are none.
const HELPS: f64 = 0.8;
/// Remedies that are named.
const REMEDIES: usize = 4;
/// A scaled eigenvalue of the information below this is none.
const LEAST_INFORMATION: f64 = 1e-9;

/// Something more to do with what it would leave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Remedy {
    /// What to do.
    pub further: Further,
    /// Error that would be left, in the same measure as [`Untold`] gives it.
    pub left: f64,
}

/// What the data do not tell.
#[derive(Clone, Debug, PartialEq)]
pub enum Untold {
    /// A combination of unknowns that the data hardly tell: move all by these amounts together and the curves stay.
    Combination {
        /// Unknowns with their weight, largest first; squares sum to about 1. Opposite signs: more of one looks like less of
        /// the other. Measured in widths that matter.
        members: Vec<(Unknown, f64)>,
        /// What is left of the width that matters, 0.5 to 1 (1: the data tell nothing).
        left: f64,
        /// What would help most, best first; empty where nothing that was tried helps.
        remedies: Vec<Remedy>,
    },
    /// An unknown that is known no better than what was stated of the trials: their sizes, or their raw moistures.
    LimitedBy {
        /// Unknown of the product.
        unknown: Unknown,
        /// Size or raw moisture of the first trial, standing for those of all.
        by: Unknown,
        /// Share of the variance that comes from it, 0.5 to 1.
        share: f64,
        /// Standard error of the unknown over the width that matters.
        left: f64,
        /// What would help most, best first.
        remedies: Vec<Remedy>,
    },
}

impl Untold {
    /// What would help most.
    #[must_use]
    pub fn remedies(&self) -> &[Remedy] {
        match self {
            Self::Combination { remedies, .. } | Self::LimitedBy { remedies, .. } => remedies,
        }
    }
}

/// A finding before its remedies are known: which way in the unknowns of the product it looks.
struct Direction {
    untold: Untold,
    way: Vec<f64>,
}

pub(crate) fn untold(
    setting: &Setting<'_>,
    values: &[f64],
    data: &DMatrix<f64>,
) -> Result<Vec<Untold>, FitError> {
    let product = setting.beliefs.iter().filter(|b| b.unknown.trial().is_none()).count();
    // What is stated of the trials is measured and counts; what is believed of the product does not.
    let mut whole = data.clone();
    for i in product..setting.beliefs.len() {
        whole[(i, i)] += 1.0 / setting.beliefs[i].deviation.powi(2);
    }
    let Some(own) = marginal(&whole, product) else { return Ok(Vec::new()) };
    let widths: Vec<f64> =
        setting.beliefs[..product].iter().map(|b| b.unknown.width_that_matters()).collect();
    let mut directions = combinations(setting, &own, &widths);
    directions.extend(limits(setting, &whole, product, &widths));
    if directions.is_empty() {
        return Ok(Vec::new());
    }
    let mut list: Vec<Further> = FURTHER.to_vec();
    for trial in 0..setting.models.trials.len() {
        list.extend([Further::OvenTest { trial }, Further::MeasureSize { trial }]);
    }
    let added = all_added(setting, values, product, &whole, &list)?;
    Ok(directions
        .into_iter()
        .map(|d| {
            let now = left(&own, &widths, &d.way);
            let mut remedies: Vec<Remedy> = list
                .iter()
                .zip(&added)
                .filter_map(|(further, more)| {
                    let left = left(&(&own + more.as_ref()?), &widths, &d.way);
                    (left < HELPS * now).then_some(Remedy { further: *further, left })
                })
                .collect();
            remedies.sort_by(|a, b| a.left.total_cmp(&b.left));
            remedies.truncate(REMEDIES);
            with_remedies(d.untold, remedies)
        })
        .collect())
}

fn with_remedies(untold: Untold, found: Vec<Remedy>) -> Untold {
    match untold {
        Untold::Combination { members, left, .. } => Untold::Combination { members, left, remedies: found },
        Untold::LimitedBy { unknown, by, share, left, .. } => {
            Untold::LimitedBy { unknown, by, share, left, remedies: found }
        }
    }
}

/// Standard deviation along a direction (in widths that matter, of length 1), with nothing known before but those widths.
fn left(information: &DMatrix<f64>, widths: &[f64], way: &[f64]) -> f64 {
    let n = widths.len();
    let scaled = scaled(information, widths) + DMatrix::identity(n, n);
    let Some(covariance) = inverse(&scaled, 1e-14) else { return 1.0 };
    let v = DMatrix::from_column_slice(n, 1, way);
    (v.transpose() * covariance * v)[(0, 0)].max(0.0).sqrt()
}

fn scaled(information: &DMatrix<f64>, widths: &[f64]) -> DMatrix<f64> {
    DMatrix::from_fn(widths.len(), widths.len(), |i, j| information[(i, j)] * widths[i] * widths[j])
}

/// Combinations along which the data leave more than half of the width that matters, least told first.
fn combinations(setting: &Setting<'_>, own: &DMatrix<f64>, widths: &[f64]) -> Vec<Direction> {
    let Some((values, vectors)) = eigen(&scaled(own, widths)) else { return Vec::new() };
    let mut list = Vec::new();
    for (k, value) in values.iter().enumerate() {
        let left = 1.0 / (1.0 + value.max(0.0)).sqrt();
        if left < LEFT {
            break;
        }
        let way: Vec<f64> = (0..widths.len()).map(|i| vectors[(i, k)]).collect();
        let mut members: Vec<(Unknown, f64)> = setting
            .beliefs
            .iter()
            .zip(&way)
            .map(|(b, w)| (b.unknown, *w))
            .filter(|(_, w)| w * w >= NAMED)
            .collect();
        members.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(&b.0)));
        list.push(Direction { untold: Untold::Combination { members, left, remedies: Vec::new() }, way });
    }
    list
}

/// Unknowns that are known no better than the sizes or the raw moistures of the trials.
fn limits(setting: &Setting<'_>, whole: &DMatrix<f64>, product: usize, widths: &[f64]) -> Vec<Direction> {
    let mut list = Vec::new();
    let Some(now) = marginal(whole, product).and_then(|m| inverse(&m, LEAST_INFORMATION)) else {
        return list;
    };
    for by in [Unknown::Size { trial: 0 }, Unknown::InitialMoisture { trial: 0 }] {
        // Known exactly: rows and columns of its kind are left out.
        let alike = |u: Unknown| std::mem::discriminant(&u) == std::mem::discriminant(&by);
        let kept: Vec<usize> =
            (0..setting.beliefs.len()).filter(|&i| !alike(setting.beliefs[i].unknown)).collect();
        let less = DMatrix::from_fn(kept.len(), kept.len(), |i, j| whole[(kept[i], kept[j])]);
        let Some(known) = marginal(&less, product).and_then(|m| inverse(&m, LEAST_INFORMATION)) else {
            continue;
        };
        for i in 0..product {
            let share = 1.0 - known[(i, i)] / now[(i, i)];
            let left = now[(i, i)].sqrt() / widths[i];
            if share > LIMITED && left > WORTH && left < 1.0 {
                let unknown = setting.beliefs[i].unknown;
                let mut way = vec![0.0; product];
                way[i] = 1.0;
                let untold = Untold::LimitedBy { unknown, by, share, left, remedies: Vec::new() };
                list.push(Direction { untold, way });
            }
        }
    }
    list
}
