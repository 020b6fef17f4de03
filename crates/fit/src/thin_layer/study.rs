//! All equations fitted to the same curves, and ranked.

use rayon::prelude::*;

use crate::stats::{Criteria, information_criteria, rank_key, residual_tests};
use crate::thin_layer::equation::Guess;
use crate::thin_layer::{
    CurveFit, FittedRange, RatioCurve, ThinLayerEquation, ThinLayerFault, ThinLayerFit, ThinLayerWarning,
};
use crate::{Estimate, FitError, FitOptions, Hint, fit, spread_starts};

/// Starts of every fit.
const STARTS: usize = 8;
/// Least ratio of two vapour-pressure deficits that tells their exponent.
const LEAST_DEFICIT_RATIO: f64 = 1.05;
/// Sums of squares of two equations that are one agree to this share.
const SAME: f64 = 1e-6;

/// Two parameters correlated beyond this are one to the data.
const ONE: f64 = 0.999;

/// An equation that could not be fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct Unfitted {
    /// Equation.
    pub equation: ThinLayerEquation,
    /// Why.
    pub reason: FitError,
}

/// The equations ranked by AICc; by BIC where the readings are too few for the AICc of one of them.
#[derive(Clone, Debug, PartialEq)]
pub struct ThinLayerStudy {
    /// Best first.
    pub ranked: Vec<ThinLayerFit>,
    /// Equations that could not be fitted, with the reason.
    pub unfitted: Vec<Unfitted>,
}

impl ThinLayerStudy {
    /// The fit of an equation.
    #[must_use]
    pub fn of(&self, equation: ThinLayerEquation) -> Option<&ThinLayerFit> {
        self.ranked.iter().find(|f| f.equation == equation)
    }
}

/// Fits equations to curves, every equation to every curve on its own (those on the deficit to all together), by least
/// squares on the moisture ratio from several starts, and ranks them.
///
/// ```
/// use fallrate_fit::thin_layer::{Conditions, RatioCurve, RatioPoint, ThinLayerEquation, fit_thin_layer};
/// let air = Conditions { temperature_c: 60.0, relative_humidity: None, air_speed_m_per_s: None, size_m: None };
/// let point = |i: u32| {
///     let t = f64::from(i) * 0.5;
///     let noise = 0.002 * (f64::from(i) * 2.7).sin();
///     RatioPoint { elapsed_s: 3600.0 * t, moisture_ratio: (-0.2 * t.powf(1.3)).exp() + noise }
/// };
/// let curve = RatioCurve::new("trial", air, (0..16).map(point).collect())?;
/// let study = fit_thin_layer(&[curve], &[ThinLayerEquation::Lewis, ThinLayerEquation::Page])?;
/// assert_eq!(study.ranked[0].equation, ThinLayerEquation::Page);
/// assert!((study.ranked[0].fits[0].estimate.values()[1] - 1.3).abs() < 0.02);
/// # Ok::<(), fallrate_fit::FitError>(())
/// ```
///
/// # Errors
/// [`ThinLayerFault::NoCurve`]. An equation that cannot be fitted stands in [`ThinLayerStudy::unfitted`] with its reason.
pub fn fit_thin_layer(
    curves: &[RatioCurve],
    equations: &[ThinLayerEquation],
) -> Result<ThinLayerStudy, FitError> {
    if curves.is_empty() {
        return Err(ThinLayerFault::NoCurve.into());
    }
    let found: Vec<Result<ThinLayerFit, FitError>> =
        equations.par_iter().map(|e| fit_one(*e, curves)).collect();
    let mut study = ThinLayerStudy { ranked: Vec::new(), unfitted: Vec::new() };
    for (&equation, found) in equations.iter().zip(found) {
        match found {
            Ok(fit) => study.ranked.push(fit),
            Err(reason) => study.unfitted.push(Unfitted { equation, reason }),
        }
    }
    rank(&mut study.ranked);
    Ok(study)
}

fn fit_one(equation: ThinLayerEquation, curves: &[RatioCurve]) -> Result<ThinLayerFit, FitError> {
    let groups: Vec<Vec<&RatioCurve>> = if equation.is_joint() {
        vec![curves.iter().collect()]
    } else {
        curves.iter().map(|c| vec![c]).collect()
    };
    if equation.is_joint() {
        check_deficits(curves)?;
    }
    let fits = groups.iter().map(|g| fit_group(equation, g)).collect::<Result<Vec<_>, _>>()?;
    let readings = curves.iter().map(|c| c.points().len()).sum();
    let parameters = equation.parameter_count() * fits.len();
    let sum_of_squares: f64 = fits.iter().map(|f| f.estimate.sum_of_squares).sum();
    #[allow(clippy::cast_precision_loss)]
    let root_mean_square = (sum_of_squares / readings as f64).sqrt();
    Ok(ThinLayerFit {
        equation,
        warnings: warnings(&fits, &groups),
        fits,
        readings,
        parameters,
        sum_of_squares,
        root_mean_square,
        criteria: information_criteria(sum_of_squares, readings, parameters),
        aicc_above_best: None,
        bic_above_best: 0.0,
    })
}

