//! One test repeated later, against what was known: what may have changed, and how sure that is.

use nalgebra::DMatrix;

use crate::FitError;

use super::check::check;
use super::commission::Commissioned;
use super::fault::{CommissionFault, Finding};
use super::figures::{Act, Factors};
use super::predict::Row;
use super::record::CabinetTest;
use super::solve::{Prior, Problem, Solution};
use super::unknown::Unknown;

/// What may have changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// Nothing.
    Nothing,
    /// The vent passes less (blocked) or more than it did.
    Vent,
    /// The fan moves less air, or more.
    Fan,
    /// The heater gives less (a failing element, low mains) or more.
    Heater,
    /// More or less leaks past the door's seal.
    DoorSeal,
    /// The walls lose more or less heat.
    Walls,
    /// Something that is not in this list.
    Other,
}

impl Cause {
    /// All of them.
    pub const ALL: [Self; 7] =
        [Self::Nothing, Self::Vent, Self::Fan, Self::Heater, Self::DoorSeal, Self::Walls, Self::Other];

    /// How probable before the test: machines mostly have not changed.
    const fn before(self) -> f64 {
        match self {
            Self::Nothing => 0.80,
            Self::Other => 0.025,
            _ => 0.035,
        }
    }
    /// How it acts, with the standard deviation of the logarithm of its factor.
    fn acts(self) -> Option<(Act, f64)> {
        Some(match self {
            Self::Vent => (|f| Factors { vent: f, ..Factors::NONE }, 0.6),
            Self::Fan => (|f| Factors { fan: f, ..Factors::NONE }, 0.4),
            Self::Heater => (|f| Factors { heater: f, ..Factors::NONE }, 0.4),
            Self::DoorSeal => (|f| Factors { leakage: f, ..Factors::NONE }, 0.9),
            Self::Walls => (|f| Factors { loss: f, ..Factors::NONE }, 0.3),
            Self::Nothing | Self::Other => return None,
        })
    }
}

/// A cause with what speaks for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighed {
    /// Which.
    pub cause: Cause,
    /// Probability after the test.
    pub probability: f64,
    /// How many times better it explains the readings than "nothing" does.
    pub against_nothing: f64,
    /// The factor on what changed, with the standard error of its logarithm.
    pub factor: Option<(f64, f64)>,
    /// Whether the test could have seen it at all.
    pub visible: bool,
}

/// What came of a repeated test.
#[derive(Clone, Debug, PartialEq)]
pub struct Drift {
    /// Every cause, the most probable first.
    pub weighed: Vec<Weighed>,
    /// What was wrong with the record.
    pub findings: Vec<Finding>,
    /// The readings against what was known before.
    pub against_known: Vec<Row>,
}

/// A cabinet is never quite the same: mains, how a vent is set, how a door closes. Standard deviations of the logarithm.
const SLACK: [(Unknown, f64); 4] = [
    (Unknown::PowerRate, 0.025),
    (Unknown::Leakage, 0.08),
    (Unknown::LossRate, 0.015),
    (Unknown::ElementExchange, 0.03),
];
const VENT_SLACK: f64 = 0.05;
/// Below this share of its standard deviation before, what is left of a factor's counts as seen.
const SEEN: f64 = 0.6;

/// Weighs what may have changed since a commissioning, by one test repeated.
///
/// # Errors
/// [`FitError::Commission`] where the test cannot be used; a numerical failure.
pub fn drift(base: &Commissioned, test: &CabinetTest) -> Result<Drift, FitError> {
    let last = base.draft.vent.marks.len().saturating_sub(1);
    if test.vent > last {
        let (test, index) = (test.name.clone(), test.vent);
        return Err(CommissionFault::NoSuchMark { test, index, last }.into());
    }
    let (left, findings) = check(&base.draft, test);
    let Some(test) = left else {
        return Ok(Drift { weighed: Vec::new(), findings, against_known: Vec::new() });
    };
    let tests = [super::commission::thin(&test)];
    let places = base.places();
    let prior = prior(base)?;
    let mut found: Vec<(Cause, Solution)> = Vec::new();
    for cause in Cause::ALL {
        let problem = Problem {
            draft: &base.draft,
            places: &places,
            prior: &prior,
            tests: &tests,
            change: cause.acts(),
            relay: true,
            other: cause == Cause::Other,
        };
        found.push((cause, problem.solve()?));
    }
    let evidence = |s: &Solution| -0.5 * (s.squares + s.log_information);
    let nothing = found.first().map_or(0.0, |f| evidence(&f.1));
    let best = found.iter().map(|f| evidence(&f.1)).fold(f64::NEG_INFINITY, f64::max);
    let weight = |c: Cause, s: &Solution| c.before() * (evidence(s) - best).exp();
    let whole: f64 = found.iter().map(|(c, s)| weight(*c, s)).sum();
    let mut weighed: Vec<Weighed> = found
        .iter()
        .map(|(cause, s)| {
            let spread = cause.acts().map(|a| a.1);
            Weighed {
                cause: *cause,
                probability: weight(*cause, s) / whole,
                against_nothing: (evidence(s) - nothing).clamp(-300.0, 300.0).exp(),
                factor: s.change.map(|(ln, error)| (ln.exp(), error)),
                visible: s.change.zip(spread).is_none_or(|((_, error), spread)| error < SEEN * spread),
            }
        })
        .collect();
    weighed.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let figures = &base.figures;
    let against_known =
        super::predict::rows(&base.draft, &tests[0], figures, &[0.0; super::predict::OWN], true);
    Ok(Drift { weighed, findings, against_known })
}

/// What was known, loosened by what is never quite the same.
fn prior(base: &Commissioned) -> Result<Prior, FitError> {
    let mut covariance = base.covariance.clone();
    for (i, b) in base.beliefs.iter().enumerate() {
        let slack = match b.unknown {
            Unknown::Vent(_) => VENT_SLACK,
            u => SLACK.iter().find(|s| s.0 == u).map_or(0.0, |s| s.1),
        };
        covariance[(i, i)] += slack * slack + 1e-10;
    }
    let n = covariance.nrows();
    let failed = FitError::NoDecomposition { readings: n, parameters: n };
    let root: DMatrix<f64> = covariance.cholesky().ok_or(failed)?.l();
    Ok(Prior { mean: nalgebra::DVector::from_column_slice(&base.theta), root })
}
