//! Figures a person asks for, with their standard errors, and what could not be learned.

use fallrate_equipment::Cabinet;
use nalgebra::DMatrix;

use super::control;
use super::figures::Figures;
use super::record::RoomAir;
use super::unknown::Places;

/// A figure of a cabinet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Quantity {
    /// Heater power, W.
    HeaterPower,
    /// Heat capacity of shell, racks and element, J/K.
    HeatCapacity,
    /// Heat loss of the shell, air to room, W/K.
    ShellLoss,
    /// Heat loss of shell and fresh air together at a mark, W/K.
    WholeLoss(usize),
    /// Rise of the air above the room if the heater stayed on at a mark, K: power over loss.
    FinalRise(usize),
    /// Heat capacity over the whole loss at a mark, s.
    TimeConstant(usize),
    /// Heater power over heat capacity, K/s.
    WarmUpRate,
    /// Leakage, kg/s.
    Leakage,
    /// Vent at a mark, without the leakage, kg/s.
    Vent(usize),
    /// All fresh air at a mark, kg/s.
    FreshAir(usize),
    /// Fresh air at a mark relative to the least mark that was tested.
    FreshAirRatio(usize, usize),
    /// Water the walls hold, kg.
    WallWater,
    /// Free volume, m3.
    Volume,
    /// Heat transfer coefficient at the reference speed, W/(m2 K).
    Exchange,
    /// Air of a tray relative to the mean.
    AirShare(usize),
    /// Display above the true temperature, K.
    DisplayOffset,
    /// Between switching on and off, K.
    Band,
    /// Lag of the controller's sensor, s.
    SensorLag,
    /// Coldest moment of a cycle below the set point, K: the room for error to leave.
    RoomForError,
}

impl Quantity {
    /// Whether it is a ratio that needs no absolute measurement of power or water.
    #[must_use]
    pub const fn is_ratio(self) -> bool {
        matches!(
            self,
            Self::FinalRise(_)
                | Self::TimeConstant(_)
                | Self::WarmUpRate
                | Self::FreshAirRatio(..)
                | Self::AirShare(_)
        )
    }
    const fn is_difference(self) -> bool {
        matches!(self, Self::DisplayOffset | Self::RoomForError)
    }
    /// Standard deviation (of the logarithm where it is not a difference) below which it counts as told.
    pub(crate) const fn told_below(self) -> f64 {
        if self.is_difference() { TOLD_K } else { TOLD }
    }
    /// Standard error that a plan can live with: a share of the value, or K.
    #[must_use]
    pub const fn wanted(self) -> f64 {
        match self {
            Self::HeaterPower | Self::HeatCapacity | Self::WarmUpRate => 0.05,
            Self::AirShare(_) => 0.06,
            Self::DisplayOffset | Self::RoomForError => 0.5,
            Self::ShellLoss | Self::WholeLoss(_) | Self::FinalRise(_) | Self::TimeConstant(_) => 0.08,
            Self::Exchange => 0.12,
            Self::Leakage | Self::FreshAir(_) | Self::Vent(_) | Self::FreshAirRatio(..) => 0.15,
            Self::Volume => 0.1,
            Self::Band | Self::SensorLag | Self::WallWater => 0.25,
        }
    }
}

/// What came of a figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Told {
    /// The readings fix it.
    Yes {
        /// Value.
        value: f64,
        /// Standard error.
        standard_error: f64,
    },
    /// The readings say something, but the standard error is above what is called an estimate.
    Roughly {
        /// Low end of the middle 90 %.
        low: f64,
        /// High end.
        high: f64,
    },
    /// The readings leave it where the draft had it.
    No,
}

/// A figure with what came of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outcome {
    /// Which.
    pub quantity: Quantity,
    /// What came of it.
    pub told: Told,
    /// Standard deviation of its logarithm (of itself for differences) before the tests and after.
    pub before: f64,
    /// After.
    pub after: f64,
}