fn check_deficits(curves: &[RatioCurve]) -> Result<(), FitError> {
    let mut span = (f64::INFINITY, 0.0_f64);
    for curve in curves {
        let Some(deficit) = curve.conditions().vapour_pressure_deficit_kpa() else {
            return Err(ThinLayerFault::NoHumidity { curve: curve.name().to_owned() }.into());
        };
        span = (span.0.min(deficit), span.1.max(deficit));
    }
    if span.1 >= LEAST_DEFICIT_RATIO * span.0 && span.0 > 0.0 {
        return Ok(());
    }
    Err(ThinLayerFault::OneDeficit { least_kpa: span.0, greatest_kpa: span.1, ratio: LEAST_DEFICIT_RATIO }
        .into())
}

fn fit_group(equation: ThinLayerEquation, curves: &[&RatioCurve]) -> Result<CurveFit, FitError> {
    let parameters = equation.parameters(&Guess::of(curves));
    let starts = spread_starts(&ThinLayerEquation::start_range(&parameters), STARTS);
    let deficit = |c: &RatioCurve| c.conditions().vapour_pressure_deficit_kpa().unwrap_or(0.0);
    let model = |p: &[f64]| {
        let mut all = Vec::new();
        for curve in curves {
            let Some(form) = equation.form(p, deficit(curve)) else { continue };
            let points = curve.points().iter();
            all.extend(points.map(|r| form.moisture_ratio(r.elapsed_s / 3600.0) - r.moisture_ratio));
        }
        Ok(all)
    };
    let options = FitOptions { starts, ..FitOptions::closed_form() };
    let mut estimate = fit(&parameters, &model, &options)?;
    if equation == ThinLayerEquation::TwoTerm {
        faster_first(&mut estimate);
    }
    let mut tests = Vec::with_capacity(curves.len());
    let mut from = 0;
    for curve in curves {
        let to = from + curve.points().len();
        tests.push(residual_tests(&estimate.residuals[from..to]));
        from = to;
    }
    let Some(range) = FittedRange::of(curves) else { return Err(ThinLayerFault::NoCurve.into()) };
    let curves = curves.iter().map(|c| c.name().to_owned()).collect();
    Ok(CurveFit { curves, estimate, tests, range, equation })
}

/// The two terms can change places without changing the curve: the faster one is put first.
fn faster_first(estimate: &mut Estimate) {
    if estimate.parameters[1].value >= estimate.parameters[3].value {
        return;
    }
    estimate.reorder(&[2, 3, 0, 1]);
}

fn warnings(fits: &[CurveFit], groups: &[Vec<&RatioCurve>]) -> Vec<ThinLayerWarning> {
    let mut list = Vec::new();
    for (fit, curves) in fits.iter().zip(groups) {
        for (curve, tests) in fit.curves.iter().zip(&fit.tests) {
            if tests.another_shape() {
                list.push(ThinLayerWarning::AnotherShape { curve: curve.clone() });
            }
        }
        let untold = |h: &Hint| match h {
            Hint::AtBound { .. } | Hint::Flat { .. } => true,
            Hint::Correlated { correlation, .. } => correlation.abs() > ONE,
            _ => false,
        };
        if fit.estimate.hints.iter().any(untold) {
            list.push(ThinLayerWarning::NotUnique { curves: fit.curves.clone() });
        }
        let Some(curve) = curves.first() else { continue };
        let (rises, negative) = fit.turns(curve.conditions());
        if let Some(from_s) = rises {
            list.push(ThinLayerWarning::Rises { curves: fit.curves.clone(), from_s });
        }
        if let Some(from_s) = negative {
            list.push(ThinLayerWarning::BelowZero { curves: fit.curves.clone(), from_s });
        }
    }
    list
}

fn rank(fits: &mut [ThinLayerFit]) {
    let all: Vec<Criteria> = fits.iter().map(|f| f.criteria).collect();
    fits.sort_by(|a, b| rank_key(&a.criteria, &all).total_cmp(&rank_key(&b.criteria, &all)));
    let best = fits.iter().filter_map(|f| f.criteria.aicc).fold(f64::INFINITY, f64::min);
    let best_bic = fits.iter().map(|f| f.criteria.bic).fold(f64::INFINITY, f64::min);
    let page = fits.iter().find(|f| f.equation == ThinLayerEquation::Page).map(|f| f.sum_of_squares);
    for f in fits {
        f.aicc_above_best = f.criteria.aicc.map(|a| a - best);
        f.bic_above_best = f.criteria.bic - best_bic;
        let same = page.is_some_and(|s| (f.sum_of_squares - s).abs() <= SAME * s);
        if f.equation == ThinLayerEquation::Weibull && same {
            f.warnings.push(ThinLayerWarning::SameCurveAs { equation: ThinLayerEquation::Page });
        }
    }
}
