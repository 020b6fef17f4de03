//! Profile likelihoods: how the fit worsens as one unknown is moved and all others follow.

use rayon::prelude::*;

use crate::FitError;
use crate::stats::student_quantile;
use crate::trial::fit::{Setting, value};
use crate::trial::outcome::Spread;
use crate::trial::relax::{Held, relax};
use crate::trial::{Belief, Unknown};

/// The linear picture is checked this many standard errors away, the other unknowns following, and misleads where the fit
/// worsens by a factor outside this range of what it says.
const CHECKED_AT: f64 = 2.0;
const STRAIGHT: (f64, f64) = (0.75, 1.35);
/// Steps of a profile, in standard errors.
const STEPS: [f64; 6] = [0.7, 1.4, 2.1, 3.0, 4.5, 6.5];
/// A profile is followed until the fit has worsened by this much: beyond the 95 % limit of 5 degrees of freedom.
const FAR_ENOUGH: f64 = 7.0;

/// A point of a profile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProfilePoint {
    /// Value of the unknown, own unit.
    pub value: f64,
    /// Fitted coordinate.
    pub coordinate: f64,
    /// What the sum of squares has worsened by, over the errors as used.
    pub worse: f64,
}

/// The profile of an unknown.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Unknown.
    pub unknown: Unknown,
    /// Rising in the value; the best one among them with 0.
    pub points: Vec<ProfilePoint>,
    /// How much more the fit worsens at two standard errors below and above than the linear picture says (1: as it says).
    pub bend: (f64, f64),
    /// Where the best value stands among the points.
    best: usize,
    belief: Belief,
}

impl Profile {
    /// Interval with a confidence between 0 and 1 and the degrees of freedom of the scatter, own unit; an end that the data
    /// leave open is the bound that the unknown cannot leave.
    #[must_use]
    pub fn interval(&self, confidence: f64, degrees_of_freedom: usize) -> (f64, f64) {
        #[allow(clippy::cast_precision_loss)]
        let t = student_quantile(0.5 + 0.5 * confidence, degrees_of_freedom as f64);
        let best = self.best;
        let crossing = |a: &ProfilePoint, b: &ProfilePoint| {
            // The root of what it has worsened by is nearly straight.
            let (ra, rb) = (a.worse.max(0.0).sqrt(), b.worse.max(0.0).sqrt());
            let share = (t - ra) / (rb - ra);
            value(&self.belief, a.coordinate + share * (b.coordinate - a.coordinate))
        };
        let beyond = |p: &ProfilePoint| p.worse.max(0.0).sqrt() >= t;
        let below = self.points[..=best].windows(2).rev().find(|w| beyond(&w[0]));
        let above = self.points[best..].windows(2).find(|w| beyond(&w[1]));
        let open = self.belief.bounds;
        (below.map_or(open.0, |w| crossing(&w[1], &w[0])), above.map_or(open.1, |w| crossing(&w[0], &w[1])))
    }
}

/// Profiles of the product's unknowns whose uncertainty the linear picture does not tell.
pub(crate) fn profiles(
    setting: &Setting<'_>,
    values: &[f64],
    columns: &[Vec<f64>],
    spread: &Spread,
) -> Result<Vec<Profile>, FitError> {
    let Some(covariance) = &spread.covariance else { return Ok(Vec::new()) };
    let base = setting.sum_of_squares(values)?;
    let one = |(place, &i): (usize, &usize)| -> Result<Option<Profile>, FitError> {
        if setting.beliefs[i].unknown.trial().is_some() {
            return Ok(None);
        }
        // The other unknowns set out as their covariance says.
        let error = covariance[(place, place)].sqrt();
        let along: Vec<f64> = (0..values.len())
            .map(|k| {
                let other = spread.inside.iter().position(|&j| j == k);
                other.map_or(0.0, |o| covariance[(o, place)] / error)
            })
            .collect();
        let way = Way { setting, values, columns, index: i, along: &along, base };
        let bend = (way.bend(-CHECKED_AT)?, way.bend(CHECKED_AT)?);
        let straight = |b: f64| b >= STRAIGHT.0 && b <= STRAIGHT.1;
        if straight(bend.0) && straight(bend.1) {
            return Ok(None);
        }
        way.follow(bend).map(Some)
    };
    let all: Vec<Option<Profile>> =
        spread.inside.par_iter().enumerate().map(one).collect::<Result<_, _>>()?;
    Ok(all.into_iter().flatten().collect())
}