/// Value of a figure.
pub(crate) fn value(f: &Figures, quantity: Quantity, room: &RoomAir, set_point_c: f64) -> Option<f64> {
    let cp = 1006.0 + 1860.0 * super::thermal::room_w(room);
    let whole = |mark: usize| f.shell_loss_w_per_k() + f.fresh_kg_per_s(mark) * cp;
    Some(match quantity {
        Quantity::HeaterPower => f.heater_w,
        Quantity::HeatCapacity => f.heat_capacity_j_per_k(),
        Quantity::ShellLoss => f.shell_loss_w_per_k(),
        Quantity::WholeLoss(mark) => whole(mark),
        Quantity::FinalRise(mark) => f.heater_w / whole(mark),
        Quantity::TimeConstant(mark) => f.heat_capacity_j_per_k() / whole(mark),
        Quantity::WarmUpRate => f.heater_w / f.heat_capacity_j_per_k(),
        Quantity::Leakage => f.leakage_kg_per_s,
        Quantity::Vent(mark) => *f.vent_kg_per_s.get(mark)?,
        Quantity::FreshAir(mark) => f.fresh_kg_per_s(mark),
        Quantity::FreshAirRatio(mark, to) => f.fresh_kg_per_s(mark) / f.fresh_kg_per_s(to),
        Quantity::WallWater => f.wall_kg,
        Quantity::Volume => f.volume_m3,
        Quantity::Exchange => f.exchange_w_per_m2_k,
        Quantity::AirShare(tray) => *f.air_shares.get(tray)?,
        Quantity::DisplayOffset => f.display_offset_k,
        Quantity::Band => f.band_k?,
        Quantity::SensorLag => f.sensor_lag_s,
        Quantity::RoomForError => {
            let swing = match f.band_k {
                // The chamber's own swing, without the logger's lag.
                Some(_) => {
                    let own = Figures { logger_lag_s: 1.0, logger_offset_k: 0.0, ..f.clone() };
                    let c = control::predicted(&own, 0, room, set_point_c, 1.0)?;
                    return Some(set_point_c - (c.mean_c - 0.5 * c.swing_k));
                }
                None => 0.0,
            };
            f.display_offset_k + swing
        }
    })
}

/// Below this standard deviation of the logarithm a figure counts as told.
const TOLD: f64 = 0.25;
/// The same of a difference, K.
const TOLD_K: f64 = 1.0;
/// What the readings take off the deviation before they say anything.
const NARROWED: f64 = 0.6;

/// Slopes of a figure (of its logarithm where it is not a difference) by the unknowns.
pub(crate) fn slopes(
    draft: &Cabinet,
    places: &Places,
    theta: &[f64],
    quantity: Quantity,
    at: (&RoomAir, f64),
) -> Option<(f64, Vec<f64>)> {
    let of = |theta: &[f64]| {
        let v = value(&Figures::new(draft, places, theta), quantity, at.0, at.1)?;
        if quantity.is_difference() { Some(v) } else { (v > 0.0).then(|| v.ln()) }
    };
    let here = of(theta)?;
    let mut moved = theta.to_vec();
    let mut out = Vec::with_capacity(theta.len());
    for i in 0..theta.len() {
        let step = 1e-3;
        moved[i] = theta[i] + step;
        let up = of(&moved)?;
        moved[i] = theta[i] - step;
        let down = of(&moved)?;
        moved[i] = theta[i];
        out.push((up - down) / (2.0 * step));
    }
    Some((here, out))
}

/// Standard deviation along slopes.
pub(crate) fn deviation(slopes: &[f64], covariance: &DMatrix<f64>) -> f64 {
    let mut sum = 0.0;
    for (i, a) in slopes.iter().enumerate() {
        for (j, b) in slopes.iter().enumerate() {
            sum += a * b * covariance[(i, j)];
        }
    }
    sum.max(0.0).sqrt()
}

/// Walls are not all of one kind, nor as quick as the air: what one figure for them is short of, as a deviation of the logarithm.
const WALLS: f64 = 0.5;

/// What came of a figure, from its slopes before and after.
pub(crate) fn outcome(quantity: Quantity, here: f64, before: f64, after: f64) -> Outcome {
    let after = if quantity == Quantity::WallWater { after.hypot(WALLS) } else { after };
    let (limit, difference) = (quantity.told_below(), quantity.is_difference());
    let value = if difference { here } else { here.exp() };
    let told = if after <= limit && after < NARROWED * before {
        Told::Yes { value, standard_error: if difference { after } else { value * after } }
    } else if after < NARROWED * before {
        let half = 1.645 * after;
        if difference {
            Told::Roughly { low: value - half, high: value + half }
        } else {
            Told::Roughly { low: value * (-half).exp(), high: value * half.exp() }
        }
    } else {
        Told::No
    };
    Outcome { quantity, told, before, after }
}
