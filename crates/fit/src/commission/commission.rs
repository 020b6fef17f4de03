//! Commissioning: tests in, figures with their uncertainty out.

use fallrate_equipment::{Cabinet, ControllerKind};
use nalgebra::DMatrix;

use crate::FitError;

use super::check::check;
use super::fault::{CommissionFault, Done, Finding, Problem as Wrong};
use super::figures::Figures;
use super::outcome::{Outcome, Quantity, deviation, outcome, slopes};
use super::predict::Row;
use super::record::{CabinetTest, RoomAir, TestKind};
use super::solve::{Prior, Problem, Solution};
use super::unknown::{Belief, KnownFigures, Places, Unknown, beliefs};

/// Root mean square of a test's residuals above which it does not fit.
const MISFIT: f64 = 3.0;

/// A test against the fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Name of the test.
    pub name: String,
    /// Its word in files.
    pub kind: &'static str,
    /// Index of the vent's mark.
    pub vent: usize,
    /// Measured and expected.
    pub rows: Vec<Row>,
    /// Root mean square of the residuals over their standard deviations.
    pub misfit: f64,
}

/// What came of the tests.
#[derive(Clone, Debug)]
pub struct Commissioned {
    pub(crate) draft: Cabinet,
    pub(crate) beliefs: Vec<Belief>,
    pub(crate) theta: Vec<f64>,
    pub(crate) covariance: DMatrix<f64>,
    pub(crate) room: RoomAir,
    pub(crate) set_point_c: f64,
    /// Tests that were used, against the fit.
    pub tests: Vec<Fitted>,
    /// Everything that was wrong.
    pub findings: Vec<Finding>,
    /// Every figure with what came of it.
    pub outcomes: Vec<Outcome>,
    /// Pairs of told figures that move together, with their correlation.
    pub correlations: Vec<(Quantity, Quantity, f64)>,
    /// The most probable figures, told or not.
    pub figures: Figures,
}

/// Evaluates the tests of a cabinet that starts from a draft file.
///
/// # Errors
/// [`FitError::Commission`] where no test can be used; a numerical failure.
pub fn commission(
    draft: &Cabinet,
    known: &KnownFigures,
    tests: &[CabinetTest],
) -> Result<Commissioned, FitError> {
    if tests.is_empty() {
        return Err(CommissionFault::NoTests.into());
    }
    let (mut used, mut findings) = (Vec::new(), Vec::new());
    for test in tests {
        let last = draft.vent.marks.len().saturating_sub(1);
        if test.vent > last {
            return Err(
                CommissionFault::NoSuchMark { test: test.name.clone(), index: test.vent, last }.into()
            );
        }
        let (left, found) = check(draft, test);
        findings.extend(found);
        used.extend(left);
    }
    if used.is_empty() {
        // Nothing usable is a result too: the findings say why.
        return Ok(Commissioned::nothing(draft, known, findings));
    }
    let thinned: Vec<CabinetTest> = used.iter().map(thin).collect();
    let (beliefs, prior, places) = start(draft, known);
    let problem = Problem {
        draft,
        places: &places,
        prior: &prior,
        tests: &thinned,
        change: None,
        relay: true,
        other: false,
    };
    let found = problem.solve()?;
    let fitted = fitted(&problem, &found, &thinned);
    for f in fitted.iter().filter(|f| f.misfit > MISFIT) {
        let what = Wrong::DoesNotFit { misfit: f.misfit };
        findings.push(Finding { test: f.name.clone(), what, done: Done::Said });
    }
    Ok(Commissioned::new(draft, known, beliefs, found, &thinned, fitted, findings))
}

/// Beliefs, with a heater's power that was measured beforehand held to what was measured.
fn start(draft: &Cabinet, known: &KnownFigures) -> (Vec<Belief>, Prior, Places) {
    let beliefs = beliefs(draft, known);
    let places = Places::new(&beliefs);
    let mut prior = Prior::of(&beliefs);
    // Power = capacity x rate: a known power ties the two.
    if let (Some(k), Some(c), Some(p)) =
        (known.heater_w, places.of(Unknown::HeatCapacity), places.of(Unknown::PowerRate))
    {
        let tight = k.standard_error / k.value;
        prior.mean[p] = k.value.ln() - prior.mean[c];
        prior.root[(p, c)] = -prior.root[(c, c)];
        prior.root[(p, p)] = tight;
    }
    (beliefs, prior, places)
}

/// Most readings of a stretch that take part.
const MOST: usize = 90;

/// Every so manieth reading of a long record.
pub(crate) fn thin(test: &CabinetTest) -> CabinetTest {
    let mut out = test.clone();
    if let TestKind::HeatCool { .. } = test.kind {
        let every = test.air.len().div_ceil(MOST).max(1);
        out.air = test.air.iter().step_by(every).copied().collect();
    }
    out
}

fn fitted(problem: &Problem<'_>, found: &Solution, tests: &[CabinetTest]) -> Vec<Fitted> {
    let figures = Figures::new(problem.draft, problem.places, &found.theta);
    tests
        .iter()
        .zip(found.own.chunks(super::predict::OWN))
        .map(|(t, own)| {
            let rows = super::predict::rows(problem.draft, t, &figures, own, true);
            #[allow(clippy::cast_precision_loss)]
            let misfit =
                (rows.iter().map(|r| r.residual().powi(2)).sum::<f64>() / rows.len().max(1) as f64).sqrt();
            Fitted { name: t.name.clone(), kind: t.kind.word(), vent: t.vent, rows, misfit }
        })
        .collect()
}

