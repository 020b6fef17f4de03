//! What a fit was made on, and where a question leaves it.

use crate::thin_layer::{Conditions, RatioCurve};

/// Differences of conditions below which they count as the same: K, fraction of humidity, share of speed and size.
const SAME_TEMPERATURE_K: f64 = 0.5;
const SAME_HUMIDITY: f64 = 0.02;
const SAME_SHARE: f64 = 0.05;

/// Least and greatest of something.
pub type Span = (f64, f64);

/// The range of conditions, time and moisture ratio that a fit was made on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FittedRange {
    /// Elapsed time, s.
    pub elapsed_s: Span,
    /// Moisture ratio.
    pub moisture_ratio: Span,
    /// Air, degC.
    pub temperature_c: Span,
    /// Air, fraction; none where no curve had one.
    pub relative_humidity: Option<Span>,
    /// Vapour-pressure deficit, kPa; none where no curve had a humidity.
    pub vapour_pressure_deficit_kpa: Option<Span>,
    /// Air, m/s; none where no curve had one.
    pub air_speed_m_per_s: Option<Span>,
    /// Size of the pieces, m; none where no curve had one.
    pub size_m: Option<Span>,
}

/// What a fit has a range of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RangeOf {
    /// Elapsed time, s.
    Elapsed,
    /// Moisture ratio.
    MoistureRatio,
    /// Air temperature, degC.
    Temperature,
    /// Relative humidity, fraction.
    RelativeHumidity,
    /// Vapour-pressure deficit, kPa.
    VapourPressureDeficit,
    /// Air speed, m/s.
    AirSpeed,
    /// Size of the pieces, m.
    Size,
}

/// Where a question leaves the range a fit was made on: the answer is an extrapolation, and such an equation has no physics
/// to carry it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outside {
    /// What leaves its range, with its unit.
    pub of: RangeOf,
    /// Asked.
    pub asked: f64,
    /// Least and greatest fitted.
    pub fitted: Span,
}

fn span(values: impl Iterator<Item = f64>) -> Option<Span> {
    values.fold(None, |found: Option<Span>, v| {
        let (low, high) = found.unwrap_or((v, v));
        Some((low.min(v), high.max(v)))
    })
}

impl FittedRange {
    pub(crate) fn of(curves: &[&RatioCurve]) -> Option<Self> {
        let points = || curves.iter().flat_map(|c| c.points());
        let conditions = || curves.iter().map(|c| c.conditions());
        Some(Self {
            elapsed_s: span(points().map(|p| p.elapsed_s))?,
            moisture_ratio: span(points().map(|p| p.moisture_ratio))?,
            temperature_c: span(conditions().map(|c| c.temperature_c))?,
            relative_humidity: span(conditions().filter_map(|c| c.relative_humidity)),
            vapour_pressure_deficit_kpa: span(
                conditions().filter_map(Conditions::vapour_pressure_deficit_kpa),
            ),
            air_speed_m_per_s: span(conditions().filter_map(|c| c.air_speed_m_per_s)),
            size_m: span(conditions().filter_map(|c| c.size_m)),
        })
    }

    /// Where conditions lie outside. A joint equation stands for a range of deficits, the others for their own humidity.
    pub(crate) fn outside(&self, asked: &Conditions, joint: bool) -> Vec<Outside> {
        let share = |fitted: Option<Span>| SAME_SHARE * fitted.map_or(0.0, |f| f.1);
        let air = if joint {
            let (asked, fitted) = (asked.vapour_pressure_deficit_kpa(), self.vapour_pressure_deficit_kpa);
            (RangeOf::VapourPressureDeficit, asked, fitted, share(fitted))
        } else {
            (RangeOf::RelativeHumidity, asked.relative_humidity, self.relative_humidity, SAME_HUMIDITY)
        };
        let (speed, size) = (self.air_speed_m_per_s, self.size_m);
        let rows = [
            (RangeOf::Temperature, Some(asked.temperature_c), Some(self.temperature_c), SAME_TEMPERATURE_K),
            air,
            (RangeOf::AirSpeed, asked.air_speed_m_per_s, speed, share(speed)),
            (RangeOf::Size, asked.size_m, size, share(size)),
        ];
        let leaves = |(of, asked, fitted, room): (RangeOf, Option<f64>, Option<Span>, f64)| {
            let (asked, fitted) = asked.zip(fitted)?;
            let out = asked < fitted.0 - room || asked > fitted.1 + room;
            out.then_some(Outside { of, asked, fitted })
        };
        rows.into_iter().filter_map(leaves).collect()
    }

    pub(crate) fn outside_curve(&self, elapsed_s: f64, ratio: f64) -> Vec<Outside> {
        let mut list = Vec::new();
        if elapsed_s > self.elapsed_s.1 || elapsed_s < 0.0 {
            list.push(Outside { of: RangeOf::Elapsed, asked: elapsed_s, fitted: self.elapsed_s });
        }
        if ratio < self.moisture_ratio.0 {
            let fitted = self.moisture_ratio;
            list.push(Outside { of: RangeOf::MoistureRatio, asked: ratio, fitted });
        }
        list
    }
}
