//! The equations, their parameters, bounds and first guesses.

use fallrate_foods::{ThinLayer, vapour_deficit_rate};

use crate::Parameter;
use crate::thin_layer::RatioCurve;

/// A rate is looked for within this factor of the first guess.
const RATE_ROOM: f64 = 1e4;
/// Starts of a rate are spread within this factor of the first guess.
const RATE_SPREAD: f64 = 5.0;

/// The thin-layer equations that are fitted. Time in h.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ThinLayerEquation {
    /// `exp(-k t)`.
    Lewis,
    /// `exp(-k t^n)`.
    Page,
    /// `a exp(-k t)`.
    HendersonPabis,
    /// `a exp(-k t) + c`.
    Logarithmic,
    /// `a exp(-k0 t) + b exp(-k1 t)`, k0 the faster.
    TwoTerm,
    /// `a exp(-k t^n) + b t`.
    Midilli,
    /// `exp(-(t/alpha)^beta)`: the curve of Page's equation with `k = alpha^-beta`, `n = beta`.
    Weibull,
    /// A slab with both faces at equilibrium, the series in `r t`, `r = D/L^2` with L the half-thickness.
    SlabDiffusion,
    /// `exp(-m P^n t^q)`, P the vapour-pressure deficit in kPa: one set of parameters for all curves.
    DeficitPage,
}

/// What the first guesses are made from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Guess {
    /// Rate of the exponential through the curve, 1/h.
    rate: f64,
    longest_h: f64,
    deficit_kpa: f64,
}

impl Guess {
    pub fn of(curves: &[&RatioCurve]) -> Self {
        let (mut products, mut squares, mut longest_h) = (0.0, 0.0, 0.0_f64);
        for curve in curves {
            longest_h = longest_h.max(curve.longest_h());
            for p in curve.points().iter().filter(|p| p.moisture_ratio > 0.02) {
                let t = p.elapsed_s / 3600.0;
                products -= t * p.moisture_ratio.ln();
                squares += t * t;
            }
        }
        let found = products / squares;
        let rate = if found.is_finite() && found > 0.0 { found } else { 1.0 / longest_h };
        let deficits: Vec<f64> =
            curves.iter().filter_map(|c| c.conditions().vapour_pressure_deficit_kpa()).collect();
        #[allow(clippy::cast_precision_loss)]
        let deficit_kpa = deficits.iter().sum::<f64>() / deficits.len().max(1) as f64;
        Self { rate, longest_h, deficit_kpa: if deficit_kpa > 0.0 { deficit_kpa } else { 1.0 } }
    }
}

impl ThinLayerEquation {
    /// All, in the order in which equal ranks are listed.
    pub const ALL: [Self; 9] = [
        Self::Lewis,
        Self::Page,
        Self::HendersonPabis,
        Self::Logarithmic,
        Self::TwoTerm,
        Self::Midilli,
        Self::Weibull,
        Self::SlabDiffusion,
        Self::DeficitPage,
    ];

    /// How many parameters it has.
    #[must_use]
    pub const fn parameter_count(self) -> usize {
        match self {
            Self::Lewis | Self::SlabDiffusion => 1,
            Self::Page | Self::HendersonPabis | Self::Weibull => 2,
            Self::Logarithmic | Self::DeficitPage => 3,
            Self::TwoTerm | Self::Midilli => 4,
        }
    }

    /// Whether one set of parameters stands for all curves together.
    #[must_use]
    pub const fn is_joint(self) -> bool {
        matches!(self, Self::DeficitPage)
    }

