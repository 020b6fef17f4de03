//! Parameters, their scale and bounds, and the smooth map between what the solver moves and what the model takes.

use crate::FitError;

/// How a parameter is fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// As its logarithm: positive by construction, errors are shares of it.
    Logarithm,
    /// As it is.
    Linear,
}

/// One unknown.
#[derive(Clone, Debug, PartialEq)]
pub struct Parameter {
    /// Name.
    pub name: String,
    /// Unit.
    pub unit: String,
    /// First guess.
    pub start: f64,
    /// Bounds that the estimate cannot leave; none leaves it free.
    pub bounds: Option<(f64, f64)>,
    /// Scale.
    pub scale: Scale,
}

impl Parameter {
    /// A positive parameter, fitted as its logarithm between two bounds.
    #[must_use]
    pub fn positive(name: &str, unit: &str, start: f64, bounds: (f64, f64)) -> Self {
        Self {
            name: name.to_owned(),
            unit: unit.to_owned(),
            start,
            bounds: Some(bounds),
            scale: Scale::Logarithm,
        }
    }
    /// A parameter of any sign without bounds.
    #[must_use]
    pub fn free(name: &str, unit: &str, start: f64) -> Self {
        Self { name: name.to_owned(), unit: unit.to_owned(), start, bounds: None, scale: Scale::Linear }
    }
    /// A parameter of any sign between two bounds.
    #[must_use]
    pub fn bounded(name: &str, unit: &str, start: f64, bounds: (f64, f64)) -> Self {
        Self { bounds: Some(bounds), ..Self::free(name, unit, start) }
    }

    pub(crate) fn check(&self, start: f64) -> Result<(), FitError> {
        let least = if self.scale == Scale::Logarithm { f64::MIN_POSITIVE } else { f64::MIN };
        let (low, high) = self.bounds.unwrap_or((least, f64::MAX));
        let inside =
            if self.bounds.is_some() { start > low && start < high } else { start >= low && start <= high };
        if inside && low >= least && low < high && high.is_finite() {
            return Ok(());
        }
        Err(FitError::OutOfRange {
            what: format!("start of {}", self.name),
            value: start,
            unit: self.unit.clone(),
            low: low.max(least),
            high,
        })
    }

    /// The fitted coordinate (value or logarithm) of a value.
    pub(crate) fn coordinate(&self, value: f64) -> f64 {
        if self.scale == Scale::Logarithm { value.ln() } else { value }
    }
    /// The value of a fitted coordinate.
    pub(crate) fn value(&self, coordinate: f64) -> f64 {
        if self.scale == Scale::Logarithm { coordinate.exp() } else { coordinate }
    }
    /// Middle and half width of the bounds, as coordinates.
    fn span(&self) -> Option<(f64, f64)> {
        let (low, high) = self.bounds?;
        let (low, high) = (self.coordinate(low), self.coordinate(high));
        Some((0.5 * (low + high), 0.5 * (high - low)))
    }
    /// What the solver moves: without bounds the coordinate itself; with bounds `q = middle + half tanh(u/half)`, so that
    /// far from a bound u moves as q does.
    pub(crate) fn inner(&self, coordinate: f64) -> f64 {
        self.span().map_or(coordinate, |(middle, half)| half * ((coordinate - middle) / half).atanh())
    }
    /// The inverse of [`Self::inner`].
    pub(crate) fn coordinate_of_inner(&self, inner: f64) -> f64 {
        self.span().map_or(inner, |(middle, half)| middle + half * (inner / half).tanh())
    }
    /// The coordinate, or the point a tenth of the half width inside the bound where it lies nearer to it.
    pub(crate) fn pulled_inside(&self, coordinate: f64) -> f64 {
        self.span()
            .map_or(coordinate, |(middle, half)| coordinate.clamp(middle - 0.9 * half, middle + 0.9 * half))
    }
    /// Whether a coordinate sits at a bound: within a thousandth of the width.
    pub(crate) fn at_bound(&self, coordinate: f64) -> bool {
        self.span().is_some_and(|(middle, half)| (coordinate - middle).abs() > 0.998 * half)
    }
}

/// `count` starts spread over the bounds of the parameters (the inner 80 % of each), the first being the parameters' own
/// starts: Halton points, so that the same call gives the same starts. A parameter without bounds keeps its start.
#[must_use]
pub fn spread_starts(parameters: &[Parameter], count: usize) -> Vec<Vec<f64>> {
    const BASES: [u32; 12] = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37];
    (0..count)
        .map(|i| {
            if i == 0 {
                return parameters.iter().map(|p| p.start).collect();
            }
            let spread = |(p, base): (&Parameter, &u32)| {
                let unit = radical_inverse(i, *base);
                p.span().map_or(p.start, |(middle, half)| p.value(middle + 0.8 * half * (2.0 * unit - 1.0)))
            };
            parameters.iter().zip(BASES.iter().cycle()).map(spread).collect()
        })
        .collect()
}

/// The digits of an index in a base, mirrored behind the point.
fn radical_inverse(mut index: usize, base: u32) -> f64 {
    let (mut sum, mut weight) = (0.0, 1.0 / f64::from(base));
    while index > 0 {
        #[allow(clippy::cast_precision_loss)]
        let digit = (index % base as usize) as f64;
        sum += digit * weight;
        weight /= f64::from(base);
        index /= base as usize;
    }
    sum
}
