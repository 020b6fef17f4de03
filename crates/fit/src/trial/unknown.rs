//! What a trial can tell, and what was known before.

use fallrate_foods::{MoistureTerm, Product, Shape};

use crate::{Parameter, Scale};

/// Half of the middle 90 % of a normal distribution, in standard deviations: data files give ranges as 5th to 95th percentile.
const RANGE_IN_DEVIATIONS: f64 = 2.0 * 1.644_853_626_951_472_2;
/// Belief about the exponent of the fresh-size term beyond what the sideways shrinkage says (assumed).
const EXPONENT_DEVIATION: f64 = 0.7;
/// Belief about a moisture parameter whose file gives no range: factor 2 (assumed).
const MOISTURE_LOG_DEVIATION: f64 = 0.42;
/// Belief about the exchange coefficient of a cabinet that was not commissioned (assumed).
const EXCHANGE_LOG_DEVIATION: f64 = 0.2;

/// An unknown of the drying model that trials are fitted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unknown {
    /// Diffusivity at 60 degC and the moisture term's reference, m2/s.
    Diffusivity,
    /// Its activation energy, J/mol.
    ActivationEnergy,
    /// The parameter of its moisture term: how it falls as the piece dries (exponent of the fresh-size term, -; B of the
    /// reciprocal term, kg/kg; a of the exponential term, per kg/kg).
    DiffusivityMoisture,
    /// Factor on the heat (and with it mass) transfer coefficient of every trial.
    Exchange,
    /// Factor on the moisture that the food holds at a water activity: with the diffusivity it sets when the face stops being
    /// wet, and where drying ends.
    WaterHeld,
    /// Exponent of the sideways shrinkage, 0 to 2/3.
    SidewaysShrinkage,
    /// Raw moisture of a trial's lot, kg/kg wet basis.
    InitialMoisture {
        /// Trial, from 0.
        trial: usize,
    },
    /// Factor on the stated size of a trial's pieces.
    Size {
        /// Trial, from 0.
        trial: usize,
    },
}

impl Unknown {
    /// The unknowns that belong to the product, in order.
    pub const OF_PRODUCT: [Self; 6] = [
        Self::Diffusivity,
        Self::ActivationEnergy,
        Self::DiffusivityMoisture,
        Self::Exchange,
        Self::WaterHeld,
        Self::SidewaysShrinkage,
    ];

    /// The trial it belongs to, if to one.
    #[must_use]
    pub const fn trial(self) -> Option<usize> {
        match self {
            Self::InitialMoisture { trial } | Self::Size { trial } => Some(trial),
            _ => None,
        }
    }

    /// Key of its name and its unit.
    #[must_use]
    pub const fn name_and_unit(self) -> (&'static str, &'static str) {
        match self {
            Self::Diffusivity => ("diffusivity at 60 degC", "m2/s"),
            Self::ActivationEnergy => ("activation energy", "J/mol"),
            Self::DiffusivityMoisture => ("moisture parameter of the diffusivity", "-"),
            Self::Exchange => ("exchange factor", "-"),
            Self::WaterHeld => ("water held factor", "-"),
            Self::SidewaysShrinkage => ("sideways shrinkage exponent", "-"),
            Self::InitialMoisture { .. } => ("raw moisture", "kg/kg wet basis"),
            Self::Size { .. } => ("size factor", "-"),
        }
    }

    /// How far apart two values must be, in the fitted coordinate, for the difference to matter to a drying time: a factor 2
    /// in diffusivity, 30 % in exchange, 3 points of raw moisture and so on (own judgement). Data that do not halve this tell
    /// nothing of use.
    #[must_use]
    pub const fn width_that_matters(self) -> f64 {
        match self {
            Self::Diffusivity => 0.693,
            Self::ActivationEnergy => 0.405,
            Self::DiffusivityMoisture => 1.0,
            Self::Exchange | Self::WaterHeld => 0.262,
            Self::SidewaysShrinkage => 0.3,
            Self::InitialMoisture { .. } => 0.03,
            Self::Size { .. } => 0.182,
        }
    }
}

/// What is known of an unknown before the fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Belief {
    /// Unknown.
    pub unknown: Unknown,
    /// Value.
    pub value: f64,
    /// Standard deviation in the fitted coordinate (of the natural logarithm where `scale` says so).
    pub deviation: f64,
    /// Bounds that it cannot leave.
    pub bounds: (f64, f64),
    /// Fitted as it is, or as its logarithm.
    pub scale: Scale,
}

