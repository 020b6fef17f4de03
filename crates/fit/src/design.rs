//! Choosing measurements by the information that each adds.

use nalgebra::DMatrix;

use crate::FitError;
use crate::linear::log_determinant;

/// Rounds in which chosen measurements are exchanged against others.
const EXCHANGES: usize = 4;
/// An exchange must gain this much of the criterion.
const WORTH: f64 = 1e-9;

/// What measurements can be chosen from, and what is known before any of them.
#[derive(Clone, Debug, PartialEq)]
pub struct DesignProblem {
    /// Slopes of every candidate by all unknowns, over the error of its reading. The unknowns of interest come first.
    pub candidates: Vec<Vec<f64>>,
    /// Standard deviation of every unknown before any measurement, in the coordinates of the slopes.
    pub deviations: Vec<f64>,
    /// How many unknowns are of interest; the others are along.
    pub interest: usize,
    /// Candidates that are measured in any case.
    pub fixed: Vec<usize>,
}

/// Chosen measurements.
#[derive(Clone, Debug, PartialEq)]
pub struct Design {
    /// Chosen candidates in the order in which they were taken, with what each added to the logarithm of the determinant of
    /// the information about the unknowns of interest. After exchanges the gains are those of this order.
    pub chosen: Vec<(usize, f64)>,
    /// Standard deviations of the unknowns before and after.
    pub before: Vec<f64>,
    /// After all chosen and fixed ones.
    pub after: Vec<f64>,
}

/// Chooses `count` candidates, each at most once, by the greatest gain of information about the unknowns of interest with the
/// others unknown (the determinant of their covariance is made small), one after another, then exchanged while that helps.
/// `together` says whether a candidate may stand beside those already taken.
///
/// ```
/// use fallrate_fit::design::{DesignProblem, choose};
/// // y = a exp(-k t), a = 1, k = 0.5: two readings tell most at t = 0 and t = 1/k (Box and Lucas 1959, from memory).
/// let times: Vec<f64> = (0..=40).map(|i| f64::from(i) * 0.25).collect();
/// let candidates = times.iter().map(|t| vec![(-0.5 * t).exp(), -t * (-0.5 * t).exp()]).collect();
/// let problem = DesignProblem { candidates, deviations: vec![1e3, 1e3], interest: 2, fixed: vec![] };
/// let design = choose(&problem, 2, |_, _| true)?;
/// let mut chosen: Vec<f64> = design.chosen.iter().map(|c| times[c.0]).collect();
/// chosen.sort_by(f64::total_cmp);
/// assert_eq!(chosen, [0.0, 2.0]);
/// # Ok::<(), fallrate_fit::FitError>(())
/// ```
///
/// # Errors
/// [`FitError::WrongLength`] where slopes and deviations do not match, [`FitError::OutOfRange`] for a deviation not above 0,
/// no unknown of interest, or more to choose than there are candidates.
pub fn choose(
    problem: &DesignProblem,
    count: usize,
    together: impl Fn(usize, &[usize]) -> bool,
) -> Result<Design, FitError> {
    check(problem, count)?;
    let mut information = start(problem);
    for &f in &problem.fixed {
        information += outer(&problem.candidates[f]);
    }
    let before = errors(&information)?;
    let mut taken: Vec<usize> = Vec::new();
    let open = |i: usize, taken: &[usize]| {
        let all: Vec<usize> = problem.fixed.iter().chain(taken).copied().collect();
        !all.contains(&i) && together(i, &all)
    };
    for _ in 0..count {
        let Some(next) = best(problem, &information, |i| open(i, &taken)) else { break };
        information += outer(&problem.candidates[next]);
        taken.push(next);
    }
    for _ in 0..EXCHANGES {
        if !exchange(problem, &mut information, &mut taken, &open) {
            break;
        }
    }
    Ok(Design { chosen: gains(problem, &taken), before, after: errors(&information)? })
}

/// Standard deviations of all unknowns after given candidates.
///
/// # Errors
/// As [`choose`].
pub fn expected_errors(problem: &DesignProblem, measured: &[usize]) -> Result<Vec<f64>, FitError> {
    check(problem, 0)?;
    let mut information = start(problem);
    for &i in problem.fixed.iter().chain(measured) {
        if let Some(candidate) = problem.candidates.get(i) {
            information += outer(candidate);
        }
    }
    errors(&information)
}