/// The way along one unknown from the best values.
struct Way<'a, 'b> {
    setting: &'a Setting<'b>,
    values: &'a [f64],
    columns: &'a [Vec<f64>],
    index: usize,
    /// By how much every coordinate moves for one standard error of the unknown.
    along: &'a [f64],
    base: f64,
}

impl Way<'_, '_> {
    /// Values some standard errors along the way, held inside the bounds.
    fn moved(&self, errors: f64) -> Vec<f64> {
        let one = |((b, v), a): ((&Belief, &f64), &f64)| b.moved(*v, errors * a);
        self.setting.beliefs.iter().zip(self.values).zip(self.along).map(one).collect()
    }

    /// What the sum of squares worsens by, over what the linear picture says.
    fn bend(&self, errors: f64) -> Result<f64, FitError> {
        let held = Held { index: self.index, columns: self.columns, renew: 0 };
        // Where the model has no answer the fit has worsened beyond measure.
        match relax(self.setting, self.moved(errors), &held) {
            Err(FitError::Cancelled) => Err(FitError::Cancelled),
            Err(_) => Ok(f64::INFINITY),
            Ok((_, squares)) => Ok((squares - self.base) / (errors * errors)),
        }
    }

    /// Follows the unknown both ways.
    fn follow(&self, bend: (f64, f64)) -> Result<Profile, FitError> {
        let ways: Vec<Vec<ProfilePoint>> =
            [-1.0, 1.0].into_par_iter().map(|sign| self.one_way(sign)).collect::<Result<_, _>>()?;
        let belief = &self.setting.beliefs[self.index];
        let value = self.values[self.index];
        let mut points: Vec<ProfilePoint> = ways[0].iter().rev().copied().collect();
        let best = points.len();
        points.push(ProfilePoint { value, coordinate: belief.coordinate(value), worse: 0.0 });
        points.extend(&ways[1]);
        Ok(Profile { unknown: belief.unknown, points, bend, best, belief: belief.clone() })
    }

    fn one_way(&self, sign: f64) -> Result<Vec<ProfilePoint>, FitError> {
        let belief = &self.setting.beliefs[self.index];
        let mut points: Vec<ProfilePoint> = Vec::new();
        let mut shift = vec![0.0; self.values.len()];
        for step in STEPS {
            // The others set out from the line, moved by as much as they were at the point before.
            let line = self.moved(sign * step);
            let coordinate = belief.coordinate(line[self.index]);
            let last = points.last().map_or(belief.coordinate(self.values[self.index]), |p| p.coordinate);
            if (coordinate - last).abs() < 1e-9 * (1.0 + last.abs()) {
                break;
            }
            let beliefs = &self.setting.beliefs;
            let from: Vec<f64> =
                beliefs.iter().zip(&line).zip(&shift).map(|((b, v), d)| b.moved(*v, *d)).collect();
            let held = Held { index: self.index, columns: self.columns, renew: 1 };
            let (end, squares) = match relax(self.setting, from, &held) {
                Ok(found) => found,
                Err(FitError::Cancelled) => return Err(FitError::Cancelled),
                Err(_) => break,
            };
            for (i, s) in shift.iter_mut().enumerate().filter(|(i, _)| *i != self.index) {
                *s = beliefs[i].coordinate(end[i]) - beliefs[i].coordinate(line[i]);
            }
            let worse = (squares - self.base).max(0.0);
            points.push(ProfilePoint { value: line[self.index], coordinate, worse });
            if worse > FAR_ENOUGH {
                break;
            }
        }
        Ok(points)
    }
}