    /// The closed form at parameter values in the order of the fit; `deficit_kpa` counts for the equation on the deficit only.
    #[must_use]
    pub fn form(self, p: &[f64], deficit_kpa: f64) -> Option<ThinLayer> {
        Some(match (self, p) {
            (Self::Lewis, &[k]) => ThinLayer::Lewis { k },
            (Self::Page, &[k, n]) => ThinLayer::Page { k, n },
            (Self::HendersonPabis, &[a, k]) => ThinLayer::HendersonPabis { a, k },
            (Self::Logarithmic, &[a, k, c]) => ThinLayer::Logarithmic { a, k, c },
            (Self::TwoTerm, &[a, k0, b, k1]) => ThinLayer::TwoTerm { a, k0, b, k1 },
            (Self::Midilli, &[a, k, n, b]) => ThinLayer::Midilli { a, k, n, b },
            (Self::Weibull, &[alpha, beta]) => ThinLayer::Weibull { alpha, beta },
            (Self::SlabDiffusion, &[rate]) => ThinLayer::FickSlab { rate },
            (Self::DeficitPage, &[m, n, q]) => {
                ThinLayer::Page { k: vapour_deficit_rate(m, n, deficit_kpa), n: q }
            }
            _ => return None,
        })
    }

    /// The parameters with their bounds and first guesses.
    pub(crate) fn parameters(self, guess: &Guess) -> Vec<Parameter> {
        let rate = |name: &str, unit: &str, start: f64| {
            Parameter::positive(name, unit, start, (start / RATE_ROOM, start * RATE_ROOM))
        };
        let exponent = |name: &str| Parameter::positive(name, "-", 1.0, (0.05, 10.0));
        let share = |name: &str, start: f64, bounds: (f64, f64)| Parameter::bounded(name, "-", start, bounds);
        let k = guess.rate;
        match self {
            Self::Lewis => vec![rate("k", "1/h", k)],
            Self::Page => vec![rate("k", "1/h^n", k), exponent("n")],
            Self::HendersonPabis => {
                vec![Parameter::positive("a", "-", 1.0, (0.05, 20.0)), rate("k", "1/h", k)]
            }
            Self::Logarithmic => vec![
                Parameter::positive("a", "-", 1.0, (0.01, 100.0)),
                rate("k", "1/h", k),
                share("c", 0.02, (-99.0, 5.0)),
            ],
            Self::TwoTerm => vec![
                share("a", 0.4, (-20.0, 20.0)),
                rate("k0", "1/h", 3.0 * k),
                share("b", 0.6, (-20.0, 20.0)),
                rate("k1", "1/h", 0.6 * k),
            ],
            Self::Midilli => {
                let slope = 1.0 / guess.longest_h;
                vec![
                    Parameter::positive("a", "-", 1.0, (0.05, 20.0)),
                    rate("k", "1/h^n", k),
                    exponent("n"),
                    Parameter::bounded("b", "1/h", 0.01 * slope, (-slope, slope)),
                ]
            }
            Self::Weibull => vec![rate("alpha", "h", 1.0 / k), exponent("beta")],
            // The first term of the series falls with pi^2 r/4.
            Self::SlabDiffusion => vec![rate("D/L2", "1/h", 0.4 * k)],
            Self::DeficitPage => vec![
                rate("m", "1/(kPa^n h^q)", k / guess.deficit_kpa),
                Parameter::bounded("n", "-", 0.9, (-2.0, 5.0)),
                exponent("q"),
            ],
        }
    }

    /// The same with the narrower bounds that starts are spread over.
    pub(crate) fn start_range(parameters: &[Parameter]) -> Vec<Parameter> {
        let narrow = |p: &Parameter| {
            let (low, high) = p.bounds.unwrap_or((p.start, p.start));
            let (a, b) = if p.scale == crate::Scale::Logarithm {
                (p.start / RATE_SPREAD, p.start * RATE_SPREAD)
            } else {
                let room = 0.5 * (0.2 + p.start.abs()).min(0.2 * (high - low));
                (p.start - room, p.start + room)
            };
            Parameter { bounds: Some((a.max(low), b.min(high))), ..p.clone() }
        };
        parameters.iter().map(narrow).collect()
    }
}