fn check(problem: &DesignProblem, count: usize) -> Result<(), FitError> {
    let n = problem.deviations.len();
    if let Some(found) = problem.candidates.iter().map(Vec::len).find(|l| *l != n) {
        return Err(FitError::WrongLength { what: "slopes of a candidate", found, expected: n });
    }
    let refuse = |what: &str, value: f64, low: f64, high: f64| {
        let (what, unit) = (what.to_owned(), "-".to_owned());
        Err(FitError::OutOfRange { what, value, unit, low, high })
    };
    if let Some(&d) = problem.deviations.iter().find(|d| !(**d > 0.0 && d.is_finite())) {
        return refuse("standard deviation before", d, 0.0, f64::MAX);
    }
    #[allow(clippy::cast_precision_loss)]
    if problem.interest == 0 || problem.interest > n {
        return refuse("unknowns of interest", problem.interest as f64, 1.0, n as f64);
    }
    let candidates = problem.candidates.len();
    #[allow(clippy::cast_precision_loss)]
    if count > candidates || problem.fixed.iter().any(|f| *f >= candidates) {
        return refuse("measurements to choose", count as f64, 0.0, candidates as f64);
    }
    Ok(())
}

fn start(problem: &DesignProblem) -> DMatrix<f64> {
    let n = problem.deviations.len();
    DMatrix::from_fn(n, n, |i, j| if i == j { problem.deviations[i].powi(-2) } else { 0.0 })
}

fn outer(slopes: &[f64]) -> DMatrix<f64> {
    DMatrix::from_fn(slopes.len(), slopes.len(), |i, j| slopes[i] * slopes[j])
}

/// Logarithm of the determinant of the information about the unknowns of interest, the others marginalised out.
fn criterion(problem: &DesignProblem, information: &DMatrix<f64>) -> f64 {
    let (n, own) = (problem.deviations.len(), problem.interest);
    let along = information.view((own, own), (n - own, n - own)).into_owned();
    log_determinant(information) - if n > own { log_determinant(&along) } else { 0.0 }
}

fn best(problem: &DesignProblem, information: &DMatrix<f64>, open: impl Fn(usize) -> bool) -> Option<usize> {
    let mut found: Option<(usize, f64)> = None;
    for i in (0..problem.candidates.len()).filter(|&i| open(i)) {
        let value = criterion(problem, &(information + outer(&problem.candidates[i])));
        if found.is_none_or(|f| value > f.1) {
            found = Some((i, value));
        }
    }
    found.map(|f| f.0)
}

/// Tries another candidate in the place of each that was taken; whether anything changed.
fn exchange(
    problem: &DesignProblem,
    information: &mut DMatrix<f64>,
    taken: &mut [usize],
    open: &impl Fn(usize, &[usize]) -> bool,
) -> bool {
    let mut changed = false;
    for place in 0..taken.len() {
        let old = taken[place];
        let without: Vec<usize> = taken.iter().copied().filter(|t| *t != old).collect();
        let less = &*information - outer(&problem.candidates[old]);
        let Some(next) = best(problem, &less, |i| i == old || open(i, &without)) else { continue };
        let more = &less + outer(&problem.candidates[next]);
        if next != old && criterion(problem, &more) > criterion(problem, information) + WORTH {
            *information = more;
            taken[place] = next;
            changed = true;
        }
    }
    changed
}

/// What each adds, in this order.
fn gains(problem: &DesignProblem, taken: &[usize]) -> Vec<(usize, f64)> {
    let mut information = start(problem);
    for &f in &problem.fixed {
        information += outer(&problem.candidates[f]);
    }
    let mut last = criterion(problem, &information);
    taken
        .iter()
        .map(|&i| {
            information += outer(&problem.candidates[i]);
            let now = criterion(problem, &information);
            let gain = now - last;
            last = now;
            (i, gain)
        })
        .collect()
}

fn errors(information: &DMatrix<f64>) -> Result<Vec<f64>, FitError> {
    let n = information.nrows();
    let failed = FitError::NoDecomposition { readings: n, parameters: n };
    let covariance = crate::linear::inverse(information, 1e-15).ok_or(failed)?;
    Ok((0..n).map(|i| covariance[(i, i)].sqrt()).collect())
}
