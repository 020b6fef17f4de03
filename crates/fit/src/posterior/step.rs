//! Steps of a chain.

use nalgebra::{DMatrix, DVector};

use crate::posterior::PosteriorFault;
use crate::stats::Draws;

/// Degrees of freedom of the steps about the centre: tails heavier than a normal distribution's.
const DEGREES: f64 = 6.0;
/// They are this much wider than the shape that was learned.
const WIDER: f64 = 1.15;
/// Local steps: 2.38 over the root of the dimensions is best for a normal distribution (Roberts, Gelman and Gilks 1997, from
/// memory). They are between this and a share of it, evenly in the logarithm, for narrow bends.
const LOCAL: f64 = 2.38;
const SMALL: f64 = 0.05;

/// Where steps are drawn from.
#[derive(Clone, Debug)]
pub(crate) struct Shape {
    centre: DVector<f64>,
    /// Lower triangle of the covariance.
    lower: DMatrix<f64>,
}

/// How a step was drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    About,
    Local,
}

impl Shape {
    pub fn new(centre: &[f64], covariance: &DMatrix<f64>) -> Result<Self, PosteriorFault> {
        let dimensions = centre.len();
        let fault = PosteriorFault::NoShape { dimensions };
        if covariance.nrows() != dimensions || covariance.iter().any(|v| !v.is_finite()) {
            return Err(fault);
        }
        let lower = covariance.clone().cholesky().ok_or(fault)?.unpack();
        Ok(Self { centre: DVector::from_column_slice(centre), lower })
    }

    /// Coordinates in which the shape is the unit one.
    pub fn standard(&self, at: &DVector<f64>) -> DVector<f64> {
        let away = at - &self.centre;
        self.lower.solve_lower_triangular(&away).unwrap_or(away)
    }

    /// The point of standard coordinates.
    pub fn place_of(&self, z: &DVector<f64>) -> DVector<f64> {
        &self.centre + &self.lower * z
    }

    fn normal(&self, draws: &mut Draws) -> DVector<f64> {
        let z = DVector::from_fn(self.centre.len(), |_, _| draws.normal());
        &self.lower * z
    }

    /// A point about the centre, by Student's t.
    pub fn about(&self, draws: &mut Draws) -> DVector<f64> {
        // Chi-squared as a sum of squares: the degrees are whole.
        let mut squares = 0.0;
        let mut k = 0.0;
        while k < DEGREES {
            squares += draws.normal().powi(2);
            k += 1.0;
        }
        &self.centre + self.normal(draws) * (WIDER / (squares / DEGREES).sqrt())
    }

    /// A point near another.
    pub fn local(&self, from: &DVector<f64>, draws: &mut Draws) -> DVector<f64> {
        #[allow(clippy::cast_precision_loss)]
        let size = LOCAL / (self.centre.len() as f64).sqrt();
        let size = size * SMALL.powf(draws.even());
        from + self.normal(draws) * size
    }

    /// Logarithm of the density of [`Shape::about`], but for a constant.
    pub fn log_about(&self, at: &DVector<f64>) -> f64 {
        let away = at - &self.centre;
        let Some(z) = self.lower.solve_lower_triangular(&away) else { return f64::NEG_INFINITY };
        #[allow(clippy::cast_precision_loss)]
        let d = self.centre.len() as f64;
        -0.5 * (DEGREES + d) * (z.norm_squared() / (DEGREES * WIDER * WIDER)).ln_1p()
    }
}