impl Belief {
    /// The fitted coordinate of a value.
    #[must_use]
    pub fn coordinate(&self, value: f64) -> f64 {
        if self.scale == Scale::Logarithm { value.ln() } else { value }
    }
    /// The value whose coordinate lies `by` further, held a little inside the bounds.
    pub(crate) fn moved(&self, value: f64, by: f64) -> f64 {
        let (low, high) = (self.coordinate(self.bounds.0), self.coordinate(self.bounds.1));
        let room = 2e-3 * (high - low);
        let coordinate = (self.coordinate(value) + by).clamp(low + room, high - room);
        if self.scale == Scale::Logarithm { coordinate.exp() } else { coordinate }
    }
    pub(crate) fn parameter(&self) -> Parameter {
        let (name, unit) = self.unknown.name_and_unit();
        let name = self.unknown.trial().map_or(name.to_owned(), |t| format!("{name}, trial {}", t + 1));
        let (low, high) = self.bounds;
        // A start strictly inside, also where a file's value sits at its bound.
        let room = 1e-3 * (high - low);
        Parameter {
            name,
            unit: unit.to_owned(),
            start: self.value.clamp(low + room, high - room),
            bounds: Some(self.bounds),
            scale: self.scale,
        }
    }

    fn logarithm(unknown: Unknown, value: f64, deviation: f64, bounds: (f64, f64)) -> Self {
        Self { unknown, value, deviation, bounds, scale: Scale::Logarithm }
    }
    fn linear(unknown: Unknown, value: f64, deviation: f64, bounds: (f64, f64)) -> Self {
        Self { unknown, value, deviation, bounds, scale: Scale::Linear }
    }
}

fn log_range(low: f64, high: f64, otherwise: f64) -> f64 {
    if low > 0.0 && high > low { (high / low).ln() / RANGE_IN_DEVIATIONS } else { otherwise }
}

/// The exponent that a diffusivity of the fresh size carries by the product's shape.
fn fresh_size_exponent(product: &Product) -> f64 {
    match product.geometry.shape {
        Shape::Slab => 2.0 * (1.0 - product.volume.lateral_exponent.value),
        Shape::Cylinder => 1.0,
        Shape::Sphere => 2.0 / 3.0,
    }
}

/// What the product file says of the unknowns of the product (those of [`Unknown::OF_PRODUCT`]).
#[must_use]
pub fn product_beliefs(product: &Product) -> Vec<Belief> {
    let d = &product.diffusivity;
    let diffusivity = d.at_60c.value.m2_per_s();
    let energy = d.activation_energy.value.j_per_mol();
    let cited = d.moisture_parameter.as_ref();
    let moisture = |value: f64| {
        let deviation =
            cited.map_or(MOISTURE_LOG_DEVIATION, |c| log_range(c.low, c.high, MOISTURE_LOG_DEVIATION));
        let (low, high) = (value / 30.0, value * 30.0);
        Belief::logarithm(Unknown::DiffusivityMoisture, value, deviation, (low, high))
    };
    let factor = &product.sorption.moisture_factor;
    let sideways = &product.volume.lateral_exponent;
    vec![
        Belief::logarithm(
            Unknown::Diffusivity,
            diffusivity,
            log_range(d.at_60c.low.m2_per_s(), d.at_60c.high.m2_per_s(), 0.7),
            (diffusivity / 100.0, diffusivity * 100.0),
        ),
        Belief::logarithm(
            Unknown::ActivationEnergy,
            energy,
            log_range(d.activation_energy.low.j_per_mol(), d.activation_energy.high.j_per_mol(), 0.4),
            (2e3, 3e5),
        ),
        match d.moisture_term {
            Some(MoistureTerm::Reciprocal { b_kg_per_kg, .. }) => moisture(b_kg_per_kg),
            Some(MoistureTerm::Exponential { a_per_kg_per_kg, .. }) => moisture(a_per_kg_per_kg),
            _ => Belief::linear(
                Unknown::DiffusivityMoisture,
                cited.map_or_else(|| fresh_size_exponent(product), |c| c.value),
                cited.map_or(EXPONENT_DEVIATION, |c| ((c.high - c.low) / RANGE_IN_DEVIATIONS).max(0.02)),
                (-4.0, 6.0),
            ),
        },
        Belief::logarithm(Unknown::Exchange, 1.0, EXCHANGE_LOG_DEVIATION, (0.1, 10.0)),
        Belief::logarithm(
            Unknown::WaterHeld,
            factor.value,
            log_range(factor.low, factor.high, 0.2),
            (0.25, 4.0),
        ),
        Belief::linear(
            Unknown::SidewaysShrinkage,
            sideways.value,
            ((sideways.high - sideways.low) / RANGE_IN_DEVIATIONS).max(0.02),
            (0.0, 2.0 / 3.0),
        ),
    ]
}

/// What a trial states of its own lot: raw moisture and size.
#[must_use]
pub(crate) fn trial_beliefs(trial: &crate::trial::Trial, index: usize) -> [Belief; 2] {
    let moisture = trial.preparation.raw_moisture_wet_basis;
    let room = 6.0 * trial.moisture_error_wet_basis;
    [
        Belief::linear(
            Unknown::InitialMoisture { trial: index },
            moisture,
            trial.moisture_error_wet_basis,
            ((moisture - room).max(0.02), (moisture + room).min(0.985)),
        ),
        Belief::logarithm(Unknown::Size { trial: index }, 1.0, trial.size_error, (0.3, 3.0)),
    ]
}