impl Commissioned {
    pub(crate) fn nothing(draft: &Cabinet, known: &KnownFigures, findings: Vec<Finding>) -> Self {
        let (beliefs, prior, _) = start(draft, known);
        let covariance = &prior.root * prior.root.transpose();
        let theta: Vec<f64> = prior.mean.iter().copied().collect();
        Self::of(draft, beliefs, theta, (covariance.clone(), covariance), usual_conditions(draft), findings)
    }

    fn new(
        draft: &Cabinet,
        known: &KnownFigures,
        beliefs: Vec<Belief>,
        found: Solution,
        tests: &[CabinetTest],
        fitted: Vec<Fitted>,
        findings: Vec<Finding>,
    ) -> Self {
        let (_, prior, _) = start(draft, known);
        let before = &prior.root * prior.root.transpose();
        let (mut room, mut set_point_c) = usual_conditions(draft);
        if let Some(t) = tests.first() {
            room = t.room;
        }
        for t in tests {
            if let TestKind::Hold { set_point_c: held, .. } = t.kind {
                set_point_c = held;
            }
        }
        let mut out =
            Self::of(draft, beliefs, found.theta, (before, found.covariance), (room, set_point_c), findings);
        out.tests = fitted;
        out
    }

    fn of(
        draft: &Cabinet,
        beliefs: Vec<Belief>,
        theta: Vec<f64>,
        (before, after): (DMatrix<f64>, DMatrix<f64>),
        (room, set_point_c): (RoomAir, f64),
        findings: Vec<Finding>,
    ) -> Self {
        let places = Places::new(&beliefs);
        let figures = Figures::new(draft, &places, &theta);
        let mut out = Self {
            draft: draft.clone(),
            beliefs,
            theta,
            covariance: after,
            room,
            set_point_c,
            tests: Vec::new(),
            findings,
            outcomes: Vec::new(),
            correlations: Vec::new(),
            figures,
        };
        out.outcomes = out.outcomes(&before);
        out.correlations = out.correlated();
        out
    }

    pub(crate) fn places(&self) -> Places {
        Places::new(&self.beliefs)
    }

    /// What came of a figure.
    #[must_use]
    pub fn outcome(&self, quantity: Quantity) -> Option<&Outcome> {
        self.outcomes.iter().find(|o| o.quantity == quantity)
    }

    pub(crate) fn slopes(&self, quantity: Quantity) -> Option<(f64, Vec<f64>)> {
        slopes(&self.draft, &self.places(), &self.theta, quantity, (&self.room, self.set_point_c))
    }

    fn outcomes(&self, before: &DMatrix<f64>) -> Vec<Outcome> {
        let one = |q: Quantity| {
            let (here, slopes) = self.slopes(q)?;
            Some(outcome(q, here, deviation(&slopes, before), deviation(&slopes, &self.covariance)))
        };
        quantities(&self.draft).into_iter().filter_map(one).collect()
    }

    /// Pairs beyond 0.9 among the main figures.
    fn correlated(&self) -> Vec<(Quantity, Quantity, f64)> {
        const BEYOND: f64 = 0.9;
        let main: Vec<(Quantity, Vec<f64>)> = self
            .outcomes
            .iter()
            .filter(|o| !o.quantity.is_ratio())
            .filter_map(|o| Some((o.quantity, self.slopes(o.quantity)?.1)))
            .collect();
        let mut out = Vec::new();
        for (i, (a, sa)) in main.iter().enumerate() {
            for (b, sb) in &main[i + 1..] {
                let both = sa.iter().zip(sb).map(|(x, y)| x + y).collect::<Vec<_>>();
                let (da, db) = (deviation(sa, &self.covariance), deviation(sb, &self.covariance));
                let dab = deviation(&both, &self.covariance);
                let r = (dab * dab - da * da - db * db) / (2.0 * da * db);
                if r.abs() > BEYOND {
                    out.push((*a, *b, r));
                }
            }
        }
        out
    }
}

/// A room and a set point to state figures at where no test gives them.
fn usual_conditions(draft: &Cabinet) -> (RoomAir, f64) {
    let room = RoomAir { temperature_c: 20.0, relative_humidity: 0.5, pressure_pa: 101_325.0 };
    (room, draft.controller.set_point_greatest.value.celsius().min(60.0))
}

/// Every figure of a cabinet that tests can be asked for.
pub(crate) fn quantities(draft: &Cabinet) -> Vec<Quantity> {
    let mut out = vec![
        Quantity::HeaterPower,
        Quantity::HeatCapacity,
        Quantity::ShellLoss,
        Quantity::WholeLoss(0),
        Quantity::WarmUpRate,
        Quantity::FinalRise(0),
        Quantity::TimeConstant(0),
        Quantity::Leakage,
    ];
    for (i, m) in draft.vent.marks.iter().enumerate() {
        if m.dry_air.value.kg_per_s() > 0.0 {
            out.push(Quantity::Vent(i));
        }
        out.push(Quantity::FreshAir(i));
        if i > 0 {
            out.push(Quantity::FreshAirRatio(i, 0));
        }
    }
    out.extend([Quantity::WallWater, Quantity::Volume, Quantity::Exchange]);
    out.extend((0..draft.trays.count as usize).map(Quantity::AirShare));
    out.push(Quantity::DisplayOffset);
    if matches!(draft.controller.kind, ControllerKind::OnOff { .. }) {
        out.extend([Quantity::Band, Quantity::SensorLag]);
    }
    out.push(Quantity::RoomForError);
    out
}
